package formulate

import (
	"context"
	"fmt"
	"math"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"firlot/analysis"
	"firlot/mix"
	"firlot/nutrient"
)

// drawMix draws a document small enough that every mix can be looked at.
func drawMix(t *rapid.T) string {
	var b strings.Builder
	n := rapid.IntRange(2, 4).Draw(t, "lines")
	steps := rapid.IntRange(4, 12).Draw(t, "steps")
	prefer := rapid.SampledFrom([]string{"near", "cheap", "varied"}).Draw(t, "prefer")
	fmt.Fprintf(&b, "batch='%d g'\nprefer='%s'\n", steps, prefer)
	if rapid.Bool().Draw(t, "counted") {
		fmt.Fprintf(&b, "most_ingredients=%d\n", rapid.IntRange(1, n).Draw(t, "most"))
	}
	lo := rapid.IntRange(5, 30).Draw(t, "lo")
	fmt.Fprintf(&b, "[[window]]\nnutrient='crude_protein'\nmin=%d\nmax=%d\n", lo, lo+rapid.IntRange(0, 8).Draw(t, "width"))
	basis := rapid.SampledFrom([]string{"as fed", "dry matter"}).Draw(t, "basis")
	fmt.Fprintf(&b, "[[window]]\nnutrient='crude_fat'\nmax=%d\nbasis='%s'\n", rapid.IntRange(2, 30).Draw(t, "fat"), basis)
	if rapid.Bool().Draw(t, "group") {
		fmt.Fprintf(&b, "[[group]]\nname='g'\nof=['f0','f1']\nceiling='%d g'\n", rapid.IntRange(0, steps).Draw(t, "group ceiling"))
	}
	for i := range n {
		fmt.Fprintf(&b, "[[line]]\ningredient='f%d'\nprice=%d\nbase='%d g'\n", i, rapid.IntRange(0, 9).Draw(t, "price"), rapid.IntRange(0, 9).Draw(t, "base")+1)
		if rapid.IntRange(0, 2).Draw(t, "limited") == 0 {
			fmt.Fprintf(&b, "ceiling='%d g'\n", rapid.IntRange(1, steps).Draw(t, "ceiling"))
		}
		if rapid.IntRange(0, 2).Draw(t, "nothing or") == 0 {
			fmt.Fprintf(&b, "nothing_or='%d g'\n", rapid.IntRange(1, 4).Draw(t, "at least"))
		}
	}
	for i := range n {
		fmt.Fprintf(&b, "[[own]]\nid='f%d'\nname='food %d'\nkind='laboratory'\nfigures.crude_protein=%d\nfigures.crude_fat=%d\nfigures.moisture=%d\n", i, i,
			rapid.IntRange(0, 50).Draw(t, "protein"), rapid.IntRange(0, 30).Draw(t, "fat"), rapid.IntRange(5, 14).Draw(t, "moisture"))
	}
	return b.String()
}

// allowed is the plan's meaning, written down once more in plain terms.
func allowed(p *mix.Plan, x []int) bool {
	used := 0
	for i, n := range x {
		l := p.Lines[i]
		if n < l.Floor || n > l.Ceiling || n > 0 && n < l.NothingOr {
			return false
		}
		if n > 0 {
			used++
		}
	}
	if m := p.Document.MostIngredients; m > 0 && used > m {
		return false
	}
	for _, g := range p.Groups {
		sum := 0
		for _, i := range g.Lines {
			sum += x[i]
		}
		if sum < g.Floor || sum > g.Ceiling {
			return false
		}
	}
	a := &Answer{Plan: p, Steps: x}
	for _, t := range p.Targets {
		if analysis.CheckWindow(a.Portions(), t.Window).Verdict != analysis.Inside {
			return false
		}
	}
	return true
}

func worth(p *mix.Plan, g *goal, base, x []int) float64 {
	v := 0.0
	for i, n := range x {
		switch g.prefer {
		case mix.Near:
			v += math.Abs(float64(n-base[i])) / 2
		case mix.Cheap:
			v += *p.Document.Lines[i].Price * float64(n) / 1000
		case mix.Varied:
			v = max(v, float64(n))
		}
	}
	return v
}

// everyMix calls f with every way to share the steps out.
func everyMix(x []int, i, left int, f func([]int)) {
	if i == len(x)-1 {
		x[i] = left
		f(x)
		return
	}
	for n := 0; n <= left; n++ {
		x[i] = n
		everyMix(x, i+1, left-n, f)
	}
}

// Whatever is found is allowed, adds up and is the best of all mixes; whatever
// is impossible has no mix, and its clash is smallest.
func TestAgainstEveryMix(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		text := drawMix(t)
		p := planFor(t, text)
		a, err := Solve(context.Background(), p, Options{Gap: -1})
		if err != nil {
			t.Fatalf("%v\n%s", err, text)
		}
		g, err := newGoal(p)
		if err != nil {
			t.Fatal(err)
		}
		base, best := baseSteps(p), math.Inf(1)
		everyMix(make([]int, len(p.Lines)), 0, p.Steps, func(x []int) {
			if allowed(p, x) {
				best = min(best, worth(p, g, base, x))
			}
		})
		switch {
		case math.IsInf(best, 1):
			if a.Status != Impossible || len(a.Clash) == 0 {
				t.Fatalf("no mix exists; got %v %v\n%s", a.Status, a.Clash, text)
			}
		case a.Status != Found:
			t.Fatalf("a mix worth %v exists; got %v\n%s", best, a.Status, text)
		case !allowed(p, a.Steps):
			t.Fatalf("the answer %v is not allowed\n%s", a.Steps, text)
		case math.Abs(worth(p, g, base, a.Steps)-best) > 1e-9 || math.Abs(a.Objective-best) > 1e-6:
			t.Fatalf("the answer %v is worth %v (says %v), the best is %v\n%s", a.Steps, worth(p, g, base, a.Steps), a.Objective, best, text)
		}
	})
}

func planFor(t *rapid.T, text string) *mix.Plan {
	p, err := resolveText(text)
	if err != nil {
		t.Skip(err)
	}
	return p
}

// A surer mix is never nearer to the base, and a steady one is the surest.
func TestSurenessCosts(t *testing.T) {
	text := without(example(t, "gerbil-adult.toml"), "sureness", "prefer")
	last := -1.0
	for _, sure := range []string{"", "sureness='60 %'\n", "sureness='75 %'\n", "sureness='90 %'\n"} {
		a := solved(t, "prefer='near'\n"+sure+text)
		if a.Status != Found {
			t.Fatalf("%q: %v %v", sure, a.Status, a.Notes)
		}
		if a.Joint < a.Plan.Document.Sureness {
			t.Errorf("%q: joint chance %v", sure, a.Joint)
		}
		if a.Objective < last {
			t.Errorf("%q moves %v g, less than the less sure %v", sure, a.Objective, last)
		}
		last = a.Objective
	}
	steady := solved(t, "prefer='steady'\n"+text)
	if steady.Status != Found || steady.Gap < 0 || steady.Gap > 0.1 {
		t.Fatalf("steady: %v, gap %v", steady.Status, steady.Gap)
	}
	for _, c := range steady.Checks {
		if c.Chance < 0.9 {
			t.Errorf("steady: %v holds with chance %v only", c.Window.Nutrient, c.Chance)
		}
	}
}

// The same document gives the same answer, line by line.
func TestSameAnswer(t *testing.T) {
	text := example(t, "gerbil-adult.toml")
	first := solved(t, text)
	for range 3 {
		again := solved(t, text)
		for i := range first.Steps {
			if first.Steps[i] != again.Steps[i] {
				t.Fatalf("line %d: %d, then %d", i, first.Steps[i], again.Steps[i])
			}
		}
	}
	var sum nutrient.Mass
	for _, m := range first.Amounts() {
		sum += m
	}
	if sum != first.Plan.Batch() {
		t.Fatalf("amounts add up to %v", sum)
	}
}

// A context that has ended stops the work and says so.
func TestStopped(t *testing.T) {
	ctx, cancel := context.WithCancel(context.Background())
	cancel()
	a, err := Solve(ctx, planOf(t, example(t, "gerbil-adult.toml")), Options{})
	if err != nil {
		t.Fatal(err)
	}
	if a.Status != Stopped && a.Status != Found {
		t.Fatalf("got %v", a.Status)
	}
}
