package lp

import (
	"context"
	"math"
	"testing"
)

var (
	inf = math.Inf(1)
	bg  = context.Background()
)

func mustSolve(t testing.TB, m *Model, o Options) *Result {
	t.Helper()
	r, err := Solve(context.Background(), m, o)
	if err != nil {
		t.Fatal(err)
	}
	return r
}

func wantOptimal(t testing.TB, r *Result, obj, tol float64) {
	t.Helper()
	if r.Status != Optimal {
		t.Fatalf("status %v, want optimal (%+v)", r.Status, r)
	}
	if math.Abs(r.Objective-obj) > tol {
		t.Fatalf("objective %v, want %v", r.Objective, obj)
	}
	if r.Bound > r.Objective {
		t.Fatalf("bound %v above objective %v", r.Bound, r.Objective)
	}
}

// row is a short way to write dense terms.
func terms(cs ...float64) []Term {
	var ts []Term
	for i, c := range cs {
		if c != 0 {
			ts = append(ts, Term{Var(i), c})
		}
	}
	return ts
}

// The diet program with four vitamins of the AMPL book (Fourer, Gay and
// Kernighan, chapter 2): optimum 88.20 with 46.6667 packages of MCH.
func TestVitaminDiet(t *testing.T) {
	wantOptimal(t, mustSolve(t, dietModel(false), Options{}), 88.2, 1e-9)
}

func dietModel(whole bool) *Model {
	cost := []float64{3.19, 2.59, 2.29, 2.89, 1.89, 1.99, 1.99, 2.49}
	amt := [][4]float64{{60, 20, 10, 15}, {8, 0, 20, 20}, {8, 10, 15, 10}, {40, 40, 35, 10},
		{15, 35, 15, 15}, {70, 30, 15, 15}, {25, 50, 25, 15}, {60, 20, 15, 10}}
	m := NewModel()
	for _, c := range cost {
		m.AddColumn(Column{Hi: 100, Cost: c, Integer: whole})
	}
	for k := 0; k < 4; k++ {
		var ts []Term
		for j := range amt {
			ts = append(ts, Term{Var(j), amt[j][k]})
		}
		m.AddRow(Row{Lo: 700, Hi: 10000, Terms: ts})
	}
	return m
}

// Problem 73 of Hock and Schittkowski (1981), from van de Panne and Popp
// (1963): cattle feed under a chance constraint.
func TestCattleFeed(t *testing.T) {
	m := NewModel()
	for _, c := range []float64{24.55, 26.75, 39, 40.5} {
		m.AddColumn(Column{Hi: inf, Cost: c})
	}
	m.AddRow(Row{Lo: 5, Hi: inf, Terms: terms(2.3, 5.6, 11.1, 1.3)})
	m.AddRow(Row{Lo: 1, Hi: 1, Terms: terms(1, 1, 1, 1)})
	m.AddCone(Cone{Lo: 21, Terms: terms(12, 11.9, 41.8, 52.1), Z: 1.645,
		Spread: terms(math.Sqrt(0.28), math.Sqrt(0.19), math.Sqrt(20.5), math.Sqrt(0.62))})
	r := mustSolve(t, m, Options{})
	wantOptimal(t, r, 29.894378, 1e-5)
	for i, w := range []float64{0.635522, 0, 0.312702, 0.0517766} {
		if math.Abs(r.X[i]-w) > 1e-4 {
			t.Errorf("x%d = %v, want %v", i+1, r.X[i], w)
		}
	}
}
