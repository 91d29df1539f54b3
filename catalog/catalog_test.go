package catalog_test

import (
	"math"
	"slices"
	"testing"

	"firlot/catalog"
	"firlot/nutrient"
)

func fig(mean float64, how catalog.Evidence) catalog.Figure {
	return catalog.Figure{Mean: mean, Source: "test", How: how}
}

// grain is an invented oat with a groat, a hull of a quarter and known
// proximates.
func grain() *catalog.Ingredient {
	in := &catalog.Ingredient{ID: "grain", Latin: "Granum", Class: catalog.Cereal,
		Names: catalog.Names{"en": {"grain"}, "pt": {"grão"}}}
	hull, left := fig(25, catalog.Measured), fig(60, catalog.Assumed)
	in.Forms = []*catalog.Form{
		{ID: "in-hull", State: "in hull", EatenAs: "groat", Hull: &hull, HullLeft: &left, Names: catalog.Names{"en": {"grain in hull"}},
			Figures: map[nutrient.Key]catalog.Figure{
				nutrient.Moisture: fig(12, catalog.Measured), nutrient.CrudeProtein: fig(10, catalog.Measured),
				nutrient.CrudeFat: fig(5, catalog.Recalled), nutrient.CrudeFibre: fig(11, catalog.Measured),
				nutrient.Ash: fig(3, catalog.Measured)}},
		{ID: "groat", State: "groats", Figures: map[nutrient.Key]catalog.Figure{
			nutrient.CrudeProtein: fig(13, catalog.Measured), nutrient.Methionine: fig(0.2, catalog.Measured)}},
	}
	return in
}

func grains() *catalog.Catalogue {
	return catalog.New([]*catalog.Ingredient{grain()}, []catalog.Unsafe{{ID: "bad", Names: catalog.Names{"en": {"bad thing"}}}}, nil)
}

// TestDerivedFigures: nitrogen-free extract and energy follow from their
// parts and take the worst evidence among them; without a part they are
// unknown.
func TestDerivedFigures(t *testing.T) {
	c := grains()
	f := c.Form("grain/in-hull")
	nfe, ok := f.Figure(nutrient.NFE)
	if !ok || nfe.Mean != 59 || nfe.How != catalog.Recalled {
		t.Errorf("nitrogen-free extract %+v, %v; want 59, recalled", nfe, ok)
	}
	// Modified Atwater by hand: 10 × (3.5 × 10 + 8.5 × 5 + 3.5 × 59) = 2840.
	if e, ok := f.Figure(nutrient.Energy); !ok || math.Abs(e.Mean-2840) > 1e-9 {
		t.Errorf("energy %+v, %v; want 2840", e, ok)
	}
	if _, ok := c.Form("grain/groat").Figure(nutrient.MethionineCystine); ok {
		t.Error("methionine + cystine is known without cystine")
	}
}

// TestBounds: a known figure is bounded by itself, an unknown one by nothing
// and what its whole leaves.
func TestBounds(t *testing.T) {
	c := grains()
	hulled, groat := c.Form("grain/in-hull"), c.Form("grain/groat")
	for _, tt := range []struct {
		f           *catalog.Form
		k           nutrient.Key
		least, most float64
	}{
		{hulled, nutrient.CrudeProtein, 10, 10},
		{hulled, nutrient.Lysine, 0, 10},                     // of 10 % protein, whose ceiling is 10 too
		{hulled, nutrient.Calcium, 0, 3 * (1 + 2*0.11)},      // of the ash, at twice its spread
		{hulled, nutrient.Linoleic, 0, 5 * (1 + 2*1.5*0.21)}, // of the fat, recalled
		{hulled, nutrient.Starch, 0, 70.91},                  // of what the proximates leave
		{hulled, nutrient.Iron, 0, 5000},                     // not counted in per cent: its ceiling
		{groat, nutrient.CrudeFat, 0, 100 - 13*(1-2*0.12)},   // beside 13 % protein
		{groat, nutrient.MethionineCystine, 0.2, 5.2},        // cystine up to its ceiling of 5
		{groat, nutrient.PhenylalanineTyrosine, 0, 16},       // both unknown
		{groat, nutrient.NFE, 0, 87},                         // all but the protein
		{hulled, "nonsense", 0, 0},
	} {
		least, most := tt.f.Bounds(tt.k)
		if math.Abs(least-tt.least) > 1e-9 || math.Abs(most-tt.most) > 1e-9 {
			t.Errorf("%s %s: %v to %v, want %v to %v", tt.f.Ref(), tt.k, least, most, tt.least, tt.most)
		}
	}
}

// TestHullAndKernel: a husked form is eaten as its kernel; others are eaten
// as they are and leave nothing.
func TestHullAndKernel(t *testing.T) {
	c := grains()
	f, k := c.Form("grain/in-hull"), c.Form("grain/groat")
	if f.Kernel() != k || k.Kernel() != k {
		t.Error("the kernel of the hulled form is the groat, and the groat's is itself")
	}
	if hull, left := f.HullShares(); hull != 0.25 || left != 0.6 {
		t.Errorf("hull %v, left %v", hull, left)
	}
	if hull, left := k.HullShares(); hull != 0 || left != 0 {
		t.Errorf("a groat with a hull of %v, left %v", hull, left)
	}
}

// TestSpread: a recorded spread is kept; a stand-in is the class's coefficient
// of variation, wider the less the figure is known; a missing figure has none.
func TestSpread(t *testing.T) {
	f := grains().Form("grain/in-hull")
	measured, recorded, known := f.Spread(nutrient.CrudeProtein)
	if recorded || !known || math.Abs(measured-1.2) > 1e-9 {
		t.Errorf("12 %% of 10 is 1.2; got %v, %v, %v", measured, recorded, known)
	}
	if recalled, _, _ := f.Spread(nutrient.CrudeFat); math.Abs(recalled-1.5*0.21*5) > 1e-9 {
		t.Errorf("a recalled fat of 5 has a spread of %v", recalled)
	}
	f.Figures[nutrient.Ash] = catalog.Figure{Mean: 3, SD: 0.1, Source: "test", How: catalog.Assumed}
	if sd, recorded, _ := f.Spread(nutrient.Ash); sd != 0.1 || !recorded {
		t.Errorf("a recorded spread of 0.1 reads %v, %v", sd, recorded)
	}
	if sd, _, known := f.Spread(nutrient.Calcium); sd != 0 || known {
		t.Errorf("a missing figure has a spread of %v", sd)
	}
}

// TestSpreadOfFreshAndDried: the same root spreads as fresh food when it is
// wet and as a dried herb when it is not; fresh food holds no more than 3 % of
// its moisture either way, so that it never comes near 100.
func TestSpreadOfFreshAndDried(t *testing.T) {
	root := &catalog.Ingredient{ID: "root", Class: catalog.Root, Names: catalog.Names{"en": {"root"}}}
	for id, moisture := range map[string]float64{"fresh": 90, "dried": 10} {
		root.Forms = append(root.Forms, &catalog.Form{ID: id, Ingredient: root,
			Figures: map[nutrient.Key]catalog.Figure{nutrient.Moisture: fig(moisture, catalog.Measured)}})
	}
	fresh, _, _ := root.Form("fresh").Spread(nutrient.Moisture)
	dried, _, _ := root.Form("dried").Spread(nutrient.Moisture)
	if math.Abs(fresh-2.7) > 1e-9 || math.Abs(dried-1.5) > 1e-9 {
		t.Errorf("fresh ± %v, dried ± %v; want 2.7 and 1.5", fresh, dried)
	}
}

// TestWith: own ingredients join or replace, and the first catalogue keeps
// its own.
func TestWith(t *testing.T) {
	c := grains()
	mine := &catalog.Ingredient{ID: "grain", Class: catalog.Other, Names: catalog.Names{"en": {"my grain"}}}
	mine.Forms = []*catalog.Form{{ID: "own", Ingredient: mine}}
	seed := &catalog.Ingredient{ID: "seed", Class: catalog.SmallSeed, Names: catalog.Names{"en": {"seed"}}}
	seed.Forms = []*catalog.Form{{ID: "own", Ingredient: seed}}
	d := c.With(mine, seed)
	if d.Form("grain/own") == nil || d.Form("grain/groat") != nil || d.Form("seed/own") == nil || len(d.Forms()) != 2 {
		t.Errorf("with: %d forms", len(d.Forms()))
	}
	if c.Form("grain/own") != nil || c.Form("grain/groat") == nil || len(c.Forms()) != 2 {
		t.Errorf("the first catalogue changed: %d forms", len(c.Forms()))
	}
	if got := d.Called(d.Form("grain/own")); len(got) != 2 || got[1].Folded != "my grain" {
		t.Errorf("names of the replaced ingredient: %+v", got)
	}
	if got := d.Unsafes(); len(got.Names) != 2 || !slices.Equal(got.Foods([]string{"bad", "things"}), []int{0}) {
		t.Errorf("unsafe names: %+v", got)
	}
	if c.With() != c {
		t.Error("with nothing is another catalogue")
	}
}

// TestName: a form's own name, then its only-form ingredient's, then English.
func TestName(t *testing.T) {
	in := grain()
	f := in.Forms[0]
	f.Ingredient = in
	if got := f.Name("pt"); got != "grain in hull" {
		t.Errorf("one form of several is shown as %q", got)
	}
	in.Forms = in.Forms[:1]
	if got := f.Name("pt"); got != "grão" {
		t.Errorf("the only form is shown as %q", got)
	}
	if got := f.Name("de"); got != "grain in hull" {
		t.Errorf("without a German name it is shown as %q", got)
	}
}

// TestEvidence: the worse of two kinds, whatever their order.
func TestEvidence(t *testing.T) {
	order := []catalog.Evidence{catalog.Measured, catalog.Derived, catalog.Recalled, catalog.Assumed}
	for i, a := range order {
		for j, b := range order {
			if got := a.Worse(b); got != order[max(i, j)] {
				t.Errorf("%s and %s: %s", a, b, got)
			}
		}
		if !a.Known() {
			t.Errorf("%s is not known", a)
		}
	}
	if catalog.Evidence("guessed").Known() || catalog.Measured.Worse("guessed") != "guessed" {
		t.Error("an unknown word is known, or better than measured")
	}
}

// TestLimitFor: a limit without species holds for all.
func TestLimitFor(t *testing.T) {
	if !(catalog.Limit{}).For("mouse") || (catalog.Limit{Species: []string{"rat"}}).For("mouse") || !(catalog.Limit{Species: []string{"rat", "mouse"}}).For("mouse") {
		t.Error("a limit holds for the wrong species")
	}
}
