package chart

// RibbonDay is one day of a week.
type RibbonDay struct {
	Label string // its name, short
	Under string // its date, short; may be empty
	Now   bool   // today
	Away  bool   // somebody else feeds
}

// Knot is the mark of a way of feeding.
type Knot string

// The knots, each with a shape of its own.
const (
	KnotStrewn Knot = "scatter" // three grains
	KnotDish   Knot = "dish"    // a shallow bowl
	KnotHand   Knot = "hand"    // a lozenge
	KnotRack   Knot = "rack"    // upright bars
)

// Strand is one food through the days.
type Strand struct {
	Name   string // of the food
	Words  string // how much and how, written after the name
	Band   bool   // the mix: a band that is cut where there is none
	AtWill bool   // always there: an unbroken line
	On     []bool // by day; of food at will it may be empty
	Knot   Knot
}

// RibbonOptions say how a ribbon is drawn.
type RibbonOptions struct {
	Title, Desc string
	Width       float64 // px; 0 is 320
	Now, Away   string  // the words under today, and over days away
}

const (
	ribbonText  = 12.0
	ribbonSmall = 11.0
	ribbonBand  = 15.0
)

// ribbon is a ribbon being drawn.
type ribbon struct {
	canvas
	days  []RibbonDay
	step  float64 // px of a day
	left  float64
	width float64
}

// Ribbon draws the days from left to right and every food as a strand that
// runs through them: the mix a broad band, cut on the days without it, so that
// the gap in which everything gets eaten is seen first; food that is always
// there an unbroken line; the others a thread with a knot on each of its days.
// The knot's shape says how the food is given. Days on which somebody else
// feeds lie under a dashed bracket.
func Ribbon(days []RibbonDay, strands []Strand, o RibbonOptions) string {
	width := pick(o.Width > 0, o.Width, 320.0)
	r := &ribbon{days: days, left: 2, width: width}
	r.step = (width - 4) / float64(max(len(days), 1))
	y := r.head(o)
	for _, s := range strands {
		y = r.strand(s, y)
	}
	foot := y + 2
	var c canvas
	c.begin("ribbon", width, foot, o.Title, o.Desc, "")
	r.folds(&c, foot, o)
	c.WriteString(r.String())
	return c.end()
}

// middle is where a day's middle lies.
func (r *ribbon) middle(i int) float64 { return r.left + r.step*(float64(i)+0.5) }

// head writes the days and returns where the strands begin.
func (r *ribbon) head(o RibbonOptions) float64 {
	y := 14.0
	if r.brackets(y-4, o.Away) {
		y += 18
	}
	under := false
	for i, d := range r.days {
		r.text(label{x: r.middle(i), y: y, size: ribbonText, bold: d.Now, anchor: "middle", class: "day", colour: "currentColor", lines: []string{d.Label}})
		if d.Under != "" {
			under = true
			r.text(label{x: r.middle(i), y: y + 14, size: ribbonSmall, anchor: "middle", class: "date", colour: soft, lines: []string{d.Under}})
		}
	}
	if under {
		y += 14
	}
	for i, d := range r.days {
		if !d.Now {
			continue
		}
		x := r.middle(i)
		r.put(`<path class="now" d="%s" fill="currentColor"/>`, polygon([]point{{x - 5, y + 4}, {x + 5, y + 4}, {x, y + 10}}, true))
	}
	return y + 12
}

// brackets marks the days away; it reports whether there are any.
func (r *ribbon) brackets(y float64, word string) bool {
	any := false
	for i := 0; i < len(r.days); i++ {
		if !r.days[i].Away {
			continue
		}
		j := i
		for j+1 < len(r.days) && r.days[j+1].Away {
			j++
		}
		a, b := r.left+r.step*float64(i)+2, r.left+r.step*float64(j+1)-2
		r.line("away", "M"+pair(point{a, y + 8})+"L"+pair(point{a, y + 4})+"L"+pair(point{b, y + 4})+"L"+pair(point{b, y + 8}), "currentColor", 1.2, "4 3")
		if w := textWidth(word, ribbonSmall); word != "" {
			x := min(max((a+b)/2, w/2+1), r.width-w/2-1)
			r.text(label{x: x, y: y, size: ribbonSmall, anchor: "middle", class: "away", colour: "currentColor", lines: []string{word}})
		}
		any, i = true, j
	}
	return any
}

// folds are fine lines between the days.
func (r *ribbon) folds(c *canvas, foot float64, o RibbonOptions) {
	d := ""
	for i := 1; i < len(r.days); i++ {
		x := r.left + r.step*float64(i)
		d += "M" + pair(point{x, 20}) + "L" + pair(point{x, foot - 2})
	}
	if d != "" {
		c.line("folds", d, "var(--line, #c3cccd)", 0.8, "1 4")
	}
}

// strand draws one food and returns where the next begins.
func (r *ribbon) strand(s Strand, y float64) float64 {
	name := label{x: r.left, y: y + 13, size: ribbonText, bold: s.Band, class: "food", colour: "currentColor"}
	words := s.Name
	if s.Words != "" {
		words += " · " + s.Words
	}
	if s.Band {
		name.lines = wrapBold(words, ribbonText, r.width-4)
	} else {
		name.lines = wrap(words, ribbonText, r.width-4)
	}
	r.text(name)
	mid := y + 13 + name.height() - ribbonText*lead + 14
	switch {
	case s.Band:
		r.band(s, mid)
	case s.AtWill:
		r.line("at-will", "M"+pair(point{r.left, mid - 1.5})+"L"+pair(point{r.width - r.left, mid - 1.5})+"M"+pair(point{r.left, mid + 1.5})+"L"+pair(point{r.width - r.left, mid + 1.5}), "currentColor", 1.2, "")
	default:
		r.line("thread", "M"+pair(point{r.left, mid})+"L"+pair(point{r.width - r.left, mid}), soft, 1, "")
		for i, on := range s.On {
			if on && i < len(r.days) {
				r.knot(s.Knot, point{r.middle(i), mid})
			}
		}
	}
	return mid + pick(s.Band, ribbonBand/2+8, 12.0)
}

// band draws the mix: a band with swallow-tailed ends, cut where there is
// none.
func (r *ribbon) band(s Strand, mid float64) {
	const notch = 5.0
	half := ribbonBand / 2
	for i := 0; i < len(s.On) && i < len(r.days); i++ {
		if !s.On[i] {
			x := r.middle(i)
			r.line("gap", "M"+pair(point{x - 5, mid})+"L"+pair(point{x + 5, mid}), soft, 1.5, "2 2")
			continue
		}
		j := i
		for j+1 < len(s.On) && j+1 < len(r.days) && s.On[j+1] {
			j++
		}
		a, b := r.left+r.step*float64(i)+2, r.left+r.step*float64(j+1)-2
		r.put(`<path class="band" d="%s" fill="%s"/>`, polygon([]point{{a, mid - half}, {b, mid - half}, {b - notch, mid}, {b, mid + half}, {a, mid + half}, {a + notch, mid}}, true), flax)
		for k := i; k <= j; k++ {
			r.knotIn(s.Knot, point{r.middle(k), mid}, paper)
		}
		i = j
	}
}

func (r *ribbon) knot(k Knot, p point) { r.knotIn(k, p, "currentColor") }

// knotIn draws a knot in a colour.
func (r *ribbon) knotIn(k Knot, p point, colour string) {
	switch k {
	case KnotDish:
		r.put(`<path class="knot-dish" d="M%sQ%s%sZ" fill="%s"/>`, pair(point{p.x - 7, p.y - 3}), pair(point{p.x, p.y + 12}), sep(point{p.x + 7, p.y - 3}), colour)
	case KnotHand:
		r.put(`<path class="knot-hand" d="%s" fill="%s"/>`, polygon([]point{{p.x - 5.5, p.y}, {p.x, p.y - 5.5}, {p.x + 5.5, p.y}, {p.x, p.y + 5.5}}, true), colour)
	case KnotRack:
		d := ""
		for _, x := range []float64{-4, 0, 4} {
			d += "M" + pair(point{p.x + x, p.y - 5}) + "L" + pair(point{p.x + x, p.y + 5})
		}
		r.line("knot-rack", d, colour, 2, "")
	default:
		for _, q := range []point{{-5, 2}, {0, -3}, {5, 2.5}} {
			r.put(`<circle class="knot-scatter" cx="%s" cy="%s" r="2.4" fill="%s"/>`, num(p.x+q.x), num(p.y+q.y), colour)
		}
	}
}

// KnotMark is a knot by itself, for the words that explain it: decoration.
func KnotMark(k Knot) string {
	r := &ribbon{}
	r.begin("knot", 18, 16, "", "", "")
	r.knot(k, point{9, 8})
	return r.end()
}
