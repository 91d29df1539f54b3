package main

import (
	"context"
	"encoding/json"
	"testing"

	"firlot/formulate"
	"firlot/making"
	"firlot/nutrient"
	"firlot/report"
)

// makingDocuments are rescues and a finished making as the pages give them to
// programs; no command prints them.
func makingDocuments(t *testing.T) map[string][]any {
	t.Helper()
	_, p, err := load("../../examples/gerbil-adult.toml")
	if err != nil {
		t.Fatal(err)
	}
	a, err := formulate.Solve(context.Background(), p, formulate.Options{})
	if err != nil || a.Steps == nil {
		t.Fatal(err, a)
	}
	start, err := making.Begin(p, making.Setup{Amounts: a.Amounts()})
	if err != nil {
		t.Fatal(err)
	}
	out := map[string][]any{}
	add := func(name string, v any) {
		text, err := json.Marshal(v)
		if err != nil {
			t.Fatal(err)
		}
		out[name] = append(out[name], decoded(t, text))
	}
	const g = nutrient.Gram
	for _, c := range []struct {
		kind making.SlipKind
		ref  string
		m    nutrient.Mass
		want formulate.Outcome
	}{
		{making.TooMuch, "oats/groats", 231 * g, formulate.SameBatch},
		{making.WrongJar, "poppy/whole", 30 * g, formulate.LargerBatch},
		{making.WrongJar, "sesame/whole", 200 * g, formulate.NearestMix},
		{making.WrongJar, "avocado", 5 * g, formulate.Discard},
	} {
		st, err := making.Of(start, []making.Event{{Key: "a", Kind: making.Pour, Ref: c.ref, Mass: c.m}})
		if err != nil {
			t.Fatal(err)
		}
		o := making.RescueOptions{Options: formulate.Options{Proof: true}, Shelf: p.Catalogue.Forms()}
		if c.want == formulate.NearestMix {
			o.MostBatch = start.Batch
		}
		r, err := making.Rescue(context.Background(), p, st, making.Slip{Kind: c.kind, Ref: c.ref}, o)
		if err != nil {
			t.Fatal(err)
		}
		if r.Outcome != c.want {
			t.Errorf("%v of %s: %v, want %v", c.m, c.ref, r.Outcome, c.want)
		}
		add("rescue", report.RescueOf(r))
	}
	add("making", finishedMaking(t, start))
	return out
}

// finishedMaking pours a start to its end and reports it.
func finishedMaking(t *testing.T, start *making.Start) *report.Making {
	t.Helper()
	_, p, err := load("../../examples/gerbil-adult.toml")
	if err != nil {
		t.Fatal(err)
	}
	var log []making.Event
	for _, l := range start.Lines {
		m := l.Mass
		if l.Ref == "wheat/whole" {
			m += nutrient.Gram
		}
		log = append(log, making.Event{Key: l.Ref, Kind: making.Pour, Ref: l.Ref, Mass: m})
	}
	st, err := making.Of(start, log)
	if err != nil {
		t.Fatal(err)
	}
	f, err := making.Finish(p, st)
	if err != nil {
		t.Fatal(err)
	}
	k, err := making.Keeps(f.Portions, "2026-11-25", nil)
	if err != nil {
		t.Fatal(err)
	}
	code, err := making.BatchCode("2026-11-25", 1)
	if err != nil {
		t.Fatal(err)
	}
	return report.MakingOf(f, code, "2026-11-25", k)
}
