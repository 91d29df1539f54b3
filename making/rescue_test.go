package making_test

import (
	"context"
	"strings"
	"testing"

	"firlot/analysis"
	"firlot/formulate"
	"firlot/making"
	"firlot/nutrient"
)

// A mix with an amount that is fixed in grams, 20 g of a kilogram: its bowls
// of 333 g cannot hold a third of it in whole grams, and a larger batch holds
// it as it is. A rescue keeps to it in both, and in a later rescue too.
func TestFixedAmount(t *testing.T) {
	_, _, text := adult(t)
	fixed := strings.Replace(text, "base = \"20 g\"\nceiling = \"5 %\"", "floor = \"20 g\"\nceiling = \"20 g\"", 1)
	if fixed == text {
		t.Fatal("the example has changed")
	}
	p := planOf(t, fixed)
	a, err := formulate.Solve(context.Background(), p, formulate.Options{})
	if err != nil || a.Steps == nil {
		t.Fatal(err, a)
	}
	rescue := func(s *making.Start, log []making.Event, slip making.Slip) *making.Rescued {
		t.Helper()
		r, err := making.Rescue(context.Background(), p, state(t, s, log), slip, making.RescueOptions{})
		if err != nil || r.Plan == nil {
			t.Fatal(err, r)
		}
		for _, c := range r.After {
			if c.Verdict != analysis.Inside {
				t.Errorf("%v in %v: %v", r.Outcome, r.Batch, c)
			}
		}
		if len(r.Mended.LetGo) > 0 || r.Outcome == formulate.NearestMix {
			t.Errorf("%v of %v lets go %v", r.Outcome, r.Batch, r.Mended.LetGo)
		}
		return r
	}
	linseed := func(r *making.Rescued) nutrient.Mass {
		for _, c := range r.Changes {
			if c.Ref == "linseed/whole" {
				return c.Now
			}
		}
		return 0
	}
	s := begin(t, p, a.Amounts(), making.Setup{Bowls: 3})
	log := []making.Event{{Key: "a", Kind: making.Pour, Ref: "oats/groats", Bowl: 2, Mass: 90 * g}}
	r := rescue(s, log, making.Slip{Kind: making.TooMuch, Ref: "oats/groats", Bowl: 2})
	if m := linseed(r); r.Outcome != formulate.SameBatch || m < 6*g || m > 7*g {
		t.Errorf("a bowl of three: %v, with %v of linseed", r.Outcome, m)
	}
	s = begin(t, p, a.Amounts(), making.Setup{})
	log = []making.Event{{Key: "a", Kind: making.Pour, Ref: "oats/groats", Mass: 400 * g}}
	r = rescue(s, log, making.Slip{Kind: making.TooMuch, Ref: "oats/groats"})
	if m := linseed(r); r.Outcome != formulate.LargerBatch || m != 20*g {
		t.Fatalf("the first rescue: %v, with %v of linseed", r.Outcome, m)
	}
	log = append(log, making.Event{Key: "b", Kind: making.Replan, Plan: r.Plan}, making.Event{Key: "c", Kind: making.Pour, Ref: "nettle/leaf-dried", Mass: 110 * g})
	r = rescue(s, log, making.Slip{Kind: making.TooMuch, Ref: "nettle/leaf-dried"})
	if m := linseed(r); m != 20*g {
		t.Errorf("the second rescue: %v, with %v of linseed", r.Outcome, m)
	}
}

// A trace on the fine scale is 50 mg too much, and what comes after it is
// weighed in grams: nothing has to be poured on for that.
func TestTraceOffTheStep(t *testing.T) {
	p, amounts, _ := adult(t)
	for i, l := range p.Lines {
		if l.Form.Ref() != "pumpkin-seed/kernel" {
			amounts[i] *= 10
		}
	}
	s := begin(t, p, amounts, making.Setup{Scale: making.Scale{Step: g, Fine: &making.Fine{Step: 10, Ceiling: 100 * g}}})
	var log []making.Event
	for _, l := range s.Lines {
		m := l.Mass
		if l.Ref == "pumpkin-seed/kernel" {
			m += 50
		}
		log = append(log, making.Event{Key: l.Ref, Kind: making.Pour, Ref: l.Ref, Mass: m})
		if l.Ref == "pumpkin-seed/kernel" {
			break
		}
	}
	r := rescued(t, s, log, making.Slip{Kind: making.TooMuch, Ref: "pumpkin-seed/kernel"}, making.RescueOptions{})
	if r.Outcome != formulate.SameBatch || r.Batch != s.Batch+50 || r.Mended.Moved != 50 {
		t.Errorf("%v, %v, moved %v", r.Outcome, r.Batch, r.Mended.Moved)
	}
	for _, c := range r.Changes {
		if c.Ref == "pumpkin-seed/kernel" && c.More > 0 {
			t.Errorf("%v more of what was too much", c.More)
		}
	}
}
