package cardpage_test

import (
	"bytes"
	"context"
	"html"
	"net/url"
	"strings"
	"testing"

	"firlot/card"
	catfiles "firlot/catalog/files"
	"firlot/internal/cardpage/pack"
	"firlot/internal/cardpage/view"
	"firlot/internal/words/tables"
)

// spanish says every text that Firlot's own tables have in Spanish.
func spanish(english string) (string, bool) {
	m, ok := tables.In("es")[english]
	return m.Other, ok
}

// everyText says those, and names every food that a card does not hold.
func everyText(english string) (string, bool) {
	if said, ok := spanish(english); ok {
		return said, ok
	}
	c, err := catfiles.Builtin()
	if err != nil {
		return "", false
	}
	for _, f := range c.Forms() {
		if view.PlainRef(f.Ref()) == english {
			return f.Name("es"), true
		}
	}
	return "", false
}

// part is a packed part of a page.
func part(t *testing.T, page []byte, id string) string {
	t.Helper()
	_, after, ok := bytes.Cut(page, []byte(`<script type="text/plain" id="`+id+`">`))
	if !ok {
		t.Fatalf("the page has no %s", id)
	}
	body, _, _ := bytes.Cut(after, []byte("</script>"))
	text, err := pack.Unpack(string(body), card.MaxBytes)
	if err != nil {
		t.Fatal(err)
	}
	return string(text)
}

// reader is a card's page as its reader has it: the card, and the texts that
// stand beside it.
func reader(t *testing.T, page []byte) *view.Session {
	t.Helper()
	c, err := card.Decode([]byte(part(t, page, "card")))
	if err != nil {
		t.Fatal(err)
	}
	s := &view.Session{Card: c}
	q := url.Values{"do": {"texts"}, "lang": {"es"}, "text": {part(t, page, "texts-es")}}
	// What is to be done stands first.
	if out := s.Answer(t.Context(), "do=texts&"+q.Encode()); strings.Contains(out, "error") {
		t.Fatal(out)
	}
	return s
}

// The texts that a page carries are all that its foods need, whatever its
// reader asks for: it draws the same as with every text there is.
func TestAPageCarriesItsTexts(t *testing.T) {
	for _, name := range []string{"gerbil-adult", "dwarf-hamster", "own-ingredient", "rat"} {
		o := skerra
		o.Hosted = "" // else a code, which the publisher's program draws
		c := cardOf(t, o, name)
		page := rendered(t, c)
		mine, all := reader(t, page), &view.Session{Card: c, Texts: map[string]view.Said{"es": everyText}}
		if got, err := mine.Main(context.Background(), "es"); err != nil || got != part(t, page, "main-es") {
			t.Errorf("%s: the page is drawn otherwise than it stands in the file: %v", name, err)
		}
		asks := []string{"1;l=es;w=" + c.Mixes[0].Document.Lines[0].Ingredient}
		for _, ref := range c.Offered {
			asks = append(asks, "1;l=es;u="+ref)
		}
		for _, ask := range asks[:min(len(asks), 6)] {
			q := "do=page&lang=es&from=" + url.QueryEscape(ask)
			if got, want := mine.Answer(t.Context(), q), all.Answer(t.Context(), q); got != want {
				t.Errorf("%s, %s: a text is missing", name, ask)
			}
		}
	}
}

// In Spanish the looks of a food, what it is not, its limit and its cautions
// are Spanish, and not marked as anything else.
func TestFoodsAreToldInSpanish(t *testing.T) {
	c := adult(t)
	got, err := (&view.Session{Card: c, Texts: map[string]view.Said{"es": spanish}}).Main(context.Background(), "es")
	if err != nil {
		t.Fatal(err)
	}
	f := c.Form("linseed/whole")
	for _, english := range []string{f.Looks, f.Confused[0].Tell, f.Limits[0].Why, f.Cautions[0]} {
		es, ok := spanish(english)
		if !ok || !strings.Contains(got, html.EscapeString(es)) || strings.Contains(got, html.EscapeString(english)) {
			t.Errorf("%q is not said in Spanish", english)
		}
		if strings.Contains(got, `lang="en">`+html.EscapeString(es)) {
			t.Errorf("%q is marked as English", es)
		}
	}
}

// A text of somebody else's tables stays English, marked as such; what a
// publisher typed of an own ingredient is neither said otherwise nor marked.
func TestUnknownTextsStay(t *testing.T) {
	c := cardOf(t, skerra, "own-ingredient")
	const strange = "A grain that no table knows <b>."
	var own, looks string
	for _, l := range c.Mixes[0].Document.Lines {
		f := c.Form(l.Ingredient)
		if c.Catalogue().Form(l.Ingredient) == nil {
			own, f.Cautions = l.Ingredient, []string{"Manténgase cerrado."}
		} else if looks == "" {
			looks = f.Looks
			f.Looks = strange
		}
	}
	if own == "" || looks == "" {
		t.Fatal("the example has no own ingredient")
	}
	again, err := card.Decode(card.Encode(c))
	if err != nil {
		t.Fatal(err)
	}
	page := string(part(t, rendered(t, again), "main-es"))
	if !strings.Contains(page, `<span lang="en">`+html.EscapeString(strange)+`</span>`) {
		t.Error("a text that is not known is not marked as English")
	}
	if !strings.Contains(page, ": Manténgase cerrado.") || strings.Contains(page, `<span lang="en">Manténgase`) {
		t.Error("what was typed of an own ingredient is marked")
	}
}

// No two texts of Firlot's tables share a key.
func TestKeysOfTextsDiffer(t *testing.T) {
	seen := map[string]string{}
	for english := range tables.In("es") {
		key := view.TextKey(english)
		if other, ok := seen[key]; ok {
			t.Errorf("%q and %q share %s", english, other, key)
		}
		seen[key] = english
	}
	if got := view.TextKey("a"); got != "1913001110" { // half of FNV-1a's 0xE40C292C, from its published test vectors
		t.Errorf("the key of a is %s", got)
	}
}

// After a mix is worked out anew in the browser its foods are told in Spanish.
func TestFoodsAreToldInSpanishAnew(t *testing.T) {
	c := adult(t)
	b := browser(t, 360)
	b.open(saved(t, rendered(t, c)) + "#es")
	b.until(`document.documentElement.lang === "es" && ` + checked + ` === "sound"`)
	b.click(cannot("es", "linseed/whole"))
	b.until(changed + ` && ` + sum + ` === 1000`)
	said := js[string](b, shown+`.querySelector(".kinds").textContent + `+shown+`.querySelector(".cautions").textContent`)
	marked := js[string](b, `[...`+shown+`.querySelectorAll(".kinds > li > p [lang=en], .cautions [lang=en], .tag [lang=en]")].map((e) => e.textContent).join("\n")`)
	if marked != "" {
		t.Errorf("this is still English: %s", marked)
	}
	for _, ref := range []string{"oats/groats", "wheat/whole"} {
		if es, _ := spanish(c.Form(ref).Looks); !strings.Contains(said, es) {
			t.Errorf("%q is not said", es)
		}
	}
	if got := js[string](b, `document.getElementById("status").textContent`); got != "" {
		t.Errorf("the page says %q", got)
	}
}
