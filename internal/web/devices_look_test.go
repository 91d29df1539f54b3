package web

import (
	"fmt"
	"net/http"
	"net/url"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/chromedp/cdproto/emulation"
	cdpage "github.com/chromedp/cdproto/page"
	"github.com/chromedp/chromedp"
	"golang.org/x/net/html"
)

// eachStanding brings the pages of other devices into each of their states and
// shows them: look is given an app to open a path at.
func eachStanding(t *testing.T, look func(where string, a *app, path string)) {
	t.Helper()
	a := startShared(t, ShareOff)
	look("not shared", a, "/devices")
	look("a scale that speaks", a, a.begin("adult gerbils")+"?simulate")
	for _, mode := range []ShareMode{SharePlain, ShareTLS} {
		if err := a.server.Share(mode); err != nil {
			t.Fatal(err)
		}
		p := a.phone()
		look("a stranger, "+string(mode), p, "/pair?code=12345678")
		in := a.pairs(strings.Repeat("Donaudampfschifffahrt", 2))
		look("used, "+string(mode), a, "/devices")
		look("refused, "+string(mode), in, "/settings")
		look("the makings of a device, "+string(mode), in, "/making")
		if _, err := a.server.PairingCode(); err != nil {
			t.Fatal(err)
		}
		look("a code, "+string(mode), a, "/devices")
	}
	list, err := a.store.Devices(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	if err := a.store.RevokeDevice(t.Context(), list[0].ID); err != nil {
		t.Fatal(err)
	}
	look("one shut out", a, "/devices")
}

func TestPagesOfDevicesAreSound(t *testing.T) {
	for _, lang := range languages {
		eachStanding(t, func(where string, a *app, path string) {
			a.lang = lang
			p := a.get(path)
			if p.status != http.StatusOK && p.status != http.StatusForbidden {
				t.Errorf("%s: status %d", where, p.status)
			}
			checkMarkup(t, lang+" "+where, p)
			if got, _ := attr(p.find(func(n *html.Node) bool { return n.Data == "html" }), "lang"); got != lang {
				t.Errorf("%s: lang %q, want %q", where, got, lang)
			}
		})
	}
}

// carry puts a device's pass into a browser.
func (b *tab) carry(a *app) {
	b.t.Helper()
	if a.client.Jar == nil {
		return
	}
	at, err := url.Parse(a.base)
	b.must(err)
	for _, c := range a.client.Jar.Cookies(at) {
		b.goTo(a.base + pairPath)
		// A script may not set what the app marks HttpOnly; this one is the test's.
		if !strings.HasPrefix(c.Name, "__Host-") {
			js[bool](b, fmt.Sprintf(`(document.cookie = %q, true)`, c.Name+"="+c.Value+"; path=/"))
		}
	}
}

func TestPagesOfDevicesHaveNoAccessibilityFaults(t *testing.T) {
	script := axe(t)
	b := browser(t, 360, chromedp.Flag("ignore-certificate-errors", true))
	_, err := chromedp.Call(b.ctx, cdpage.SetBypassCSP, cdpage.SetBypassCSPParams{Enabled: true})
	b.must(err)
	eachStanding(t, func(where string, a *app, path string) {
		b.carry(a)
		for _, look := range looks {
			b.size(look.width)
			_, err := chromedp.Call(b.ctx, emulation.SetEmulatedMedia, emulation.SetEmulatedMediaParams{Features: []*emulation.MediaFeature{{Name: "prefers-color-scheme", Value: look.scheme}}})
			b.must(err)
			b.goTo(a.base + path)
			if over := js[float64](b, `document.documentElement.scrollWidth - document.documentElement.clientWidth`); over > 0 {
				t.Errorf("%s, %d px: the page is %v px wider than the window", where, look.width, over)
			}
			js[bool](b, script+"; true")
			faults, err := chromedp.Run(b.ctx, chromedp.Evaluate[[]string](fmt.Sprintf(runAxe, look.options), chromedp.EvalAwaitPromise))
			b.must(err)
			for _, f := range faults {
				t.Errorf("%s, %s, %d px: %s", where, look.scheme, look.width, f)
			}
		}
	})
}

// The QR code on the laptop's screen, read by a second decoder, is the address
// with the code in it.
func TestTheQRCodeLetsIn(t *testing.T) {
	a := startShared(t, SharePlain)
	code, err := a.server.PairingCode()
	if err != nil {
		t.Fatal(err)
	}
	body := a.open("/devices").body
	from := strings.Index(body, `<svg xmlns="http://www.w3.org/2000/svg" class="qr"`)
	to := strings.Index(body[max(from, 0):], "</svg>")
	if from < 0 || to < 0 {
		t.Fatal("there is no QR code")
	}
	got, err := readQR(body[from : from+to+len("</svg>")])
	if err != nil || got != a.server.SharedAt()[0]+"pair?code="+onlyDigits(code) {
		t.Errorf("it says %q, %v", got, err)
	}
}

// However many come at once with one code, one is let in.
func TestOneCodeLetsOneIn(t *testing.T) {
	a := startShared(t, SharePlain)
	code, err := a.server.PairingCode()
	if err != nil {
		t.Fatal(err)
	}
	var in sync.Map
	var all sync.WaitGroup
	for i := range 16 {
		p := a.phone()
		all.Go(func() {
			resp, err := p.client.PostForm(p.base+pairPath, url.Values{"code": {code}, "name": {"x"}})
			if err != nil {
				t.Error(err)
				return
			}
			resp.Body.Close()
			if resp.StatusCode == http.StatusSeeOther {
				in.Store(i, true)
			}
		})
	}
	all.Wait()
	n := 0
	in.Range(func(any, any) bool { n++; return true })
	list, err := a.store.Devices(t.Context())
	if n != 1 || len(list) != 1 || err != nil {
		t.Errorf("%d were let in, %d are kept, %v", n, len(list), err)
	}
}

// Another version of Firlot throws away what the one before kept on a phone.
func TestAnotherVersionThrowsAwayWhatWasKept(t *testing.T) {
	dir := t.TempDir()
	a := startIn(t, dir, "127.0.0.1:0", true)
	path := a.begin("adult gerbils")
	b := freshBrowser(t)
	b.goTo(a.base + path)
	b.until(`document.documentElement.dataset.kept !== undefined`)
	addr := strings.TrimPrefix(a.base, "http://")
	a.stop()
	real := filesVersion
	filesVersion = func() (string, error) { return "another", nil }
	t.Cleanup(func() { filesVersion = real })
	a = startIn(t, dir, addr, false)
	t.Cleanup(a.stop) // before filesVersion is set back
	b.goTo(a.base + path)
	for end := time.Now().Add(patience); ; time.Sleep(50 * time.Millisecond) {
		names := later[[]string](b, `caches.keys()`)
		if slices.Equal(names, []string{"firlot-weighing-another"}) {
			break
		}
		if time.Now().After(end) {
			t.Fatalf("kept are %v", names)
		}
	}
	b.until(`document.documentElement.dataset.kept === "another"`)
}

// BenchmarkPourByAPhone is one pour at the second door, from the request to
// the answer that says that it is on disk.
func BenchmarkPourByAPhone(b *testing.B) {
	a := startShared(b, SharePlain)
	path := a.begin("adult gerbils")
	p := a.pairs("phone")
	ref := a.firstRef(path)
	var times []time.Duration
	for i := range b.N {
		began := time.Now()
		r, err := http.NewRequest("POST", p.base+path+"/event", strings.NewReader(url.Values{"key": {fmt.Sprintf("k%d", i)}, "kind": {"pour"}, "ref": {ref}, "mg": {"1"}, "also": {"1"}}.Encode()))
		if err != nil {
			b.Fatal(err)
		}
		r.Header.Set("Content-Type", "application/x-www-form-urlencoded")
		r.Header.Set("Accept", "application/json")
		if got := p.do(r); got.status != http.StatusOK {
			b.Fatalf("status %d: %s", got.status, got.body)
		}
		times = append(times, time.Since(began))
	}
	slices.Sort(times)
	b.ReportMetric(float64(times[len(times)*95/100].Microseconds())/1000, "ms-p95")
}

func (a *app) firstRef(path string) string {
	a.t.Helper()
	ref, _ := attr(a.open(path).find(with("name", "ref")), "value")
	return ref
}
