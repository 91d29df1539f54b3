package verify

import (
	"context"
	"errors"
	"fmt"
	"math/big"
)

// The numbers of a model are whole, over a common denominator for each kind:
// one for all places that a column can have (bounds, breaks, least amounts,
// splits), one for all costs and rises, one for each row. They are never
// changed in place.

type brk struct{ at, rise *big.Int }

type column struct {
	lo, hi   *big.Int // nil = infinite
	cost     *big.Int
	breaks   []brk
	whole    bool
	least    *big.Int // nil = no such rule
	count    bool     // some count speaks of it
	smallest *big.Int // least place above zero, nil if there is none
}

type term struct {
	col  int
	coef *big.Int
}

type row struct {
	lo, hi *big.Int
	terms  []term
	d      den
	size   int64 // words of the longest coefficient or side
}

type count struct {
	cols        []int
	least, most int
}

type cone struct {
	terms row // Σ Terms ≥ Lo
	long  row // Z·Spread, without sides
}

type model struct {
	meter
	places den      // of all places
	one    *big.Int // the place 1
	costs  den      // of all costs and rises
	// Words of the longest place and cost, or of their denominators.
	placeSize, costSize int64
	cols                []column
	rows                []row
	counts              []count
	cones               []cone
	cells               int64      // columns and what the counts name: what a look at all of them takes
	at                  []*big.Int // of each node of the tree, nil unless it is a split by value
	seen                []int      // of each column: the last list of terms that named it
	lists               int
	place               []int // room for where a list names a column
}

// build checks the model of a document and turns it into whole numbers.
func build(ctx context.Context, d *doc) (*model, error) {
	m := &model{meter: meter{ctx: ctx}}
	if len(d.Model.Columns) > maxColumns {
		return nil, errors.New("too many columns")
	}
	rules := len(d.Model.Rows) + len(d.Model.Counts) + len(d.Model.Cones) + len(d.Cuts)
	if rules > maxCells || int64(len(d.Model.Columns))*int64(rules) > maxCells {
		return nil, errors.New("the model is too large")
	}
	if len(d.Tree) > maxNodes {
		return nil, errors.New("the tree is too large")
	}
	m.seen, m.place = make([]int, len(d.Model.Columns)), make([]int, len(d.Model.Columns))
	if err := m.addColumns(d); err != nil {
		return nil, err
	}
	m.cells = int64(len(m.cols))
	for i := range d.Model.Rows {
		r, err := m.buildRow(&d.Model.Rows[i])
		if err != nil {
			return nil, fmt.Errorf("row %d: %w", i, err)
		}
		m.rows = append(m.rows, r)
	}
	for i := range d.Model.Counts {
		if err := m.addCount(&d.Model.Counts[i]); err != nil {
			return nil, fmt.Errorf("count %d: %w", i, err)
		}
		m.cells += int64(1 + len(d.Model.Counts[i].Cols)) // one that names none is looked at too
	}
	for i := range d.Model.Cones {
		k, err := m.buildCone(&d.Model.Cones[i])
		if err != nil {
			return nil, fmt.Errorf("cone %d: %w", i, err)
		}
		m.cones = append(m.cones, k)
	}
	for j := range m.cols {
		m.cols[j].smallest = m.smallest(&m.cols[j])
	}
	return m, nil
}

// isWhole says whether a place is a whole number.
func (m *model) isWhole(x *big.Int) bool { return m.places.divides(x) }

// switchable says whether the column runs from zero to a finite number.
func (c *column) switchable() bool { return c.lo != nil && c.lo.Sign() == 0 && c.hi != nil }

// smallest is the least amount of a column that is on, or nil if it may be as
// small as it likes.
func (m *model) smallest(c *column) *big.Int {
	switch {
	case c.least == nil && c.whole && c.count:
		return m.one
	case c.least == nil || !c.whole:
		return c.least
	}
	return m.ceil(c.least) // which is above zero
}

// ceil and floor round places to whole numbers.
func (m *model) ceil(x *big.Int) *big.Int {
	if f := m.floor(x); f.Cmp(x) < 0 {
		return f.Add(f, m.one)
	}
	return x
}

func (m *model) floor(x *big.Int) *big.Int {
	if m.isWhole(x) {
		return x
	}
	r := new(big.Int).Mod(x, m.one)
	return r.Sub(x, r)
}

// terms reads figures of columns, each named at most once.
func (m *model) terms(d []rawTerm) (cols []int, coefs []frac, err error) {
	m.lists++
	for _, t := range d {
		if t.Col < 0 || t.Col >= len(m.cols) || m.seen[t.Col] == m.lists {
			return nil, nil, fmt.Errorf("bad or repeated column %d", t.Col)
		}
		m.seen[t.Col] = m.lists
		v, err := number(t.Coef)
		if err != nil {
			return nil, nil, err
		}
		cols, coefs = append(cols, t.Col), append(coefs, v)
	}
	return cols, coefs, nil
}

// row brings a row over its common denominator.
func (m *model) row(lo, hi frac, cols []int, coefs []frac) (r row, err error) {
	m.joinAll(&r.d, &err, lo, hi)
	m.joinAll(&r.d, &err, coefs...)
	m.set(&r.lo, lo, r.d, &err)
	m.set(&r.hi, hi, r.d, &err)
	r.terms = make([]term, len(cols))
	for i, j := range cols {
		r.terms[i].col = j
		m.set(&r.terms[i].coef, coefs[i], r.d, &err)
	}
	r.measure()
	return r, err
}

func (r *row) measure() {
	r.size = longest(0, r.lo, r.hi)
	for _, e := range r.terms {
		r.size = longest(r.size, e.coef)
	}
}

func (m *model) buildRow(d *rawRow) (r row, err error) {
	lo, err := optional(d.Lo)
	if err != nil {
		return r, err
	}
	hi, err := optional(d.Hi)
	if err != nil {
		return r, err
	}
	cols, coefs, err := m.terms(d.Terms)
	if err != nil {
		return r, err
	}
	return m.row(lo, hi, cols, coefs)
}

func (m *model) addCount(d *rawCount) error {
	if d.Least < 0 || d.Least > d.Most {
		return errors.New("needs 0 ≤ least ≤ most")
	}
	m.lists++
	for _, j := range d.Cols {
		if j < 0 || j >= len(m.cols) || m.seen[j] == m.lists || !m.cols[j].switchable() {
			return fmt.Errorf("bad column %d", j)
		}
		if d.Least > 0 && !m.cols[j].whole && m.cols[j].least == nil {
			return fmt.Errorf("column %d has no least amount", j)
		}
		m.seen[j] = m.lists
		m.cols[j].count = true
	}
	m.counts = append(m.counts, count{d.Cols, d.Least, d.Most})
	return nil
}

func (m *model) buildCone(d *rawCone) (k cone, err error) {
	lo, err := number(d.Lo)
	if err != nil {
		return k, err
	}
	z, err := number(d.Z)
	if err != nil {
		return k, err
	}
	if z.n.Sign() < 0 {
		return k, errors.New("z is negative")
	}
	cols, coefs, err := m.terms(d.Terms)
	if err != nil {
		return k, err
	}
	if k.terms, err = m.row(lo, frac{}, cols, coefs); err != nil {
		return k, err
	}
	if cols, coefs, err = m.terms(d.Spread); err != nil {
		return k, err
	}
	if k.long, err = m.row(frac{}, frac{}, cols, coefs); err != nil {
		return k, err
	}
	return k, m.stretch(&k.long, z)
}

// stretch multiplies a new row by z.
func (m *model) stretch(r *row, z frac) error {
	n := int64(len(r.terms))
	if err := m.store(n * (1 + size(z.n) + r.size)); err != nil {
		return err
	}
	if err := m.spend(n, size(z.n)*r.size); err != nil {
		return err
	}
	r.d = r.d.times(z.d)
	for i := range r.terms {
		r.terms[i].coef = new(big.Int).Mul(r.terms[i].coef, z.n)
	}
	r.measure()
	return nil
}
