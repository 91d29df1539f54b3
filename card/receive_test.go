package card_test

import (
	"slices"
	"testing"

	"firlot/card"
	"firlot/catalog"
	catfiles "firlot/catalog/files"
	needfiles "firlot/needs/files"
	"firlot/nutrient"
)

// Windows on what is eaten stand on the kernel and on how much of a food is
// hull: a card that tells either otherwise is found out when it is taken in,
// though no line of its mix names the kernel.
func TestReceiveTellsOfKernelsAndHulls(t *testing.T) {
	cat, err := catfiles.Builtin()
	if err != nil {
		t.Fatal(err)
	}
	table, err := needfiles.Builtin()
	if err != nil {
		t.Fatal(err)
	}
	for name, x := range map[string]struct {
		alter  func(*card.Card)
		ref    string
		hull   bool
		differ nutrient.Key
	}{
		"kernel": {func(c *card.Card) {
			f := c.Form("sunflower/kernel")
			g := f.Figures[nutrient.CrudeFat]
			g.Mean -= 5
			f.Figures[nutrient.CrudeFat] = g
		}, "sunflower/kernel", false, nutrient.CrudeFat},
		"hull":   {func(c *card.Card) { c.Form("sunflower/in-shell-striped").Hull.Mean = 10 }, "sunflower/in-shell-striped", true, ""},
		"unhull": {func(c *card.Card) { f := c.Form("sunflower/in-shell-striped"); f.Hull, f.EatenAs = nil, "" }, "sunflower/in-shell-striped", true, ""},
	} {
		c, err := card.Decode(card.Encode(made(t, "gerbil-adult"))) // a copy: the catalogue is everybody's
		if err != nil {
			t.Fatal(err)
		}
		x.alter(c)
		r, err := c.Receive(0, cat, table)
		if err != nil {
			t.Fatal(err)
		}
		i := slices.IndexFunc(r.Foods, func(d card.FoodDiffers) bool { return d.Ref == x.ref })
		if len(r.Foods) != 1 || i < 0 || r.Foods[i].Hull != x.hull {
			t.Errorf("%s: %+v", name, r.Foods)
			continue
		}
		if f := r.Foods[i].Figures; x.differ != "" && (len(f) != 1 || f[0].Nutrient != x.differ) {
			t.Errorf("%s: %+v", name, f)
		}
	}
}

// A limit that a card sets on a food that is not known here stays, as a
// ceiling: nothing here would take its place. The mix says of no species, so
// every limit holds.
func TestReceiveKeepsAStrangersLimit(t *testing.T) {
	cat, err := catfiles.Builtin()
	if err != nil {
		t.Fatal(err)
	}
	table, err := needfiles.Builtin()
	if err != nil {
		t.Fatal(err)
	}
	c := strangers(t, "skerra-corn", "Skerra corn")
	limits := &c.Form("skerra-corn/whole").Limits
	*limits = []catalog.Limit{{Most: 80, Why: "w", Source: "s", How: catalog.Assumed}, {Most: 30, Why: "w", Source: "s", How: catalog.Assumed, Species: []string{"rat"}}}
	r, err := c.Receive(0, cat, table)
	if err != nil {
		t.Fatal(err)
	}
	if a := r.Document.Lines[0].Ceiling; !a.Set || !a.Share || a.Percent != 30 {
		t.Errorf("the ceiling is %+v", a)
	}
}
