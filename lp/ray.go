package lp

import "math/big"

// exactRay computes the multipliers of the infeasible row of the float
// tableau exactly, from its basis, and checks in whole numbers that they are
// a contradiction over the box. Float multipliers that are off in the last
// places leave small slopes where exact ones cancel, so boxes that are empty
// by a hair need this; it is far cheaper than pivoting exactly.
func (x *exact) exactRay(s *simplex, lo, hi []float64) ([]*big.Rat, bool) {
	if s.rayRow < 0 || s.rayRow >= s.m {
		return nil, false
	}
	b := x.newCheck(s)
	basic := s.bs[s.rayRow]
	ok := len(b.rows) == len(b.cols) && b.solveTransposed(func(v int) *big.Int {
		switch {
		case basic >= s.n:
			return x.entry(basic-s.n, x.seg[v])
		case v == basic:
			return big.NewInt(1)
		}
		return nil
	})
	if !ok {
		return nil, false
	}
	// x_r = Σ w_i·s_i + …; see keepRay for the signs. Weights are kept as
	// whole numbers over the common denominator.
	y := make([]*big.Int, s.m)
	for r, i := range b.rows {
		if w := b.dy[r]; w.Sign() != 0 {
			y[i] = new(big.Int).Set(w)
			if s.raySign < 0 {
				y[i].Neg(y[i])
			}
		}
	}
	if basic >= s.n {
		y[basic-s.n] = new(big.Int).Set(b.dden)
		if s.raySign > 0 {
			y[basic-s.n].Neg(b.dden)
		}
	}
	if !x.contradiction(y, lo, hi) {
		return nil, false
	}
	out := make([]*big.Rat, s.m)
	for i, w := range y {
		if w != nil {
			out[i] = ratio(w, b.dden, x.ea[i])
		}
	}
	return out, true
}

// contradiction says whether Σ y_i·(lo_i or hi_i) exceeds the most that
// Σ_j (yᵀA)_j·x_j can be over the box. All numbers are whole: y over any
// positive denominator, rows and amounts in the units of the exact form.
func (x *exact) contradiction(y []*big.Int, lo, hi []float64) bool {
	sum, t := new(big.Int), new(big.Int)
	for i, w := range y {
		if w == nil {
			continue
		}
		side := x.p.rowLo[i]
		if w.Sign() < 0 {
			side = x.p.rowHi[i]
		}
		if isInf(side) {
			return false
		}
		sum.Add(sum, t.Mul(w, x.rowBound(i, side)))
	}
	d := new(big.Int)
	for j := range lo {
		d.SetInt64(0)
		for i, w := range y {
			if w == nil {
				continue
			}
			if e := x.entry(i, j); e != nil {
				d.Add(d, t.Mul(w, e))
			}
		}
		if d.Sign() == 0 {
			continue
		}
		end := hi[j]
		if d.Sign() < 0 {
			end = lo[j]
		}
		if isInf(end) {
			return false
		}
		sum.Sub(sum, t.Mul(d, x.amount(end)))
	}
	return sum.Sign() > 0
}
