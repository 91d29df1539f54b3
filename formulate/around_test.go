package formulate

import (
	"context"
	"fmt"
	"math"
	"reflect"
	"testing"

	"pgregory.net/rapid"

	"firlot/analysis"
	"firlot/lp/verify"
	"firlot/mix"
	"firlot/nutrient"
)

// bowlOf is a bowl of a plan's amounts with nothing in it yet.
func bowlOf(p *mix.Plan, amounts []nutrient.Mass) Bowl {
	n := len(amounts)
	b := Bowl{Near: amounts, Poured: make([]nutrient.Mass, n), Most: make([]nutrient.Mass, n), Finished: make([]bool, n)}
	for i, a := range amounts {
		b.Batch += a
		b.Most[i] = -1
	}
	return b
}

func around(t testing.TB, p *mix.Plan, b Bowl, o Options) *Mended {
	t.Helper()
	m, err := Around(context.Background(), p, b, o)
	if err != nil {
		t.Fatal(err)
	}
	return m
}

// Pearson's square run backwards: so much of the rich feed is in the bowl, and
// the square's shares say how large the batch becomes. The squares are those
// of TestPearsonSquaresOutside, published worked examples; the slip is a fifth
// more of the rich feed than they ask for.
func TestPearsonWithSomethingInTheBowl(t *testing.T) {
	for _, c := range []struct{ low, high, target float64 }{
		{8.9, 44.4, 18}, {8, 54, 26}, {10.8, 12.25, 11}, {8.95, 40, 9.8}, {10.8, 39, 15}, {12, 41, 14},
	} {
		text := fmt.Sprintf("batch='1 kg'\nstep='100 mg'\n[[window]]\nnutrient='crude_protein'\nmax=%v\n[[line]]\ningredient='poor'\n[[line]]\ningredient='rich'\n", c.target) +
			lab("crude_protein", map[string]float64{"poor": c.low, "rich": c.high})
		share := (c.target - c.low) / (c.high - c.low)
		rich := nutrient.Mass(math.Round(share*10000)) * 100
		p := planOf(t, text)
		b := bowlOf(p, []nutrient.Mass{nutrient.Kilogram - rich, rich})
		b.Poured[1] = (rich * 6 / 5) / 100 * 100
		m := around(t, p, b, Options{})
		want := math.Ceil(float64(b.Poured[1])/share/100-1e-9) * 100
		if m.Outcome != LargerBatch || float64(m.Batch) != want || m.NoneBelow != m.Batch {
			t.Errorf("%v: %v of %v, none below %v; the square gives %v mg", c, m.Outcome, m.Batch, m.NoneBelow, want)
		}
	}
}

// drawBowl draws a bowl with something in it, small enough that every mix
// around it can be looked at.
func drawBowl(t *rapid.T, p *mix.Plan) Bowl {
	n := len(p.Lines)
	near := make([]int, n)
	left := p.Steps
	for i := range n {
		near[i] = rapid.IntRange(0, left).Draw(t, "near")
		left -= near[i]
	}
	near[n-1] += left
	b := Bowl{Batch: p.Batch(), MostBatch: 2 * p.Batch(), Near: make([]nutrient.Mass, n), Poured: make([]nutrient.Mass, n), Most: make([]nutrient.Mass, n), Finished: make([]bool, n)}
	for i := range n {
		poured := 0
		if rapid.Bool().Draw(t, "poured") {
			poured = rapid.IntRange(0, p.Lines[i].Ceiling/2).Draw(t, "in the bowl")
		}
		if poured < p.Lines[i].NothingOr {
			poured = 0
		}
		b.Near[i], b.Poured[i], b.Most[i] = mass(p, near[i]), mass(p, poured), -1
		if rapid.IntRange(0, 3).Draw(t, "short") == 0 {
			b.Most[i] = mass(p, poured+rapid.IntRange(0, 4).Draw(t, "rest"))
		}
		b.Finished[i] = poured > 0 && rapid.Bool().Draw(t, "finished")
	}
	return b
}

// best is the best mix of a batch around a bowl, by looking at every one: the
// fewest finished lines opened anew, then the least moved.
func (b Bowl) best(q *mix.Plan) (reopened int, moved float64, any bool) {
	near := apportionTo(b.Near, q.Steps)
	everyMix(make([]int, len(q.Lines)), 0, q.Steps, func(x []int) {
		opened, far := 0, 0.0
		for i, n := range x {
			m := mass(q, n)
			if m < b.Poured[i] || b.Most[i] >= 0 && m > b.Most[i] {
				return
			}
			if b.Finished[i] && m > b.Poured[i] {
				opened++
			}
			far += math.Abs(float64(n-near[i])) / 2
		}
		if any && (opened > reopened || opened == reopened && far >= moved) || !allowed(q, x) {
			return
		}
		reopened, moved, any = opened, far, true
	})
	return reopened, moved, any
}

// The same batch when there is one, else the smallest, with the fewest lines
// opened anew and the least moved: against every mix of every batch.
func TestAroundAgainstEveryMix(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		text := drawMix(t)
		p := planFor(t, text)
		b := drawBowl(t, p)
		m, err := Around(context.Background(), p, b, Options{Gap: -1, Proof: true})
		if err != nil {
			t.Fatalf("%v\n%s", err, text)
		}
		if mender, _ := newMender(context.Background(), p, b, Options{}); mender.brokenAny() {
			return // limits that are let go are tested below
		}
		for _, c := range m.Claims {
			if r, err := verify.CheckBytes(c.Proof.JSON()); err != nil {
				t.Fatalf("%s: %v %v", c.What, r, err)
			}
		}
		for steps := p.Steps; steps <= 2*p.Steps; steps++ {
			d := p.Document.Copy()
			d.Batch = mass(p, steps)
			q, err := p.With(d)
			if err != nil {
				t.Fatal(err)
			}
			reopened, moved, any := b.best(q)
			if !any {
				continue
			}
			if m.Batch != q.Batch() || m.NoneBelow != m.Batch || len(m.Reopened) != reopened || !m.Fewest || math.Abs(m.Moved.Grams()-moved) > 1e-9 {
				t.Fatalf("a mix of %v moves %v and opens %d; got %v of %v (none below %v), which moves %v and opens %v\n%+v\n%s", q.Batch(), moved, reopened, m.Outcome, m.Batch, m.NoneBelow, m.Moved, m.Reopened, b, text)
			}
			return
		}
		if m.Outcome != NearestMix && m.Outcome != Discard {
			t.Fatalf("no mix exists; got %v of %v\n%+v\n%s", m.Outcome, m.Batch, b, text)
		}
	})
}

func (m *mender) brokenAny() bool {
	for _, l := range m.limits {
		if !l.safety && m.broken(l) {
			return true
		}
	}
	return false
}

// missOf is by how much amounts miss their windows, as the largest share of a
// window's width.
func missOf(p *mix.Plan, amounts []nutrient.Mass) float64 {
	worst := 0.0
	for _, t := range p.Targets {
		v := analysis.Of(portions(p, amounts), analysis.MeasureOf(t.Window))
		if t.Min != nil {
			worst = max(worst, (*t.Min-v.Least)/spanOf(t.Window))
		}
		if t.Max != nil {
			worst = max(worst, (v.Most-*t.Max)/spanOf(t.Window))
		}
	}
	return worst
}

// The nearest mix misses its windows by no more than any other mix of its
// batch, but for the thousandth to which the share is looked for, and what the
// law of safety forbids is never in it.
func TestNearestAgainstEveryMix(t *testing.T) {
	seen := 0
	rapid.Check(t, func(t *rapid.T) {
		text := drawMix(t)
		p := planFor(t, text)
		b := drawBowl(t, p)
		m, err := Around(context.Background(), p, b, Options{})
		if err != nil {
			t.Fatalf("%v\n%s", err, text)
		}
		if m.Outcome != NearestMix {
			return
		}
		seen++
		least := math.Inf(1)
		total := int(m.Batch / p.Document.Step)
		everyMix(make([]int, len(p.Lines)), 0, total, func(x []int) {
			amounts := make([]nutrient.Mass, len(x))
			for i, n := range x {
				amounts[i] = mass(p, n)
				if amounts[i] < b.Poured[i] || b.Most[i] >= 0 && amounts[i] > b.Most[i] {
					return
				}
			}
			least = min(least, missOf(p, amounts))
		})
		got := missOf(p, m.Amounts)
		if got > least+1.01*widenStep || math.Abs(got-m.Measure) > 1e-6 && m.Measure > 0 {
			t.Fatalf("misses by %v, says %v; a mix misses by %v\n%+v\n%+v\n%s", got, m.Measure, least, m, b, text)
		}
	})
	if seen == 0 {
		t.Error("no nearest mix was looked at")
	}
}

// bowlIn is the everyday mix with some of it in the bowl.
func bowlIn(t testing.TB, head string) (*mix.Plan, Bowl) {
	t.Helper()
	p := planOf(t, head+without(example(t, "gerbil-adult.toml"), "sureness", "prefer"))
	a, err := Solve(context.Background(), p, Options{})
	if err != nil || a.Steps == nil {
		t.Fatal(err, a)
	}
	b := bowlOf(p, a.Amounts())
	return p, b
}

func (b *Bowl) pour(p *mix.Plan, ref string, m nutrient.Mass) {
	for i, l := range p.Lines {
		if l.Form.Ref() == ref {
			b.Poured[i] += m
			b.Finished[i] = b.Poured[i] >= b.Near[i]
		}
	}
}

// What is asked for is as sure as the document says wherever the answer says
// so, and a less sure smaller batch stands beside it.
func TestAroundSurely(t *testing.T) {
	p, b := bowlIn(t, "prefer='near'\nsureness='80 %'\n")
	b.pour(p, "oats/groats", 208*nutrient.Gram)
	b.pour(p, "proso-millet/in-hull", 220*nutrient.Gram)
	b.pour(p, "canary-seed/in-hull", 140*nutrient.Gram)
	b.pour(p, "sunflower/in-shell-striped", 120*nutrient.Gram)
	m := around(t, p, b, Options{})
	if m.Outcome != LargerBatch || !m.Sure || m.Joint < 0.8 {
		t.Fatalf("got %v of %v, %v", m.Outcome, m.Batch, m.Joint)
	}
	if m.Other == nil || m.Other.Batch >= m.Batch || m.Other.Joint >= 0.8 {
		t.Fatalf("beside it: %+v", m.Other)
	}
	for _, c := range append(m.Checks, m.Other.Checks...) {
		if c.Verdict != analysis.Inside {
			t.Errorf("%v is %v", c.Window.Nutrient, c.Verdict)
		}
	}
}

// Too much of what safety limits is diluted; if the jars do not give that, it
// is to be discarded.
func TestSafetyDilutes(t *testing.T) {
	text := "batch='100 g'\n[[window]]\nnutrient='crude_protein'\nmin=1\n[[line]]\ningredient='oats/groats'\n[[line]]\ningredient='poppy/whole'\n"
	p := planOf(t, text)
	b := bowlOf(p, []nutrient.Mass{99 * nutrient.Gram, nutrient.Gram})
	b.Poured[1] = 3 * nutrient.Gram
	m := around(t, p, b, Options{})
	if m.Outcome != LargerBatch || m.Batch != 300*nutrient.Gram || m.NoneBelow != m.Batch {
		t.Fatalf("3 g of poppy at most 1 %%: %v of %v", m.Outcome, m.Batch)
	}
	b.Most[0] = 200 * nutrient.Gram
	m = around(t, p, b, Options{Proof: true})
	if m.Outcome != Discard || len(m.Why) == 0 || m.Amounts != nil {
		t.Fatalf("with 200 g of oats: %v %v", m.Outcome, m.Why)
	}
	for _, c := range m.Claims {
		if _, err := verify.CheckBytes(c.Proof.JSON()); err != nil {
			t.Errorf("%s: %v", c.What, err)
		}
	}
}

// An ingredient of the shelf is found when only it gets the bowl inside, and
// the least of it is the square's share.
func TestShelfSaves(t *testing.T) {
	text := "batch='1 kg'\n[[window]]\nnutrient='crude_protein'\nmin=18\nmax=40\n[[line]]\ningredient='poor'\n[[line]]\ningredient='rich'\n" +
		lab("crude_protein", map[string]float64{"poor": 8.9, "rich": 44.4, "other": 30})
	p := planOf(t, text)
	b := bowlOf(p, []nutrient.Mass{743 * nutrient.Gram, 257 * nutrient.Gram})
	b.Poured[0] = 500 * nutrient.Gram
	b.Most[1] = 20 * nutrient.Gram
	b.Shelf = p.Catalogue.Ingredient("other").Forms
	m := around(t, p, b, Options{})
	// 500 and more of 8.9 %, 20 of 44.4 %, the rest of 30 %, to 18 % of a kilogram.
	want := math.Ceil((18*1000 - 20*44.4 - 980*8.9) / (30 - 8.9))
	if m.Outcome != NearestMix || len(m.Extras) != 1 || m.Extras[0].Least.Grams() != want || !m.Extras[0].Proved {
		t.Fatalf("got %v, extras %+v, want %v g", m.Outcome, m.Extras, want)
	}
	if e := m.Extras[0].Mended; e.Outcome != SameBatch || e.Checks[0].Verdict != analysis.Inside {
		t.Errorf("with it: %+v", e)
	}
	if len(m.Off) != 1 || m.Off[0].Target != 0 || m.Measure <= 0 {
		t.Errorf("without it: off %+v", m.Off)
	}
}

// Limits of the document that the bowl breaks are let go and said; those that
// hold still hold.
func TestBrokenLimitsAreLetGo(t *testing.T) {
	p, b := bowlIn(t, "prefer='near'\n")
	b.pour(p, "pumpkin-seed/kernel", 34*nutrient.Gram) // its ceiling is 3 %
	m := around(t, p, b, Options{})
	if m.Outcome != SameBatch || len(m.LetGo) != 1 {
		t.Fatalf("got %v, let go %v", m.Outcome, m.LetGo)
	}
}

// Steps of two scales in one bowl: every line grows by whole steps of its own.
func TestSettleTwoScales(t *testing.T) {
	p := planOf(t, "batch='1 kg'\nstep='0.1 g'\n"+without(example(t, "gerbil-adult.toml"), "batch", "step"))
	a, err := Solve(context.Background(), p, Options{})
	if err != nil || a.Steps == nil {
		t.Fatal(err)
	}
	steps := make([]nutrient.Mass, len(p.Lines))
	for i, m := range a.Amounts() {
		steps[i] = nutrient.Gram
		if m < 50*nutrient.Gram {
			steps[i] = 100
		}
	}
	m, err := Settle(context.Background(), p, a.Amounts(), steps, Options{})
	if err != nil || m.Outcome != SameBatch {
		t.Fatalf("%v %+v", err, m)
	}
	for i, x := range m.Amounts {
		if x%steps[i] != 0 {
			t.Errorf("line %d: %v is no whole number of steps of %v", i, x, steps[i])
		}
	}
	if m.Batch != nutrient.Kilogram || m.Moved > 5*nutrient.Gram || m.Joint < p.Document.Sureness {
		t.Errorf("batch %v, moved %v, joint %v", m.Batch, m.Moved, m.Joint)
	}
}

// Amounts off the grid of the scale are facts: the batch is met to less than
// a step.
func TestOffTheGrid(t *testing.T) {
	p, b := bowlIn(t, "prefer='near'\n")
	b.pour(p, "oats/groats", 215*nutrient.Gram+300)
	m := around(t, p, b, Options{})
	if m.Outcome != SameBatch || m.Batch < p.Batch() || m.Batch >= p.Batch()+nutrient.Gram || m.Batch%nutrient.Gram != 300 {
		t.Fatalf("got %v of %v", m.Outcome, m.Batch)
	}
}

// The same bowl gives the same answer; an ended context says so.
func TestAroundAgain(t *testing.T) {
	p, b := bowlIn(t, "prefer='near'\nsureness='80 %'\n")
	b.pour(p, "linseed/whole", 60*nutrient.Gram)
	first := around(t, p, b, Options{})
	if again := around(t, p, b, Options{}); !reflect.DeepEqual(first.Amounts, again.Amounts) || first.Moved != again.Moved {
		t.Errorf("%v, then %v", first.Amounts, again.Amounts)
	}
	ctx, cancel := context.WithCancel(context.Background())
	cancel()
	m, err := Around(ctx, p, b, Options{})
	if err != nil || m.Outcome != Unsettled {
		t.Errorf("with no time: %v %v", m, err)
	}
}
