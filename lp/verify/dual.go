package verify

import (
	"errors"
	"fmt"
	"math/big"
)

// weighted is a row of a leaf with its weight.
type weighted struct {
	y frac
	r *row
}

// sums is room for the sums of a leaf.
type sums struct {
	slope   []*big.Int // cost − Σ weight·row of each column
	ws      []weighted
	y, t, u big.Int
}

func newSums(columns int) (s sums) {
	s.slope = make([]*big.Int, columns)
	for j := range s.slope {
		s.slope[j] = new(big.Int)
	}
	return s
}

// dual evaluates the bound that the weights of a leaf prove; nil is −∞. What
// it holds meanwhile is given back to the meter.
func (w *walker) dual(b *box, n *rawNod, costs bool) (*frac, error) {
	defer func(kept int64) { w.m.stored = kept }(w.m.stored)
	d, err := w.weights(b, n, costs)
	if err != nil {
		return nil, err
	}
	sum, err := w.slopes(d, costs)
	if err != nil {
		return nil, err
	}
	m, long := w.m, words(d.bits())
	if err := m.spend(1, (size(sum)+long)*(long+m.placeSize)); err != nil {
		return nil, err
	}
	// From here on sum is over d and the denominator of places, as the products
	// of slopes (over d) and places are.
	m.places.scale(sum)
	rise := den{} // d over the denominator of costs
	if costs {
		rise = d.over(m.costs)
	}
	for j := range m.cols {
		c := &m.cols[j]
		breaks := c.breaks
		if !costs {
			breaks = nil
		}
		s := w.sums.slope[j]
		if err := m.spend(int64(1+len(breaks)), (size(s)+long)*(m.placeSize+m.costSize)); err != nil {
			return nil, err
		}
		x, ok := w.sums.best(breaks, s, rise, b.lo[j], b.hi[j])
		if !ok {
			return nil, nil
		}
		if x != nil {
			w.sums.add(sum, breaks, s, rise, x)
		}
	}
	return &frac{sum, d.times(m.places)}, nil
}

// weights lists the rows that have a weight in a leaf. It gives the common
// denominator of what they and the costs add up to.
func (w *walker) weights(b *box, n *rawNod, costs bool) (d den, err error) {
	if costs {
		d = w.m.costs
	}
	w.sums.ws = w.sums.ws[:0]
	add := func(list []rawWeight, limit int, get func(i, sign int) (*row, error)) error {
		for _, e := range list {
			y, err := w.m.number(e.Value)
			if err != nil {
				return err
			}
			if e.Index < 0 || e.Index >= limit {
				return fmt.Errorf("there is no rule %d", e.Index)
			}
			if y.n.Sign() == 0 {
				continue
			}
			r, err := get(e.Index, y.n.Sign())
			if err != nil {
				return err
			}
			if y.n.Sign() > 0 && r.lo == nil || y.n.Sign() < 0 && r.hi == nil {
				return errors.New("a weight stands on an infinite side")
			}
			if err := w.m.spend(1, words(y.d.bits())*words(r.d.bits())); err != nil {
				return err
			}
			if d, err = w.m.join(d, y.d.times(r.d)); err != nil {
				return err
			}
			w.sums.ws = append(w.sums.ws, weighted{y, r})
		}
		return nil
	}
	err = add(n.Rows, len(w.m.rows), func(i, _ int) (*row, error) { return &w.m.rows[i], nil })
	if err == nil {
		err = add(n.Cuts, len(w.cuts), func(i, _ int) (*row, error) { return &w.cuts[i], nil })
	}
	if err == nil {
		err = add(n.Counts, len(w.m.counts), func(i, sign int) (*row, error) { return w.countRow(i, sign, b) })
	}
	return d, err
}

// slopes sets the slopes of the columns and gives the sum of weight·side, all
// over d.
func (w *walker) slopes(d den, costs bool) (*big.Int, error) {
	s := &w.sums
	for _, v := range s.slope {
		v.SetInt64(0)
	}
	if costs {
		up := d.over(w.m.costs)
		if err := w.m.spend(int64(len(s.slope)), words(up.bits())*w.m.costSize); err != nil {
			return nil, err
		}
		for j, v := range s.slope {
			up.scale(v.Set(w.m.cols[j].cost))
		}
	}
	sum := new(big.Int)
	for _, e := range s.ws {
		long := size(e.y.n) + words(d.bits())
		if err := w.m.spend(1, long*long); err != nil {
			return nil, err
		}
		up := d.over(e.y.d.times(e.r.d))
		long = size(e.y.n) + words(up.bits())
		if err := w.m.spend(int64(1+len(e.r.terms)), long*e.r.size+words(d.bits())); err != nil {
			return nil, err
		}
		y := up.scale(s.y.Set(e.y.n))
		side := e.r.lo
		if y.Sign() < 0 {
			side = e.r.hi
		}
		sum.Add(sum, s.t.Mul(y, side))
		for _, t := range e.r.terms {
			v := s.slope[t.col]
			v.Sub(v, s.t.Mul(y, t.coef))
		}
	}
	return sum, nil
}

// countRow is the linear consequence of a count in the box: for a column that
// is neither known to be on nor off, x/hi ≤ [x ≠ 0] ≤ x/smallest, because x lies
// between 0 and hi but not between 0 and smallest. One that is on counts 1, one
// that is off 0. With hi the row bounds the number from above, with smallest
// from below, so the sign of the weight says which is meant.
func (w *walker) countRow(i, sign int, b *box) (*row, error) {
	m, c := w.m, &w.m.counts[i]
	r, on, at := &row{}, 0, []den(nil)
	if err := m.spend(int64(1+len(c.cols)), 0); err != nil {
		return nil, err
	}
	for _, j := range c.cols {
		if b.isOn(j) {
			on++
			continue
		}
		if !b.mayBe(j) {
			continue
		}
		place := b.hi[j]
		if sign > 0 {
			place = m.cols[j].smallest
		}
		if place == nil {
			return r, nil // no least amount: no row, the weight is refused
		}
		d := denOf(place)
		var err error
		if r.d, err = m.join(r.d, d); err != nil {
			return nil, err
		}
		at = append(at, d)
		r.terms = append(r.terms, term{col: j})
	}
	if sign < 0 {
		r.hi = r.d.scale(big.NewInt(int64(c.most - on)))
	} else {
		r.lo = r.d.scale(big.NewInt(int64(c.least - on)))
	}
	return r, m.inverses(r, at)
}

// inverses sets the coefficients of the row of a count to one over the places
// at/one, where r.d is a multiple of each at.
func (m *model) inverses(r *row, at []den) error {
	long := words(r.d.bits()) + m.placeSize
	if err := m.spend(int64(1+len(at)), long*long); err != nil {
		return err
	}
	// Such a row is kept until its leaf is closed, and a leaf may weigh a count
	// as often as it likes. A term is some eight words beside its coefficient.
	if err := m.store(int64(1+len(at)) * (8 + long)); err != nil {
		return err
	}
	for k := range at {
		r.terms[k].coef = r.d.over(at[k]).of(m.one)
	}
	r.measure()
	return nil
}

// best is the place in [lo, hi] where slope·x + Σ rise·max(0, x−at) is least:
// the slope only ever grows, so that is where it ceases to be below zero, or
// the end of the column that is nearest to there. It reports false if there is
// no least value, and gives nil if the value is zero, at whatever place. The
// rises times up are over the denominator of the slope.
func (s *sums) best(breaks []brk, slope *big.Int, up den, lo, hi *big.Int) (x *big.Int, ok bool) {
	v := s.t.Set(slope)
	for i := 0; i < len(breaks) && v.Sign() < 0; i++ {
		x = breaks[i].at
		v.Add(v, up.scale(s.u.Set(breaks[i].rise)))
	}
	switch {
	case v.Sign() < 0:
		return hi, hi != nil
	case x == nil: // the slope is nowhere below zero
		return lo, lo != nil || slope.Sign() == 0
	}
	if hi != nil && hi.Cmp(x) < 0 {
		x = hi
	}
	return upper(lo, x), true
}

// add adds slope·x + Σ rise·max(0, x−at) to sum.
func (s *sums) add(sum *big.Int, breaks []brk, slope *big.Int, up den, x *big.Int) {
	sum.Add(sum, s.t.Mul(slope, x))
	v := s.u.SetInt64(0)
	for _, b := range breaks {
		if s.t.Sub(x, b.at); s.t.Sign() <= 0 {
			break
		}
		v.Add(v, s.y.Mul(&s.t, b.rise))
	}
	sum.Add(sum, up.scale(v))
}
