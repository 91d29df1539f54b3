package view

import (
	"errors"
	"hash/fnv"
	"strconv"
	"strings"

	"firlot/internal/words"
)

// Said says a text of the tables, given in English, in another language; it
// reports false for one that it does not know.
type Said func(english string) (said string, ok bool)

// TextKey is what a page keeps a text of the tables by: the English itself is
// in the card, and need not stand in the page again. It is 31 bits of
// FNV-1a; a test holds that no two texts of Firlot's tables share one.
func TextKey(english string) string {
	h := fnv.New32a()
	h.Write([]byte(english)) // never fails
	return strconv.Itoa(int(h.Sum32() >> 1))
}

// takeTexts reads the texts of a language, as a page holds them. English stands
// in the card itself, and no page says it otherwise; nor does one leave a text
// unsaid.
func (s *Session) takeTexts(lang, text string) error {
	if lang == words.Languages[0] {
		return errors.New("the card's own texts are English")
	}
	t, err := words.Parse(text)
	if err != nil {
		return err
	}
	if s.Texts == nil {
		s.Texts = map[string]Said{}
	}
	s.Texts[lang] = func(english string) (string, bool) {
		m, ok := t[TextKey(english)]
		return m.Other, ok && strings.TrimSpace(m.Other) != ""
	}
	return nil
}

// nor lists what something is not: "a, b or c".
func (t *teller) nor(list []string) string {
	if len(list) < 2 {
		return strings.Join(list, "")
	}
	last := len(list) - 1
	return t.T("nor", "A", strings.Join(list[:last], ", "), "B", list[last])
}
