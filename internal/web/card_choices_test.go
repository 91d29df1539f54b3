package web

import (
	"bytes"
	"fmt"
	"image/png"
	"net/http"
	"net/url"
	"os"
	"slices"
	"strings"
	"testing"

	"golang.org/x/net/html"

	"firlot/card"
	"firlot/internal/cardpage"
	"firlot/internal/store"
)

// keepMix keeps a document of the examples as a mix, with words in it changed.
func (a *app) keepMix(name, file string, change ...string) store.Mix {
	a.t.Helper()
	text, err := os.ReadFile("../../examples/" + file)
	if err != nil {
		a.t.Fatal(err)
	}
	m, err := a.store.SaveMix(a.t.Context(), store.Mix{Name: name, Document: strings.NewReplacer(change...).Replace(string(text))})
	if err != nil {
		a.t.Fatal(err)
	}
	return m
}

// cardMade reads back the card that was answered.
func cardMade(t *testing.T, p *result) *card.Card {
	t.Helper()
	if p.status != http.StatusOK || !strings.HasPrefix(p.header.Get("Content-Disposition"), "attachment") {
		t.Fatalf("status %d, %s", p.status, p.start())
	}
	c, err := cardpage.Read([]byte(p.body))
	if err != nil {
		t.Fatal(err)
	}
	return c
}

// complains asserts that a form came back with a reason and as it was typed.
func complains(t *testing.T, p *result, words ...string) {
	t.Helper()
	if p.status != http.StatusUnprocessableEntity || !strings.Contains(p.body, `role="alert"`) {
		t.Fatalf("status %d: %s", p.status, p.start())
	}
	p.says(words...)
}

func ticked(p *result, name string) bool {
	n := p.find(with("name", name))
	if n == nil {
		return false
	}
	_, on := attr(n, "checked")
	return on
}

// Other mixes go into the card as further stages, with one base for all.
func TestCardOfSeveralStages(t *testing.T) {
	a := start(t, true)
	old := a.keepMix("Old gerbils", "gerbil-senior.toml")
	p := a.open(a.demoMix("adult") + "/card")
	field := stageField + string(old.ID)
	if p.find(with("name", field)) == nil || ticked(p, field) {
		t.Fatal("the other mix is not there to tick")
	}
	if own := stageField + strings.TrimPrefix(a.demoMix("adult"), "/mix/"); p.find(with("name", own)) != nil {
		t.Error("the mix itself is listed as a further one")
	}
	c := cardMade(t, a.cardOf("adult", url.Values{field: {"1"}}))
	if len(c.Mixes) != 2 || c.Base != nil || c.Mixes[1].Document.Stage != "senior" {
		t.Errorf("%d mixes, base %v", len(c.Mixes), c.Base)
	}
	c = cardMade(t, a.cardOf("adult", url.Values{field: {"1"}, "base": {"1"}}))
	if c.Base == nil || len(c.Base.Toppers) != 2 || len(c.Base.Amounts) == 0 {
		t.Errorf("base %+v", c.Base)
	}
}

// The form makes a card as it first stands, sent by a browser without scripts,
// and its pictures are asked for by a form that changes nothing.
func TestCardFormAsItFirstStands(t *testing.T) {
	a := start(t, true)
	p := a.open(a.demoMix("adult") + "/card")
	form := fields(p.find(func(n *html.Node) bool { return n.Data == "form" && strings.Contains(textOf(n), "Save the picture") }))
	form.Set("reading", "1") // without the engine, which is built elsewhere
	c := cardMade(t, a.post(p.path, form))
	if len(c.Mixes) != 1 || len(c.Offered) == 0 || !slices.Equal(c.Languages, []string{"en", "es"}) {
		t.Errorf("%d mixes, %d replacements, names in %v", len(c.Mixes), len(c.Offered), c.Languages)
	}
	for label, kind := range map[string]string{"Save the picture": "image/png", "Save the caption": "text/plain; charset=utf-8"} {
		b := p.find(func(n *html.Node) bool { return n.Data == "button" && strings.Contains(textOf(n), label) })
		to, _ := attr(b, "formaction")
		if way, _ := attr(b, "formmethod"); way != "get" {
			t.Errorf("%s is sent by %q", label, way)
		}
		if got := a.get(to + "?" + form.Encode()); got.status != http.StatusOK || got.header.Get("Content-Type") != kind {
			t.Errorf("%s: status %d, %s", label, got.status, got.header.Get("Content-Type"))
		}
	}
}

// What cannot be a further stage is neither listed nor taken.
func TestCardStagesThatCannotBe(t *testing.T) {
	a := start(t, true)
	nobody := a.keepMix("For nobody", "gerbil-adult.toml", "species  = \"gerbil\"\n", "", "stage    = \"adult\"\n", "")
	away := a.keepMix("Put away", "gerbil-senior.toml")
	away.Archived = true
	if _, err := a.store.SaveMix(t.Context(), away); err != nil {
		t.Fatal(err)
	}
	p := a.open(a.demoMix("adult") + "/card")
	for _, m := range []store.Mix{nobody, away} {
		if p.find(with("name", stageField+string(m.ID))) != nil {
			t.Errorf("%s is listed", m.Name)
		}
	}
	tick := func(id store.ID) *result { return a.cardOf("adult", url.Values{stageField + string(id): {"1"}}) }
	complains(t, tick(nobody.ID), "“For nobody” does not say which animals it is for")
	complains(t, tick(away.ID), "no longer here")
	complains(t, tick("nothing"), "no longer here")
	unsolved := store.ID(strings.TrimPrefix(a.demoMix("after the storms"), "/mix/"))
	p = tick(unsolved)
	complains(t, p, "holds no mix to publish yet")
	if !ticked(p, stageField+string(unsolved)) {
		t.Error("what was ticked is gone")
	}
	many := url.Values{}
	for i := range card.MaxMixes {
		many.Set(stageField+string(a.keepMix(fmt.Sprintf("Copy %d", i), "gerbil-senior.toml").ID), "1")
	}
	complains(t, a.cardOf("adult", many), fmt.Sprintf("and %d more at most", card.MaxMixes-1))
	species := url.Values{}
	for _, f := range []string{"mouse.toml", "rat.toml", "syrian-hamster.toml"} {
		species.Set(stageField+string(a.keepMix(f, f).ID), "1")
	}
	complains(t, a.cardOf("adult", species), fmt.Sprintf("for %d species of animals at most", card.MaxSpecies))
}

// A base needs two mixes, and where there is none that is said with what
// clashes, in both languages.
func TestCardWithoutABase(t *testing.T) {
	a := start(t, true)
	complains(t, a.cardOf("adult", url.Values{"base": {"1"}}), "two mixes or more")
	groats := "ingredient = \"oats/groats\"\n"
	much := a.keepMix("Much groats", "gerbil-growing.toml", groats+"base = \"22 %\"\n", groats+"floor = \"53 %\"\n")
	little := a.keepMix("Hardly any groats", "gerbil-growing.toml", groats+"base = \"22 %\"\n", groats+"ceiling = \"1 %\"\n")
	form := url.Values{"title": {"Both"}, "edition": {"1"}, "replacements": {"2"}, "names.en": {"1"}, "reading": {"1"}, "base": {"1"}, stageField + string(little.ID): {"1"}}
	for lang, says := range map[string][]string{
		"en": {"No one base", "Much groats: ", "Hardly any groats: ", "No card was made"},
		"es": {"Ninguna base", "Much groats: ", "Hardly any groats: ", "No se ha hecho la tarjeta"},
	} {
		a.lang = lang
		p := a.post(mixPath(much.ID)+"/card", form)
		complains(t, p, says...)
		if !ticked(p, "base") || !ticked(p, stageField+string(little.ID)) || ticked(p, namesField+"es") {
			t.Errorf("%s: what was typed is gone", lang)
		}
		if lang == "es" && (strings.Contains(p.text(), "at least") || strings.Contains(p.text(), "at most") || strings.Contains(p.text(), "its limits")) {
			t.Errorf("English in the Spanish page: %s", p.start())
		}
		checkMarkup(t, lang, p)
	}
}

// The number of replacements and the languages of names are the publisher's.
func TestCardReplacementsAndNames(t *testing.T) {
	a := start(t, true)
	none := cardMade(t, a.cardOf("adult", url.Values{"replacements": {"0"}, "names.de": {"1"}, "names.en": {"0"}}))
	if len(none.Offered) != 0 {
		t.Errorf("%d replacements, and none was asked for", len(none.Offered))
	}
	c := cardMade(t, a.cardOf("adult", url.Values{"replacements": {"1"}, "names.de": {"1"}}))
	if len(c.Offered) == 0 || !slices.Equal(c.Languages, []string{"en", "es", "de"}) {
		t.Errorf("%d replacements, names in %v", len(c.Offered), c.Languages)
	}
	for lang, form := range map[string]url.Values{"en": {}, "es": {"names.en": {""}, "names.pt": {"1"}}} {
		if p := a.cardOf("adult", form); !strings.Contains(p.body[:200], `lang="`+lang+`"`) {
			t.Errorf("not opened in %s: %.200s", lang, p.body)
		}
	}
	for _, bad := range []string{"", "6", "-1", "two"} {
		complains(t, a.cardOf("adult", url.Values{"replacements": {bad}}), "from 0 to 5")
	}
	p := a.cardOf("adult", url.Values{"names.en": {""}, "names.es": {""}, "replacements": {"4"}})
	complains(t, p, "at least one language")
	if got := chosen(p.byID("replacements")); got != "4" {
		t.Errorf("%q replacements are left of what was chosen", got)
	}
}

// A mix's pictures and its caption are saved as files.
func TestPicturesAndCaption(t *testing.T) {
	a := start(t, true)
	at := a.demoMix("adult")
	for _, shape := range pictureShapes {
		p := a.get(at + "/picture?as=png&shape=" + shape)
		img, err := png.DecodeConfig(bytes.NewReader([]byte(p.body)))
		if p.status != http.StatusOK || p.header.Get("Content-Type") != "image/png" || err != nil {
			t.Fatalf("%s: status %d, %v", shape, p.status, err)
		}
		if wide, tall := img.Width > img.Height, img.Width < img.Height; wide != (shape == "wide") || tall != (shape == "tall") {
			t.Errorf("%s is %d by %d", shape, img.Width, img.Height)
		}
		p = a.get(at + "/picture?as=svg&title=My+%3Cown%3E&by=Skerra&shape=" + shape)
		if p.status != http.StatusOK || p.header.Get("Content-Type") != "image/svg+xml" || !strings.HasSuffix(p.header.Get("Content-Disposition"), `.`+shape+`.svg"`) {
			t.Fatalf("%s: status %d, %v", shape, p.status, p.header)
		}
		if !strings.HasPrefix(p.body, "<svg") || !strings.Contains(p.body, "My &lt;own&gt;") || !strings.Contains(p.body, "Skerra") {
			t.Errorf("%s is not the picture that was asked for: %.200s", shape, p.body)
		}
	}
	p := a.get(at + "/caption?title=My+own&licence=CC+BY+4.0")
	if p.status != http.StatusOK || p.header.Get("Content-Type") != "text/plain; charset=utf-8" || !strings.HasPrefix(p.body, "My own\n") || !strings.Contains(p.body, "CC BY 4.0") {
		t.Errorf("status %d: %s", p.status, p.body)
	}
	a.lang = "es"
	if p := a.get(at + "/caption"); !strings.Contains(p.body, "mijo") {
		t.Errorf("no Spanish caption: %s", p.body)
	}
}

// A picture that cannot be drawn says why on the form, with what was typed.
func TestPictureThatCannotBe(t *testing.T) {
	a := start(t, true)
	at := a.demoMix("adult")
	for ask, says := range map[string]string{
		"/picture?as=png&shape=round":                               "wide, square or tall",
		"/picture?as=gif&shape=wide":                                "wide, square or tall",
		"/picture?title=Mine&by=Me&as=svg&shape=tall&hosted=x":      "should begin with https://",
		"/caption?title=Mine&by=Me&hosted=x":                        "should begin with https://",
		"/picture?as=png&shape=wide&title=%D8%A8%D8%B0%D9%88%D8%B1": "Choose SVG",
	} {
		p := a.get(at + ask)
		complains(t, p, says)
		if v, _ := attr(p.byID("by"), "value"); strings.Contains(ask, "by=Me") && v != "Me" {
			t.Errorf("%s: published by %q", ask, v)
		}
	}
	complains(t, a.get(a.demoMix("after the storms")+"/picture?as=png&shape=wide"), "no mix to publish yet")
	if p := a.get("/mix/not-there/caption"); p.status != http.StatusNotFound {
		t.Errorf("status %d", p.status)
	}
}
