package cardpage_test

import (
	"context"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/chromedp"

	"firlot/card"
	"firlot/formulate"
	"firlot/mix"
)

// withBase is a card of several stages with a base and toppers.
func withBase(t *testing.T, o card.Options, names ...string) *card.Card {
	t.Helper()
	var plans []*mix.Plan
	for _, name := range names {
		plans = append(plans, planOf(t, name))
	}
	b, err := formulate.FindBase(context.Background(), plans, formulate.BaseOptions{})
	if err != nil {
		t.Fatal(err)
	}
	if o.Base = card.BaseOf(b, ""); o.Base == nil {
		t.Fatal("no base was found")
	}
	c, err := card.Make(context.Background(), plans, o)
	if err != nil {
		t.Fatal(err)
	}
	return c
}

// TestTheMixStaysOnePageBesideABase prints a card with a base: the mix that is
// shown, with its cautions, takes the first page, and the base the next.
func TestTheMixStaysOnePageBesideABase(t *testing.T) {
	b := browser(t, 1280)
	b.open(saved(t, rendered(t, withBase(t, skerra, "gerbil-growing", "gerbil-adult", "gerbil-senior"))))
	pdf := b.printed(8.27, 11.69)
	if n := len(pages.FindAll(pdf, -1)); n != 2 {
		t.Errorf("it takes %d pages", n)
	}
	tool := program(t, "pdftotext")
	file := filepath.Join(t.TempDir(), "card.pdf")
	if err := os.WriteFile(file, pdf, 0o600); err != nil {
		t.Fatal(err)
	}
	out, err := exec.Command(tool, file, "-").Output()
	if err != nil {
		t.Fatal(err)
	}
	paper := strings.Split(string(out), "\f")
	for i, want := range []string{"Before you feed it", "A kilogram of the base"} {
		if !strings.Contains(paper[i], want) {
			t.Errorf("page %d does not say %q:\n%s", i+1, want, paper[i])
		}
	}
	if strings.Contains(paper[0], "A kilogram of the base") {
		t.Error("the base begins on the page of the mix")
	}
}

// TestTheCodeCoversNothing looks whether the code and its address lie over any
// text of a printed page.
func TestTheCodeCoversNothing(t *testing.T) {
	o := skerra
	o.Words = ""
	b := browser(t, 703) // what lies between the margins of A4
	for _, hosted := range []string{skerra.Hosted, "https://example.org/" + strings.Repeat("gerbils/", 30)} {
		o.Hosted = hosted
		b.goTo("about:blank")
		b.open(saved(t, rendered(t, cardOf(t, o, "gerbil-growing"))))
		_, err := chromedp.Call(b.ctx, emulation.SetEmulatedMedia, emulation.SetEmulatedMediaParams{Media: "print"})
		b.must(err)
		got := js[string](b, `(() => {
			const r = document.createRange(), over = [];
			const code = [...document.querySelectorAll("#en .qr svg, #en .qr p")].map((e) => e.getBoundingClientRect());
			for (const el of document.querySelectorAll("#en h1, #en .by, #en .answer p, #en .tag .who, #en .strip, #en h2")) {
				r.selectNodeContents(el);
				for (const a of r.getClientRects())
					if (code.some((c) => a.width > 0 && a.left < c.right && c.left < a.right && a.top < c.bottom && c.top < a.bottom)) over.push(el.textContent);
			}
			return code.length === 2 ? over.join("\n") : "no code";
		})()`)
		if got != "" {
			t.Errorf("%.30s: the code lies over\n%s", hosted, got)
		}
	}
}
