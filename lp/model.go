package lp

import (
	"fmt"
	"math"
)

// Var is the index of a column, in the order of AddColumn.
type Var int

// RowID is the index of a row, in the order of AddRow.
type RowID int

// Break is a kink of a convex piecewise-linear cost: above At the slope is
// higher by Rise.
type Break struct {
	At   float64 // where the slope changes
	Rise float64 // by how much, > 0
}

// Column describes one variable x with Lo ≤ x ≤ Hi.
//
// The cost of the column is
//
//	cost(x) = Cost·x + Σ Rise_k · max(0, x − At_k)
//
// so without breaks it is Cost·x. With breaks the anchor is the same line:
// the piece below the first break runs through the origin (extended if the
// break is negative).
type Column struct {
	Name   string
	Lo, Hi float64 // math.Inf(-1) and math.Inf(1) allowed
	Cost   float64 // slope below the first break
	Breaks []Break // At strictly increasing inside (Lo, Hi), Rise > 0
	// Integer asks for a whole number.
	Integer bool
	// NothingOr > 0 means that x is 0 or at least this much. It needs
	// Lo == 0 and a finite Hi.
	NothingOr float64
}

// Term is a coefficient on a column.
type Term struct {
	Var  Var
	Coef float64
}

// Row is Lo ≤ Σ Coef·x ≤ Hi. A column may stand at most once in a row.
type Row struct {
	Name   string
	Lo, Hi float64
	Terms  []Term
}

// Count says that the number of columns among Vars with x ≠ 0 lies in
// [Least, Most]. The columns need Lo == 0 and a finite Hi. With Least > 0
// each of them must be whole or have NothingOr > 0: "more than nothing" has
// no least value otherwise, and the best recipe need not exist.
type Count struct {
	Name        string
	Vars        []Var
	Least, Most int
}

// Cone is a sureness row:
//
//	Σ Coef·x (Terms) − Z·√(Σ (Coef·x)² (Spread)) ≥ Lo,  Z ≥ 0.
type Cone struct {
	Name   string
	Lo     float64
	Terms  []Term
	Z      float64
	Spread []Term
}

// Model is a minimisation problem. The zero value is an empty model.
// A Model may be solved many times and from several goroutines at once, as
// long as nobody adds to it meanwhile.
type Model struct {
	cols   []Column
	rows   []Row
	counts []Count
	cones  []Cone
}

// NewModel returns an empty model.
func NewModel() *Model { return &Model{} }

// AddColumn adds a variable and returns its index. The slices inside c are
// copied.
func (m *Model) AddColumn(c Column) Var {
	c.Breaks = append([]Break(nil), c.Breaks...)
	m.cols = append(m.cols, c)
	return Var(len(m.cols) - 1)
}

// AddRow adds a linear row and returns its index.
func (m *Model) AddRow(r Row) RowID {
	r.Terms = append([]Term(nil), r.Terms...)
	m.rows = append(m.rows, r)
	return RowID(len(m.rows) - 1)
}

// AddCount adds a limit on the number of non-zero columns.
func (m *Model) AddCount(c Count) int {
	c.Vars = append([]Var(nil), c.Vars...)
	m.counts = append(m.counts, c)
	return len(m.counts) - 1
}

// AddCone adds a sureness row.
func (m *Model) AddCone(c Cone) int {
	c.Terms = append([]Term(nil), c.Terms...)
	c.Spread = append([]Term(nil), c.Spread...)
	m.cones = append(m.cones, c)
	return len(m.cones) - 1
}

// Columns, Rows, Counts and Cones give the sizes of the model.
func (m *Model) Columns() int { return len(m.cols) }

// Rows gives the number of linear rows.
func (m *Model) Rows() int { return len(m.rows) }

// Counts gives the number of count limits.
func (m *Model) Counts() int { return len(m.counts) }

// Cones gives the number of sureness rows.
func (m *Model) Cones() int { return len(m.cones) }

// Column returns column v (the slices inside belong to the model).
func (m *Model) Column(v Var) Column { return m.cols[v] }

// Row returns row r (the slices inside belong to the model).
func (m *Model) Row(r RowID) Row { return m.rows[r] }

// Limits on what a model may hold. They keep every product of a figure, a
// multiplier and an amount far from overflow and underflow: with
// |figure| in {0} ∪ [2⁻²⁰⁰, 2²⁰⁰] and |multiplier| in {0} ∪ [2⁻³⁰⁰, 2³⁰⁰]
// a triple product stays inside [2⁻⁷⁰⁰, 2⁷⁰⁰], well within float64.
const (
	maxFigure  = 0x1p200
	minFigure  = 0x1p-200
	maxColumns = 1 << 16
	maxRows    = 1 << 16
)

// ModelError says what is wrong with a model and where.
type ModelError struct {
	Kind  string // "column", "row", "count", "cone" or "model"
	Index int
	Name  string
	What  string
}

// Error implements error.
func (e *ModelError) Error() string {
	if e.Kind == "model" {
		return "lp: " + e.What
	}
	if e.Name != "" {
		return fmt.Sprintf("lp: %s %d (%q): %s", e.Kind, e.Index, e.Name, e.What)
	}
	return fmt.Sprintf("lp: %s %d: %s", e.Kind, e.Index, e.What)
}

// Check reports the first fault of the model as a *ModelError, or nil.
// A row or column whose Lo lies above its Hi is a fault of the model; windows
// that clash only together are not (Solve reports those as Infeasible).
func (m *Model) Check() error {
	if len(m.cols) > maxColumns || len(m.rows)+len(m.counts)+len(m.cones) > maxRows {
		return &ModelError{Kind: "model", What: "too many columns or rows"}
	}
	seen := make([]int, len(m.cols))
	stamp := 0
	for i := range m.cols {
		if what := checkColumn(&m.cols[i]); what != "" {
			return &ModelError{"column", i, m.cols[i].Name, what}
		}
	}
	for i := range m.rows {
		r := &m.rows[i]
		stamp++
		what := checkBounds(r.Lo, r.Hi)
		if what == "" {
			what = checkTerms(r.Terms, seen, stamp)
		}
		if what != "" {
			return &ModelError{"row", i, r.Name, what}
		}
	}
	for i := range m.counts {
		stamp++
		if what := m.checkCount(&m.counts[i], seen, stamp); what != "" {
			return &ModelError{"count", i, m.counts[i].Name, what}
		}
	}
	for i := range m.cones {
		stamp += 2
		if what := checkCone(&m.cones[i], seen, stamp); what != "" {
			return &ModelError{"cone", i, m.cones[i].Name, what}
		}
	}
	return nil
}

// okFigure says whether v is finite and of usable size.
func okFigure(v float64) bool {
	a := math.Abs(v)
	return a == 0 || (a >= minFigure && a <= maxFigure)
}

func checkBounds(lo, hi float64) string {
	switch {
	case math.IsNaN(lo) || math.IsNaN(hi):
		return "a bound is not a number"
	case math.IsInf(lo, 1) || math.IsInf(hi, -1):
		return "a bound is infinite on the wrong side"
	case lo > hi:
		return fmt.Sprintf("the lower bound %v is above the upper bound %v", lo, hi)
	case !math.IsInf(lo, -1) && !okFigure(lo), !math.IsInf(hi, 1) && !okFigure(hi):
		return "a bound is too large or too small in size"
	}
	return ""
}

func checkColumn(c *Column) string {
	if what := checkBounds(c.Lo, c.Hi); what != "" {
		return what
	}
	if !okFigure(c.Cost) {
		return "the cost is not a usable number"
	}
	last := c.Lo
	for i, b := range c.Breaks {
		switch {
		case !okFigure(b.At) || !okFigure(b.Rise):
			return "a break is not a usable number"
		case b.Rise <= 0:
			return "a break must raise the slope (the cost must be convex)"
		case b.At <= last && (i > 0 || b.At <= c.Lo):
			return "breaks must increase strictly inside the bounds"
		case b.At >= c.Hi:
			return "a break must lie below the upper bound"
		}
		last = b.At
	}
	if c.NothingOr != 0 {
		switch {
		case !okFigure(c.NothingOr) || c.NothingOr < 0:
			return "nothing-or-at-least must be a positive number"
		case c.Lo != 0 || math.IsInf(c.Hi, 1):
			return "nothing-or-at-least needs bounds from 0 to a finite number"
		}
	}
	return ""
}

func checkTerms(ts []Term, seen []int, stamp int) string {
	for _, t := range ts {
		switch {
		case t.Var < 0 || int(t.Var) >= len(seen):
			return fmt.Sprintf("there is no column %d", t.Var)
		case !okFigure(t.Coef):
			return fmt.Sprintf("the coefficient on column %d is not a usable number", t.Var)
		case seen[t.Var] == stamp:
			return fmt.Sprintf("column %d stands twice", t.Var)
		}
		seen[t.Var] = stamp
	}
	return ""
}

func (m *Model) checkCount(c *Count, seen []int, stamp int) string {
	if c.Least < 0 || c.Most < 0 || c.Least > c.Most {
		return "needs 0 ≤ Least ≤ Most"
	}
	for _, v := range c.Vars {
		if v < 0 || int(v) >= len(m.cols) {
			return fmt.Sprintf("there is no column %d", v)
		}
		if seen[v] == stamp {
			return fmt.Sprintf("column %d stands twice", v)
		}
		seen[v] = stamp
		col := &m.cols[v]
		if col.Lo != 0 || math.IsInf(col.Hi, 1) {
			return fmt.Sprintf("column %d needs bounds from 0 to a finite number", v)
		}
		if c.Least > 0 && !col.Integer && col.NothingOr == 0 {
			return fmt.Sprintf("column %d must be whole or nothing-or-at-least to be counted from below", v)
		}
	}
	return ""
}

func checkCone(c *Cone, seen []int, stamp int) string {
	switch {
	case math.IsNaN(c.Lo) || math.IsInf(c.Lo, 0) || !okFigure(c.Lo):
		return "the lower bound is not a usable number"
	case !okFigure(c.Z) || c.Z < 0:
		return "z must be a number that is not negative"
	}
	if what := checkTerms(c.Terms, seen, stamp-1); what != "" {
		return what
	}
	return checkTerms(c.Spread, seen, stamp)
}
