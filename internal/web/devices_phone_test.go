package web

import (
	"context"
	"fmt"
	"strings"
	"testing"

	"github.com/chromedp/cdproto/cdp"
	cdpage "github.com/chromedp/cdproto/page"
	"github.com/chromedp/chromedp"

	"firlot/internal/scales"
	"firlot/internal/store"
)

// begin starts a making of an invented mix, as a keeper does on the laptop.
func (a *app) begin(name string) string {
	a.t.Helper()
	id := strings.TrimPrefix(a.demoMix(name), "/mix/")
	p := a.press(a.open("/making/new?mix="+id), with("value", "start"), nil)
	path, _, _ := strings.Cut(p.path, "?")
	path, _, _ = strings.Cut(path, "#")
	if !strings.HasPrefix(path, "/making/") || path == "/making/new" {
		a.t.Fatalf("it did not begin: %s\n%s", p.path, p.start())
	}
	return path
}

// poured are the pours that stand in the store, as ingredient and milligrams,
// in their order.
func (a *app) poured(path string) []string {
	a.t.Helper()
	m, err := a.store.Making(context.Background(), store.ID(strings.TrimPrefix(path, "/making/")))
	if err != nil {
		a.t.Fatal(err)
	}
	var list []string
	keys := map[string]bool{}
	for _, e := range m.Events {
		if keys[e.Key] {
			a.t.Fatalf("the key %s is there twice", e.Key)
		}
		keys[e.Key] = true
		if e.Kind == store.KindPour {
			list = append(list, fmt.Sprintf("%s %d", e.Ref, e.Mg))
		}
	}
	return list
}

// comeIn pairs a browser with the app by typing the code.
func (b *tab) comeIn(a *app, name string) {
	b.t.Helper()
	code, err := a.server.PairingCode()
	b.must(err)
	b.pairs(a.server.SharedAt()[0], code, name)
}

func (b *tab) pairs(url, code, name string) {
	b.t.Helper()
	b.goTo(url)
	b.until(`location.pathname === "/pair"`)
	b.click("#code")
	b.keys(code)
	js[bool](b, `document.getElementById("name").select() === undefined`)
	b.keys(name)
	b.do(chromedp.Focus(chromedp.CSS("#name")))
	b.click("form[action='/pair'] button")
	b.until(`location.pathname === "/making"`)
}

// emulateNetwork is Network.emulateNetworkConditions: browsers that are about
// today want its offline, not yet that of the command by rules.
var emulateNetwork = cdp.Command[emulateNetworkParams, cdp.Empty]{Method: "Network.emulateNetworkConditions"}

type emulateNetworkParams struct {
	Offline  bool    `json:"offline"`
	Latency  float64 `json:"latency"`
	Download float64 `json:"downloadThroughput"`
	Upload   float64 `json:"uploadThroughput"`
}

// connected cuts a tab off the network, once its script has heard how the
// making stands, or lets it back.
func (b *tab) connected(on bool) {
	b.t.Helper()
	if !on {
		b.until(ready + ` && ` + drawn)
	}
	_, err := chromedp.Call(b.ctx, emulateNetwork, emulateNetworkParams{Offline: !on, Download: -1, Upload: -1})
	b.must(err)
}

// pour presses "poured" for the line that has the turn, and waits until
// another has it.
func (b *tab) pour() string {
	b.t.Helper()
	b.until(ready + ` && ` + drawn)
	ref := js[string](b, turn)
	b.until(`Date.now() - (window.lastPour || 0) > 750`) // the page takes no second press so soon
	b.click("#poured")
	js[bool](b, `(window.lastPour = Date.now(), true)`)
	b.until(`!(` + ready + `) || (` + turn + `) !== ` + quoted(ref))
	return ref
}

const (
	turn  = `document.querySelector("#pour input[name=ref]").value`
	ready = `document.querySelector("#poured") !== null && document.querySelector("#now") !== null`
	drawn = `document.getElementById("card").dataset.ref !== undefined` // by the page's script, not as it came
	left  = `Object.keys(localStorage).filter((k) => k.startsWith("firlot.event.")).length`
)

// freshBrowser is another device: a profile of its own.
func freshBrowser(t *testing.T) *tab { return browser(t, 360) }

// later evaluates a promise.
func later[T any](b *tab, expression string) T {
	b.t.Helper()
	v, err := chromedp.Run(b.ctx, chromedp.Evaluate[T](expression, chromedp.EvalAwaitPromise))
	if err != nil {
		b.t.Fatalf("%s: %v", expression, err)
	}
	return v
}

// A phone comes in, pours, loses its network, pours two more, gets it back:
// each pour is kept once, in order; the page said what waited; and what it
// cannot know it does not claim.
func TestAPhoneLosesItsNetwork(t *testing.T) {
	a := startShared(t, SharePlain)
	path := a.begin("adult gerbils")
	b := freshBrowser(t)
	b.comeIn(a, "Kitchen phone")
	b.goTo(strings.TrimSuffix(a.server.SharedAt()[0], "/") + path)
	var want []string
	want = append(want, b.pour())
	b.until(left + ` === 0`)
	b.connected(false)
	want = append(want, b.pour(), b.pour())
	b.until(left + ` === 2`)
	if got := a.poured(path); len(got) != 1 {
		t.Fatalf("while it is away the laptop has %v", got)
	}
	b.until(`document.querySelectorAll("#pours li.wait").length === 2`)
	if !strings.Contains(js[string](b, `document.getElementById("net2").textContent`), "2") {
		t.Errorf("it says %q", js[string](b, `document.getElementById("net2").textContent`))
	}
	b.connected(true)
	b.until(left + ` === 0`)
	b.until(`document.querySelectorAll("#pours li.wait").length === 0`)
	got := a.poured(path)
	for i, g := range got {
		if i >= len(want) || !strings.HasPrefix(g, want[i]+" ") {
			t.Fatalf("kept are %v, poured were %v", got, want)
		}
	}
	if len(got) != len(want) {
		t.Fatalf("kept are %v, poured were %v", got, want)
	}
	m, err := a.store.Making(t.Context(), store.ID(strings.TrimPrefix(path, "/making/")))
	if err != nil {
		t.Fatal(err)
	}
	devices, err := a.store.Devices(t.Context())
	if err != nil || len(devices) != 1 || m.Events[0].Device != devices[0].ID {
		t.Errorf("the pours are not the phone's: %v, %v", m.Events[0].Device, err)
	}
}

// Two phones on one making see each other's pours, and pour the rest between
// them.
func TestTwoPhonesSeeEachOther(t *testing.T) {
	a := startShared(t, SharePlain)
	path := a.begin("adult gerbils")
	one, two := freshBrowser(t), freshBrowser(t)
	url := strings.TrimSuffix(a.server.SharedAt()[0], "/") + path
	one.comeIn(a, "one")
	two.comeIn(a, "two")
	one.goTo(url)
	two.goTo(url)
	two.until(ready)
	first := one.pour()
	two.until(turn + ` !== ` + quoted(first))
	second := two.pour()
	one.until(turn + ` !== ` + quoted(second) + ` && ` + turn + ` !== ` + quoted(first))
	if got := a.poured(path); len(got) != 2 || !strings.HasPrefix(got[0], first+" ") || !strings.HasPrefix(got[1], second+" ") {
		t.Errorf("kept are %v", got)
	}
}

// The same line poured on both while one was away: both are in the bowl, both
// are counted, and the rescue is offered.
func TestBothPouredTheSame(t *testing.T) {
	a := startShared(t, SharePlain)
	path := a.begin("adult gerbils")
	one, two := freshBrowser(t), freshBrowser(t)
	url := strings.TrimSuffix(a.server.SharedAt()[0], "/") + path
	one.comeIn(a, "one")
	two.comeIn(a, "two")
	one.goTo(url)
	two.goTo(url)
	one.until(ready)
	two.until(ready)
	one.connected(false)
	ref := one.pour()
	two.pour()
	two.until(left + ` === 0`)
	one.connected(true)
	one.until(left + ` === 0`)
	got := a.poured(path)
	if len(got) != 2 || got[0] != got[1] || !strings.HasPrefix(got[0], ref+" ") {
		t.Fatalf("kept are %v", got)
	}
	for _, b := range []*tab{one, two} {
		b.until(`location.pathname.endsWith("/rescue")`)
	}
}

// A phone pours while it is away, and the making is closed meanwhile: the phone
// says what is not in it, and one press opens it again and counts it. What did
// not go into the bowl is forgotten with another.
func TestAPourForAMakingThatIsClosed(t *testing.T) {
	a := startShared(t, SharePlain)
	path := a.begin("adult gerbils")
	id := store.ID(strings.TrimPrefix(path, "/making/"))
	leave := func() {
		t.Helper()
		m, err := a.store.Making(t.Context(), id)
		if err == nil {
			_, err = a.store.LeaveMaking(t.Context(), id, m.Rev)
		}
		if err != nil {
			t.Fatal(err)
		}
	}
	b := freshBrowser(t)
	b.comeIn(a, "phone")
	b.goTo(strings.TrimSuffix(a.server.SharedAt()[0], "/") + path)
	b.until(ready)
	b.connected(false)
	b.pour()
	name := js[string](b, `Object.entries(localStorage).filter(([k]) => k.startsWith("firlot.event.")).map(([, v]) => JSON.parse(v)._name)[0]`)
	leave()
	b.connected(true)
	const shown = `document.getElementById("left") !== null && !document.getElementById("left").hidden`
	b.until(shown)
	if said := js[string](b, `document.getElementById("left").innerText`); name == "" || !strings.Contains(said, name) || !strings.Contains(said, "220") || !strings.Contains(said, "open the making again") {
		t.Errorf("it says %q of %q", said, name)
	}
	b.click("#left button[value=reopen]")
	b.until(`document.getElementById("weigh") !== null`)
	b.until(left + ` === 0`)
	if got := a.poured(path); len(got) != 1 {
		t.Fatalf("kept are %v", got)
	}
	b.until(ready)
	b.connected(false)
	b.pour()
	leave()
	b.connected(true)
	b.until(shown)
	b.click("#leftdrop")
	b.until(`!(` + shown + `)`)
	if n := js[int](b, left); n != 0 {
		t.Errorf("%d events are here still", n)
	}
	if got := a.poured(path); len(got) != 1 {
		t.Errorf("kept are %v", got)
	}
}

// A browser that keeps nothing holds a pour in its page alone: the page stays,
// though the making is closed, and the pour goes once it is open again.
func TestAPageThatAloneHoldsAPourStays(t *testing.T) {
	a := startShared(t, SharePlain)
	path := a.begin("adult gerbils")
	id := store.ID(strings.TrimPrefix(path, "/making/"))
	b := freshBrowser(t)
	b.comeIn(a, "phone")
	b.goTo(strings.TrimSuffix(a.server.SharedAt()[0], "/") + path)
	b.until(ready)
	js[bool](b, `(Storage.prototype.setItem = () => { throw new Error("no room"); }, true)`)
	b.connected(false)
	b.pour()
	m, err := a.store.Making(t.Context(), id)
	b.must(err)
	m, err = a.store.LeaveMaking(t.Context(), id, m.Rev)
	b.must(err)
	b.connected(true)
	b.until(`document.querySelector("#trouble button") !== null`)
	if said := js[string](b, `document.getElementById("trouble").innerText`); !strings.Contains(said, "This making is closed") {
		t.Errorf("it says %q", said)
	}
	if said := js[string](b, `document.getElementById("net2").textContent`); !strings.HasPrefix(said, "1 not saved") {
		t.Errorf("it says %q", said)
	}
	_, err = a.store.ReopenMaking(t.Context(), id, m.Rev)
	b.must(err)
	b.until(`document.getElementById("net2").textContent === "all saved"`)
	if got := a.poured(path); len(got) != 1 {
		t.Errorf("kept are %v", got)
	}
}

// A phone whose browser lacks what the page's script is made of pours by its
// forms.
func TestAnOldBrowserPoursByForms(t *testing.T) {
	for _, lacks := range []string{`delete globalThis.structuredClone`, `delete Array.prototype.at; delete globalThis.structuredClone`, `delete globalThis.AbortController`} {
		a := startShared(t, SharePlain)
		path := a.begin("adult gerbils")
		b := freshBrowser(t)
		b.comeIn(a, "phone")
		_, err := chromedp.Call(b.ctx, cdpage.AddScriptToEvaluateOnNewDocument, cdpage.AddScriptToEvaluateOnNewDocumentParams{Source: lacks})
		b.must(err)
		b.goTo(strings.TrimSuffix(a.server.SharedAt()[0], "/") + path)
		for range 2 {
			b.until(ready + ` && document.readyState === "complete" && performance.now() > 750`) // whole, and no bounce of the press before
			ref := js[string](b, turn)
			js[bool](b, `document.getElementById("poured").click() === undefined`) // where it stands may still move
			b.until(ready + ` && ` + turn + ` !== ` + quoted(ref))
		}
		b.until(left + ` === 0`)
		if got := a.poured(path); len(got) != 2 {
			t.Errorf("%s: kept are %v", lacks, got)
		}
	}
}

// A scale that shows milligrams: what is read off it is a pour while the laptop
// is away too, in either language's decimals.
func TestMilligramsWhileTheLaptopIsAway(t *testing.T) {
	for lang, typed := range map[string]string{"en": "1.234", "es": "1,234"} {
		a := startShared(t, SharePlain)
		path := a.begin("adult gerbils")
		if err := a.store.SetSetting(t.Context(), settingLanguage, lang); err != nil {
			t.Fatal(err)
		}
		b := freshBrowser(t)
		b.comeIn(a, "phone")
		b.goTo(strings.TrimSuffix(a.server.SharedAt()[0], "/") + path)
		b.until(ready)
		b.connected(false)
		js[bool](b, `(document.getElementById("different").open = true, document.getElementById("mass1").value = `+quoted(typed)+`, true)`)
		b.click("#different button")
		b.until(left + ` === 1`)
		b.connected(true)
		b.until(left + ` === 0`)
		if got := a.poured(path); len(got) != 1 || !strings.HasSuffix(got[0], " 1234") {
			t.Errorf("%s: kept are %v", lang, got)
		}
	}
}

// A phone whose clock is set back goes on pouring.
func TestAClockThatIsSetBack(t *testing.T) {
	a := startShared(t, SharePlain)
	path := a.begin("adult gerbils")
	b := freshBrowser(t)
	b.comeIn(a, "phone")
	b.goTo(strings.TrimSuffix(a.server.SharedAt()[0], "/") + path)
	b.pour()
	js[bool](b, `(() => {
		const now = Date.now.bind(Date), pressed = performance.now();
		Date.now = () => now() - 3600e3;
		window.rested = () => performance.now() - pressed > 750;
		window.lastPour = 0;
		return true;
	})()`)
	b.until(`window.rested()`)
	b.pour()
	b.until(left + ` === 0`)
	if got := a.poured(path); len(got) != 2 {
		t.Errorf("kept are %v", got)
	}
}

// A device that is shut out in the middle of it keeps what it poured, and it
// goes once it is let in again.
func TestAPhoneIsShutOutWhileItPours(t *testing.T) {
	a := startShared(t, SharePlain)
	path := a.begin("adult gerbils")
	b := freshBrowser(t)
	b.comeIn(a, "phone")
	url := strings.TrimSuffix(a.server.SharedAt()[0], "/") + path
	b.goTo(url)
	b.until(ready)
	devices, err := a.store.Devices(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	if err := a.store.RevokeDevice(t.Context(), devices[0].ID); err != nil {
		t.Fatal(err)
	}
	b.pour()
	b.until(`!document.getElementById("trouble").hidden`)
	if got := a.poured(path); len(got) != 0 {
		t.Fatalf("kept are %v", got)
	}
	b.comeIn(a, "phone again")
	b.goTo(url)
	b.until(left + ` === 0`)
	if got := a.poured(path); len(got) != 1 {
		t.Errorf("kept are %v", got)
	}
}

// The simulated scale speaks in real frames; one press takes its weight over;
// nothing is poured by it.
func TestAScaleFillsTheAmountIn(t *testing.T) {
	a := start(t, true)
	path := a.begin("adult gerbils")
	b := freshBrowser(t)
	for _, kind := range []string{"", "=serial"} {
		b.goTo(a.base + path + "?simulate" + kind)
		b.until(ready)
		b.until(`document.getElementById("simulated") !== null`)
		b.until(`document.getElementById("scaleshows").textContent.startsWith("0")`)
		if !js[bool](b, `document.getElementById("scaletakes").disabled`) {
			t.Error("nothing on the scale can be taken")
		}
		b.click("#simulated")
		js[bool](b, `document.getElementById("simulated").select() === undefined`)
		b.keys("23.4")
		b.until(`!document.getElementById("scaletakes").disabled && document.getElementById("scaletakes").textContent.includes("23.4")`)
		b.click("#scaletakes")
		b.until(`document.getElementById("mass1").value === "23.4"`)
		if got := a.poured(path); len(got) != 0 {
			t.Fatalf("it poured by itself: %v", got)
		}
	}
	b.click("#different form button.main")
	b.until(left + ` === 0`)
	if got := a.poured(path); len(got) != 1 || !strings.HasSuffix(got[0], " 23400") {
		t.Errorf("kept are %v", got)
	}
	for _, s := range scales.States() {
		if s != scales.Nothing && js[string](b, `document.getElementById("scale").dataset.`+string(s)+` || ""`) == "" {
			t.Errorf("there is no word for %q", s)
		}
	}
	b.goTo(a.base + path)
	b.until(ready)
	if js[bool](b, `document.getElementById("simulated") !== null`) {
		t.Error("the simulated scale is there unasked")
	}
}
