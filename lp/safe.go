package lp

import "math"

// safeUnit bounds the relative rounding error of one float64 operation with
// room to spare: the unit roundoff is 2⁻⁵³, and for k ≤ 2²⁰ operations in a
// chain γ_k = k·2⁻⁵³/(1 − k·2⁻⁵³) ≤ k·2⁻⁵²; taking 2⁻⁵² per operation also
// covers the rounding of the error sums themselves, which are sums of
// positive terms and so off by a factor of at most 1 + γ_k < 1 + 2⁻³².
const safeUnit = 0x1p-52

// Multipliers below minMult in size are dropped and above maxMult refused, so
// that no product under- or overflows (see maxFigure).
const (
	minMult = 0x1p-300
	maxMult = 0x1p300
)

// safe evaluates dual bounds that hold in exact arithmetic although they are
// computed in float64. For multipliers y (any numbers at all) and finite
// column bounds, every point of the box that keeps the rows costs at least
//
//	Σ y_i·(lo_i if y_i > 0, hi_i if y_i < 0) + Σ_j min over [l_j,u_j] of cost_j(x) − (yᵀA)_j·x.
//
// Both the value and a bound on its rounding error are computed; value − err
// is the claim.
type safe struct {
	p    *prob
	y    []float64
	d    []float64 // slope of each column below its first break, less yᵀA
	dErr []float64
	min  []float64 // least term of each column
	val  float64
	err  float64
}

// eval sets val and err. With costs false the costs count as zero, and a
// positive val − err proves that the box holds no point. It reports false if
// no finite claim comes out.
func (b *safe) eval(y, lo, hi []float64, costs bool) bool {
	if !b.clean(y) {
		return false
	}
	p := b.p
	b.slopes(costs)
	val, abs := 0.0, 0.0
	for i, yi := range b.y {
		if yi == 0 {
			continue
		}
		r := p.rowLo[i]
		if yi < 0 {
			r = p.rowHi[i]
		}
		v := float64(yi * r)
		val += v
		abs += math.Abs(v)
	}
	err := 0.0
	for j := range b.d {
		m, a, e, ok := b.term(j, lo[j], hi[j], costs)
		if !ok {
			return false
		}
		b.min[j] = m
		val += m
		abs += a
		err += e
	}
	b.val = val
	b.err = float64(err*(1+0x1p-20)) + float64(float64(len(b.y)+p.n+8)*safeUnit*abs)
	return !math.IsNaN(b.val) && !math.IsInf(b.val, 0)
}

// clean copies the usable multipliers: none on an infinite side of a row.
func (b *safe) clean(y []float64) bool {
	b.y = append(b.y[:0], y...)
	for i, v := range b.y {
		a := math.Abs(v)
		switch {
		case !(a <= maxMult):
			return false
		case a < minMult,
			v > 0 && math.IsInf(b.p.rowLo[i], -1),
			v < 0 && math.IsInf(b.p.rowHi[i], 1):
			b.y[i] = 0
		}
	}
	return true
}

// slopes computes d = c − yᵀA and error bounds.
func (b *safe) slopes(costs bool) {
	p := b.p
	if len(b.d) != p.n {
		b.d = make([]float64, p.n)
		b.dErr = make([]float64, p.n)
		b.min = make([]float64, p.n)
	}
	k := 2
	for j := range b.d {
		c := 0.0
		if costs {
			c = p.cols[j].Cost
		}
		b.d[j], b.dErr[j] = c, math.Abs(c)
	}
	for i, yi := range b.y {
		if yi == 0 {
			continue
		}
		k++
		for j, c := range p.a[i] {
			if c != 0 {
				v := float64(yi * c)
				b.d[j] -= v
				b.dErr[j] += math.Abs(v)
			}
		}
	}
	f := float64(k) * safeUnit
	for j := range b.dErr {
		b.dErr[j] *= f
	}
}

// term is the least value of column j's term over [l,u], a bound on the sum
// of the sizes of what was added, and a bound on its error.
func (b *safe) term(j int, l, u float64, costs bool) (m, abs, err float64, ok bool) {
	var br []Break
	if costs {
		br = b.p.cols[j].Breaks
	}
	d, e := b.d[j], b.dErr[j]
	if math.IsInf(l, -1) || math.IsInf(u, 1) {
		return b.openTerm(j, l, u, br)
	}
	x := math.Max(math.Abs(l), math.Abs(u))
	m, abs = pieceAt(d, br, l)
	if v, a := pieceAt(d, br, u); v < m {
		m, abs = v, math.Max(a, abs)
	} else {
		abs = math.Max(a, abs)
	}
	for _, k := range br {
		if k.At > l && k.At < u {
			v, a := pieceAt(d, br, k.At)
			m, abs = math.Min(m, v), math.Max(a, abs)
		}
	}
	return m, abs, float64(e*x*(1+0x1p-20)) + float64(float64(2*len(br)+3)*safeUnit*abs), true
}

// openTerm handles a column without a bound on some side: the slope towards
// it must be provably right, else the least value may be −Inf.
func (b *safe) openTerm(j int, l, u float64, br []Break) (m, abs, err float64, ok bool) {
	d, e := b.d[j], b.dErr[j]
	last, size := d, math.Abs(d)
	for _, k := range br {
		last += k.Rise
		size += k.Rise
	}
	if math.IsInf(u, 1) && last-e-float64(float64(len(br)+1)*safeUnit*size) < 0 {
		return 0, 0, 0, false
	}
	if math.IsInf(l, -1) && d+e > 0 {
		return 0, 0, 0, false
	}
	// The least value lies at a finite bound or a break. With neither the
	// slope is provably zero: the term is zero.
	m = math.Inf(1)
	x := 0.0
	try := func(at float64) {
		v, a := pieceAt(d, br, at)
		m, abs, x = math.Min(m, v), math.Max(abs, a), math.Max(x, math.Abs(at))
	}
	if !math.IsInf(l, -1) {
		try(l)
	}
	if !math.IsInf(u, 1) {
		try(u)
	}
	for _, k := range br {
		if k.At > l && k.At < u {
			try(k.At)
		}
	}
	if math.IsInf(m, 1) {
		m = 0
	}
	return m, abs, float64(e*x*(1+0x1p-20)) + float64(float64(2*len(br)+3)*safeUnit*abs), true
}

// pieceAt is d·x + Σ Rise·max(0, x − At) and the sum of the sizes.
func pieceAt(d float64, br []Break, x float64) (v, abs float64) {
	v = float64(d * x)
	abs = math.Abs(v)
	for _, k := range br {
		if x > k.At {
			t := float64(k.Rise * (x - k.At))
			v += t
			abs += t
		}
	}
	return v, abs
}
