package web

import (
	"crypto/sha256"
	"encoding/base64"
	"slices"
	"strings"
	"testing"

	"github.com/chromedp/cdproto/security"
	"github.com/chromedp/chromedp"
)

// trusting is a browser that has been told to trust the app's certificate.
func trusting(t *testing.T, a *app) *tab {
	sum := sha256.Sum256(a.server.sharing.state().Cert.leaf.Leaf.RawSubjectPublicKeyInfo)
	return browser(t, 360, chromedp.Flag("ignore-certificate-errors-spki-list", base64.StdEncoding.EncodeToString(sum[:])))
}

// Where the browser allows it, the weighing page opens without the laptop, and
// pours made then are kept once it is back. What the browser keeps is the
// weighing page and its parts, and nothing else.
func TestTheWeighingPageOpensWithoutTheLaptop(t *testing.T) {
	dir := t.TempDir()
	a := startIn(t, dir, "127.0.0.1:0", true)
	path := a.begin("adult gerbils")
	b := freshBrowser(t)
	b.goTo(a.base + "/mix") // another page, which must not be kept
	b.goTo(a.base + path)
	b.until(`document.documentElement.dataset.kept !== undefined`)
	kept := later[[]string](b, `(async () => { const all = []; for (const n of await caches.keys()) for (const r of await (await caches.open(n)).keys()) all.push(new URL(r.url).pathname); return all; })()`)
	if !slices.Contains(kept, path) || !slices.Contains(kept, "/static/weigh.css") || !slices.Contains(kept, "/static/queue.js") {
		t.Errorf("kept are %v", kept)
	}
	for _, k := range kept {
		if k != path && !strings.HasPrefix(k, "/static/") && !strings.HasPrefix(k, "/portrait/") && !strings.HasPrefix(k, "/life/") {
			t.Errorf("%s is kept", k)
		}
	}
	first := b.pour()
	b.until(left + ` === 0`)
	addr := strings.TrimPrefix(a.base, "http://")
	a.stop()
	b.goTo(a.base + path)
	b.until(ready)
	b.until(turn + ` !== ` + quoted(first))
	second := b.pour()
	b.goTo(a.base + "/making") // opens what was weighed at last
	b.until(`location.pathname === ` + quoted(path))
	b.until(left + ` === 1`)
	third := b.pour()
	b.until(left + ` === 2`)
	again := startIn(t, dir, addr, false)
	b.until(left + ` === 0`)
	got := again.poured(path)
	for i, want := range []string{first, second, third} {
		if i >= len(got) || !strings.HasPrefix(got[i], want+" ") {
			t.Fatalf("kept are %v, poured were %s, %s, %s", got, first, second, third)
		}
	}
	if len(got) != 3 {
		t.Errorf("kept are %v", got)
	}
}

// Under TLS too, in the second door, with the manifest that an installed page
// needs; and another version throws away what this one kept.
func TestTheWeighingPageIsKeptUnderTLS(t *testing.T) {
	a := startShared(t, ShareTLS)
	path := a.begin("adult gerbils")
	b := trusting(t, a)
	b.comeIn(a, "phone")
	b.goTo(strings.TrimSuffix(a.server.SharedAt()[0], "/") + path)
	b.until(`document.documentElement.dataset.kept !== undefined`)
	if !js[bool](b, `isSecureContext && "wakeLock" in navigator && "hid" in navigator`) {
		t.Error("it is no secure context")
	}
	version := js[string](b, `document.documentElement.dataset.kept`)
	if !later[bool](b, `(async () => { const names = await caches.keys(); return names.length === 1 && names[0] === "firlot-weighing-`+version+`"; })()`) {
		t.Error("the cache is not this version's")
	}
	m := later[map[string]any](b, `(async () => (await fetch(document.querySelector("link[rel=manifest]").href, { credentials: "include" })).json())()`)
	if m["start_url"] != "/making" || m["scope"] != "/making" || m["display"] != "standalone" {
		t.Errorf("the manifest says %v", m)
	}
	b.until(left + ` === 0`)
	b.connected(false)
	first := b.pour()
	b.connected(true)
	b.until(left + ` === 0`)
	if got := a.poured(path); len(got) != 1 || !strings.HasPrefix(got[0], first) {
		t.Errorf("kept are %v", got)
	}
}

// Behind a warning that was clicked away the page is encrypted and a secure
// context, and pours wait as they do in plain; but it is not kept. That is
// what the app says of it.
func TestBehindAWarningNothingIsKept(t *testing.T) {
	a := startShared(t, ShareTLS)
	path := a.begin("adult gerbils")
	b := freshBrowser(t)
	_, err := chromedp.Call(b.ctx, security.SetIgnoreCertificateErrors, security.SetIgnoreCertificateErrorsParams{Ignore: true})
	b.must(err)
	b.comeIn(a, "phone")
	b.goTo(strings.TrimSuffix(a.server.SharedAt()[0], "/") + path)
	b.until(ready)
	if !js[bool](b, `isSecureContext && "wakeLock" in navigator && "hid" in navigator`) {
		t.Error("it is no secure context")
	}
	if said := later[string](b, `navigator.serviceWorker.register("/making/sw.js", { scope: "/making" }).then(() => "kept", (e) => e.name)`); said == "kept" {
		t.Error("the browser keeps it all the same: docs/phone.md and the app say that it does not")
	}
	b.connected(false)
	first := b.pour()
	b.connected(true)
	b.until(left + ` === 0`)
	if got := a.poured(path); len(got) != 1 || !strings.HasPrefix(got[0], first) {
		t.Errorf("kept are %v", got)
	}
}
