package formulate

import (
	"context"
	"testing"
)

const shortOfFibre = `
species = "gerbil"
stage = "adult"
batch = "1 kg"
most_ingredients = 5
[[line]]
ingredient = "oats/groats"
ceiling = "60 %"
[[line]]
ingredient = "proso-millet/hulled"
[[line]]
ingredient = "sunflower/kernel"
[[line]]
ingredient = "wheat/whole"
`

// Each way out, applied, makes a mix; a little less of it does not.
func TestWaysOut(t *testing.T) {
	p := planOf(t, shortOfFibre)
	a := solved(t, shortOfFibre)
	if a.Status != Impossible {
		t.Fatalf("got %v", a.Status)
	}
	w, err := FindWays(context.Background(), p, Options{})
	if err != nil {
		t.Fatal(err)
	}
	if len(w.Moves) == 0 || len(w.Additions) < 10 {
		t.Fatalf("%d moves, %d additions", len(w.Moves), len(w.Additions))
	}
	for _, m := range w.Moves {
		q, err := p.With(m.Apply(p))
		if err != nil {
			t.Fatalf("%s: %v", m.What, err)
		}
		if a, err := Solve(context.Background(), q, Options{}); err != nil || a.Status != Found {
			t.Errorf("%s, moved to %s, still makes no mix: %v %v", m.What, m.To, a.Status, err)
		}
		if m.limit.kind != edgeLimit {
			continue
		}
		closer := m
		closer.Bound += 0.02
		if m.limit.edge.Upper {
			closer.Bound -= 0.04
		}
		q, err = p.With(closer.Apply(p))
		if err != nil {
			t.Fatal(err)
		}
		if a, err := Solve(context.Background(), q, Options{}); err != nil || a.Status != Impossible {
			t.Errorf("%s need not move to %s: %v will do", m.What, m.To, closer.Bound)
		}
	}
	for _, add := range w.Additions[:5] {
		q, err := p.With(add.Apply(p))
		if err != nil {
			t.Fatal(err)
		}
		a, err := Solve(context.Background(), q, Options{})
		if err != nil || a.Status != Found {
			t.Fatalf("%s does not help: %v %v", add.Form.Ref(), a.Status, err)
		}
	}
}

func TestFewest(t *testing.T) {
	// Two windows that no single food mends: much fibre and much fat.
	text := `
batch = "1 kg"
[[window]]
nutrient = "crude_fibre"
min = 17
max = 18
[[window]]
nutrient = "crude_fat"
min = 20
[[window]]
nutrient = "crude_protein"
min = 19
[[line]]
ingredient = "oats/groats"
ceiling = "30 %"
`
	w, err := FindWays(context.Background(), planOf(t, text), Options{})
	if err != nil {
		t.Fatal(err)
	}
	t.Logf("%d single additions, fewest %+v", len(w.Additions), w.Fewest)
	if len(w.Additions) == 0 && w.Fewest == nil {
		t.Fatal("no way out at all")
	}
}

func BenchmarkAdditions(b *testing.B) {
	p := planOf(b, shortOfFibre)
	b.ReportAllocs()
	for b.Loop() {
		if _, err := FindWays(context.Background(), p, Options{}); err != nil {
			b.Fatal(err)
		}
	}
}
