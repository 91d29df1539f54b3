package analysis

import (
	"math"
	"math/rand/v2"
	"testing"

	"pgregory.net/rapid"

	"firlot/catalog"
	"firlot/needs"
	"firlot/nutrient"
)

// food makes a form with the given figures; sd is a per cent of each mean.
func food(id string, cv float64, figures map[nutrient.Key]float64) *catalog.Form {
	f := &catalog.Form{ID: "x", State: "whole", Figures: map[nutrient.Key]catalog.Figure{},
		Ingredient: &catalog.Ingredient{ID: id, Class: catalog.Cereal, Names: catalog.Names{"en": {id}}}}
	for k, v := range figures {
		f.Figures[k] = catalog.Figure{Mean: v, SD: v * cv / 100, Source: "test", How: catalog.Measured}
	}
	return f
}

func near(t *testing.T, what string, got, want, within float64) {
	t.Helper()
	if math.Abs(got-want) > within || math.IsNaN(got) {
		t.Errorf("%s: got %v, want %v within %v", what, got, want, within)
	}
}

func asFed(k nutrient.Key) Measure {
	return Measure{Nutrient: k, Basis: nutrient.AsFed, On: needs.Offered}
}

func onDry(k nutrient.Key) Measure {
	return Measure{Nutrient: k, Basis: nutrient.DryMatter, On: needs.Offered}
}

func ptr(v float64) *float64 { return &v }

// Source: FDA's example of comparing a canned with a dry food, as quoted in
// "How to read pet food labels, part 3" (2007): 8 % protein at 75 % moisture
// is 32 % of dry matter, 27 % at 10 % is 30 %. PetMD gives 20 % at 10 %
// moisture as 22.2 %.
func TestDryMatterOutside(t *testing.T) {
	for _, c := range []struct{ protein, moisture, want, within float64 }{
		{8, 75, 32, 1e-9}, {27, 10, 30, 1e-9}, {20, 10, 22.2, 0.05},
	} {
		f := food("can", 1, map[nutrient.Key]float64{nutrient.CrudeProtein: c.protein, nutrient.Moisture: c.moisture})
		v := Of([]Portion{{f, nutrient.Kilogram}}, onDry(nutrient.CrudeProtein))
		near(t, "protein on dry matter", v.Mean, c.want, c.within)
	}
}

// Source: AAFCO's worked example B1 (canned cat food), as printed in a public
// hand-out: guarantees 9, 7, 1, 75, 2 and Ca 0.25, P 0.2 give 1,120 kcal/kg
// and, brought to 4,000 kcal/kg, protein 32.1, fat 25.0, Ca 0.89, P 0.71.
func TestEnergyAdjustmentOutside(t *testing.T) {
	f := food("can", 1, map[nutrient.Key]float64{nutrient.CrudeProtein: 9, nutrient.CrudeFat: 7, nutrient.CrudeFibre: 1,
		nutrient.Moisture: 75, nutrient.Ash: 2, nutrient.Calcium: 0.25, nutrient.Phosphorus: 0.2})
	can := []Portion{{f, nutrient.Kilogram}}
	near(t, "energy", Of(can, asFed(nutrient.Energy)).Mean, 1120, 1e-9)
	for k, want := range map[nutrient.Key]float64{nutrient.CrudeProtein: 32.1, nutrient.CrudeFat: 25.0, nutrient.Calcium: 0.89, nutrient.Phosphorus: 0.71} {
		v := Of(can, Measure{Nutrient: k, Per: nutrient.Energy, Basis: nutrient.AsFed, On: needs.Offered})
		near(t, string(k)+" at 4,000 kcal/kg", v.Mean*4000, want, 0.051)
	}
	near(t, "calcium closer", Of(can, Measure{Nutrient: nutrient.Calcium, Per: nutrient.Energy, On: needs.Offered}).Mean*4000, 0.89, 0.005)
}

// The factors are those of the rule and of the text named in EnergyMethods;
// the example and its results were reckoned by hand from them.
func TestEnergyMethods(t *testing.T) {
	f := food("mix", 1, map[nutrient.Key]float64{nutrient.CrudeProtein: 14, nutrient.CrudeFat: 7, nutrient.CrudeFibre: 8,
		nutrient.Moisture: 10, nutrient.Ash: 4})
	p, ok := ProximatesOf([]Portion{{f, nutrient.Gram}})
	if !ok {
		t.Fatal("the proximates are known")
	}
	near(t, "nitrogen-free extract", p.NFE, 57, 1e-9)
	want := map[string]float64{"modified_atwater": 3080, "atwater": 3470, "four_step_dog": 3088.9, "four_step_cat": 3192.2}
	for _, m := range EnergyMethods() {
		near(t, m.Key, m.Of(p), want[m.Key], 0.06)
	}
	near(t, "energy as a figure", Of([]Portion{{f, nutrient.Gram}}, asFed(nutrient.Energy)).Mean, 3080, 1e-9)
}

// Growing rats, measured metabolisable energy on dry matter: oat husk meal
// 1.36 MJ/kg, maize 15.23 (an abstract on rats' energy from feedstuffs). The
// default method must be far too kind to husk and near for maize, which is
// what EnergyMethods warns of. Husk and maize proximates: recalled.
func TestEnergyFailsOnHusk(t *testing.T) {
	const kcalPerMJ = 239.006
	husk := Proximates{Moisture: 10, Protein: 3.5, Fat: 1.5, Fibre: 30, Ash: 4.5, NFE: 50.5}
	maize := Proximates{Moisture: 12, Protein: 9, Fat: 4, Fibre: 2.3, Ash: 1.3, NFE: 71.4}
	byRule := EnergyMethods()[0].Of
	if ratio := byRule(husk) / 0.90 / (1.36 * kcalPerMJ); ratio < 3 {
		t.Errorf("modified Atwater gives husk only %.1f times what rats drew; the warning would be wrong", ratio)
	}
	near(t, "maize", byRule(maize)/0.88/(15.23*kcalPerMJ), 1, 0.15)
}

// Arithmetic of a mix by hand: 300 g at 12 %, 150 g at 14 %, 50 g at 20 %.
func TestShareOfAMix(t *testing.T) {
	mk := func(p float64) *catalog.Form {
		return food("f", 1, map[nutrient.Key]float64{nutrient.CrudeProtein: p})
	}
	mixed := []Portion{{mk(12), 300 * nutrient.Gram}, {mk(14), 150 * nutrient.Gram}, {mk(20), 50 * nutrient.Gram}}
	near(t, "protein", Of(mixed, asFed(nutrient.CrudeProtein)).Mean, 13.4, 1e-12)
	// Common practice, no source: doubling every amount changes no share.
	double := []Portion{{mixed[0].Form, 600 * nutrient.Gram}, {mixed[1].Form, 300 * nutrient.Gram}, {mixed[2].Form, 100 * nutrient.Gram}}
	near(t, "doubled", Of(double, asFed(nutrient.CrudeProtein)).Mean, 13.4, 1e-12)
}

func TestMissingIsNeverZero(t *testing.T) {
	known := food("a", 1, map[nutrient.Key]float64{nutrient.CrudeFibre: 10, nutrient.CrudeProtein: 10, nutrient.Moisture: 10, nutrient.CrudeFat: 5, nutrient.Ash: 5})
	blank := food("b", 1, map[nutrient.Key]float64{nutrient.CrudeProtein: 20, nutrient.Moisture: 10, nutrient.CrudeFat: 5, nutrient.Ash: 5})
	mixed := []Portion{{known, 900 * nutrient.Gram}, {blank, 100 * nutrient.Gram}}
	v := Of(mixed, asFed(nutrient.CrudeFibre))
	near(t, "mean of the known part", v.Mean, 10, 1e-12)
	near(t, "known share", v.KnownShare, 0.9, 1e-12)
	near(t, "least", v.Least, 9, 1e-12)
	// What the other four leave of 100: 60 %, and twice their spread of 1 %.
	near(t, "most", v.Most, 9+0.1*(60+2*0.4), 1e-9)
	window := func(lo, hi float64) needs.Window {
		return needs.Window{Nutrient: nutrient.CrudeFibre, Min: ptr(lo), Max: ptr(hi), Basis: nutrient.AsFed, On: needs.Offered}
	}
	for _, c := range []struct {
		lo, hi float64
		want   Verdict
	}{{8, 16, Inside}, {9.5, 16, NotKnown}, {8, 12, NotKnown}, {16, 20, Outside}, {2, 8, Outside}} {
		if got := CheckWindow(mixed, window(c.lo, c.hi)).Verdict; got != c.want {
			t.Errorf("window %v to %v: %v, want %v", c.lo, c.hi, got, c.want)
		}
	}
}

// A husked seed: h = 0.215 and full removal leave the kernel's analysis.
func TestEaten(t *testing.T) {
	in := &catalog.Ingredient{ID: "buckwheat", Class: catalog.Pseudocereal, Names: catalog.Names{"en": {"buckwheat"}}}
	groats := food("", 1, map[nutrient.Key]float64{nutrient.CrudeFibre: 0.6, nutrient.Moisture: 12})
	whole := food("", 1, map[nutrient.Key]float64{nutrient.CrudeFibre: 10.7, nutrient.Moisture: 11})
	groats.ID, whole.ID = "groats", "in-hull"
	whole.EatenAs = "groats"
	whole.Hull = &catalog.Figure{Mean: 21.5}
	in.Forms = []*catalog.Form{groats, whole}
	groats.Ingredient, whole.Ingredient = in, in
	all := Of([]Portion{{whole, nutrient.Kilogram}}, Measure{Nutrient: nutrient.CrudeFibre, Basis: nutrient.AsFed, On: needs.Eaten})
	near(t, "all husk left", all.Mean, 0.6, 1e-12)
	whole.HullLeft = &catalog.Figure{Mean: 50}
	half := Of([]Portion{{whole, nutrient.Kilogram}}, Measure{Nutrient: nutrient.CrudeFibre, Basis: nutrient.AsFed, On: needs.Eaten})
	// (½·10.7 + ½·0.785·0.6) / (1 − ½·0.215)
	near(t, "half the husk left", half.Mean, (0.5*10.7+0.5*0.785*0.6)/(1-0.5*0.215), 1e-12)
}

// The joint chance against plain simulation, windows sharing figures.
func TestJointAgainstSimulation(t *testing.T) {
	if testing.Short() {
		t.Skip("draws 300,000 mixes")
	}
	a := food("a", 12, map[nutrient.Key]float64{nutrient.CrudeProtein: 12, nutrient.CrudeFat: 5, nutrient.CrudeFibre: 9, nutrient.Moisture: 10, nutrient.Ash: 3})
	b := food("b", 9, map[nutrient.Key]float64{nutrient.CrudeProtein: 24, nutrient.CrudeFat: 12, nutrient.CrudeFibre: 4, nutrient.Moisture: 8, nutrient.Ash: 4})
	mixed := []Portion{{a, 700 * nutrient.Gram}, {b, 300 * nutrient.Gram}}
	windows := []needs.Window{
		{Nutrient: nutrient.CrudeProtein, Min: ptr(15), Max: ptr(17), Basis: nutrient.AsFed, On: needs.Offered},
		{Nutrient: nutrient.CrudeProtein, Min: ptr(16.8), Basis: nutrient.DryMatter, On: needs.Offered},
		{Nutrient: nutrient.CrudeFat, Max: ptr(7.6), Basis: nutrient.AsFed, On: needs.Offered},
		{Nutrient: nutrient.CrudeFibre, Min: ptr(7), Basis: nutrient.AsFed, On: needs.Offered},
		{Nutrient: nutrient.Energy, Min: ptr(3250), Basis: nutrient.AsFed, On: needs.Offered},
		{Nutrient: nutrient.CrudeFat, Per: nutrient.CrudeProtein, Max: ptr(0.48), Basis: nutrient.AsFed, On: needs.Offered},
	}
	near(t, "joint chance", Joint(mixed, windows), simulate(mixed, windows, 80_000), 0.007)
	for _, w := range windows {
		near(t, string(w.Nutrient), CheckWindow(mixed, w).Chance, simulate(mixed, []needs.Window{w}, 40_000), 0.01)
	}
}

// simulate draws fresh bags and counts the mixes inside all windows.
func simulate(mixed []Portion, windows []needs.Window, n int) float64 {
	rng := rand.New(rand.NewPCG(1, 2))
	hits := 0
	for range n {
		bags := make([]Portion, len(mixed))
		for i, p := range mixed {
			f := *p.Form
			f.Figures = map[nutrient.Key]catalog.Figure{}
			for _, info := range nutrient.All() {
				if fig, ok := p.Form.Figures[info.Key]; ok {
					fig.Mean += fig.SD * rng.NormFloat64()
					f.Figures[info.Key] = fig
				}
			}
			bags[i] = Portion{&f, p.Mass}
		}
		if insideAll(bags, windows) {
			hits++
		}
	}
	return float64(hits) / float64(n)
}

func insideAll(bags []Portion, windows []needs.Window) bool {
	for _, w := range windows {
		v := Of(bags, MeasureOf(w)).Mean
		if w.Min != nil && v < *w.Min || w.Max != nil && v > *w.Max {
			return false
		}
	}
	return true
}

// The quantile and Φ against the standard table (Abramowitz and Stegun,
// Handbook of Mathematical Functions, table 26.1; values recalled).
func TestNormalOutside(t *testing.T) {
	for z, want := range map[float64]float64{0.5: 0.69146, 1: 0.84134, 1.282: 0.90008, 1.645: 0.95002, 2.326: 0.98999} {
		near(t, "Φ", Phi(z), want, 5e-6)
		near(t, "Φ⁻¹", Quantile(Phi(z)), z, 1e-9)
	}
	near(t, "Interval90", Interval90, Quantile(0.95), 1e-12)
}

// Properties of every mix: scaling keeps figures; a figure lies between those
// of its parts; spread falls when a bag is split into independent bags.
func TestMixProperties(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(1, 6).Draw(t, "n")
		var mixed, scaled []Portion
		lo, hi := math.Inf(1), math.Inf(-1)
		k := nutrient.Mass(rapid.IntRange(2, 9).Draw(t, "k"))
		for range n {
			p := rapid.Float64Range(0, 60).Draw(t, "protein")
			m := nutrient.Mass(rapid.IntRange(1, 1_000_000).Draw(t, "mass"))
			f := food("f", 10, map[nutrient.Key]float64{nutrient.CrudeProtein: p, nutrient.Moisture: 10})
			mixed, scaled = append(mixed, Portion{f, m}), append(scaled, Portion{f, m * k})
			lo, hi = min(lo, p), max(hi, p)
		}
		v, w := Of(mixed, asFed(nutrient.CrudeProtein)), Of(scaled, asFed(nutrient.CrudeProtein))
		if math.Abs(v.Mean-w.Mean) > 1e-9 || math.Abs(v.SD-w.SD) > 1e-9 {
			t.Fatalf("scaling changed %v ± %v to %v ± %v", v.Mean, v.SD, w.Mean, w.SD)
		}
		if v.Mean < lo-1e-9 || v.Mean > hi+1e-9 {
			t.Fatalf("mean %v outside its parts %v to %v", v.Mean, lo, hi)
		}
		if v.SD > 0.1*hi+1e-9 {
			t.Fatalf("spread %v above that of one bag", v.SD)
		}
		d := Of(mixed, onDry(nutrient.CrudeProtein))
		if math.Abs(d.Mean-v.Mean/0.9) > 1e-9 {
			t.Fatalf("dry matter %v, want %v", d.Mean, v.Mean/0.9)
		}
	})
}

func BenchmarkJoint(b *testing.B) {
	a := food("a", 12, map[nutrient.Key]float64{nutrient.CrudeProtein: 12, nutrient.CrudeFat: 5, nutrient.CrudeFibre: 9, nutrient.Moisture: 10, nutrient.Ash: 3})
	mixed := []Portion{{a, 700 * nutrient.Gram}}
	windows := []needs.Window{
		{Nutrient: nutrient.CrudeProtein, Min: ptr(11), Max: ptr(17), Basis: nutrient.AsFed, On: needs.Offered},
		{Nutrient: nutrient.CrudeFat, Max: ptr(7.6), Basis: nutrient.DryMatter, On: needs.Offered},
		{Nutrient: nutrient.CrudeFibre, Min: ptr(7), Basis: nutrient.DryMatter, On: needs.Offered},
	}
	b.ReportAllocs()
	for b.Loop() {
		Joint(mixed, windows)
	}
}
