package web

import (
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"github.com/chromedp/cdproto/emulation"
	cdpage "github.com/chromedp/cdproto/page"
	"github.com/chromedp/chromedp"

	"firlot/internal/store"
)

// axe is the text of axe-core, fetched for this test by its package manager.
func axe(t *testing.T) string {
	t.Helper()
	dir := t.TempDir()
	out, err := exec.Command("npm", "install", "--prefix", dir, "--no-audit", "--no-fund", "--ignore-scripts", "axe-core@4").CombinedOutput()
	if err == nil {
		text, err := os.ReadFile(filepath.Join(dir, "node_modules", "axe-core", "axe.min.js"))
		if err != nil {
			t.Fatal(err)
		}
		return string(text)
	}
	if os.Getenv("CI") == "true" {
		t.Fatalf("axe-core could not be fetched: %v\n%s", err, out)
	}
	t.Skipf("axe-core could not be fetched: %v", err)
	return ""
}

// runAxe is a call of axe-core with options, its faults in words.
const runAxe = `axe.run(document, %s).then((r) => r.violations.map((v) =>
	v.id + ": " + v.help + ": " + v.nodes.slice(0, 4).map((n) => n.html.slice(0, 160) + " (" + n.any.concat(n.all, n.none).map((c) => c.message).join("; ").slice(0, 200) + ")").join(" | ")))`

// looks are the ways in which each page is held against axe-core: all rules
// once, and what the dark and the width can change again.
var looks = []struct {
	scheme, options string
	width           int64
}{
	{"light", `{resultTypes: ["violations"]}`, 360},
	{"dark", `{resultTypes: ["violations"], runOnly: ["color-contrast", "link-in-text-block", "target-size"]}`, 1280},
}

// TestNoPageHasAccessibilityFaults holds every page, with everything unfolded,
// against axe-core, and against sideways scrolling.
func TestNoPageHasAccessibilityFaults(t *testing.T) {
	script := axe(t)
	a := start(t, true)
	paths := append(everyPage(a), "/nowhere", "/mix?q=nothing-is-called-this")
	for _, look := range looks {
		t.Run(fmt.Sprintf("%s, %d px", look.scheme, look.width), func(t *testing.T) {
			b := browser(t, look.width)
			_, err := chromedp.Call(b.ctx, cdpage.SetBypassCSP, cdpage.SetBypassCSPParams{Enabled: true})
			b.must(err)
			_, err = chromedp.Call(b.ctx, emulation.SetEmulatedMedia, emulation.SetEmulatedMediaParams{Features: []*emulation.MediaFeature{
				{Name: "prefers-color-scheme", Value: look.scheme}, {Name: "prefers-reduced-motion", Value: "reduce"}}})
			b.must(err)
			for _, path := range paths {
				b.goTo(a.base + strings.ReplaceAll(path, " ", "%20"))
				b.unfoldAndCheck(path, script, look.options)
			}
		})
	}
}

// unfoldAndCheck unfolds all that a page folds and looks for faults.
func (b *tab) unfoldAndCheck(where, script, options string) {
	b.t.Helper()
	js[bool](b, `[...document.querySelectorAll("details")].forEach((d) => d.open = true) === undefined`)
	if over := js[float64](b, `document.documentElement.scrollWidth - document.documentElement.clientWidth`); over > 0 {
		b.t.Errorf("%s: the page is %v px wider than the window", where, over)
	}
	js[bool](b, script+"; true")
	faults, err := chromedp.Run(b.ctx, chromedp.Evaluate[[]string](fmt.Sprintf(runAxe, options), chromedp.EvalAwaitPromise))
	b.must(err)
	for _, f := range faults {
		b.t.Errorf("%s: %s", where, f)
	}
}

// TestTextAtTwiceItsSize looks for sideways scrolling at 320 px, which is what
// a window of 640 px is at 200 %.
func TestTextAtTwiceItsSize(t *testing.T) {
	a := start(t, true)
	long := strings.Repeat("Donaudampfschifffahrt", 9) // a name without a place to break it
	g, err := a.store.SaveGroup(t.Context(), store.Group{Name: long, Species: "gerbil", Stage: "adult"})
	if err != nil {
		t.Fatal(err)
	}
	sh, err := a.store.SaveShelf(t.Context(), store.Shelf{Name: long, Place: long, Items: []store.Item{{Ref: long, CanHave: true}, {Ref: "oats/groats", CanHave: true}}})
	if err != nil {
		t.Fatal(err)
	}
	text := a.get(a.demoMix("adult gerbils") + "/document").body
	if _, err := a.store.SaveMix(t.Context(), store.Mix{Name: long, Group: g.ID, Shelf: sh.ID, Document: text}); err != nil {
		t.Fatal(err)
	}
	b := browser(t, 320)
	for _, path := range everyPage(a) {
		b.goTo(a.base + strings.ReplaceAll(path, " ", "%20"))
		js[bool](b, `[...document.querySelectorAll("details")].forEach((d) => d.open = true) === undefined`)
		if over := js[float64](b, `document.documentElement.scrollWidth - document.documentElement.clientWidth`); over > 0 {
			t.Errorf("%s: the page is %v px wider than the window", path, over)
		}
	}
}
