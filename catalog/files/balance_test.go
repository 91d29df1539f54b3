package files

import (
	"math"
	"strings"
	"testing"

	"firlot/catalog"
	"firlot/nutrient"
)

// sum adds up figures of a form; it reports false where one is missing.
func sum(f *catalog.Form, keys ...nutrient.Key) (float64, bool) {
	total := 0.0
	for _, k := range keys {
		fig, ok := f.Figures[k]
		if !ok {
			return 0, false
		}
		total += fig.Mean
	}
	return total, true
}

// slack is by how many points the parts of 100 g may miss the whole before an
// entry has to say why: five analyses, each good to half a point or so, add
// up to within three.
const slack = 3

// TestProximatesAddUp: moisture, protein, fat, crude fibre and ash are at
// most the whole, and leave a nitrogen-free extract of nought or nearly.
func TestProximatesAddUp(t *testing.T) {
	c := builtin(t)
	for _, f := range c.Forms() {
		total, ok := sum(f, nutrient.Moisture, nutrient.CrudeProtein, nutrient.CrudeFat, nutrient.CrudeFibre, nutrient.Ash)
		if !ok {
			t.Errorf("%s lacks a proximate", f.Ref())
		}
		nfe, known := f.Figure(nutrient.NFE)
		if !known || math.Abs(nfe.Mean-(100-total)) > 1e-9 {
			t.Errorf("%s: nitrogen-free extract %v beside parts of %v", f.Ref(), nfe.Mean, total)
		}
		if total > 100+slack && f.Balance == "" {
			t.Errorf("%s: the proximates come to %.1f and the entry does not say why", f.Ref(), total)
		}
	}
}

// TestConstituentsAddUp: where starch, sugars and dietary fibre are known too,
// the parts make 100 or the entry says why they do not. An explanation that
// nothing needs is an error as well.
func TestConstituentsAddUp(t *testing.T) {
	c := builtin(t)
	full := 0
	for _, f := range c.Forms() {
		five, _ := sum(f, nutrient.Moisture, nutrient.CrudeProtein, nutrient.CrudeFat, nutrient.CrudeFibre, nutrient.Ash)
		total, ok := sum(f, nutrient.Moisture, nutrient.CrudeProtein, nutrient.CrudeFat, nutrient.Ash,
			nutrient.DietaryFibre, nutrient.Starch, nutrient.Sugars)
		if ok {
			full++
		}
		off := ok && math.Abs(total-100) > slack
		if off && f.Balance == "" {
			t.Errorf("%s: the parts come to %.1f and the entry does not say why", f.Ref(), total)
		}
		if f.Balance != "" && !off && five <= 100 {
			t.Errorf("%s explains a balance that needs no explaining: %q", f.Ref(), f.Balance)
		}
		if f.Balance != "" && !strings.HasSuffix(f.Balance, ".") {
			t.Errorf("%s: %q is not a sentence", f.Ref(), f.Balance)
		}
	}
	t.Logf("%d of %d forms know all parts", full, len(c.Forms()))
}

// TestFibresAreInOrder: neutral detergent fibre and dietary fibre both hold
// what crude fibre holds and more.
func TestFibresAreInOrder(t *testing.T) {
	c := builtin(t)
	for _, f := range c.Forms() {
		crude := f.Figures[nutrient.CrudeFibre].Mean
		if ndf, ok := f.Figures[nutrient.NDF]; ok && ndf.Mean < crude {
			t.Errorf("%s: neutral detergent fibre %v below crude fibre %v", f.Ref(), ndf.Mean, crude)
		}
		if df, ok := f.Figures[nutrient.DietaryFibre]; ok && df.Mean < crude && f.Balance == "" {
			t.Errorf("%s: dietary fibre %v below crude fibre %v and the entry does not say why", f.Ref(), df.Mean, crude)
		}
	}
}

// hullRange is what the dry matter of a hull or shell can be, in per cent.
// What is implied is (whole − (1−h) kernel) / h: an error of a tenth of a
// kernel's figure shows up three to eight times as large, and the two forms
// often come from tables of different lands, so a few points below nothing
// are let pass. Source of the bounds: oat, rice, sunflower, groundnut and
// buckwheat hulls in the feed tables cited in the catalogue hold 2 to 8 %
// protein, up to 6 % fat, 30 to 65 % crude fibre and 1 to 20 % ash; common
// practice.
var hullRange = map[nutrient.Key][2]float64{
	nutrient.CrudeProtein: {-5, 17},
	nutrient.CrudeFat:     {-5, 7},
	nutrient.CrudeFibre:   {25, 70},
	nutrient.Ash:          {0, 20},
}

// oddHulls lists the forms whose kernel and hull cannot make the whole as the
// tables have them, and why they stand.
var oddHulls = map[string]string{
	"japanese-millet/in-hull":  "grain with 11 % protein from one land beside hulled grain with 9.4 % from another",
	"fonio/in-hull":            "the table's hulled grain was ground without its oily germ: 1.2 % fat against 3.0 % in whole grain",
	"sunflower/in-shell-black": "40 % fat is a rounded figure of oil types, whose kernels are oilier than the table's",
}

// TestKernelAndHullMakeTheWhole: what a husked form holds beyond its kernel
// is what a hull can be.
func TestKernelAndHullMakeTheWhole(t *testing.T) {
	c := builtin(t)
	husked := 0
	for _, f := range c.Forms() {
		if (f.EatenAs == "") != (f.Hull == nil) {
			t.Errorf("%s has a hull or a kernel but not both", f.Ref())
		}
		if f.EatenAs == "" {
			continue
		}
		husked++
		odd := false
		for k, r := range hullRange {
			v := impliedHull(f, k)
			if v < r[0] || v > r[1] {
				odd = true
				if oddHulls[f.Ref()] == "" {
					t.Errorf("%s: its hull would hold %.1f %% %s on dry matter", f.Ref(), v, k)
				}
			}
		}
		if !odd && oddHulls[f.Ref()] != "" {
			t.Errorf("%s is listed as odd but is not", f.Ref())
		}
		if k := f.Kernel(); k.EatenAs != "" || k == f {
			t.Errorf("%s is eaten as %s, which is husked itself", f.Ref(), k.Ref())
		}
	}
	t.Logf("%d husked forms", husked)
}

func impliedHull(f *catalog.Form, k nutrient.Key) float64 {
	dry := func(g *catalog.Form) float64 {
		return g.Figures[k].Mean * 100 / (100 - g.Figures[nutrient.Moisture].Mean)
	}
	h := f.Hull.Mean / 100
	return (dry(f) - (1-h)*dry(f.Kernel())) / h
}

var twelve = []nutrient.Key{nutrient.Arginine, nutrient.Histidine, nutrient.Isoleucine, nutrient.Leucine,
	nutrient.Lysine, nutrient.Methionine, nutrient.Cystine, nutrient.Phenylalanine, nutrient.Tyrosine,
	nutrient.Threonine, nutrient.Tryptophan, nutrient.Valine}

// What amino acids can be of crude protein, in per cent. The twelve make half
// of most proteins; where much of the nitrogen is nitrate, amide or free
// amino acids (roots, fruit, leaves) they are less. Lysine lies between a
// little over 1 (proso millet) and 11 (flower heads of the cabbages).
const (
	leastTwelve, mostTwelve = 20, 75
	leastLysine, mostLysine = 1.2, 11.5
)

// TestAminoAcidsFitTheirProtein: the twelve are less than the protein that
// holds them, and lysine's share is one that foods have.
func TestAminoAcidsFitTheirProtein(t *testing.T) {
	c := builtin(t)
	whole := 0
	for _, f := range c.Forms() {
		protein := f.Figures[nutrient.CrudeProtein].Mean
		total := 0.0
		for _, k := range twelve {
			total += f.Figures[k].Mean
		}
		if total > protein {
			t.Errorf("%s: amino acids of %.2f in protein of %.2f", f.Ref(), total, protein)
		}
		if _, ok := sum(f, twelve...); ok {
			whole++
			if share := 100 * total / protein; share < leastTwelve || share > mostTwelve {
				t.Errorf("%s: the twelve are %.0f %% of the protein", f.Ref(), share)
			}
		}
		if lys, ok := f.Figures[nutrient.Lysine]; ok {
			if share := 100 * lys.Mean / protein; share < leastLysine || share > mostLysine {
				t.Errorf("%s: lysine is %.1f %% of the protein", f.Ref(), share)
			}
		}
	}
	t.Logf("%d forms know all twelve", whole)
}

// TestPartsLieInTheirWhole: minerals weigh less than the ash, starch and
// sugars and dietary fibre less than the dry matter, fatty acids less than
// the fat.
func TestPartsLieInTheirWhole(t *testing.T) {
	c := builtin(t)
	minerals := []nutrient.Key{nutrient.Calcium, nutrient.Phosphorus, nutrient.Magnesium, nutrient.Potassium, nutrient.Sodium}
	for _, f := range c.Forms() {
		parts := 0.0
		for _, k := range minerals {
			parts += f.Figures[k].Mean
		}
		if ash := f.Figures[nutrient.Ash].Mean; parts > ash {
			t.Errorf("%s: minerals of %.2f in ash of %.2f", f.Ref(), parts, ash)
		}
		fat := f.Figures[nutrient.CrudeFat].Mean
		if acids := f.Figures[nutrient.Linoleic].Mean + f.Figures[nutrient.Linolenic].Mean; acids > fat {
			t.Errorf("%s: fatty acids of %.2f in fat of %.2f", f.Ref(), acids, fat)
		}
		dry := 100 - f.Figures[nutrient.Moisture].Mean
		for _, k := range []nutrient.Key{nutrient.Starch, nutrient.Sugars, nutrient.DietaryFibre, nutrient.NDF} {
			if v := f.Figures[k].Mean; v > dry {
				t.Errorf("%s: %s of %.1f in dry matter of %.1f", f.Ref(), k, v, dry)
			}
		}
	}
}
