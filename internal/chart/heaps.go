package chart

import (
	"cmp"
	"math"
	"math/rand/v2"
	"slices"
	"strconv"

	"firlot/catalog"
	"firlot/nutrient"
)

// AssumedDensity stands in, in g/mL, where a form's bulk density is not known;
// its heap is outlined with dashes. A judgement of ours, the middle of grains
// and flakes.
const AssumedDensity = 0.6

// HeapItem is one ingredient.
type HeapItem struct {
	Form   *catalog.Form
	Mass   nutrient.Mass
	Label  string // its name
	Amount string // its mass as written; may be empty
}

// HeapsOptions say how heaps are drawn.
type HeapsOptions struct {
	ID          string // prefix of identifiers, unique on the page; empty: from the contents
	Title, Desc string
	Width       float64 // px; 0 is 320
	Assumed     string  // said under a heap whose bulk density is not known
}

// Volume is a heap's volume in mL and whether the form's bulk density is
// known.
func Volume(f *catalog.Form, m nutrient.Mass) (ml float64, known bool) {
	if d := f.BulkDensity; d != nil && d.Mean > 0 {
		return max(m.Grams(), 0) / d.Mean, true
	}
	return max(m.Grams(), 0) / AssumedDensity, false
}

// pile is one heap with its place.
type pile struct {
	HeapItem
	known   bool
	r, h    float64 // half of its foot, its height
	name    []string
	amount  []string
	note    []string
	cell    float64 // width of its cell
	x, base float64
	k       int // seeds it may draw
}

const (
	heapSteep  = 0.62 // height over half of the foot, one for all heaps
	heapText   = 12.0
	heapGap    = 12.0
	seedBudget = 300 // seeds drawn one by one in all, about
)

// Heaps draws each ingredient's heap by volume (mass over bulk density), seen
// from the side: all heaps have one shape, so widths go by the cube root of
// the volume and drawn areas by its power of two thirds. Seeds are drawn
// larger than the heaps are, and their sizes are drawn together (to the power
// of 0.6), so that small ones can be told from large ones; the caller says so
// in the description. The order is the caller's; rows wrap.
func Heaps(items []HeapItem, o HeapsOptions) string {
	width := pick(o.Width > 0, o.Width, 320.0)
	piles := measure(items, o, width)
	height := place(piles, width)
	id := o.ID
	if id == "" {
		id = "h" + strconv.FormatUint(identity(items, width)&0xffff, 36)
	}
	var c canvas
	c.begin("heaps", width, height, o.Title, o.Desc, "")
	rows(&c, piles, width)
	for i, p := range piles {
		p.draw(&c, id+"-"+strconv.FormatInt(int64(i), 36))
	}
	words(&c, piles)
	return c.end()
}

func identity(items []HeapItem, width float64) uint64 {
	s := num(width)
	for _, it := range items {
		s += "|" + refOf(it.Form) + "|" + it.Mass.String()
	}
	return seedOf(s)
}

// measure sizes the heaps and wraps their labels.
func measure(items []HeapItem, o HeapsOptions, width float64) []*pile {
	largest := 0.0
	for _, it := range items {
		v, _ := Volume(it.Form, it.Mass)
		largest = max(largest, v)
	}
	foot := min(max(width*0.3, 72), 200)
	var piles []*pile
	area := 0.0
	for _, it := range items {
		v, known := Volume(it.Form, it.Mass)
		p := &pile{HeapItem: it, known: known}
		if v > 0 {
			p.r = max(foot/2*math.Cbrt(v/largest), 1.5)
			p.h = p.r * heapSteep
		}
		area += p.r * p.r
		room := min(max(2*p.r, 78), width-2)
		p.name = wrap(it.Label, heapText, room)
		p.amount = wrapBold(it.Amount, heapText, room)
		if !known {
			p.note = wrap(o.Assumed, heapText-1, room)
		}
		p.cell = max(2*p.r+pick(p.r > 0, p.seedLength(), 0), p.textWidth()) // seeds stick out a little
		piles = append(piles, p)
	}
	for _, p := range piles {
		if area > 0 {
			p.k = max(int(seedBudget*p.r*p.r/area), 3)
		}
	}
	return piles
}

func (p *pile) textWidth() float64 {
	w := 0.0
	for _, s := range p.name {
		w = max(w, textWidth(s, heapText))
	}
	for _, s := range p.amount {
		w = max(w, textWidth(s, heapText)*bold)
	}
	for _, s := range p.note {
		w = max(w, textWidth(s, heapText-1))
	}
	return w
}

func (p *pile) textHeight() float64 {
	return float64(len(p.name)+len(p.amount))*heapText*lead + float64(len(p.note))*(heapText-1)*lead
}

// place fills rows from the left and returns the height of all.
func place(piles []*pile, width float64) float64 {
	y := 2.0
	for start := 0; start < len(piles); {
		end, used, tall, text := start, 0.0, 0.0, 0.0
		for ; end < len(piles); end++ {
			p := piles[end]
			need := p.cell + pick(end > start, heapGap, 0)
			if end > start && used+need > width-2 {
				break
			}
			used += need
			tall, text = max(tall, p.h), max(text, p.textHeight())
		}
		spare := 0.0
		if n := end - start; n > 1 && end < len(piles) { // a full row is spread evenly
			spare = (width - 2 - used) / float64(n-1)
		}
		x := 1.0
		for _, p := range piles[start:end] {
			p.x, p.base = x+p.cell/2, y+tall+8
			x += p.cell + heapGap + min(spare, 30)
		}
		y += tall + 8 + text + 22
		start = end
	}
	return max(y-10, 10)
}

// rows draws the table under each row of heaps.
func rows(c *canvas, piles []*pile, width float64) {
	last := -1.0
	for _, p := range piles {
		if p.base != last {
			c.line("table", "M0 "+num(p.base+0.5)+"L"+num(width)+" "+num(p.base+0.5), "currentColor", 1, "")
			last = p.base
		}
	}
}

// draw piles the seeds up.
func (p *pile) draw(c *canvas, id string) {
	if p.r > 0 {
		c.put(`<g transform="translate(%s %s)">`, num(p.x), num(p.base))
		p.seeds(c, id)
		if !p.known {
			c.line("assumed", p.profile(1.06, 4), "currentColor", 1.2, "4 3")
		}
		c.WriteString(`</g>`)
	}
}

// words writes the labels of all heaps: names, amounts, notes. What one kind
// has in common stands on its group.
func words(c *canvas, piles []*pile) {
	kinds := []struct {
		class, colour, weight string
		size                  float64
		of                    func(*pile) []string
		above                 func(*pile) float64 // lines over it, px
	}{
		{"name", "currentColor", "", heapText, func(p *pile) []string { return p.name }, func(*pile) float64 { return 0 }},
		{"amount", "currentColor", ` font-weight="700"`, heapText, func(p *pile) []string { return p.amount },
			func(p *pile) float64 { return float64(len(p.name)) * heapText * lead }},
		{"note", soft, "", heapText - 1, func(p *pile) []string { return p.note },
			func(p *pile) float64 { return float64(len(p.name)+len(p.amount)) * heapText * lead }},
	}
	for _, k := range kinds {
		c.put(`<g class="%s" font-size="%s" fill="%s"%s text-anchor="middle">`, k.class, num(k.size), k.colour, k.weight)
		for _, p := range piles {
			for i, s := range k.of(p) {
				y := p.base + heapText + 4 + k.above(p) + float64(i)*k.size*lead
				c.put(`<text x="%s" y="%s">%s</text>`, num(p.x), num(y), esc(s))
			}
		}
		c.WriteString(`</g>`)
	}
}

// half is the half width of a heap at a height from 0 to 1.
func (p *pile) half(t float64) float64 { return p.r * math.Pow(max(1-t, 0), 0.8) }

// profile is the outline of a heap, a little larger by a factor and px.
func (p *pile) profile(k, more float64) string {
	var left, right []point
	for _, t := range []float64{0, 0.2, 0.45, 0.7, 0.88, 0.97} {
		x, y := p.half(t)*k+more*(1-t), -(p.h*k+more)*t
		left, right = append(left, point{-x, y}), append([]point{{x, y}}, right...)
	}
	return polygon(append(append(left, point{0, -(p.h*k + more)}), right...), true)
}

// seedLength is the drawn length of a seed in a heap, px.
func (p *pile) seedLength() float64 {
	l, w := sidesOf(p.Form)
	if l == 0 {
		l, w = 6, 4
	}
	return min(max(3.6*math.Pow(max(l, w)/2, 0.6), 2.4), max(p.r*0.8, 2.4))
}

// seeds draws the heap's body and the seeds on it: each by itself where they
// are few; otherwise a tile of them all over, and single ones on the slopes.
// A seed's size never depends on how many there are.
func (p *pile) seeds(c *canvas, id string) {
	pal := paletteOf(p.Form.Colours)
	c.put(`<path d="%s" fill="%s"/>`, p.profile(0.94, 0), pal.main.to(pal.edge, 0.45))
	a := p.seedLength() / 2
	b := a * p.aspect()
	many := p.spots(a, b, p.chance(1))
	p.defs(c, id, a, b)
	if len(many) <= max(p.k, 12) {
		use(c, id, many, p.turns())
		return
	}
	p.tile(c, id, a, b)
	use(c, id, p.outlineSpots(a, b, p.chance(3)), p.turns())
	c.put(`<path d="%s" fill="url(#%s_)"/>`, p.profile(0.95, 0), esc(id))
}

// chance is the heap's own, one for each purpose.
func (p *pile) chance(purpose uint64) *rand.Rand {
	return rand.New(rand.NewPCG(seedOf(refOf(p.Form)), purpose))
}

// tile defines a pattern of seeds that joins on at all its sides.
func (p *pile) tile(c *canvas, id string, a, b float64) {
	rng := p.chance(2)
	cols, lines := 2, 2
	if p.k > 30 {
		cols, lines = 3, 4
	}
	dx, dy := a*1.5, max(b*1.3, a*0.75)
	w, h := dx*float64(cols), dy*float64(lines)
	var out []spot
	for row := range lines {
		for col := range cols {
			x := dx*(float64(col)+0.5*float64(row%2)) + (rng.Float64()-0.5)*a*0.6
			y := dy*float64(row) + (rng.Float64()-0.5)*b*0.6
			turn := rng.IntN(4)
			for _, sx := range []float64{-w, 0, w} {
				for _, sy := range []float64{-h, 0, h} {
					if q := (point{x + sx, y + sy}); q.x > -a && q.x < w+a && q.y > -p.floor(a, b) && q.y < h+p.floor(a, b) {
						out = append(out, spot{q, turn})
					}
				}
			}
		}
	}
	slices.SortStableFunc(out, func(s, t spot) int { return cmp.Compare(s.y, t.y) })
	c.put(`<defs><pattern id="%s_" width="%s" height="%s" patternUnits="userSpaceOnUse">`, esc(id), num(w), num(h))
	use(c, id, out, p.turns())
	c.WriteString(`</pattern></defs>`)
}

func (p *pile) aspect() float64 {
	l, w := sidesOf(p.Form)
	switch a := aspects[p.Form.Shape]; {
	case l > 0:
		return min(max(w/max(l, w), 0.12), 1)
	case a > 0:
		return a
	}
	return 0.75
}

// turns are the ways a seed may lie: long ones rest nearly level.
func (p *pile) turns() []float64 {
	turns := []float64{-8, 172, 24, -30}
	if p.aspect() > 0.65 {
		turns = []float64{0, 145, 70, 220}
	}
	return turns[:pick(p.k < 40, 2, 4)]
}

// defs defines a seed in each of its turns.
func (p *pile) defs(c *canvas, id string, a, b float64) {
	g := draw(p.Form, a, b, 0, false)
	g.over = g.over[:min(len(g.over), pick(a < 4.5, 1, pick(a < 9, 2, 3)))] // what shows at this size
	c.put(`<defs><g id="%s">`, esc(id))
	g.shorten()
	g.paths(c)
	c.WriteString(`</g>`)
	for i, turn := range p.turns() {
		c.put(`<use id="%s%c" href="#%s" transform="rotate(%s)"/>`, esc(id), 'a'+i, esc(id), num(turn))
	}
	c.WriteString(`</defs>`)
}

// spot is where a seed lies, and in which turn.
type spot struct {
	point
	turn int
}

func use(c *canvas, id string, spots []spot, turns []float64) {
	for _, s := range spots {
		c.put(`<use href="#%s%c" x="%s" y="%s"/>`, esc(id), 'a'+s.turn%len(turns), tenth(s.x), tenth(s.y))
	}
}

// spots lists places for seeds from the top of the heap to its foot, so that
// lower ones lie in front.
func (p *pile) spots(a, b float64, rng *rand.Rand) []spot {
	step := max(b*1.15, a*0.5)
	var out []spot
	for y := p.h - b*0.6; y > -b*0.2; y -= step {
		half := p.half(max(y, 0)/p.h) - a*0.6
		if half < 0 {
			half = 0
		}
		n := int(2*half/(a*1.25)) + 1
		for i := range n {
			x := 0.0
			if n > 1 {
				x = -half + 2*half*float64(i)/float64(n-1)
			}
			x += (rng.Float64() - 0.5) * a * 0.5
			yy := max(y+(rng.Float64()-0.5)*step*0.7, p.floor(a, b))
			out = append(out, spot{point{x, -yy}, rng.IntN(4)})
		}
		if len(out) > 4000 {
			break
		}
	}
	if len(out) == 0 {
		out = append(out, spot{point{0, -b}, 0})
	}
	return out
}

// floor is how high the middle of a seed lies on the table.
func (p *pile) floor(a, b float64) float64 {
	floor := 0.0
	for _, turn := range p.turns() {
		s, c := math.Sincos(turn * math.Pi / 180)
		floor = max(floor, math.Hypot(a*s, b*c))
	}
	return floor
}

// onSlopes is how many single seeds lie on the slopes.
func (p *pile) onSlopes(a float64) int { return min(int(1.7*p.r/a), max(p.k/2, 5), 30) }

// outlineSpots lists seeds along the slopes.
func (p *pile) outlineSpots(a, b float64, rng *rand.Rand) []spot {
	var out []spot
	n := p.onSlopes(a)
	for i := range n {
		t := (float64(i) + 0.5) / float64(n)
		u := 2*t - 1 // along the foot
		y := p.h * (1 - math.Pow(math.Abs(u), 1.25))
		out = append(out, spot{point{u*p.r*0.96 + (rng.Float64()-0.5)*a, -max(y*0.96-b*rng.Float64(), p.floor(a, b))}, rng.IntN(4)})
	}
	return out
}
