// Package tables says what the tables of foods and needs say in sentences, in
// other languages than the English that they are written in: how a food looks,
// how it is told from another, what to beware of, why one is never fed.
//
// It is apart from package words because a card has no room for it: a card
// carries the few sentences of its own foods.
package tables

import (
	"embed"
	"regexp"
	"strings"
	"sync"

	"firlot/internal/words"
)

//go:embed *.toml
var files embed.FS

// topics are the files of sentences of a language, topic.lang.toml; figures
// holds the clauses of notes on figures.
var topics = []string{"foods", "needs", "sources"}

const figures = "figures"

var (
	spanish        = sync.OnceValue(func() words.Table { return read("es", topics...) })
	spanishFigures = sync.OnceValue(func() words.Table { return read("es", figures) })
)

// In are the sentences of a language by their English; nil for English, and
// for a language that there are none in.
func In(lang string) words.Table {
	if lang == "es" {
		return spanish()
	}
	return nil
}

// Say says a sentence of the tables, or a note on a figure, in a language.
func Say(lang, text string) (string, bool) {
	if m, ok := In(lang)[text]; ok {
		return m.Other, true
	}
	if lang != "es" {
		return "", false
	}
	return note(spanishFigures(), text)
}

// number is a figure in a note.
var number = regexp.MustCompile(`\d+(?:[.,]\d+)*`)

// note says a note on a figure clause by clause; one that is not known leaves
// the whole note unsaid.
func note(t words.Table, text string) (string, bool) {
	body, stop := strings.CutSuffix(text, ".")
	clauses := strings.Split(body, "; ")
	for i, c := range clauses {
		m, ok := t[clauseOf(c)]
		if !ok {
			return "", false
		}
		clauses[i] = m.Other
		for _, n := range number.FindAllString(c, -1) {
			clauses[i] = strings.Replace(clauses[i], "#", decimal(n), 1)
		}
	}
	out := strings.Join(clauses, "; ")
	if stop {
		out += "."
	}
	return out, true
}

// clauseOf is a clause as its table has it, without its numbers.
func clauseOf(text string) string { return number.ReplaceAllString(text, "#") }

// decimal writes an English number with a comma for the decimals. It may be
// the number of an item or a year, so it is not grouped.
func decimal(n string) string {
	return strings.ReplaceAll(strings.ReplaceAll(n, ",", ""), ".", ",")
}

// read puts files of a language together; they are known to be sound.
func read(lang string, topics ...string) words.Table {
	all := words.Table{}
	for _, topic := range topics {
		name := topic + "." + lang + ".toml"
		text, err := files.ReadFile(name)
		if err != nil {
			panic(err)
		}
		t, err := words.Parse(string(text))
		if err != nil {
			panic(name + ": " + err.Error())
		}
		for english, said := range t {
			all[english] = said
		}
	}
	return all
}
