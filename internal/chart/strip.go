package chart

import (
	"math"

	"firlot/analysis"
)

// StripWindow is a window, open on a side that is nil.
type StripWindow struct {
	Min, Max *float64
	Label    string // in words, with its source where that is another's
}

// StripData is one figure of a mix beside its windows.
type StripData struct {
	Name   string // of the figure
	Unit   string // written after the mean
	Window StripWindow
	Others []StripWindow // other sources' windows, explained below the strip

	// Mean is drawn where HasMean; Low and High bound most sets of bags. A
	// figure whose mean is not known for the whole mix (verdict not known) is
	// a hatched bar from Low to High, whatever the rest holds. High may be
	// infinite.
	Mean      float64
	HasMean   bool
	Low, High float64

	Verdict      analysis.Verdict
	VerdictWords string // such as "in 97 of 100 sets of bags"
	Unknown      string // said in place of the mean when it is not known
	Format       Number
}

// StripOptions say how a strip is drawn.
type StripOptions struct {
	Title, Desc string
	Width       float64 // px; 0 is 320. From 560 the words stand at the sides.
}

// The window takes the same part of every strip.
const (
	windowFrom, windowTo = 0.3, 0.7
	stripText            = 12.0
)

// strip is a strip being drawn.
type strip struct {
	canvas
	StripData
	x0, x1, y float64 // the plot, and the height of its axis
	lo, width float64 // value at the window's left edge, values that it spans
}

// Strip draws one figure in its window: a bracket for the window, as wide on
// every strip; a tick for the mean, a diamond and an arrow when it lies
// outside; a bar for the spread; dashed brackets below for other sources'
// windows. A window open above spans its bound to twice that; one open below
// spans nought to its bound.
func Strip(d StripData, o StripOptions) string {
	width := pick(o.Width > 0, o.Width, 320.0)
	s := &strip{StripData: d}
	s.lo, s.width = span(d.Window)
	wide := width >= 560
	side := 0.0
	if wide {
		side = min(width*0.24, 210)
		s.x0, s.x1 = side+18, width-side-4
	} else {
		s.x0, s.x1 = 16, width-4
	}
	name := label{size: 14, bold: true, class: "name", colour: "currentColor", lines: wrapBold(d.Name, 14, pick(wide, side, width-2))}
	window := label{size: stripText, class: "window", colour: soft, lines: wrap(d.Window.Label, stripText, pick(wide, side, width-2))}
	verdict := label{size: stripText, class: "verdict", colour: "currentColor", lines: wrap(d.VerdictWords, stripText, pick(wide, side-14, width-2))}
	top := 0.0
	name.y = 15
	window.y = name.y + name.height() - 2
	foot := window.y + window.height()
	if !wide {
		top = foot - 4
	}
	s.y = top + 36
	below := s.plot()
	h := below
	if wide {
		verdict.x, verdict.y = width-side+14, 40
		h = max(below, foot, verdict.y+verdict.height())
	} else {
		verdict.y = below + 12
		h = max(below, verdict.y+verdict.height()-8)
	}
	s.text(name)
	s.text(window)
	s.text(verdict)
	var c canvas
	c.begin("strip", width, h, o.Title, o.Desc, "")
	c.WriteString(s.String())
	return c.end()
}

// span says which value lies at the window's left edge and how many values
// the width of a window spans.
func span(w StripWindow) (lo, width float64) {
	switch {
	case w.Min != nil && w.Max != nil:
		lo, width = *w.Min, *w.Max-*w.Min
	case w.Min != nil:
		lo, width = *w.Min, math.Abs(*w.Min)
	case w.Max != nil:
		lo, width = min(*w.Max, 0), math.Abs(*w.Max)
	}
	if !(width > 0) {
		width = max(math.Abs(lo)*0.1, 1e-9)
		if lo == 0 {
			width = 1
		}
	}
	return lo, width
}

// share is where a value lies along the plot, 0 to 1 inside it.
func (s *strip) share(v float64) float64 {
	return windowFrom + (windowTo-windowFrom)*(v-s.lo)/s.width
}

// px is where a value is drawn; out is −1 or 1 when it lies off the plot.
func (s *strip) px(v float64) (x float64, out int) {
	t := s.share(v)
	switch {
	case t < 0:
		return s.x0, -1
	case t > 1:
		return s.x1, 1
	}
	return s.x0 + t*(s.x1-s.x0), 0
}

// plot draws all but the words at the sides and returns where it ends.
func (s *strip) plot() float64 {
	from := s.x0
	if x, out := s.px(0); out == 0 { // no figure is below nought
		from = x
		s.line("nought", "M"+pair(point{x, s.y - 5})+"L"+pair(point{x, s.y + 5}), soft, 1, "")
	}
	s.line("axis", "M"+pair(point{from, s.y})+"L"+pair(point{s.x1, s.y}), soft, 1, "")
	s.spread()
	s.line("bracket", s.bracket(s.Window, s.y, 12, 6), "currentColor", 2, "")
	s.numbers()
	s.mean()
	return s.others(s.y + 32)
}

// bracket is the outline of a window. An open side is a rail that ends in an
// arrow; so is one that lies off the plot.
func (s *strip) bracket(w StripWindow, y, tall, lip float64) string {
	if w.Min == nil && w.Max == nil {
		return "M" + pair(point{s.x0, y}) + "L" + pair(point{s.x1, y})
	}
	nought := s.x0
	if x, out := s.px(0); out == 0 {
		nought = x
	}
	return s.side(w.Min, w.Max, 1, nought, y, tall, lip) + s.side(w.Max, w.Min, -1, s.x1, y, tall, lip)
}

// side draws one side of a bracket; in is the direction into the window, 1 for
// the left side.
func (s *strip) side(v, other *float64, in, end, y, tall, lip float64) string {
	const rail = 64
	if v != nil {
		x, out := s.px(*v)
		if out == 0 {
			return "M" + pair(point{x + in*lip, y - tall}) + "L" + pair(point{x, y - tall}) + "L" + pair(point{x, y + tall}) + "L" + pair(point{x + in*lip, y + tall})
		}
		return railTo(x, x-18*float64(out), y-tall)
	}
	from, out := s.px(*other)
	if out != 0 {
		return "" // the other side's arrow says it
	}
	x := from - in*rail
	if in > 0 {
		x = max(x, end)
	} else {
		x = min(x, end)
	}
	return railTo(x, from, y-tall)
}

// railTo is a line to x that ends in an arrow.
func railTo(x, from, y float64) string {
	dir := pick(x > from, 1.0, -1.0)
	return "M" + pair(point{from, y}) + "L" + pair(point{x, y}) + "M" + pair(point{x - dir*5, y - 3}) + "L" + pair(point{x, y}) + "L" + pair(point{x - dir*5, y + 3})
}

// numbers writes the window's bounds under its bracket.
func (s *strip) numbers() {
	write := func(v *float64) {
		if v == nil {
			return
		}
		x, _ := s.px(*v)
		s.text(label{x: x, y: s.y + 25, size: 11, anchor: "middle", class: "bound", colour: soft, lines: []string{s.Format.of(*v)}})
	}
	write(s.Window.Min)
	write(s.Window.Max)
}

// spread draws the bar from Low to High; hatched when the mean is not known.
func (s *strip) spread() {
	if s.Low > s.High || math.IsNaN(s.Low) || math.IsNaN(s.High) || !s.HasMean && s.Verdict != analysis.NotKnown {
		return
	}
	a, outA := s.px(s.Low)
	b, outB := s.px(s.High)
	if outA != 0 && outA == outB { // all of it lies off the plot
		return
	}
	const half = 6
	box := []point{{a, s.y - half}, {b, s.y - half}, {b, s.y + half}, {a, s.y + half}}
	if s.unknown() {
		s.put(`<path class="unknown" d="%s" fill="%s" stroke="none"/>`, polygon(box, true), paper)
		s.line("unknown", hatch(box, 5, true), flax, 1, "")
	} else {
		s.put(`<path class="spread" d="%s" fill="%s" fill-opacity=".3"/>`, polygon(box, true), flax)
	}
	d := "M" + pair(box[0]) + "L" + pair(box[1]) + "M" + pair(box[3]) + "L" + pair(box[2])
	d += s.ending(a, outA, half) + s.ending(b, outB, half)
	s.line("spread-edge", d, flax, 1.2, "")
}

func (s *strip) unknown() bool { return s.Verdict == analysis.NotKnown || !s.HasMean }

// ending closes a bar, or lets it run off the plot with an arrow.
func (s *strip) ending(x float64, out int, half float64) string {
	if out == 0 {
		return "M" + pair(point{x, s.y - half}) + "L" + pair(point{x, s.y + half})
	}
	back := x - float64(out)*6
	return "M" + pair(point{back, s.y - half + 1}) + "L" + pair(point{x, s.y}) + "L" + pair(point{back, s.y + half - 1})
}

// mean draws the mark of the mean and writes its value over it.
func (s *strip) mean() {
	var words string
	var at float64
	if s.unknown() {
		words = s.Unknown
		a, _ := s.px(s.Low)
		b, _ := s.px(s.High)
		at = (a + b) / 2
	} else {
		words = s.Format.of(s.Mean)
		if s.Unit != "" {
			words += "\u00a0" + s.Unit
		}
		at = s.mark()
	}
	if words == "" {
		return
	}
	half := textWidth(words, 13) * bold / 2
	at = min(max(at, s.x0-14+half), s.x1-half)
	s.text(label{x: at, y: s.y - 20, size: 13, bold: true, anchor: "middle", class: "mean", colour: "currentColor", lines: []string{words}})
}

// mark draws the mean's own mark and returns where it stands.
func (s *strip) mark() float64 {
	x, out := s.px(s.Mean)
	switch edge, missed := s.missed(); {
	case out != 0: // far outside: a filled arrow at the end of the plot
		f := float64(out)
		s.put(`<path class="mean-far" d="%s" fill="%s"/>`, polygon([]point{{x, s.y}, {x - 11*f, s.y - 8}, {x - 11*f, s.y + 8}}, true), flax)
	case missed:
		e, _ := s.px(edge)
		dir := pick(e > x, 1.0, -1.0)
		if math.Abs(e-x) > 16 {
			s.line("missing", "M"+pair(point{x + 8*dir, s.y})+"L"+pair(point{e - 3*dir, s.y})+"M"+pair(point{e - 8*dir, s.y - 4})+"L"+pair(point{e - 3*dir, s.y})+"L"+pair(point{e - 8*dir, s.y + 4}), "currentColor", 1.5, "")
		}
		s.put(`<path class="mean-outside" d="%s" fill="%s" stroke="%s" stroke-width="2.5"/>`, polygon([]point{{x - 8, s.y}, {x, s.y - 9}, {x + 8, s.y}, {x, s.y + 9}}, true), paper, flax)
	default:
		s.line("mean", "M"+pair(point{x, s.y - 13})+"L"+pair(point{x, s.y + 13}), flax, 3.5, "")
	}
	return x
}

// missed is the edge that the mean does not reach or goes beyond.
func (s *strip) missed() (float64, bool) {
	switch w := s.Window; {
	case w.Min != nil && s.Mean < *w.Min:
		return *w.Min, true
	case w.Max != nil && s.Mean > *w.Max:
		return *w.Max, true
	}
	return 0, false
}

// others draws a lane for each other source's window and explains them below.
func (s *strip) others(y float64) float64 {
	for i, w := range s.Others {
		mid := y + float64(i)*16 + 8
		s.line("other", s.bracket(w, mid, 5, 5), "currentColor", 1, "2.5 2")
		a, b := s.x0, s.x1
		if w.Min != nil {
			a, _ = s.px(*w.Min)
		}
		if w.Max != nil {
			b, _ = s.px(*w.Max)
		}
		s.line("other-span", "M"+pair(point{a, mid})+"L"+pair(point{b, mid}), soft, 1, "1 4")
		s.text(label{x: s.x0 - 15, y: mid + 4, size: 11, class: "key", colour: "currentColor", lines: []string{letter(i)}})
	}
	if len(s.Others) == 0 {
		return y
	}
	y += float64(len(s.Others))*16 + 14
	for i, w := range s.Others {
		s.text(label{x: s.x0 - 15, y: y, size: 11, class: "key", colour: "currentColor", lines: []string{letter(i)}})
		l := label{x: s.x0, y: y, size: 11, class: "other", colour: soft, lines: wrap(w.Label, 11, s.x1-s.x0)}
		s.text(l)
		y += max(l.height(), 11*lead)
	}
	return y
}

// letter names a lane: a, b, c …
func letter(i int) string { return string(rune('a' + i%26)) }
