package serving

import (
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"firlot/analysis"
	"firlot/catalog"
	"firlot/nutrient"
)

// Percentage points of chi-square as printed in Abramowitz and Stegun, table
// 26.8, 1964 (recalled): the chance below, the degrees of freedom, the point.
func TestChiSquareTable(t *testing.T) {
	for _, c := range []struct{ p, df, x float64 }{
		{0.95, 1, 3.84146}, {0.99, 1, 6.63490}, {0.50, 1, 0.454937}, {0.05, 1, 0.00393214},
		{0.95, 2, 5.99147}, {0.95, 5, 11.0705}, {0.05, 9, 3.32511}, {0.95, 9, 16.9190}, {0.99, 10, 23.2093},
		{0.50, 4, 3.35670}, {0.05, 30, 18.4926}, {0.95, 30, 43.7729}, {0.05, 100, 77.9295}, {0.95, 100, 124.342},
	} {
		near(t, "point", chiQuantile(c.df, c.p)/c.x, 1, 5e-6)
		near(t, "chance", chiBelow(c.df, c.x), c.p, 2e-6)
		near(t, "chance above", chiAbove(c.df, c.x), 1-c.p, 2e-6)
	}
}

// Closed forms: two degrees of freedom are an exponential, one is a squared
// normal deviate; and both sides add up to one.
func TestChiSquareClosedForms(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		x := rapid.Float64Range(1e-6, 60).Draw(t, "x")
		if got, want := chiAbove(2, x), math.Exp(-x/2); math.Abs(got-want) > 1e-13+1e-12*want {
			t.Fatalf("two degrees: %v, %v", got, want)
		}
		if got, want := chiBelow(1, x), math.Erf(math.Sqrt(x/2)); math.Abs(got-want) > 1e-12 {
			t.Fatalf("one degree: %v, %v", got, want)
		}
		df := rapid.Float64Range(1, 5000).Draw(t, "df")
		y := rapid.Float64Range(0, 2*df).Draw(t, "y")
		if s := chiBelow(df, y) + chiAbove(df, y); math.Abs(s-1) > 1e-9 {
			t.Fatalf("both sides are %v", s)
		}
		p := rapid.Float64Range(0.001, 0.999).Draw(t, "p")
		if got := chiBelow(df, chiQuantile(df, p)); math.Abs(got-p) > 1e-9 {
			t.Fatalf("quantile of %v gives %v", p, got)
		}
	})
}

// Source: Lacey 1954 (recalled) with p = 0.1, n = 100 and a variance of 0.002.
func TestLacey(t *testing.T) {
	near(t, "separated", Lacey(0.09, 0.0009, 0.09), 0, 1e-15)
	near(t, "chance", Lacey(0.09, 0.0009, 0.0009), 1, 1e-15)
	near(t, "check value", Lacey(0.1*0.9, 0.1*0.9/100, 0.002), 0.987654, 5e-7)
}

// Equal pieces: Gy's floor is Lacey's limit p(1−p)/n.
func TestFloorOfEqualPieces(t *testing.T) {
	a, b := food("a", 0.01, nil), food("b", 0.01, nil)
	l := LotOf([]analysis.Portion{{Form: a, Mass: 100}, {Form: b, Mass: 900}}, math.Inf(1))
	floor := Sampling{Lot: l, Marker: 0}.Floor(1) // 100 pieces
	near(t, "variance", floor*floor*0.1*0.1, 0.1*0.9/100, 1e-15)
}

// The standard error of a coefficient of variation is about CV/√(2(n−1)):
// 2.4 points for 10 % of ten samples, 1.6 of twenty.
func TestErrorOfSpread(t *testing.T) {
	for n, want := range map[int]float64{10: 2.4, 20: 1.6} {
		near(t, "error", 10/math.Sqrt(2*float64(n-1)), want, 0.05)
	}
	l := LotOf(bowl(), 500)
	s := Sampling{Lot: l, Marker: 3, Allowed: UsualAllowed}
	for range 10 {
		s.Scoops = append(s.Scoops, Scoop{10, float64(16 + len(s.Scoops))})
	}
	m, err := s.Check()
	if err != nil {
		t.Fatal(err)
	}
	near(t, "error", m.ShownError, m.Shown/math.Sqrt(18), 1e-15)
	near(t, "floor of sunflower in a spoon", 100*m.Floor, 21.3339, 5e-5)
	if m.TradeRule {
		t.Error("the trade's 10 % was put to spoons of coarse seed")
	}
}

// scoops simulates a check: counts of the marker in n scoops, with an
// unevenness of the mixing's own.
func scoops(rng *rand.Rand, l Lot, marker, n int, grams, own float64) []Scoop {
	var out []Scoop
	for range n {
		mean, _ := l.Count(marker, grams)
		// The other kinds displace the marker or make room for it.
		rest := 0.0
		for i, p := range l.Pieces {
			if i != marker {
				c, _ := l.Count(i, grams)
				rest += float64(poisson(rng, c)) * p.Grams
			}
		}
		part := 1 + own*rng.NormFloat64()
		share := l.Pieces[marker].Share
		rest *= max((1-share*part)/(1-share), 0)
		x := float64(poisson(rng, max(mean*part, 0)))
		mass := rest + x*l.Pieces[marker].Grams
		out = append(out, Scoop{grams, x * grams / mass}) // the scoop is filled to its mark
	}
	return out
}

// Verdicts are wrong no more often than they say: simulated checks (generator
// PCG 31, 32) with perfect mixing, with the unevenness just at the limit, and
// with twice as much. 5 of 100 may err each way; 3 more are allowed for counts
// being no normal deviates and for 600 checks.
func TestVerdictsKeepTheirWord(t *testing.T) {
	if testing.Short() {
		t.Skip("counts thousands of checks")
	}
	rng := rand.New(rand.NewPCG(31, 32))
	l := LotOf(bowl(), math.Inf(1))
	const marker, grams, n = 1, 40.0, 20 // canary seed, floor 2.7 %
	rates := func(own float64) (well, bad float64) {
		const checks = 600
		for range checks {
			m, err := Sampling{Lot: l, Marker: marker, Allowed: 0.1, Scoops: scoops(rng, l, marker, n, grams, own)}.Check()
			if err != nil {
				t.Fatal(err)
			}
			switch m.Verdict {
			case WellMixed:
				well += 1.0 / checks
			case NotWellMixed:
				bad += 1.0 / checks
			}
		}
		return well, bad
	}
	if well, bad := rates(0); well < 0.95 || bad > 0.01 {
		t.Errorf("perfect mixing: %v well mixed, %v not", well, bad)
	}
	if well, bad := rates(0.1); well > 0.08 || bad > 0.08 {
		t.Errorf("at the limit: %v well mixed, %v not", well, bad)
	}
	if well, bad := rates(0.25); well > 0.005 || bad < 0.8 {
		t.Errorf("far beyond it: %v well mixed, %v not", well, bad)
	}
}

// The floor is what chance alone does, and the index of dispersion has the
// chance that it says.
func TestIndexOfDispersion(t *testing.T) {
	if testing.Short() {
		t.Skip("counts thousands of checks")
	}
	rng := rand.New(rand.NewPCG(41, 42))
	l := LotOf(bowl(), math.Inf(1))
	rare, seen := 0, 0.0
	const checks = 2000
	for range checks {
		m, err := Sampling{Lot: l, Marker: 3, Allowed: 0.1, Scoops: scoops(rng, l, 3, 10, 20, 0)}.Check()
		if err != nil {
			t.Fatal(err)
		}
		seen += m.Shown * m.Shown / checks
		if m.Chance < 0.1 {
			rare++
		}
	}
	near(t, "variance", math.Sqrt(seen)/(Sampling{Lot: l, Marker: 3}).Floor(20), 1, 0.03)
	near(t, "one check of ten", float64(rare)/checks, 0.1, 0.03)
}

// A plan does what it says: with as many scoops as it asks for, a perfect
// mixing is told four times of five.
func TestEnoughIsEnough(t *testing.T) {
	rng := rand.New(rand.NewPCG(51, 52))
	l := LotOf(bowl(), math.Inf(1))
	s := Sampling{Lot: l, Marker: 0, Allowed: 0.1}
	e := s.Plan(10, 10)
	tries := func(n int, grams, own float64, want Verdict) float64 {
		k := 0
		for range 400 {
			m, err := Sampling{Lot: l, Marker: 0, Allowed: 0.1, Scoops: scoops(rng, l, 0, n, grams, own)}.Check()
			if err != nil {
				t.Fatal(err)
			}
			if m.Verdict == want {
				k++
			}
		}
		return float64(k) / 400
	}
	if e.Good == 0 || e.Bad == 0 {
		t.Fatalf("no plan: %+v", e)
	}
	if p := tries(e.Good, 10, 0, WellMixed); p < 0.74 {
		t.Errorf("%d scoops tell a perfect mixing %v of the time", e.Good, p)
	}
	if p := tries(10, e.Grams, 0, WellMixed); math.Abs(p-0.8) > 0.08 {
		t.Errorf("10 scoops of %v g tell a perfect mixing %v of the time", e.Grams, p)
	}
	if p := tries(e.Bad, 10, 0.2, NotWellMixed); p < 0.72 {
		t.Errorf("%d scoops tell a bad mixing %v of the time", e.Bad, p)
	}
	// A spoon of coarse seed: hundreds of spoons, or a few large scoops.
	spoon := Sampling{Lot: l, Marker: 3, Allowed: 0.1}.Plan(10, 10)
	if spoon.Good < 100 || spoon.Grams < 50 {
		t.Errorf("sunflower in spoons: %+v", spoon)
	}
}

// Scoops that are all the same were not left to chance.
func TestTooAlike(t *testing.T) {
	s := Sampling{Lot: LotOf(bowl(), 500), Marker: 3, Allowed: 0.1}
	for range 8 {
		s.Scoops = append(s.Scoops, Scoop{10, 18})
	}
	if m, err := s.Check(); err != nil || !m.TooAlike {
		t.Errorf("%+v, %v", m, err)
	}
	for i := range s.Scoops {
		s.Scoops[i].Marker += float64(i%4) * 3
	}
	if m, err := s.Check(); err != nil || m.TooAlike {
		t.Errorf("%+v, %v", m, err)
	}
}

// A scale too coarse to weigh the marker is the scale's fault, not the mix's.
func TestRounding(t *testing.T) {
	l := LotOf(bowl(), 500)
	s := Sampling{Lot: l, Marker: 3, Weighed: true, Step: 1, Allowed: 0.1}
	for _, g := range []float64{1, 1, 2, 1, 0, 1, 1, 1, 1, 1} {
		s.Scoops = append(s.Scoops, Scoop{10, g})
	}
	m, err := s.Check()
	if err != nil {
		t.Fatal(err)
	}
	near(t, "rounding", m.Rounding, 1/math.Sqrt(12), 1e-12)
	if m.Verdict == NotWellMixed {
		t.Errorf("the scale's steps count against the mixing: %+v", m)
	}
	s.Step = 0.01
	if m, _ := s.Check(); m.Verdict != NotWellMixed {
		t.Errorf("weighed finely, the same would tell: %+v", m)
	}
}

// Pieces of unknown mass make the floor a lower bound; a verdict that they
// could overturn is none.
func TestUnknownPiecesInACheck(t *testing.T) {
	mix := append(bowl(), analysis.Portion{Form: food("leaf", 0, nil), Mass: 4 * nutrient.Gram})
	s := Sampling{Lot: LotOf(mix, 1000), Marker: 1, Allowed: 0.05}
	for i := range 12 {
		s.Scoops = append(s.Scoops, Scoop{20, 500 + 400*float64(i%2)})
	}
	m, err := s.Check()
	if err != nil {
		t.Fatal(err)
	}
	if !m.AtLeast || m.Overturns <= 0 {
		t.Fatalf("not said: %+v", m)
	}
	if stands := m.Overturns >= heaviestPiece; stands != (m.Verdict == NotWellMixed) {
		t.Errorf("a leaf of %v g overturns it, and the verdict is %v", m.Overturns, m.Verdict)
	}
	mix[5].Form = food("leaf", m.Overturns*1.0001, nil)
	s.Lot = LotOf(mix, 1000)
	if n, _ := s.Check(); n.Verdict == NotWellMixed {
		t.Errorf("with a leaf of %v g it still stands: %+v", m.Overturns, n)
	}
	mix[5].Form = food("leaf", m.Overturns*0.999, nil)
	s.Lot = LotOf(mix, 1000)
	if n, _ := s.Check(); n.Verdict != NotWellMixed {
		t.Errorf("with a lighter leaf it does not: %+v", n)
	}
}

func TestCheckRefuses(t *testing.T) {
	good := func() Sampling {
		return Sampling{Lot: LotOf(bowl(), 500), Allowed: 0.1, Scoops: []Scoop{{10, 600}, {10, 700}, {10, 650}}}
	}
	for want, change := range map[string]func(*Sampling){
		"out of range; it is 3":  func(s *Sampling) { s.Scoops = s.Scoops[:2] },
		"not in the mix":         func(s *Sampling) { s.Marker = 9 },
		"none of the marker":     func(s *Sampling) { s.Scoops = []Scoop{{10, 0}, {10, 0}, {10, 0}} },
		"at most the batch":      func(s *Sampling) { s.Scoops[1].Grams = 900 },
		"out of range":           func(s *Sampling) { s.Scoops[1].Marker = math.NaN() },
		"allowed spread":         func(s *Sampling) { s.Allowed = 0 },
		"cannot hold 600 g":      func(s *Sampling) { s.Weighed = true },
		"is not known":           func(s *Sampling) { s.Lot.Pieces[0].Known = false },
		"nothing to be mixed wi": func(s *Sampling) { s.Lot.Pieces = s.Lot.Pieces[:1] },
	} {
		s := good()
		change(&s)
		if _, err := s.Check(); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%s: %v", want, err)
		}
	}
	if _, err := good().Check(); err != nil {
		t.Error(err)
	}
}

// Visman's constants come back out of variances made from them; A of a perfect
// mixing is Gy's K.
func TestVisman(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		a, b := rapid.Float64Range(1e-3, 10).Draw(t, "a"), rapid.Float64Range(0, 0.1).Draw(t, "b")
		w1 := rapid.Float64Range(1, 50).Draw(t, "w1")
		w2 := w1 * rapid.Float64Range(1.5, 20).Draw(t, "times")
		v, ok := VismanOf(a/w1+b, a/w2+b, w1, w2)
		if math.Abs(v.A-a) > 1e-9*a || math.Abs(v.B-b) > 1e-9*(a/w1+b) || !ok && b > 1e-12 {
			t.Fatalf("%+v from %v and %v", v, a, b)
		}
	})
	if _, ok := VismanOf(0.01, 0.02, 10, 50); ok {
		t.Error("larger increments that differ more were explained")
	}
	if _, ok := VismanOf(0.10, 0.001, 10, 20); ok {
		t.Error("a spread that pieces cannot have was explained")
	}
}

func TestSorting(t *testing.T) {
	wide := func(id string, w float64) *catalog.Form {
		f := food(id, 0.01, nil)
		if w > 0 {
			f.Width = &catalog.Figure{Mean: w}
		}
		return f
	}
	for ratio, want := range map[float64]Sorting{1.2: SortsLittle, 1.5: SortsSome, 2.9: SortsSome, 3.2: SortsMuch, 6: SortsMuch, 6.5: FallsThrough} {
		l := LotOf([]analysis.Portion{{Form: wide("a", 1), Mass: 100}, {Form: wide("b", ratio), Mass: 100}, {Form: wide("c", 0), Mass: 100}}, 1000)
		s := l.Sorting()
		if !s.Known || s.Degree != want || s.Narrow != 0 || s.Wide != 1 || s.Of[0] != want || s.Of[1] != "" || s.Of[2] != "" || len(s.Unknown) != 1 {
			t.Errorf("%v: %+v", ratio, s)
		}
	}
	// Teff among sunflower seeds is one of the large ratios.
	c := builtin(t)
	l := LotOf([]analysis.Portion{{Form: c.Form("teff/whole"), Mass: 100}, {Form: c.Form("sunflower/in-shell-striped"), Mass: 100}}, 1000)
	if s := l.Sorting(); s.Degree != SortsMuch && s.Degree != FallsThrough {
		t.Errorf("teff and sunflower: %+v", s)
	}
	if s := LotOf([]analysis.Portion{{Form: wide("a", 1), Mass: 100}}, 1000).Sorting(); s.Known {
		t.Error("one kind sorts itself")
	}
}
