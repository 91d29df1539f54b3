package catalog

import (
	"slices"
	"sync"

	"firlot/internal/nearword"
)

// Called is one name that a form answers to. A name with umlauts stands twice,
// as it is written with them and without.
type Called struct {
	Name   string
	Lang   string // empty for a reference or the Latin name
	Folded string // its key, as names are compared
}

// index holds the folded names of a catalogue. Folding every name takes as
// long as reading the catalogue, so it is done once, when first asked for,
// and a catalogue made by With folds only what it adds.
type index struct {
	forms  map[*Form][]Called
	unsafe *UnsafeIndex
	known  func() *Vocabulary
}

func (c *Catalogue) indexFrom(parent func() *index) func() *index {
	return sync.OnceValue(func() *index {
		x := &index{forms: map[*Form][]Called{}}
		var old *index
		if parent != nil {
			old = parent()
			x.unsafe, x.known = old.unsafe, old.known
		} else {
			x.unsafe = indexUnsafe(c.Unsafe)
			x.known = sync.OnceValue(func() *Vocabulary { return vocabulary(c, x) })
		}
		for _, f := range c.Forms() {
			if old != nil && old.forms[f] != nil {
				x.forms[f] = old.forms[f]
				continue
			}
			x.forms[f] = called(f)
		}
		return x
	})
}

// Called lists everything that a form of the catalogue may be called: its
// reference, its own names, its ingredient's names by language, and the Latin
// name. The list is shared and must not be changed.
func (c *Catalogue) Called(f *Form) []Called { return c.names().forms[f] }

func called(f *Form) []Called {
	list := []Called{{Name: f.Ref(), Folded: nearword.Key(f.Ref())}}
	add := func(n, lang string) {
		for _, key := range nearword.Spellings(n) {
			list = append(list, Called{n, lang, key})
		}
	}
	for _, set := range []Names{f.Names, f.Ingredient.Names} {
		for _, lang := range set.languages() {
			for _, n := range set[lang] {
				add(n, lang)
			}
		}
	}
	if f.Ingredient.Latin != "" {
		add(f.Ingredient.Latin, "")
	}
	return list
}

func (n Names) languages() []string {
	langs := make([]string, 0, len(n))
	for l := range n {
		langs = append(langs, l)
	}
	slices.Sort(langs)
	return langs
}
