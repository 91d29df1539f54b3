package lp

import (
	"math"
	"math/big"
)

// point is a point that keeps every rule, checked exactly.
type point struct {
	x   []float64  // as reported
	r   []*big.Rat // the exact point; nil if x is exact (all whole)
	obj *big.Rat
	// objUp is the objective rounded up to a float64.
	objUp float64
}

// checker tests points exactly. Float sums are used where they decide.
type checker struct {
	p    *prob
	unit []float64 // by row, see unitOf; 0 = not yet known
}

func newChecker(p *prob) *checker {
	return &checker{p: p, unit: make([]float64, p.m0)}
}

// unitOf is what all coefficients of a row are whole multiples of.
func (c *checker) unitOf(i int) float64 {
	if c.unit[i] == 0 {
		c.unit[i] = unitOf(c.p.a[i])
	}
	return c.unit[i]
}

// unitOf is the largest power of two that divides all entries, 1 if all are 0.
func unitOf(a []float64) float64 {
	e, any := 0, false
	for _, v := range a {
		if l, ok := low(v); ok && (!any || l < e) {
			e, any = l, true
		}
	}
	if !any {
		return 1
	}
	return math.Ldexp(1, e)
}

// whole tries a point with whole values in every column. It returns nil if
// some rule is broken, and then the index of a cone that alone stands in the
// way, or −1.
func (c *checker) whole(x []float64) (*point, int) {
	p := c.p
	for j, v := range x {
		if v < p.cols[j].Lo || v > p.cols[j].Hi || v != math.Floor(v) || math.Abs(v) >= 0x1p52 {
			return nil, -1
		}
		if s := p.cols[j].NothingOr; s > 0 && v != 0 && v < s {
			return nil, -1
		}
	}
	if !c.countsHold(func(j Var) bool { return x[j] != 0 }) {
		return nil, -1
	}
	for i := 0; i < p.m0; i++ {
		if !c.wholeRow(i, x) {
			return nil, -1
		}
	}
	var r []*big.Rat
	for k := range p.m.cones {
		if c.coneClearly(&p.m.cones[k], x) {
			continue
		}
		if r == nil {
			r = ratsOf(x)
		}
		if !coneHolds(&p.m.cones[k], r) {
			return nil, k
		}
	}
	pt := &point{x: append([]float64(nil), x...)}
	pt.setObjective(p, ratsOf(x))
	return pt, -1
}

func ratsOf(x []float64) []*big.Rat {
	r := make([]*big.Rat, len(x))
	for j, v := range x {
		r[j] = new(big.Rat).SetFloat64(v)
	}
	return r
}

func (pt *point) setObjective(p *prob, r []*big.Rat) {
	pt.obj = new(big.Rat)
	for j := range r {
		if r[j].Sign() != 0 || len(p.cols[j].Breaks) > 0 {
			pt.obj.Add(pt.obj, evalPiece(new(big.Rat).SetFloat64(p.cols[j].Cost), p.cols[j].Breaks, r[j]))
		}
	}
	pt.objUp = roundUp(pt.obj)
}

// roundUp is the least float64 that is not below r.
func roundUp(r *big.Rat) float64 {
	f, exact := r.Float64()
	if !exact && new(big.Rat).SetFloat64(f).Cmp(r) < 0 {
		f = math.Nextafter(f, math.Inf(1))
	}
	return f
}

// roundDown is the largest float64 that is not above r.
func roundDown(r *big.Rat) float64 {
	f, exact := r.Float64()
	if !exact && new(big.Rat).SetFloat64(f).Cmp(r) > 0 {
		f = math.Nextafter(f, math.Inf(-1))
	}
	return f
}

func (c *checker) countsHold(on func(Var) bool) bool {
	for i := range c.p.m.counts {
		k := &c.p.m.counts[i]
		n := 0
		for _, v := range k.Vars {
			if on(v) {
				n++
			}
		}
		if n < k.Least || n > k.Most {
			return false
		}
	}
	return true
}

// wholeRow checks row i at a whole point. If Σ|a·x| < 2⁵³·unit, all products
// and partial sums are whole multiples of unit below 2⁵³·unit and so exact.
// Otherwise the error bound (n+2)·2⁻⁵²·Σ|a·x| may decide, else exact numbers.
func (c *checker) wholeRow(i int, x []float64) bool {
	p := c.p
	sum, abs := 0.0, 0.0
	for j, a := range p.a[i] {
		v := float64(a * x[j])
		sum += v
		abs += math.Abs(v)
	}
	lo, hi := p.rowLo[i], p.rowHi[i]
	if abs < 0x1p53*c.unitOf(i) {
		return sum >= lo && sum <= hi
	}
	err := float64(float64(p.n+2) * safeUnit * abs)
	if sum-err > lo && sum+err < hi {
		return true
	}
	if sum+err < lo || sum-err > hi {
		return false
	}
	return c.ratRow(i, ratsOf(x), x)
}

// ratRow checks row i at a point of fractions: in float64 where that decides
// (each value is within 2⁻⁵³ of the truth, so the sum is off by at most
// (n+4)·2⁻⁵²·Σ|a·x|), else exactly.
func (c *checker) ratRow(i int, r []*big.Rat, xf []float64) bool {
	sum, abs := 0.0, 0.0
	for j, a := range c.p.a[i] {
		v := float64(a * xf[j])
		sum += v
		abs += math.Abs(v)
	}
	err := float64(float64(c.p.n+4) * safeUnit * abs)
	if sum-err > c.p.rowLo[i] && sum+err < c.p.rowHi[i] {
		return true
	}
	s, t := new(big.Rat), new(big.Rat)
	for j, a := range c.p.a[i] {
		if a != 0 {
			s.Add(s, t.Mul(t.SetFloat64(a), r[j]))
		}
	}
	lo, hi := c.p.rowLo[i], c.p.rowHi[i]
	return (isInf(lo) || s.Cmp(t.SetFloat64(lo)) >= 0) && (isInf(hi) || s.Cmp(t.SetFloat64(hi)) <= 0)
}

func isInf(v float64) bool { return math.IsInf(v, 0) }

// rational checks a point given as exact fractions. It returns nil if some
// rule is broken, and the index of the first broken cone or −1.
func (c *checker) rational(r []*big.Rat) (*point, int) {
	p := c.p
	t := new(big.Rat)
	for j, v := range r {
		col := &p.cols[j]
		switch {
		case !isInf(col.Lo) && v.Cmp(t.SetFloat64(col.Lo)) < 0,
			!isInf(col.Hi) && v.Cmp(t.SetFloat64(col.Hi)) > 0,
			col.Integer && !v.IsInt(),
			v.Sign() != 0 && col.NothingOr > 0 && v.Cmp(t.SetFloat64(col.NothingOr)) < 0:
			return nil, -1
		}
	}
	if !c.countsHold(func(j Var) bool { return r[j].Sign() != 0 }) {
		return nil, -1
	}
	xf := floatsOf(r)
	for i := 0; i < p.m0; i++ {
		if !c.ratRow(i, r, xf) {
			return nil, -1
		}
	}
	for k := range p.m.cones {
		if !coneHolds(&p.m.cones[k], r) {
			return nil, k
		}
	}
	pt := &point{x: xf, r: r}
	pt.setObjective(p, r)
	return pt, -1
}

// verifiedPoint is the point of an exactly solved relaxation of a model that
// is not discrete: bounds and rows have been checked on the way, only cones
// are left.
func (c *checker) verifiedPoint(v verified) (*point, int) {
	for k := range c.p.m.cones {
		if !coneHolds(&c.p.m.cones[k], v.x) {
			return nil, k
		}
	}
	return &point{x: v.xf, r: v.x, obj: v.obj, objUp: roundUp(v.obj)}, -1
}

// coneHolds checks a cone exactly: t = Σ Terms − Lo ≥ 0 and t² ≥ Z²·Σ(…)².
func coneHolds(k *Cone, r []*big.Rat) bool {
	t, s, q := new(big.Rat), new(big.Rat), new(big.Rat)
	for _, e := range k.Terms {
		t.Add(t, s.Mul(s.SetFloat64(e.Coef), r[e.Var]))
	}
	t.Sub(t, s.SetFloat64(k.Lo))
	if t.Sign() < 0 {
		return false
	}
	for _, e := range k.Spread {
		s.Mul(s.SetFloat64(e.Coef), r[e.Var])
		q.Add(q, s.Mul(s, s))
	}
	s.SetFloat64(k.Z)
	s.Mul(s, s)
	q.Mul(q, s)
	return t.Mul(t, t).Cmp(q) >= 0
}

// coneClearly says whether the cone holds beyond the reach of rounding: the
// float value of the left side is off by at most (k+8)·2⁻⁵² times the sum of
// the sizes of its terms plus the norm term.
func (c *checker) coneClearly(k *Cone, x []float64) bool {
	t, abs, q := -k.Lo, math.Abs(k.Lo), 0.0
	for _, e := range k.Terms {
		v := float64(e.Coef * x[e.Var])
		t += v
		abs += math.Abs(v)
	}
	for _, e := range k.Spread {
		v := float64(e.Coef * x[e.Var])
		q += float64(v * v)
	}
	r := float64(k.Z * math.Sqrt(q))
	return t-r > float64(len(k.Terms)+len(k.Spread)+8)*safeUnit*(abs+r)
}
