package files

import (
	"fmt"
	"math"
	"testing"

	"firlot/catalog"
	"firlot/nutrient"
)

// halfOfTwo turns the median difference of two draws into a standard
// deviation: half of all differences lie within 0.6745 × √2 of it.
const halfOfTwo = 0.6745 * math.Sqrt2

// fewestPairs is the least number of pairs of a group whose median says
// anything.
const fewestPairs = 7

// farOff is how many times narrower or wider a stand-in coefficient for
// protein may be than the pairs' before the check fails. A median of seven to
// ten differences is itself known only to a factor of about 1.6 either way.
const farOff = 2.0

// TestStandInSpreads prints, by group of foods, the coefficient of variation
// that stands in for a missing spread beside the one that the two tables'
// pairs show, as if each table were one bag. For crude protein of dry foods,
// on which most recipes turn, the two must agree within a factor of farOff;
// the others are reported in docs/catalogue-checks.md.
func TestStandInSpreads(t *testing.T) {
	c := builtin(t)
	usda, ifct := readTable(t, "usda-sr28.toml"), readTable(t, "ifct2017.toml")
	var list struct {
		Pairs []pair `toml:"pairs"`
	}
	readTestdata(t, "pairs.toml", &list)
	groups := []string{"grain", "oilseed", "pulse", "nut", "fresh"}
	for _, k := range compared[1:] {
		apart, standIn := map[string][]float64{}, map[string]float64{}
		for _, p := range list.Pairs {
			f := c.Form(p.Form)
			if d, ok := relative(usda[p.USDA], ifct[p.IFCT], k); ok {
				apart[group(f)] = append(apart[group(f)], d)
				standIn[group(f)] = standInFor(f, k)
			}
		}
		line := fmt.Sprintf("%-14s", k)
		for _, g := range groups {
			pairs := 100 * quantile(apart[g], 0.5) / halfOfTwo
			line += fmt.Sprintf("  %s %.0f/%.0f (%d)", g, standIn[g], pairs, len(apart[g]))
			ratio := pairs / standIn[g]
			if k == nutrient.CrudeProtein && g != "fresh" && (ratio > farOff || ratio < 1/farOff || len(apart[g]) < fewestPairs) {
				t.Errorf("%s of %s: %.0f %% stands in, %d pairs show %.0f %%", k, g, standIn[g], len(apart[g]), pairs)
			}
		}
		t.Log(line)
	}
}

// relative is the difference of two tables over their mean, on dry matter.
func relative(a, b printed, k nutrient.Key) (float64, bool) {
	x, okX := a.figure(k)
	y, okY := b.figure(k)
	wa, okA := a.figure(nutrient.Moisture)
	wb, okB := b.figure(nutrient.Moisture)
	if !okX || !okY || !okA || !okB || x == 0 || y == 0 {
		return 0, false
	}
	x, _ = nutrient.ToDryMatter(x, wa)
	y, _ = nutrient.ToDryMatter(y, wb)
	return math.Abs(x-y) / ((x + y) / 2), true
}

// standInFor is the coefficient of variation, in per cent, that stands in for
// a measured figure of the form's kind without a recorded spread.
func standInFor(f *catalog.Form, k nutrient.Key) float64 {
	like := &catalog.Form{Ingredient: f.Ingredient, Figures: map[nutrient.Key]catalog.Figure{
		nutrient.Moisture: f.Figures[nutrient.Moisture],
		k:                 {Mean: 100, How: catalog.Measured},
	}}
	sd, _, _ := like.Spread(k)
	return sd
}

func group(f *catalog.Form) string {
	switch {
	case f.Figures[nutrient.Moisture].Mean > dryFood:
		return "fresh"
	case f.Ingredient.Class == catalog.Oilseed, f.Ingredient.Class == catalog.SmallSeed:
		return "oilseed"
	case f.Ingredient.Class == catalog.Pulse:
		return "pulse"
	case f.Ingredient.Class == catalog.Nut:
		return "nut"
	}
	return "grain"
}
