package web

import (
	"context"
	"io"
	"net/http"
	"os"
	"os/exec"
	"strings"
	"sync/atomic"
	"testing"
	"time"

	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/chromedp"
	"github.com/chromedp/chromedp/kb"
)

// The tests in this file drive a browser. Without chromium they are skipped,
// but on the build machine (CI=true) they fail.

// tab is a browser's page.
type tab struct {
	t   testing.TB
	ctx context.Context
}

// patience is how long a test waits for the page to say something. It bounds
// a failing test; nothing is measured by it.
const patience = 20 * time.Second

func chromium(t testing.TB) string {
	t.Helper()
	for _, name := range []string{"chromium", "chromium-browser", "google-chrome", "chrome"} {
		if path, err := exec.LookPath(name); err == nil {
			return path
		}
	}
	if os.Getenv("CI") == "true" {
		t.Fatal("there is no chromium")
	}
	t.Skip("there is no chromium")
	return ""
}

// browser opens a browser with a fresh profile, at a width; more are options
// of its own.
func browser(t testing.TB, width int64, more ...chromedp.ExecAllocatorOption) *tab {
	t.Helper()
	if testing.Short() {
		t.Skip("short")
	}
	opts := []chromedp.ExecAllocatorOption{chromedp.ExecPath(chromium(t)), chromedp.NoFirstRun, chromedp.NoDefaultBrowserCheck, chromedp.Headless,
		chromedp.NoSandbox, chromedp.DisableGPU, chromedp.UserDataDir(t.TempDir()), chromedp.Flag("disable-quic", true),
		chromedp.Flag("disable-background-networking", true), chromedp.Flag("disable-component-update", true), chromedp.Flag("disable-sync", true),
		chromedp.Flag("disable-dev-shm-usage", true), chromedp.Flag("lang", "en")}
	alloc, cancel := chromedp.NewExecAllocator(context.Background(), append(opts, more...)...)
	t.Cleanup(cancel)
	ctx, stop := chromedp.NewContext(alloc)
	t.Cleanup(stop)
	b := &tab{t, ctx}
	b.size(width)
	return b
}

func (b *tab) size(width int64) {
	b.t.Helper()
	_, err := chromedp.Call(b.ctx, emulation.SetDeviceMetricsOverride, emulation.SetDeviceMetricsOverrideParams{Width: width, Height: 800, DeviceScaleFactor: 1, Mobile: width < 600})
	b.must(err)
}

// another opens a second tab in the same browser.
func (b *tab) another() *tab {
	b.t.Helper()
	ctx, stop := chromedp.NewContext(b.ctx)
	b.t.Cleanup(stop)
	return &tab{b.t, ctx}
}

func (b *tab) must(err error) {
	b.t.Helper()
	if err != nil {
		b.t.Fatal(err)
	}
}

func (b *tab) goTo(url string) {
	b.t.Helper()
	b.must(chromedp.Do(b.ctx, chromedp.Navigate(url)))
}

// js evaluates an expression.
func js[T any](b *tab, expression string) T {
	b.t.Helper()
	v, err := chromedp.Run(b.ctx, chromedp.Evaluate[T](expression))
	if err != nil {
		b.t.Fatalf("%s: %v", expression, err)
	}
	return v
}

// until waits for an expression to become true.
func (b *tab) until(expression string) {
	b.t.Helper()
	for end := time.Now().Add(patience); time.Now().Before(end); time.Sleep(20 * time.Millisecond) {
		if ok, err := chromedp.Run(b.ctx, chromedp.Evaluate[bool](expression)); err == nil && ok {
			return
		}
	}
	b.t.Fatalf("this did not come true: %s\n%s", expression, js[string](b, `document.querySelector("main").innerText.slice(0, 500)`))
}

// do finds something on the page and acts on it. A page that has just taken
// the place of another can lose what was found before it is acted on: nothing
// is done then, and it is found anew.
func (b *tab) do(a chromedp.Action[chromedp.Void]) {
	b.t.Helper()
	for end := time.Now().Add(patience); ; time.Sleep(20 * time.Millisecond) {
		err := chromedp.Do(b.ctx, a)
		if err == nil {
			return
		}
		if !strings.Contains(err.Error(), "node with given id") || time.Now().After(end) {
			b.t.Fatal(err)
		}
	}
}

// click presses what a selector finds, with the mouse.
func (b *tab) click(selector string) {
	b.t.Helper()
	b.do(chromedp.Click(chromedp.CSS(selector)))
}

// keys types, as on a keyboard.
func (b *tab) keys(keys string) {
	b.t.Helper()
	b.must(chromedp.Do(b.ctx, chromedp.KeyEvent(keys)))
}

// tabTo presses the tabulator key until a selector has the focus.
func (b *tab) tabTo(selector string) {
	b.t.Helper()
	for range 200 {
		b.keys(kb.Tab)
		if js[bool](b, `document.activeElement.matches(`+quoted(selector)+`)`) {
			return
		}
	}
	b.t.Fatalf("the tabulator key does not reach %s", selector)
}

func quoted(s string) string { return "'" + strings.ReplaceAll(s, "'", `\'`) + "'" }

const (
	sumOfGrams = `[...document.querySelectorAll(".line .grams b")].reduce((n, b) => n + Number(b.textContent.replace(/,/g, "")), 0)`
	oats       = `document.getElementById("l-oats/groats").querySelector(".grams b").textContent`
	// mark is lost when the page is loaded anew.
	mark   = `window.stillHere = true`
	marked = `window.stillHere === true`
	live   = `document.documentElement.classList.contains("live")`
)

func TestAChangeByMouse(t *testing.T) {
	a := start(t, true)
	for _, width := range []int64{360, 1280} {
		b := browser(t, width)
		b.goTo(a.base + a.demoMix("adult gerbils"))
		b.until(live)
		js[bool](b, mark)
		js[bool](b, `document.getElementById("windows").open = true`)
		b.click("#batch")
		js[bool](b, `document.getElementById("batch").select() === undefined`)
		b.keys("1500")
		b.until(sumOfGrams + ` === 1500`)
		if !js[bool](b, marked) {
			t.Error("the page was loaded anew")
		}
		if !js[bool](b, `document.activeElement.id === "batch" && document.activeElement.value === "1500"`) {
			t.Error("the field lost the focus or what was typed in it")
		}
		if !js[bool](b, `document.getElementById("windows").open`) {
			t.Error("what was open was shut")
		}
		b.until(`!document.getElementById("undo").disabled`) // it is saved
		b.click("#undo")
		b.until(sumOfGrams + ` === 1000`)
	}
}

func TestAChangeByKeyboardAlone(t *testing.T) {
	a := start(t, true)
	for _, width := range []int64{360, 1280} {
		b := browser(t, width)
		b.goTo(a.base + a.demoMix("adult gerbils"))
		b.until(live)
		js[bool](b, mark)
		before := js[string](b, oats)
		b.tabTo("#sureness")
		b.keys(kb.ArrowDown)
		b.until(oats + ` !== ` + quoted(before))
		if !js[bool](b, marked) || !js[bool](b, `document.activeElement.id === "sureness"`) {
			t.Error("the page was loaded anew, or the focus was lost")
		}
		b.tabTo(".line .of summary")
		b.keys(kb.Enter)
		b.until(`document.querySelector(".line .of").open`)
		b.tabTo(`button[value="pin:oats/groats"]`)
		b.keys(kb.Enter)
		b.until(`document.getElementById("l-oats/groats").classList.contains("pinned")`)
		if !js[bool](b, marked) || js[bool](b, `document.activeElement === document.body`) {
			t.Error("the page was loaded anew, or the focus was lost")
		}
		b.tabTo("#undo")
		b.keys(" ")
		b.until(`!document.getElementById("l-oats/groats").classList.contains("pinned")`)
		b.until(`!document.getElementById("undo").disabled`)
		b.keys(" ")
		b.until(oats + ` === ` + quoted(before))
	}
}

func TestAWayOutInTheBrowser(t *testing.T) {
	a := start(t, true)
	b := browser(t, 360)
	b.goTo(a.base + a.demoMix("after the storms"))
	b.until(live)
	js[bool](b, mark)
	b.click(".ways button")
	b.until(`document.querySelector(".answer.inside") !== null && ` + sumOfGrams + ` === 500`)
	b.click("#undo")
	b.until(`document.querySelector(".answer.impossible") !== null`)
	if !js[bool](b, marked) {
		t.Error("the page was loaded anew")
	}
}

func TestGoesWithoutInTheBrowser(t *testing.T) {
	a := start(t, true)
	b := browser(t, 1280)
	b.goTo(a.base + a.demoMix("thirty gerbils"))
	b.click(`[id="l-linseed/whole"] .cannot`)
	b.until(`document.querySelector(".swap button") !== null`)
	b.click(".swap button")
	b.until(`document.querySelector(".answer.inside") !== null && document.getElementById("l-linseed/whole") === null`)
}

func TestTwoTabsInTheBrowser(t *testing.T) {
	a := start(t, true)
	one := browser(t, 1280)
	two := one.another()
	at := a.base + a.demoMix("adult gerbils")
	one.goTo(at)
	two.goTo(at)
	one.until(live)
	two.until(live)
	one.click("#batch")
	js[bool](one, `document.getElementById("batch").select() === undefined`)
	one.keys("2000" + kb.Enter)
	one.until(sumOfGrams + ` === 2000 && !document.getElementById("undo").disabled`)
	two.tabTo("#sureness")
	two.keys(kb.ArrowDown)
	two.until(`document.querySelector("h1").textContent === "Two hands on one mix"`)
	two.click(`button[value="mine"]`)
	two.until(`document.querySelector(".answer") !== null && document.getElementById("sureness").value === "85"`)
}

func TestFirlotStopsInMidEdit(t *testing.T) {
	dir := t.TempDir()
	a := startIn(t, dir, "127.0.0.1:0", true)
	addr := strings.TrimPrefix(a.base, "http://")
	b := browser(t, 360)
	b.goTo(a.base + a.demoMix("adult gerbils"))
	b.until(live)
	js[bool](b, mark)
	a.stop()
	b.click("#batch")
	js[bool](b, `document.getElementById("batch").select() === undefined`)
	b.keys("1700")
	b.until(`document.getElementById("net").textContent.startsWith("Firlot has stopped; your words are kept here")`)
	if got := js[string](b, `document.getElementById("batch").value`); got != "1700" {
		t.Errorf("the words became %q", got)
	}
	again := startIn(t, dir, addr, false)
	b.until(sumOfGrams + ` === 1700`)
	b.until(`!document.getElementById("undo").disabled`)
	if !js[bool](b, marked) {
		t.Error("the page was loaded anew")
	}
	again.open(again.demoMix("adult gerbils")).says("1,700 g")
}

func TestWithoutScripts(t *testing.T) {
	a := start(t, true)
	b := browser(t, 360)
	_, err := chromedp.Call(b.ctx, emulation.SetScriptExecutionDisabled, emulation.SetScriptExecutionDisabledParams{Value: true})
	b.must(err)
	b.goTo(a.base + a.demoMix("adult gerbils"))
	b.do(chromedp.SetValue(chromedp.CSS("#batch"), "1500"))
	b.click(".nojs button")
	b.until(`document.readyState === "complete" && ` + sumOfGrams + ` === 1500`)
	b.click("#undo")
	b.until(`document.readyState === "complete" && ` + sumOfGrams + ` === 1000`)
}

// held makes the app wait with every change until the browser gives up, as a
// long search does, while it is set.
type held struct {
	next http.Handler
	on   atomic.Bool
}

func (h *held) ServeHTTP(w http.ResponseWriter, r *http.Request) {
	if r.Method == http.MethodPost && h.on.Load() {
		if _, err := io.Copy(io.Discard, r.Body); err != nil { // the end of a request is seen once it is read
			return
		}
		<-r.Context().Done()
		return
	}
	h.next.ServeHTTP(w, r)
}

func TestALongSearchIsShownAndStopped(t *testing.T) {
	a := start(t, true)
	h := &held{next: a.server.handler}
	h.on.Store(true)
	a.server.handler = h
	b := browser(t, 1280)
	b.goTo(a.base + a.demoMix("adult gerbils"))
	b.until(live)
	before := js[string](b, oats)
	b.tabTo("#sureness")
	b.keys(kb.ArrowDown)
	b.until(`document.getElementById("net").textContent.startsWith("Working it out…") && document.getElementById("mix").getAttribute("aria-busy") === "true"`)
	b.click("#stop")
	b.until(`document.getElementById("net").hidden && !document.getElementById("mix").hasAttribute("aria-busy")`)
	if got := js[string](b, oats); got != before {
		t.Errorf("oat groats became %s g", got)
	}
	h.on.Store(false)
	b.tabTo("#sureness")
	b.keys(kb.ArrowDown)
	b.until(oats + ` !== ` + quoted(before))
}

func TestAWindowIsChangedInTheBrowser(t *testing.T) {
	a := start(t, true)
	b := browser(t, 360)
	b.goTo(a.base + a.demoMix("after the storms"))
	b.until(live)
	js[bool](b, mark)
	b.click("#windows > summary")
	const least = `[id="window.crude_fibre//offered.min"]`
	b.click(least)
	js[bool](b, `document.querySelector('`+least+`').select() === undefined`)
	b.keys("2.5")
	b.until(`document.querySelector(".answer.inside") !== null`)
	b.until(`!document.getElementById("undo").disabled && document.querySelector("#answer .changed") !== null && ` + sumOfGrams + ` === 500`)
	if !js[bool](b, marked) || !js[bool](b, `document.activeElement.matches('`+least+`') && document.activeElement.value === "2.5" && document.getElementById("windows").open`) {
		t.Error("the page was loaded anew, or the field lost the focus or what was typed in it")
	}
	b.click("#undo")
	b.until(`document.querySelector(".answer.impossible") !== null`)
}

func TestWhatTakesItsTimeComesAfterwards(t *testing.T) {
	a := start(t, true)
	b := browser(t, 1280)
	b.goTo(a.base + a.demoMix("adult gerbils"))
	b.until(`document.querySelector("#map .without") !== null && document.getElementById("later") === null`)
	b.do(chromedp.Focus(chromedp.CSS("#less")))
	b.keys("whole l")
	b.until(`document.getElementById("map").textContent.includes("Without whole linseed") && location.search === "?less=linseed%2Fwhole"`)
	if !js[bool](b, `document.activeElement.id === "less"`) {
		t.Error("the focus was lost")
	}
}
