package web

import (
	"regexp"
	"strings"
	"testing"

	"github.com/chromedp/cdproto/emulation"
	cdpage "github.com/chromedp/cdproto/page"
	"github.com/chromedp/chromedp"

	"firlot/internal/store"
)

// What is on the page is large enough for a knuckle, readable from afar, and
// said in Spanish as well.
func TestTheWeighingPageByEye(t *testing.T) {
	a := start(t, true)
	a.lang = "es"
	at := where(begin(a, nil))
	if err := a.store.SetSetting(t.Context(), settingLanguage, "es"); err != nil {
		t.Fatal(err)
	}
	b := browser(t, 360)
	b.goTo(a.base + at)
	b.until(ready)
	small := js[[]string](b, `[...document.querySelectorAll(".weigh button, .weigh summary, .weigh .button, .weigh input:not([type=hidden]):not([type=checkbox]):not([type=radio]), .weigh select")].filter((el) => el.offsetParent !== null && el.offsetHeight < 48).map((el) => el.outerHTML.slice(0, 80) + " " + el.offsetHeight)`)
	for _, s := range small {
		t.Errorf("smaller than a knuckle: %s", s)
	}
	if h := js[float64](b, `parseFloat(getComputedStyle(document.getElementById("grams")).fontSize)`); h < 88 {
		t.Errorf("the grams are %v px high", h)
	}
	if w := js[float64](b, `document.getElementById("poured").offsetWidth`); w < 280 {
		t.Errorf("the press is %v px wide", w)
	}
	text := js[string](b, `document.querySelector("main").innerText`)
	for _, want := range []string{"vertido", "sin poner a cero: de 0 a 220", "no queda bastante", "todo guardado"} {
		if !strings.Contains(text, want) {
			t.Errorf("the page does not say %q", want)
		}
	}
	b.pourBy(func() { b.click("#poured") })
	b.until(`document.getElementById("spoken").textContent.includes("vertidos")`)
	if got := js[string](b, `document.querySelector(".tare").textContent`); got != "sin poner a cero: de 220 a 428\u00a0g" {
		t.Errorf("the running tare is %q", got)
	}
}

// What is printed is there: on the label the name, the lot, the date and the
// code, on one page; in a recall the batches and the day.
func TestWhatIsPrinted(t *testing.T) {
	a := start(t, true)
	list, err := a.store.Makings(t.Context(), store.MakingFilter{State: store.StateFinished})
	if err != nil || len(list) == 0 {
		t.Fatal(err)
	}
	lots, err := a.store.Lots(t.Context(), store.LotFilter{})
	if err != nil || len(lots) == 0 {
		t.Fatal(err)
	}
	b := browser(t, 1280)
	_, err = chromedp.Call(b.ctx, emulation.SetEmulatedMedia, emulation.SetEmulatedMediaParams{Media: "print"})
	b.must(err)
	for _, paper := range []string{"", "?paper=sheet"} {
		b.goTo(a.base + makingPath(list[0].ID) + "/label" + paper)
		text := js[string](b, `document.querySelector("main").innerText`)
		for _, want := range []string{"SKERRA-1", "adult gerbils", "2026-05-17", "2026-08-17", "Mongolian gerbil", "1,000", "veterinarian", "oat groats"} {
			if !strings.Contains(text, want) {
				t.Errorf("the label%s does not print %q: %s", paper, want, text)
			}
		}
		if !js[bool](b, `document.querySelector(".jar .qr").getBoundingClientRect().width > 60`) {
			t.Errorf("the label%s prints no code", paper)
		}
		if js[bool](b, `[...document.querySelectorAll("nav, .foot, .acts")].some((el) => el.getClientRects().length > 0)`) {
			t.Errorf("the label%s prints what is for the screen", paper)
		}
	}
	if pages := pdfPages(b, a.base+makingPath(list[0].ID)+"/label"); pages != 1 {
		t.Errorf("the label takes %d pages", pages)
	}
	b.goTo(a.base + lotPath(lots[0].ID))
	text := js[string](b, `document.querySelector("main").innerText`)
	for _, want := range []string{"It went into one batch", "SKERRA-1", "As of 2026-05-17"} {
		if !strings.Contains(text, want) {
			t.Errorf("the recall does not print %q: %s", want, text)
		}
	}
	// The words of the label are longer in Spanish: nothing is broken up, nothing
	// runs out of its paper of 100 by 70 mm.
	inLanguage(b, "es")
	b.goTo(a.base + makingPath(list[0].ID) + "/label")
	if got := js[string](b, `document.documentElement.lang`); got != "es" {
		t.Fatalf("the label is in %s", got)
	}
	if wraps := js[string](b, `[...document.querySelectorAll(".jar dd")].filter((el) => el.getBoundingClientRect().height > 1.6 * parseFloat(getComputedStyle(el).fontSize)).map((el) => el.innerText).join()`); wraps != "" {
		t.Errorf("the label breaks up %s", wraps)
	}
	p := a.press(a.open("/making/new?mix="+strings.TrimPrefix(mixOfTwenty(a), "/mix/")), with("value", "start"), nil)
	for p.byID("poured") != nil {
		p = a.press(p, with("id", "poured"), nil)
	}
	twenty := where(a.press(p, with("value", "finish"), nil))
	for _, lang := range languages {
		inLanguage(b, lang)
		for _, at := range []string{makingPath(list[0].ID), twenty} {
			b.goTo(a.base + at + "/label")
			if over := js[float64](b, `document.querySelector(".jar").scrollHeight - document.querySelector(".jar").clientHeight`); over > 0 {
				t.Errorf("%s: %v px of the label of %s are cut off", lang, over, at)
			}
		}
	}
}

// pdfPages prints a page on its own paper and counts the sheets.
func pdfPages(b *tab, url string) int {
	b.t.Helper()
	b.goTo(url)
	own := true
	r, err := chromedp.Call(b.ctx, cdpage.PrintToPDF, cdpage.PrintToPDFParams{PreferCSSPageSize: &own})
	b.must(err)
	return len(pdfSheet.FindAll(r.Data, -1))
}

var pdfSheet = regexp.MustCompile(`/Type\s*/Page\b[^s]`)

// The parts of the app stand in one line on a phone, in either language.
func TestThePartsStandInOneLine(t *testing.T) {
	a := start(t, true)
	b := browser(t, 360)
	for _, lang := range languages {
		inLanguage(b, lang)
		b.goTo(a.base + "/making")
		if got := js[string](b, `document.documentElement.lang`); got != lang {
			t.Fatalf("the page is in %s", got)
		}
		if lines := js[float64](b, `new Set([...document.querySelectorAll(".top a")].map((e) => e.getBoundingClientRect().top)).size`); lines != 1 {
			t.Errorf("%s: the parts of the app stand in %v lines", lang, lines)
		}
	}
}
