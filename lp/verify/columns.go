package verify

import (
	"errors"
	"fmt"
	"math/big"
)

// figures are the numbers of a column as they stand in the document.
type figures struct {
	lo, hi, least, cost frac
	at, rise            []frac
}

func (m *meter) readColumn(d *rawColumn) (f figures, err error) {
	if f.lo, err = m.optional(d.Lo); err != nil {
		return f, err
	}
	if f.hi, err = m.optional(d.Hi); err != nil {
		return f, err
	}
	if f.least, err = m.optional(d.Least); err != nil {
		return f, err
	}
	if f.cost, err = m.optional(d.Cost); err != nil {
		return f, err
	}
	if f.cost.n == nil {
		f.cost.n = new(big.Int)
	}
	for _, b := range d.Breaks {
		at, err := m.number(b[0])
		if err != nil {
			return f, err
		}
		rise, err := m.number(b[1])
		if err != nil {
			return f, err
		}
		f.at, f.rise = append(f.at, at), append(f.rise, rise)
	}
	return f, nil
}

// addColumns builds the columns, and with them the places of the splits, which
// share their denominator.
func (m *model) addColumns(d *doc) (err error) {
	figs := make([]figures, len(d.Model.Columns))
	for j := range figs {
		f := &figs[j]
		if *f, err = m.readColumn(&d.Model.Columns[j]); err != nil {
			return fmt.Errorf("column %d: %w", j, err)
		}
		m.joinAll(&m.places, &err, f.lo, f.hi, f.least)
		m.joinAll(&m.places, &err, f.at...)
		m.joinAll(&m.costs, &err, f.cost)
		m.joinAll(&m.costs, &err, f.rise...)
		if err != nil {
			return err
		}
	}
	ats := make([]frac, len(d.Tree))
	for i := range ats {
		n := &d.Tree[i]
		if n.Kind != "value" {
			continue
		}
		if ats[i], err = m.number(n.At); err != nil {
			return fmt.Errorf("node %d: %w", i, err)
		}
		if m.joinAll(&m.places, &err, ats[i]); err != nil {
			return err
		}
	}
	return m.setColumns(d, figs, ats)
}

func (m *model) setColumns(d *doc, figs []figures, ats []frac) (err error) {
	m.one = m.places.whole()
	m.at = make([]*big.Int, len(ats))
	for i := range ats {
		m.set(&m.at[i], ats[i], m.places, &err)
	}
	for j := range figs {
		c, err := m.buildColumn(&figs[j], d.Model.Columns[j].Whole)
		if err != nil {
			return fmt.Errorf("column %d: %w", j, err)
		}
		m.cols = append(m.cols, c)
	}
	m.measure()
	return err
}

func (m *model) measure() {
	m.placeSize, m.costSize = longest(size(m.one), m.at...), 1+words(m.costs.bits())
	for j := range m.cols {
		c := &m.cols[j]
		m.placeSize = longest(m.placeSize, c.lo, c.hi, c.least)
		m.costSize = longest(m.costSize, c.cost)
		for _, b := range c.breaks {
			m.placeSize = longest(m.placeSize, b.at)
			m.costSize = longest(m.costSize, b.rise)
		}
	}
}

func (m *model) buildColumn(f *figures, whole bool) (c column, err error) {
	c.whole = whole
	m.set(&c.lo, f.lo, m.places, &err)
	m.set(&c.hi, f.hi, m.places, &err)
	m.set(&c.least, f.least, m.places, &err)
	m.set(&c.cost, f.cost, m.costs, &err)
	c.breaks = make([]brk, len(f.at))
	for i := range f.at {
		m.set(&c.breaks[i].at, f.at[i], m.places, &err)
		m.set(&c.breaks[i].rise, f.rise[i], m.costs, &err)
	}
	if err != nil {
		return c, err
	}
	if c.lo != nil && c.hi != nil && c.lo.Cmp(c.hi) > 0 {
		return c, errors.New("the bounds cross")
	}
	if c.least != nil && (c.least.Sign() <= 0 || !c.switchable()) {
		return c, errors.New("nothing-or-at-least needs bounds from 0 to a finite number")
	}
	last := c.lo
	for _, b := range c.breaks {
		if b.rise.Sign() <= 0 || (last != nil && b.at.Cmp(last) <= 0) || (c.hi != nil && b.at.Cmp(c.hi) >= 0) {
			return c, errors.New("the breaks are not in order")
		}
		last = b.at
	}
	return c, nil
}
