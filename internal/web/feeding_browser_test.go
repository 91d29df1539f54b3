package web

import (
	"testing"

	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/chromedp"
	"github.com/chromedp/chromedp/kb"
)

// A weight is one field and one press, by keyboard alone, on a phone.
func TestWeightByKeyboard(t *testing.T) {
	a := start(t, true)
	g := a.fed("window pair")
	b := browser(t, 360)
	b.goTo(a.base + feedingPath(g.ID, "weights"))
	b.tabTo("#weight-0")
	b.keys("84.5")
	b.keys(kb.Enter)
	b.until(`document.querySelector("#animal-0").innerText.includes("6 weighings")`)
	b.until(`document.querySelector(".said").innerText !== ""`)
	if n := len(a.kept(g.ID).Weights); n != 11 {
		t.Errorf("%d weights are kept", n)
	}
	if !js[bool](b, `document.querySelector("#animal-0 svg.weights").getBoundingClientRect().width <= 360`) {
		t.Error("the weight line is wider than the phone")
	}
}

// A shortage is mended by one press on a phone, and the week then holds it.
func TestMendByTouch(t *testing.T) {
	a := start(t, true)
	g := a.fed("window pair")
	b := browser(t, 360)
	b.goTo(a.base + feedingPath(g.ID, "diet"))
	n := len(a.kept(g.ID).Foods)
	b.click(`button[value="calcium|"]`)
	b.until(`location.search.includes("said=saved")`)
	b.until(`![...document.querySelectorAll(".mends h3")].some((h) => h.textContent === "Calcium")`)
	if len(a.kept(g.ID).Foods) < n {
		t.Error("foods were lost")
	}
}

// Another spoonful comes by a press, and the number stands in the field.
func TestAnotherSpoonfulByTouch(t *testing.T) {
	a := start(t, true)
	g := a.fed("window pair")
	b := browser(t, 360)
	b.goTo(a.base + feedingPath(g.ID, "spoonful"))
	first := js[string](b, `document.querySelector("svg.spoonful desc").textContent`)
	b.click("#drawn a.button")
	b.until(`document.querySelector("#seed").value === "2"`)
	if js[string](b, `document.querySelector("svg.spoonful desc").textContent`) == first {
		t.Error("it is the same spoonful")
	}
}

// On paper the sheets hold what is fed and no forms; the ribbon is there.
func TestSheetsOnPaper(t *testing.T) {
	a := start(t, true)
	g := a.fed("window pair")
	b := browser(t, 1280)
	_, err := chromedp.Call(b.ctx, emulation.SetEmulatedMedia, emulation.SetEmulatedMediaParams{Media: "print"})
	b.must(err)
	for _, page := range []string{"week/fridge", "week/sitter", "week/shopping", "week"} {
		b.goTo(a.base + feedingPath(g.ID, page))
		if n := js[float64](b, `[...document.querySelectorAll("form, .button, .tabs, .top")].filter((e) => e.getClientRects().length > 0).length`); n != 0 {
			t.Errorf("%s: %v things to press are printed", page, n)
		}
	}
	b.goTo(a.base + feedingPath(g.ID, "week"))
	if bare := js[string](b, `[...document.querySelectorAll("section")].filter((e) => e.getClientRects().length > 0 && e.innerText.trim() === e.querySelector("h2")?.innerText.trim()).map((e) => e.innerText).join()`); bare != "" {
		t.Errorf("printed headings with nothing under them: %s", bare)
	}
	b.goTo(a.base + feedingPath(g.ID, "week/fridge"))
	if n := js[float64](b, `[...document.querySelectorAll("svg.ribbon")].filter((e) => e.getClientRects().length > 0).length`); n != 1 {
		t.Errorf("%v ribbons are printed", n)
	}
	if over := js[float64](b, `document.documentElement.scrollWidth - document.documentElement.clientWidth`); over > 0 {
		t.Errorf("the sheet is %v px too wide", over)
	}
}
