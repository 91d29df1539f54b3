package web

import (
	"fmt"
	"net/http"
	"net/url"
	"strings"
	"testing"

	"github.com/chromedp/cdproto/emulation"
	cdpage "github.com/chromedp/cdproto/page"
	"github.com/chromedp/chromedp"

	"firlot/internal/store"
)

// On a full disk a name that was typed waits on the page with its grams.
func TestANameOnAFullDisk(t *testing.T) {
	a := start(t, true)
	full := &fullStore{Store: a.store}
	a.server.Store = full
	p := begin(a, nil)
	at := where(p)
	full.set(store.ErrFull)
	p = a.pressIn(p, "wrong", map[string]string{"food": "Aguacate", "mass": "5"})
	p.says("The disk is full", "5 g Aguacate", "Try again")
	full.set(nil)
	a.press(p, saying("Try again"), nil)
	if got := strays(a.state(at)); got["avocado"] != 5000 {
		t.Errorf("%v", got)
	}
}

// A food of the keeper's own is found by its name, and its count goes down; for
// what is never fed no count does.
func TestAnOwnFoodByItsName(t *testing.T) {
	a := start(t, true)
	kilo := int64(1_000_000)
	own := labFood("own-poor", "8.9") + labFood("own-rich", "44.4")
	p := beginOwn(a, store.Shelf{Name: "Named (invented)", Own: own, Items: []store.Item{{Ref: "own-poor", CanHave: true}, {Ref: "own-rich", CanHave: true, OnHand: &kilo}}},
		"batch = \"1 kg\"\nstep = \"1 g\"\n[[window]]\nnutrient = \"crude_protein\"\nmin = 5\n[[line]]\ningredient = \"own-poor\"\n"+own)
	at := makingOf(p)
	a.pressIn(p, "wrong", map[string]string{"food": "Own rich (INVENTED)", "mass": "30"})
	if got := strays(a.state(at)); got["own-rich/own"] != 30_000 {
		t.Fatalf("%v", got)
	}
	m, err := a.store.Making(t.Context(), store.ID(strings.TrimPrefix(at, "/making/")))
	a.must(err)
	counts := func() (rich int64, items int) {
		sh, err := a.store.Shelf(t.Context(), m.Shelf)
		a.must(err)
		for _, it := range sh.Items {
			if it.Ref == "own-rich" {
				rich = *it.OnHand
			}
		}
		return rich, len(sh.Items)
	}
	if rich, _ := counts(); rich != 970_000 {
		t.Errorf("the count is %d mg", rich)
	}
	a.ask(at, map[string]string{"key": "k", "kind": "pour", "food": "avocado", "mg": "5000"})
	if rich, items := counts(); rich != 970_000 || items != 2 {
		t.Errorf("avocado moves a count: %d mg, %d items", rich, items)
	}
}

// What is sent again means what it meant the first time, also where its name
// has become that of two foods since.
func TestANameSentAgain(t *testing.T) {
	a := start(t, true)
	own := labFood("own-poor", "8.9") + labFood("own-rich", "44.4")
	p := beginOwn(a, store.Shelf{Name: "Twice (invented)", Own: own, Items: []store.Item{{Ref: "own-poor", CanHave: true}, {Ref: "own-rich", CanHave: true}}},
		"batch = \"1 kg\"\nstep = \"1 g\"\n[[window]]\nnutrient = \"crude_protein\"\nmin = 5\n[[line]]\ningredient = \"own-poor\"\n"+labFood("own-poor", "8.9"))
	at := makingOf(p)
	event := map[string]string{"key": "k", "kind": "pour", "food": "own rich (invented)", "mg": "5000"}
	if status, _ := a.ask(at, event); status != http.StatusOK {
		t.Fatalf("status %d", status)
	}
	m, err := a.store.Making(t.Context(), store.ID(strings.TrimPrefix(at, "/making/")))
	a.must(err)
	sh, err := a.store.Shelf(t.Context(), m.Shelf)
	a.must(err)
	sh.Own += strings.Replace(labFood("own-other", "30.0"), "own other", "own rich", 1)
	sh.Items = append(sh.Items, store.Item{Ref: "own-other", CanHave: true})
	_, err = a.store.SaveShelf(t.Context(), sh)
	a.must(err)
	if status, s := a.ask(at, event); status != http.StatusOK || s.Events != 1 {
		t.Errorf("sent again: status %d, %d events", status, s.Events)
	}
	event["key"] = "other"
	if status, _ := a.ask(at, event); status != http.StatusUnprocessableEntity {
		t.Errorf("two foods go by this name now: status %d", status)
	}
}

// A bag that a program names for what is never fed stands in the lots under the
// food's name; nobody is offered to write such a bag down.
func TestALotOfANeverFedFood(t *testing.T) {
	a := start(t, true)
	at := where(begin(a, nil))
	if status, _ := a.ask(at, map[string]string{"key": "k", "kind": "pour", "food": "kidney beans", "mg": "5000", "lot_code": "B-77"}); status != http.StatusOK {
		t.Fatalf("status %d", status)
	}
	lots, err := a.store.Lots(t.Context(), store.LotFilter{Code: "B-77"})
	if err != nil || len(lots) != 1 {
		t.Fatalf("%d lots, %v", len(lots), err)
	}
	a.open(lotPath(lots[0].ID)).says("kidney beans", "B-77", "5 g")
	a.open("/lots?q=B-77").says("kidney beans")
	if p := a.post("/lots", url.Values{"ref": {"raw-common-bean"}, "code": {"B-78"}}); p.status != http.StatusUnprocessableEntity {
		t.Errorf("a bag of kidney beans is written down: status %d", p.status)
	}
}

// The question and the pages of a bowl with a never fed food have no fault that
// axe-core finds, and fit a phone, light and dark.
func TestTheQuestionIsAccessible(t *testing.T) {
	script := axe(t)
	a := start(t, true)
	b := browser(t, 360)
	_, err := chromedp.Call(b.ctx, cdpage.SetBypassCSP, cdpage.SetBypassCSPParams{Enabled: true})
	b.must(err)
	at := where(begin(a, nil))
	look := func(what string) {
		t.Helper()
		for _, scheme := range []string{"light", "dark"} {
			_, err := chromedp.Call(b.ctx, emulation.SetEmulatedMedia, emulation.SetEmulatedMediaParams{Features: []*emulation.MediaFeature{{Name: "prefers-color-scheme", Value: scheme}}})
			b.must(err)
			if over := js[float64](b, `document.documentElement.scrollWidth - document.documentElement.clientWidth`); over > 0 {
				t.Errorf("%s: %v px too wide", what, over)
			}
			js[bool](b, script+"; true")
			faults, err := chromedp.Run(b.ctx, chromedp.Evaluate[[]string](fmt.Sprintf(runAxe, "{}"), chromedp.EvalAwaitPromise))
			b.must(err)
			for _, f := range faults {
				t.Errorf("%s, %s: %s", what, scheme, f)
			}
		}
	}
	for _, name := range []string{"soybeans", "gravel"} {
		b.goTo(a.base + at)
		b.until(ready)
		js[bool](b, `((f) => { f.food.value = `+quoted(name)+`; f.mass.value = "5"; f.submit(); return true; })(document.querySelector("#wrong form"))`)
		b.until(`document.querySelector("h1").textContent.includes(` + quoted(name) + `)`)
		look("the question about " + name)
	}
	a.ask(at, map[string]string{"key": "k", "kind": "pour", "food": "avocado", "mg": "5000"})
	for _, page := range []string{"", "/rescue", "/finish"} {
		b.goTo(a.base + at + page)
		look("avocado in the bowl" + page)
	}
}
