package making_test

import (
	"context"
	"strings"
	"testing"

	"firlot/formulate"
	"firlot/making"
	"firlot/nutrient"
)

// Whatever is never fed makes a bowl one to be thrown away, however little of
// it there is, and the answer names it and says why.
func TestEveryNeverFedFoodIsDiscarded(t *testing.T) {
	p, amounts, _ := adult(t)
	s := begin(t, p, amounts, making.Setup{})
	if len(p.Catalogue.Unsafe) < 50 {
		t.Fatalf("%d foods that are never fed", len(p.Catalogue.Unsafe))
	}
	for _, u := range p.Catalogue.Unsafe {
		log := []making.Event{{Key: "a", Kind: making.Pour, Ref: u.ID, Mass: 1}}
		r := rescued(t, s, log, making.Slip{Kind: making.WrongJar, Ref: u.ID}, making.RescueOptions{})
		if r.Outcome != formulate.Discard || r.Mended != nil || r.Plan != nil || len(r.Never) != 1 || r.Never[0].ID != u.ID {
			t.Errorf("%s: %v, %v", u.ID, r.Outcome, r.Never)
			continue
		}
		if len(r.Why) != 1 || !strings.Contains(r.Why[0], u.Names.First("en")) || !strings.Contains(r.Why[0], u.Reason) {
			t.Errorf("%s: %q", u.ID, r.Why)
		}
	}
	log := []making.Event{{Key: "a", Kind: making.Pour, Ref: "apple/fresh", Mass: 5 * g}, {Key: "b", Kind: making.Pour, Ref: "onion", Mass: g}}
	r := rescued(t, s, log, making.Slip{Kind: making.WrongJar, Ref: "apple/fresh"}, making.RescueOptions{})
	if len(r.Why) != 2 || len(r.Never) != 1 || !strings.Contains(r.Why[0], "never fed") || !strings.Contains(r.Why[1], "too moist") {
		t.Errorf("%q, %v", r.Why, r.Never)
	}
}

// What went into one bowl spoils that bowl: a slip in another is mended.
func TestANeverFedFoodSpoilsItsOwnBowl(t *testing.T) {
	p, amounts, _ := adult(t)
	for i := range amounts {
		amounts[i] *= 2
	}
	s := begin(t, p, amounts, making.Setup{Bowls: 2})
	log := []making.Event{
		{Key: "a", Kind: making.Pour, Ref: "oats/groats", Bowl: 1, Mass: 230 * g},
		{Key: "b", Kind: making.Pour, Ref: "avocado", Bowl: 2, Mass: 5 * g},
	}
	if r := rescued(t, s, log, making.Slip{Kind: making.WrongJar, Ref: "avocado", Bowl: 2}, making.RescueOptions{}); r.Outcome != formulate.Discard || r.Bowl != 2 {
		t.Errorf("bowl 2: %v in bowl %d", r.Outcome, r.Bowl)
	}
	r := rescued(t, s, log, making.Slip{Kind: making.TooMuch, Ref: "oats/groats", Bowl: 1}, making.RescueOptions{})
	if r.Outcome != formulate.SameBatch || r.Plan == nil || r.Plan.Bowl != 1 {
		t.Fatalf("bowl 1: %v, %v", r.Outcome, r.Why)
	}
	for _, l := range r.Plan.Lines {
		if l.Ref == "avocado" {
			t.Error("avocado is planned for bowl 1")
		}
	}
}

// Where a limit alone rules a bowl out, the largest batch that was looked at is
// told: ten times the planned one, or what was asked for.
func TestTheLargestBatchLookedAt(t *testing.T) {
	p, amounts, _ := adult(t)
	s := begin(t, p, amounts, making.Setup{})
	log := []making.Event{{Key: "a", Kind: making.Pour, Ref: "poppy/whole", Mass: 400 * g}}
	slip := making.Slip{Kind: making.WrongJar, Ref: "poppy/whole"}
	for _, c := range []struct{ most, want int64 }{{0, 10 * int64(s.Batch)}, {3 * int64(s.Batch), 3 * int64(s.Batch)}} {
		r, err := making.Rescue(context.Background(), p, state(t, s, log), slip, making.RescueOptions{MostBatch: nutrient.Mass(c.most)})
		if err != nil {
			t.Fatal(err)
		}
		if r.Outcome != formulate.Discard || r.Mended == nil || int64(r.Mended.MostBatch) != c.want || len(r.Never) != 0 {
			t.Errorf("asked for %d mg: %v, %+v", c.most, r.Outcome, r.Mended)
		}
	}
}
