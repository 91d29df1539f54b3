package formulate

import (
	"context"
	"fmt"
	"math"
	"sort"
	"strings"
	"testing"
	"time"

	"pgregory.net/rapid"

	"firlot/analysis"
	"firlot/lp/verify"
	"firlot/mix"
	"firlot/nutrient"
)

func stagePlans(t testing.TB, names ...string) []*mix.Plan {
	t.Helper()
	var plans []*mix.Plan
	for _, n := range names {
		plans = append(plans, planOf(t, example(t, n)))
	}
	return plans
}

// checkBase holds a base against its plans by way of package analysis alone.
func checkBase(t interface{ Errorf(string, ...any) }, m *BaseMix) {
	at := map[string]nutrient.Mass{}
	var sum, largest, total nutrient.Mass
	for k, f := range m.Forms {
		at[f.Ref()] = m.Base[k]
		sum += m.Base[k]
		if m.Base[k]%m.Step != 0 {
			t.Errorf("%v of %s in the base is no whole number of steps", m.Base[k], f.Ref())
		}
	}
	if sum != m.BaseMass {
		t.Errorf("the base adds up to %v, not %v", sum, m.BaseMass)
	}
	for s, g := range m.Stages {
		var weight nutrient.Mass
		here := map[string]bool{}
		for i, l := range g.Plan.Lines {
			here[l.Form.Ref()] = true
			if g.Topper[i] < 0 || g.Topper[i]%m.Step != 0 || g.Amounts[i] != g.Topper[i]+at[l.Form.Ref()] {
				t.Errorf("plan %d: %s: base %v, topper %v, in all %v", s, l.Form.Ref(), at[l.Form.Ref()], g.Topper[i], g.Amounts[i])
			}
			weight += g.Topper[i]
		}
		for ref, b := range at {
			if b > 0 && !here[ref] {
				t.Errorf("plan %d: %s is in the base and not on its list", s, ref)
			}
		}
		largest, total = max(largest, weight), total+weight
		if g.Weight != weight {
			t.Errorf("plan %d: the topper weighs %v, not %v", s, weight, g.Weight)
		}
		mixed := portions(g.Plan, g.Amounts)
		for _, w := range g.Plan.Targets {
			if c := analysis.CheckWindow(mixed, w.Window); c.Verdict != analysis.Inside {
				t.Errorf("plan %d: %v is %v", s, w.Nutrient, c.Verdict)
			}
		}
		for i, l := range g.Plan.Lines {
			for _, inc := range g.Plan.Inclusions(l.Form) {
				if part := 100 * float64(g.Amounts[i]) / float64(weight+m.BaseMass); part > inc.Percent+1e-9 {
					t.Errorf("plan %d: %v %% of %s, whose inclusion limit is %v %%", s, part, l.Form.Ref(), inc.Percent)
				}
			}
		}
	}
	if largest != m.Largest || total != m.Total || m.LargestBound > largest || m.TotalBound > total {
		t.Errorf("toppers of at most %v, %v together; says %v (none below %v) and %v (none below %v)", largest, total, m.Largest, m.LargestBound, m.Total, m.TotalBound)
	}
}

// The examples of three life stages share a base, and it is verified.
func TestBaseOfTheExamples(t *testing.T) {
	cases := [][]string{{"gerbil-adult.toml", "gerbil-senior.toml"}, {"gerbil-growing.toml", "gerbil-adult.toml"}, {"gerbil-growing.toml", "gerbil-adult.toml", "gerbil-senior.toml"}}
	if testing.Short() {
		cases = cases[:1]
	}
	for _, names := range cases {
		m, err := FindBase(context.Background(), stagePlans(t, names...), BaseOptions{Options: Options{Proof: true}})
		if err != nil || m.Status != Found {
			t.Fatal(err, m)
		}
		checkBase(t, m)
		for _, g := range m.Stages {
			if !g.Sure || g.Joint < g.Plan.Document.Sureness {
				t.Errorf("%s: %v, sure %v", g.Plan.Document.Title, g.Joint, g.Sure)
			}
		}
		for _, c := range m.Claims {
			if _, err := verify.CheckBytes(c.Proof.JSON()); err != nil {
				t.Errorf("%s: %v", c.What, err)
			}
		}
	}
}

// Amounts that are fixed in grams are met to the step in base and topper
// together, whatever that comes to.
func TestBaseOfFixedAmounts(t *testing.T) {
	text := func(stage string, linseed int) string {
		return fmt.Sprintf("species='gerbil'\nstage='%s'\nbatch='1 kg'\nstep='1 g'\n[[line]]\ningredient='linseed/whole'\nfloor='%d g'\nceiling='%[2]d g'\n", stage, linseed) +
			"[[line]]\ningredient='oats/groats'\n[[line]]\ningredient='proso-millet/in-hull'\n[[line]]\ningredient='canary-seed/in-hull'\n[[line]]\ningredient='buckwheat/in-hull'\n" +
			"[[line]]\ningredient='sunflower/in-shell-striped'\n[[line]]\ningredient='nettle/leaf-dried'\n[[line]]\ningredient='meadow-hay/cut'\n"
	}
	m, err := FindBase(context.Background(), []*mix.Plan{planOf(t, text("adult", 23)), planOf(t, text("senior", 17))}, BaseOptions{})
	if err != nil || m.Status != Found {
		t.Fatal(err, m)
	}
	checkBase(t, m)
	if m.Largest > 100*nutrient.Gram {
		t.Errorf("the largest topper is %v", m.Largest)
	}
	for s, share := range []float64{0.023, 0.017} {
		g := m.Stages[s]
		if got, want := float64(g.Amounts[0])/1000, share*float64(m.BaseMass+g.Weight)/1000; math.Abs(got-want) >= 1 {
			t.Errorf("plan %d: %v g of linseed, %v g are asked for", s, got, want)
		}
	}
}

// A base around which one mix has no topper that is sure enough is gone on
// from, up to the most that a topper may weigh.
func TestBaseUpToTheMost(t *testing.T) {
	m, err := FindBase(context.Background(), stagePlans(t, "gerbil-adult.toml", "syrian-hamster.toml"), BaseOptions{})
	if err != nil || m.Status != Found {
		t.Fatal(err, m)
	}
	checkBase(t, m)
}

// One plan needs no topper, and its base is the mix that solving finds.
func TestBaseOfOne(t *testing.T) {
	p := planOf(t, example(t, "gerbil-adult.toml"))
	a, err := Solve(context.Background(), p, Options{})
	if err != nil {
		t.Fatal(err)
	}
	m, err := FindBase(context.Background(), []*mix.Plan{p}, BaseOptions{})
	if err != nil || m.Status != Found || m.Largest != 0 || m.Total != 0 {
		t.Fatal(err, m)
	}
	for i, x := range a.Amounts() {
		if m.Base[i] != x || m.Stages[0].Topper[i] != 0 {
			t.Errorf("line %d: base %v, topper %v; solving gives %v", i, m.Base[i], m.Stages[0].Topper[i], x)
		}
	}
}

// Two feeds of 10 and 40 %, one mix of at most 12 %, the other of at least
// 16 %: by Pearson's square the toppers to a kilogram of base of p % are
// 1000(p−12)/2 g of the poor feed and 1000(16−p)/24 g of the rich one, which
// are alike at p = 160/13. Whole grams are looked through one by one.
func TestBaseBySquare(t *testing.T) {
	text := func(window string) string {
		return "batch='1 kg'\n[[window]]\nnutrient='crude_protein'\n" + window + "\n[[line]]\ningredient='poor'\n[[line]]\ningredient='rich'\n" +
			lab("crude_protein", map[string]float64{"poor": 10, "rich": 40})
	}
	plans := []*mix.Plan{planOf(t, text("max=12")), planOf(t, text("min=16"))}
	m, err := FindBase(context.Background(), plans, BaseOptions{})
	if err != nil || m.Status != Found {
		t.Fatal(err, m)
	}
	checkBase(t, m)
	largest, total := math.Inf(1), 0.0
	for rich := 0.0; rich <= 1000; rich++ {
		p := (10*(1000-rich) + 40*rich) / 1000
		poorer, richer := math.Ceil(max(1000*(p-12)/2, 0)-1e-9), math.Ceil(max(1000*(16-p)/24, 0)-1e-9)
		if l := max(poorer, richer); l < largest || l == largest && poorer+richer < total {
			largest, total = l, poorer+richer
		}
	}
	if m.Largest.Grams() != largest || m.Total.Grams() != total || m.LargestBound != m.Largest || m.TotalBound != m.Total {
		t.Errorf("%v and %v (none below %v and %v); the squares give %v and %v g", m.Largest, m.Total, m.LargestBound, m.TotalBound, largest, total)
	}
}

// Windows that no common base can reach are said to be out of reach, with the
// limits that clash.
func TestNoBase(t *testing.T) {
	text := func(window string) string {
		return "batch='1 kg'\n[[window]]\nnutrient='crude_fat'\nmax=90\n[[window]]\nnutrient='crude_protein'\n" + window + "\n[[line]]\ningredient='poor'\n[[line]]\ningredient='rich'\n" +
			lab("crude_protein", map[string]float64{"poor": 10, "rich": 40})
	}
	plans := []*mix.Plan{planOf(t, text("max=12")), planOf(t, text("max=38")), planOf(t, text("min=39"))}
	m, err := FindBase(context.Background(), plans, BaseOptions{Options: Options{Proof: true}})
	if err != nil || m.Status != Impossible || len(m.Claims) == 0 {
		t.Fatal(err, m)
	}
	if len(m.Clash) != 2 || m.Clash[0].Stage != 0 || m.Clash[1].Stage != 2 || m.Clash[0].What != "crude protein at most 12 %" {
		t.Errorf("clash: %+v", m.Clash)
	}
	for _, c := range m.Claims {
		if _, err := verify.CheckBytes(c.Proof.JSON()); err != nil {
			t.Errorf("%s: %v", c.What, err)
		}
	}
}

// drawStages draws documents over one shelf, small enough that every base and
// every topper can be looked at.
func drawStages(t *rapid.T) []string {
	n := rapid.IntRange(2, 3).Draw(t, "lines")
	var own strings.Builder
	for i := range n {
		fmt.Fprintf(&own, "[[own]]\nid='f%d'\nname='food %d'\nkind='laboratory'\nfigures.crude_protein=%d\nfigures.crude_fat=%d\nfigures.moisture=10\n", i, i,
			rapid.IntRange(0, 50).Draw(t, "protein"), rapid.IntRange(0, 30).Draw(t, "fat"))
	}
	var texts []string
	for range 2 {
		var b strings.Builder
		lo := rapid.IntRange(5, 35).Draw(t, "lo")
		fmt.Fprintf(&b, "batch='20 g'\n[[window]]\nnutrient='crude_protein'\nmin=%d\nmax=%d\n[[window]]\nnutrient='crude_fat'\nmax=%d\n", lo, lo+rapid.IntRange(1, 10).Draw(t, "width"), rapid.IntRange(5, 30).Draw(t, "fat"))
		for i := range n {
			if i > 0 && rapid.IntRange(0, 4).Draw(t, "not listed") == 0 {
				continue
			}
			fmt.Fprintf(&b, "[[line]]\ningredient='f%d'\n", i)
			if rapid.IntRange(0, 3).Draw(t, "limited") == 0 {
				fmt.Fprintf(&b, "ceiling='%d %%'\n", rapid.IntRange(20, 90).Draw(t, "ceiling"))
			}
		}
		texts = append(texts, b.String()+own.String())
	}
	return texts
}

// leastTopper is the least topper that brings a base inside a plan, or −1.
func leastTopper(p *mix.Plan, base map[string]int, total, most int) int {
	start := make([]int, len(p.Lines))
	rest := total
	for i, l := range p.Lines {
		start[i] = base[l.Form.Ref()]
		rest -= start[i]
	}
	if rest != 0 {
		return -1 // the base holds what the plan does not list
	}
	for more := 0; more <= most; more++ {
		ok := false
		everyMix(make([]int, len(start)), 0, more, func(x []int) {
			amounts := make([]nutrient.Mass, len(x))
			for i, n := range x {
				amounts[i] = nutrient.Mass(n+start[i]) * nutrient.Gram
				if c := p.Document.Lines[i].Ceiling; c.Set && 100*float64(n+start[i]) > c.Percent*float64(total+more)+1e-9 {
					return
				}
			}
			for _, w := range p.Targets {
				if analysis.CheckWindow(portions(p, amounts), w.Window).Verdict != analysis.Inside {
					return
				}
			}
			ok = true
		})
		if ok {
			return more
		}
	}
	return -1
}

// The smallest largest topper and then the smallest total, against every base
// and every topper; impossible where there is none.
func TestBaseAgainstEveryBase(t *testing.T) {
	const size, most = 8, 5
	found := 0
	rapid.Check(t, func(t *rapid.T) {
		var plans []*mix.Plan
		for _, text := range drawStages(t) {
			plans = append(plans, planFor(t, text))
		}
		m, err := FindBase(context.Background(), plans, BaseOptions{Base: size * nutrient.Gram, MostTopper: most * nutrient.Gram, Options: Options{Proof: true}})
		if err != nil {
			t.Fatal(err)
		}
		for _, c := range m.Claims {
			if _, err := verify.CheckBytes(c.Proof.JSON()); err != nil {
				t.Fatalf("%s: %v", c.What, err)
			}
		}
		largest, total := most+1, 0
		everyMix(make([]int, len(m.Forms)), 0, size, func(x []int) {
			base := map[string]int{}
			for k, f := range m.Forms {
				base[f.Ref()] = x[k]
			}
			l, sum := 0, 0
			for _, p := range plans {
				n := leastTopper(p, base, size, most)
				if n < 0 {
					return
				}
				l, sum = max(l, n), sum+n
			}
			if l < largest || l == largest && sum < total {
				largest, total = l, sum
			}
		})
		if largest > most {
			if m.Status != Impossible || len(m.Clash) == 0 {
				t.Fatalf("there is no base; got %v %+v", m.Status, m.Clash)
			}
			return
		}
		found++
		if m.Status != Found || m.Largest.Grams() != float64(largest) || m.Total.Grams() != float64(total) || m.LargestBound != m.Largest || m.TotalBound != m.Total {
			t.Fatalf("the best has toppers of %d and %d together; got %v, %v and %v (none below %v and %v)", largest, total, m.Status, m.Largest, m.Total, m.LargestBound, m.TotalBound)
		}
		checkBase(t, m)
	})
	if found == 0 && !testing.Short() { // one trial in eleven has one; -short leaves too few to tell
		t.Error("no base was found at all")
	}
}

// BenchmarkBase reports how long a base for the three life stages takes.
func BenchmarkBase(b *testing.B) {
	plans := stagePlans(b, "gerbil-growing.toml", "gerbil-adult.toml", "gerbil-senior.toml")
	for _, c := range []struct {
		name  string
		plans []*mix.Plan
	}{{"three stages", plans}, {"two stages", plans[1:]}} {
		b.Run(c.name, func(b *testing.B) {
			var took []float64
			for b.Loop() {
				start := time.Now()
				if m, err := FindBase(context.Background(), c.plans, BaseOptions{}); err != nil || m.Status != Found {
					b.Fatal(err, m)
				}
				took = append(took, float64(time.Since(start).Microseconds())/1000)
			}
			sort.Float64s(took)
			b.ReportMetric(took[len(took)/2], "p50-ms")
			b.ReportMetric(took[len(took)*95/100], "p95-ms")
		})
	}
}
