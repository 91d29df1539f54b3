package lp

import "math"

// violation is how far basic row i is outside its bounds: positive above the
// upper bound, negative below the lower one, zero inside (within feasTol).
func (s *simplex) violation(i int) float64 {
	v, b := s.bs[i], s.beta[i]
	if h := s.hi[v]; b > h && b-h > feasTol*math.Max(1, math.Abs(h)) {
		return b - h
	}
	if l := s.lo[v]; b < l && l-b > feasTol*math.Max(1, math.Abs(l)) {
		return b - l
	}
	return 0
}

// leaving chooses the row that leaves: the largest violation² / weight, or
// with Bland's rule the violated row with the smallest variable.
func (s *simplex) leaving() int {
	best, r := 0.0, -1
	for i := 0; i < s.m; i++ {
		g := s.violation(i)
		if g == 0 {
			continue
		}
		if s.stall > blandAfter {
			if r < 0 || s.bs[i] < s.bs[r] {
				r = i
			}
			continue
		}
		if g = float64(g*g) / s.weight[i]; g > best {
			best, r = g, i
		}
	}
	return r
}

// dual runs the dual simplex from a dual feasible tableau (which placeAll
// makes by shifting costs where it must).
func (s *simplex) dual() outcome {
	s.stall = 0
	last := s.pivots + maxSteps(s.m, s.n)
	for {
		if s.pivots > last {
			return lpLost
		}
		if s.pivots >= s.limit || (s.pivots&15 == 0 && s.stop != nil && s.stop()) {
			return lpLimit
		}
		if s.since >= rebuildEvery {
			s.rebuild()
			s.placeAll()
		}
		if !math.IsInf(s.cutoff, 1) && s.dualValue() > s.cutoff {
			return lpCutoff
		}
		r := s.leaving()
		if r < 0 {
			return lpOptimal
		}
		if out, done := s.dualStep(r); done {
			return out
		}
		if s.stall == stallLimit {
			s.perturb()
		}
	}
}

// maxSteps is the most pivots of one run before the float solver gives up and
// the exact one takes over. Runs in practice need about 2(m+n).
func maxSteps(m, n int) int { return 40*(m+n) + 2000 }

// dualValue is z = d·x_N, the dual objective in scaled units.
func (s *simplex) dualValue() float64 {
	z := 0.0
	for j, d := range s.d {
		if d != 0 {
			z += float64(d * s.value(j))
		}
	}
	return z
}

// dualStep makes row r leave. It reports an outcome when the run is over.
func (s *simplex) dualStep(r int) (outcome, bool) {
	g := s.violation(r)
	sign := 1.0 // +1: the basic value must fall
	if g < 0 {
		sign = -1
	}
	q, theta := s.ratioTest(r, sign, math.Abs(g))
	if q < 0 {
		if s.since > 20 { // ask a fresh tableau before believing it
			s.rebuild()
			s.placeAll()
			return 0, false
		}
		s.keepRay(r, sign)
		return lpInfeasible, true
	}
	if theta <= 1e-12 {
		s.stall++
	} else if s.stall <= blandAfter {
		s.stall = 0
	}
	s.dualPivot(r, q, sign)
	return 0, false
}

// ratioTest walks through the break points of the dual objective along row r
// (the long step): boxed variables are flipped past their zero as long as the
// row stays violated. Among the candidates of the last group, those within
// Harris' relaxed ratio, the largest pivot is taken. It returns −1 if the
// dual is unbounded.
func (s *simplex) ratioTest(r int, sign, slope float64) (int, float64) {
	s.gather(r, sign)
	cs := s.cands
	if s.stall > blandAfter {
		return s.blandRatio(cs)
	}
	for len(cs) > 0 {
		bound := math.Inf(1)
		for _, c := range cs {
			bound = math.Min(bound, c.ratio+dualTol/c.mag)
		}
		drop, best := 0.0, -1
		k := 0
		for i := range cs { // group to the front
			c := cs[i]
			if c.ratio > bound {
				continue
			}
			v := s.nb[c.j]
			drop += float64(c.mag * (s.hi[v] - s.lo[v]))
			cs[i], cs[k] = cs[k], c
			if best < 0 || c.mag > cs[best].mag {
				best = k
			}
			k++
		}
		if slope-drop <= 0 || len(cs) == k {
			if slope-drop > 0 && !math.IsInf(drop, 1) {
				return -1, 0 // even with all flipped the row stays violated
			}
			return cs[best].j, cs[best].ratio
		}
		slope -= drop
		cs = cs[k:]
	}
	return -1, 0
}

// gather collects the candidates of row r with their ratios: the non-basic
// variables whose reduced cost moves towards zero when the row's basic value
// is pushed down (sign +1) or up (sign −1).
func (s *simplex) gather(r int, sign float64) {
	cs := s.cands[:0]
	for j, e := range s.t[r] {
		if e < pivotTol && e > -pivotTol {
			continue
		}
		v := s.nb[j]
		l, h := s.lo[v], s.hi[v]
		if l == h {
			continue
		}
		e *= sign
		d := s.d[j]
		if math.IsInf(l, -1) && math.IsInf(h, 1) {
			cs = append(cs, cand{j, 0, math.Abs(e)})
		} else if !s.up[v] && e < 0 {
			cs = append(cs, cand{j, math.Max(d, 0) / -e, -e})
		} else if s.up[v] && e > 0 {
			cs = append(cs, cand{j, math.Max(-d, 0) / e, e})
		}
	}
	s.cands = cs
}

// blandRatio takes the smallest variable among the exact least ratios.
func (s *simplex) blandRatio(cs []cand) (int, float64) {
	best := -1
	for i := range cs {
		if best < 0 || cs[i].ratio < cs[best].ratio-1e-13 ||
			(cs[i].ratio <= cs[best].ratio+1e-13 && s.nb[cs[i].j] < s.nb[cs[best].j]) {
			best = i
		}
	}
	if best < 0 {
		return -1, 0
	}
	return cs[best].j, cs[best].ratio
}

// dualPivot makes the basic variable of row r leave at the bound it violates
// and position q enter; then every variable whose reduced cost changed sign
// is flipped (or, if it cannot be, its cost is shifted to zero).
func (s *simplex) dualPivot(r, q int, sign float64) {
	out := s.bs[r]
	s.devex(r, q)
	s.move(r, q, sign > 0)
	s.pivot(r, q)
	if s.up[out] && s.d[q] > 0 || !s.up[out] && s.d[q] < 0 {
		s.shift(q)
	}
	prow := s.t[r]
	for j := range s.nb {
		if prow[j] == 0 || j == q {
			continue
		}
		was := s.value(j)
		s.settle(j)
		if now := s.value(j); now != was {
			s.slide(j, now-was)
		}
	}
}

// move sends the basic variable of row r to its upper or lower bound by
// changing the non-basic variable of position q, and updates the basic values
// as the pivot (r, q), which must follow, will have them.
func (s *simplex) move(r, q int, upper bool) {
	out := s.bs[r]
	to := s.lo[out]
	if upper {
		to = s.hi[out]
	}
	x := s.value(q)
	dx := (to - s.beta[r]) / s.t[r][q]
	s.slide(q, dx)
	s.beta[r] = x + dx
	s.up[out] = upper
}

// slide changes the value of non-basic position j by dx in the basic values.
func (s *simplex) slide(j int, dx float64) {
	for i := 0; i < s.m; i++ {
		if e := s.t[i][j]; e != 0 {
			s.beta[i] += float64(e * dx)
		}
	}
}

// settle brings non-basic position j back to dual feasibility.
func (s *simplex) settle(j int) {
	v := s.nb[j]
	d := s.d[j]
	l, h := s.lo[v], s.hi[v]
	if d == 0 || l == h {
		return
	}
	noLo, noHi := math.IsInf(l, -1), math.IsInf(h, 1)
	switch {
	case noLo && noHi:
		s.shift(j)
	case d < 0 && !s.up[v]:
		if noHi || d > -dualTol {
			s.shift(j)
		} else {
			s.up[v] = true
		}
	case d > 0 && s.up[v]:
		if noLo || d < dualTol {
			s.shift(j)
		} else {
			s.up[v] = false
		}
	}
}

// shift changes the cost of position j so that its reduced cost is zero.
func (s *simplex) shift(j int) {
	s.d[j] = 0
	s.dirty = true
}

// devex updates the dual reference weights before a pivot on (r, q).
func (s *simplex) devex(r, q int) {
	p := s.t[r][q]
	wr := s.weight[r]
	for i := 0; i < s.m; i++ {
		if i == r {
			continue
		}
		if e := s.t[i][q]; e != 0 {
			f := e / p
			if w := float64(float64(f*f) * wr); w > s.weight[i] {
				s.weight[i] = w
			}
		}
	}
	s.weight[r] = math.Max(wr/float64(p*p), 1)
	if s.weight[r] > 1e12 {
		for i := range s.weight {
			s.weight[i] = 1
		}
	}
}

// perturb moves the reduced costs of boxed and one-sided variables away from
// zero by small fixed pseudo-random amounts, to break ties.
func (s *simplex) perturb() {
	for j, v := range s.nb {
		if s.lo[v] == s.hi[v] || (math.IsInf(s.lo[v], -1) && math.IsInf(s.hi[v], 1)) {
			continue
		}
		e := float64(1e-6 * (0.5 + float64(float64(mix(uint64(v))>>11)*0x1p-53)))
		if s.up[v] {
			s.d[j] -= e
		} else {
			s.d[j] += e
		}
	}
	s.dirty = true
}

// mix is a fixed scrambling of 64 bits (a finaliser of xor-shifts and odd
// multipliers); it stands in for random numbers and is the same everywhere.
func mix(x uint64) uint64 {
	x += 0x9e3779b97f4a7c15
	x = (x ^ x>>30) * 0xbf58476d1ce4e5b9
	x = (x ^ x>>27) * 0x94d049bb133111eb
	return x ^ x>>31
}

// keepRay stores the multipliers of the infeasible tableau row r: the row
// reads x_r − Σ T_rj·x_j = 0, a combination of the problem's rows whose
// weight on row i is minus the entry of its logical.
func (s *simplex) keepRay(r int, sign float64) {
	s.rayRow, s.raySign = r, sign
	s.ray = s.ray[:0]
	for i := 0; i < s.m; i++ {
		s.ray = append(s.ray, 0)
	}
	for j, v := range s.nb {
		if v >= s.n {
			s.ray[v-s.n] = sign * s.t[r][j] * s.rs[v-s.n]
		}
	}
	if v := s.bs[r]; v >= s.n {
		s.ray[v-s.n] = -sign * s.rs[v-s.n]
	}
}
