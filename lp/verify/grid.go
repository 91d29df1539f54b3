package verify

import (
	"errors"
	"math/big"
)

// raise rounds the proved bound up to the grid of the objective.
func (w *walker) raise(g *rawGrid) error {
	mult, err := orZero(g.Mult)
	if err != nil {
		return err
	}
	off := new(big.Rat)
	slope := make([]*big.Rat, len(w.m.cols))
	for j := range slope {
		slope[j] = new(big.Rat).Set(w.m.cols[j].cost)
	}
	if g.Row != nil {
		if *g.Row < 0 || *g.Row >= len(w.m.rows) {
			return errors.New("the grid names no row")
		}
		r := &w.m.rows[*g.Row]
		if r.lo == nil || r.hi == nil || r.lo.Cmp(r.hi) != 0 {
			return errors.New("the row of the grid is not an equality")
		}
		t := new(big.Rat)
		for _, e := range r.terms {
			slope[e.col].Sub(slope[e.col], t.Mul(mult, e.coef))
		}
		off.Mul(mult, r.lo)
	}
	var step *big.Rat
	for j := range w.m.cols {
		c := &w.m.cols[j]
		if !c.whole {
			return errors.New("a grid needs whole columns")
		}
		step = divisor(step, slope[j])
		for _, b := range c.breaks {
			if !b.at.IsInt() {
				return errors.New("a grid needs whole breaks")
			}
			step = divisor(step, b.rise)
		}
	}
	if step == nil {
		return nil
	}
	k := new(big.Rat).Sub(w.least, off)
	k = ceil(k.Quo(k, step))
	w.least = k.Add(k.Mul(k, step), off)
	return nil
}

// divisor is the greatest common divisor of two fractions; nil is zero.
func divisor(a, b *big.Rat) *big.Rat {
	if b.Sign() == 0 {
		return a
	}
	if a == nil {
		return new(big.Rat).Abs(b)
	}
	x := new(big.Int).Mul(a.Num(), b.Denom())
	y := new(big.Int).Mul(b.Num(), a.Denom())
	y.Abs(y)
	g := new(big.Int).GCD(nil, nil, x, y)
	return new(big.Rat).SetFrac(g, new(big.Int).Mul(a.Denom(), b.Denom()))
}
