package find

import (
	"cmp"
	"slices"
	"strings"

	"firlot/catalog"
	"firlot/internal/nearword"
)

// Refused returns the unsafe food that a name names, or nil. A name is refused
// when an unsafe name stands in it: its words beside one another in any order,
// run together or apart, one or many, or as a part of a German or Dutch word.
// What lifts the refusal has to stand directly beside that name: a word that
// makes it another food, such as "boiled" (but not after "not"), or one that
// says that it is absent, as in "no onion" and "onion-free".
//
// A slip of the pen away from an unsafe name is refused too, unless the name
// of a safe food is as near. The food returned then says in its Instead what
// to do if something else was meant.
func Refused(c *catalog.Catalogue, name string) *catalog.Unsafe {
	if c.Form(name) != nil {
		return nil // a reference says which form it is
	}
	lists := phrases(name)
	if food, ok := first(c, lists, named); ok {
		return &c.Unsafe[food]
	}
	food, ok := first(c, lists, misspelt)
	if !ok {
		return nil
	}
	u := c.Unsafe[food]
	u.Instead = strings.TrimSpace(u.Instead + " If you mean something else than " + u.Names.First("en") + ", name it otherwise.")
	return &u
}

// first is the first of the unsafe foods that are sought and found in any
// spelling of a name.
func first(c *catalog.Catalogue, lists [][]word, seek func(*catalog.Catalogue, []word) []found) (food int, ok bool) {
	for _, list := range lists {
		if f, stands := standing(c, list, seek(c, list)); stands && (!ok || f.food < food) {
			food, ok = f.food, true
		}
	}
	return food, ok
}

// word is one word of a name.
type word struct {
	text, stem string
	part       int // words in different parts do not speak of one another
}

// phrases brings a name to words, once for each way to spell its umlauts.
func phrases(name string) [][]word {
	parts := strings.FieldsFunc(name, func(r rune) bool { return strings.ContainsRune(";+&|\n", r) })
	var out [][]word
	for spelling := range 2 {
		var list []word
		more := spelling == 0
		for p, part := range parts {
			keys := nearword.Spellings(part)
			more = more || len(keys) > spelling
			for _, w := range strings.Fields(keys[min(spelling, len(keys)-1)]) {
				list = append(list, word{w, nearword.Stem(w), p})
			}
		}
		if more {
			out = append(out, list)
		}
	}
	return out
}

func texts(list []word) []string {
	out := make([]string, len(list))
	for i, w := range list {
		out[i] = w.text
	}
	return out
}

func keyOf(list []word) string { return strings.Join(texts(list), " ") }

func isWhole(key string, names []string) bool {
	return slices.ContainsFunc(names, func(n string) bool { return nearword.Key(n) == key })
}

// found is an unsafe name in a list of words: words from (inclusive) to
// (exclusive).
type found struct {
	food, from, to int
	rest           string // what a compound word holds besides the name
}

// named finds the unsafe names that stand in a list of words.
func named(c *catalog.Catalogue, list []word) []found {
	x := c.Unsafes()
	var out []found
	key := keyOf(list)
	for i, u := range c.Unsafe {
		if isWhole(key, u.Whole) {
			out = append(out, found{food: i, to: len(list)})
		}
	}
	for i := range list {
		for j := i + 1; j <= min(len(list), i+x.Most); j++ {
			for _, food := range x.Foods(texts(list[i:j])) {
				out = append(out, found{food: food, from: i, to: j})
			}
		}
	}
	return append(out, compounds(c, list)...)
}

// compounds finds unsafe names that are a part of longer words, unless the
// word is one of a safe food.
func compounds(c *catalog.Catalogue, list []word) []found {
	x := c.Unsafes()
	var out []found
	for i, w := range list {
		if len(w.text) < 6 || x.Words[w.text] || x.Words[w.stem] {
			continue
		}
		for _, n := range x.Names {
			if !n.Compounds || len(n.Whole) >= len(w.text) {
				continue
			}
			rest, ok := strings.CutPrefix(w.text, n.Whole)
			if !ok {
				rest, ok = strings.CutSuffix(w.text, n.Whole)
				ok = ok && len(rest) >= leastBefore && !slices.Contains(undoing, rest)
			}
			if v := c.Vocabulary(); ok && !v.Words[w.text] && !v.Words[w.stem] {
				out = append(out, found{food: n.Food, from: i, to: i + 1, rest: rest})
			}
		}
	}
	return out
}

// leastBefore is the number of letters that a word in front of another has at
// least: "tyrosine" is no raisin.
const leastBefore = 3

// undoing are what turns a word into its contrary, before it.
var undoing = []string{"nicht", "niet"}

// standing is the first food of those found whose name nothing beside it
// lifts. A name inside a longer one of the same food does not count: in "no
// sea salt" the longer one is the name.
func standing(c *catalog.Catalogue, list []word, all []found) (found, bool) {
	slices.SortFunc(all, func(a, b found) int {
		return cmp.Or(cmp.Compare(a.food, b.food), cmp.Compare(a.from, b.from), cmp.Compare(b.to, a.to))
	})
	reach := found{food: -1} // of those of the same food so far, the one that ends last
	for _, f := range all {
		inside := f.food == reach.food && f.to <= reach.to && f.to-f.from < reach.to-reach.from
		if f.food != reach.food || f.to > reach.to {
			reach = f
		}
		if !inside && !absent(list, f) && !madeSafe(list, f, c.Unsafe[f.food].SafeWords) {
			return f, true
		}
	}
	return found{}, false
}

// absent reports whether the words beside a name say that it is not there:
// "no salt", "free from salt", "salt-free", "alkoholfrei". "Mouldy hay, free
// of dust" speaks of the dust.
func absent(list []word, f found) bool {
	if slices.ContainsFunc(freeOf, func(w string) bool { return f.rest != "" && strings.HasPrefix(f.rest, w) }) {
		return true
	}
	if at(list, f, f.to, freeOf) && !at(list, f, f.to+1, ofWhat) {
		return !at(list, f, f.from-1, denials)
	}
	i := f.from - 1
	if at(list, f, i, fillers) {
		i--
	}
	if at(list, f, i, ofWhat) && at(list, f, i-1, clearOf) {
		return !at(list, f, i-2, denials)
	}
	return at(list, f, i, absences) && !at(list, f, i-1, denials)
}

// at reports whether the i-th word stands in the same part as a name and is
// one of some words.
func at(list []word, f found, i int, of []string) bool {
	return i >= 0 && i < len(list) && list[i].part == list[f.from].part && slices.Contains(of, list[i].text)
}

var (
	absences = []string{"no", "non", "not", "without", "minus", "never", "zero", "sin", "ningun", "ninguna", "ohne", "kein", "keine", "nicht",
		"sans", "pas", "zonder", "geen", "niet", "sem", "nao"}
	denials = append([]string{"un", "nunca", "nie", "nooit", "jamais", "nor", "or", "oder", "half", "halb", "semi", "part", "partly", "under", "hardly", "nearly"}, absences...)
	fillers = []string{"added", "any"}
	freeOf  = []string{"free", "frei", "freie", "freier", "freies", "freien", "vrij", "vrije"}
	clearOf = append([]string{"clear", "cleaned", "libre", "libres", "exento", "exempt", "livre", "isento", "gereinigt"}, freeOf...)
	// ofWhat follows "free" when what is missing comes after it; after "free"
	// "range" and "flowing" say something else again.
	ofWhat = []string{"of", "from", "von", "van", "de", "range", "flowing"}
)

// madeSafe reports whether a word that makes it another food stands directly
// before or after a name, or is the rest of a compound word.
func madeSafe(list []word, f found, safe []string) bool {
	for _, s := range safe {
		for _, key := range nearword.Spellings(s) {
			if safeBeside(list, f, strings.Fields(key)) {
				return true
			}
		}
	}
	return false
}

func safeBeside(list []word, f found, words []string) bool {
	n := len(words)
	switch {
	case n == 1 && (strings.HasPrefix(f.rest, words[0]) || strings.HasSuffix(f.rest, words[0])):
		return true
	case standsAt(list, f, f.to, words):
		return true
	}
	return standsAt(list, f, f.from-n, words) && !at(list, f, f.from-n-1, denials)
}

// standsAt reports whether some words stand in a list from its i-th on, in the
// same part as a name, in the singular or the plural.
func standsAt(list []word, f found, i int, words []string) bool {
	if i < 0 || i+len(words) > len(list) || len(words) == 0 {
		return false
	}
	for k, s := range words {
		if w := list[i+k]; w.stem != nearword.Stem(s) || w.part != list[f.from].part {
			return false
		}
	}
	return true
}
