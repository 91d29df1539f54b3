package catalog

import (
	"slices"
	"sync"

	"firlot/internal/nearword"
)

// Called is one name that a form answers to.
type Called struct {
	Name   string
	Lang   string // empty for a reference or the Latin name
	Folded string // without case and accents, as names are compared
}

// index holds the folded names of a catalogue. Folding every name takes as
// long as reading the catalogue, so it is done once, when first asked for,
// and a catalogue made by With folds only what it adds.
type index struct {
	forms  map[*Form][]Called
	unsafe [][]string
}

func (c *Catalogue) indexFrom(parent func() *index) func() *index {
	return sync.OnceValue(func() *index {
		x := &index{forms: map[*Form][]Called{}}
		var old *index
		if parent != nil {
			old = parent()
			x.unsafe = old.unsafe
		} else {
			x.unsafe = foldUnsafe(c.Unsafe)
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

// UnsafeNames lists the folded names of the i-th unsafe food, its id first,
// each with a space before and after it so that it can be looked for as whole
// words. The list is shared and must not be changed.
func (c *Catalogue) UnsafeNames(i int) []string { return c.names().unsafe[i] }

func called(f *Form) []Called {
	list := []Called{{Name: f.Ref(), Folded: nearword.Fold(f.Ref())}}
	add := func(n, lang string) { list = append(list, Called{n, lang, nearword.Fold(n)}) }
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

func foldUnsafe(list []Unsafe) [][]string {
	out := make([][]string, len(list))
	for i, u := range list {
		out[i] = []string{padded(u.ID)}
		for _, lang := range u.Names.languages() {
			for _, n := range u.Names[lang] {
				out[i] = append(out[i], padded(n))
			}
		}
	}
	return out
}

func padded(name string) string { return " " + nearword.Fold(name) + " " }
