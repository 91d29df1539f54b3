package verify

import (
	"fmt"
	"math/big"
)

// dot is Σ coef·x.
func dot(ts []term, x []*big.Int) *big.Int {
	s, t := new(big.Int), new(big.Int)
	for _, e := range ts {
		s.Add(s, t.Mul(e.coef, x[e.col]))
	}
	return s
}

// holds checks the point x/p against every rule. It gives its cost, or says
// what is broken; an error says that the numbers are too large to tell.
func (m *model) holds(x []*big.Int, p den) (cost frac, broken string, err error) {
	long := int64(1)
	for _, v := range x {
		long = max(long, size(v))
	}
	if err := m.charge(long + words(p.bits())); err != nil {
		return cost, "", err
	}
	// Columns are compared over p times the denominator of places.
	cost = frac{new(big.Int), p.times(m.places).times(m.costs)}
	for j := range m.cols {
		v := m.places.of(x[j])
		if broken = m.cols[j].broken(v, p); broken == "" && m.cols[j].whole && !p.divides(x[j]) {
			broken = "is not whole"
		}
		if broken != "" {
			return cost, fmt.Sprintf("column %d %s", j, broken), nil
		}
		cost.n.Add(cost.n, m.cols[j].costAt(v, p))
	}
	return cost, m.brokenRule(x, p), nil
}

// charge counts what checking a point may take, whose numbers and denominator
// are x words long together.
func (m *model) charge(x int64) (err error) {
	for j := range m.cols {
		err = m.spend(int64(4+len(m.cols[j].breaks)), (x+m.placeSize)*(x+m.placeSize+m.costSize))
	}
	for i := range m.rows {
		r := &m.rows[i]
		err = m.spend(int64(2+len(r.terms)), x*(r.size+words(r.d.bits())))
	}
	for i := range m.counts {
		err = m.spend(int64(1+len(m.counts[i].cols)), 0)
	}
	for i := range m.cones {
		k := &m.cones[i]
		long := x + k.terms.size + words(k.terms.d.bits()) + k.long.size + words(k.long.d.bits())
		err = m.spend(int64(2+len(k.terms.terms)+len(k.long.terms)), long*long)
	}
	return err // what is spent stays spent, so the last one tells
}

// broken says which rule of the column the place v, over p times the
// denominator of places, breaks.
func (c *column) broken(v *big.Int, p den) string {
	at := func(place *big.Int) *big.Int { return p.of(place) }
	switch {
	case c.lo != nil && v.Cmp(at(c.lo)) < 0, c.hi != nil && v.Cmp(at(c.hi)) > 0:
		return "is outside its bounds"
	case c.least != nil && v.Sign() != 0 && v.Cmp(at(c.least)) < 0:
		return "is neither nothing nor enough"
	}
	return ""
}

// costAt is cost(x) = c·x + Σ rise·max(0, x − at) at such a place.
func (c *column) costAt(v *big.Int, p den) *big.Int {
	sum, t := new(big.Int).Mul(c.cost, v), new(big.Int)
	for _, b := range c.breaks {
		if t.Sub(v, p.scale(t.Set(b.at))); t.Sign() <= 0 {
			break
		}
		sum.Add(sum, t.Mul(t, b.rise))
	}
	return sum
}

// brokenRule says which row, count or cone the point x/p breaks.
func (m *model) brokenRule(x []*big.Int, p den) string {
	t := new(big.Int)
	for i := range m.rows {
		r := &m.rows[i]
		s := dot(r.terms, x)
		if r.lo != nil && s.Cmp(p.scale(t.Set(r.lo))) < 0 || r.hi != nil && s.Cmp(p.scale(t.Set(r.hi))) > 0 {
			return fmt.Sprintf("row %d does not hold", i)
		}
	}
	for i := range m.counts {
		n := 0
		for _, j := range m.counts[i].cols {
			if x[j].Sign() != 0 {
				n++
			}
		}
		if n < m.counts[i].least || n > m.counts[i].most {
			return fmt.Sprintf("count %d does not hold", i)
		}
	}
	for i := range m.cones {
		if !m.cones[i].holds(x, p) {
			return fmt.Sprintf("cone %d does not hold", i)
		}
	}
	return ""
}

// holds checks t = Σ Terms − Lo ≥ 0 and t² ≥ Σ(Z·Spread·x)².
func (k *cone) holds(x []*big.Int, p den) bool {
	t := dot(k.terms.terms, x)
	s := new(big.Int).Set(k.terms.lo)
	if t.Sub(t, p.scale(s)); t.Sign() < 0 {
		return false
	}
	q := new(big.Int)
	for _, e := range k.long.terms {
		s.Mul(e.coef, x[e.col])
		q.Add(q, s.Mul(s, s))
	}
	k.long.d.scale(t) // t is over k.terms.d·p, the root of q over k.long.d·p
	d := k.terms.d
	return t.Mul(t, t).Cmp(d.scale(d.scale(q))) >= 0
}
