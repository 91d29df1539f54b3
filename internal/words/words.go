package words

import (
	"embed"
	"fmt"
	"strconv"
	"strings"
	"sync"
)

// Files are the files of words.
//
//go:embed *.toml
var Files embed.FS

// Languages are those that Firlot speaks, English first.
var Languages = []string{"en", "es"}

// Message is what is said under one key. One without plurals has Other alone.
type Message struct{ One, Many, Other string }

// Table holds messages by key.
type Table map[string]Message

// Parse reads messages: lines of key = "text", and a [key] with its plural
// forms one, many and other. Keys may be quoted. It is TOML, but not all of
// TOML is read.
func Parse(text string) (Table, error) {
	t := Table{}
	section := ""
	for i, line := range strings.Split(text, "\n") {
		line = strings.TrimSpace(line)
		if line == "" || line[0] == '#' {
			continue
		}
		if line[0] == '[' && line[len(line)-1] == ']' {
			section = line[1 : len(line)-1]
			continue
		}
		key, said, err := entry(line)
		if err != nil {
			return nil, fmt.Errorf("line %d: %w", i+1, err)
		}
		form := "other"
		if section != "" {
			key, form = section, key
		}
		m := t[key]
		switch form {
		case "one":
			m.One = said
		case "many":
			m.Many = said
		case "other":
			m.Other = said
		default:
			return nil, fmt.Errorf("line %d: %q is no plural form", i+1, form)
		}
		t[key] = m
	}
	return t, nil
}

// entry reads key = "text".
func entry(line string) (key, said string, err error) {
	if line[0] == '"' {
		quoted, err := strconv.QuotedPrefix(line)
		if err != nil {
			return "", "", err
		}
		line = line[len(quoted):]
		if key, err = strconv.Unquote(quoted); err != nil {
			return "", "", err
		}
		line = "x" + line
	}
	left, right, ok := strings.Cut(line, "=")
	if !ok {
		return "", "", fmt.Errorf("there is no =")
	}
	if key == "" {
		key = strings.TrimSpace(left)
	}
	right = strings.TrimSpace(right)
	if !strings.HasPrefix(right, `"`) {
		return "", "", fmt.Errorf("a text stands in double quotation marks")
	}
	said, err = strconv.Unquote(right)
	return key, said, err
}

// tables are the files of this package that have been read, by name.
var tables sync.Map

// table is a file of this package, which is known to be sound.
func table(name string) Table {
	if t, ok := tables.Load(name); ok {
		return t.(Table)
	}
	t := readTable(name)
	tables.Store(name, t)
	return t
}

func readTable(name string) Table {
	text, err := Files.ReadFile(name)
	if err != nil {
		return nil
	}
	t, err := Parse(string(text))
	if err != nil {
		panic(name + ": " + err.Error())
	}
	return t
}

// Book speaks one language.
type Book struct {
	Lang
	tables  []Table
	phrases []Phrase
}

// In is the book of a language: the shared messages, and further tables, which
// come first.
func In(lang string, more ...Table) *Book {
	return &Book{Lang(lang), append(more, table("shared."+lang+".toml")), Phrases(lang)}
}

func (b *Book) find(key string) (Message, bool) {
	for _, t := range b.tables {
		if m, ok := t[key]; ok {
			return m, true
		}
	}
	return Message{}, false
}

// Has reports whether there is a message under a key.
func (b *Book) Has(key string) bool {
	_, ok := b.find(key)
	return ok
}

// T is a message, its values given as name and value in turn. One that is
// missing shows its key, and a test finds it.
func (b *Book) T(key string, pairs ...any) string {
	m, ok := b.find(key)
	if !ok {
		return key
	}
	return fill(m.Other, pairs)
}

// N is a message about n things, in its plural form; {{.N}} is the number.
func (b *Book) N(key string, n int, pairs ...any) string {
	m, ok := b.find(key)
	if !ok {
		return key
	}
	said := m.Other
	switch b.plural(n) {
	case "one":
		said = m.One
	case "many":
		said = m.Many
	}
	if said == "" {
		said = m.Other
	}
	return fill(said, append(pairs, "N", b.Num(float64(n), 0)))
}

// fill puts values into {{.Name}}. A value is never looked at again.
func fill(said string, pairs []any) string {
	if !strings.Contains(said, "{{") {
		return said
	}
	old := make([]string, 0, len(pairs))
	for i := 0; i+1 < len(pairs); i += 2 {
		old = append(old, "{{."+fmt.Sprint(pairs[i])+"}}", fmt.Sprint(pairs[i+1]))
	}
	return strings.NewReplacer(old...).Replace(said)
}

// And lists things: "a, b and c".
func (b *Book) And(list []string) string {
	if len(list) < 2 {
		return strings.Join(list, "")
	}
	last := len(list) - 1
	return b.T("and", "A", strings.Join(list[:last], ", "), "B", list[last])
}
