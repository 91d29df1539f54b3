package lp

import "math"

// rounder turns fractional points into whole ones by rounding and then
// repairing: single steps and swaps (one column up, another down) that lower
// the weighted violation of the rows, then swaps that lower the cost while
// no row gets worse. It only proposes; the checker decides.
type rounder struct {
	p      *prob
	w      []float64 // weight of a row: 1 / largest coefficient
	x      []float64
	lo, hi []float64 // ranges of the columns during one run
	act    []float64
	free   []int // columns with a range
}

func newRounder(p *prob) *rounder {
	r := &rounder{p: p}
	r.x = make([]float64, p.n)
	r.lo = make([]float64, p.n)
	r.hi = make([]float64, p.n)
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
	r.free = r.free[:0]
	for j, v := range x {
		r.x[j] = math.Min(math.Max(math.Round(v), r.lo[j]), r.hi[j])
		if r.lo[j] < r.hi[j] {
			r.free = append(r.free, j)
		}
	}
	r.activities()
	for step := 0; step < 6*len(p.a)+60; step++ {
		if r.violation(-1, 0, -1, 0) <= 1e-9 {
			r.polish()
			return true
		}
		if !r.improve() {
			return false
		}
	}
	return false
}

func (r *rounder) weigh() {
	p := r.p
	for i := len(r.w); i < len(p.a); i++ {
		big := 0.0
		for _, c := range p.a[i] {
			big = math.Max(big, math.Abs(c))
		}
		if big == 0 {
			big = 1
		}
		r.w = append(r.w, 1/big)
	}
	for len(r.act) < len(p.a) {
		r.act = append(r.act, 0)
	}
}

func (r *rounder) activities() {
	for i, a := range r.p.a {
		s := 0.0
		for j, c := range a {
			s += float64(c * r.x[j])
		}
		r.act[i] = s
	}
}

// isCount says whether row i is a surrogate of a count (those do not bind
// whole points whose support is already chosen).
func (r *rounder) isCount(i int) bool { return i >= r.p.m0 && i < r.p.firstCut }

// violation is the weighted violation after moving j by dj and k by dk.
func (r *rounder) violation(j int, dj float64, k int, dk float64) float64 {
	p := r.p
	v := 0.0
	for i, a := range p.a {
		if r.isCount(i) {
			continue
		}
		s := r.act[i]
		if j >= 0 {
			s += float64(a[j] * dj)
		}
		if k >= 0 {
			s += float64(a[k] * dk)
		}
		if s > p.rowHi[i] {
			v += float64((s - p.rowHi[i]) * r.w[i])
		} else if s < p.rowLo[i] {
			v += float64((p.rowLo[i] - s) * r.w[i])
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
	for i, a := range r.p.a {
		r.act[i] += float64(a[j] * d)
	}
}

// costStep is the change of cost when column j moves by d.
func (r *rounder) costStep(j int, d float64) float64 {
	return r.p.costAt(j, r.x[j]+d) - r.p.costAt(j, r.x[j])
}

// improve makes the best single step or swap; false if none lowers the
// violation.
func (r *rounder) improve() bool {
	base := r.violation(-1, 0, -1, 0)
	best, bj, bk, bd, cost := base-1e-12, -1, -1, 0.0, 0.0
	note := func(v, c float64, j, k int, d float64) {
		if v < best-1e-12 || (v <= best+1e-12 && bj >= 0 && c < cost-1e-12) {
			best, bj, bk, bd, cost = math.Min(v, best), j, k, d, c
		}
	}
	for _, j := range r.free {
		for _, d := range [2]float64{1, -1} {
			if r.can(j, d) {
				note(r.violation(j, d, -1, 0), r.costStep(j, d), j, -1, d)
			}
		}
	}
	for _, j := range r.free {
		if !r.can(j, 1) {
			continue
		}
		for _, k := range r.free {
			if k != j && r.can(k, -1) {
				note(r.violation(j, 1, k, -1), r.costStep(j, 1)+r.costStep(k, -1), j, k, 1)
			}
		}
	}
	if bj < 0 {
		return false
	}
	r.move(bj, bd)
	if bk >= 0 {
		r.move(bk, -bd)
	}
	return true
}

// polish lowers the cost by single steps and swaps that keep all rows.
func (r *rounder) polish() {
	for round := 0; round < 40; round++ {
		bj, bk, bd, cost := -1, -1, 0.0, -1e-9
		for _, j := range r.free {
			for _, d := range [2]float64{1, -1} {
				if !r.can(j, d) {
					continue
				}
				c := r.costStep(j, d)
				if c < cost && r.violation(j, d, -1, 0) <= 1e-9 {
					bj, bk, bd, cost = j, -1, d, c
				}
				for _, k := range r.free {
					if k == j || !r.can(k, -d) {
						continue
					}
					if s := c + r.costStep(k, -d); s < cost && r.violation(j, d, k, -d) <= 1e-9 {
						bj, bk, bd, cost = j, k, d, s
					}
				}
			}
		}
		if bj < 0 {
			return
		}
		r.move(bj, bd)
		if bk >= 0 {
			r.move(bk, -bd)
		}
	}
}
