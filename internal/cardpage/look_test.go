package cardpage_test

import (
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"github.com/chromedp/cdproto/emulation"
	cdpage "github.com/chromedp/cdproto/page"
	"github.com/chromedp/chromedp"
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

// runAxe is a call of axe-core, its faults in words.
const runAxe = `axe.run(document, {resultTypes: ["violations"]}).then((r) => r.violations.map((v) =>
	v.id + ": " + v.help + ": " + v.nodes.slice(0, 4).map((n) => n.html.slice(0, 160) + " (" + n.any.concat(n.all, n.none).map((c) => c.message).join("; ").slice(0, 200) + ")").join(" | ")))`

const openAll = `[...document.querySelectorAll("details")].forEach((d) => d.open = true) === undefined`

// TestThePageHasNoAccessibilityFaults holds the page, with everything unfolded,
// as published, changed and impossible, in the light and in the dark, against
// axe-core, and against sideways scrolling.
func TestThePageHasNoAccessibilityFaults(t *testing.T) {
	script := axe(t)
	at := saved(t, rendered(t, cardOf(t, skerra, "gerbil-adult", "gerbil-senior")))
	b := browser(t, 360)
	_, err := chromedp.Call(b.ctx, cdpage.SetBypassCSP, cdpage.SetBypassCSPParams{Enabled: true})
	b.must(err)
	for _, x := range []struct {
		fragment, until, scheme string
		width                   int64
	}{
		{"", checked + ` === "sound"`, "light", 360},
		{"#1;l=es;w=linseed/whole;n=de", changed, "dark", 360},
		{"#1;l=en;w=oats/groats,proso-millet/in-hull,canary-seed/in-hull,buckwheat/in-hull,wheat/whole", shown + `.querySelector(".ways") !== null`, "light", 1280},
		{"#es", checked + ` === "sound"`, "dark", 1280},
	} {
		where := fmt.Sprintf("%q, %s, %d px", x.fragment, x.scheme, x.width)
		b.size(x.width)
		_, err := chromedp.Call(b.ctx, emulation.SetEmulatedMedia, emulation.SetEmulatedMediaParams{Features: []*emulation.MediaFeature{
			{Name: "prefers-color-scheme", Value: x.scheme}, {Name: "prefers-reduced-motion", Value: "reduce"}}})
		b.must(err)
		b.goTo("about:blank")
		b.open(at + x.fragment)
		b.until(x.until)
		js[bool](b, openAll)
		if over := js[float64](b, wider); over > 0 {
			t.Errorf("%s: the page is %v px wider than the window", where, over)
		}
		js[bool](b, script+"; true")
		faults, err := chromedp.Run(b.ctx, chromedp.Evaluate[[]string](runAxe, chromedp.EvalAwaitPromise))
		b.must(err)
		for _, f := range faults {
			t.Errorf("%s: %s", where, f)
		}
	}
}

// TestTextAtTwiceItsSize looks for sideways scrolling at 320 px, which is what
// a window of 640 px is at 200 %, with names that have no place to break.
func TestTextAtTwiceItsSize(t *testing.T) {
	o := skerra
	long := strings.Repeat("Donaudampfschifffahrt", 9)
	o.Title, o.Publisher, o.Words, o.Licence = long, long, long, long
	b := browser(t, 320)
	at := saved(t, rendered(t, cardOf(t, o, "gerbil-adult")))
	for _, fragment := range []string{"", "#1;l=es;w=linseed/whole"} {
		b.goTo("about:blank")
		b.open(at + fragment)
		if fragment != "" {
			b.until(changed)
		}
		js[bool](b, openAll)
		if over := js[float64](b, wider); over > 0 {
			t.Errorf("%q: the page is %v px wider than the window", fragment, over)
		}
	}
}

var pages = regexp.MustCompile(`/Type\s*/Page[^s]`)

// printed is the page on paper; width and height in inches.
func (b *tab) printed(width, height float64) []byte {
	b.t.Helper()
	got, err := chromedp.Call(b.ctx, cdpage.PrintToPDF, cdpage.PrintToPDFParams{PaperWidth: width, PaperHeight: height})
	b.must(err)
	return got.Data
}

// TestAMixIsOnePrintedPage prints every example's card, in both languages and
// on both kinds of paper, as published and changed.
func TestAMixIsOnePrintedPage(t *testing.T) {
	b := browser(t, 1280)
	for _, name := range []string{"gerbil-adult", "rat", "thirty-gerbils", "dwarf-hamster"} {
		at := saved(t, rendered(t, cardOf(t, skerra, name)))
		for _, fragment := range []string{"#en", "#es", "#1;l=en;b=500000"} {
			b.goTo("about:blank")
			b.open(at + fragment)
			if strings.HasPrefix(fragment, "#1") {
				b.until(changed)
			}
			for paper, size := range map[string][2]float64{"A4": {8.27, 11.69}, "Letter": {8.5, 11}} {
				if n := len(pages.FindAll(b.printed(size[0], size[1]), -1)); n != 1 {
					t.Errorf("%s%s on %s takes %d pages", name, fragment, paper, n)
				}
			}
		}
	}
}

// sizeAim is what a card's file may weigh, in bytes, and sizeMost what it has
// to stay below; what lies between the two is said in docs/decisions/0011-the-engine-in-a-card.md.
const (
	sizeAim  = 1_200_000
	sizeMost = 1_550_000
)

func TestTheFileIsSmall(t *testing.T) {
	page := rendered(t, adult(t))
	if len(page) > sizeMost {
		t.Errorf("the file of a card is %d bytes", len(page))
	}
	t.Logf("%d bytes; the aim is %d", len(page), sizeAim)
}
