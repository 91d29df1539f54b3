package web

import (
	"html/template"
	"path"
	"regexp"
	"slices"
	"strconv"
	"strings"

	"github.com/pelletier/go-toml/v2"

	"firlot/mix"
)

// phrase is a sentence of the engine in another language.
type phrase struct {
	format  string
	english *regexp.Regexp
	said    string
}

// engineWords reads what the engine says, in the languages that have a file of
// it.
func engineWords() (map[string][]phrase, error) {
	all := map[string][]phrase{}
	for _, lang := range languages[1:] {
		text, err := localeFiles.ReadFile(path.Join("locale", "engine."+lang+".toml"))
		if err != nil {
			return nil, err
		}
		var table map[string]string
		if err := toml.Unmarshal(text, &table); err != nil {
			return nil, err
		}
		for format, said := range table {
			all[lang] = append(all[lang], phrase{format, formatPattern(format), said})
		}
		// What says most in its own words is tried first.
		slices.SortFunc(all[lang], func(a, b phrase) int {
			if x, y := ownLength(a.format), ownLength(b.format); x != y {
				return y - x
			}
			return strings.Compare(a.format, b.format)
		})
	}
	return all, nil
}

var verb = regexp.MustCompile(`%(\.\d)?[a-z]|%%`)

func ownLength(format string) int { return len(verb.ReplaceAllString(format, "")) }

// formatPattern is a pattern for what a format of package fmt prints.
func formatPattern(format string) *regexp.Regexp {
	var b strings.Builder
	b.WriteString("^")
	at := 0
	for _, m := range verb.FindAllStringIndex(format, -1) {
		b.WriteString(regexp.QuoteMeta(format[at:m[0]]))
		switch v := format[m[0]:m[1]]; v {
		case "%%":
			b.WriteString("%")
		case "%d":
			b.WriteString(`(-?\d+)`)
		case "%q":
			b.WriteString(`("(?:[^"\\]|\\.)*")`)
		default:
			b.WriteString(`(.+?)`)
		}
		at = m[1]
	}
	b.WriteString(regexp.QuoteMeta(format[at:]) + "$")
	return regexp.MustCompile(b.String())
}

var putIn = regexp.MustCompile(`\{(\d)(:en)?\}`)

// Engine says a sentence of the engine in the reader's language. One that is
// not in the table stays English, and is marked as such.
func (w *words) Engine(text string) template.HTML {
	if said, ok := w.engineIn(text, 0); ok {
		return said
	}
	return w.English(text)
}

// deepest is how far phrases are looked for within phrases.
const deepest = 3

func (w *words) engineIn(text string, depth int) (template.HTML, bool) {
	for _, p := range w.engine {
		m := p.english.FindStringSubmatch(text)
		if m == nil {
			continue
		}
		var b strings.Builder
		at := 0
		for _, x := range putIn.FindAllStringSubmatchIndex(p.said, -1) {
			b.WriteString(template.HTMLEscapeString(p.said[at:x[0]]))
			n, _ := strconv.Atoi(p.said[x[2]:x[3]])
			if x[4] >= 0 {
				b.WriteString(string(w.English(m[n])))
			} else {
				b.WriteString(string(w.part(m[n], depth)))
			}
			at = x[1]
		}
		b.WriteString(template.HTMLEscapeString(p.said[at:]))
		return template.HTML(b.String()), true
	}
	return "", false
}

var saidMass = regexp.MustCompile(`^([\d.]+) (g|kg|mg|oz|lb)$`)

// part says what was put into a sentence: a phrase, a mass, a number, or a
// reference, which is given its usual name.
func (w *words) part(s string, depth int) template.HTML {
	if depth < deepest {
		if said, ok := w.engineIn(s, depth+1); ok {
			return said
		}
	}
	out := s
	if m := saidMass.FindStringSubmatch(s); m != nil {
		out = w.reformat(m[1]) + "\u00a0" + m[2]
	} else if _, err := strconv.ParseFloat(s, 64); err == nil {
		out = w.reformat(s)
	} else if f := w.form(s); f != nil {
		out = w.Form(f)
	} else if bare, err := strconv.Unquote(s); err == nil {
		out = "«" + bare + "»"
		if f := w.form(bare); f != nil {
			out = "«" + w.Form(f) + "» (" + bare + ")"
		}
	}
	return template.HTML(template.HTMLEscapeString(out))
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
