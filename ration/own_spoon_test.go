package ration

import (
	"errors"
	"math"
	"strings"
	"testing"

	"firlot/analysis"
	"firlot/needs/files"
	"firlot/nutrient"
	"firlot/serving"
)

// What an own spoon holds was weighed: it counts for the mix, whatever its
// density is taken to be, and levelling leaves a tenth either way open. For
// other foods, and where it was not weighed, its volume counts.
func TestOwnSpoon(t *testing.T) {
	spoons := func(food string, n float64) Food {
		return Food{Food: food, Amount: Amount{Set: true, Count: n, Unit: OwnSpoons}, Days: EveryDay}
	}
	d := gerbils(2).feed(spoons(MixName, 2), spoons("dandelion/leaf-dried", 0.5))
	d.OwnSpoon = &OwnSpoon{Holds: 7_500, ML: 12}
	p := resolve(t, d, seeds(t))
	near := func(what string, got, want float64) {
		t.Helper()
		if math.Abs(got-want) > 1e-9*want {
			t.Errorf("%s: %v, want %v", what, got, want)
		}
	}
	mix := p.Foods[0]
	near("the mix", mix.Dose.Mean, 15)
	near("its least", mix.Dose.Low, 15*0.9)
	near("its most", mix.Dose.High, 15*1.1)
	if mix.Loose || !strings.Contains(mix.Why, "7.5 g of the mix, weighed") {
		t.Errorf("%+v", mix)
	}
	leaf := p.Foods[1]
	density := serving.Bulk([]analysis.Portion{{Form: leaf.Form, Mass: nutrient.Gram}})
	near("the leaf", leaf.Dose.Mean, 0.5*12*density.Mean)
	d.OwnSpoon = &OwnSpoon{ML: 12}
	near("the mix by volume", resolve(t, d, seeds(t)).Foods[0].Dose.Mean, 2*12*serving.Bulk(p.Mix).Mean)
	table, err := files.Builtin()
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct {
		own      *OwnSpoon
		at, says string
	}{{nil, "food[0].amount", "is not told"}, {&OwnSpoon{Holds: 7_500}, "food[1].amount", "weighed with the mix"}} {
		d.OwnSpoon = c.own
		var no *Problem
		if _, err := Resolve(d, p.Catalogue, table, seeds(t), today); !errors.As(err, &no) || no.Path != c.at || !strings.Contains(no.Message, c.says) || no.Hint == "" {
			t.Errorf("%+v: %v", c.own, err)
		}
	}
	d.OwnSpoon, d.Foods[1].Most, d.Foods[1].Amount = nil, d.Foods[1].Amount, Amount{Set: true, Mass: nutrient.Gram, Unit: Grams}
	d.Foods = d.Foods[1:]
	var no *Problem
	if _, err := Resolve(d, p.Catalogue, table, seeds(t), today); !errors.As(err, &no) || no.Path != "food[0].most" {
		t.Errorf("the most of a food: %v", err)
	}
}
