package web

import (
	"fmt"
	"strings"
	"testing"
	"time"

	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/cdproto/input"
	"github.com/chromedp/cdproto/network"
	"github.com/chromedp/chromedp"
	"github.com/chromedp/chromedp/kb"

	"firlot/internal/store"
	"firlot/nutrient"
)

// touchScreen makes a tab one that is touched.
func (b *tab) touchScreen() {
	b.t.Helper()
	_, err := chromedp.Call(b.ctx, emulation.SetTouchEmulationEnabled, emulation.SetTouchEmulationEnabledParams{Enabled: true})
	b.must(err)
}

// settled is where the middle of an element is, once the page is loaded and
// the element has stood still for a moment.
const settled = `(async (selector) => {
	const still = () => new Promise((r) => setTimeout(r, 60));
	while (document.readyState !== "complete") await still();
	const el = document.querySelector(selector);
	for (let was = ""; ; ) {
		el.scrollIntoView({ block: "center" });
		await still();
		const r = el.getBoundingClientRect();
		const now = [r.x + r.width / 2, r.y + r.height / 2];
		if (String(now) === was) return now;
		was = String(now);
	}
})(%s)`

// tap touches the middle of what a selector finds, and lets go.
func (b *tab) tap(selector string) {
	b.t.Helper()
	b.until(`document.querySelector(` + quoted(selector) + `)?.getClientRects().length > 0`)
	at := later[[]float64](b, fmt.Sprintf(settled, asJS(selector)))
	for _, e := range []struct {
		kind   input.DispatchTouchEventType
		points []*input.TouchPoint
	}{{"touchStart", []*input.TouchPoint{{X: at[0], Y: at[1]}}}, {"touchEnd", []*input.TouchPoint{}}} {
		_, err := chromedp.Call(b.ctx, input.DispatchTouchEvent, input.DispatchTouchEventParams{Type: e.kind, TouchPoints: e.points})
		b.must(err)
	}
}

// fill touches a field and types into it.
func (b *tab) fill(id, text string) {
	b.t.Helper()
	b.tap("#" + id)
	b.until(`document.activeElement.id === ` + quoted(id))
	b.keys(text)
	b.until(`document.getElementById(` + quoted(id) + `).value === ` + quoted(text))
}

// pourBy presses "poured" by some means, and waits until the line has been
// ticked off and the laptop has it.
func (b *tab) pourBy(press func()) string {
	b.t.Helper()
	b.until(ready + ` && ` + drawn)
	ref := js[string](b, turn)
	b.until(`Date.now() - (window.lastPour || 0) > 750`)
	press()
	js[bool](b, `(window.lastPour = Date.now(), true)`)
	b.until(`!(` + ready + `) || (` + turn + `) !== ` + quoted(ref))
	return ref
}

const allSaved = `Object.keys(localStorage).every((k) => !k.startsWith("firlot.event."))`

// A whole making with touch on a phone's screen: a slip, a short jar, a page
// that is loaded anew, a program that is killed, and the batch is finished.
func TestAWholeMakingByTouch(t *testing.T) {
	dir := t.TempDir()
	a := startIn(t, dir, "127.0.0.1:0", true)
	addr := strings.TrimPrefix(a.base, "http://")
	b := browser(t, 360)
	b.touchScreen()
	b.goTo(a.base + a.demoMix("adult gerbils"))
	b.until(live)
	b.tap("#toscale")
	b.tap("button[value=start]")
	b.until(ready)
	at := js[string](b, `location.pathname`)
	tap := func() { b.tap("#poured") }
	b.pourBy(tap)
	if got := js[string](b, `document.querySelector(".tare").textContent`); got != "not zeroed: from 220 to 428\u00a0g" {
		t.Errorf("the running tare is %q", got)
	}

	// Too much of the second.
	b.tap("#different summary")
	b.fill("mass1", "338")
	b.until(`Date.now() - (window.lastPour || 0) > 750`)
	b.tap("#different button")
	b.until(`location.pathname.endsWith("/rescue")`)
	b.tap(`button[value="rescue"]`)
	b.until(`!location.pathname.endsWith("/rescue") && ` + ready)
	if s := a.state(at); s.Off || s.Replans != 1 {
		t.Fatalf("after the rescue: off %v, %d replans", s.Off, s.Replans)
	}

	// The third jar is empty after 25 g.
	short := js[string](b, turn)
	b.tap("#empty summary")
	b.fill("mass2", "25")
	b.until(`Date.now() - (window.lastPour || 0) > 750`)
	b.tap("#empty button")
	b.until(`location.pathname.endsWith("/rescue")`)
	b.tap(`.proposal.best button`)
	b.until(`!location.pathname.endsWith("/rescue") && ` + ready)

	// The page is loaded anew: the same line has the turn.
	now := js[string](b, turn)
	b.goTo(a.base + at)
	b.until(ready + ` && ` + drawn)
	if got := js[string](b, turn); got != now {
		t.Errorf("after the reload the line is %s, before it was %s", got, now)
	}

	// The program goes away in the middle of it; two pours wait here.
	a.stop()
	one := b.pourBy(tap)
	b.until(`document.getElementById("net2").textContent.startsWith("1 not saved")`)
	two := b.pourBy(tap)
	b.until(`document.querySelectorAll("#pours .wait").length === 2`)
	again := startIn(t, dir, addr, false)
	b.until(allSaved)
	m, err := again.store.Making(t.Context(), store.ID(strings.TrimPrefix(at, "/making/")))
	if err != nil {
		t.Fatal(err)
	}
	poured := map[string]int{}
	for _, e := range m.Events {
		if e.Kind == store.KindPour {
			poured[e.Ref]++
		}
	}
	if poured[one] != 1 || poured[two] != 1 || poured[short] != 1 {
		t.Errorf("poured so many times: %v", poured)
	}

	for range 20 {
		if !js[bool](b, ready) || js[bool](b, `location.pathname.endsWith("/finish")`) {
			break
		}
		b.pourBy(tap)
	}
	b.until(`location.pathname.endsWith("/finish")`)
	b.tap(`button[value="finish"]`)
	b.until(`location.pathname === ` + quoted(at))
	again.open(at).says("finished", "inside its 3 windows", "the rest was planned anew", "is empty")
}

// Everything by the keyboard: Enter pours, U takes back, D and W open what
// they say, and the keys can be switched off.
func TestAMakingByKeys(t *testing.T) {
	a := start(t, true)
	at := where(begin(a, nil))
	b := browser(t, 1280)
	b.goTo(a.base + at)
	b.until(ready + ` && document.getElementById("net2").textContent === "all saved"`)
	first := b.pourBy(func() { b.keys(kb.Enter) })
	second := b.pourBy(func() { b.keys(kb.Enter) })
	b.until(allSaved)
	b.until(`Date.now() - window.lastPour > 750`)
	b.keys("u")
	b.until(turn + ` === ` + quoted(second))
	b.until(allSaved)
	if s := a.state(at); s.Poured != 220_000 || s.Lines[0].Ref != first {
		t.Errorf("after the take-back %d mg are in the bowl", s.Poured)
	}
	b.keys("d")
	b.until(`document.activeElement.id === "mass1"`)
	b.until(`Date.now() - window.lastPour > 1600`)
	js[bool](b, `(document.activeElement.value = "", true)`) // the letter, which a real keyboard would not type here
	b.keys("100" + kb.Enter)
	b.until(`document.getElementById("grams").textContent === "108"`)
	b.until(allSaved)
	js[bool](b, `(document.activeElement.blur(), document.getElementById("different").open = false, true)`)
	b.keys("w")
	b.until(`document.activeElement.id === "ref3"`)
	js[bool](b, `(document.activeElement.blur(), document.getElementById("wrong").open = false, true)`)
	b.keys("n")
	b.until(`document.activeElement.id === "notetext"`)
	js[bool](b, `(document.activeElement.value = "", true)`)
	b.keys("the kettle" + kb.Enter)
	b.until(allSaved)
	if notes := a.open(at); !strings.Contains(notes.text(), "the kettle") {
		t.Error("the note is not kept")
	}
	js[bool](b, `(document.activeElement.blur(), document.getElementById("keys").open = true, document.getElementById("keyson").click(), true)`)
	js[bool](b, `(document.activeElement.blur(), true)`)
	before := a.state(at).Events
	b.keys("u")
	b.keys("d")
	if js[bool](b, `document.getElementById("different").open`) || a.state(at).Events != before {
		t.Error("keys that are switched off do something")
	}
	// With the tabulator alone, as where single keys are switched off.
	b.goTo(a.base + at)
	b.until(ready)
	b.tabTo("#poured")
	b.pourBy(func() { b.keys(kb.Enter) })
	b.until(allSaved)
	if s := a.state(at); s.Events != before+1 {
		t.Errorf("%d events, there were %d", s.Events, before)
	}
}

// A knuckle bounces: two touches at once are one pour.
func TestABouncingKnuckleIsOnePour(t *testing.T) {
	a := start(t, true)
	at := where(begin(a, nil))
	b := browser(t, 360)
	b.touchScreen()
	b.goTo(a.base + at)
	b.until(ready + ` && document.getElementById("net2").textContent === "all saved"`)
	js[bool](b, `(document.getElementById("poured").click(), document.getElementById("poured").click(), true)`)
	b.until(allSaved + ` && document.querySelectorAll("#pours .did").length === 1`)
	if s := a.state(at); s.Events != 1 {
		t.Errorf("%d events", s.Events)
	}
}

// A scale of a kilogram and more is written the same by the script as by the
// page.
func TestTheScriptWritesGramsAsThePageDoes(t *testing.T) {
	a := start(t, true)
	for _, lang := range languages {
		a.lang = lang
		at := where(begin(a, map[string]string{"batch": "20 kg"}))
		if err := a.store.SetSetting(t.Context(), settingLanguage, lang); err != nil {
			t.Fatal(err)
		}
		b := browser(t, 360)
		b.goTo(a.base + at)
		b.until(ready + ` && document.querySelector(".v-Mass") !== null`)
		b.pourBy(func() { b.click("#poured") })
		b.until(allSaved)
		written := js[[]string](b, `[document.querySelector(".v-Mass").textContent, document.getElementById("grams").textContent, document.querySelector(".tare").textContent, ...[...document.querySelectorAll("#pours .m")].map((m) => m.textContent)]`)
		b.goTo(a.base + at)
		b.until(ready)
		_, err := chromedp.Call(b.ctx, emulation.SetScriptExecutionDisabled, emulation.SetScriptExecutionDisabledParams{Value: true})
		b.must(err)
		b.goTo(a.base + at)
		b.until(`document.readyState === "complete"`)
		served := js[[]string](b, `[document.querySelector(".v-Mass").textContent, document.getElementById("grams").textContent, document.querySelector(".tare").textContent, ...[...document.querySelectorAll("#pours .m")].map((m) => m.textContent)]`)
		if fmt.Sprint(written) != fmt.Sprint(served) {
			t.Errorf("%s: the script writes %q, the page %q", lang, written, served)
		}
	}
}

// Without scripts the same page works by its forms.
func TestAPourWithoutScripts(t *testing.T) {
	a := start(t, true)
	at := where(begin(a, nil))
	b := browser(t, 360)
	_, err := chromedp.Call(b.ctx, emulation.SetScriptExecutionDisabled, emulation.SetScriptExecutionDisabledParams{Value: true})
	b.must(err)
	b.goTo(a.base + at)
	b.click("#poured")
	b.until(`document.readyState === "complete" && ` + turn + ` === "oats/groats"`)
	b.click("#different summary")
	b.click("#mass1")
	b.keys("100" + kb.Enter)
	b.until(`document.readyState === "complete" && document.getElementById("grams").textContent === "108"`)
	b.click(".nm a[href='?now=linseed/whole'], .nm a[href='?now=linseed%2fwhole']")
	b.until(`document.readyState === "complete" && ` + turn + ` === "linseed/whole"`)
	b.click("#back button")
	b.until(`document.readyState === "complete" && document.getElementById("grams").textContent === "208"`)
}

// With two bowls, a small scale and a fine one, the page says where each pour
// goes and when the bowl is to be tipped out, as the laptop has it.
func TestBowlsAndRoundsInTheBrowser(t *testing.T) {
	a := start(t, true)
	at := where(begin(a, map[string]string{"bowls": "2", "ceiling": "300 g", "vessel": "80 g", "fine_step": "0.1 g"}))
	b := browser(t, 360)
	b.goTo(a.base + at)
	b.until(ready)
	for range 60 {
		s := a.state(at)
		if len(s.Steps) == 0 {
			break
		}
		n := s.Steps[0]
		b.until(fmt.Sprintf(`Number(document.getElementById("pour").mg.value) === %d && Number(document.getElementById("pour").bowl.value) === %d && Number(document.getElementById("pour").round.value) === %d`, n.Mg, n.Bowl, n.Round))
		if got := js[string](b, `document.getElementById("where").textContent`); got != n.Where || !strings.Contains(got, fmt.Sprintf("Bowl %d of 2.", n.Bowl)) || strings.Contains(got, "fine") != n.Fine {
			t.Fatalf("%+v: the page says %q", n, got)
		}
		if got := js[bool](b, `!document.getElementById("tip").hidden`); got != n.Tip {
			t.Fatalf("%+v: to be tipped out: %v", n, got)
		}
		if got := js[string](b, `document.querySelector(".tare .v-B").textContent`); got != wordsIn(t, "en").Mass(nutrient.Mass(n.After)) {
			t.Fatalf("%+v: the tare goes to %q", n, got)
		}
		b.until(`Date.now() - (window.lastPour || 0) > 750`)
		b.click("#poured")
		js[bool](b, `(window.lastPour = Date.now(), true)`)
		for range 200 {
			if a.state(at).Events > s.Events {
				break
			}
			time.Sleep(20 * time.Millisecond)
		}
		if len(s.Steps) == 1 {
			break
		}
	}
	b.until(`location.pathname.endsWith("/finish")`)
	if s := a.state(at); s.Poured != 1_000_000 {
		t.Errorf("%d mg are in the bowls", s.Poured)
	}
}

// A disk that is full is said on the page, and the pour waits until it can be
// kept.
func TestAFullDiskInTheBrowser(t *testing.T) {
	a := start(t, true)
	full := &fullStore{Store: a.store}
	a.server.Store = full
	at := where(begin(a, nil))
	b := browser(t, 360)
	b.goTo(a.base + at)
	b.until(ready + ` && document.getElementById("net2").textContent === "all saved"`)
	full.set(store.ErrFull)
	b.pourBy(func() { b.click("#poured") })
	b.until(`!document.getElementById("trouble").hidden && document.getElementById("trouble").textContent.includes("The disk is full: this pour is not saved")`)
	if s := a.state(at); s.Poured != 0 {
		t.Errorf("%d mg are said to be in the bowl", s.Poured)
	}
	if js[bool](b, `document.querySelectorAll("#pours .did").length > 0`) {
		t.Error("the pour is marked as saved")
	}
	full.set(nil)
	b.until(allSaved + ` && document.getElementById("trouble").hidden && document.querySelectorAll("#pours .did").length === 1`)
	if s := a.state(at); s.Poured != 220_000 {
		t.Errorf("%d mg are in the bowl", s.Poured)
	}
}

// The ways on after a slip on a phone: the nearest, one food more from the
// shelf, and a bowl to throw away. Nothing is wider than the screen, and the
// first button does what it says.
func TestRescuesByTouch(t *testing.T) {
	a := start(t, true)
	b := browser(t, 360)
	b.touchScreen()
	look := func(at string) {
		t.Helper()
		b.goTo(a.base + at + "/rescue")
		b.until(`document.readyState === "complete"`)
		if wide := js[string](b, `[...document.querySelectorAll("main *")].filter((e) => e.getClientRects().length && e.getBoundingClientRect().right > innerWidth + 1 && !e.closest(".hidden")).map((e) => e.outerHTML.slice(0, 80)).join("\n")`); wide != "" {
			t.Errorf("wider than the screen: %s", wide)
		}
	}
	near := makingOf(shortMix(a))
	look(near)
	b.tap(`.proposal.best button`)
	b.until(`!location.pathname.endsWith("/rescue") && ` + ready)
	if s := a.state(near); s.Off || s.Replans != 1 {
		t.Errorf("the nearest: %+v", s)
	}
	more := makingOf(shortMix(a, "own-other"))
	look(more)
	b.tap(`.proposal.best button`)
	b.until(`!location.pathname.endsWith("/rescue") && ` + ready)
	if s := a.state(more); s.Off || len(s.Lines) != 3 {
		t.Errorf("one food more: %+v", s)
	}
	lost := makingOf(begin(a, nil))
	a.ask(lost, map[string]string{"key": "slip", "kind": "pour", "ref": "poppy/whole", "mass": "400", "how": "poured"})
	look(lost)
	b.tap(`.ways .button`)
	b.until(`location.pathname.endsWith("/finish")`)
	b.tap(`button[value=leave]`)
	b.until(`!location.pathname.endsWith("/finish")`)
	if s := a.state(lost); s.State != store.StateLeft {
		t.Errorf("the bowl to throw away is %s", s.State)
	}
}

// inLanguage makes a tab ask for a language.
func inLanguage(b *tab, lang string) {
	b.t.Helper()
	_, err := chromedp.Call(b.ctx, network.SetExtraHTTPHeaders, network.SetExtraHTTPHeadersParams{Headers: network.Headers{"Accept-Language": lang}})
	b.must(err)
}
