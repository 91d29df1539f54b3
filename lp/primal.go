package lp

import "math"

// primal runs the primal simplex from a primal feasible tableau with true
// costs, until no reduced cost has the wrong sign.
func (s *simplex) primal() outcome {
	s.stall = 0
	last := s.pivots + maxSteps(s.m, s.n)
	for step := 0; ; step++ {
		if s.pivots > last || step > 4*maxSteps(s.m, s.n) {
			return lpLost
		}
		if s.pivots >= s.limit || (step&15 == 0 && s.stop != nil && s.stop()) {
			return lpLimit
		}
		if s.since >= rebuildEvery {
			s.rebuild()
			s.computeBeta()
		}
		q, dir := s.entering()
		if q < 0 {
			return lpOptimal
		}
		if !s.primalStep(q, dir) {
			return lpUnbounded
		}
	}
}

// entering chooses the position with the largest wrong-signed reduced cost
// and the direction in which it should move (Bland's rule after a stall).
func (s *simplex) entering() (int, float64) {
	best, q, dir := dualTol, -1, 0.0
	for j, v := range s.nb {
		d := s.d[j]
		l, h := s.lo[v], s.hi[v]
		if l == h {
			continue
		}
		free := math.IsInf(l, -1) && math.IsInf(h, 1)
		var g, w float64
		switch {
		case d < 0 && (free || !s.up[v]):
			g, w = -d, 1
		case d > 0 && (free || s.up[v]):
			g, w = d, -1
		default:
			continue
		}
		if s.stall > blandAfter {
			if g > dualTol && (q < 0 || v < s.nb[q]) {
				q, dir = j, w
			}
			continue
		}
		if g > best {
			best, q, dir = g, j, w
		}
	}
	return q, dir
}

// primalStep moves position q in direction dir until a basic variable or q
// itself meets a bound. It reports false if nothing stops it.
func (s *simplex) primalStep(q int, dir float64) bool {
	v := s.nb[q]
	own := s.hi[v] - s.lo[v] // Inf unless boxed
	limit := s.relaxedLimit(q, dir)
	if own <= limit {
		if math.IsInf(own, 1) {
			return false
		}
		s.up[v] = !s.up[v]
		s.slide(q, dir*own)
		s.stall = 0
		return true
	}
	r, upper, step := s.blocking(q, dir, limit)
	if r < 0 {
		return false
	}
	if step <= 1e-12 {
		s.stall++
	} else if s.stall <= blandAfter {
		s.stall = 0
	}
	s.move(r, q, upper)
	s.pivot(r, q)
	return true
}

// relaxedLimit is Harris' first pass: the longest step that keeps every basic
// variable within its bounds widened by feasTol.
func (s *simplex) relaxedLimit(q int, dir float64) float64 {
	limit := math.Inf(1)
	for i := 0; i < s.m; i++ {
		e := s.t[i][q] * dir
		v := s.bs[i]
		if e > pivotTol {
			h := s.hi[v]
			tol := float64(feasTol * math.Max(1, math.Abs(h)))
			limit = math.Min(limit, math.Max(h-s.beta[i]+tol, 0)/e)
		} else if e < -pivotTol {
			l := s.lo[v]
			tol := float64(feasTol * math.Max(1, math.Abs(l)))
			limit = math.Min(limit, math.Max(s.beta[i]-l+tol, 0)/-e)
		}
	}
	return limit
}

// blocking is Harris' second pass: among rows that block within the limit the
// one with the largest pivot (with Bland's rule: the least step, then the
// smallest variable).
func (s *simplex) blocking(q int, dir, limit float64) (int, bool, float64) {
	r, upper, step, mag := -1, false, 0.0, 0.0
	for i := 0; i < s.m; i++ {
		e := s.t[i][q] * dir
		v := s.bs[i]
		var x float64
		var u bool
		switch {
		case e > pivotTol:
			x, u = (s.hi[v]-s.beta[i])/e, true
		case e < -pivotTol:
			x, u, e = (s.beta[i]-s.lo[v])/-e, false, -e
		default:
			continue
		}
		if x > limit {
			continue
		}
		better := e > mag
		if s.stall > blandAfter {
			better = r < 0 || x < step-1e-13 || (x <= step+1e-13 && v < s.bs[r])
		}
		if better {
			r, upper, step, mag = i, u, x, e
		}
	}
	return r, upper, step
}

// solve brings the tableau to an optimum of the current bounds, or to one of
// the other outcomes. It may start from any basis.
func (s *simplex) solve() outcome {
	for round := 0; round < 12; round++ {
		s.placeAll()
		out := s.dual()
		if out != lpOptimal {
			return out
		}
		if !s.dirty {
			return lpOptimal
		}
		s.restoreCosts()
		if q, _ := s.entering(); q < 0 {
			return lpOptimal
		}
		if out = s.primal(); out != lpOptimal {
			if out == lpUnbounded && s.since > 0 {
				s.rebuild()
				continue
			}
			return out
		}
		if s.primalFeasible() {
			return lpOptimal
		}
	}
	return lpLost
}

// primalFeasible says whether no basic variable is outside its bounds.
func (s *simplex) primalFeasible() bool {
	for i := 0; i < s.m; i++ {
		if s.violation(i) != 0 {
			return false
		}
	}
	return true
}

// multipliers writes the row multipliers of the tableau in the caller's units:
// the weight of a row is the reduced cost of its logical.
func (s *simplex) multipliers(y []float64) []float64 {
	y = y[:0]
	for i := 0; i < s.m; i++ {
		y = append(y, 0)
	}
	inv := 1 / s.oscl
	for j, v := range s.nb {
		if v >= s.n {
			y[v-s.n] = s.d[j] * s.rs[v-s.n] * inv
		}
	}
	return y
}

// point writes the values of the columns in the caller's units.
func (s *simplex) point(x []float64) []float64 {
	x = x[:0]
	for j := 0; j < s.p.n; j++ {
		t := 0.0
		for v := s.first[j]; v < s.first[j+1]; v++ {
			if k := s.at[v]; k >= 0 {
				t += s.beta[k]
			} else {
				t += s.value(^k)
			}
		}
		x = append(x, t*s.cs[j])
	}
	return x
}
