package lp

import (
	"context"
	"math"
	"math/big"
	"math/rand/v2"
	"testing"
)

// bruteForce enumerates all whole points of a small model in exact
// arithmetic, without any code of the solver but the definition of the rules.
func bruteForce(m *Model) (best *big.Rat, found bool) {
	n := m.Columns()
	x := make([]float64, n)
	var rec func(j int)
	rec = func(j int) {
		if j == n {
			if c, ok := exactCost(m, x); ok && (!found || c.Cmp(best) < 0) {
				best, found = c, true
			}
			return
		}
		c := m.Column(Var(j))
		for v := math.Ceil(c.Lo); v <= c.Hi; v++ {
			x[j] = v
			rec(j + 1)
		}
	}
	rec(0)
	return best, found
}

// exactCost checks a whole point against every rule and gives its cost.
func exactCost(m *Model, x []float64) (*big.Rat, bool) {
	rat := func(v float64) *big.Rat { return new(big.Rat).SetFloat64(v) }
	for j := range x {
		if c := m.Column(Var(j)); c.NothingOr > 0 && x[j] != 0 && x[j] < c.NothingOr {
			return nil, false
		}
	}
	dot := func(ts []Term) *big.Rat {
		s := new(big.Rat)
		for _, t := range ts {
			s.Add(s, new(big.Rat).Mul(rat(t.Coef), rat(x[t.Var])))
		}
		return s
	}
	for _, r := range m.rows {
		s := dot(r.Terms)
		if !math.IsInf(r.Lo, -1) && s.Cmp(rat(r.Lo)) < 0 || !math.IsInf(r.Hi, 1) && s.Cmp(rat(r.Hi)) > 0 {
			return nil, false
		}
	}
	for _, c := range m.counts {
		k := 0
		for _, v := range c.Vars {
			if x[v] != 0 {
				k++
			}
		}
		if k < c.Least || k > c.Most {
			return nil, false
		}
	}
	for _, c := range m.cones {
		t := dot(c.Terms)
		t.Sub(t, rat(c.Lo))
		q := new(big.Rat)
		for _, e := range c.Spread {
			v := new(big.Rat).Mul(rat(e.Coef), rat(x[e.Var]))
			q.Add(q, v.Mul(v, v))
		}
		z := rat(c.Z)
		q.Mul(q, z.Mul(z, z))
		if t.Sign() < 0 || new(big.Rat).Mul(t, t).Cmp(q) < 0 {
			return nil, false
		}
	}
	cost := new(big.Rat)
	for j := range x {
		c := m.Column(Var(j))
		v := new(big.Rat).Mul(rat(c.Cost), rat(x[j]))
		for _, b := range c.Breaks {
			if x[j] > b.At {
				v.Add(v, new(big.Rat).Mul(rat(b.Rise), new(big.Rat).Sub(rat(x[j]), rat(b.At))))
			}
		}
		cost.Add(cost, v)
	}
	return cost, true
}

// smallModel makes a random whole model small enough for bruteForce.
func smallModel(r *rand.Rand) *Model {
	m := NewModel()
	n := 1 + r.IntN(4)
	odd := r.IntN(3) == 0 // decimals that are not exact in binary
	num := func() float64 {
		v := float64(r.IntN(19) - 9)
		if odd {
			v /= 10
		}
		return v
	}
	for j := 0; j < n; j++ {
		c := Column{Lo: float64(-r.IntN(4)), Hi: float64(r.IntN(6)), Cost: num(), Integer: true}
		if r.IntN(2) == 0 {
			c.Lo = 0
		}
		if c.Lo == 0 && r.IntN(3) == 0 {
			c.NothingOr = float64(1 + r.IntN(4))
		}
		if c.Hi-c.Lo >= 2 && r.IntN(2) == 0 {
			c.Breaks = []Break{{At: c.Lo + 1, Rise: 1 + float64(r.IntN(8))}}
			if odd {
				c.Breaks[0].At += 0.3
			}
		}
		m.AddColumn(c)
	}
	for i := r.IntN(4); i > 0; i-- {
		row := Row{Lo: math.Inf(-1), Hi: inf, Terms: randomTerms(r, n, num)}
		a, b := float64(r.IntN(31)-15), float64(r.IntN(31)-15)
		if odd {
			a, b = a/10, b/10
		}
		switch r.IntN(4) {
		case 0:
			row.Lo = a
		case 1:
			row.Hi = a
		case 2:
			row.Lo, row.Hi = math.Min(a, b), math.Max(a, b)
		default:
			row.Lo, row.Hi = a, a
		}
		m.AddRow(row)
	}
	addSmallExtras(r, m, n, num)
	return m
}

func randomTerms(r *rand.Rand, n int, num func() float64) []Term {
	var ts []Term
	for j := 0; j < n; j++ {
		if r.IntN(4) > 0 {
			ts = append(ts, Term{Var(j), num()})
		}
	}
	return ts
}

func addSmallExtras(r *rand.Rand, m *Model, n int, num func() float64) {
	var vs []Var
	for j := 0; j < n; j++ {
		if m.Column(Var(j)).Lo == 0 {
			vs = append(vs, Var(j))
		}
	}
	if len(vs) > 0 && r.IntN(2) == 0 {
		c := Count{Vars: vs, Most: r.IntN(len(vs) + 1)}
		if r.IntN(2) == 0 {
			c.Least = r.IntN(c.Most + 1)
		}
		m.AddCount(c)
	}
	if r.IntN(3) == 0 {
		m.AddCone(Cone{Lo: num(), Terms: randomTerms(r, n, num), Z: float64(r.IntN(5)) / 4, Spread: randomTerms(r, n, num)})
	}
}

// G1: on every small whole model the solver and plain enumeration agree, on
// whether there is a point and, to the last bit of the objective, on the best.
func TestAgainstBruteForce(t *testing.T) {
	seeds := uint64(20000)
	if testing.Short() {
		seeds = 2000
	}
	for seed := range seeds {
		againstBruteForce(t, seed)
	}
}

func againstBruteForce(t *testing.T, seed uint64) {
	m := smallModel(rand.New(rand.NewPCG(seed, 1)))
	if err := m.Check(); err != nil {
		t.Fatalf("seed %d: %v", seed, err)
	}
	best, found := bruteForce(m)
	r, err := Solve(context.Background(), m, Options{})
	if err != nil {
		t.Fatalf("seed %d: %v", seed, err)
	}
	if !found {
		if r.Status != Infeasible {
			t.Fatalf("seed %d: status %v, want infeasible", seed, r.Status)
		}
		return
	}
	want, _ := best.Float64()
	if r.Status != Optimal || r.Objective != want {
		t.Fatalf("seed %d: %v %v, want optimal %v", seed, r.Status, r.Objective, want)
	}
	if _, ok := exactCost(m, r.X); !ok {
		t.Fatalf("seed %d: the point breaks a rule: %v", seed, r.X)
	}
}
