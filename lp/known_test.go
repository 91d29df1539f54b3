package lp

import (
	"math"
	"math/rand/v2"
	"testing"
)

// Beale's example (1955), on which the textbook rule cycles: optimum −1/20.
func TestBealeCycling(t *testing.T) {
	m := NewModel()
	for _, c := range []float64{-0.75, 150, -0.02, 6} {
		m.AddColumn(Column{Hi: inf, Cost: c})
	}
	m.AddRow(Row{Lo: math.Inf(-1), Hi: 0, Terms: terms(0.25, -60, -1.0/25, 9)})
	m.AddRow(Row{Lo: math.Inf(-1), Hi: 0, Terms: terms(0.5, -90, -1.0/50, 3)})
	m.AddRow(Row{Lo: math.Inf(-1), Hi: 1, Terms: terms(0, 0, 1, 0)})
	wantOptimal(t, mustSolve(t, m, Options{}), -0.05, 1e-12)
}

// Kuhn's example of cycling (in Balinski and Tucker 1969): optimum −2.
func TestKuhnCycling(t *testing.T) {
	m := NewModel()
	for _, c := range []float64{-2, -3, 1, 12} {
		m.AddColumn(Column{Hi: inf, Cost: c})
	}
	m.AddRow(Row{Lo: math.Inf(-1), Hi: 0, Terms: terms(-2, -9, 1, 9)})
	m.AddRow(Row{Lo: math.Inf(-1), Hi: 0, Terms: terms(1.0/3, 1, -1.0/3, -2)})
	m.AddRow(Row{Lo: math.Inf(-1), Hi: 2, Terms: terms(2, 3, -1, -12)})
	wantOptimal(t, mustSolve(t, m, Options{}), -2, 1e-9)
}

// Klee and Minty (1972), in the form max Σ 2^(n−j) x_j with
// 2 Σ_{i<j} 2^(j−i) x_i + x_j ≤ 5^j: the optimum is 5^n, exactly.
func TestKleeMinty(t *testing.T) {
	for n := 1; n <= 12; n++ {
		m := NewModel()
		for j := 1; j <= n; j++ {
			m.AddColumn(Column{Hi: inf, Cost: -math.Pow(2, float64(n-j))})
		}
		for j := 1; j <= n; j++ {
			r := Row{Lo: math.Inf(-1), Hi: math.Pow(5, float64(j))}
			for i := 1; i < j; i++ {
				r.Terms = append(r.Terms, Term{Var(i - 1), math.Pow(2, float64(j-i+1))})
			}
			r.Terms = append(r.Terms, Term{Var(j - 1), 1})
			m.AddRow(r)
		}
		r := mustSolve(t, m, Options{})
		wantOptimal(t, r, -math.Pow(5, float64(n)), 0)
	}
}

// A transport problem with known optimum: Dantzig (1963), chapter 3.3, canned
// goods from two canneries to three warehouses: 153.675 thousand dollars in
// the version of the GAMS library (trnsport).
func TestTransport(t *testing.T) {
	dist := [2][3]float64{{2.5, 1.7, 1.8}, {2.5, 1.8, 1.4}}
	m := NewModel()
	for i := range dist {
		for j := range dist[i] {
			m.AddColumn(Column{Hi: inf, Cost: 90 * dist[i][j] / 1000})
		}
	}
	for i, cap := range []float64{350, 600} {
		r := Row{Lo: math.Inf(-1), Hi: cap}
		for j := 0; j < 3; j++ {
			r.Terms = append(r.Terms, Term{Var(3*i + j), 1})
		}
		m.AddRow(r)
	}
	for j, need := range []float64{325, 300, 275} {
		m.AddRow(Row{Lo: need, Hi: inf, Terms: []Term{{Var(j), 1}, {Var(3 + j), 1}}})
	}
	wantOptimal(t, mustSolve(t, m, Options{}), 153.675, 1e-9)
}

// The knapsack of Martello and Toth (1990), example 2.1: n = 7, capacity 50,
// optimum 107.
func TestKnapsack(t *testing.T) {
	profit := []float64{70, 20, 39, 37, 7, 5, 10}
	weight := []float64{31, 10, 20, 19, 4, 3, 6}
	m := NewModel()
	r := Row{Lo: math.Inf(-1), Hi: 50}
	for j := range profit {
		v := m.AddColumn(Column{Hi: 1, Cost: -profit[j], Integer: true})
		r.Terms = append(r.Terms, Term{v, weight[j]})
	}
	m.AddRow(r)
	wantOptimal(t, mustSolve(t, m, Options{}), -107, 0)
}

// Knapsacks against dynamic programming.
func TestKnapsackDP(t *testing.T) {
	for seed := uint64(0); seed < 60; seed++ {
		r := rand.New(rand.NewPCG(seed, 3))
		n, room := 12, 100
		best := make([]int, room+1)
		m := NewModel()
		row := Row{Lo: math.Inf(-1), Hi: float64(room)}
		for j := 0; j < n; j++ {
			w, p := 5+r.IntN(40), 1+r.IntN(50)
			v := m.AddColumn(Column{Hi: 1, Cost: float64(-p), Integer: true})
			row.Terms = append(row.Terms, Term{v, float64(w)})
			for c := room; c >= w; c-- {
				best[c] = max(best[c], best[c-w]+p)
			}
		}
		m.AddRow(row)
		wantOptimal(t, mustSolve(t, m, Options{}), float64(-best[room]), 0)
	}
}

// Assignment problems against all permutations; the relaxation is whole.
func TestAssignment(t *testing.T) {
	for seed := uint64(0); seed < 40; seed++ {
		r := rand.New(rand.NewPCG(seed, 6))
		n := 3 + r.IntN(4)
		cost := make([][]float64, n)
		m := NewModel()
		for i := range cost {
			for j := 0; j < n; j++ {
				cost[i] = append(cost[i], float64(r.IntN(50)))
				m.AddColumn(Column{Hi: 1, Cost: cost[i][j]})
			}
		}
		for i := 0; i < n; i++ {
			var a, b []Term
			for j := 0; j < n; j++ {
				a = append(a, Term{Var(i*n + j), 1})
				b = append(b, Term{Var(j*n + i), 1})
			}
			m.AddRow(Row{Lo: 1, Hi: 1, Terms: a})
			m.AddRow(Row{Lo: 1, Hi: 1, Terms: b})
		}
		best := inf
		var try func(i int, used uint, sum float64)
		try = func(i int, used uint, sum float64) {
			if i == n {
				best = math.Min(best, sum)
				return
			}
			for j := 0; j < n; j++ {
				if used>>j&1 == 0 {
					try(i+1, used|1<<j, sum+cost[i][j])
				}
			}
		}
		try(0, 0, 0)
		wantOptimal(t, mustSolve(t, m, Options{}), best, 0)
	}
}

// Infeasible by one unit in the last place, and feasible without it.
func TestByAHair(t *testing.T) {
	for _, up := range []bool{false, true} {
		m := NewModel()
		x := m.AddColumn(Column{Hi: inf, Cost: 1})
		y := m.AddColumn(Column{Hi: inf, Cost: 1})
		m.AddRow(Row{Lo: 1, Hi: 1, Terms: []Term{{x, 1}, {y, 1}}})
		need := 3.0
		if up {
			need = math.Nextafter(3, 4)
		}
		m.AddRow(Row{Lo: need, Hi: inf, Terms: []Term{{x, 3}, {y, 2}}})
		r := mustSolve(t, m, Options{})
		if up && r.Status != Infeasible || !up && r.Status != Optimal {
			t.Errorf("up %v: %v", up, r.Status)
		}
		if up && len(r.Clash) < 2 {
			t.Errorf("clash %v", r.Clash)
		}
	}
}

func TestUnboundedAndFree(t *testing.T) {
	m := NewModel()
	x := m.AddColumn(Column{Lo: math.Inf(-1), Hi: inf, Cost: 1})
	y := m.AddColumn(Column{Lo: math.Inf(-1), Hi: inf, Cost: -2})
	m.AddRow(Row{Lo: -3, Hi: 5, Terms: []Term{{x, 1}, {y, -1}}})
	if r := mustSolve(t, m, Options{}); r.Status != Unbounded {
		t.Fatalf("%+v", r)
	}
	m.AddRow(Row{Lo: -7, Hi: 11, Terms: []Term{{x, 1}, {y, 1}}})
	// min x − 2y at x − y = −3, x + y = 11: x = 4, y = 7.
	wantOptimal(t, mustSolve(t, m, Options{}), -10, 0)
	m.AddRow(Row{Lo: 20, Hi: inf, Terms: []Term{{y, 1}}})
	if r := mustSolve(t, m, Options{}); r.Status != Infeasible || !r.Whole {
		t.Fatalf("%+v", r)
	}
}

// Negative bounds, ranges, and whole columns over negative numbers.
func TestNegativeWhole(t *testing.T) {
	m := NewModel()
	x := m.AddColumn(Column{Lo: -7.5, Hi: -1.5, Cost: -1, Integer: true})
	y := m.AddColumn(Column{Lo: -3, Hi: 9, Cost: 3, Breaks: []Break{{-1, 2}, {4, 1}}, Integer: true})
	m.AddRow(Row{Lo: -5.5, Hi: 0, Terms: []Term{{x, 2}, {y, 1}}})
	// x = −2 needs y ≥ −1.5, so y = −1 at cost 2 − 3; smaller x need y ≥ 1.
	wantOptimal(t, mustSolve(t, m, Options{}), -1, 0)
}

// A model without columns, and one without rows.
func TestEmptyModels(t *testing.T) {
	wantOptimal(t, mustSolve(t, NewModel(), Options{}), 0, 0)
	m := NewModel()
	m.AddColumn(Column{Lo: 2, Hi: 5, Cost: 3, Integer: true})
	wantOptimal(t, mustSolve(t, m, Options{}), 6, 0)
	m.AddRow(Row{Lo: 1, Hi: 2})
	if r := mustSolve(t, m, Options{}); r.Status != Infeasible {
		t.Fatalf("%+v", r)
	}
	w := NewModel()
	w.AddColumn(Column{Lo: 0.2, Hi: 0.8, Integer: true})
	if r := mustSolve(t, w, Options{Proof: true}); r.Status != Infeasible || len(r.Clash) != 2 || r.Proof == nil {
		t.Fatalf("%+v", r)
	}
}

// G5: the multipliers of an infeasible continuous model add up to a
// contradiction: Σ w·(side of the rule) > 0 while the left sides cancel.
func TestClashIsAProof(t *testing.T) {
	seen := 0
	for seed := uint64(0); seed < 600; seed++ {
		m := randomProgram(rand.New(rand.NewPCG(seed, 8)), 5, 5, 0)
		r := mustSolve(t, m, Options{})
		if r.Status != Infeasible {
			continue
		}
		seen++
		if !r.Whole {
			t.Fatalf("seed %d: not one proof", seed)
		}
		left := make([]float64, m.Columns())
		right, size := 0.0, 0.0
		for _, c := range r.Clash {
			w := c.Multiplier
			if w <= 0 {
				t.Fatalf("seed %d: %+v", seed, c)
			}
			lo, hi := 0.0, 0.0
			if c.Upper {
				w = -w
			}
			switch c.Kind {
			case ClashRow:
				lo, hi = m.rows[c.Index].Lo, m.rows[c.Index].Hi
				for _, e := range m.rows[c.Index].Terms {
					left[e.Var] += w * e.Coef
				}
			case ClashBound:
				lo, hi = m.cols[c.Index].Lo, m.cols[c.Index].Hi
				left[c.Index] += w
			}
			if c.Upper {
				lo = hi
			}
			right += w * lo
			size += math.Abs(w * lo)
		}
		for j, v := range left {
			if math.Abs(v) > 1e-9*(1+size) {
				t.Fatalf("seed %d: column %d does not cancel: %v", seed, j, v)
			}
		}
		if right <= 0 {
			t.Fatalf("seed %d: no contradiction: %v", seed, right)
		}
	}
	if seen < 100 {
		t.Fatalf("only %d infeasible models", seen)
	}
}

// G6: cost and multipliers of a continuous model fit together: the objective
// is what the multipliers prove (strong duality), recomputed here in float64.
func TestDualsProveTheOptimum(t *testing.T) {
	for seed := uint64(0); seed < 400; seed++ {
		m := randomProgram(rand.New(rand.NewPCG(seed, 12)), 6, 5, 0)
		r := mustSolve(t, m, Options{})
		if r.Status != Optimal {
			continue
		}
		bound := 0.0
		for i, y := range r.Duals {
			if y > 0 {
				bound += y * m.rows[i].Lo
			} else if y < 0 {
				bound += y * m.rows[i].Hi
			}
		}
		for j := range m.cols {
			c := &m.cols[j]
			d := c.Cost
			for i, y := range r.Duals {
				for _, e := range m.rows[i].Terms {
					if int(e.Var) == j {
						d -= y * e.Coef
					}
				}
			}
			best := inf
			at := []float64{c.Lo, c.Hi}
			for _, b := range c.Breaks {
				at = append(at, b.At)
			}
			for _, x := range at {
				v, _ := pieceAt(d, c.Breaks, x)
				best = math.Min(best, v)
			}
			bound += best
		}
		if math.Abs(bound-r.Objective) > 1e-9*(1+math.Abs(r.Objective)) {
			t.Fatalf("seed %d: the multipliers prove %v, the objective is %v", seed, bound, r.Objective)
		}
	}
}

func TestCheckFaults(t *testing.T) {
	col := Column{Hi: 1}
	bad := map[string]func(m *Model){
		"bounds":     func(m *Model) { m.AddColumn(Column{Lo: 2, Hi: 1}) },
		"nan":        func(m *Model) { m.AddColumn(Column{Lo: math.NaN(), Hi: 1}) },
		"cost":       func(m *Model) { m.AddColumn(Column{Hi: 1, Cost: inf}) },
		"concave":    func(m *Model) { m.AddColumn(Column{Hi: 9, Breaks: []Break{{1, -1}}}) },
		"order":      func(m *Model) { m.AddColumn(Column{Hi: 9, Breaks: []Break{{2, 1}, {1, 1}}}) },
		"outside":    func(m *Model) { m.AddColumn(Column{Hi: 9, Breaks: []Break{{9, 1}}}) },
		"semi":       func(m *Model) { m.AddColumn(Column{Hi: inf, NothingOr: 1}) },
		"semi lo":    func(m *Model) { m.AddColumn(Column{Lo: 1, Hi: 4, NothingOr: 1}) },
		"row var":    func(m *Model) { m.AddRow(Row{Terms: []Term{{7, 1}}}) },
		"row twice":  func(m *Model) { m.AddRow(Row{Terms: []Term{{0, 1}, {0, 1}}}) },
		"row bounds": func(m *Model) { m.AddRow(Row{Lo: 1, Hi: 0}) },
		"row coef":   func(m *Model) { m.AddRow(Row{Terms: []Term{{0, math.NaN()}}}) },
		"count":      func(m *Model) { m.AddCount(Count{Vars: []Var{0}, Least: 2, Most: 1}) },
		"count open": func(m *Model) { m.AddCount(Count{Vars: []Var{0}, Least: 1, Most: 1}) },
		"cone z":     func(m *Model) { m.AddCone(Cone{Z: -1}) },
		"cone lo":    func(m *Model) { m.AddCone(Cone{Lo: inf}) },
		"huge":       func(m *Model) { m.AddColumn(Column{Hi: 1e300}) },
	}
	for name, f := range bad {
		m := NewModel()
		m.AddColumn(col)
		f(m)
		err := m.Check()
		if me, ok := err.(*ModelError); !ok || me.What == "" {
			t.Errorf("%s: %v", name, err)
		}
	}
}
