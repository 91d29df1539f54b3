package chart

import (
	"fmt"
	"math"

	"firlot/catalog"
)

// PortraitOptions say how a portrait is drawn. The zero value draws about
// life size on a screen whose px is 1/96 inch.
type PortraitOptions struct {
	Title, Desc string // in the reader's words; no title: decoration

	Scale float64 // px per mm; 0 is 96/25.4
	// Least and Most bound the drawn length in px, of a length that is known.
	// A food drawn larger than the scale has its true outline, filled with
	// ink, beside it; one drawn smaller has a dashed line under it. 0: no
	// bound, and 220 px for Most.
	Least, Most float64
	// LifeSize gives the picture's size in CSS millimetres and ignores Scale,
	// Least and Most. Calibration is the CSS millimetres that make a real one
	// on this screen, from holding a coin or a card to it; 0 is 1.
	LifeSize    bool
	Calibration float64

	Width, Height float64 // px of the picture at least, so that portraits line up
	Level         bool    // lying level; otherwise tilted a little
	Variant       int     // another seed of the same kind
}

// screen is px per mm as CSS has them.
const screen = 96 / 25.4

// unsized is the drawn length, in px, of a form whose size is not known.
const unsized = 34.0

// aspects are widths over lengths for kinds of unknown size.
var aspects = map[string]float64{
	"grain": 0.45, "spindle": 0.35, "ball": 1, "lens": 1, "drop": 0.6, "kernel": 0.6, "larva": 0.2,
	"leaf": 0.55, "petal": 0.6, "root": 0.4, "stem": 0.2, "slice": 0.8, "crumb": 0.6,
}

// Sized reports whether the catalogue knows a form's length and width, so
// that it can be drawn to scale.
func Sized(f *catalog.Form) bool {
	l, _ := sidesOf(f)
	return l > 0
}

// drawn is a glyph with what must be told of its size.
type drawn struct {
	*glyph
	known  bool
	factor float64 // drawn size over the size at scale
}

// size makes the glyph of a form at a scale within bounds.
func size(f *catalog.Form, o PortraitOptions) drawn {
	l, w := sidesOf(f)
	if l == 0 {
		aspect := aspects[f.Shape]
		if aspect == 0 {
			aspect = 0.75
		}
		long := unsized
		if o.Least > 0 && !o.LifeSize {
			long = max(long, o.Least)
		}
		if o.Most > 0 && !o.LifeSize {
			long = min(long, o.Most)
		}
		return drawn{draw(f, long/2, long*aspect/2, o.Variant, true), false, 1}
	}
	scale := o.scale()
	long := max(l, w) * scale
	factor := 1.0
	if !o.LifeSize {
		most := pick(o.Most > 0, o.Most, 220.0)
		factor = min(max(1, o.Least/long), most/long)
	}
	k := scale * factor / 2
	return drawn{draw(f, l*k, w*k, o.Variant, true), true, factor}
}

func (o PortraitOptions) scale() float64 {
	switch {
	case o.LifeSize:
		return 10 // a fine grid; the size itself is in millimetres
	case o.Scale > 0:
		return o.Scale
	}
	return screen
}

// turned are the half sides of a turned box.
func turned(a, b, degrees float64) (float64, float64) {
	s, c := math.Sincos(degrees * math.Pi / 180)
	return math.Abs(a*c) + math.Abs(b*s), math.Abs(a*s) + math.Abs(b*c)
}

// Portrait draws one piece of a form from what the catalogue says of it: kind
// of shape, colours, length, width. A form whose length or width is not known
// is drawn as a pale outline with a dashed line under it, which says "not to
// scale".
func Portrait(f *catalog.Form, o PortraitOptions) string {
	d := size(f, o)
	turn := pick(o.Level || !d.known && f.Shape == "crumb", 0.0, -16.0) // a mound of powder lies level
	hw, hh := turned(d.a, d.b, turn)
	const pad = 1.5
	w, h := 2*(hw+pad), 2*(hh+pad)
	cx, cy := w/2, h/2
	enlarged := d.factor > 1.15
	var smallW, smallH float64
	if enlarged {
		smallW, smallH = turned(d.a/d.factor, d.b/d.factor, turn)
		w += 2*smallW + 3
		h = max(h, 2*smallH+2)
	}
	toScale := d.known && d.factor > 0.98
	if !toScale {
		h += 5
	}
	if !o.LifeSize {
		dx, dy := max(o.Width-w, 0)/2, max(o.Height-h, 0)/2
		w, h, cx, cy = w+2*dx, h+2*dy, cx+dx, cy+dy
	}
	var c canvas
	c.begin("portrait", w, h, o.Title, o.Desc, d.extra(o, w, h))
	c.put(`<g transform="translate(%s %s)`, num(cx), num(cy))
	if turn != 0 {
		c.put(`rotate(%s)`, num(turn))
	}
	c.WriteString(`">`)
	d.piece(&c)
	c.WriteString(`</g>`)
	if enlarged {
		c.put(`<path class="true-size" transform="translate(%s %s)rotate(%s)scale(%.4f)" d="%s" fill="%s"/>`,
			num(cx+hw+pad+2+smallW), num(cy+hh-smallH), num(turn), 1/d.factor, d.outline, ink)
	}
	if !toScale {
		c.line("not-to-scale", "M"+pair(point{cx - hw, cy + hh + 4})+"L"+pair(point{cx + hw, cy + hh + 4}), soft, 1, "3 2")
	}
	return c.end()
}

// piece writes the glyph, or its pale outline where the size is not known.
func (d drawn) piece(c *canvas) {
	if d.known {
		d.write(c)
		return
	}
	c.put(`<path d="%s" fill="%s" fill-opacity=".3" stroke="%s" stroke-width="1"/>`, d.outline, d.pal.main, soft)
}

// extra is the size in attributes, and how the drawing relates to it.
func (d drawn) extra(o PortraitOptions, w, h float64) string {
	unitOf, k := "", 1.0
	if o.LifeSize {
		cal := o.Calibration
		if !(cal > 0) || math.IsInf(cal, 0) {
			cal = 1
		}
		unitOf, k = "mm", cal/o.scale()
	}
	s := fmt.Sprintf(` width="%s%s" height="%s%s"`, num(w*k), unitOf, num(h*k), unitOf)
	switch {
	case !d.known:
		s += ` data-scale="none"`
	case d.factor < 0.98 || d.factor > 1.02:
		s += fmt.Sprintf(` data-scale="%s"`, num(d.factor))
	}
	return s
}

// SampleOptions say how a sample is drawn.
type SampleOptions struct {
	Title, Desc string
	Scale       float64 // px per mm; 0 is 96/25.4
	Width       float64 // px at most; 0 is 320
	Count       int     // pieces at most; 0 is 10
	Bar         float64 // length of the scale bar in mm; 0 leaves it out
	BarLabel    string  // such as "1 cm"
}

// Sample strews a few pieces of a form at one true scale beside a scale bar,
// for recognising it at the balance. A form of unknown size has no bar: each
// piece is its outline, not to scale.
func Sample(f *catalog.Form, o SampleOptions) string {
	width := pick(o.Width > 0, o.Width, 320.0)
	count := pick(o.Count > 0, min(o.Count, 40), 10)
	po := PortraitOptions{Scale: o.Scale, Most: width - 4}
	d := size(f, po)
	barW, barH := 0.0, 0.0
	if o.Bar > 0 && d.known && d.factor > 0.98 {
		barW, barH = o.Bar*po.scale(), 24
	}
	const gap = 5
	reach := math.Hypot(d.a, d.b*0.9)
	step := 2*max(d.a, d.b) + gap
	count = max(1, min(count, int((width-2)/step)))
	wobble := pick(count > 1, min(d.b*0.5, 6), 0)
	half := pick(count > 1, min(reach, d.b+0.6*d.a), max(d.b, 0.4*d.a+d.b)) + wobble
	h := 2*half + 4 + barH + pick(d.known && d.factor > 0.98, 0.0, 6)
	w := max(float64(count)*step+2, barW+textWidth(o.BarLabel, 12)+10)
	var c canvas
	c.begin("sample", w, h, o.Title, o.Desc, "")
	rng := newRand(refOf(f))
	for i := range count {
		po.Variant = i
		g := size(f, po)
		turn := pick(count > 1, (rng.Float64()-0.5)*70, -10)
		c.put(`<g transform="translate(%s %s)rotate(%s)">`, num(1+step*(float64(i)+0.5)), num(half+2+(rng.Float64()-0.5)*2*wobble), num(turn))
		g.piece(&c)
		c.WriteString(`</g>`)
	}
	if barH > 0 {
		y := h - 6
		c.line("bar", fmt.Sprintf("M2 %sL2 %sL%s %sL%s %s", num(y-4), num(y), num(2+barW), num(y), num(2+barW), num(y-4)), "currentColor", 1.5, "")
		c.text(label{x: barW + 8, y: y + 2, size: 12, colour: "currentColor", class: "bar", lines: []string{o.BarLabel}})
	} else if !d.known || d.factor <= 0.98 {
		c.line("not-to-scale", "M2 "+num(h-3)+"L"+num(w-2)+" "+num(h-3), soft, 1, "3 2")
	}
	return c.end()
}
