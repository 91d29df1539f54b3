package mix_test

import (
	"strings"
	"testing"

	catfiles "firlot/catalog/files"
	"firlot/mix"
	mixfiles "firlot/mix/files"
	needfiles "firlot/needs/files"
)

func resolved(t *testing.T, text string) (*mix.Plan, error) {
	t.Helper()
	c, err := catfiles.Builtin()
	if err != nil {
		t.Fatal(err)
	}
	n, err := needfiles.Builtin()
	if err != nil {
		t.Fatal(err)
	}
	f, err := mixfiles.Parse("safety.toml", []byte(text))
	if err != nil {
		return nil, err
	}
	return mix.Resolve(f.Document, c, n)
}

const window = "batch='1 kg'\n[[window]]\nnutrient='crude_protein'\nmin=5\n"

// Another name for the bag lifts no inclusion limit.
func TestOwnNameKeepsTheLimit(t *testing.T) {
	for _, name := range []string{"poppy seed", "Blue poppy seeds, harbour shop", "Mohn"} {
		p, err := resolved(t, window+"[[line]]\ningredient='poppy-own'\n[[own]]\nid='poppy-own'\nname='"+name+"'\nkind='label'\nfigures.moisture=6\nfigures.crude_protein=18\n")
		if err != nil {
			t.Fatal(err)
		}
		if l := p.Lines[0]; l.Ceiling != 10 || !l.CeilingSafety || len(p.Notes) == 0 {
			t.Errorf("%q: up to %d g, notes %v", name, l.Ceiling, p.Notes)
		}
	}
}

// What is too moist, or may be, stays out of the jar.
func TestTooMoist(t *testing.T) {
	for _, text := range []string{
		"[[line]]\ningredient='carrot/fresh'\n",
		"[[line]]\ningredient='cucumber-own'\n[[own]]\nid='cucumber-own'\nname='sliced salad'\nkind='label'\nfigures.crude_protein=1\n",
		"[[line]]\ningredient='cucumber-own'\n[[own]]\nid='cucumber-own'\nname='sliced salad'\nkind='label'\nfigures.crude_protein=1\nfigures.moisture=80\n",
	} {
		if _, err := resolved(t, window+text); err == nil || !strings.Contains(err.Error(), "moist") {
			t.Errorf("%s: %v", text, err)
		}
	}
}

// Without a species every species' limit holds.
func TestNoSpeciesHoldsEveryLimit(t *testing.T) {
	all, err := resolved(t, window+"[[line]]\ningredient='apple/dried'\n")
	if err != nil {
		t.Fatal(err)
	}
	least := 1000
	for _, species := range []string{"gerbil", "syrian-hamster", "dwarf-hamster", "mouse", "rat"} {
		p, err := resolved(t, "species='"+species+"'\nstage='adult'\n"+window+"[[line]]\ningredient='apple/dried'\n")
		if err != nil {
			t.Fatal(err)
		}
		least = min(least, p.Lines[0].Ceiling)
	}
	if all.Lines[0].Ceiling != least || least == 1000 {
		t.Errorf("without a species up to %d g, the strictest species has %d g", all.Lines[0].Ceiling, least)
	}
}

// Forms of one ingredient share their limit, and so do foods that bring the
// same thing.
func TestSharedLimits(t *testing.T) {
	p, err := resolved(t, window+`
[[line]]
ingredient = "buckwheat/in-hull"
[[line]]
ingredient = "buckwheat/groats"
[[line]]
ingredient = "cuttlebone/whole"
[[line]]
ingredient = "oyster-shell/ground"
[[line]]
ingredient = "wheat/whole"
`)
	if err != nil {
		t.Fatal(err)
	}
	pools := p.Pools()
	if len(pools) != 2 || len(pools[0].Lines) != 2 || len(pools[1].Lines) != 2 {
		t.Fatalf("pools %+v", pools)
	}
	half := func(line int) float64 { return pools[0].Most[0] / 2 }
	if u := pools[0].Used(half); u < 0.99 || u > 1.01 {
		t.Errorf("half of each limit uses up %v of it", u)
	}
}

// A floor under a nothing-or that cannot be is a complaint with its place.
func TestNothingOrAboveCeiling(t *testing.T) {
	_, err := resolved(t, window+"[[line]]\ningredient='wheat/whole'\nfloor='10 g'\nnothing_or='50 g'\nceiling='30 g'\n")
	p, ok := err.(*mix.Problem)
	if !ok || p.Path != "line[0].nothing_or" {
		t.Errorf("got %v", err)
	}
}
