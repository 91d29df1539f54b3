package main

import (
	"math"

	"firlot/lp"
)

// flat is a model without cones as the other solvers take it: breaks are extra
// columns, nothing-or-at-least and counts are binary columns. Bounds of 1e30
// are infinite. The matrix is by rows and by columns.
type flat struct {
	ColLower []float64 `json:"colLower"`
	ColUpper []float64 `json:"colUpper"`
	Cost     []float64 `json:"colCost"`
	Whole    []int32   `json:"integrality"`
	RowLower []float64 `json:"rowLower"`
	RowUpper []float64 `json:"rowUpper"`
	Starts   []int32   `json:"starts"` // of columns
	Indices  []int32   `json:"indices"`
	Values   []float64 `json:"values"`

	entries [][]entry // of rows, until the columns are gathered
	isWhole bool
}

type entry struct {
	col  int
	coef float64
}

const infinite = 1e30

func (f *flat) column(lo, hi, cost float64, whole bool) int {
	f.ColLower = append(f.ColLower, lo)
	f.ColUpper = append(f.ColUpper, hi)
	f.Cost = append(f.Cost, cost)
	w := int32(0)
	if whole {
		w, f.isWhole = 1, true
	}
	f.Whole = append(f.Whole, w)
	return len(f.Cost) - 1
}

func (f *flat) row(lo, hi float64, e ...entry) {
	f.RowLower = append(f.RowLower, lo)
	f.RowUpper = append(f.RowUpper, hi)
	f.entries = append(f.entries, e)
}

// flatten rewrites a model of mixing.build.
func flatten(m *lp.Model, most int) *flat {
	f := &flat{}
	for j := range m.Columns() {
		c := m.Column(lp.Var(j))
		f.column(c.Lo, c.Hi, c.Cost, c.Integer)
	}
	var switches []entry
	for j := range m.Columns() {
		c := m.Column(lp.Var(j))
		for _, b := range c.Breaks {
			s := f.column(0, c.Hi-b.At, b.Rise, false)
			f.row(-b.At, infinite, entry{s, 1}, entry{j, -1})
		}
		if c.NothingOr > 0 || most > 0 {
			b := f.column(0, 1, 0, true)
			f.row(-infinite, 0, entry{j, 1}, entry{b, -c.Hi})
			f.row(0, infinite, entry{j, 1}, entry{b, -c.NothingOr})
			switches = append(switches, entry{b, 1})
		}
	}
	for i := range m.Rows() {
		r := m.Row(lp.RowID(i))
		var e []entry
		for _, t := range r.Terms {
			e = append(e, entry{int(t.Var), t.Coef})
		}
		f.row(math.Max(r.Lo, -infinite), math.Min(r.Hi, infinite), e...)
	}
	if most > 0 {
		f.row(-infinite, float64(most), switches...)
	}
	f.gather()
	return f
}

// gather turns the rows into columns.
func (f *flat) gather() {
	cols := make([][]entry, len(f.Cost))
	for i, row := range f.entries {
		for _, e := range row {
			cols[e.col] = append(cols[e.col], entry{i, e.coef})
		}
	}
	f.Starts = append(f.Starts, 0)
	for _, col := range cols {
		for _, e := range col {
			f.Indices = append(f.Indices, int32(e.col))
			f.Values = append(f.Values, e.coef)
		}
		f.Starts = append(f.Starts, int32(len(f.Values)))
	}
}
