package lp

import "math"

// rounder turns fractional points into whole ones by rounding and then
// repairing: single steps and swaps (one column up, another down) that lower
// the weighted violation of the rows, then swaps that lower the cost while
// no row gets worse. It only proposes; the checker decides.
//
// Rows are scaled by one over their largest coefficient and kept by column,
// without the surrogates of the counts (whole points whose support is already
// chosen keep those anyway).
type rounder struct {
	p      *prob
	x      []float64
	lo, hi []float64 // ranges of the columns during one run
	free   []int     // columns with a range
	col    [][]float64
	act    []float64
	rowLo  []float64
	rowHi  []float64
	rows   int // rows of the problem taken in so far
	work   int // steps weighed in this run
}

// roundWork is the most steps and swaps weighed in one run of the rounder; on
// models of the usual size it is never reached.
const roundWork = 300000

func newRounder(p *prob) *rounder {
	r := &rounder{p: p}
	r.x = make([]float64, p.n)
	r.lo = make([]float64, p.n)
	r.hi = make([]float64, p.n)
	r.col = make([][]float64, p.n)
	return r
}

// ranges fixes which columns are on, following the relaxation point: those
// that are on in the box, then the largest shares as far as the counts allow.
func (r *rounder) ranges(b *box, x []float64) {
	p := r.p
	for j := range x {
		l, h := b.lo[j], b.hi[j]
		if s := p.semi[j]; s > 0 && !b.isOn(j) {
			if x[j] >= s/2 && h >= s {
				l = s
			} else {
				h = 0
			}
		}
		r.lo[j], r.hi[j] = l, h
	}
	for i := range p.links {
		r.trim(b, x, p.links[i].c)
	}
}

// trim switches columns off until at most c.Most are on (the smallest first),
// or on until at least c.Least are.
func (r *rounder) trim(b *box, x []float64, c *Count) {
	for {
		n, worst, spare := 0, -1, -1
		for _, v := range c.Vars {
			j := int(v)
			if r.hi[j] > 0 {
				n++
				if !b.isOn(j) && (worst < 0 || x[j] < x[worst]) {
					worst = j
				}
			} else if b.hi[j] > 0 && (spare < 0 || x[j] > x[spare]) {
				spare = j
			}
		}
		switch {
		case n > c.Most && worst >= 0:
			r.lo[worst], r.hi[worst] = 0, 0
		case n < c.Least && spare >= 0:
			r.lo[spare], r.hi[spare] = r.p.semi[spare], b.hi[spare]
		default:
			return
		}
	}
}

// run rounds x within the ranges and repairs it. It reports whether the float
// sums say that all rows hold.
func (r *rounder) run(x []float64) bool {
	p := r.p
	r.weigh()
	r.work = 0
	r.free = r.free[:0]
	for j, v := range x {
		r.x[j] = math.Min(math.Max(math.Round(v), r.lo[j]), r.hi[j])
		if r.lo[j] < r.hi[j] {
			r.free = append(r.free, j)
		}
	}
	r.activities()
	for step := 0; step < 6*len(p.a)+60 && r.work < roundWork; step++ {
		if r.broken() <= roundTol {
			r.polish()
			return true
		}
		if !r.improve() {
			return false
		}
	}
	return false
}

// weigh takes in rows that are new since the last run.
func (r *rounder) weigh() {
	p := r.p
	for ; r.rows < len(p.a); r.rows++ {
		i := r.rows
		if i >= p.m0 && i < p.firstCut {
			continue
		}
		big := 0.0
		for _, c := range p.a[i] {
			big = math.Max(big, math.Abs(c))
		}
		w := 1.0
		if big > 0 {
			w = 1 / big
		}
		for j, c := range p.a[i] {
			r.col[j] = append(r.col[j], c*w)
		}
		r.rowLo = append(r.rowLo, p.rowLo[i]*w)
		r.rowHi = append(r.rowHi, p.rowHi[i]*w)
		r.act = append(r.act, 0)
	}
}

func (r *rounder) activities() {
	clear(r.act)
	for j, x := range r.x {
		if x != 0 {
			for i, c := range r.col[j] {
				r.act[i] += float64(c * x)
			}
		}
	}
}

// roundTol: a scaled row counts as kept in the rounder when it is broken by at
// most this much; the checker has the last word.
const roundTol = 1e-9

// broken is the violation of the current point.
func (r *rounder) broken() float64 {
	v := 0.0
	for i, s := range r.act {
		if s > r.rowHi[i] {
			v += s - r.rowHi[i]
		} else if s < r.rowLo[i] {
			v += r.rowLo[i] - s
		}
	}
	return v
}

// after1 is the violation after moving column j by d, given up at limit.
func (r *rounder) after1(j int, d, limit float64) float64 {
	v := 0.0
	r.work++
	col := r.col[j]
	for i, s := range r.act {
		s += float64(col[i] * d)
		if s > r.rowHi[i] {
			v += s - r.rowHi[i]
		} else if s < r.rowLo[i] {
			v += r.rowLo[i] - s
		}
		if v > limit {
			return v
		}
	}
	return v
}

// after2 is the violation after moving column j by d and k by −d, given up at
// limit.
func (r *rounder) after2(j, k int, d, limit float64) float64 {
	v := 0.0
	r.work++
	cj, ck := r.col[j], r.col[k]
	for i, s := range r.act {
		s += float64((cj[i] - ck[i]) * d)
		if s > r.rowHi[i] {
			v += s - r.rowHi[i]
		} else if s < r.rowLo[i] {
			v += r.rowLo[i] - s
		}
		if v > limit {
			return v
		}
	}
	return v
}

func (r *rounder) can(j int, d float64) bool {
	x := r.x[j] + d
	return x >= r.lo[j] && x <= r.hi[j]
}

func (r *rounder) move(j int, d float64) {
	r.x[j] += d
	for i, c := range r.col[j] {
		r.act[i] += float64(c * d)
	}
}

// costStep is the change of cost when column j moves by d.
func (r *rounder) costStep(j int, d float64) float64 {
	return r.p.costAt(j, r.x[j]+d) - r.p.costAt(j, r.x[j])
}

// stepChoice is the best step or swap found so far.
type stepChoice struct {
	v, cost float64
	j, k    int
	d       float64
}

// note takes a step that lowers the violation most, among equals the cheapest.
func (c *stepChoice) note(v, cost float64, j, k int, d float64) {
	if v < c.v-1e-12 || (v <= c.v+1e-12 && c.j >= 0 && cost < c.cost-1e-12) {
		*c = stepChoice{math.Min(v, c.v), cost, j, k, d}
	}
}

// improve makes the best single step or swap; false if none lowers the
// violation.
func (r *rounder) improve() bool {
	c := stepChoice{v: r.broken() - 1e-12, j: -1, k: -1}
	for _, j := range r.free {
		for _, d := range [2]float64{1, -1} {
			if r.can(j, d) {
				if v := r.after1(j, d, c.v+1e-12); v <= c.v+1e-12 {
					c.note(v, r.costStep(j, d), j, -1, d)
				}
			}
		}
	}
	for _, j := range r.free {
		if !r.can(j, 1) {
			continue
		}
		for _, k := range r.free {
			if k == j || !r.can(k, -1) {
				continue
			}
			if v := r.after2(j, k, 1, c.v+1e-12); v <= c.v+1e-12 {
				c.note(v, r.costStep(j, 1)+r.costStep(k, -1), j, k, 1)
			}
		}
	}
	if c.j < 0 {
		return false
	}
	r.move(c.j, c.d)
	if c.k >= 0 {
		r.move(c.k, -c.d)
	}
	return true
}

// polishRounds is the most cost-lowering steps of one run.
const polishRounds = 60

// polish lowers the cost by single steps and swaps that keep all rows.
func (r *rounder) polish() {
	for round := 0; round < polishRounds && r.work < roundWork; round++ {
		c := stepChoice{cost: -1e-9, j: -1, k: -1}
		for _, j := range r.free {
			for _, d := range [2]float64{1, -1} {
				if r.can(j, d) {
					r.polishColumn(&c, j, d)
				}
			}
		}
		if c.j < 0 {
			return
		}
		r.move(c.j, c.d)
		if c.k >= 0 {
			r.move(c.k, -c.d)
		}
	}
}

// polishColumn looks for the cheapest step of column j by d, alone or against
// another column.
func (r *rounder) polishColumn(best *stepChoice, j int, d float64) {
	c := r.costStep(j, d)
	if c < best.cost && r.after1(j, d, roundTol) <= roundTol {
		*best = stepChoice{0, c, j, -1, d}
	}
	for _, k := range r.free {
		if k == j || !r.can(k, -d) {
			continue
		}
		if s := c + r.costStep(k, -d); s < best.cost && r.after2(j, k, d, roundTol) <= roundTol {
			*best = stepChoice{0, s, j, k, d}
		}
	}
}
