package lp

import (
	"math"
	"math/rand/v2"
	"testing"

	"firlot/lp/verify"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"
)

// drawModel draws a small whole model piece by piece, so that rapid can make
// a failing one smaller.
func drawModel(t *rapid.T) *Model {
	m := NewModel()
	n := rapid.IntRange(1, 3).Draw(t, "columns")
	unit := rapid.SampledFrom([]float64{1, 0.5, 0.1, 1e-6, 1e6}).Draw(t, "unit")
	num := func(label string, lim int) float64 {
		return float64(rapid.IntRange(-lim, lim).Draw(t, label)) * unit
	}
	for j := 0; j < n; j++ {
		c := Column{Lo: float64(rapid.IntRange(-3, 0).Draw(t, "lo")), Integer: true, Cost: num("cost", 9)}
		c.Hi = c.Lo + float64(rapid.IntRange(0, 5).Draw(t, "range"))
		if c.Lo == 0 && rapid.Bool().Draw(t, "switched") {
			c.NothingOr = float64(rapid.IntRange(1, 3).Draw(t, "least"))
		}
		if c.Hi-c.Lo >= 2 && rapid.Bool().Draw(t, "broken") {
			c.Breaks = []Break{{At: c.Lo + 1, Rise: float64(rapid.IntRange(1, 6).Draw(t, "rise")) * unit}}
		}
		m.AddColumn(c)
	}
	for i := rapid.IntRange(0, 3).Draw(t, "rows"); i > 0; i-- {
		r := Row{Lo: math.Inf(-1), Hi: inf}
		for j := 0; j < n; j++ {
			if v := num("coef", 7); v != 0 {
				r.Terms = append(r.Terms, Term{Var(j), v})
			}
		}
		side := num("side", 14)
		if rapid.Bool().Draw(t, "below") {
			r.Hi = side
		}
		if rapid.Bool().Draw(t, "above") {
			r.Lo = math.Min(side, r.Hi) - float64(rapid.IntRange(0, 4).Draw(t, "slack"))*unit
		}
		m.AddRow(r)
	}
	return m
}

// G1 and G3 together, on models that rapid can shrink.
func TestRapidBruteForce(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) { checkAgainstTruth(t, drawModel(t)) })
}

// fataler is what rapid and fuzz targets have in common.
type fataler interface {
	Fatalf(format string, args ...any)
	Fatal(args ...any)
	Helper()
}

func checkAgainstTruth(t fataler, m *Model) {
	t.Helper()
	best, found := bruteForce(m)
	r, err := Solve(bg, m, Options{Proof: true})
	if err != nil {
		t.Fatal(err)
	}
	if r.Proof == nil {
		t.Fatalf("%v without a proof", r.Status)
	}
	rep, err := verify.CheckBytes(r.Proof.JSON())
	if err != nil {
		t.Fatalf("%v: %v", r.Status, err)
	}
	switch {
	case !found && rep.Status != "infeasible":
		t.Fatalf("%v, but there is no point", r.Status)
	case found && (rep.Status != "optimal" || rep.Objective.Cmp(best) != 0 || rep.Bound.Cmp(best) != 0):
		t.Fatalf("%v %v bound %v, best %v", r.Status, rep.Objective, rep.Bound, best)
	}
}

// A start that is best already changes nothing but the effort; one that
// breaks a rule is ignored.
func TestRapidStart(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		m := drawModel(t)
		a, err := Solve(bg, m, Options{})
		if err != nil {
			t.Fatal(err)
		}
		start := make([]float64, m.Columns())
		for j := range start {
			start[j] = float64(rapid.IntRange(-4, 6).Draw(t, "start"))
		}
		if a.X != nil && rapid.Bool().Draw(t, "best") {
			start = a.X
		}
		b, err := Solve(bg, m, Options{Start: start})
		if err != nil {
			t.Fatal(err)
		}
		if diff := cmp.Diff([]any{a.Status, a.Objective, a.Bound}, []any{b.Status, b.Objective, b.Bound}); diff != "" {
			t.Fatal(diff)
		}
	})
}

// G1 and G3 under the fuzzer: the seed picks the model.
func FuzzBruteForce(f *testing.F) {
	for s := uint64(0); s < 8; s++ {
		f.Add(s, s*7)
	}
	f.Fuzz(func(t *testing.T, a, b uint64) {
		checkAgainstTruth(t, smallModel(rand.New(rand.NewPCG(a, b))))
	})
}
