package nearword

import (
	"strings"
	"sync"
	"unicode"
)

// bare strips letters of what they are adorned with: accents and other marks,
// the ties of ligatures, and characters that take no room. It does for the
// letters of the six languages, and for most others, what Unicode's
// compatibility decomposition does, by a table of five kilobytes instead of
// one of two hundred: a card carries the engine, and its reader waits for it.
// Letters are taken in lower case.
func bare(s string) string {
	var b strings.Builder
	b.Grow(len(s))
	for _, r := range s {
		if plainly, ok := bareOf()[r]; ok {
			b.WriteString(plainly)
		} else if !unicode.Is(unicode.Mn, r) && !unicode.Is(unicode.Cf, r) {
			b.WriteRune(r)
		}
	}
	return b.String()
}

var bareOf = sync.OnceValue(func() map[rune]string {
	m := map[rune]string{}
	for line := range strings.Lines(bareLetters) {
		plainly, adorned, _ := strings.Cut(strings.TrimSuffix(line, "\n"), "\t")
		for _, r := range adorned {
			m[r] = plainly
		}
	}
	return m
})
