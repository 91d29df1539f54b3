package nearword

import (
	"fmt"
	"strings"
	"testing"
	"unicode"

	"golang.org/x/text/runes"
	"golang.org/x/text/transform"
	"golang.org/x/text/unicode/norm"
	"pgregory.net/rapid"
)

// byUnicode strips as Unicode's tables have it: compatibility decomposition
// without marks and without characters that take no room, composed again.
func byUnicode(s string) string {
	t := transform.Chain(norm.NFKD, runes.Remove(runes.In(unicode.Mn)), runes.Remove(runes.In(unicode.Cf)), norm.NFC)
	out, _, err := transform.String(t, s)
	if err != nil {
		panic(err)
	}
	return out
}

// covered reports whether the table is to know a letter: in lower case, and of
// the blocks up to the letter-like symbols, or a ligature.
func covered(r rune) bool {
	return unicode.ToLower(r) == r && !unicode.Is(unicode.Mn, r) && !unicode.Is(unicode.Cf, r) &&
		(r >= 0x80 && r < 0x2200 || r >= 0xfb00 && r <= 0xfb06)
}

// The table is what Unicode's says, no more and no less. Source: the Unicode
// Character Database as golang.org/x/text holds it.
func TestBareLetters(t *testing.T) {
	var order []string
	letters := map[string][]rune{}
	for r := rune(0x80); r <= 0xfb06; r++ {
		if s := byUnicode(string(r)); covered(r) && s != string(r) {
			if letters[s] == nil {
				order = append(order, s)
			}
			letters[s] = append(letters[s], r)
		}
	}
	var want strings.Builder
	for _, s := range order {
		fmt.Fprintf(&want, "%s\t%s\n", s, string(letters[s]))
	}
	if bareLetters != want.String() {
		t.Errorf("the table should be\n%s", quotedLines(want.String()))
	}
}

func quotedLines(s string) string {
	var b strings.Builder
	for _, l := range strings.SplitAfter(s, "\n") {
		if l != "" {
			fmt.Fprintf(&b, "\t%q +\n", l)
		}
	}
	return b.String()
}

// Names in the letters of the six languages, composed or not, are stripped as
// Unicode strips them.
func TestBareAsUnicode(t *testing.T) {
	letters := []rune("aáàâäãåæbcçdđeéèêëfgğhiíìîïïjklłmnñoóòôöõøœpqrsşßtuúùûüvwxyýÿz0123456789 -'’“”.,/()ºª½¼²\u200b\u00ad\u0301\u0308\u0327\u0303ﬁ")
	rapid.Check(t, func(t *rapid.T) {
		s := string(rapid.SliceOfN(rapid.SampledFrom(letters), 0, 24).Draw(t, "name"))
		if got, want := bare(s), byUnicode(s); got != want {
			t.Fatalf("bare(%q) = %q, want %q", s, got, want)
		}
	})
}
