package web

import (
	"context"
	"embed"
	"html/template"
	"net/http"
	"path"
	"strings"

	"github.com/nicksnyder/go-i18n/v2/i18n"
	"github.com/pelletier/go-toml/v2"
	"golang.org/x/text/language"

	"firlot/catalog"
	said "firlot/internal/words"
	"firlot/internal/words/tables"
	"firlot/needs"
	"firlot/nutrient"
)

//go:embed locale
var localeFiles embed.FS

// languages are those of the files in locale, English first.
var languages = said.Languages

// lexicon holds the words of every language.
type lexicon struct {
	bundle  *i18n.Bundle
	matcher language.Matcher
	engine  map[string][]said.Phrase // what the engine says, by language
}

func newLexicon() (*lexicon, error) {
	b := i18n.NewBundle(language.English)
	b.RegisterUnmarshalFunc("toml", toml.Unmarshal)
	var tags []language.Tag
	for _, l := range languages {
		if err := loadWords(b, l); err != nil {
			return nil, err
		}
		tags = append(tags, language.Make(l))
	}
	engine := map[string][]said.Phrase{}
	for _, l := range languages[1:] {
		engine[l] = said.Phrases(l)
	}
	return &lexicon{b, language.NewMatcher(tags), engine}, nil
}

// areas are the files that the words of a language stand in, one for each part
// of the app: active for what all of it says, animals, shelves and mixes.
// What a card says too stands in package words.
var areas = []string{"active", "scale", "feeding", "share", "devices"}

func loadWords(b *i18n.Bundle, lang string) error {
	if _, err := b.LoadMessageFileFS(said.Files, "shared."+lang+".toml"); err != nil {
		return err
	}
	for _, a := range areas {
		// The language is read from the name: x.en.toml.
		if _, err := b.LoadMessageFileFS(localeFiles, path.Join("locale", a+"."+lang+".toml")); err != nil {
			return err
		}
	}
	return nil
}

// words speaks one language, with the units of the keeper's choice.
type words struct {
	lang      string
	units     string // "" or grams; "ounces" for ounces and cups besides
	loc       *i18n.Localizer
	source    func(key string) (catalog.Source, bool)
	form      func(ref string) *catalog.Form
	portraits *portraits
	engine    []said.Phrase // how the engine is said in it; none in English
}

// The names and values of settings.
const (
	settingLanguage = "language"
	settingUnits    = "units"
	unitsOunces     = "ounces"
)

// wordsFor picks the language: the setting, else what the browser asks for.
func (s *Server) wordsFor(r *http.Request) *words {
	setting := func(name string) string {
		v, err := s.Store.Setting(context.WithoutCancel(r.Context()), name)
		if err != nil {
			s.Log.Error("a setting could not be read", "name", name, "error", err)
		}
		return v
	}
	_, i := language.MatchStrings(s.lexicon.matcher, setting(settingLanguage), r.Header.Get("Accept-Language"))
	return s.wordsIn(languages[i], setting(settingUnits))
}

func (s *Server) wordsIn(lang, units string) *words {
	return &words{lang: lang, units: units, loc: i18n.NewLocalizer(s.lexicon.bundle, lang), source: s.findSource, form: s.Catalogue.Form, portraits: s.portraits, engine: s.lexicon.engine[lang]}
}

// T is a message, its values given as name and value in turn.
func (w *words) T(key string, pairs ...any) string {
	return w.say(&i18n.LocalizeConfig{MessageID: key, TemplateData: thing(pairs...)})
}

// N is a message about n things, in its plural form; {{.N}} is the number.
func (w *words) N(key string, n int, pairs ...any) string {
	data := thing(pairs...)
	data["N"] = w.Num(float64(n), 0)
	return w.say(&i18n.LocalizeConfig{MessageID: key, PluralCount: n, TemplateData: data})
}

// say never fails: a missing message shows its key, and a test finds it.
func (w *words) say(c *i18n.LocalizeConfig) string {
	if w.loc == nil {
		return c.MessageID
	}
	text, err := w.loc.Localize(c)
	if err != nil && text == "" {
		return c.MessageID
	}
	return text
}

// Told says a text of a food, or of the unsafe list, in the reader's language.
// What is not in the tables somebody typed, in nobody knows which language: it
// stays as it is.
func (w *words) Told(text string) string {
	if m, ok := tables.In(w.lang)[text]; ok {
		return m.Other
	}
	return text
}

// English says a text that is written in English in the reader's language, or
// marks it as English where it is not known in that.
func (w *words) English(text string) template.HTML {
	if said, ok := tables.Say(w.lang, text); ok {
		return template.HTML(template.HTMLEscapeString(said))
	}
	safe := template.HTMLEscapeString(text)
	if w.lang != "en" && text != "" {
		safe = `<span lang="en">` + safe + `</span>`
	}
	return template.HTML(safe)
}

// Form is the usual name of a form.
func (w *words) Form(f *catalog.Form) string { return f.Name(w.lang) }

// Figure is the name of a figure.
func (w *words) Figure(k nutrient.Key) string { return w.T("nutrient_" + string(k)) }

// Measure is the name of a figure, or of the ratio of two.
func (w *words) Measure(k, per nutrient.Key) string {
	if per == "" {
		return w.Figure(k)
	}
	return w.T("ratio", "A", w.Figure(k), "B", w.Figure(per))
}

// Class is the name of a class of food.
func (w *words) Class(c catalog.Class) string { return w.T("class_" + string(c)) }

// Evidence says how well a figure is known.
func (w *words) Evidence(e catalog.Evidence) string {
	if !e.Known() {
		return w.T("evidence_own")
	}
	return w.T("evidence_" + string(e))
}

// Basis says what a figure is a share of.
func (w *words) Basis(b nutrient.Basis, on needs.Side) string {
	key := "basis_as_fed"
	if b == nutrient.DryMatter {
		key = "basis_dry_matter"
	}
	if on == needs.Eaten {
		key += "_eaten"
	}
	return w.T(key)
}

// Species is the usual name of a species.
func (w *words) Species(s *needs.Species) string { return s.Names.First(w.lang) }

// Stage is the name of a life stage.
func (w *words) Stage(s *needs.Stage) string { return s.Names.First(w.lang) }

// Source spells a source out.
func (w *words) Source(ref string) template.HTML {
	if ref == documentSource {
		return template.HTML(template.HTMLEscapeString(w.T("source_document")))
	}
	if kind, rest, _ := strings.Cut(ref, ": "); kind == "label" || kind == "laboratory" {
		out := w.T("source_" + kind)
		if rest != "" {
			out += ": " + rest
		}
		return template.HTML(template.HTMLEscapeString(out))
	}
	if title, own, ok := w.cited(ref); ok {
		head, item, found := strings.Cut(title, " (")
		if own && found {
			return template.HTML(template.HTMLEscapeString(head)+" ") + w.English("("+item)
		}
		if own {
			return template.HTML(template.HTMLEscapeString(title))
		}
		return w.English(title)
	}
	return w.English(ref)
}

// cited spells a reference out. What Firlot says of its own sources is said in
// the reader's language; the titles of others stay what they are.
func (w *words) cited(ref string) (title string, own, ok bool) {
	if w.source == nil {
		return "", false, false
	}
	title, ok = catalog.Cite(func(key string) (catalog.Source, bool) {
		src, ok := w.source(key)
		if said := w.Told(src.Title); said != src.Title {
			src.Title, src.Publisher, own = said, w.Told(src.Publisher), true
		}
		return src, ok
	}, ref)
	return title, own, ok
}

// documentSource is the source of a window that the document sets itself.
const documentSource = "document"

// Day prints a day.
func (w *words) Day(t interface{ Format(string) string }) string { return t.Format("2006-01-02") }

// And lists things: "a, b and c".
func (w *words) And(list []string) string {
	if len(list) < 2 {
		return strings.Join(list, "")
	}
	last := len(list) - 1
	return w.T("and", "A", strings.Join(list[:last], ", "), "B", list[last])
}
