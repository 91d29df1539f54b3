package formulate

import (
	"context"
	"strings"
	"testing"

	"firlot/mix"
	"firlot/nutrient"
)

// lookedAt is a context that is at its end once it has been looked at so often.
type lookedAt struct {
	context.Context
	looks, at int
}

func (c *lookedAt) Err() error {
	if c.looks++; c.looks > c.at {
		return context.DeadlineExceeded
	}
	return nil
}

func endsAfter(looks int) *lookedAt { return &lookedAt{context.Background(), 0, looks} }

// never is more looks than any search takes.
const never = 1 << 40

// moments is at how many of the looks, about, a search is ended.
func moments() int {
	if testing.Short() {
		return 3
	}
	return 14
}

// When the time is up while a surer mix is looked for, the one that is inside
// on the means stands. How far that search gets is told by a mix without
// sureness, which is found with the same looks at the context.
func TestLateRescueKeepsWhatItHas(t *testing.T) {
	sure := planOf(t, example(t, "gerbil-adult.toml"))
	means := planOf(t, without(example(t, "gerbil-adult.toml"), "sureness"))
	a, err := Solve(context.Background(), sure, Options{})
	if err != nil || a.Steps == nil {
		t.Fatal(err, a)
	}
	for _, oats := range []nutrient.Mass{312, 358, 624} { // the same batch is inside; less sure; only a larger one is
		b := bowlOf(sure, a.Amounts())
		b.Poured[0], b.Poured[1], b.Finished[1] = oats*nutrient.Gram, a.Amounts()[1], true
		c := endsAfter(never)
		on, err := Around(c, means, b, Options{})
		if err != nil || on.Amounts == nil {
			t.Fatal(err, on)
		}
		all := endsAfter(never)
		full, err := Around(all, sure, b, Options{})
		if err != nil || !full.Sure || all.looks <= c.looks {
			t.Fatalf("%v: %v of %v in %d looks, on the means in %d", err, full.Outcome, full.Batch, all.looks, c.looks)
		}
		for looks := c.looks; looks < all.looks; looks += 1 + (all.looks-c.looks)/moments() {
			m, err := Around(endsAfter(looks), sure, b, Options{})
			if err != nil || m.Amounts == nil || m.Joint == 0 {
				t.Fatalf("%d g of oats, after %d of %d looks: %v %v", oats, looks, all.looks, err, m.Outcome)
			}
			if !m.Sure && !strings.Contains(strings.Join(m.Notes, "; "), "surer") {
				t.Errorf("%d g of oats, after %d of %d looks: %v, and nothing says that the time was up: %v", oats, looks, all.looks, m.Outcome, m.Notes)
			}
		}
	}
}

// So it is with a base, and with what is proved impossible.
func TestLateBaseKeepsWhatItHas(t *testing.T) {
	names := []string{"gerbil-adult.toml", "gerbil-senior.toml"}
	var means []*mix.Plan
	for _, n := range names {
		means = append(means, planOf(t, without(example(t, n), "sureness")))
	}
	c, all := endsAfter(never), endsAfter(never)
	if m, err := FindBase(c, means, BaseOptions{}); err != nil || m.Status != Found {
		t.Fatal(err, m)
	}
	if m, err := FindBase(all, stagePlans(t, names...), BaseOptions{}); err != nil || m.Status != Found || all.looks <= c.looks {
		t.Fatal(err, m)
	}
	for looks := c.looks; looks < all.looks; looks += 1 + (all.looks-c.looks)/moments() {
		m, err := FindBase(endsAfter(looks), stagePlans(t, names...), BaseOptions{})
		if err != nil || m.Status != Found {
			t.Fatalf("after %d of %d looks: %v %v", looks, all.looks, err, m.Status)
		}
		checkBase(t, m)
	}
	clash := stagePlans(t, "gerbil-adult.toml", "impossible-fibre.toml")
	all = endsAfter(never)
	if m, err := FindBase(all, clash, BaseOptions{}); err != nil || m.Status != Impossible {
		t.Fatal(err, m)
	}
	m, err := FindBase(endsAfter(all.looks-1), clash, BaseOptions{})
	if err != nil || m.Status != Impossible || len(m.Clash) == 0 || len(m.Notes) == 0 {
		t.Errorf("%v %+v", err, m)
	}
}
