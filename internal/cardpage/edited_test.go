package cardpage_test

import (
	"bytes"
	"strings"
	"testing"

	"firlot/internal/cardpage/pack"
	"firlot/internal/cardpage/view"
)

// A proof speaks of the card in the file, not of the markup around it: who
// edits the grams that a reader sees, and not the card, is found out too.
func TestAnEditedPageSaysSo(t *testing.T) {
	page := rendered(t, adult(t))
	mark := []byte(`<b>208</b> g`)
	if bytes.Count(page, mark) == 0 {
		t.Fatal("the page does not hold 208 g")
	}
	b := browser(t, 360)
	at := saved(t, bytes.ReplaceAll(page, mark, []byte(`<b>808</b> g`)))
	for _, fragment := range []string{"", "#1;l=en;w=linseed/whole"} {
		b.goTo("about:blank")
		b.open(at + fragment)
		b.until(checked + ` === "sound"`)
		b.until(`document.getElementById("status").textContent.includes("did not show the mix that its card holds")`)
		if fragment != "" {
			js[bool](b, `document.getElementById("en-back").click() === undefined`)
			b.until(`location.hash === "#en"`)
		}
		if got := b.grams("oats/groats"); got != "208" {
			t.Errorf("%q: %s g are shown", fragment, got)
		}
		if got := js[string](b, `document.getElementById("en-proof").dataset.verdict || ""`); got != "sound" {
			t.Errorf("%q: the proof is %q", fragment, got)
		}
	}
	// A page as it was made says nothing of the kind.
	b.goTo("about:blank")
	b.open(saved(t, page))
	b.until(checked + ` === "sound"`)
	if got := js[string](b, `document.getElementById("status").textContent`); got != "" {
		t.Errorf("a page as it was made says %q", got)
	}
}

// So is who edits the page in the other language, which comes packed, or the
// texts that stand beside the card.
func TestAnEditedPackedPageSaysSo(t *testing.T) {
	page := rendered(t, adult(t))
	swap := func(id string, edit func(string) string) []byte {
		opens := `<script type="text/plain" id="` + id + `">`
		before, after, ok := bytes.Cut(page, []byte(opens))
		if !ok {
			t.Fatalf("the page has no %s", id)
		}
		_, rest, _ := bytes.Cut(after, []byte("</script>"))
		text := edit(part(t, page, id))
		return bytes.Join([][]byte{before, []byte(opens + pack.Pack([]byte(text)) + "</script>"), rest}, nil)
	}
	grams := swap("main-es", func(s string) string { return strings.ReplaceAll(s, "<b>208</b> g", "<b>808</b> g") })
	texts := swap("texts-es", func(s string) string {
		caution := view.TextKey(adult(t).Form("linseed/whole").Cautions[0])
		return caution + " = \"Cuanta más, mejor.\"\n" + strings.ReplaceAll(s, caution+" = ", "1 = ")
	})
	b := browser(t, 360)
	for _, c := range []struct {
		what string
		page []byte
	}{{"grams", grams}, {"texts", texts}, {"nothing", page}} {
		at := saved(t, c.page)
		for _, first := range []string{"#es", ""} {
			b.goTo("about:blank")
			b.open(at + first)
			b.until(checked + ` === "sound"`)
			if first == "" {
				js[bool](b, `(location.hash = "#es") !== ""`)
				b.until(`document.documentElement.lang === "es"`)
			}
			const said = `document.getElementById("status").textContent.includes("Esta página no mostraba la mezcla")`
			if c.what != "nothing" {
				b.until(said)
			}
			if got := b.grams("oats/groats"); got != "208" {
				t.Errorf("%s, %q: %s g are shown", c.what, first, got)
			}
			if c.what == "nothing" && js[bool](b, said) {
				t.Errorf("%q: a page as it was made says it was changed", first)
			}
			if got := js[string](b, `document.getElementById("es-proof").dataset.verdict || ""`); got != "sound" {
				t.Errorf("%s, %q: the proof is %q", c.what, first, got)
			}
		}
	}
}

// The code that leads to where a card is kept, and the address beside it, stay
// when the page is drawn anew, and stand in the pictures that a browser makes.
func TestTheCodeStaysWhenTheMixChanges(t *testing.T) {
	b := browser(t, 360)
	b.open(saved(t, rendered(t, adult(t))))
	b.until(checked + ` === "sound"`)
	was := js[string](b, shown+`.querySelector(".qr svg").innerHTML`)
	js[bool](b, `document.querySelector(`+quoted(cannot("en", "linseed/whole"))+`).click() === undefined`)
	b.until(changed)
	b.until(shown + `.querySelector(".qr svg") !== null`)
	if js[string](b, shown+`.querySelector(".qr svg").innerHTML`) != was {
		t.Error("it is another code now")
	}
	if got := js[string](b, shown+`.querySelector(".qr").textContent`); !strings.Contains(got, skerra.Hosted) {
		t.Errorf("beside it stands %q", got)
	}
	js[bool](b, `(() => { const f = URL.createObjectURL; URL.createObjectURL = (x) => { x.text().then((s) => (window.made = s)); return f(x); }; return true; })()`)
	js[bool](b, shown+`.querySelector('[data-picture="square"][data-as="svg"]').click() === undefined`)
	b.until(`window.made !== undefined`)
	path := was[strings.Index(was, ` d="`):]
	if path = path[:60]; !strings.Contains(js[string](b, `window.made`), path) {
		t.Error("the picture has no code")
	}
}
