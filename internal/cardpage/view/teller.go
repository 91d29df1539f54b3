package view

import (
	"math"
	"strings"

	"firlot/analysis"
	"firlot/catalog"
	"firlot/internal/words"
	"firlot/needs"
	"firlot/nutrient"
)

// teller says things in one language. Foods may be named in another.
type teller struct {
	*words.Book
	names   string // the language of foods' names
	find    func(ref string) *catalog.Form
	sources map[string]catalog.Source
	texts   Said // what the tables say, in this language; may be nil
	tables  *catalog.Catalogue
}

// form is the usual name of a form.
func (t *teller) form(f *catalog.Form) string { return f.Name(t.names) }

// named is the name of a form as markup, marked with its language where that
// is not the page's.
func (t *teller) named(f *catalog.Form) html {
	lang := t.names
	if len(f.Names[lang]) == 0 && (len(f.Ingredient.Forms) > 1 || len(f.Ingredient.Names[lang]) == 0) {
		lang = "en"
	}
	return t.in(lang, t.form(f))
}

// in marks a text with its language, where that is not the page's.
func (t *teller) in(lang, text string) html {
	if lang == string(t.Lang) {
		return html(esc(text))
	}
	return el("span", at{"lang", lang}, text)
}

// english marks a text that is English as such.
func (t *teller) english(text string) html { return t.in("en", text) }

// table says a text of the tables. One that is not known in the page's
// language stays English.
func (t *teller) table(text string) html {
	if t.texts != nil {
		if said, ok := t.texts(text); ok {
			return html(esc(said))
		}
	}
	return t.english(text)
}

// of says a text of a food. What stands in a publisher's own ingredient was
// typed in nobody knows which language, and is left alone.
func (t *teller) of(f *catalog.Form, text string) html {
	if t.tables.Form(f.Ref()) != f {
		return html(esc(text))
	}
	return t.table(text)
}

// engine says a sentence of the engine.
func (t *teller) engine(text string) html {
	var out html
	for _, r := range t.Engine(text, t.nameOf) {
		if r.English {
			out += t.english(r.Text)
		} else {
			out += html(esc(r.Text))
		}
	}
	return out
}

// note is the note on a window; one that the publisher set is in the
// publisher's own words.
func (t *teller) note(w needs.Window) html {
	if w.Source == documentSource {
		return html(esc(w.Note))
	}
	return t.table(w.Note)
}

// nameOf is the usual name of a form by its reference, or "".
func (t *teller) nameOf(ref string) string {
	if f := t.find(ref); f != nil {
		return t.form(f)
	}
	return ""
}

func (t *teller) figure(k nutrient.Key) string { return t.T("nutrient_" + string(k)) }

// measure is the name of a figure, or of the ratio of two.
func (t *teller) measure(k, per nutrient.Key) string {
	if per == "" {
		return t.figure(k)
	}
	return t.T("ratio", "A", t.figure(k), "B", t.figure(per))
}

func (t *teller) basis(b nutrient.Basis, on needs.Side) string {
	key := "basis_as_fed"
	if b == nutrient.DryMatter {
		key = "basis_dry_matter"
	}
	if on == needs.Eaten {
		key += "_eaten"
	}
	return t.T(key)
}

// measureOf is what a window is on, with the basis where that is not the
// usual one.
func (t *teller) measureOf(x needs.Window) string {
	s := t.measure(x.Nutrient, x.Per)
	if x.Basis == nutrient.DryMatter || x.On == needs.Eaten {
		s += " (" + t.basis(x.Basis, x.On) + ")"
	}
	return s
}

func (t *teller) evidence(e catalog.Evidence) string {
	if !e.Known() {
		return t.T("evidence_own")
	}
	return t.T("evidence_" + string(e))
}

func (t *teller) withUnit(v float64, u nutrient.Unit) string {
	return strings.TrimRight(t.Plain(math.Round(v*1e4)/1e4)+"\u00a0"+string(u), "\u00a0")
}

func (t *teller) quantity(v float64, u nutrient.Unit) string {
	return strings.TrimRight(t.Short(v)+"\u00a0"+string(u), "\u00a0")
}

// grams is the number of a mass in grams.
func (t *teller) grams(m nutrient.Mass) string { return t.Plain(m.Grams()) }

func (t *teller) mass(m nutrient.Mass) string { return t.grams(m) + "\u00a0g" }

// window is a window as a range.
func (t *teller) window(x needs.Window) string {
	unit := analysis.MeasureOf(x).Unit()
	switch {
	case x.Min == nil && x.Max == nil:
		return ""
	case x.Min == nil:
		return t.T("range_most", "B", t.withUnit(*x.Max, unit))
	case x.Max == nil:
		return t.T("range_least", "A", t.withUnit(*x.Min, unit))
	case *x.Min == *x.Max:
		return t.withUnit(*x.Max, unit)
	}
	return t.T("range", "A", t.Plain(*x.Min), "B", t.withUnit(*x.Max, unit))
}

// ofHundred says a chance as so many of 100, rounded down; never 100 of 100,
// and never 0.
func (t *teller) ofHundred(p float64) string {
	switch {
	case p > 0.995:
		return t.T("chance_over")
	case p < 0.01:
		return t.T("chance_under")
	}
	return t.T("chance", "N", int(math.Floor(p*100)))
}

// documentSource is the source of a window that a mix sets itself.
const documentSource = "document"

// source spells a source out.
func (t *teller) source(ref string) html {
	if ref == documentSource {
		return html(esc(t.T("source_document")))
	}
	if kind, rest, _ := strings.Cut(ref, ": "); kind == "label" || kind == "laboratory" {
		out := t.T("source_" + kind)
		if rest != "" {
			out += ": " + rest
		}
		return html(esc(out))
	}
	cited, ok := t.cited(ref)
	if !ok {
		return t.english(ref)
	}
	return cited
}

// cited spells a reference out. What Firlot says of its own sources is said in
// the page's language, and what stands in parentheses after it is English; so
// are the titles of others, or what they are.
func (t *teller) cited(ref string) (html, bool) {
	own := false
	text, ok := catalog.Cite(func(key string) (catalog.Source, bool) {
		src, ok := t.sources[key]
		if t.texts != nil {
			if said, known := t.texts(src.Title); known {
				src.Title, own = said, true
			}
			if said, known := t.texts(src.Publisher); known {
				src.Publisher = said
			}
		}
		return src, ok
	}, ref)
	if !own {
		return t.english(text), ok
	}
	head, item, found := strings.Cut(text, " (")
	if !found {
		return html(esc(head)), ok
	}
	return join(head, " ", t.english("("+item)), ok
}

// findSource finds a source by its key.
func (t *teller) findSource(key string) (catalog.Source, bool) {
	src, ok := t.sources[key]
	return src, ok
}
