package lp_test

import (
	"context"
	"fmt"
	"math"

	"firlot/lp"
	"firlot/lp/verify"
)

// Ten steps of three things, at least four steps' worth of the first figure,
// as cheaply as can be.
func Example() {
	m := lp.NewModel()
	a := m.AddColumn(lp.Column{Name: "a", Hi: 10, Cost: 3, Integer: true})
	b := m.AddColumn(lp.Column{Name: "b", Hi: 10, Cost: 1, Integer: true})
	c := m.AddColumn(lp.Column{Name: "c", Hi: 10, Cost: 2, Integer: true, NothingOr: 3})
	m.AddRow(lp.Row{Name: "sum", Lo: 10, Hi: 10, Terms: []lp.Term{{Var: a, Coef: 1}, {Var: b, Coef: 1}, {Var: c, Coef: 1}}})
	m.AddRow(lp.Row{Name: "figure", Lo: 40, Hi: math.Inf(1), Terms: []lp.Term{{Var: a, Coef: 9}, {Var: b, Coef: 2}, {Var: c, Coef: 5}}})
	r, err := lp.Solve(context.Background(), m, lp.Options{})
	if err != nil {
		panic(err)
	}
	fmt.Println(r.Status, r.X, r.Objective, r.Bound)
	// Output: optimal [3 7 0] 16 16
}

// Windows that cannot be met together: the clash names them, with weights
// that add up to a contradiction.
func ExampleResult_clash() {
	m := lp.NewModel()
	x := m.AddColumn(lp.Column{Name: "x", Hi: 10})
	y := m.AddColumn(lp.Column{Name: "y", Hi: 10})
	m.AddRow(lp.Row{Name: "sum", Lo: 10, Hi: 10, Terms: []lp.Term{{Var: x, Coef: 1}, {Var: y, Coef: 1}}})
	m.AddRow(lp.Row{Name: "high", Lo: 41, Hi: math.Inf(1), Terms: []lp.Term{{Var: x, Coef: 4}, {Var: y, Coef: 2}}})
	r, err := lp.Solve(context.Background(), m, lp.Options{})
	if err != nil {
		panic(err)
	}
	fmt.Println(r.Status)
	for _, c := range r.Clash {
		fmt.Println(c.Kind, c.Index, "upper side:", c.Upper)
	}
	// Output:
	// infeasible
	// row 0 upper side: true
	// row 1 upper side: false
	// bound 1 upper side: false
}

// A cost that grows with the distance from 6, on both sides.
func ExampleBreak() {
	m := lp.NewModel()
	x := m.AddColumn(lp.Column{Hi: 10, Cost: -1, Breaks: []lp.Break{{At: 6, Rise: 2}}})
	m.AddRow(lp.Row{Lo: 20, Hi: math.Inf(1), Terms: []lp.Term{{Var: x, Coef: 2.5}}})
	r, err := lp.Solve(context.Background(), m, lp.Options{})
	if err != nil {
		panic(err)
	}
	fmt.Println(r.Status, r.X, r.Objective+6) // distance = cost + 6
	// Output: optimal [8] 2
}

// A certificate is checked by code that shares nothing with the solver.
func ExampleCertificate() {
	m := lp.NewModel()
	x := m.AddColumn(lp.Column{Hi: 9, Cost: -2, Integer: true})
	y := m.AddColumn(lp.Column{Hi: 9, Cost: -3, Integer: true})
	m.AddRow(lp.Row{Lo: math.Inf(-1), Hi: 17.5, Terms: []lp.Term{{Var: x, Coef: 2}, {Var: y, Coef: 5}}})
	r, err := lp.Solve(context.Background(), m, lp.Options{Proof: true})
	if err != nil {
		panic(err)
	}
	report, err := verify.CheckBytes(r.Proof.JSON())
	if err != nil {
		panic(err)
	}
	fmt.Println(report.Status, report.Objective.RatString(), report.Bound.RatString())
	// Output: optimal -16 -16
}

// A session re-solves after a change from where it stood.
func ExampleSession() {
	m := lp.NewModel()
	x := m.AddColumn(lp.Column{Hi: 9, Cost: 1})
	y := m.AddColumn(lp.Column{Hi: 9, Cost: 2})
	need := m.AddRow(lp.Row{Lo: 12, Hi: math.Inf(1), Terms: []lp.Term{{Var: x, Coef: 1}, {Var: y, Coef: 1}}})
	s, err := lp.NewSession(m)
	if err != nil {
		panic(err)
	}
	for _, lo := range []float64{12, 8, 19} {
		if err := s.SetRow(need, lo, math.Inf(1)); err != nil {
			panic(err)
		}
		r, err := s.Solve(context.Background(), lp.Options{})
		if err != nil {
			panic(err)
		}
		fmt.Println(lo, r.Status, r.X)
	}
	// Output:
	// 12 optimal [9 3]
	// 8 optimal [8 0]
	// 19 infeasible []
}
