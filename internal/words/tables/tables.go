// Package tables says what the tables of foods and needs say in sentences, in
// other languages than the English that they are written in: how a food looks,
// how it is told from another, what to beware of, why one is never fed.
//
// It is apart from package words because a card has no room for it: a card
// carries the few sentences of its own foods.
package tables

import (
	"embed"
	"sync"

	"firlot/internal/words"
)

//go:embed *.toml
var files embed.FS

// topics are the files of a language, topic.lang.toml.
var topics = []string{"foods", "needs"}

var spanish = sync.OnceValue(func() words.Table { return read("es") })

// In are the sentences of a language by their English; nil for English, and
// for a language that there are none in.
func In(lang string) words.Table {
	if lang == "es" {
		return spanish()
	}
	return nil
}

// read puts the files of a language together; they are known to be sound.
func read(lang string) words.Table {
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
