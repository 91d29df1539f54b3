package web

import (
	"html/template"
	"strings"

	said "firlot/internal/words"
	"firlot/mix"
)

// Engine says a sentence of the engine in the reader's language. One that is
// not in the table stays English, and is marked as such.
func (w *words) Engine(text string) template.HTML {
	if html, ok := w.engineIn(text); ok {
		return html
	}
	return w.English(text)
}

func (w *words) engineIn(text string) (template.HTML, bool) {
	runs, ok := said.Say(w.engine, text, func(s string) string { return w.language().Part(s, w.nameOf) })
	var b strings.Builder
	for _, r := range runs {
		if r.English {
			b.WriteString(string(w.English(r.Text)))
		} else {
			b.WriteString(template.HTMLEscapeString(r.Text))
		}
	}
	return template.HTML(b.String()), ok
}

// nameOf is the usual name of a form by its reference, or "".
func (w *words) nameOf(ref string) string {
	if f := w.form(ref); f != nil {
		return w.Form(f)
	}
	return ""
}

// Problem says what is wrong with a document, and what would be right.
func (w *words) Problem(p *mix.Problem) template.HTML { return w.complaint(p.Message, p.Hint) }

func (w *words) complaint(message, hint string) template.HTML {
	said := w.Engine(message)
	if hint != "" {
		said += "; " + w.Engine(hint)
	}
	return said
}
