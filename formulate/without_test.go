package formulate

import (
	"context"
	"testing"

	"firlot/catalog"
)

// Every replacement makes a mix inside the windows without the missing
// ingredient, the ranking is by grams moved, and naming one gives that one.
func TestWithout(t *testing.T) {
	text := without(example(t, "gerbil-adult.toml"), "sureness")
	p := planOf(t, text)
	line := -1
	for i, l := range p.Lines {
		if l.Form.Ref() == "buckwheat/in-hull" {
			line = i
		}
	}
	if line < 0 {
		t.Fatal("the example has lost its buckwheat")
	}
	list, err := Without(context.Background(), p, line, nil, Options{})
	if err != nil {
		t.Fatal(err)
	}
	if len(list) < 20 {
		t.Fatalf("only %d replacements", len(list))
	}
	for i, s := range list {
		if s.Answer.Status != Found {
			t.Fatalf("%v: %v", s.Form, s.Answer.Status)
		}
		for j, l := range s.Answer.Plan.Lines {
			if l.Form.Ref() == "buckwheat/in-hull" && s.Answer.Steps[j] > 0 {
				t.Fatal("the missing ingredient is in the mix")
			}
		}
		for _, c := range s.Answer.Checks {
			if c.Verdict != "inside" {
				t.Fatalf("%v: %v is %v", s.Form, c.Window.Nutrient, c.Verdict)
			}
		}
		if i > 0 && s.alike() == list[i-1].alike() && s.Moved < list[i-1].Moved {
			t.Fatalf("number %d moves less than the one before", i)
		}
	}
	use := []*catalog.Form{p.Catalogue.Form("buckwheat/groats")}
	one, err := Without(context.Background(), p, line, use, Options{})
	if err != nil {
		t.Fatal(err)
	}
	if len(one) != 1 || one[0].Form != use[0] || !one[0].Likeness.SameIngredient {
		t.Fatalf("got %+v", one)
	}
}

func BenchmarkWithout(b *testing.B) {
	p := planOf(b, without(example(b, "gerbil-adult.toml"), "sureness"))
	b.ReportAllocs()
	for b.Loop() {
		if _, err := Without(context.Background(), p, 3, nil, Options{}); err != nil {
			b.Fatal(err)
		}
	}
}
