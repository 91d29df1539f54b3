package verify

import (
	"errors"
	"math/big"
)

// raise rounds the proved bound up to the grid of the objective: all costs
// less a multiple of an equality row, and all rises, are whole multiples of a
// step, and so is the objective less that multiple of the row's side.
func (w *walker) raise(g *rawGrid) error {
	m := w.m
	mult, err := orZero(g.Mult)
	if err != nil {
		return err
	}
	r := &row{lo: new(big.Int)}
	if g.Row != nil {
		if *g.Row < 0 || *g.Row >= len(m.rows) {
			return errors.New("the grid names no row")
		}
		r = &m.rows[*g.Row]
		if r.lo == nil || r.hi == nil || r.lo.Cmp(r.hi) != 0 {
			return errors.New("the row of the grid is not an equality")
		}
	}
	by := mult.d.times(r.d)
	d, err := m.join(m.costs, by)
	if err != nil {
		return err
	}
	step, err := w.step(mult.n, r, d.over(m.costs), d.over(by))
	if err != nil || step == nil {
		return err
	}
	// off and step are over d; the bound becomes off + ⌈(bound − off)/step⌉·step.
	off := d.over(by).scale(new(big.Int).Mul(mult.n, r.lo))
	at := d.of(w.least.n)
	q := w.least.d
	at.Sub(at, q.of(off))
	k, rest := new(big.Int).DivMod(at, q.of(step), new(big.Int))
	if rest.Sign() > 0 {
		k.Add(k, big.NewInt(1))
	}
	w.least = &frac{k.Add(k.Mul(k, step), off), d}
	return nil
}

// gridSlopes sets the slopes to cost·up − mult·row·by.
func (w *walker) gridSlopes(mult *big.Int, r *row, up, by den) error {
	m := w.m
	// The words of a scaled cost and of a scaled multiple.
	long, times := words(up.bits())+m.costSize, words(by.bits())+size(mult)
	if err := m.spend(int64(len(m.cols)), words(up.bits())*m.costSize); err != nil {
		return err
	}
	if err := m.spend(int64(1+len(r.terms)), times*(times+r.size)+long); err != nil {
		return err
	}
	t := new(big.Int)
	for j, v := range w.sums.slope {
		up.scale(v.Set(m.cols[j].cost))
	}
	for _, e := range r.terms {
		v := w.sums.slope[e.col]
		v.Sub(v, by.scale(t.Mul(mult, e.coef)))
	}
	return nil
}

// step is the greatest common divisor of the slopes cost·up − mult·row·by and
// the rises times up, nil if all are zero.
func (w *walker) step(mult *big.Int, r *row, up, by den) (*big.Int, error) {
	if err := w.gridSlopes(mult, r, up, by); err != nil {
		return nil, err
	}
	m, t := w.m, new(big.Int)
	step := new(big.Int)
	take := func(v *big.Int) error {
		if err := m.spend(1, 4*(1+size(step))*size(v)+words(up.bits())*m.costSize); err != nil {
			return err
		}
		step.GCD(nil, nil, step, v)
		return nil
	}
	for j := range m.cols {
		c := &m.cols[j]
		if !c.whole {
			return nil, errors.New("a grid needs whole columns")
		}
		if err := take(w.sums.slope[j]); err != nil {
			return nil, err
		}
		for _, b := range c.breaks {
			if !m.isWhole(b.at) {
				return nil, errors.New("a grid needs whole breaks")
			}
			if err := take(up.scale(t.Set(b.rise))); err != nil {
				return nil, err
			}
		}
	}
	if step.Sign() == 0 {
		return nil, nil
	}
	return step, nil
}
