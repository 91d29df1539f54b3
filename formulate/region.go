package formulate

import (
	"context"
	"fmt"
	"math"

	"firlot/analysis"
	"firlot/lp"
	"firlot/mix"
)

// Region is every pair of two figures that a shelf can be mixed to: a convex
// polygon, exact on the relaxation that leaves out whole steps and numbers of
// ingredients.
type Region struct {
	X, Y    analysis.Measure
	Corners []Corner // counter-clockwise, the one with the least x (then y) first
	// Unknown are the lines left out because one of the two figures is not
	// known for them: what they would make cannot be drawn.
	Unknown []int
}

// Corner is a corner of a region with a mix that makes it.
type Corner struct {
	X, Y   float64
	Shares []float64 // of the batch, one a line
}

// RegionOptions say what a region respects besides floors, ceilings and
// groups.
type RegionOptions struct {
	// Free leaves all windows out. Otherwise the windows hold, but for those on
	// the two figures themselves.
	Free bool
	// Sureness asks that of each window's edges, when above nought.
	Sureness float64
	// Leave takes one line out; −1 takes none.
	Leave int
}

// FindRegion computes the region of two figures. Both must be on the same
// basis and side, so that they share one denominator. A shelf that can be
// mixed to nothing under its limits has a region without corners. Lines for
// which a figure is not known are left out and named.
func FindRegion(ctx context.Context, p *mix.Plan, x, y analysis.Measure, o RegionOptions) (*Region, error) {
	if x.Basis != y.Basis || x.On != y.On || x.Per != "" || y.Per != "" {
		return nil, fmt.Errorf("the two figures of a region must be plain figures on one basis and side")
	}
	f := &finder{ctx: ctx, plan: p, x: x, y: y, o: o, program: newProgram(p), out: map[int]bool{o.Leave: true}}
	r := &Region{X: x, Y: y, Unknown: f.prepare()}
	corners, err := f.hull()
	if err != nil {
		return nil, err
	}
	r.Corners = corners
	return r, nil
}

type finder struct {
	ctx  context.Context
	plan *mix.Plan
	x, y analysis.Measure
	o    RegionOptions
	*program
	out             map[int]bool // lines that take no part
	numX, numY, den []float64
}

// prepare reads the figures' terms and leaves out the lines for which one is
// not known.
func (f *finder) prepare() (unknown []int) {
	for i, l := range f.plan.Lines {
		tx, ty := analysis.TermsOf(l.Form, f.x), analysis.TermsOf(l.Form, f.y)
		if !tx.Num.Known || !ty.Num.Known || !tx.Den.Known {
			f.out[i] = true
			unknown = append(unknown, i)
		}
		f.numX = append(f.numX, tx.Num.Mean)
		f.numY = append(f.numY, ty.Num.Mean)
		f.den = append(f.den, tx.Den.Mean)
	}
	return unknown
}

// model writes the limits for shares s_i of the measured mass (Charnes and
// Cooper 1962): with the denominator Σ den·s fixed at 1, figures are linear,
// and every limit is homogeneous in the shares and their sum.
func (f *finder) model(dx, dy float64) (*lp.Model, []lp.Var) {
	m := lp.NewModel()
	n := float64(f.plan.Steps)
	cols := f.bounds(variant{relaxed: true})
	s := make([]lp.Var, len(cols))
	most := 0.0
	for i, d := range f.den {
		if d > 0 && !f.out[i] {
			most = max(most, 1/d)
		}
	}
	var den []lp.Term
	total := m.AddColumn(lp.Column{Name: "sum of shares", Hi: most})
	sum := []lp.Term{{Var: total, Coef: -1}}
	for i := range cols {
		hi := most
		if f.out[i] {
			hi = 0
		}
		s[i] = m.AddColumn(lp.Column{Name: cols[i].Name, Hi: hi, Cost: -direction(float64(dx*f.numX[i]) + float64(dy*f.numY[i]))})
		den = append(den, lp.Term{Var: s[i], Coef: f.den[i]})
		sum = append(sum, lp.Term{Var: s[i], Coef: 1})
		f.share(m, s[i], total, cols[i].Lo, cols[i].Hi, i)
	}
	m.AddRow(lp.Row{Name: "measured mass", Lo: 1, Hi: 1, Terms: den})
	m.AddRow(lp.Row{Name: "shares", Lo: 0, Hi: 0, Terms: sum})
	f.groupsAndWindows(m, s, total, n)
	return m, s
}

// direction rounds a cost to the 24 bits of a float32. A direction that is off
// by a hundred-millionth still finds a corner, and short numbers keep the
// exact check short.
func direction(v float64) float64 { return float64(float32(v)) }

// share keeps lo·total ≤ n·s ≤ hi·total, in whole numbers of steps.
func (f *finder) share(m *lp.Model, s, total lp.Var, lo, hi float64, line int) {
	if f.out[line] {
		return
	}
	n := float64(f.plan.Steps)
	if lo > 0 {
		m.AddRow(lp.Row{Name: "floor", Lo: 0, Hi: math.Inf(1), Terms: []lp.Term{{Var: s, Coef: n}, {Var: total, Coef: -lo}}})
	}
	if hi < n {
		m.AddRow(lp.Row{Name: "ceiling", Lo: math.Inf(-1), Hi: 0, Terms: []lp.Term{{Var: s, Coef: n}, {Var: total, Coef: -hi}}})
	}
}

func (f *finder) groupsAndWindows(m *lp.Model, s []lp.Var, total lp.Var, n float64) {
	for i, l := range f.limits {
		switch l.kind {
		case groupFloor, groupCeiling:
			g := f.plan.Groups[l.index]
			bound, lo, hi := float64(g.Floor), 0.0, math.Inf(1)
			if l.kind == groupCeiling {
				bound, lo, hi = float64(g.Ceiling), math.Inf(-1), 0
			}
			terms := sum(s, g.Lines)
			for k := range terms {
				terms[k].Coef = n
			}
			m.AddRow(lp.Row{Name: l.what, Lo: lo, Hi: hi, Terms: append(terms, lp.Term{Var: total, Coef: -bound})})
		case poolLimit:
			m.AddRow(f.poolRow(l, s, total, n))
		case edgeLimit:
			if f.o.Free || f.onAxis(l) {
				continue
			}
			v := variant{z: make([]float64, len(f.limits))}
			if f.o.Sureness > 0 {
				v.z[i] = deviations(1 - f.o.Sureness)
			}
			f.writeEdge(m, s, i, v)
		}
	}
}

// poolRow is a shared inclusion limit on shares: Σ s·n/most ≤ total.
func (f *finder) poolRow(l limit, s []lp.Var, total lp.Var, n float64) lp.Row {
	q := f.plan.Pools()[l.index]
	row := lp.Row{Name: l.what, Lo: math.Inf(-1), Hi: 0, Terms: []lp.Term{{Var: total, Coef: -1}}}
	for i, line := range q.Lines {
		if q.Most[i] > 0 {
			row.Terms = append(row.Terms, lp.Term{Var: s[line], Coef: n / q.Most[i]})
		}
	}
	return row
}

func (f *finder) onAxis(l limit) bool {
	m := analysis.MeasureOf(f.plan.Targets[l.index].Window)
	return m == f.x || m == f.y
}

// extreme is the corner farthest in a direction; false when there is no mix.
func (f *finder) extreme(dx, dy float64) (Corner, bool, error) {
	m, s := f.model(dx, dy)
	r, err := lp.Solve(f.ctx, m, lp.Options{})
	if err != nil {
		return Corner{}, false, err
	}
	if r.X == nil {
		if r.Status == lp.Infeasible {
			return Corner{}, false, nil
		}
		return Corner{}, false, errStopped{r.Status}
	}
	c := Corner{Shares: make([]float64, len(s))}
	sum := 0.0
	for i, v := range s {
		c.X += float64(f.numX[i] * r.X[v])
		c.Y += float64(f.numY[i] * r.X[v])
		c.Shares[i] = r.X[v]
		sum += r.X[v]
	}
	for i := range c.Shares {
		c.Shares[i] /= sum
	}
	return c, true, nil
}

// sameCorner is the distance, as a share of the region's extent, within which
// two corners are one: corners come from exact points rounded to float64, and
// a real edge shorter than a millionth of the map cannot be seen.
const sameCorner = 1e-7

// mostCorners bounds the work; a region has fewer corners than limits.
const mostCorners = 400

// hull finds the corners by extreme directions: the farthest points along the
// axes, then, for each side between two corners, whether anything lies beyond.
// It works on axes scaled to the region's extent, so that a figure of small
// numbers is not lost beside one of large.
func (f *finder) hull() ([]Corner, error) {
	start, err := f.compass()
	if err != nil || start == nil {
		return nil, err
	}
	sx, sy := start[2].X-start[0].X, start[3].Y-start[1].Y
	if sx <= 0 {
		sx = 1
	}
	if sy <= 0 {
		sy = 1
	}
	for i := range f.numX {
		f.numX[i] /= sx
		f.numY[i] /= sy
	}
	if start, err = f.compass(); err != nil || start == nil {
		return nil, err
	}
	var out []Corner
	for i, c := range start {
		side, err := f.side(c, start[(i+1)%len(start)], 0)
		if err != nil {
			return nil, err
		}
		out = append(append(out, c), side...)
	}
	out = tidy(out, sameCorner)
	for i := range out {
		out[i].X *= sx
		out[i].Y *= sy
	}
	return out, nil
}

// compass is the farthest corners to the left, below, to the right and above;
// nil when there is no mix.
func (f *finder) compass() ([]Corner, error) {
	var list []Corner
	for _, d := range [][2]float64{{-1, 0}, {0, -1}, {1, 0}, {0, 1}} {
		c, ok, err := f.extreme(d[0], d[1])
		if err != nil || !ok {
			return nil, err
		}
		list = append(list, c)
	}
	return list, nil
}

// side lists the corners strictly between two, counter-clockwise.
func (f *finder) side(a, b Corner, depth int) ([]Corner, error) {
	dx, dy := b.Y-a.Y, -(b.X - a.X) // outward for counter-clockwise order
	length := math.Hypot(dx, dy)
	if length <= sameCorner || depth > mostCorners {
		return nil, nil
	}
	dx, dy = dx/length, dy/length
	c, ok, err := f.extreme(dx, dy)
	if err != nil || !ok {
		return nil, err
	}
	if float64(dx*(c.X-a.X))+float64(dy*(c.Y-a.Y)) <= sameCorner {
		return nil, nil
	}
	before, err := f.side(a, c, depth+1)
	if err != nil {
		return nil, err
	}
	after, err := f.side(c, b, depth+1)
	if err != nil {
		return nil, err
	}
	return append(append(before, c), after...), nil
}

// tidy drops corners that repeat or lie on a side, and starts at the least x.
func tidy(list []Corner, near float64) []Corner {
	var out []Corner
	for i, c := range list {
		if len(out) > 0 && math.Hypot(c.X-out[len(out)-1].X, c.Y-out[len(out)-1].Y) <= near {
			continue
		}
		if i == len(list)-1 && len(out) > 0 && math.Hypot(c.X-out[0].X, c.Y-out[0].Y) <= near {
			continue
		}
		out = append(out, c)
	}
	out = straighten(out, near)
	first := 0
	for i, c := range out {
		if c.X < out[first].X || c.X == out[first].X && c.Y < out[first].Y {
			first = i
		}
	}
	return append(append([]Corner(nil), out[first:]...), out[:first]...)
}

func straighten(list []Corner, near float64) []Corner {
	for i := 0; i < len(list) && len(list) > 2; {
		a, b, c := list[(i+len(list)-1)%len(list)], list[i], list[(i+1)%len(list)]
		off := math.Abs(float64((b.X-a.X)*(c.Y-a.Y))-float64((b.Y-a.Y)*(c.X-a.X))) / max(math.Hypot(c.X-a.X, c.Y-a.Y), near)
		if off <= near {
			list = append(list[:i], list[i+1:]...)
			continue
		}
		i++
	}
	return list
}

// Area is the region's area in the product of its figures' units.
func (r *Region) Area() float64 {
	s := 0.0
	for i, a := range r.Corners {
		b := r.Corners[(i+1)%len(r.Corners)]
		s += float64(a.X*b.Y) - float64(b.X*a.Y)
	}
	return s / 2
}

// Contains reports whether a pair of figures lies in the region, its edges
// included within a millionth of its extent.
func (r *Region) Contains(x, y float64) bool {
	n := len(r.Corners)
	if n < 3 {
		return false
	}
	left, right, low, high := r.Corners[0].X, r.Corners[0].X, r.Corners[0].Y, r.Corners[0].Y
	for _, c := range r.Corners {
		left, right = min(left, c.X), max(right, c.X)
		low, high = min(low, c.Y), max(high, c.Y)
	}
	sx, sy := right-left, high-low
	for i, a := range r.Corners {
		b := r.Corners[(i+1)%n]
		ux, uy := (b.X-a.X)/sx, (b.Y-a.Y)/sy
		if ux*(y-a.Y)/sy-uy*(x-a.X)/sx < -1e-6*math.Hypot(ux, uy) {
			return false
		}
	}
	return true
}
