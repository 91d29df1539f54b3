package chart

import "math"

// WeightPoint is one weighing.
type WeightPoint struct {
	Day   float64 // any count of days
	Grams float64
}

// WeightTick is a day that is written under the line.
type WeightTick struct {
	Day   float64
	Label string
}

// WeightLine are the weighings of one animal.
type WeightLine struct {
	Points []WeightPoint // by day
	// Trend is a straight line from one point to another; nil: none. Fast
	// marks one that calls for a veterinarian: it is drawn with an arrow.
	Trend *[2]WeightPoint
	Fast  bool
	// Low and High are what grown animals of the species weigh; nil: not
	// known. Band names them.
	Low, High *float64
	Band      string
	Ticks     []WeightTick
	Unit      string
	Format    Number
}

// WeightOptions say how a weight line is drawn.
type WeightOptions struct {
	Title, Desc string
	Width       float64 // px; 0 is 320
}

const (
	weightHigh = 170.0 // px of the plot
	weightLeft = 40.0
	weightTop  = 20.0
)

// weightPlot is a weight line being drawn.
type weightPlot struct {
	canvas
	WeightLine
	width, lo, hi, from, to float64
}

// Weights draws weighings as crosses joined by a fine line, the trend as a
// thick dashed one, and what grown animals weigh as a bracket at the side. A
// weight is a fact and its trend a reckoning, so the two are drawn unlike.
func Weights(d WeightLine, o WeightOptions) string {
	w := &weightPlot{WeightLine: d, width: pick(o.Width > 0, o.Width, 320.0)}
	w.span()
	w.axes()
	w.grown()
	w.points()
	w.trend()
	var c canvas
	c.begin("weights", w.width, weightTop+weightHigh+26, o.Title, o.Desc, "")
	c.WriteString(w.String())
	return c.end()
}

// span chooses what the plot shows: the weighings with some air, and the
// grown animals' range where it is near.
func (w *weightPlot) span() {
	w.lo, w.hi, w.from, w.to = math.Inf(1), math.Inf(-1), math.Inf(1), math.Inf(-1)
	see := func(p WeightPoint) {
		if math.IsNaN(p.Day+p.Grams) || math.IsInf(p.Day+p.Grams, 0) {
			return
		}
		w.lo, w.hi = min(w.lo, p.Grams), max(w.hi, p.Grams)
		w.from, w.to = min(w.from, p.Day), max(w.to, p.Day)
	}
	for _, p := range w.Points {
		see(p)
	}
	if w.Trend != nil {
		see(w.Trend[0])
		see(w.Trend[1])
	}
	if w.lo > w.hi {
		w.lo, w.hi, w.from, w.to = 0, 1, 0, 1
	}
	air := max((w.hi-w.lo)*0.15, w.hi*0.03, 0.5)
	w.lo, w.hi = max(w.lo-air, 0), w.hi+air
	near := (w.hi - w.lo) * 0.8
	for _, v := range []*float64{w.Low, w.High} {
		if v != nil && *v < w.lo && *v > w.lo-near {
			w.lo = *v - air*0.3
		}
		if v != nil && *v > w.hi && *v < w.hi+near {
			w.hi = *v + air*0.3
		}
	}
	if w.to-w.from < 1 {
		w.from, w.to = w.from-1, w.to+1
	}
}

func (w *weightPlot) x(day float64) float64 {
	return weightLeft + 10 + (day-w.from)/(w.to-w.from)*(w.width-weightLeft-30)
}

func (w *weightPlot) y(grams float64) float64 {
	return weightTop + weightHigh*(w.hi-grams)/(w.hi-w.lo)
}

func (w *weightPlot) at(p WeightPoint) point { return point{w.x(p.Day), w.y(p.Grams)} }

func (w *weightPlot) axes() {
	foot := weightTop + weightHigh
	for _, v := range ticks(w.lo, w.hi, 5) {
		w.line("grid", "M"+pair(point{weightLeft, w.y(v)})+"L"+pair(point{w.width - 2, w.y(v)}), "var(--line, #c3cccd)", 0.8, "1 4")
		w.text(label{x: weightLeft - 5, y: w.y(v) + 4, size: 11, anchor: "end", class: "grams", colour: soft, lines: []string{w.Format.of(v)}})
	}
	w.text(label{x: 2, y: 11, size: 11, class: "unit", colour: soft, lines: []string{w.Unit}})
	w.line("axis", "M"+pair(point{weightLeft, foot})+"L"+pair(point{w.width - 2, foot}), soft, 1, "")
	last := math.Inf(-1)
	for _, t := range w.Ticks {
		half := textWidth(t.Label, 11) / 2
		x := min(max(w.x(t.Day), half+1), w.width-half-1)
		if t.Day < w.from || t.Day > w.to || x-half < last+6 {
			continue
		}
		last = x + half
		w.line("tick", "M"+pair(point{w.x(t.Day), foot})+"L"+pair(point{w.x(t.Day), foot + 4}), soft, 1, "")
		w.text(label{x: x, y: foot + 17, size: 11, anchor: "middle", class: "when", colour: soft, lines: []string{t.Label}})
	}
}

// grown is the bracket of what grown animals weigh.
func (w *weightPlot) grown() {
	if w.Low == nil || w.High == nil || *w.High < w.lo || *w.Low > w.hi {
		return
	}
	top, foot := max(w.y(*w.High), weightTop), min(w.y(*w.Low), weightTop+weightHigh)
	x := w.width - 6
	d := "M" + pair(point{x, top}) + "L" + pair(point{x, foot})
	if *w.High <= w.hi {
		d += "M" + pair(point{x - 7, top}) + "L" + pair(point{x, top})
	}
	if *w.Low >= w.lo {
		d += "M" + pair(point{x - 7, foot}) + "L" + pair(point{x, foot})
	}
	w.line("grown", d, soft, 2, "")
	if w.Band != "" {
		w.text(label{x: w.width - 2, y: 11, size: 11, anchor: "end", class: "band", colour: soft, lines: []string{w.Band}})
	}
}

func (w *weightPlot) points() {
	var line []point
	for _, p := range w.Points {
		if math.IsNaN(p.Day+p.Grams) || math.IsInf(p.Day+p.Grams, 0) {
			continue
		}
		line = append(line, w.at(p))
	}
	if len(line) > 1 {
		w.line("between", polygon(line, false), soft, 1, "")
	}
	for _, p := range line {
		w.line("weighing", "M"+pair(point{p.x - 4, p.y - 4})+"L"+pair(point{p.x + 4, p.y + 4})+"M"+pair(point{p.x - 4, p.y + 4})+"L"+pair(point{p.x + 4, p.y - 4}), "currentColor", 1.8, "")
	}
	if n := len(line); n > 0 {
		v := w.Points[len(w.Points)-1]
		words := w.Format.of(v.Grams) + "\u00a0" + w.Unit
		half := textWidth(words, 13) * bold / 2
		p := line[n-1]
		y := max(p.y-9, 26)
		if n > 1 && line[n-2].y < p.y { // it fell: below, where the line does not come from
			y = min(p.y+19, weightTop+weightHigh-3)
		}
		w.text(label{x: min(p.x, w.width-12-half), y: y, size: 13, bold: true, anchor: "middle", class: "last", colour: "currentColor", lines: []string{words}})
	}
}

func (w *weightPlot) trend() {
	if w.Trend == nil {
		return
	}
	a, b := w.at(w.Trend[0]), w.at(w.Trend[1])
	w.line("trend", "M"+pair(a)+"L"+pair(b), flax, 3, "7 5")
	if w.Fast {
		dx, dy := b.x-a.x, b.y-a.y
		if n := math.Hypot(dx, dy); n > 0 {
			dx, dy = dx/n, dy/n
			m := point{(a.x + b.x) / 2, (a.y + b.y) / 2}
			w.put(`<path class="fast" d="%s" fill="%s"/>`, polygon([]point{{m.x + 9*dx, m.y + 9*dy}, {m.x - 6*dx - 8*dy, m.y - 6*dy + 8*dx}, {m.x - 6*dx + 8*dy, m.y - 6*dy - 8*dx}}, true), flax)
		}
	}
}
