package nearword

import (
	"strings"
	"unicode"
)

// Key brings a name to the form in which names of foods are compared: as
// [Fold] does, and with every mark that is neither a letter nor a digit as a
// space, letters without their ornaments ("ß" is "ss", "œ" is "oe"), and
// without characters that take no room, so that "Dried (kidney beans)." is
// "dried kidney beans". A hyphen after "un" joins: "un-salted" is "unsalted".
func Key(s string) string {
	out := strings.ToLower(s)
	if !plain(out) {
		out = ornaments.Replace(bare(out))
	}
	out = strings.Join(strings.FieldsFunc(strings.ReplaceAll(" "+out, " un-", " un"), func(r rune) bool {
		return !unicode.IsLetter(r) && !unicode.IsDigit(r)
	}), " ")
	return out
}

var ornaments = strings.NewReplacer("ß", "ss", "æ", "ae", "œ", "oe", "ø", "o", "ł", "l", "đ", "d")

// umlauts are how German writes its letters where a keyboard lacks them.
var umlauts = strings.NewReplacer("ä", "ae", "ö", "oe", "ü", "ue", "Ä", "ae", "Ö", "oe", "Ü", "ue",
	"a\u0308", "ae", "o\u0308", "oe", "u\u0308", "ue", "A\u0308", "ae", "O\u0308", "oe", "U\u0308", "ue")

// Spellings are the keys of a name: the plain one, and where it has umlauts
// the one that writes them with an e. "Käferbohnen" is "kaferbohnen" and
// "kaeferbohnen".
func Spellings(s string) []string {
	key := Key(s)
	if plain(s) {
		return []string{key}
	}
	if long := Key(umlauts.Replace(s)); long != key {
		return []string{key, long}
	}
	return []string{key}
}

// Stem takes the ending of a plural off a word of a key, by rules coarse
// enough for six languages: both words of a comparison go through it, and it
// need not give a word. Words of three letters and fewer stay.
func Stem(word string) string {
	if len(word) <= 3 {
		return word
	}
	for _, e := range endings {
		if strings.HasSuffix(word, e.cut) && len(word) >= e.least {
			return strings.TrimSuffix(word, e.cut) + e.put
		}
	}
	return word
}

var endings = []struct {
	cut, put string
	least    int // letters in the word
}{
	{"ss", "ss", 0}, {"us", "us", 0}, {"is", "is", 0},
	{"ies", "y", 6}, {"ves", "f", 6}, {"oes", "o", 5},
	{"ches", "ch", 6}, {"shes", "sh", 6}, {"xes", "x", 5}, {"sses", "ss", 6},
	{"s", "", 0},
	{"en", "e", 6}, // German and Dutch: Bohne, Bohnen
}

// Slips counts the slips of the pen between two words: a letter wrong, left
// out, put in, or changed about with its neighbour. It stops counting above
// most and then returns most + 1.
func Slips(a, b string, most int) int {
	x, y := []rune(a), []rune(b)
	if d := len(x) - len(y); d > most || -d > most {
		return most + 1
	}
	before, last, next := make([]int, len(y)+1), make([]int, len(y)+1), make([]int, len(y)+1)
	for j := range last {
		last[j] = j
	}
	for i := 1; i <= len(x); i++ {
		next[0] = i
		least := i
		for j := 1; j <= len(y); j++ {
			wrong := 1
			if x[i-1] == y[j-1] {
				wrong = 0
			}
			next[j] = min(last[j]+1, next[j-1]+1, last[j-1]+wrong)
			if i > 1 && j > 1 && x[i-1] == y[j-2] && x[i-2] == y[j-1] {
				next[j] = min(next[j], before[j-2]+1)
			}
			least = min(least, next[j])
		}
		if least > most {
			return most + 1
		}
		before, last, next = last, next, before
	}
	return min(last[len(y)], most+1)
}

// meant lists the known words that a word was meant to be: those that it is a
// part of, as protein is of crude_protein, or else the one spelt most alike.
// Parts end at spaces, hyphens and underscores.
func meant(word string, known []string) []string {
	w := " " + Key(word) + " "
	var list []string
	for _, k := range known {
		if w != "  " && strings.Contains(" "+Key(k)+" ", w) {
			list = append(list, k)
		}
	}
	if len(list) == 0 {
		list = Near(word, known, 1)
	}
	return list
}

// mostMeant is how many known words a hint names at most.
const mostMeant = 4

// Hint asks whether a known word was meant, or each of a few when the word is
// a part of them all, as hamster is of two; where none is near it says
// otherwise.
func Hint(word string, known []string, otherwise string) string {
	list := meant(word, known)
	if len(list) == 0 {
		return otherwise
	}
	quoted := make([]string, 0, mostMeant)
	for _, k := range list[:min(len(list), mostMeant)] {
		quoted = append(quoted, `"`+k+`"`)
	}
	return "did you mean " + strings.Join(quoted, " or ") + "?"
}
