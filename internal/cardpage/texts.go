package cardpage

import (
	"maps"
	"slices"
	"strconv"
	"strings"
	"sync"

	"firlot/card"
	"firlot/catalog"
	catfiles "firlot/catalog/files"
	"firlot/internal/cardpage/view"
	"firlot/internal/words"
	"firlot/internal/words/tables"
)

// texts say what the tables say, in every language that a page speaks besides
// English.
func texts() map[string]view.Said {
	out := map[string]view.Said{}
	for _, l := range words.Languages {
		if t := tables.In(l); t != nil {
			out[l] = said(l, t)
		}
	}
	return out
}

func said(lang string, t words.Table) view.Said {
	return func(english string) (string, bool) {
		if m, ok := t[english]; ok {
			return m.Other, true
		}
		if f := elsewhere()[english]; f != nil {
			return f.Name(lang), true
		}
		return "", false
	}
}

// elsewhere are the catalogue's forms by their references in words, as a page
// names those that its card does not hold.
var elsewhere = sync.OnceValue(func() map[string]*catalog.Form {
	out := map[string]*catalog.Form{}
	if c, err := catfiles.Builtin(); err == nil {
		for _, f := range c.Forms() {
			out[view.PlainRef(f.Ref())] = f
		}
	}
	return out
})

// textsOf are those of a language that a card's page may have to say, as the
// file that package words reads, by their keys and in a steady order: of the foods of its mixes
// and of those that it offers, of its windows, and of its sources.
func textsOf(c *card.Card, lang string) string {
	know := texts()[lang]
	if know == nil {
		return ""
	}
	seen := map[string]bool{}
	var b strings.Builder
	say := func(english string) {
		if other, ok := know(english); ok && !seen[english] {
			seen[english] = true
			b.WriteString(view.TextKey(english) + " = " + strconv.Quote(other) + "\n")
		}
	}
	for _, ref := range refsOf(c) {
		if f := c.Catalogue().Form(ref); f != nil {
			eachText(c, f, say)
		}
	}
	for _, key := range slices.Sorted(maps.Keys(c.Sources)) {
		say(c.Sources[key].Title)
		say(c.Sources[key].Publisher)
	}
	for _, sp := range c.Species {
		for _, stage := range sp.Stages {
			for _, w := range stage.Windows {
				say(w.Note)
			}
		}
	}
	return b.String()
}

func refsOf(c *card.Card) []string {
	var refs []string
	for _, m := range c.Mixes {
		for _, l := range m.Document.Lines {
			refs = append(refs, l.Ingredient)
		}
	}
	refs = append(refs, c.Offered...)
	slices.Sort(refs)
	return slices.Compact(refs)
}

// eachText is what a card's page says of a form.
func eachText(c *card.Card, f *catalog.Form, say func(string)) {
	say(f.Looks)
	for _, x := range f.Confused {
		say(x.Tell)
		if c.Form(x.With) == nil {
			say(view.PlainRef(x.With))
		}
	}
	for _, l := range f.Limits {
		say(l.Why)
	}
	for _, x := range f.Cautions {
		say(x)
	}
}
