package view

import (
	"embed"
	"strings"
	"sync"

	"firlot/internal/words"
)

//go:embed card.*.toml
var files embed.FS

var read sync.Map

// cardWords are the words of the card's page alone.
func cardWords(lang string) words.Table {
	if t, ok := read.Load(lang); ok {
		return t.(words.Table)
	}
	text, err := files.ReadFile("card." + lang + ".toml")
	if err != nil {
		return nil
	}
	t, err := words.Parse(string(text))
	if err != nil {
		panic("card." + lang + ".toml: " + err.Error())
	}
	read.Store(lang, t)
	return t
}

// Words is the book of a language with the card's own words.
func Words(lang string) *words.Book { return words.In(lang, cardWords(lang)) }

// said are the messages that the page's script says by itself.
var said = []string{"working", "failed", "copied", "copy_this", "picture_made", "page_differed"}

// Script is what the page's script says by itself, in every language, as
// JavaScript.
func Script() string {
	var b strings.Builder
	b.WriteByte('{')
	for i, l := range words.Languages {
		if i > 0 {
			b.WriteByte(',')
		}
		quote(&b, l)
		b.WriteByte(':')
		var pairs []string
		for _, k := range said {
			pairs = append(pairs, k, Words(l).T(k))
		}
		b.WriteString(object(pairs...))
	}
	b.WriteByte('}')
	return b.String()
}
