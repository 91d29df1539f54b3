package web

import (
	"math"
	"testing"

	"pgregory.net/rapid"

	"firlot/analysis"
	catfiles "firlot/catalog/files"
	"firlot/needs"
	"firlot/nutrient"
)

// TestOneMoreGram weighs the mix with a gram more out, a thousand times as
// large so that the milligrams to which masses are kept do not matter.
func TestOneMoreGram(t *testing.T) {
	c, err := catfiles.Builtin()
	if err != nil {
		t.Fatal(err)
	}
	forms := c.Forms()
	measures := []analysis.Measure{
		{Nutrient: nutrient.CrudeProtein, Basis: nutrient.AsFed, On: needs.Offered}, {Nutrient: nutrient.CrudeFibre, Basis: nutrient.DryMatter, On: needs.Offered},
		{Nutrient: nutrient.CrudeFat, Basis: nutrient.AsFed, On: needs.Eaten}, {Nutrient: nutrient.Calcium, Per: nutrient.Phosphorus, Basis: nutrient.AsFed, On: needs.Offered},
	}
	told := 0
	rapid.Check(t, func(rt *rapid.T) {
		var small, large []analysis.Portion
		n := rapid.IntRange(2, 6).Draw(rt, "n")
		total := 0
		masses := make([]int, n)
		for i := range n {
			masses[i] = rapid.IntRange(1, 400).Draw(rt, "g")
			total += masses[i]
		}
		at := rapid.IntRange(0, n-1).Draw(rt, "at")
		rest := float64(total - masses[at])
		for i, g := range masses {
			f := forms[rapid.IntRange(0, len(forms)-1).Draw(rt, "form")]
			next := float64(g+1) * 1000
			if i != at {
				next = float64(g) * (1 - 1/rest) * 1000
			}
			small = append(small, analysis.Portion{Form: f, Mass: nutrient.Mass(g) * nutrient.Gram})
			large = append(large, analysis.Portion{Form: f, Mass: nutrient.Mass(math.Round(next * 1000))})
		}
		for _, m := range measures {
			got, ok := oneMoreGram(small, at, m)
			before, after := analysis.Of(small, m), analysis.Of(large, m)
			if whole := before.HasMean && before.KnownShare == 1; ok != whole && rest > 1 {
				rt.Fatalf("%v: told %v, known %v", m, ok, whole)
			}
			if !ok {
				continue
			}
			told++
			if want := after.Mean - before.Mean; math.Abs(got-want) > 1e-5*(1+math.Abs(before.Mean)) {
				rt.Fatalf("%v: %v, want %v", m, got, want)
			}
		}
	})
	if told == 0 {
		t.Error("nothing was known of any mix")
	}
}
