package ration

import (
	"math"
	"testing"

	"firlot/analysis"
	"firlot/catalog"
	catfiles "firlot/catalog/files"
	"firlot/needs"
	needfiles "firlot/needs/files"
	"firlot/nutrient"
)

func tables(t testing.TB) (*catalog.Catalogue, *needs.Table) {
	t.Helper()
	c, err := catfiles.Builtin()
	if err != nil {
		t.Fatal(err)
	}
	n, err := needfiles.Builtin()
	if err != nil {
		t.Fatal(err)
	}
	return c, n
}

const today = Day(20782) // Wednesday 25 November 2026

func TestToday(t *testing.T) {
	if d, err := ParseDay("2026-11-25"); err != nil || d != today || today.Weekday().String() != "Wednesday" || today.Monday().String() != "2026-11-23" {
		t.Errorf("%v %v %v", d, err, today.Weekday())
	}
}

func near(t *testing.T, what string, got, want, within float64) {
	t.Helper()
	if !(math.Abs(got-want) <= within) {
		t.Errorf("%s: got %v, want %v within %v", what, got, want, within)
	}
}

// seeds is an invented plain mix.
func seeds(t testing.TB) []analysis.Portion {
	c, _ := tables(t)
	var list []analysis.Portion
	for ref, g := range map[string]nutrient.Mass{"oats/groats": 300} {
		list = append(list, analysis.Portion{Form: c.Form(ref), Mass: g * nutrient.Gram})
	}
	for _, x := range []struct {
		ref string
		g   nutrient.Mass
	}{{"proso-millet/in-hull", 350}, {"wheat/whole", 200}, {"linseed/whole", 60}, {"sunflower/in-shell-striped", 60}, {"pea/flaked", 30}} {
		f := c.Form(x.ref)
		if f == nil {
			t.Fatal(x.ref)
		}
		list = append(list, analysis.Portion{Form: f, Mass: x.g * nutrient.Gram})
	}
	return list
}

// gerbils is a group of n grown gerbils of 80 g.
func gerbils(n int) *Document {
	d := &Document{Title: "invented", Species: "gerbil"}
	for i := range n {
		name := "gerbil " + string(rune('A'+i%26)) + string(rune('a'+i/26))
		d.Animals = append(d.Animals, Animal{Name: name, Born: today - 400})
		d.Weights = append(d.Weights, Weighing{Day: today - 3, Animal: name, Mass: 80 * nutrient.Gram})
	}
	return d
}

func (d *Document) feed(f ...Food) *Document {
	d.Foods = append(d.Foods, f...)
	return d
}

func mixByNeed() Food { return Food{Food: MixName, Days: EveryDay} }

func grams(food string, g float64, days Weekdays) Food {
	return Food{Food: food, Amount: Amount{Set: true, Mass: nutrient.Mass(math.Round(g * 1000)), Unit: Grams}, Days: days}
}

func resolve(t testing.TB, d *Document, mix []analysis.Portion) *Plan {
	t.Helper()
	c, n := tables(t)
	p, err := Resolve(d, c, n, mix, today)
	if err != nil {
		t.Fatal(err)
	}
	return p
}

func (a Account) row(k nutrient.Key, per nutrient.Key) Row {
	for _, r := range a.Rows {
		if r.Nutrient == k && r.Per == per {
			return r
		}
	}
	return Row{}
}

func (a Account) limit(id string) LimitRow {
	for _, l := range a.Limits {
		if l.ID == id {
			return l
		}
	}
	return LimitRow{}
}

func exampleTables() (*catalog.Catalogue, *needs.Table) {
	c, err := catfiles.Builtin()
	if err != nil {
		panic(err)
	}
	n, err := needfiles.Builtin()
	if err != nil {
		panic(err)
	}
	return c, n
}
