package verify

import (
	"errors"
	"fmt"
	"math/big"
)

type brk struct{ at, rise *big.Rat }

type column struct {
	lo, hi *big.Rat // nil = infinite
	cost   *big.Rat
	breaks []brk
	whole  bool
	least  *big.Rat // nil = no such rule
	count  bool     // some count speaks of it
}

type term struct {
	col  int
	coef *big.Rat
}

type row struct {
	lo, hi *big.Rat
	terms  []term
}

type count struct {
	cols        []int
	least, most int
}

type cone struct {
	lo, z         *big.Rat
	terms, spread []term
}

type model struct {
	cols   []column
	rows   []row
	counts []count
	cones  []cone
}

// build checks the model of the document and turns it into fractions.
func build(d *rawModel, cuts int) (*model, error) {
	m := new(model)
	if len(d.Columns) > maxColumns {
		return nil, errors.New("too many columns")
	}
	rules := len(d.Rows) + len(d.Counts) + len(d.Cones) + cuts
	if rules > maxCells || len(d.Columns)*rules > maxCells {
		return nil, errors.New("the model is too large")
	}
	for i := range d.Columns {
		c, err := buildColumn(&d.Columns[i])
		if err != nil {
			return nil, fmt.Errorf("column %d: %w", i, err)
		}
		m.cols = append(m.cols, c)
	}
	for i := range d.Rows {
		r, err := m.buildRow(&d.Rows[i])
		if err != nil {
			return nil, fmt.Errorf("row %d: %w", i, err)
		}
		m.rows = append(m.rows, r)
	}
	for i := range d.Counts {
		if err := m.addCount(&d.Counts[i]); err != nil {
			return nil, fmt.Errorf("count %d: %w", i, err)
		}
	}
	for i := range d.Cones {
		k, err := m.buildCone(&d.Cones[i])
		if err != nil {
			return nil, fmt.Errorf("cone %d: %w", i, err)
		}
		m.cones = append(m.cones, k)
	}
	return m, nil
}

func buildColumn(d *rawColumn) (c column, err error) {
	if c.lo, err = optional(d.Lo); err != nil {
		return c, err
	}
	if c.hi, err = optional(d.Hi); err != nil {
		return c, err
	}
	if c.lo != nil && c.hi != nil && c.lo.Cmp(c.hi) > 0 {
		return c, errors.New("the bounds cross")
	}
	if c.cost, err = orZero(d.Cost); err != nil {
		return c, err
	}
	c.whole = d.Whole
	if c.least, err = optional(d.Least); err != nil {
		return c, err
	}
	if c.least != nil && (c.least.Sign() <= 0 || !c.switchable()) {
		return c, errors.New("nothing-or-at-least needs bounds from 0 to a finite number")
	}
	last := c.lo
	for _, b := range d.Breaks {
		at, err := number(b[0])
		if err != nil {
			return c, err
		}
		rise, err := number(b[1])
		if err != nil {
			return c, err
		}
		if rise.Sign() <= 0 || (last != nil && at.Cmp(last) <= 0) || (c.hi != nil && at.Cmp(c.hi) >= 0) {
			return c, errors.New("the breaks are not in order")
		}
		c.breaks = append(c.breaks, brk{at, rise})
		last = at
	}
	return c, nil
}

// switchable says whether the column runs from zero to a finite number.
func (c *column) switchable() bool { return c.lo != nil && c.lo.Sign() == 0 && c.hi != nil }

func (m *model) buildTerms(d []rawTerm) ([]term, error) {
	var out []term
	seen := make(map[int]bool, len(d))
	for _, t := range d {
		if t.Col < 0 || t.Col >= len(m.cols) || seen[t.Col] {
			return nil, fmt.Errorf("bad or repeated column %d", t.Col)
		}
		seen[t.Col] = true
		v, err := number(t.Coef)
		if err != nil {
			return nil, err
		}
		out = append(out, term{t.Col, v})
	}
	return out, nil
}

func (m *model) buildRow(d *rawRow) (r row, err error) {
	if r.lo, err = optional(d.Lo); err != nil {
		return r, err
	}
	if r.hi, err = optional(d.Hi); err != nil {
		return r, err
	}
	r.terms, err = m.buildTerms(d.Terms)
	return r, err
}

func (m *model) addCount(d *rawCount) error {
	if d.Least < 0 || d.Least > d.Most {
		return errors.New("needs 0 ≤ least ≤ most")
	}
	seen := make(map[int]bool, len(d.Cols))
	for _, j := range d.Cols {
		if j < 0 || j >= len(m.cols) || seen[j] || !m.cols[j].switchable() {
			return fmt.Errorf("bad column %d", j)
		}
		if d.Least > 0 && !m.cols[j].whole && m.cols[j].least == nil {
			return fmt.Errorf("column %d has no least amount", j)
		}
		seen[j] = true
		m.cols[j].count = true
	}
	m.counts = append(m.counts, count{d.Cols, d.Least, d.Most})
	return nil
}

func (m *model) buildCone(d *rawCone) (k cone, err error) {
	if k.lo, err = number(d.Lo); err != nil {
		return k, err
	}
	if k.z, err = number(d.Z); err != nil {
		return k, err
	}
	if k.z.Sign() < 0 {
		return k, errors.New("z is negative")
	}
	if k.terms, err = m.buildTerms(d.Terms); err != nil {
		return k, err
	}
	k.spread, err = m.buildTerms(d.Spread)
	return k, err
}

// dot is Σ coef·x.
func dot(ts []term, x []*big.Rat) *big.Rat {
	s, t := new(big.Rat), new(big.Rat)
	for _, e := range ts {
		s.Add(s, t.Mul(e.coef, x[e.col]))
	}
	return s
}

// cost is cost(x) = c·x + Σ rise·max(0, x − at).
func (c *column) costAt(slope, x *big.Rat, withBreaks bool) *big.Rat {
	v := new(big.Rat).Mul(slope, x)
	if !withBreaks {
		return v
	}
	t := new(big.Rat)
	for _, b := range c.breaks {
		if t.Sub(x, b.at).Sign() > 0 {
			v.Add(v, t.Mul(t, b.rise))
		}
	}
	return v
}

// holds checks a point against every rule and gives its cost.
func (m *model) holds(x []*big.Rat) (*big.Rat, error) {
	sum := new(big.Rat)
	for j := range m.cols {
		c := &m.cols[j]
		switch {
		case c.lo != nil && x[j].Cmp(c.lo) < 0, c.hi != nil && x[j].Cmp(c.hi) > 0:
			return nil, fmt.Errorf("column %d is outside its bounds", j)
		case c.whole && !x[j].IsInt():
			return nil, fmt.Errorf("column %d is not whole", j)
		case c.least != nil && x[j].Sign() != 0 && x[j].Cmp(c.least) < 0:
			return nil, fmt.Errorf("column %d is neither nothing nor enough", j)
		}
		sum.Add(sum, c.costAt(c.cost, x[j], true))
	}
	for i := range m.rows {
		r := &m.rows[i]
		s := dot(r.terms, x)
		if r.lo != nil && s.Cmp(r.lo) < 0 || r.hi != nil && s.Cmp(r.hi) > 0 {
			return nil, fmt.Errorf("row %d does not hold", i)
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
			return nil, fmt.Errorf("count %d does not hold", i)
		}
	}
	for i := range m.cones {
		if !m.cones[i].holds(x) {
			return nil, fmt.Errorf("cone %d does not hold", i)
		}
	}
	return sum, nil
}

// holds checks t = Σ Terms − Lo ≥ 0 and t² ≥ Z²·Σ(Spread·x)².
func (k *cone) holds(x []*big.Rat) bool {
	t := dot(k.terms, x)
	t.Sub(t, k.lo)
	if t.Sign() < 0 {
		return false
	}
	q, s := new(big.Rat), new(big.Rat)
	for _, e := range k.spread {
		s.Mul(e.coef, x[e.col])
		q.Add(q, s.Mul(s, s))
	}
	s.Mul(k.z, k.z)
	return t.Mul(t, t).Cmp(q.Mul(q, s)) >= 0
}
