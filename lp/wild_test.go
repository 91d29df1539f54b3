package lp

import (
	"context"
	"math"
	"math/rand/v2"
	"testing"
	"time"

	"firlot/lp/verify"
)

// Figures of all sizes, columns without bounds, whole and switched columns,
// cones: whatever comes out carries a certificate that holds. With figures from
// 1e-55 to 1e55 in one model the solver may end in trouble, never in a false
// claim.
func TestWildFigures(t *testing.T) {
	seen := map[Status]int{}
	for seed := uint64(0); seed < 1500; seed++ {
		r := rand.New(rand.NewPCG(seed, 51))
		span := []int{2, 8, 30, 55}[r.IntN(4)]
		num := func() float64 {
			if r.IntN(4) == 0 {
				return float64(r.IntN(9) - 4)
			}
			return (r.Float64() - 0.5) * math.Pow(10, float64(r.IntN(2*span+1)-span))
		}
		m := NewModel()
		n := 1 + r.IntN(5)
		for j := 0; j < n; j++ {
			m.AddColumn(wildColumn(r, num))
		}
		for i := r.IntN(5); i > 0; i-- {
			row := Row{Lo: math.Inf(-1), Hi: inf, Terms: randomTerms(r, n, num)}
			a, b := num(), num()
			if r.IntN(2) == 0 {
				row.Lo = math.Min(a, b)
			}
			if r.IntN(2) == 0 {
				row.Hi = math.Max(a, b)
			}
			m.AddRow(row)
		}
		if r.IntN(4) == 0 {
			m.AddCone(Cone{Lo: num(), Terms: randomTerms(r, n, num), Z: math.Abs(num()), Spread: randomTerms(r, n, num)})
		}
		ctx, cancel := context.WithTimeout(bg, 2*time.Second)
		res, err := Solve(ctx, m, Options{Proof: true, Nodes: 200})
		cancel()
		if err != nil {
			t.Fatalf("seed %d: %v", seed, err)
		}
		seen[res.Status]++
		if res.Status == Unbounded || res.Status == Trouble {
			continue
		}
		if rep, err := verify.CheckBytes(res.Proof.JSON()); err != nil || rep.Status != res.Status.String() {
			t.Fatalf("seed %d: %v: %v", seed, res.Status, err)
		}
	}
	t.Log(seen)
	if seen[Optimal] < 400 || seen[Infeasible] < 200 || seen[Trouble] > 200 {
		t.Fatalf("the outcomes are lopsided: %v", seen)
	}
}

func wildColumn(r *rand.Rand, num func() float64) Column {
	c := Column{Lo: math.Inf(-1), Hi: inf, Cost: num(), Integer: r.IntN(3) == 0}
	a, b := num(), num()
	switch r.IntN(4) {
	case 0:
		c.Lo = math.Min(a, b)
	case 1:
		c.Lo, c.Hi = math.Min(a, b), math.Max(a, b)
	case 2:
		c.Lo, c.Hi = 0, math.Abs(a)
		if r.IntN(2) == 0 {
			c.NothingOr = math.Abs(b)
		}
	}
	if at := num(); at > c.Lo && at < c.Hi && r.IntN(2) == 0 {
		c.Breaks = []Break{{At: at, Rise: math.Abs(num()) + 1e-6}}
	}
	return c
}
