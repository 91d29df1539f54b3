package web

import (
	"strconv"
	"strings"
	"testing"

	"golang.org/x/net/html"

	"firlot/ration"
	rationfiles "firlot/ration/files"
)

// changes finds the button that saves a food of the week.
func changes(d *ration.Document, food string) func(*html.Node) bool {
	for i, x := range d.Foods {
		if x.Food == food && x.Given() {
			return func(n *html.Node) bool {
				class, _ := attr(n, "class")
				return with("value", "save:"+strconv.Itoa(i))(n) && class == "main"
			}
		}
	}
	return func(*html.Node) bool { return false }
}

// A spoon that was weighed on the portion page stands in the document, counts
// in the week, and is told on the sheets; it goes when another kind is chosen
// and nothing counts in it any more.
func TestAnOwnSpoonInTheWeek(t *testing.T) {
	a := start(t, true)
	g := a.fed("window pair")
	week, portion := feedingPath(g.ID, "week"), feedingPath(g.ID, "portion")
	if strings.Contains(a.open(week).body, `value="spoon"`) {
		t.Error("an own spoon is offered before there is one")
	}
	p := a.press(a.open(portion), saying("Save"), map[string]string{"spoon": "own", "own": "heavy", "own_name": "the blue scoop"})
	if p.status != 422 {
		t.Errorf("no number: status %d", p.status)
	}
	p.holds(`value="the blue scoop"`)
	a.press(a.open(portion), saying("Save"), map[string]string{"spoon": "own", "own": "7.5", "own_name": "the blue scoop"}).says("Yours holds 7.5 g")
	if o := a.kept(g.ID).OwnSpoon; o == nil || *o != (ration.OwnSpoon{Name: "the blue scoop", Holds: 7_500}) {
		t.Fatalf("kept: %+v", o)
	}
	a.open(feedingPath(g.ID, "week/fridge")).says("Own spoon: the blue scoop, filled level; it holds 7.5 g of the mix", "The mix: 19 g (about 2.5 level spoons of yours)")

	p = a.press(a.open(week), changes(a.kept(g.ID), ration.MixName), map[string]string{"count": "2", "unit": "spoon"})
	if x := a.kept(g.ID).Foods; p.status != 200 {
		t.Fatalf("%+v: %s", x, p.text())
	}
	plan, _ := a.planOf(g)
	for _, x := range plan.Foods {
		if x.Form == nil && (x.Dose.Mean != 15 || x.Food.Amount != ration.Amount{Set: true, Count: 2, Unit: ration.OwnSpoons}) {
			t.Errorf("%+v", x)
		}
	}
	a.open(feedingPath(g.ID, "week/sitter")).says("the blue scoop", "2 × own spoon, level")
	a.lang = "es"
	a.open(feedingPath(g.ID, "week/sitter")).says("Cuchara propia: the blue scoop, rasa; contiene 7,5 g de la mezcla", "2 × cuchara propia, rasa")
	a.lang = "en"

	for i, x := range a.kept(g.ID).Foods {
		if x.Food == "dandelion/leaf-dried" {
			p = a.press(a.open(week), changes(a.kept(g.ID), "dandelion/leaf-dried"), map[string]string{"count": "1", "unit": "spoon"})
			p.says("your own spoon was weighed with the mix")
			if y := a.kept(g.ID).Foods[i]; y.Amount != x.Amount {
				t.Errorf("what was refused is kept: %+v", y.Amount)
			}
		}
	}

	p = a.press(a.open(portion), saying("Save"), map[string]string{"spoon": "metric"})
	if p.status != 200 || a.kept(g.ID).OwnSpoon == nil || a.kept(g.ID).Spoon != "metric" {
		t.Error("an amount counts in the spoon, and it is gone")
	}
	a.press(a.open(week), changes(a.kept(g.ID), ration.MixName), map[string]string{"count": "19", "unit": "g"})
	a.press(a.open(portion), saying("Save"), map[string]string{"spoon": "metric"})
	if o := a.kept(g.ID).OwnSpoon; o != nil {
		t.Errorf("nothing counts in it, another kind is chosen, and it stays: %+v", o)
	}
}

// A document that brings a spoon of its own keeps its volume when the spoon is
// weighed anew.
func TestAnOwnSpoonKeepsItsVolume(t *testing.T) {
	a := start(t, true)
	g := a.fed("window pair")
	d := a.kept(g.ID)
	d.OwnSpoon = &ration.OwnSpoon{Name: "scoop", Holds: 8_000, ML: 12}
	g.Feeding = string(rationfiles.Format(d))
	_, err := a.store.SaveGroup(t.Context(), g)
	a.must(err)
	p := a.open(feedingPath(g.ID, "portion"))
	p.holds(`value="scoop"`)
	a.press(p, saying("Save"), map[string]string{"spoon": "own", "own": "7.25"})
	if o := a.kept(g.ID).OwnSpoon; o == nil || *o != (ration.OwnSpoon{Name: "scoop", Holds: 7_250, ML: 12}) {
		t.Errorf("%+v", o)
	}
	a.press(a.open(feedingPath(g.ID, "portion")), saying("Save"), map[string]string{"spoon": "us"})
	if o := a.kept(g.ID).OwnSpoon; o == nil {
		t.Error("its volume is lost, which no page asks for")
	}
}
