package serving

import (
	"math"
	"math/rand/v2"
	"testing"

	"pgregory.net/rapid"

	"firlot/analysis"
	"firlot/catalog"
	"firlot/needs"
	"firlot/nutrient"
)

func near(t *testing.T, what string, got, want, within float64) {
	t.Helper()
	if !(math.Abs(got-want) <= within) {
		t.Errorf("%s: got %v, want %v within %v", what, got, want, within)
	}
}

// food is a form with figures and the mass of a piece in grams; 0: unknown.
func food(id string, piece float64, figures map[nutrient.Key]float64) *catalog.Form {
	f := &catalog.Form{ID: "x", State: "whole", Figures: map[nutrient.Key]catalog.Figure{},
		Ingredient: &catalog.Ingredient{ID: id, Class: catalog.Cereal, Names: catalog.Names{"en": {id}}}}
	for k, v := range figures {
		f.Figures[k] = catalog.Figure{Mean: v, Source: "test", How: catalog.Measured}
	}
	if piece > 0 {
		f.ThousandKernels = &catalog.Figure{Mean: piece * 1000, Source: "test", How: catalog.Measured}
	}
	return f
}

func measure(k nutrient.Key) analysis.Measure {
	return analysis.Measure{Nutrient: k, Basis: nutrient.AsFed, On: needs.Offered}
}

func fatAndFibre(fat, fibre float64) map[nutrient.Key]float64 {
	return map[nutrient.Key]float64{nutrient.CrudeFat: fat, nutrient.CrudeFibre: fibre}
}

// bowl is a mix of five kinds, made up for the purpose.
func bowl() []analysis.Portion {
	return []analysis.Portion{
		{Form: food("proso", 0.0058, fatAndFibre(3.5, 5.2)), Mass: 40 * nutrient.Gram},
		{Form: food("canary", 0.0070, fatAndFibre(5.5, 7.0)), Mass: 25 * nutrient.Gram},
		{Form: food("groats", 0.0260, fatAndFibre(6.9, 2.5)), Mass: 20 * nutrient.Gram},
		{Form: food("sunflower", 0.0550, fatAndFibre(44, 15.5)), Mass: 10 * nutrient.Gram},
		{Form: food("linseed", 0.0073, fatAndFibre(42, 9.5)), Mass: 5 * nutrient.Gram},
	}
}

// An example reckoned by hand from Gy's formula, to the digits written down
// then. It is not a published one.
func TestWorkedExample(t *testing.T) {
	large, small := LotOf(bowl(), math.Inf(1)), LotOf(bowl(), 500)
	fat, fibre := large.OfFigure(measure(nutrient.CrudeFat)), large.OfFigure(measure(nutrient.CrudeFibre))
	near(t, "fat", fat.Value, 10.6550, 5e-5)
	near(t, "K of fat", fat.K, 0.05912673, 5e-9)
	for i, want := range []float64{0.00104617, 0.00040963, 0.00064583, 0.05386631, 0.00315880} {
		near(t, "part of K", fat.Causes[i].K, want, 5e-9)
	}
	near(t, "fat, large lot", 100*large.RSD(fat.K, 10), 7.6894, 5e-5)
	near(t, "fat, points", large.RSD(fat.K, 10)*fat.Value, 0.8193, 5e-5)
	near(t, "fat, 500 g", 100*small.RSD(fat.K, 10), 7.6121, 5e-5)
	if top := fat.Top(); large.Pieces[top].Form.Ingredient.ID != "sunflower" {
		t.Errorf("most of it comes from %s", large.Pieces[top].Form.Ingredient.ID)
	}
	near(t, "sunflower's part", fat.Causes[3].K/fat.K, 0.91, 0.005)
	near(t, "portion for 10 %", large.Smallest(fat.K, 0.10), 5.91, 0.005)
	near(t, "portion for 5 %", large.Smallest(fat.K, 0.05), 23.65, 0.005)
	near(t, "fibre", fibre.Value, 6.3550, 5e-5)
	near(t, "K of fibre", fibre.K, 0.01348687, 5e-9)
	near(t, "fibre, large lot", 100*large.RSD(fibre.K, 10), 3.6724, 5e-5)
	near(t, "fibre, 500 g", 100*small.RSD(fibre.K, 10), 3.6355, 5e-5)
	shares := []float64{4.2468, 5.3977, 9.6506, 21.3339, 12.1052}
	counts := []float64{689.655, 357.143, 76.923, 18.182, 68.493}
	for i := range large.Pieces {
		near(t, "share", 100*large.RSD(large.OfShare(i).K, 10), shares[i], 5e-5)
		n, ok := large.Count(i, 10)
		if !ok {
			t.Fatal("the mass of a piece is known")
		}
		near(t, "pieces", n, counts[i], 5e-4)
	}
}

// Formula against plain simulation (generator PCG 11, 12): every portion takes
// a Poisson number of pieces of each kind. The 2 % allow for the formula being
// of first order; the spread of 40,000 portions errs by 0.35 %.
func TestAgainstSimulation(t *testing.T) {
	l := LotOf(bowl(), math.Inf(1))
	rng := rand.New(rand.NewPCG(11, 12))
	var fat, fibre, sunflower, apart []float64
	for range 40_000 {
		mass := make([]float64, len(l.Pieces))
		for i := range l.Pieces {
			n, _ := l.Count(i, 10)
			mass[i] = float64(poisson(rng, n)) * l.Pieces[i].Grams
		}
		fat = append(fat, content(l, mass, nutrient.CrudeFat))
		fibre = append(fibre, content(l, mass, nutrient.CrudeFibre))
		sunflower = append(sunflower, mass[3]/total(mass))
		// Sunflower by hand: always 1 g, beside 9 g of the rest.
		rest := append([]float64(nil), mass...)
		rest[3] = 0
		by := 9 / total(rest)
		for i := range rest {
			rest[i] *= by
		}
		rest[3] = 1
		apart = append(apart, content(l, rest, nutrient.CrudeFat))
	}
	f, c := l.OfFigure(measure(nutrient.CrudeFat)), l.OfFigure(measure(nutrient.CrudeFibre))
	for _, q := range []struct {
		what string
		got  []float64
		want float64
	}{
		{"fat", fat, l.RSD(f.K, 10)}, {"fibre", fibre, l.RSD(c.K, 10)},
		{"sunflower", sunflower, l.RSD(l.OfShare(3).K, 10)},
		{"fat, sunflower by hand", apart, l.RSD(f.Causes[3].Apart, 10)},
	} {
		near(t, q.what, rsd(q.got)/q.want, 1, 0.02)
	}
}

// A ratio on dry matter and as eaten, where the sum is of first order too.
func TestRatioAgainstSimulation(t *testing.T) {
	if testing.Short() {
		t.Skip("draws thousands of spoonfuls")
	}
	in := &catalog.Ingredient{ID: "millet", Class: catalog.Millet, Names: catalog.Names{"en": {"millet"}}}
	kernel := food("k", 0.005, map[nutrient.Key]float64{nutrient.CrudeFibre: 1, nutrient.Moisture: 10})
	whole := food("w", 0.006, map[nutrient.Key]float64{nutrient.CrudeFibre: 6, nutrient.Moisture: 11})
	kernel.ID, whole.ID, whole.EatenAs, whole.Hull = "kernel", "in-hull", "kernel", &catalog.Figure{Mean: 16}
	in.Forms = []*catalog.Form{kernel, whole}
	kernel.Ingredient, whole.Ingredient = in, in
	pea := food("pea", 0.2, map[nutrient.Key]float64{nutrient.CrudeFibre: 6, nutrient.Moisture: 13})
	l := LotOf([]analysis.Portion{{Form: whole, Mass: 90 * nutrient.Gram}, {Form: pea, Mass: 10 * nutrient.Gram}}, math.Inf(1))
	v := l.OfFigure(analysis.Measure{Nutrient: nutrient.CrudeFibre, Basis: nutrient.DryMatter, On: needs.Eaten})
	rng := rand.New(rand.NewPCG(21, 22))
	var got []float64
	for range 20_000 {
		n0, _ := l.Count(0, 60)
		n1, _ := l.Count(1, 60)
		a, b := float64(poisson(rng, n0))*0.006*0.84, float64(poisson(rng, n1))*0.2
		got = append(got, (a*1+b*6)/(a*0.90+b*0.87))
	}
	near(t, "value", v.Value, (90*0.84*1+10*6)/(90*0.84*0.90+10*0.87), 1e-9)
	near(t, "spread", rsd(got)/l.RSD(v.K, 60), 1, 0.04) // one kind of 30 pieces: the second order shows
}

// poisson counts exponential waits.
func poisson(rng *rand.Rand, mean float64) int {
	n := -1
	for t := 0.0; t <= mean; n++ {
		t += rng.ExpFloat64()
	}
	return n
}

func total(m []float64) float64 {
	s := 0.0
	for _, v := range m {
		s += v
	}
	return s
}

func content(l Lot, mass []float64, k nutrient.Key) float64 {
	s := 0.0
	for i, m := range mass {
		s += m * l.Pieces[i].Form.Figures[k].Mean
	}
	return s / total(mass)
}

func rsd(list []float64) float64 {
	mean := total(list) / float64(len(list))
	s := 0.0
	for _, v := range list {
		s += (v - mean) * (v - mean)
	}
	return math.Sqrt(s/float64(len(list)-1)) / mean
}

// A piece of unknown mass is named, and never counted as none.
func TestUnknownPieceIsSaid(t *testing.T) {
	mix := append(bowl(), analysis.Portion{Form: food("leaf", 0, fatAndFibre(3, 11)), Mass: 4 * nutrient.Gram})
	l := LotOf(mix, 1000)
	v := l.OfFigure(measure(nutrient.CrudeFibre))
	if len(v.Missing) != 1 || l.Pieces[v.Missing[0]].Form.Ingredient.ID != "leaf" {
		t.Fatalf("missing: %v", v.Missing)
	}
	if _, ok := l.Count(5, 10); ok {
		t.Error("leaves of unknown mass were counted")
	}
	if _, ok := l.None(5, 10); ok {
		t.Error("leaves of unknown mass were given a chance")
	}
	// Given the mass that doubles the sum, it doubles.
	m, ok := v.Doubling(5)
	if !ok {
		t.Fatal("no mass would double it")
	}
	mix[5].Form = food("leaf", m, fatAndFibre(3, 11))
	w := LotOf(mix, 1000).OfFigure(measure(nutrient.CrudeFibre))
	near(t, "doubled", w.K/v.K, 2, 1e-9)
	if len(w.Missing) != 0 {
		t.Error("still missing")
	}
	// A figure that one of them lacks has no variation.
	mix[5].Form = food("leaf", 0.01, nil)
	if u := LotOf(mix, 1000).OfFigure(measure(nutrient.CrudeFibre)); u.Known || len(u.Unknown) != 1 {
		t.Errorf("a missing figure was taken as known: %+v", u)
	}
}

func TestNone(t *testing.T) {
	l := LotOf(bowl(), math.Inf(1))
	p, _ := l.None(3, 10)
	near(t, "no sunflower in 10 g of a large lot", p, math.Exp(-100.0/5.5), 1e-15)
	// 100 g hold 181.8 seeds; 50 g miss each with one half.
	p, _ = LotOf(bowl(), 100).None(3, 50)
	near(t, "half of the lot", math.Log2(p), -10/0.055, 1e-6)
	p, _ = LotOf(bowl(), 100).None(3, 100)
	near(t, "the whole lot", p, 0, 0)
}

// Properties of every lot.
func TestSpoonfulProperties(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(1, 6).Draw(t, "n")
		scale := rapid.Float64Range(0.1, 10).Draw(t, "scale")
		var mix, heavier []analysis.Portion
		for range n {
			fat, piece := rapid.Float64Range(0.1, 60).Draw(t, "fat"), rapid.Float64Range(1e-4, 1).Draw(t, "piece")
			m := nutrient.Mass(rapid.IntRange(1, 1_000_000).Draw(t, "mass"))
			mix = append(mix, analysis.Portion{Form: food("f", piece, fatAndFibre(fat, 5)), Mass: m})
			heavier = append(heavier, analysis.Portion{Form: food("f", piece*scale, fatAndFibre(fat, 5)), Mass: 3 * m})
		}
		grams := rapid.Float64Range(50, 5000).Draw(t, "lot")
		l := LotOf(mix, grams)
		v := l.OfFigure(measure(nutrient.CrudeFat))
		if n == 1 && v.K != 0 {
			t.Fatalf("one kind alone varies by %v", v.K)
		}
		a, b := rapid.Float64Range(0.1, 40).Draw(t, "a"), rapid.Float64Range(0.1, 40).Draw(t, "b")
		if a > b {
			a, b = b, a
		}
		if l.RSD(v.K, a) < l.RSD(v.K, b) {
			t.Fatalf("%v g varies less than %v g", a, b)
		}
		if l.RSD(v.K, grams) != 0 {
			t.Fatal("the whole lot varies")
		}
		large := LotOf(mix, math.Inf(1))
		if r := large.RSD(v.K, a); math.Abs(2*large.RSD(v.K, 4*a)-r) > 1e-9*r {
			t.Fatal("four times the portion does not halve the spread")
		}
		// Heavier pieces: in proportion; more of the same mix: no change.
		if w := LotOf(heavier, grams).OfFigure(measure(nutrient.CrudeFat)); math.Abs(w.K-v.K*scale) > 1e-9*(w.K+1e-12) {
			t.Fatalf("pieces %v times as heavy: K %v from %v", scale, w.K, v.K)
		}
		// Fibre is the same in all of them, so it cannot vary.
		if u := l.OfFigure(measure(nutrient.CrudeFibre)); u.K > 1e-20 {
			t.Fatalf("what is the same everywhere varies by %v", u.K)
		}
		if v.K > 0 {
			target := rapid.Float64Range(0.001, 0.5).Draw(t, "target")
			if r := l.RSD(v.K, l.Smallest(v.K, target)); math.Abs(r-target) > 1e-6*target {
				t.Fatalf("the smallest portion gives %v, asked was %v", r, target)
			}
		}
	})
}
