package find

import (
	"slices"
	"strings"
	"unicode"

	"firlot/catalog"
	"firlot/internal/nearword"
)

// slipsIn is how many slips of the pen still leave a name recognisable, by its
// letters: short words lie too near one another.
func slipsIn(letters int) int {
	switch {
	case letters >= 9:
		return 2
	case letters >= 5:
		return 1
	}
	return 0
}

// changedAbout is the number of letters below which only letters changed about
// count as a slip: "onoin" is onion, "grade" is not grape.
const changedAbout = 6

// slips counts the slips between a written word and a word of an unsafe name,
// or returns a number above slipsIn when it is another word. Slips of the pen
// seldom touch the first letter.
func slips(written, meant string) int {
	letters := len(nearword.Stem(meant))
	most := slipsIn(letters)
	if written == "" || meant == "" || written[0] != meant[0] {
		return most + 1
	}
	n := nearword.Slips(written, meant, most)
	if n > 0 && letters < changedAbout && !sameLetters(written, meant) {
		return most + 1
	}
	return n
}

// ordinary are words of every day that lie a slip away from an unsafe name;
// found by trying 97,000 words of English prose.
var ordinary = map[string]bool{"raising": true, "shallow": true, "moisten": true, "drive": true, "driven": true, "bracket": true,
	"brackets": true, "brace": true, "braces": true, "blacken": true, "codes": true, "confer": true, "porto": true, "streamline": true,
	"digital": true, "digitally": true, "cancelling": true}

func sameLetters(a, b string) bool {
	x, y := []byte(a), []byte(b)
	slices.Sort(x)
	slices.Sort(y)
	return string(x) == string(y)
}

// mostWords is the number of words up to which slips of the pen are looked for;
// each costs a comparison with every unsafe name, and no food's name is longer.
const mostWords = 40

// misspelt finds names that are a slip of the pen away from an unsafe name and
// nearer to it than to any word of a safe food.
func misspelt(c *catalog.Catalogue, list []word) []found {
	if len(list) > mostWords {
		return nil
	}
	x := c.Unsafes()
	strange := make([]bool, len(list))
	var out []found
	for i, w := range list {
		strange[i] = len(w.text) >= 5 && !x.Words[w.text] && !x.Words[w.stem] &&
			!c.Vocabulary().Words[w.text] && !c.Vocabulary().Words[w.stem] &&
			!ordinary[w.text] && !strings.ContainsFunc(w.text, unicode.IsDigit)
	}
	for i := range list {
		for _, n := range x.Names {
			if strange[i] && nearer(c, list[i].text, n.Whole) || strange[i] && nearer(c, list[i].stem, nearword.Stem(n.Whole)) {
				out = append(out, found{food: n.Food, from: i, to: i + 1})
			}
			if j := i + len(n.Words); len(n.Words) > 1 && j <= len(list) && nearWords(c, list[i:j], strange[i:j], n.Words) {
				out = append(out, found{food: n.Food, from: i, to: j})
			}
		}
	}
	return out
}

// nearWords reports whether words are those of an unsafe name but for slips in
// words that are strange to the catalogue. A single slip beside a word that is
// spelt rightly is enough in a short word too: "kidney beens".
func nearWords(c *catalog.Catalogue, list []word, strange []bool, stems []string) bool {
	slipped, letters, oneShort := 0, 0, false
	for k, w := range list {
		switch {
		case w.stem == stems[k]:
			letters = max(letters, len(w.stem))
		case strange[k] && nearer(c, w.stem, stems[k]):
			slipped++
		case strange[k] && w.stem[0] == stems[k][0] && nearword.Slips(w.stem, stems[k], 1) == 1:
			slipped, oneShort = slipped+1, true
		default:
			return false
		}
	}
	return slipped > 0 && (!oneShort || slipped == 1 && letters > 4)
}

// nearer reports whether a written word is a slip away from an unsafe one, and
// farther from all that safe foods are called.
func nearer(c *catalog.Catalogue, written, unsafe string) bool {
	n := slips(written, unsafe)
	if n == 0 || n > slipsIn(len(nearword.Stem(unsafe))) {
		return false
	}
	return !slices.ContainsFunc(c.Vocabulary().Names, func(known string) bool { return nearword.Slips(written, known, n) <= n })
}
