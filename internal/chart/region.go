package chart

import (
	"math"
	"strings"

	"firlot/analysis"
	"firlot/formulate"
)

// Ellipse is where the sets of bags put a mix: the standard deviations of two
// figures and how they go together, −1 to 1.
type Ellipse struct {
	SDX, SDY, Rho float64
}

// nine is the radius, in standard deviations, inside which nine of ten pairs
// of the normal law fall: √(−2 ln 0.1), the Rayleigh law's quantile.
var nine = math.Sqrt(-2 * math.Log(0.1))

// EllipseOf computes the ellipse of a mix by the delta method, with the same
// parts as package analysis. It reports false where one of the figures is not
// known for the whole mix.
func EllipseOf(portions []analysis.Portion, x, y analysis.Measure) (Ellipse, bool) {
	vx, vy := analysis.Of(portions, x), analysis.Of(portions, y)
	if !vx.HasMean || !vy.HasMean || vx.KnownShare < 1 || vy.KnownShare < 1 {
		return Ellipse{}, false
	}
	var xx, yy, xy, dx, dy float64
	for _, p := range portions {
		m := p.Mass.Grams()
		tx, ty := analysis.TermsOf(p.Form, x), analysis.TermsOf(p.Form, y)
		dx += tx.Den.Mean * m
		dy += ty.Den.Mean * m
		px, py := tx.Row(analysis.Edge{Bound: vx.Mean}).Parts, ty.Row(analysis.Edge{Bound: vy.Mean}).Parts
		for _, a := range px {
			xx += a.Sigma * a.Sigma * m * m
			for _, b := range py {
				if a.Key == b.Key {
					xy += a.Sigma * b.Sigma * m * m
				}
			}
		}
		for _, b := range py {
			yy += b.Sigma * b.Sigma * m * m
		}
	}
	e := Ellipse{SDX: math.Sqrt(xx) / dx, SDY: math.Sqrt(yy) / dy}
	if xx > 0 && yy > 0 {
		e.Rho = xy / math.Sqrt(xx*yy)
	}
	return e, true
}

// points are points around the ellipse, about a mix.
func (e Ellipse) points(x, y float64) []point {
	const n = 48
	rho := min(max(e.Rho, -1), 1)
	pts := make([]point, n)
	for i := range pts {
		s, c := math.Sincos(2 * math.Pi * float64(i) / n)
		pts[i] = point{x + nine*e.SDX*c, y + nine*e.SDY*(rho*c+math.Sqrt(1-rho*rho)*s)}
	}
	return pts
}

// MapMix is a mix on the map.
type MapMix struct {
	X, Y    float64
	Ellipse *Ellipse // nil: not known
	Label   string
}

// MapRegion is a region with its words in the legend.
type MapRegion struct {
	Region *formulate.Region
	Label  string
}

// MapData is what a shelf can be mixed to.
type MapData struct {
	All     MapRegion
	Without *MapRegion // the shelf less one ingredient
	// The window on each figure; both sides may be open.
	X, Y        StripWindow
	WindowLabel string
	Mix         *MapMix

	XName, YName     string // of the axes, with units
	XFormat, YFormat Number // of the ticks
}

// MapOptions say how a map is drawn.
type MapOptions struct {
	Title, Desc string
	Width       float64 // px; 0 is 320. From 620 the legend stands beside.
}

// plotter brings two figures to px.
type plotter struct {
	canvas
	MapData
	left, top, w, h    float64 // the plot
	x0, x1, y0, y1     float64 // the figures that it spans
	xTicks, yTicks     []float64
	legendX, legendTop float64
}

const mapText = 12.0

// Map draws the region of two figures that a shelf can be mixed to, hatched;
// the same without one ingredient, dashed; the window; and this mix with the
// ellipse into which nine of ten sets of bags put it.
func Map(d MapData, o MapOptions) string {
	width := pick(o.Width > 0, o.Width, 320.0)
	m := &plotter{MapData: d}
	m.extent()
	beside := width >= 620
	m.xTicks, m.yTicks = ticks(m.x0, m.x1, pick(beside, 7, 5)), ticks(m.y0, m.y1, 6)
	m.round()
	gutter := 0.0
	for _, v := range m.yTicks {
		gutter = max(gutter, textWidth(d.YFormat.of(v), 11))
	}
	yName := label{y: 13, size: mapText, class: "axis-name", colour: "currentColor", lines: wrap(d.YName, mapText, width-4)}
	m.left, m.top = gutter+10, yName.height()+12
	m.w = pick(beside, min(width*0.56, 560), width-m.left-14)
	if beside {
		m.w -= m.left
	}
	m.h = min(m.w*0.74, 400)
	m.axes()
	m.draw()
	m.text(yName)
	xName := label{x: m.left, y: m.top + m.h + 34, size: mapText, class: "axis-name", colour: "currentColor", lines: wrap(d.XName, mapText, m.w+10)}
	m.text(xName)
	foot := xName.y + xName.height() - 6
	m.legendX, m.legendTop = 0, foot+10
	if beside {
		m.legendX, m.legendTop = m.left+m.w+30, m.top
	}
	end := m.legend(width - m.legendX - 34)
	var c canvas
	c.begin("map", width, max(foot, end)+2, o.Title, o.Desc, "")
	c.WriteString(m.String())
	return c.end()
}

// extent finds the figures that the map must span.
func (m *plotter) extent() {
	m.x0, m.y0 = math.Inf(1), math.Inf(1)
	m.x1, m.y1 = math.Inf(-1), math.Inf(-1)
	see := func(x, y float64) {
		if !math.IsNaN(x) && !math.IsInf(x, 0) {
			m.x0, m.x1 = min(m.x0, x), max(m.x1, x)
		}
		if !math.IsNaN(y) && !math.IsInf(y, 0) {
			m.y0, m.y1 = min(m.y0, y), max(m.y1, y)
		}
	}
	for _, r := range []*MapRegion{&m.All, m.Without} {
		if r != nil && r.Region != nil {
			for _, c := range r.Region.Corners {
				see(c.X, c.Y)
			}
		}
	}
	for _, v := range []*float64{m.X.Min, m.X.Max} {
		if v != nil {
			see(*v, math.NaN())
		}
	}
	for _, v := range []*float64{m.Y.Min, m.Y.Max} {
		if v != nil {
			see(math.NaN(), *v)
		}
	}
	if m.Mix != nil {
		see(m.Mix.X, m.Mix.Y)
		if m.Mix.Ellipse != nil {
			for _, p := range m.Mix.Ellipse.points(m.Mix.X, m.Mix.Y) {
				see(max(p.x, 0), max(p.y, 0))
			}
		}
	}
	m.x0, m.x1 = roomy(m.x0, m.x1)
	m.y0, m.y1 = roomy(m.y0, m.y1)
}

// roomy widens an extent a little; one of nothing becomes one of something.
// Figures start at nought.
func roomy(lo, hi float64) (float64, float64) {
	if lo > hi {
		return 0, 1
	}
	if hi-lo < 1e-9*max(math.Abs(hi), 1e-9) {
		pad := max(math.Abs(hi)*0.1, 1e-6)
		return lo - pad, hi + pad
	}
	pad := (hi - lo) * 0.04
	return pick(lo >= 0, max(lo-pad, 0), lo-pad), hi + pad
}

// ticks are round figures, about n of them, inside an extent.
func ticks(lo, hi float64, n int) []float64 {
	rough := (hi - lo) / float64(n)
	size := math.Pow(10, math.Floor(math.Log10(rough)))
	step := size * 10
	for _, k := range []float64{1, 2, 5} {
		if size*k >= rough*0.999 {
			step = size * k
			break
		}
	}
	var out []float64
	for i := math.Ceil(lo/step - 1e-9); i*step <= hi+step*1e-9 && len(out) < 40; i++ {
		out = append(out, i*step+0) // never −0
	}
	return out
}

// round widens the plot to the ticks beyond its ends when they are near.
func (m *plotter) round() {
	grow := func(t []float64, lo, hi *float64) []float64 {
		if len(t) < 2 {
			return t
		}
		step := t[1] - t[0]
		if first := t[0] - step; first >= 0 && *lo-first < step*0.5 {
			*lo, t = first, append([]float64{first}, t...)
		}
		if last := t[len(t)-1] + step; last-*hi < step*0.5 {
			*hi, t = last, append(t, last)
		}
		return t
	}
	m.xTicks, m.yTicks = grow(m.xTicks, &m.x0, &m.x1), grow(m.yTicks, &m.y0, &m.y1)
}

func (m *plotter) at(x, y float64) point {
	return point{m.left + (x-m.x0)/(m.x1-m.x0)*m.w, m.top + m.h - (y-m.y0)/(m.y1-m.y0)*m.h}
}

// axes draws the frame, the ticks and their numbers, leaving out numbers that
// would touch.
func (m *plotter) axes() {
	d := "M" + pair(point{m.left, m.top}) + "L" + pair(point{m.left, m.top + m.h}) + "L" + pair(point{m.left + m.w, m.top + m.h})
	end := math.Inf(-1)
	for _, v := range m.xTicks {
		p := m.at(v, m.y0)
		d += "M" + pair(p) + "L" + pair(point{p.x, p.y + 5})
		s := m.XFormat.of(v)
		half := textWidth(s, 11) / 2
		if p.x-half < end+6 || p.x+half > m.left+m.w+14 {
			continue
		}
		end = p.x + half
		m.text(label{x: p.x, y: p.y + 17, size: 11, anchor: "middle", class: "tick", colour: soft, lines: []string{s}})
	}
	for _, v := range m.yTicks {
		p := m.at(m.x0, v)
		d += "M" + pair(p) + "L" + pair(point{p.x - 5, p.y})
		m.text(label{x: p.x - 8, y: p.y + 4, size: 11, anchor: "end", class: "tick", colour: soft, lines: []string{m.YFormat.of(v)}})
	}
	m.line("axes", d, soft, 1, "")
}

// draw puts regions, window and mix into the plot.
func (m *plotter) draw() {
	m.region(m.All, false)
	if m.Without != nil {
		m.region(*m.Without, true)
	}
	if d := m.box(); d != "" {
		m.line("window", d, "currentColor", 2.2, "")
	}
	if m.Mix == nil {
		return
	}
	p := m.at(m.Mix.X, m.Mix.Y)
	if e := m.Mix.Ellipse; e != nil {
		pts := e.points(m.Mix.X, m.Mix.Y)
		for i, q := range pts {
			pts[i] = m.at(max(q.x, m.x0), max(q.y, m.y0))
		}
		m.put(`<path class="bags" d="%s" fill="%s" fill-opacity=".28" stroke="%s" stroke-width="1"/>`, polygon(pts, true), flax, flax)
	}
	m.line("mix-halo", cross(p, 7), paper, 6, "")
	m.line("mix", cross(p, 7), flax, 3, "")
}

func cross(p point, r float64) string {
	return "M" + pair(point{p.x - r, p.y}) + "L" + pair(point{p.x + r, p.y}) + "M" + pair(point{p.x, p.y - r}) + "L" + pair(point{p.x, p.y + r})
}

// region draws a polygon; a region of one pair, or of a line, is drawn so.
func (m *plotter) region(r MapRegion, without bool) {
	if r.Region == nil || len(r.Region.Corners) == 0 {
		return
	}
	var pts []point
	for _, c := range r.Region.Corners {
		pts = append(pts, m.at(c.X, c.Y))
	}
	if len(pts) == 1 {
		m.put(`<circle cx="%s" cy="%s" r="4" fill="none" stroke="%s" stroke-width="1.6"/>`, num(pts[0].x), num(pts[0].y), flax)
		return
	}
	if without {
		m.line("without", polygon(pts, true), "currentColor", 1.4, "5 3")
		return
	}
	if h := hatch(pts, 8, true); h != "" {
		m.line("hatch", h, flax, 0.7, "")
	}
	m.line("region", polygon(pts, true), flax, 1.8, "")
}

// box outlines the window; an open side is left undrawn.
func (m *plotter) box() string {
	if m.X.Min == nil && m.X.Max == nil && m.Y.Min == nil && m.Y.Max == nil {
		return ""
	}
	or := func(v *float64, end float64) float64 { return pick(v != nil, deref(v), end) }
	x0, x1, y0, y1 := or(m.X.Min, m.x0), or(m.X.Max, m.x1), or(m.Y.Min, m.y0), or(m.Y.Max, m.y1)
	var d strings.Builder
	side := func(v *float64, ax, ay, bx, by float64) {
		if v != nil {
			d.WriteString("M" + pair(m.at(ax, ay)) + "L" + pair(m.at(bx, by)))
		}
	}
	side(m.X.Min, x0, y0, x0, y1)
	side(m.Y.Max, x0, y1, x1, y1)
	side(m.X.Max, x1, y1, x1, y0)
	side(m.Y.Min, x1, y0, x0, y0)
	return d.String()
}

func deref(v *float64) float64 {
	if v == nil {
		return 0
	}
	return *v
}

// legend explains what is drawn, each with a sample of its line, and returns
// where it ends.
func (m *plotter) legend(room float64) float64 {
	y := m.legendTop
	entry := func(words string, sample func(box []point)) {
		if words == "" {
			return
		}
		x := m.legendX + 1
		sample([]point{{x, y}, {x + 22, y}, {x + 22, y + 14}, {x, y + 14}})
		l := label{x: x + 32, y: y + 11.5, size: mapText, class: "legend", colour: "currentColor", lines: wrap(words, mapText, room)}
		m.text(l)
		y += max(l.height(), 15) + 8
	}
	if m.All.Region != nil && len(m.All.Region.Corners) > 0 {
		entry(m.All.Label, func(b []point) {
			m.line("hatch", hatch(b, 6, true), flax, 0.7, "")
			m.line("region", polygon(b, true), flax, 1.8, "")
		})
	}
	if w := m.Without; w != nil && w.Region != nil && len(w.Region.Corners) > 0 {
		entry(w.Label, func(b []point) { m.line("without", polygon(b, true), "currentColor", 1.4, "5 3") })
	}
	if m.box() != "" {
		entry(m.WindowLabel, func(b []point) { m.line("window", polygon(b, true), "currentColor", 2.2, "") })
	}
	if m.Mix != nil {
		entry(m.Mix.Label, func(b []point) {
			c := point{(b[0].x + b[2].x) / 2, (b[0].y + b[2].y) / 2}
			if m.Mix.Ellipse != nil {
				m.put(`<ellipse cx="%s" cy="%s" rx="11" ry="7" fill="%s" fill-opacity=".28" stroke="%s" stroke-width="1"/>`, num(c.x), num(c.y), flax, flax)
			}
			m.line("mix", cross(c, 5), flax, 2.5, "")
		})
	}
	return y
}
