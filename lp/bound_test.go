package lp

import (
	"math"
	"math/big"
	"math/rand/v2"
	"testing"
)

// exactBound is the dual bound of multipliers y over the box, without any
// rounding; see safe for the formula. With costs false the costs count as
// zero. It reports false when the bound is −∞.
func (p *prob) exactBound(y []*big.Rat, lo, hi []float64, costs bool) (*big.Rat, bool) {
	sum := new(big.Rat)
	d := make([]*big.Rat, p.n)
	t, c := new(big.Rat), new(big.Rat)
	for j := range d {
		d[j] = new(big.Rat)
		if costs {
			d[j].SetFloat64(p.cols[j].Cost)
		}
	}
	for i, yi := range y {
		if yi == nil || yi.Sign() == 0 {
			continue
		}
		b := p.rowLo[i]
		if yi.Sign() < 0 {
			b = p.rowHi[i]
		}
		if math.IsInf(b, 0) {
			return nil, false
		}
		sum.Add(sum, t.Mul(yi, c.SetFloat64(b)))
		for j, v := range p.a[i] {
			if v != 0 {
				d[j].Sub(d[j], t.Mul(yi, c.SetFloat64(v)))
			}
		}
	}
	for j := range d {
		var br []Break
		if costs {
			br = p.cols[j].Breaks
		}
		m, ok := exactTerm(d[j], br, lo[j], hi[j])
		if !ok {
			return nil, false
		}
		sum.Add(sum, m)
	}
	return sum, true
}

// exactTerm is the least value of d·x + Σ Rise·max(0, x−At) over [l,u].
func exactTerm(d *big.Rat, br []Break, l, u float64) (*big.Rat, bool) {
	last := new(big.Rat).Set(d)
	for _, b := range br {
		last.Add(last, new(big.Rat).SetFloat64(b.Rise))
	}
	if (math.IsInf(u, 1) && last.Sign() < 0) || (math.IsInf(l, -1) && d.Sign() > 0) {
		return nil, false
	}
	var best *big.Rat
	try := func(at float64) {
		v := exactPiece(d, br, at)
		if best == nil || v.Cmp(best) < 0 {
			best = v
		}
	}
	if !math.IsInf(l, -1) {
		try(l)
	}
	if !math.IsInf(u, 1) {
		try(u)
	}
	for _, b := range br {
		if b.At > l && b.At < u {
			try(b.At)
		}
	}
	if best == nil {
		best = new(big.Rat) // no bound, no break: the slope is zero
	}
	return best, true
}

func exactPiece(d *big.Rat, br []Break, at float64) *big.Rat {
	x := new(big.Rat).SetFloat64(at)
	return evalPiece(d, br, x)
}

// G7: the float bound less its error bound never exceeds the exact bound of
// the same multipliers, for any multipliers, and is near it.
func TestSafeBoundIsBelowExact(t *testing.T) {
	tried := 0
	for seed := uint64(0); seed < 3000; seed++ {
		r := rand.New(rand.NewPCG(seed, 21))
		m := randomProgram(r, 1+r.IntN(6), 1+r.IntN(6), 0.3)
		p := newProb(m)
		if p.empty >= 0 {
			continue
		}
		y := make([]float64, len(p.a))
		ry := make([]*big.Rat, len(y))
		for i := range y {
			y[i] = (r.Float64() - 0.5) * math.Pow(10, float64(r.IntN(9)-4))
			if y[i] > 0 && isInf(p.rowLo[i]) || y[i] < 0 && isInf(p.rowHi[i]) {
				y[i] = 0
			}
			ry[i] = new(big.Rat).SetFloat64(y[i])
		}
		for _, costs := range []bool{true, false} {
			b := safe{p: p}
			ok := b.eval(y, p.lo, p.hi, costs)
			want, finite := p.exactBound(ry, p.lo, p.hi, costs)
			if ok && !finite {
				t.Fatalf("seed %d: a finite claim about −∞", seed)
			}
			if !ok {
				continue
			}
			tried++
			low := new(big.Rat).SetFloat64(b.val - b.err)
			if low.Cmp(want) > 0 {
				w, _ := want.Float64()
				t.Fatalf("seed %d: claims %v, exact %v", seed, b.val-b.err, w)
			}
			if w, _ := want.Float64(); w-(b.val-b.err) > 1e-9*(1+math.Abs(w)) && w-b.val > 1e-6*(1+math.Abs(w)) {
				t.Fatalf("seed %d: %v is far below %v", seed, b.val-b.err, w)
			}
		}
	}
	if tried < 3000 {
		t.Fatalf("only %d bounds were compared", tried)
	}
}
