package files

import (
	"math"
	"testing"

	"firlot/catalog"
	"firlot/nutrient"
)

// The trade facts in this file are common practice and have no source.

// Two forms analyse alike when none of the five proximates on dry matter
// differs by more than alike points; they do not when one differs by more
// than apart. A point is half of what a label may be off on protein of 10 %.
const (
	alike = 1.5
	apart = 2.0
)

// difference is the largest difference between two forms in a proximate on
// dry matter or in moisture, in points, and which it is.
func difference(a, b *catalog.Form) (float64, nutrient.Key) {
	worst, which := 0.0, nutrient.Moisture
	for _, k := range []nutrient.Key{nutrient.Moisture, nutrient.CrudeProtein, nutrient.CrudeFat, nutrient.CrudeFibre, nutrient.Ash} {
		x, y := a.Figures[k].Mean, b.Figures[k].Mean
		if k != nutrient.Moisture {
			x, _ = nutrient.ToDryMatter(x, a.Figures[nutrient.Moisture].Mean)
			y, _ = nutrient.ToDryMatter(y, b.Figures[nutrient.Moisture].Mean)
		}
		if d := math.Abs(x - y); d > worst {
			worst, which = d, k
		}
	}
	return worst, which
}

// TestFormsThatDoNotAnalyseAlike: a form must not stand in for another where
// the trade knows that they differ.
func TestFormsThatDoNotAnalyseAlike(t *testing.T) {
	c := builtin(t)
	for _, p := range [][2]string{
		{"amaranth/popped", "amaranth/whole"}, // popping drives off the water
		{"barley/pearled", "barley/hulled"},   // pearling takes the bran
		{"barley/in-hull", "barley/hulled"},
		{"oats/in-hull", "oats/groats"},
		{"rice/white", "rice/brown"},
		{"rice/paddy", "rice/brown"},
		{"sunflower/in-shell-striped", "sunflower/kernel"},
		{"proso-millet/in-hull", "proso-millet/hulled"},
		{"buckwheat/in-hull", "buckwheat/groats"},
		{"spelt/in-hull", "spelt/hulled"},
		{"wheat/bran", "wheat/whole"},
	} {
		a, b := form(t, c, p[0]), form(t, c, p[1])
		d, k := difference(a, b)
		t.Logf("%s and %s: %.1f points of %s", p[0], p[1], d, k)
		if d < apart {
			t.Errorf("%s and %s differ by only %.1f points of %s", p[0], p[1], d, k)
		}
	}
}

// TestFormsThatAreNear: rolling or splitting takes nothing away.
func TestFormsThatAreNear(t *testing.T) {
	c := builtin(t)
	for _, p := range [][2]string{
		{"oats/rolled", "oats/groats"},
		{"wheat/rolled", "wheat/whole"},
		{"rye/rolled", "rye/whole"},
		{"barley/rolled", "barley/hulled"},
		{"maize/cracked", "maize/whole"},
	} {
		a, b := form(t, c, p[0]), form(t, c, p[1])
		d, k := difference(a, b)
		moisture := math.Abs(a.Figures[nutrient.Moisture].Mean - b.Figures[nutrient.Moisture].Mean)
		t.Logf("%s and %s: %.1f points of %s", p[0], p[1], d, k)
		if k != nutrient.Moisture && d > alike || moisture > 2*alike {
			t.Errorf("%s and %s differ by %.1f points of %s", p[0], p[1], d, k)
		}
	}
}

// TestPoppedAmaranth: popping costs amaranth a good part of its lysine, and
// a spoon of it holds a quarter of the weight.
func TestPoppedAmaranth(t *testing.T) {
	c := builtin(t)
	popped, whole := form(t, c, "amaranth/popped"), form(t, c, "amaranth/whole")
	share := func(f *catalog.Form) float64 {
		return f.Figures[nutrient.Lysine].Mean / f.Figures[nutrient.CrudeProtein].Mean
	}
	if share(popped) > 0.8*share(whole) {
		t.Errorf("lysine in protein: popped %.3f, whole %.3f", share(popped), share(whole))
	}
	if popped.BulkDensity.Mean > whole.BulkDensity.Mean/3 {
		t.Errorf("popped %v g/mL, whole %v g/mL", popped.BulkDensity.Mean, whole.BulkDensity.Mean)
	}
}

func form(t *testing.T, c *catalog.Catalogue, ref string) *catalog.Form {
	t.Helper()
	f := c.Form(ref)
	if f == nil {
		t.Fatalf("%s is not in the catalogue", ref)
	}
	return f
}
