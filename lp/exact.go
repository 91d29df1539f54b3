package lp

import (
	"math"
	"math/big"
	"math/bits"
)

// exact is the working problem in whole numbers. Every float64 is a whole
// multiple of a power of two, so with suitable exponents
//
//	x_j = X_j·2^−ex,   A_ij = a_ij·2^ea_i,   C_v = c_v·2^ec
//
// are all whole, and row i reads LO_i ≤ Σ A_ij·X_j ≤ HI_i with
// LO_i = lo_i·2^(ea_i+ex). The exponents are chosen so that all of these,
// for the bounds of every node, are whole too.
type exact struct {
	p    *prob
	stop func() bool // ends exact work early; nil: nothing does

	ex int
	ec int
	ea []int
	a  [][]*big.Int // entries that were asked for, see entry; nil row = none yet
	// by segment
	cost  []*big.Int
	first []int
	seg   []int

	spare []big.Int // see integer
}

// integer is a new zero. Most integers here are short, so they are cut from
// one piece with room for two words each.
func (x *exact) integer() *big.Int {
	const pieces, room = 64, 2
	if len(x.spare) == 0 {
		x.spare = make([]big.Int, pieces)
		words := make([]big.Word, room*pieces)
		for i := range x.spare {
			x.spare[i].SetBits(words[room*i : room*i : room*(i+1)])
		}
	}
	z := &x.spare[0]
	x.spare = x.spare[1:]
	return z
}

// low is the exponent of the lowest set bit of v: v is a whole multiple of
// 2^low. For zero and infinities it reports false.
func low(v float64) (int, bool) {
	if v == 0 || math.IsInf(v, 0) {
		return 0, false
	}
	m, e := parts(v)
	return e + bits.TrailingZeros64(m), true
}

// parts gives the size of a finite v as m·2^e with a whole m below 2⁵³.
func parts(v float64) (m uint64, e int) {
	b := math.Float64bits(v)
	m, e = b&(1<<52-1), int(b>>52&0x7ff)
	if e == 0 {
		return m, -1074 // subnormal
	}
	return m | 1<<52, e - 1075
}

// scaled is v·2^e, which must be whole; anything else is a fault of this
// package that would make exact answers wrong, so it does not go on.
func (x *exact) scaled(v float64, e int) *big.Int {
	m, k := parts(v)
	k += e
	if m != 0 && k < 0 {
		if bits.TrailingZeros64(m) < -k {
			panic("lp: a figure is finer than the exact form allows")
		}
		m, k = m>>-k, 0
	}
	z := x.integer().SetUint64(m)
	if v < 0 {
		z.Neg(z)
	}
	if m != 0 && k > 0 {
		z.Lsh(z, uint(k))
	}
	return z
}

// needBits raises e so that v·2^e is whole.
func needBits(e int, v float64) int {
	if l, ok := low(v); ok && -l > e {
		return -l
	}
	return e
}

// newExact builds the whole-number form. Rows are added as they come.
func newExact(p *prob) *exact {
	x := &exact{p: p}
	for j := range p.cols {
		c := &p.cols[j]
		x.ex = needBits(x.ex, p.lo[j])
		x.ex = needBits(x.ex, p.hi[j])
		x.ex = needBits(x.ex, p.semi[j])
		x.ec = needBits(x.ec, c.Cost)
		x.first = append(x.first, len(x.seg))
		x.seg = append(x.seg, j)
		for _, b := range c.Breaks {
			x.ex = needBits(x.ex, b.At)
			x.ec = needBits(x.ec, b.Rise)
			x.seg = append(x.seg, j)
		}
	}
	x.first = append(x.first, len(x.seg))
	for _, v := range p.derived {
		x.ex = needBits(x.ex, v)
	}
	for j := range p.cols {
		c := &p.cols[j]
		s := x.scaled(c.Cost, x.ec)
		x.cost = append(x.cost, s)
		for _, b := range c.Breaks {
			s = x.integer().Add(s, x.scaled(b.Rise, x.ec))
			x.cost = append(x.cost, s)
		}
	}
	return x
}

// sync brings rows from index from on up to date with the problem: those of
// counts change with the box, and cuts come in. What was made of their entries
// is dropped, so it must be called after every change and before entry is. The
// coefficients of the model's own rows never change.
func (x *exact) sync(from int) {
	p := x.p
	x.a = x.a[:min(from, len(x.a))]
	x.ea = x.ea[:len(x.a)]
	for i := len(x.a); i < len(p.a); i++ {
		e := 0
		for _, v := range p.a[i] {
			e = needBits(e, v)
		}
		for _, v := range []float64{p.rowLo[i], p.rowHi[i]} {
			if l, ok := low(v); ok && -l-x.ex > e {
				e = -l - x.ex
			}
		}
		x.a = append(x.a, nil)
		x.ea = append(x.ea, e)
	}
}

// entry is A_ij, nil if it is zero. Few entries of a model stand in the rows
// and columns of a basis, so they are made when they are asked for.
func (x *exact) entry(i, j int) *big.Int {
	v := x.p.a[i][j]
	if v == 0 {
		return nil
	}
	if x.a[i] == nil {
		x.a[i] = make([]*big.Int, x.p.n)
	}
	if x.a[i][j] == nil {
		x.a[i][j] = x.scaled(v, x.ea[i])
	}
	return x.a[i][j]
}

// rowBound is a finite row bound in the units of row i.
func (x *exact) rowBound(i int, v float64) *big.Int { return x.scaled(v, x.ea[i]+x.ex) }

// verified is an exact answer about one linear relaxation.
type verified struct {
	out outcome // lpOptimal, lpInfeasible, lpUnbounded, or lpLost
	x   []*big.Rat
	xf  []float64 // x rounded; set by relaxExact
	obj *big.Rat
	y   []*big.Rat // multipliers in the caller's units; for lpInfeasible a Farkas vector
	fix bool       // the float basis had to be corrected
}

// segBounds gives the bounds of segment v in units of 2^−ex as float64 in the
// caller's units; both are exact floats (differences of figures that are
// whole multiples of 2^−ex may not be, so those are made from big integers).
func (x *exact) segBounds(lo, hi []float64) (l, h []*big.Int) {
	l = make([]*big.Int, len(x.seg))
	h = make([]*big.Int, len(x.seg))
	for j := range x.p.cols {
		br := x.p.cols[j].Breaks
		v := x.first[j]
		cl, ch := x.amount(lo[j]), x.amount(hi[j])
		if len(br) == 0 {
			l[v], h[v] = cl, ch
			continue
		}
		at := x.amount(br[0].At)
		l[v], h[v] = x.least(cl, at), x.least(ch, at)
		if cl == nil {
			l[v] = nil
		}
		for k := range br {
			at = x.amount(br[k].At)
			var length *big.Int
			if k+1 < len(br) {
				length = x.amount(br[k+1].At)
				length.Sub(length, at)
			}
			l[v+k+1], h[v+k+1] = x.clampPiece(cl, at, length), x.clampPiece(ch, at, length)
			if cl == nil {
				l[v+k+1] = new(big.Int)
			}
		}
	}
	return l, h
}

// amount is v·2^ex, nil for an infinite v.
func (x *exact) amount(v float64) *big.Int {
	if math.IsInf(v, 0) {
		return nil
	}
	return x.scaled(v, x.ex)
}

// least is the smaller of a and b, where nil a means b.
func (x *exact) least(a, b *big.Int) *big.Int {
	if a == nil || a.Cmp(b) > 0 {
		return x.integer().Set(b)
	}
	return x.integer().Set(a)
}

// clampPiece is v − at kept within [0, length]; nil v or length is +∞.
func (x *exact) clampPiece(v, at, length *big.Int) *big.Int {
	if v == nil {
		return length
	}
	d := x.integer().Sub(v, at)
	if d.Sign() < 0 {
		return d.SetInt64(0)
	}
	if length != nil && d.Cmp(length) > 0 {
		return x.integer().Set(length)
	}
	return d
}

// solveExact answers the relaxation over the given bounds exactly, starting
// from the basis of the float tableau s: first by checking that basis, then,
// if it does not hold, by exact pivots.
func (x *exact) solveExact(s *simplex, lo, hi []float64) verified {
	l, h := x.segBounds(lo, hi)
	if v, ok := x.checkBasis(s, l, h); ok {
		return v
	}
	v := x.repair(s, l, h)
	v.fix = true
	return v
}

// ratio is num/den·2^e.
func ratio(num, den *big.Int, e int) *big.Rat {
	switch {
	case e > 0:
		num = new(big.Int).Lsh(num, uint(e))
	case e < 0:
		den = new(big.Int).Lsh(den, uint(-e))
	}
	return new(big.Rat).SetFrac(num, den)
}

// evalPiece is d·x + Σ Rise·max(0, x−At).
func evalPiece(d *big.Rat, br []Break, x *big.Rat) *big.Rat {
	v := new(big.Rat).Mul(d, x)
	t := new(big.Rat)
	for _, b := range br {
		t.Sub(x, new(big.Rat).SetFloat64(b.At))
		if t.Sign() > 0 {
			v.Add(v, t.Mul(t, new(big.Rat).SetFloat64(b.Rise)))
		}
	}
	return v
}
