package catalog

import (
	"slices"
	"strings"

	"firlot/internal/nearword"
)

// UnsafeIndex is the unsafe list arranged for looking names up. Foods are
// numbers into [Catalogue.Unsafe]. It is shared and must not be changed.
type UnsafeIndex struct {
	Names []UnsafeName
	Most  int             // words in the longest name
	Words map[string]bool // every word of the names, and its stem

	byKey map[string][]int
}

// UnsafeName is one name of an unsafe food, in one spelling.
type UnsafeName struct {
	Food  int
	Words []string // stems
	Whole string   // its words run together
	// Compounds says that the name is a part of other words: German and Dutch
	// write "Schokoladenstreusel" in one.
	Compounds bool
}

// leastCompound is the number of letters from which a name is looked for
// inside words: shorter ones are parts of too many.
const leastCompound = 5

// Unsafes returns the unsafe list as it is looked up.
func (c *Catalogue) Unsafes() *UnsafeIndex { return c.names().unsafe }

// Foods lists the unsafe foods that a run of words names: in the order
// written or another, with spaces between the words or none, one or many.
func (x *UnsafeIndex) Foods(words []string) []int {
	whole := strings.Join(words, "")
	if len(words) == 1 {
		return x.byKey[nearword.Stem(whole)]
	}
	list := x.byKey[inAnyOrder(words)]
	if len(whole) < leastCompound {
		return list
	}
	for _, food := range x.byKey[nearword.Stem(whole)] {
		if !slices.Contains(list, food) {
			list = append(slices.Clip(list), food)
		}
	}
	return list
}

// inAnyOrder is the key of some words whatever their order. It holds spaces,
// so that it is never the key of words run together.
func inAnyOrder(words []string) string {
	stems := make([]string, len(words))
	for i, w := range words {
		stems[i] = nearword.Stem(w)
	}
	slices.Sort(stems)
	return strings.Join(stems, " ")
}

func indexUnsafe(list []Unsafe) *UnsafeIndex {
	x := &UnsafeIndex{Words: map[string]bool{}, byKey: map[string][]int{}}
	for i, u := range list {
		x.add(i, u.ID, "")
		for _, lang := range u.Names.languages() {
			for _, n := range u.Names[lang] {
				x.add(i, n, lang)
			}
		}
	}
	return x
}

func (x *UnsafeIndex) add(food int, name, lang string) {
	for _, key := range nearword.Spellings(name) {
		words := strings.Fields(key)
		if len(words) == 0 {
			continue
		}
		n := UnsafeName{Food: food, Whole: strings.Join(words, "")}
		for _, w := range words {
			x.Words[w], x.Words[nearword.Stem(w)] = true, true
			n.Words = append(n.Words, nearword.Stem(w))
		}
		n.Compounds = len(words) == 1 && (lang == "de" || lang == "nl") && len(n.Whole) >= leastCompound
		for _, k := range []string{inAnyOrder(words), nearword.Stem(n.Whole)} {
			if !slices.Contains(x.byKey[k], food) {
				x.byKey[k] = append(x.byKey[k], food)
			}
		}
		x.Names, x.Most = append(x.Names, n), max(x.Most, len(words))
	}
}

// Vocabulary is what the foods of a catalogue are called, word by word.
type Vocabulary struct {
	Words map[string]bool // every word and its stem
	Names []string        // every word, and every name with its words run together
}

// Vocabulary returns the words of the catalogue's own foods, without those
// that a document has added. It is shared and must not be changed.
func (c *Catalogue) Vocabulary() *Vocabulary { return c.names().known() }

func vocabulary(c *Catalogue, x *index) *Vocabulary {
	v := &Vocabulary{Words: map[string]bool{}}
	seen := map[string]bool{}
	add := func(name string) {
		if !seen[name] {
			seen[name], v.Names = true, append(v.Names, name)
		}
	}
	for _, f := range c.Forms() {
		for _, n := range x.forms[f] {
			words := strings.Fields(n.Folded)
			for _, w := range words {
				v.Words[w], v.Words[nearword.Stem(w)] = true, true
				add(w)
			}
			add(strings.Join(words, ""))
		}
	}
	return v
}
