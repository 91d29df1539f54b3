package lp

import (
	"math"
	"math/big"
	"slices"
)

// basisCheck holds what is needed to check one basis exactly.
type basisCheck struct {
	x    *exact
	s    *simplex
	l, h []*big.Int
	cols []int // basic segments
	rows []int // rows whose logical is not basic
	tot  []*big.Int
	rest []*big.Int // tot of the columns without a basic segment, not over den
	num  []*big.Int // basic values are num/den
	den  *big.Int
	mat  [][]*big.Int // the rows over the basic segments, eliminated
	perm []int        // and how that took them in turn
	dy   []*big.Int   // row multipliers are dy/dden in the units of C and A
	dden *big.Int
}

// checkBasis solves for the basic point and the multipliers of the float
// basis exactly and checks both. A basis that is primal and dual feasible is
// optimal: with every non-basic variable at the bound to which its reduced
// cost points, cost and dual bound are the same number.
func (x *exact) checkBasis(s *simplex, l, h []*big.Int) (verified, bool) {
	b := x.newCheck(s)
	b.l, b.h = l, h
	if len(b.rows) != len(b.cols) || !b.solvePrimal() || !b.primalHolds() {
		return verified{}, false
	}
	if b.solveDual(); !b.dualHolds() {
		return verified{}, false
	}
	return b.result(), true
}

// newCheck lists what is basic in the float tableau.
func (x *exact) newCheck(s *simplex) *basisCheck {
	b := &basisCheck{x: x, s: s}
	for v := 0; v < s.n; v++ {
		if s.at[v] >= 0 {
			b.cols = append(b.cols, v)
		}
	}
	for i := 0; i < s.m; i++ {
		if s.at[s.n+i] < 0 {
			b.rows = append(b.rows, i)
		}
	}
	return b
}

// resting is the exact value of non-basic segment v; false if there is none.
func (b *basisCheck) resting(v int) (*big.Int, bool) {
	if b.s.up[v] {
		return b.h[v], b.h[v] != nil
	}
	if b.l[v] != nil {
		return b.l[v], true
	}
	return new(big.Int), b.h[v] == nil
}

// solvePrimal finds the basic values from the rows at their bounds.
func (b *basisCheck) solvePrimal() bool {
	x, s, p := b.x, b.s, b.x.p
	b.tot = make([]*big.Int, p.n) // what the non-basic segments of a column add up to
	for v := 0; v < s.n; v++ {
		if s.at[v] >= 0 {
			continue
		}
		r, ok := b.resting(v)
		if !ok {
			return false
		}
		if r.Sign() == 0 {
			continue
		}
		j := x.seg[v]
		if b.tot[j] == nil {
			b.tot[j] = new(big.Int)
		}
		b.tot[j].Add(b.tot[j], r)
	}
	k := len(b.cols)
	b.mat = newMatrix(k, k+1)
	t := new(big.Int)
	for r, i := range b.rows {
		side := p.rowLo[i]
		if s.up[s.n+i] {
			side = p.rowHi[i]
		}
		if math.IsInf(side, 0) {
			return false
		}
		for c, v := range b.cols {
			if e := x.entry(i, x.seg[v]); e != nil {
				b.mat[r][c].Set(e)
			}
		}
		rhs := x.rowBound(i, side)
		for j, w := range b.tot {
			if w == nil {
				continue
			}
			if e := x.entry(i, j); e != nil {
				rhs.Sub(rhs, t.Mul(e, w))
			}
		}
		b.mat[r][k] = rhs
	}
	var ok bool
	if b.perm, ok = eliminate(b.mat, x.stop); ok {
		b.num, b.den = backward(b.mat)
	}
	return ok
}

// primalHolds checks basic segments against their bounds and the other rows
// against theirs.
func (b *basisCheck) primalHolds() bool {
	x, p := b.x, b.x.p
	t := new(big.Int)
	for c, v := range b.cols {
		if b.l[v] != nil && b.num[c].Cmp(t.Mul(b.l[v], b.den)) < 0 {
			return false
		}
		if b.h[v] != nil && b.num[c].Cmp(t.Mul(b.h[v], b.den)) > 0 {
			return false
		}
	}
	b.rest = slices.Clone(b.tot)
	for _, v := range b.cols {
		b.rest[x.seg[v]] = nil
	}
	for j := range b.tot { // now over the common denominator, with basics
		if b.tot[j] != nil {
			b.tot[j] = new(big.Int).Mul(b.tot[j], b.den)
		}
	}
	for c, v := range b.cols {
		j := x.seg[v]
		if b.tot[j] == nil {
			b.tot[j] = new(big.Int)
		}
		b.tot[j].Add(b.tot[j], b.num[c])
	}
	xf := make([]float64, p.n)
	for j, w := range b.tot {
		if w != nil {
			xf[j] = quotient(w, b.den, -x.ex)
		}
	}
	for i := 0; i < b.s.m; i++ {
		if b.s.at[b.s.n+i] >= 0 && !b.rowHolds(i, xf) {
			return false
		}
	}
	return true
}

// quotient is num/den·2^e rounded to within two units of the last place.
func quotient(num, den *big.Int, e int) float64 {
	if num.Sign() == 0 {
		return 0
	}
	n, ne := topBits(num)
	d, de := topBits(den)
	return math.Ldexp(n/d, ne-de+e)
}

// topBits is z as f·2^e with f exact to 2⁻⁵³ relative.
func topBits(z *big.Int) (float64, int) {
	k := z.BitLen() - 63
	if k <= 0 {
		return float64(z.Int64()), 0
	}
	return float64(new(big.Int).Rsh(z, uint(k)).Int64()), k
}

// rowHolds checks one row: in float64 with an error bound where that decides,
// else exactly. The values xf are within four units of 2⁻⁵³ of the truth, so
// the sum is off by at most (n+8)·2⁻⁵²·Σ|a·x|.
func (b *basisCheck) rowHolds(i int, xf []float64) bool {
	p := b.x.p
	sum, abs := 0.0, 0.0
	for j, c := range p.a[i] {
		v := float64(c * xf[j])
		sum += v
		abs += math.Abs(v)
	}
	err := float64(float64(p.n+8) * safeUnit * abs)
	if sum-err > p.rowLo[i] && sum+err < p.rowHi[i] {
		return true
	}
	if sum+err < p.rowLo[i] || sum-err > p.rowHi[i] {
		return false
	}
	act, t := new(big.Int), new(big.Int)
	for j, w := range b.tot {
		if w == nil {
			continue
		}
		if e := b.x.entry(i, j); e != nil {
			act.Add(act, t.Mul(e, w))
		}
	}
	if l := p.rowLo[i]; !math.IsInf(l, -1) {
		if act.Cmp(t.Mul(b.x.rowBound(i, l), b.den)) < 0 {
			return false
		}
	}
	if h := p.rowHi[i]; !math.IsInf(h, 1) {
		if act.Cmp(t.Mul(b.x.rowBound(i, h), b.den)) > 0 {
			return false
		}
	}
	return true
}

// solveDual finds the multipliers that make the reduced costs of the basic
// segments zero, with the elimination of solvePrimal.
func (b *basisCheck) solveDual() {
	rhs := make([]*big.Int, len(b.cols))
	for c, v := range b.cols {
		rhs[c] = new(big.Int).Set(b.x.cost[v])
	}
	b.dy, b.dden = transposed(b.mat, b.perm, rhs)
}

// solveTransposed finds weights on the rows whose sum over each basic segment
// is the given right side (nil = 0).
func (b *basisCheck) solveTransposed(rhs func(v int) *big.Int) bool {
	x := b.x
	k := len(b.cols)
	mat := newMatrix(k, k+1)
	for c, v := range b.cols {
		for r, i := range b.rows {
			if e := x.entry(i, x.seg[v]); e != nil {
				mat[c][r].Set(e)
			}
		}
		if r := rhs(v); r != nil {
			mat[c][k].Set(r)
		}
	}
	var ok bool
	b.dy, b.dden, ok = bareiss(mat, x.stop)
	return ok
}

// dualHolds checks the signs of the multipliers and of the reduced costs.
func (b *basisCheck) dualHolds() bool {
	x, s, p := b.x, b.s, b.x.p
	for r, i := range b.rows {
		if p.rowLo[i] == p.rowHi[i] {
			continue
		}
		if g := b.dy[r].Sign(); g != 0 && (g < 0) != s.up[s.n+i] {
			return false
		}
	}
	yf := make([]float64, len(b.rows))
	for r, i := range b.rows {
		yf[r] = quotient(b.dy[r], b.dden, x.ea[i]-x.ec)
	}
	for j := 0; j < p.n; j++ {
		if !b.columnHolds(j, yf) {
			return false
		}
	}
	return true
}

// columnHolds checks the reduced costs of the non-basic segments of column j,
// in float64 with an error bound where that decides, else exactly.
func (b *basisCheck) columnHolds(j int, yf []float64) bool {
	x, s, p := b.x, b.s, b.x.p
	sum, abs := 0.0, 0.0
	for r, i := range b.rows {
		v := float64(yf[r] * p.a[i][j])
		sum += v
		abs += math.Abs(v)
	}
	slope := p.cols[j].Cost
	size := math.Abs(slope)
	var w *big.Int // Σ Y_i·A_ij over dden
	for v := x.first[j]; v < x.first[j+1]; v++ {
		if k := v - x.first[j]; k > 0 {
			slope += p.cols[j].Breaks[k-1].Rise
			size += p.cols[j].Breaks[k-1].Rise
		}
		if s.at[v] >= 0 || (b.l[v] != nil && b.h[v] != nil && b.l[v].Cmp(b.h[v]) == 0) {
			continue
		}
		err := float64(float64(len(b.rows)+len(p.cols[j].Breaks)+8) * safeUnit * (abs + size))
		g := 0
		switch d := slope - sum; {
		case d > err:
			g = 1
		case d < -err:
			g = -1
		default:
			if w == nil {
				w = b.columnSum(j)
			}
			g = new(big.Int).Mul(x.cost[v], b.dden).Cmp(w)
		}
		free := b.l[v] == nil && b.h[v] == nil
		if g != 0 && (free || (g < 0) != s.up[v]) {
			return false
		}
	}
	return true
}

func (b *basisCheck) columnSum(j int) *big.Int {
	w, t := new(big.Int), new(big.Int)
	for r, i := range b.rows {
		if e := b.x.entry(i, j); e != nil {
			w.Add(w, t.Mul(e, b.dy[r]))
		}
	}
	return w
}

// result turns the checked basis into rational numbers.
func (b *basisCheck) result() verified {
	x, p := b.x, b.x.p
	v := verified{out: lpOptimal, x: make([]*big.Rat, p.n), y: make([]*big.Rat, b.s.m)}
	one := big.NewInt(1)
	for j := range v.x {
		switch {
		case b.rest[j] != nil:
			v.x[j] = ratio(b.rest[j], one, -x.ex)
		case b.tot[j] != nil:
			v.x[j] = ratio(b.tot[j], b.den, -x.ex)
		default:
			v.x[j] = new(big.Rat)
		}
	}
	for r, i := range b.rows {
		if b.dy[r].Sign() != 0 {
			v.y[i] = ratio(b.dy[r], b.dden, x.ea[i]-x.ec)
		}
	}
	v.obj = b.objective()
	return v
}

// objective is Σ C_v·X_v over all segments as a rational.
func (b *basisCheck) objective() *big.Rat {
	sum, t := new(big.Int), new(big.Int)
	for v := 0; v < b.s.n; v++ {
		if b.s.at[v] >= 0 || b.x.cost[v].Sign() == 0 {
			continue
		}
		if r, _ := b.resting(v); r.Sign() != 0 {
			sum.Add(sum, t.Mul(r, b.x.cost[v]))
		}
	}
	sum.Mul(sum, b.den)
	for c, v := range b.cols {
		sum.Add(sum, t.Mul(b.num[c], b.x.cost[v]))
	}
	return ratio(sum, b.den, -b.x.ex-b.x.ec)
}
