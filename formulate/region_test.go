package formulate

import (
	"context"
	"math"
	"math/rand/v2"
	"testing"

	"firlot/analysis"
	"firlot/needs"
	"firlot/nutrient"
)

func measure(k nutrient.Key, b nutrient.Basis, on needs.Side) analysis.Measure {
	return analysis.Measure{Nutrient: k, Basis: b, On: on}
}

// Three foods without limits: the region is the triangle of their figures.
func TestRegionOfThreeFoods(t *testing.T) {
	text := "batch='1 kg'\n[[window]]\nnutrient='ash'\nmax=50\n"
	own := ""
	for _, f := range []struct {
		id             string
		protein, fibre string
	}{{"a", "10", "2"}, {"b", "20", "4"}, {"c", "12", "14"}} {
		text += "[[line]]\ningredient='" + f.id + "-food'\n"
		own += "[[own]]\nid='" + f.id + "-food'\nname='" + f.id + "'\nkind='laboratory'\nfigures.ash=2\nfigures.moisture=10\nfigures.crude_protein=" + f.protein + "\nfigures.crude_fibre=" + f.fibre + "\n"
	}
	r, err := FindRegion(context.Background(), planOf(t, text+own), measure(nutrient.CrudeFibre, "as fed", "offered"), measure(nutrient.CrudeProtein, "as fed", "offered"), RegionOptions{Leave: -1})
	if err != nil {
		t.Fatal(err)
	}
	want := [][2]float64{{2, 10}, {14, 12}, {4, 20}}
	if len(r.Corners) != len(want) {
		t.Fatalf("corners %v, want %v", r.Corners, want)
	}
	for i, c := range r.Corners {
		if math.Abs(c.X-want[i][0]) > 1e-9 || math.Abs(c.Y-want[i][1]) > 1e-9 {
			t.Errorf("corner %d at %v, %v; want %v", i, c.X, c.Y, want[i])
		}
	}
	if area := r.Area(); math.Abs(area-58) > 1e-9 { // ½·|12·10 − 2·2|
		t.Errorf("area %v, want 58", area)
	}
}

const tenSeeds = `
species = "gerbil"
stage = "adult"
batch = "1 kg"
[[line]]
ingredient = "oats/groats"
ceiling = "35 %"
[[line]]
ingredient = "proso-millet/in-hull"
[[line]]
ingredient = "canary-seed/in-hull"
[[line]]
ingredient = "buckwheat/in-hull"
[[line]]
ingredient = "wheat/whole"
[[line]]
ingredient = "linseed/whole"
[[line]]
ingredient = "sunflower/in-shell-striped"
[[line]]
ingredient = "pumpkin-seed/kernel"
[[line]]
ingredient = "nettle/leaf-dried"
[[line]]
ingredient = "dandelion/leaf-dried"
`

// Random mixes inside the limits lie in the region, each corner's mix makes
// its corner, and a region with an ingredient left out lies inside.
func TestRegionHoldsItsMixes(t *testing.T) {
	p := planOf(t, tenSeeds)
	for _, axes := range [][2]analysis.Measure{
		{measure(nutrient.CrudeFibre, "as fed", "offered"), measure(nutrient.CrudeProtein, "as fed", "offered")},
		{measure(nutrient.CrudeFat, "dry matter", "offered"), measure(nutrient.CrudeProtein, "dry matter", "offered")},
		{measure(nutrient.CrudeFibre, "as fed", "eaten"), measure(nutrient.CrudeProtein, "as fed", "eaten")},
	} {
		r, err := FindRegion(context.Background(), p, axes[0], axes[1], RegionOptions{Free: true, Leave: -1})
		if err != nil {
			t.Fatal(err)
		}
		if len(r.Corners) < 3 || r.Area() <= 0 {
			t.Fatalf("%v: corners %v", axes, r.Corners)
		}
		rng := rand.New(rand.NewPCG(3, 4))
		tried := 0
		for tried < 300 {
			x := randomMix(rng, len(p.Lines), p.Steps)
			if !respects(x, p.Steps, func(i int) int { return p.Lines[i].Ceiling }) {
				x = leanMix(rng, x, p.Steps, func(i int) int { return p.Lines[i].Ceiling })
			}
			tried++
			mixed := (&Answer{Plan: p, Steps: x}).Portions()
			vx, vy := analysis.Of(mixed, axes[0]).Mean, analysis.Of(mixed, axes[1]).Mean
			if !r.Contains(vx, vy) {
				t.Fatalf("mix %v at %v, %v lies outside", x, vx, vy)
			}
		}
		for _, c := range r.Corners {
			mixed := (&Answer{Plan: p, Steps: apportion(scaleShares(c.Shares, p.Steps), p.Steps)}).Portions()
			vx, vy := analysis.Of(mixed, axes[0]).Mean, analysis.Of(mixed, axes[1]).Mean
			if math.Abs(vx-c.X) > 0.05 || math.Abs(vy-c.Y) > 0.05 {
				t.Errorf("corner %v, %v is made as %v, %v", c.X, c.Y, vx, vy)
			}
		}
		left, err := FindRegion(context.Background(), p, axes[0], axes[1], RegionOptions{Free: true, Leave: 3})
		if err != nil {
			t.Fatal(err)
		}
		for _, c := range left.Corners {
			if !r.Contains(c.X, c.Y) {
				t.Errorf("without line 3, %v, %v lies outside the whole region", c.X, c.Y)
			}
		}
	}
}

func scaleShares(s []float64, n int) []float64 {
	out := make([]float64, len(s))
	for i, v := range s {
		out[i] = v * float64(n)
	}
	return out
}

func randomMix(rng *rand.Rand, n, steps int) []int {
	w := make([]float64, n)
	sum := 0.0
	for i := range w {
		w[i] = rng.ExpFloat64()
		if rng.IntN(3) == 0 {
			w[i] = 0
		}
		sum += w[i]
	}
	if sum == 0 {
		w[0], sum = 1, 1
	}
	for i := range w {
		w[i] *= float64(steps) / sum
	}
	return apportion(w, steps)
}

func respects(x []int, steps int, ceiling func(int) int) bool {
	for i, n := range x {
		if n > ceiling(i) {
			return false
		}
	}
	return true
}

// leanMix cuts every line to its ceiling and gives the rest to lines with
// room.
func leanMix(rng *rand.Rand, x []int, steps int, ceiling func(int) int) []int {
	left := steps
	for i := range x {
		x[i] = min(x[i], ceiling(i))
		left -= x[i]
	}
	for left > 0 {
		i := rng.IntN(len(x))
		add := min(left, ceiling(i)-x[i])
		x[i] += add
		left -= add
	}
	return x
}

func BenchmarkRegion(b *testing.B) {
	p := planOf(b, example(b, "gerbil-adult.toml"))
	b.ReportAllocs()
	for b.Loop() {
		if _, err := FindRegion(context.Background(), p, measure(nutrient.CrudeFibre, "as fed", "offered"), measure(nutrient.CrudeProtein, "as fed", "offered"), RegionOptions{Leave: -1}); err != nil {
			b.Fatal(err)
		}
	}
}
