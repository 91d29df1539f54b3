package serving

import (
	"math"
	"math/rand/v2"
	"testing"

	"firlot/nutrient"
)

// The counts of two spoonfuls, written down when they were first drawn: whole
// numbers only, so they are the same on every platform. They say nothing of
// whether the counts are right; the tests below do.
func TestDrawIsTheSame(t *testing.T) {
	l := LotOf(bowl(), 500)
	for seed, want := range map[uint64][5]int{1: {701, 349, 82, 17, 74}, 2: {674, 359, 67, 25, 75}} {
		var got [5]int
		for i, d := range l.Draw(10, seed) {
			got[i] = d.Count
		}
		if got != want {
			t.Errorf("seed %d: %v, was %v", seed, got, want)
		}
	}
}

// Drawn spoonfuls differ as Gy's formula says, the lot's finiteness included.
// The 2 % are as in TestAgainstSimulation.
func TestDrawAgreesWithGy(t *testing.T) {
	for _, lot := range []float64{30, 500} {
		l := LotOf(bowl(), lot)
		var fat, sunflower []float64
		for seed := range uint64(20_000) {
			mass := make([]float64, len(l.Pieces))
			for i, d := range l.Draw(10, seed) {
				mass[i] = float64(d.Count) * d.Grams
			}
			fat = append(fat, content(l, mass, nutrient.CrudeFat))
			sunflower = append(sunflower, mass[3]/total(mass))
		}
		near(t, "fat", rsd(fat)/l.RSD(l.OfFigure(measure(nutrient.CrudeFat)).K, 10), 1, 0.02)
		near(t, "sunflower", rsd(sunflower)/l.RSD(l.OfShare(3).K, 10), 1, 0.02)
	}
}

// Binomial counts have their mean and variance: 20,000 of them err by 1 % in
// the variance.
func TestBinomial(t *testing.T) {
	rng := rand.New(rand.NewPCG(61, 62))
	for _, c := range []struct{ n, a, b uint64 }{{1, 1, 3}, {63, 1, 50}, {64, 1, 2}, {1000, 999, 1000}, {86_000, 10, 500}} {
		p := float64(c.a) / float64(c.b)
		var sum, square float64
		const draws = 20_000
		for range draws {
			k := float64(binomial(rng, c.n, fraction(c.a, c.b)))
			if k > float64(c.n) {
				t.Fatalf("%v of %d", k, c.n)
			}
			sum += k
			square += k * k
		}
		mean, want := sum/draws, float64(c.n)*p
		sd := math.Sqrt(want * (1 - p))
		near(t, "mean", (mean-want)/sd*math.Sqrt(draws), 0, 4)
		near(t, "variance", (square/draws-mean*mean)/(sd*sd), 1, 0.05)
	}
	if n := binomial(rng, 77, fraction(5, 5)); n != 77 {
		t.Errorf("the whole lot is %d of 77", n)
	}
	if n := binomial(rng, 77, fraction(0, 5)); n != 0 {
		t.Errorf("nothing is %d of 77", n)
	}
}

func TestDrawWithoutMass(t *testing.T) {
	mix := bowl()
	mix[2].Form = food("leaf", 0, fatAndFibre(3, 11))
	drawn := LotOf(mix, 500).Draw(10, 7)
	if drawn[2].Known || drawn[2].Mass != 0 {
		t.Errorf("leaves of unknown mass were counted: %+v", drawn[2])
	}
	if _, all := Portions(drawn); all {
		t.Error("a spoonful with pieces of unknown mass is said to be all known")
	}
	if d := LotOf(bowl(), math.Inf(1)).Draw(10, 3); d[0].Count < 500 || d[0].Count > 900 {
		t.Errorf("from an endless lot: %+v", d[0])
	}
	whole := LotOf(bowl(), 500)
	for i, d := range whole.Draw(500, 3) {
		n, _ := whole.Count(i, 500)
		near(t, "the whole lot", float64(d.Count), n, 0.5)
	}
}
