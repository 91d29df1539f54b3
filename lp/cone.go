package lp

import (
	"math"
	"math/bits"
)

// cut is a tangent of a cone: with a vector v of length at most 1,
// √(Σ s_i²) ≥ Σ v_i·s_i (Cauchy–Schwarz), so
//
//	Σ Terms − Z·Σ v_i·Spread_i·x_i ≥ Lo
//
// holds wherever the cone does.
type cut struct {
	cone int
	dir  []float64 // v by spread term, Σ v² ≤ 1 exactly
	row  int
}

const (
	// coneTol: at a point of a continuous model a cone counts as kept when
	// it is broken by at most coneTol·max(1, |Lo|, Z·norm). A tangent at a
	// point that breaks it by e cuts off at least e, so the loop ends; 1e-9
	// is a hundred times the noise of evaluating the row in float64 at
	// sizes up to 1e5.
	coneTol = 1e-9
	// nodeConeTol is coneTol at the nodes of a search below the root: there a
	// tangent only sharpens bounds, and whole points are checked exactly, so
	// it must be worth the row that it costs.
	nodeConeTol = 1e-3
	// coneRounds is the most rounds of tangents for one relaxation.
	coneRounds = 60
	// dirBits: directions are rounded towards zero to this many binary
	// places, which keeps exact numbers small; the tangent point moves by
	// less than 2⁻⁴⁰ relative, its depth by the square of that.
	dirBits = 40
)

// coneGap is the float value of how far x breaks cone k (positive = broken)
// and the norm term.
func coneGap(k *Cone, x []float64) (gap, norm float64) {
	t, q := -k.Lo, 0.0
	for _, e := range k.Terms {
		t += float64(e.Coef * x[e.Var])
	}
	for _, e := range k.Spread {
		v := float64(e.Coef * x[e.Var])
		q += float64(v * v)
	}
	norm = math.Sqrt(q)
	return float64(k.Z*norm) - t, norm
}

// coneBroken says whether x breaks cone k by more than tol of its size.
func coneBroken(k *Cone, x []float64, tol float64) bool {
	gap, norm := coneGap(k, x)
	return gap > tol*math.Max(1, math.Max(math.Abs(k.Lo), k.Z*norm))
}

// tangent adds the tangent of cone k at x as a row. It reports whether the
// row is new.
func (p *prob) tangent(k int, x []float64) bool {
	c := &p.m.cones[k]
	_, norm := coneGap(c, x)
	dir := make([]float64, len(c.Spread))
	for i, e := range c.Spread {
		if norm > 0 {
			dir[i] = math.Trunc(float64(e.Coef*x[e.Var])/norm*(1-0x1p-45)*(1<<dirBits)) / (1 << dirBits)
		}
	}
	if !shortEnough(dir) {
		return false
	}
	for i := range p.cuts {
		if p.cuts[i].cone == k && sameDir(p.cuts[i].dir, dir) {
			return false
		}
	}
	a, lo := p.tangentRow(c, dir)
	row := p.addRow(a, lo, math.Inf(1))
	p.cuts = append(p.cuts, cut{cone: k, dir: dir, row: row})
	return true
}

// shortEnough checks Σ v² ≤ 1 exactly: each v is a whole multiple of
// 2⁻ᵈⁱʳᴮⁱᵗˢ, so the squares are added as whole numbers of 128 bits.
func shortEnough(v []float64) bool {
	var hi, lo, carry uint64
	for _, e := range v {
		k := uint64(int64(math.Abs(e) * (1 << dirBits)))
		if k > 1<<dirBits {
			return false
		}
		h, l := bits.Mul64(k, k)
		lo, carry = bits.Add64(lo, l, 0)
		hi, _ = bits.Add64(hi, h, carry)
	}
	const one = 1 << (2*dirBits - 64) // 2^(2·dirBits), high word
	return hi < one || (hi == one && lo == 0)
}

func sameDir(a, b []float64) bool {
	for i := range a {
		if a[i] != b[i] {
			return false
		}
	}
	return true
}

// tangentRow computes the coefficients Terms − Z·v·Spread in float64 and makes
// up for the rounding so that the row stays valid. A coefficient is made by at
// most three operations and is off by at most 2·2⁻⁵²·(|term| + |Z·v·Spread|);
// it is raised by that where x ≥ 0, lowered where x ≤ 0, and elsewhere left,
// with the right side lowered by the error times the largest |x|. A column
// without bounds whose coefficient may be off makes the row void (right side
// −∞).
func (p *prob) tangentRow(c *Cone, dir []float64) ([]float64, float64) {
	row := make([]float64, p.n)
	off := make([]float64, p.n)
	for _, e := range c.Terms {
		row[e.Var] = e.Coef
	}
	for i, e := range c.Spread {
		v := float64(float64(c.Z*e.Coef) * dir[i])
		if v != 0 {
			off[e.Var] = 2 * safeUnit * (math.Abs(row[e.Var]) + math.Abs(v))
			row[e.Var] -= v
		}
	}
	loss := 0.0
	for j, e := range off {
		switch {
		case e == 0:
		case p.lo[j] >= 0:
			row[j] = math.Nextafter(row[j]+e, math.Inf(1))
		case p.hi[j] <= 0:
			row[j] = math.Nextafter(row[j]-e, math.Inf(-1))
		default:
			loss += float64(e * math.Max(-p.lo[j], p.hi[j]))
		}
	}
	if loss == 0 {
		return row, c.Lo
	}
	// Sums of positive terms are off by less than the added part.
	return row, math.Nextafter(c.Lo-float64(loss*(1+0x1p-20)), math.Inf(-1))
}
