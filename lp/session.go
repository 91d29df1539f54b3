package lp

import (
	"context"
	"math"
)

// Session solves a model again and again while bounds and costs change. It
// keeps the tableau of the last solve, so that a small change costs a few
// pivots instead of a start from nothing. Claims are checked afresh each
// time: they are as sound as those of [Solve].
//
// A session is not for use by several goroutines at once. Its answers depend
// on nothing but the model and the calls made so far; where there are several
// best points, a session may end at another one than Solve.
type Session struct {
	m *Model
	p *prob
	s *simplex
}

// NewSession copies a model and readies it for repeated solves.
func NewSession(m *Model) (*Session, error) {
	if err := m.Check(); err != nil {
		return nil, err
	}
	c := &Model{
		cols:   append([]Column(nil), m.cols...),
		rows:   append([]Row(nil), m.rows...),
		counts: m.counts[:len(m.counts):len(m.counts)],
		cones:  m.cones[:len(m.cones):len(m.cones)],
	}
	return &Session{m: c}, nil
}

// SetRow replaces the bounds of a row.
func (s *Session) SetRow(r RowID, lo, hi float64) error {
	if r < 0 || int(r) >= len(s.m.rows) {
		return &ModelError{Kind: "row", Index: int(r), What: "there is no such row"}
	}
	row := &s.m.rows[r]
	if what := checkBounds(lo, hi); what != "" {
		return &ModelError{"row", int(r), row.Name, what}
	}
	row.Lo, row.Hi = lo, hi
	if s.p != nil {
		s.p.rowLo[r], s.p.rowHi[r] = lo, hi
	}
	return nil
}

// SetColumn replaces the bounds of a column. What Check asks of a column and
// of the counts it stands in must still hold.
func (s *Session) SetColumn(v Var, lo, hi float64) error {
	if v < 0 || int(v) >= len(s.m.cols) {
		return &ModelError{Kind: "column", Index: int(v), What: "there is no such column"}
	}
	c := s.m.cols[v]
	c.Lo, c.Hi = lo, hi
	if what := checkColumn(&c); what != "" {
		return &ModelError{"column", int(v), c.Name, what}
	}
	if s.counted(v) && (lo != 0 || math.IsInf(hi, 1)) {
		return &ModelError{"column", int(v), c.Name, "a counted column needs bounds from 0 to a finite number"}
	}
	s.m.cols[v] = c
	s.forget()
	return nil
}

func (s *Session) counted(v Var) bool {
	for i := range s.m.counts {
		for _, w := range s.m.counts[i].Vars {
			if w == v {
				return true
			}
		}
	}
	return false
}

// SetCost replaces the slope of a column below its first break.
func (s *Session) SetCost(v Var, cost float64) error {
	if v < 0 || int(v) >= len(s.m.cols) {
		return &ModelError{Kind: "column", Index: int(v), What: "there is no such column"}
	}
	if !okFigure(cost) {
		return &ModelError{"column", int(v), s.m.cols[v].Name, "the cost is not a usable number"}
	}
	s.m.cols[v].Cost = cost
	return nil
}

// forget prepares for changed column bounds: the working form is brought up
// to date, and tangents, whose rounding leans on the bounds, are dropped with
// the tableau that holds them.
func (s *Session) forget() {
	if s.p == nil {
		return
	}
	if len(s.p.cuts) > 0 {
		s.p, s.s = nil, nil
		return
	}
	s.p.empty = -1
	for j := range s.m.cols {
		s.p.setColumn(j)
	}
}

// Solve solves the model as it stands.
func (s *Session) Solve(ctx context.Context, o Options) (*Result, error) {
	if err := o.check(len(s.m.cols)); err != nil {
		return nil, err
	}
	if s.p == nil {
		s.p = newProb(s.m)
	}
	t := newTree(ctx, s.p, o)
	if t.s = s.s; t.s != nil {
		t.s.pivots = 0
	}
	r := t.solve()
	s.s = t.s
	return r, nil
}
