// Package nearword finds the known word that a misspelt one was meant to be.
package nearword

import (
	"sort"
	"strings"
	"unicode"
	"unicode/utf8"

	"github.com/agext/levenshtein"
)

// closest is the least similarity at which a word is offered. Two letters
// wrong in eight (0.75) are a slip; half the letters wrong are another word.
const closest = 0.6

// Fold brings a word to lower case without accents, with hyphens and
// underscores as spaces, so that "Avéia-em Flocos" and "aveia em flocos" are
// one.
func Fold(s string) string {
	out := strings.ToLower(s)
	if !plain(out) {
		out = bare(out)
	}
	return strings.Join(strings.FieldsFunc(out, func(r rune) bool {
		return unicode.IsSpace(r) || r == '-' || r == '_' || r == '/' || r == ','
	}), " ")
}

// plain reports whether a string is ASCII and so has no accents.
func plain(s string) bool {
	for i := range len(s) {
		if s[i] >= utf8.RuneSelf {
			return false
		}
	}
	return true
}

// Nearest returns the known word most like the given one, or "" if none is
// near. Ties go to the word that sorts first.
func Nearest(word string, known []string) string {
	if near := Near(word, known, 1); len(near) > 0 {
		return near[0]
	}
	return ""
}

// Near returns up to most known words that are near the given one, nearest
// first.
func Near(word string, known []string, most int) []string {
	type scored struct {
		word string
		like float64
	}
	var list []scored
	folded := Fold(word)
	for _, k := range known {
		if like := levenshtein.Match(folded, Fold(k), nil); like >= closest {
			list = append(list, scored{k, like})
		}
	}
	sort.Slice(list, func(i, j int) bool {
		if list[i].like != list[j].like {
			return list[i].like > list[j].like
		}
		return list[i].word < list[j].word
	})
	var words []string
	for _, s := range list {
		if len(words) == most {
			break
		}
		words = append(words, s.word)
	}
	return words
}

// Hinted puts what would be right after what is wrong: as a sentence of its
// own where the message ends one, else after a semicolon.
func Hinted(message, hint string) string {
	switch {
	case hint == "":
		return message
	case strings.HasSuffix(message, "."):
		return message + " " + hint
	}
	return message + "; " + hint
}
