package formulate

import (
	"context"
	"testing"

	"firlot/catalog"
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

// Where no single ingredient will do, the fewest that do are found: with all
// of them there is a mix, with any one of them missing there is none.
func TestFewest(t *testing.T) {
	text := `
batch = "1 kg"
[[window]]
nutrient = "crude_fibre"
min = 10
[[window]]
nutrient = "crude_protein"
min = 22
max = 26
[[window]]
nutrient = "crude_fat"
max = 8
[[window]]
nutrient = "calcium"
min = 0.4
max = 0.7
[[line]]
ingredient = "oats/groats"
[[line]]
ingredient = "rice/white"
floor = "30 %"
`
	p := planOf(t, text)
	w, err := FindWays(context.Background(), p, Options{})
	if err != nil {
		t.Fatal(err)
	}
	if len(w.Additions) > 0 || w.Fewest == nil || len(w.Fewest.Forms) < 2 {
		t.Fatalf("%d single additions, fewest %+v", len(w.Additions), w.Fewest)
	}
	all := w.Fewest.Forms
	if a, err := Solve(context.Background(), p.Joined(all...), Options{}); err != nil || a.Status != Found {
		t.Fatalf("with %d more: %v %v", len(all), a.Status, err)
	}
	for i := range all {
		some := append(append([]*catalog.Form(nil), all[:i]...), all[i+1:]...)
		if a, err := Solve(context.Background(), p.Joined(some...), Options{}); err != nil || a.Status != Impossible {
			t.Errorf("without %s: %v %v", all[i].Ref(), a.Status, err)
		}
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
