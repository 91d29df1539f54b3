package catalog

import (
	"strconv"
	"strings"
)

// recalledSource is the source of figures from memory. What follows its colon
// is the key of the publication that is recalled, or the kind of knowledge.
const recalledSource = "recalled"

// Cite spells a reference out, "source" or "source:item", with its publisher,
// year and item; find looks a source up by its key. It reports false when the
// source is not found. What is recalled from memory names the publication that
// it is recalled from.
func Cite(find func(key string) (Source, bool), ref string) (string, bool) {
	key, item, _ := strings.Cut(ref, ":")
	s, ok := find(key)
	if !ok {
		return "", false
	}
	if key == recalledSource && item != "" {
		item = recalledFrom(find, item)
	}
	out := s.named()
	if item != "" {
		out += " (" + item + ")"
	}
	return out, true
}

// ShortTitle is the title of a reference, cut to so many letters at the most,
// and its year, 0 if there is none; of what is recalled, those of the
// publication. It reports false when the source is not found.
func ShortTitle(find func(key string) (Source, bool), ref string, most int) (title string, year int, ok bool) {
	key, item, _ := strings.Cut(ref, ":")
	s, ok := find(key)
	if !ok {
		return "", 0, false
	}
	title, year = s.Title, s.Year
	if key == recalledSource && item != "" {
		publication, _, _ := strings.Cut(item, " ")
		p, known := find(publication)
		if title, year = p.Title, p.Year; !known {
			title, year = strings.ReplaceAll(item, "-", " "), 0
		}
	}
	if r := []rune(title); len(r) > most {
		title = strings.TrimRight(string(r[:most]), " ,;") + "…"
	}
	return title, year, true
}

// recalledFrom spells out what follows "recalled:".
func recalledFrom(find func(key string) (Source, bool), item string) string {
	publication, rest, _ := strings.Cut(item, " ")
	out := strings.ReplaceAll(publication, "-", " ")
	if p, ok := find(publication); ok {
		out = p.named()
	}
	if rest != "" {
		out += ", " + rest
	}
	return out
}

// named is a source's title, publisher and year.
func (s Source) named() string {
	out := s.Title
	if s.Publisher != "" {
		out += ", " + s.Publisher
	}
	if s.Year != 0 {
		out += ", " + strconv.Itoa(s.Year)
	}
	return out
}
