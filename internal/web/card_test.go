package web

import (
	"bytes"
	"net/http"
	"net/url"
	"strings"
	"testing"

	"firlot/card"
	"firlot/catalog"
	"firlot/internal/cardpage"
	"firlot/internal/store"
	"firlot/nutrient"
)

// cardOf makes a card of a mix of the demonstration, for reading alone.
func (a *app) cardOf(name string, more url.Values) *result {
	a.t.Helper()
	form := url.Values{"title": {"Skerra's <everyday> mix"}, "by": {"the rescue on Skerra"}, "words": {"First line.\n<b>Second</b> line."}, "licence": {"CC BY 4.0"},
		"hosted": {"https://example.org/skerra.html"}, "edition": {"3"}, "may.batch": {"1"}, "reading": {"1"},
		"replacements": {"2"}, "names.en": {"1"}, "names.es": {"1"}}
	for k, v := range more {
		form[k] = v
	}
	return a.post(a.demoMix(name)+"/card", form)
}

// A card is made on the mix's page and read back as it was asked for.
func TestCardIsMade(t *testing.T) {
	a := start(t, true)
	if p := a.open(a.demoMix("adult")); !strings.Contains(p.body, "/card") {
		t.Error("the mix's page does not lead to its card")
	}
	p := a.cardOf("adult", nil)
	if p.status != http.StatusOK || !strings.HasPrefix(p.header.Get("Content-Disposition"), "attachment") {
		t.Fatalf("status %d, %s", p.status, p.start())
	}
	c, err := cardpage.Read([]byte(p.body))
	if err != nil {
		t.Fatal(err)
	}
	if c.Title != "Skerra's <everyday> mix" || c.Words != "First line.\n<b>Second</b> line." || c.Edition != 3 || c.Changes != (card.Changes{Batch: true}) || c.Hosted == "" {
		t.Errorf("%q %q edition %d, %+v", c.Title, c.Words, c.Edition, c.Changes)
	}
	for _, l := range c.Mixes[0].Document.Lines {
		if l.OnHand.Set || l.Price != nil {
			t.Errorf("%s left the house with its stock or its price", l.Ingredient)
		}
	}
}

// What is typed wrongly is said, and what was typed stays.
func TestCardFormComplains(t *testing.T) {
	a := start(t, true)
	for field, bad := range map[string]string{"edition": "0", "hosted": "javascript:alert(1)", "words": strings.Repeat("x", card.MaxWords+1)} {
		p := a.cardOf("adult", url.Values{field: {bad}})
		if p.status != http.StatusUnprocessableEntity || !strings.Contains(p.body, `role="alert"`) || !strings.Contains(p.body, "the rescue on Skerra") {
			t.Errorf("%s = %.30q: status %d", field, bad, p.status)
		}
	}
}

// Somebody's card is shown, with what differs, and taken in.
func TestCardIsTakenIn(t *testing.T) {
	a := start(t, true)
	made := a.cardOf("adult", nil).body
	p := a.upload(cardPath, "card", "skerra.html", []byte(made))
	if p.status != http.StatusOK || !strings.Contains(p.body, "Its certificate holds") || !strings.Contains(p.body, "is the one that stands here") {
		t.Fatalf("status %d\n%s", p.status, p.start())
	}
	if !strings.Contains(p.body, "&lt;b&gt;Second&lt;/b&gt; line.") || strings.Contains(p.body, "<b>Second") {
		t.Error("a stranger's words are not shown as text")
	}
	before, err := a.store.Mixes(t.Context(), store.Filter{})
	if err != nil {
		t.Fatal(err)
	}
	document, _ := attr(p.find(with("name", "document")), "value")
	took := a.post(cardPath+"/take", url.Values{"document": {document}})
	if took.status != http.StatusSeeOther {
		t.Fatalf("status %d\n%s", took.status, took.start())
	}
	after, err := a.store.Mixes(t.Context(), store.Filter{})
	if err != nil || len(after) != len(before)+1 {
		t.Errorf("%d mixes, then %d: %v", len(before), len(after), err)
	}
}

// A card whose figures were changed shows both figures, and that its
// certificate does not hold.
func TestChangedCardShowsWhatDiffers(t *testing.T) {
	a := start(t, true)
	c, err := cardpage.Read([]byte(a.cardOf("adult", nil).body))
	if err != nil {
		t.Fatal(err)
	}
	f := c.Form(c.Mixes[0].Document.Lines[0].Ingredient)
	fig := f.Figures[nutrient.CrudeProtein]
	fig.Mean += 7
	f.Figures[nutrient.CrudeProtein] = fig
	p := a.upload(cardPath, "card", "changed.json", card.Encode(c))
	if p.status != http.StatusOK || !strings.Contains(p.body, "Its certificate does not hold") || !strings.Contains(p.body, "crude protein") || !strings.Contains(p.body, "What differs from here") {
		t.Errorf("status %d\n%s", p.status, p.start())
	}
}

// Foods that are known here go by their names here: that is what is taken in,
// whatever the card calls it. What a changed hull means for a mix is told too.
func TestAStrangersNamesAndHulls(t *testing.T) {
	a := start(t, true)
	c, err := cardpage.Read([]byte(a.cardOf("adult", nil).body))
	if err != nil {
		t.Fatal(err)
	}
	for _, in := range c.Ingredients {
		for _, f := range in.Forms {
			f.Names = catalog.Names{"en": {"manna"}, "es": {"manna"}}
			if f.Hull != nil {
				f.Hull.Mean /= 2
			}
		}
	}
	p := a.upload(cardPath, "card", "named.json", card.Encode(c))
	if p.status != http.StatusOK || strings.Contains(p.body, "manna") {
		t.Errorf("status %d; the card's names are shown\n%s", p.status, p.start())
	}
	if !strings.Contains(p.body, "the hull, or which part is eaten, differs") {
		t.Error("that hulls differ is not told")
	}
}

// What is no card, or a harmful one, is refused with a reason, in both
// languages.
func TestNoCardIsRefused(t *testing.T) {
	a := start(t, true)
	c := a.cardOf("adult", nil).body
	for name, text := range map[string][]byte{
		"nothing": nil, "a page": []byte("<!doctype html><p>no card"), "two cards": []byte(c + c),
		"later":     []byte(`{"format":"firlot-card","version":99}`),
		"cut short": []byte(c[:len(c)/2]),
		"huge":      bytes.Repeat([]byte("x"), cardpage.MaxFile+1),
		"deep":      []byte(strings.Repeat(`{"format":`, 100_000)),
	} {
		p := a.upload(cardPath, "card", "x.html", text)
		if p.status != http.StatusUnprocessableEntity || !strings.Contains(p.body, `role="alert"`) {
			t.Errorf("%s: status %d", name, p.status)
		}
	}
}
