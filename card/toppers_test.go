package card_test

import (
	"context"
	"testing"

	"firlot/card"
	"firlot/formulate"
	"firlot/mix"
	"firlot/nutrient"
)

// withBase is a card of three stages with a base and toppers.
func withBase(t *testing.T, names ...string) *card.Card {
	t.Helper()
	var plans []*mix.Plan
	for _, n := range names {
		plans = append(plans, planOf(t, n))
	}
	b, err := formulate.FindBase(context.Background(), plans, formulate.BaseOptions{})
	if err != nil {
		t.Fatal(err)
	}
	o := publisher
	if o.Base = card.BaseOf(b, ""); o.Base == nil {
		t.Fatal("no base was found")
	}
	c, err := card.Make(context.Background(), plans, o)
	if err != nil {
		t.Fatal(err)
	}
	return c
}

// No certificate speaks of a base and its toppers: whether they hold is worked
// out, so that one that was changed is found out.
func TestAChangedBaseDoesNotHold(t *testing.T) {
	text := card.Encode(withBase(t, "gerbil-growing", "gerbil-adult", "gerbil-senior"))
	for name, x := range map[string]struct {
		alter func(*card.Base)
		holds bool
	}{
		"as it was made": {func(*card.Base) {}, true},
		"the base moved": {func(b *card.Base) {
			b.Amounts[0].Mass -= 200 * nutrient.Gram
			b.Amounts[3].Mass += 200 * nutrient.Gram
		}, false},
		"a topper ten times as large": {func(b *card.Base) { b.Toppers[0].Amounts[0].Mass *= 10 }, false},
		"a topper left out":           {func(b *card.Base) { b.Toppers[0].Amounts = nil }, false},
		"for another mass of base":    {func(b *card.Base) { b.Toppers[0].Base /= 2 }, false},
		"another's food":              {func(b *card.Base) { b.Toppers[0].Amounts = b.Toppers[2].Amounts }, false},
	} {
		c, err := card.Decode(text)
		if err != nil {
			t.Fatal(err)
		}
		x.alter(c.Base)
		if c, err = card.Decode(card.Encode(c)); err != nil {
			t.Errorf("%s: %v", name, err)
			continue
		}
		var plans []*mix.Plan
		for i := range c.Mixes {
			p, err := c.Open(i)
			if err != nil {
				t.Fatal(err)
			}
			plans = append(plans, p)
		}
		if got := c.BaseHolds(plans); got != x.holds {
			t.Errorf("%s: holds is %v", name, got)
		}
	}
}
