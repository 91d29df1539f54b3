package words

import (
	"slices"
	"strconv"
	"strings"
	"unicode/utf8"
)

// Phrase is a sentence of the engine, as its code has it, in another
// language. In Said, {1} is the first thing put into it, and {1:en} one that
// stays English.
type Phrase struct{ Format, Said string }

// Phrases are the engine's sentences in a language; none in English. What says
// most in its own words comes first.
func Phrases(lang string) []Phrase {
	var list []Phrase
	for format, said := range table("engine." + lang + ".toml") {
		list = append(list, Phrase{format, said.Other})
	}
	slices.SortFunc(list, func(a, b Phrase) int {
		if x, y := ownLength(a.Format), ownLength(b.Format); x != y {
			return y - x
		}
		return strings.Compare(a.Format, b.Format)
	})
	return list
}

// Run is a part of a text. English is one that has no other language.
type Run struct {
	Text    string
	English bool
}

// Plain joins the texts of runs.
func Plain(runs []Run) string {
	var b strings.Builder
	for _, r := range runs {
		b.WriteString(r.Text)
	}
	return b.String()
}

// deepest is how far phrases are looked for within phrases, and longest how
// long a sentence is looked at, in bytes.
const (
	deepest = 3
	longest = 600
)

// Say says a sentence in the language of some phrases. part says what was put
// into it and is no phrase itself. It reports false for one that is not known.
func Say(phrases []Phrase, text string, part func(string) string) ([]Run, bool) {
	return say(phrases, text, part, 0)
}

func say(phrases []Phrase, text string, part func(string) string, depth int) ([]Run, bool) {
	if len(text) > longest {
		return nil, false
	}
	for _, p := range phrases {
		in, ok := Match(p.Format, text)
		if !ok {
			continue
		}
		var out []Run
		rest := p.Said
		for {
			before, n, english, after, found := cutPlace(rest)
			out = append(out, Run{Text: before})
			if !found || n > len(in) {
				return out, true
			}
			rest = after
			if english {
				out = append(out, Run{in[n-1], true})
				continue
			}
			var runs []Run
			known := false
			if depth < deepest {
				runs, known = say(phrases, in[n-1], part, depth+1)
			}
			if !known {
				runs = []Run{{Text: part(in[n-1])}}
			}
			out = append(out, runs...)
		}
	}
	return nil, false
}

// cutPlace cuts a text at its first {1} or {1:en}.
func cutPlace(s string) (before string, n int, english bool, after string, found bool) {
	for i := 0; i+2 < len(s); i++ {
		if s[i] != '{' || s[i+1] < '1' || s[i+1] > '9' {
			continue
		}
		n = int(s[i+1] - '0')
		if strings.HasPrefix(s[i+2:], "}") {
			return s[:i], n, false, s[i+3:], true
		}
		if strings.HasPrefix(s[i+2:], ":en}") {
			return s[:i], n, true, s[i+6:], true
		}
	}
	return s, 0, false, "", false
}

// Match takes apart what package fmt printed with a format: what stands for
// %d is a whole number, for %q a quoted text, and for any other verb the
// shortest text that fits.
func Match(format, text string) ([]string, bool) {
	literal, verb, rest := cutVerb(format)
	text, ok := strings.CutPrefix(text, literal)
	if !ok {
		return nil, false
	}
	switch {
	case verb == 0:
		return nil, text == ""
	case verb == 'q':
		quoted, err := strconv.QuotedPrefix(text)
		if err != nil || quoted[0] != '"' {
			return nil, false
		}
		return join(quoted, rest, text[len(quoted):])
	}
	for n := 0; n < len(text); {
		r, size := utf8.DecodeRuneInString(text[n:])
		whole := verb == 'd' && (r >= '0' && r <= '9' || r == '-' && n == 0)
		if verb == 'd' && !whole || r == '\n' {
			return nil, false
		}
		n += size
		if verb == 'd' && text[:n] == "-" {
			continue
		}
		if in, ok := join(text[:n], rest, text[n:]); ok {
			return in, true
		}
	}
	return nil, false
}

func join(first, format, text string) ([]string, bool) {
	in, ok := Match(format, text)
	return append([]string{first}, in...), ok
}

// cutVerb cuts a format at its first verb, which is 0 where there is none.
func cutVerb(format string) (literal string, verb byte, rest string) {
	var b strings.Builder
	for i := 0; i < len(format); i++ {
		if format[i] == '%' {
			if strings.HasPrefix(format[i+1:], "%") {
				i++
			} else if n := verbAt(format[i:]); n > 0 {
				return b.String(), format[i+n-1], format[i+n:]
			}
		}
		b.WriteByte(format[i])
	}
	return b.String(), 0, ""
}

// verbAt is the length of the verb that a text begins with: %s, or %.1f. A
// sentence without verbs may hold a per cent sign.
func verbAt(s string) int {
	n := 1
	if strings.HasPrefix(s[1:], ".") {
		n = 3
	}
	if n < len(s) && s[n] >= 'a' && s[n] <= 'z' {
		return n + 1
	}
	return 0
}

// ownLength is the length of a format without its verbs.
func ownLength(format string) int {
	literal, verb, rest := cutVerb(format)
	if verb == 0 {
		return len(literal)
	}
	return len(literal) + ownLength(rest)
}

// Engine says a sentence of the engine in the book's language, references
// given their usual names by name, which returns "" for what is none. What is
// not in the table stays English.
func (b *Book) Engine(text string, name func(ref string) string) []Run {
	if b.Lang == "en" {
		return []Run{{Text: text}}
	}
	if runs, ok := Say(b.phrases, text, func(s string) string { return b.Lang.Part(s, name) }); ok {
		return runs
	}
	return []Run{{text, true}}
}

// massUnits are the units that the engine writes after a number.
var massUnits = []string{" g", " kg", " mg", " oz", " lb"}

// Part says what was put into a sentence of the engine: a mass, a number, or
// a reference, which is given its usual name.
func (l Lang) Part(s string, name func(ref string) string) string {
	for _, u := range massUnits {
		if number, ok := strings.CutSuffix(s, u); ok && plainNumber(number) {
			return l.Reformat(number) + "\u00a0" + u[1:]
		}
	}
	if _, err := strconv.ParseFloat(s, 64); err == nil {
		return l.Reformat(s)
	}
	if n := name(s); n != "" {
		return n
	}
	if bare, err := strconv.Unquote(s); err == nil {
		if n := name(bare); n != "" {
			return "«" + n + "» (" + bare + ")"
		}
		return "«" + bare + "»"
	}
	return s
}

func plainNumber(s string) bool {
	return s != "" && strings.Trim(s, "0123456789.") == ""
}
