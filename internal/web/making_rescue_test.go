package web

import (
	"net/http"
	"strings"
	"testing"

	"firlot/internal/store"
	"firlot/making"
)

// labFood is an invented own food of some crude protein, in per cent as fed.
func labFood(id, protein string) string {
	return "\n[[own]]\nid = \"" + id + "\"\nname = \"" + strings.ReplaceAll(id, "-", " ") + " (invented)\"\nkind = \"label\"\nsource = \"the bag (invented)\"\n[own.figures]\ncrude_protein = " + protein + "\ncrude_fat = 3.0\nmoisture = 10.0\n"
}

// shortMix keeps a mix of poor and rich that wants 18 to 40 per cent of
// protein, and begins it: 500 g of the poor are in the bowl, and the jar of the
// rich is empty after 20 g. What the shelf has besides may join.
func shortMix(a *app, more ...string) *result {
	a.t.Helper()
	own := labFood("own-poor", "8.9") + labFood("own-rich", "44.4")
	sh := store.Shelf{Name: "Short (invented)", Items: []store.Item{{Ref: "own-poor", CanHave: true}, {Ref: "own-rich", CanHave: true}}}
	for _, id := range more {
		sh.Items = append(sh.Items, store.Item{Ref: id, CanHave: true})
		own += labFood(id, "30.0")
	}
	sh.Own = own
	p := beginOwn(a, sh, "batch = \"1 kg\"\nstep = \"1 g\"\n[[window]]\nnutrient = \"crude_protein\"\nmin = 18\nmax = 40\n[[line]]\ningredient = \"own-poor\"\n[[line]]\ningredient = \"own-rich\"\n"+own)
	p = a.pressIn(p, "different", map[string]string{"mass": "500"})
	return a.pressIn(p, "empty", map[string]string{"mass": "20"})
}

// beginOwn begins a making of a mix of some shelf.
func beginOwn(a *app, sh store.Shelf, doc string) *result {
	a.t.Helper()
	sh, err := a.store.SaveShelf(a.t.Context(), sh)
	a.must(err)
	m, err := a.store.SaveMix(a.t.Context(), store.Mix{Name: sh.Name, Shelf: sh.ID, Document: doc})
	a.must(err)
	return a.press(a.open("/making/new?mix="+string(m.ID)), with("value", "start"), nil)
}

// makingOf is the making that a page belongs to.
func makingOf(p *result) string { return strings.TrimSuffix(where(p), "/rescue") }

// Where no batch comes inside, the nearest is offered, and what is off is said
// before it is pressed. 9.61 % is (980 * 8.9 + 20 * 44.4) / 1000.
func TestTheNearestIsSaidToBeOff(t *testing.T) {
	a := start(t, true)
	p := shortMix(a)
	at := makingOf(p)
	p.says("No batch comes inside the windows with this in the bowl", "480 g of it are missing", "What is off", "Crude protein: 9.61 %, the window is 18 to 40 %")
	p = a.press(p, with("value", wayRescue), nil)
	if s := a.state(at); s.Off || s.Replans != 1 || s.Lines[0].Planned != 980_000 || s.Lines[1].Planned != 20_000 {
		t.Errorf("%+v", s)
	}
	for p.byID("poured") != nil {
		p = a.press(p, with("id", "poured"), nil)
	}
	p = a.press(a.open(at+"/finish"), with("value", "finish"), nil)
	p.says("crude protein lies outside its window", "9.61 %")
	if strings.Contains(p.text(), "inside its window") {
		t.Errorf("a batch that is off is said to be inside: %s", p.text())
	}
}

// Where only a food of the shelf that was not planned brings the bowl inside,
// it is said so, and it stands before what stays off. The least of it is the
// square's share: (18 * 1000 - 20 * 44.4 - 980 * 8.9) / (30 - 8.9), rounded up.
func TestOneFoodMoreFromTheShelf(t *testing.T) {
	a := start(t, true)
	p := shortMix(a, "own-other")
	at := makingOf(p)
	p.says("Only one more food brings this bowl inside its windows again", "With own other (invented), at least 398 g: 1,000 g in all", "not planned before", "Or", "The nearest there is, 1,000 g")
	best := textOf(p.find(with("class", "proposal best")))
	if !strings.Contains(best, "own other") {
		t.Errorf("the best way on is %s", best)
	}
	p = a.press(p, with("value", wayExtra+"own-other/own"), nil)
	s := a.state(at)
	if s.Off || s.Replans != 1 || len(s.Lines) != 3 || s.Lines[2].Ref != "own-other/own" || s.Lines[2].Planned != 398_000 {
		t.Fatalf("%+v", s)
	}
	for p.byID("poured") != nil {
		p = a.press(p, with("id", "poured"), nil)
	}
	p.says("1,000 g poured, inside its window")
}

// A bowl that no batch makes safe is to be thrown away: nothing can be pressed
// but to give it up.
func TestABowlIsDiscarded(t *testing.T) {
	a := start(t, true)
	for _, c := range []struct{ ref, mass, why string }{{"poppy/whole", "400", "the inclusion limit"}, {"apple/fresh", "50", "too moist"}} {
		p := begin(a, nil)
		at := makingOf(p)
		if status, _ := a.ask(at, map[string]string{"key": "slip", "kind": "pour", "ref": c.ref, "mass": c.mass, "how": "poured"}); status != http.StatusOK {
			t.Fatalf("%s: status %d", c.ref, status)
		}
		p = a.open(at + "/rescue")
		p.says("This bowl cannot be saved", c.why, "Throw it away", "Give this making up")
		if strings.Contains(p.text(), "Nothing changes until you press") || p.find(with("name", "way")) != nil {
			t.Errorf("%s: a way on is offered: %s", c.ref, p.text())
		}
		if status, _ := a.ask(at, map[string]string{"key": "on", "kind": "replan", "way": wayRescue, "seen": "1"}); status != http.StatusUnprocessableEntity {
			t.Errorf("%s: a way on is taken: status %d", c.ref, status)
		}
		p = a.press(a.open(at+"/finish"), with("value", "leave"), nil)
		p.says("given up")
	}
}

// What only a food of the shelf makes safe is not said to be lost. Of poppy one
// per cent is allowed: 3 g want 300 g, and there are 200 g of oats.
func TestAFoodOfTheShelfMakesABowlSafe(t *testing.T) {
	a := start(t, true)
	oats := int64(200_000)
	p := beginOwn(a, store.Shelf{Name: "Poppy (invented)", Items: []store.Item{{Ref: "oats/groats", CanHave: true, OnHand: &oats}, {Ref: "poppy/whole", CanHave: true}, {Ref: "wheat/whole", CanHave: true}}},
		"title = \"Poppy (invented)\"\nbatch = \"100 g\"\nstep = \"1 g\"\n[[window]]\nnutrient = \"crude_protein\"\nmin = 1\n[[line]]\ningredient = \"oats/groats\"\n[[line]]\ningredient = \"poppy/whole\"\nfloor = \"1 g\"\n")
	at := makingOf(p)
	a.ask(at, map[string]string{"key": "slip", "kind": "pour", "ref": "poppy/whole", "mass": "3", "how": "poured"})
	p = a.open(at + "/rescue")
	p.says("Only one more food makes this bowl safe again", "the inclusion limit", "With whole wheat grain, at least", "300 g in all")
	if strings.Contains(p.text(), "Throw it away") || strings.Contains(p.text(), "Nothing poured on top") {
		t.Errorf("it is said to be lost as well: %s", p.text())
	}
	a.press(p, with("class", "press1 main"), nil)
	if s := a.state(at); s.Off || s.Replans != 1 {
		t.Errorf("%+v", s)
	}
}

// What is pressed is what was shown: it is worked out once, and anew after
// whatever it was worked out from has changed.
func TestARescueIsWorkedOutOnce(t *testing.T) {
	a := start(t, true)
	p := shortMix(a, "own-other")
	id := store.ID(strings.TrimPrefix(makingOf(p), "/making/"))
	worked := func() *making.Rescued {
		t.Helper()
		x, err := a.server.weighing(t.Context(), id)
		a.must(err)
		slip, _ := x.slips(a.server.wordsIn("en", ""))
		if slip == nil {
			t.Fatal("there is no slip")
		}
		r, err := a.server.rescue(t.Context(), x, *slip)
		a.must(err)
		return r
	}
	shown := worked()
	if worked() != shown {
		t.Error("it is worked out twice")
	}
	m, err := a.store.Making(t.Context(), id)
	a.must(err)
	sh, err := a.store.Shelf(t.Context(), m.Shelf)
	a.must(err)
	for i := range sh.Items {
		if sh.Items[i].Ref == "own-other" {
			sh.Items[i].CanHave = false
		}
	}
	_, err = a.store.SaveShelf(t.Context(), sh)
	a.must(err)
	other := worked()
	if other == shown || len(shown.Extras) != 1 || len(other.Extras) != 0 {
		t.Errorf("the shelf has no other food any more: %d extras, before %d", len(other.Extras), len(shown.Extras))
	}
	a.ask(makingOf(p), map[string]string{"key": "more", "kind": "pour", "ref": "own-poor/own", "mass": "10", "how": "poured"})
	if worked() == other {
		t.Error("what was poured since does not count")
	}
}

// A slip in one of several bowls is said to be in that one, and the way on is
// for it alone.
func TestASlipInOneOfTwoBowls(t *testing.T) {
	a := start(t, true)
	p := begin(a, map[string]string{"bowls": "2"})
	at := makingOf(p)
	a.press(p, with("id", "poured"), nil)
	p = a.pressIn(a.open(at), "different", map[string]string{"mass": "150"})
	p.says("40 g too much of proso millet in hull", "This is for bowl 2 of 2; the others stay as planned.")
	before := a.state(at)
	a.press(p, with("class", "press1 main"), nil)
	s := a.state(at)
	if s.Off || s.Replans != 1 || s.Poured != before.Poured {
		t.Errorf("%+v", s)
	}
	one, two := int64(110_000), int64(150_000)
	for _, n := range s.Steps {
		if n.Bowl == 1 {
			one += n.Mg
		} else {
			two += n.Mg
		}
	}
	if one != 500_000 || two < 500_000 {
		t.Errorf("%d and %d mg in the two bowls", one, two)
	}
}
