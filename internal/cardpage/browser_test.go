package cardpage_test

import (
	"context"
	"os"
	"os/exec"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/chromedp/cdproto/cdp"
	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/cdproto/network"
	"github.com/chromedp/chromedp"
	"github.com/chromedp/chromedp/kb"
)

// The tests of this package that drive a browser are skipped without one, but
// on the build machine (CI=true) they fail.

// tab is a browser's page.
type tab struct {
	t   testing.TB
	ctx context.Context

	mu    sync.Mutex
	asked []string // addresses that the page asked for
}

// patience is how long a test waits for the page to say something. It bounds
// a failing test; nothing is measured by it.
const patience = 30 * time.Second

func program(t testing.TB, names ...string) string {
	t.Helper()
	for _, name := range names {
		if path, err := exec.LookPath(name); err == nil {
			return path
		}
	}
	if os.Getenv("CI") == "true" {
		t.Fatalf("there is no %s", names[0])
	}
	t.Skipf("there is no %s", names[0])
	return ""
}

// offline cuts a page off from the network; its parameters are those of
// network.OverrideNetworkState.
var offline = cdp.Command[network.OverrideNetworkStateParams, cdp.Empty]{Method: "Network.emulateNetworkConditions"}

// browser opens a browser with a fresh profile at a width, without a network.
func browser(t testing.TB, width int64) *tab {
	t.Helper()
	if testing.Short() {
		t.Skip("short")
	}
	opts := []chromedp.ExecAllocatorOption{chromedp.ExecPath(program(t, "chromium", "chromium-browser", "google-chrome", "chrome")),
		chromedp.NoFirstRun, chromedp.NoDefaultBrowserCheck, chromedp.Headless, chromedp.NoSandbox, chromedp.DisableGPU,
		chromedp.UserDataDir(t.TempDir()), chromedp.Flag("disable-quic", true), chromedp.Flag("disable-background-networking", true),
		chromedp.Flag("disable-component-update", true), chromedp.Flag("disable-sync", true), chromedp.Flag("disable-dev-shm-usage", true),
		chromedp.Flag("host-resolver-rules", "MAP * ~NOTFOUND"), chromedp.Flag("lang", "en")}
	alloc, cancel := chromedp.NewExecAllocator(context.Background(), opts...)
	t.Cleanup(cancel)
	ctx, stop := chromedp.NewContext(alloc)
	t.Cleanup(stop)
	b := &tab{t: t, ctx: ctx}
	b.size(width)
	_, err := chromedp.Call(ctx, network.Enable, network.EnableParams{})
	b.must(err)
	_, err = chromedp.Call(ctx, offline, network.OverrideNetworkStateParams{Offline: true, DownloadThroughput: -1, UploadThroughput: -1})
	b.must(err)
	return b
}

func (b *tab) size(width int64) {
	b.t.Helper()
	_, err := chromedp.Call(b.ctx, emulation.SetDeviceMetricsOverride, emulation.SetDeviceMetricsOverrideParams{Width: width, Height: 800, DeviceScaleFactor: 1, Mobile: width < 600})
	b.must(err)
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

// open opens a page and waits for its engine.
func (b *tab) open(url string) {
	b.t.Helper()
	b.goTo(url)
	b.until(`document.documentElement.dataset.engine !== undefined`)
	if got := js[string](b, `document.documentElement.dataset.engine`); got != "ready" {
		b.t.Fatalf("the engine is %s: %s", got, js[string](b, `document.getElementById("status").textContent`))
	}
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
	expression = `document.documentElement.dataset.rest === undefined && (` + expression + `)`
	for end := time.Now().Add(patience); time.Now().Before(end); time.Sleep(20 * time.Millisecond) {
		if ok, err := chromedp.Run(b.ctx, chromedp.Evaluate[bool](expression)); err == nil && ok {
			return
		}
	}
	b.t.Fatalf("this did not come true: %s\n%s", expression, js[string](b, `document.getElementById("status").textContent + "\n" + document.querySelector("main:not([hidden])").innerText.slice(0, 900)`))
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
	js[bool](b, `document.querySelector(`+quoted(selector)+`).scrollIntoView({block: "center"}) === undefined`)
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
	shown = `document.querySelector("main:not([hidden])")`
	// sum of the grams on the tag.
	sum     = `[...` + shown + `.querySelectorAll(".columns .lines:not(.left) .grams b")].reduce((n, b) => n + Number(b.textContent.replace(/[,\u202f]/g, "")), 0)`
	changed = shown + `.querySelector(".changed") !== null`
	checked = `document.documentElement.dataset.verdict`
	// wider is by how much the page is wider than the window.
	wider = `document.documentElement.scrollWidth - document.documentElement.clientWidth`
)

// cannot is the tick of an ingredient.
func cannot(lang, ref string) string { return `[id="` + lang + `-w-` + ref + `"]` }

// grams is what the tag says of an ingredient; "" when it is not in the mix.
func (b *tab) grams(ref string) string {
	b.t.Helper()
	return js[string](b, shown+`.querySelector('.columns .lines:not(.left) [data-ref="`+ref+`"] .grams b')?.textContent || ""`)
}
