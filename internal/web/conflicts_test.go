package web

import (
	"net/http"
	"net/url"
	"testing"
)

func TestTwoTabsOnAShelf(t *testing.T) {
	a := start(t, false)
	p := a.press(a.open("/shelf"), saying("New shelf"), map[string]string{"name": "Kitchen"})
	at := p.path
	for _, food := range []string{"canary seed in hull", "hulled barley", "whole linseed"} {
		a.press(a.open(at+"?q="+url.QueryEscape(food)), with("aria-label", "Add "+food), nil)
	}
	one, two := a.open(at), a.open(at)
	index := func(p *result, ref string) string {
		t.Helper()
		for name, v := range fields(p.byID("shelf-form")) {
			if v[0] == ref {
				return name[:len(name)-len("ref")]
			}
		}
		t.Fatalf("%s is not on the shelf", ref)
		return ""
	}
	one = a.press(one, with("class", "main"), map[string]string{index(one, "barley/hulled") + "on_hand": "3 kg"})
	a.press(one, with("value", "remove:canary-seed/in-hull"), nil)

	p = a.press(two, with("class", "main"), map[string]string{
		index(two, "barley/hulled") + "on_hand": "2 kg", index(two, "linseed/whole") + "price": "4.10",
		index(two, "canary-seed/in-hull") + "on_hand": "700 g", "name": "Larder"})
	if p.status != http.StatusConflict {
		t.Fatalf("status %d", p.status)
	}
	p.says("Changed in another tab meanwhile", "hulled barley, On hand: 3000 g is kept, 2 kg is yours.", "whole linseed, Price of a kilogram: nothing is kept, 4.10 is yours.",
		"canary-seed/in-hull: nothing is kept, 700 g is yours.", "Name: Kitchen is kept, Larder is yours.")
	got := fields(p.byID("shelf-form"))
	if got.Get(index(p, "barley/hulled")+"on_hand") != "2 kg" || got.Get(index(p, "linseed/whole")+"price") != "4.10" || got.Get("name") != "Larder" {
		t.Errorf("what was typed was lost: %v", got)
	}
	a.open(at).says("3000 g on hand", "Kitchen")
	p = a.press(p, with("class", "main"), nil)
	p.says("Larder", "2000 g on hand", "4.10 a kilogram")
}

func TestTwoTabsOnAGroup(t *testing.T) {
	a := start(t, false)
	p := a.press(a.open("/animals/new"), saying("Save"), map[string]string{"name": "Pip"})
	one, two, three := a.open(p.path), a.open(p.path), a.open(p.path)
	a.press(one, saying("Save"), map[string]string{"animals": "3", "note": "fond of millet"})
	p = a.press(two, saying("Save"), map[string]string{"name": "Pip and Squeak", "animals": "2"})
	if p.status != http.StatusConflict {
		t.Fatalf("status %d", p.status)
	}
	p.says("Changed in another tab meanwhile", "Name: Pip is kept, Pip and Squeak is yours.", "How many animals: 3 is kept, 2 is yours.", "Note: fond of millet is kept, nothing is yours.")
	form := p.find(func(n node) bool { return n.Data == "form" })
	if got := fields(form); got.Get("name") != "Pip and Squeak" || got.Get("animals") != "2" {
		t.Errorf("what was typed was lost: %v", got)
	}
	p = a.press(p, saying("Save"), nil)
	p.says("Pip and Squeak")

	inProtein := func(n node) bool { return saying("Set my own")(n) && under(n, "w-crude_protein") }
	p = a.press(three, inProtein, map[string]string{"min": "12", "max": "17"})
	if p.status != http.StatusConflict {
		t.Fatalf("a window: status %d", p.status)
	}
	p.says("crude protein: 13 to 16 % is kept, 12 to 17 % is yours.")
	p = a.press(p, inProtein, nil)
	p.says("12 to 17 %", "changed by you")
}
