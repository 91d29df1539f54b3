package lp

import "math"

// prob is a model in working form, in the caller's own units: dense rows,
// bounds rounded inwards for whole columns, and room for rows that are
// derived (counts) or learnt (tangent cuts).
//
// Row order: the model's rows, then at most two surrogate rows a count, then
// cuts in the order in which they were found.
type prob struct {
	m     *Model
	n     int // columns
	cols  []Column
	isInt []bool
	semi  []float64 // least amount of a column that is "on"; 0 = no such step
	count []bool    // whether some count limit speaks of the column
	lo    []float64 // root bounds
	hi    []float64

	a            [][]float64 // rows, dense
	rowLo, rowHi []float64
	m0           int // number of linear rows of the model
	links        []countLink
	cuts         []cut
	firstCut     int
	pure         bool // every column is whole
	discrete     bool // some column is whole, switched or counted
	empty        int  // a column whose rounded bounds are empty, or −1
	// derived holds bounds of columns that are not whole found by narrow;
	// the exact form needs to know their binary places.
	derived []float64
}

// countLink ties a count limit to its surrogate rows.
type countLink struct {
	c           *Count
	most, least int // row indexes, −1 if there is none
}

// newProb builds the working form of a checked model.
func newProb(m *Model) *prob {
	n := len(m.cols)
	p := &prob{m: m, n: n, cols: m.cols, m0: len(m.rows), empty: -1, pure: true}
	p.isInt = make([]bool, n)
	p.semi = make([]float64, n)
	p.count = make([]bool, n)
	p.lo = make([]float64, n)
	p.hi = make([]float64, n)
	for i := range m.counts {
		for _, v := range m.counts[i].Vars {
			p.count[v] = true
		}
	}
	for j := range m.cols {
		p.setColumn(j)
	}
	for i := range m.rows {
		r := &m.rows[i]
		a := make([]float64, n)
		for _, t := range r.Terms {
			a[t.Var] = t.Coef
		}
		p.addRow(a, r.Lo, r.Hi)
	}
	p.addCountRows()
	p.firstCut = len(p.a)
	return p
}

func (p *prob) setColumn(j int) {
	c := &p.cols[j]
	lo, hi := c.Lo, c.Hi
	if c.Integer {
		p.isInt[j] = true
		lo, hi = math.Ceil(lo), math.Floor(hi)
		if p.count[j] || c.NothingOr > 0 {
			p.semi[j] = math.Max(1, math.Ceil(c.NothingOr))
		}
	} else {
		p.pure = false
		p.semi[j] = c.NothingOr
	}
	if lo == 0 {
		lo = 0 // no negative zero
	}
	if p.semi[j] > hi && p.semi[j] > 0 && lo <= 0 && hi > 0 {
		hi = 0
	}
	if lo > hi {
		p.empty = j
	}
	if c.Integer || p.semi[j] > 0 || p.count[j] {
		p.discrete = true
	}
	p.lo[j], p.hi[j] = lo, hi
}

func (p *prob) addRow(a []float64, lo, hi float64) int {
	p.a = append(p.a, a)
	p.rowLo = append(p.rowLo, lo)
	p.rowHi = append(p.rowHi, hi)
	return len(p.a) - 1
}

// addCountRows makes room for the surrogate rows; enter fills them.
func (p *prob) addCountRows() {
	for i := range p.m.counts {
		c := &p.m.counts[i]
		l := countLink{c: c, most: -1, least: -1}
		if c.Most < len(c.Vars) {
			l.most = p.addRow(make([]float64, p.n), math.Inf(-1), 0)
		}
		if c.Least > 0 {
			l.least = p.addRow(make([]float64, p.n), 0, math.Inf(1))
		}
		p.links = append(p.links, l)
	}
}

// costAt is the float value of the cost of column j at x.
func (p *prob) costAt(j int, x float64) float64 {
	c := &p.cols[j]
	v := c.Cost * x
	for _, b := range c.Breaks {
		if x > b.At {
			v += float64(b.Rise * (x - b.At))
		}
	}
	return v
}
