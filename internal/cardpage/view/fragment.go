package view

import (
	"fmt"
	"slices"
	"strconv"
	"strings"

	"firlot/card"
	"firlot/internal/words"
	"firlot/mix"
	"firlot/nutrient"
)

// FragmentVersion is the version of what stands behind # in a page's address.
const FragmentVersion = "1"

// mostFragment bounds what is read, in bytes.
const mostFragment = 8000

// Fragment is what was asked as it stands behind # in the page's address: a
// version and key=value, parted by semicolons. A language alone is just its
// code, which shows that language without scripts too.
//
//	l language of the page     b batch, mg      w what cannot be had: refs by commas
//	n language of foods' names p step, mg       u what is used besides: refs by commas
//	m mix, from 1              o step, ounces   q sureness, 0 to 1
//	s stage
func (a Ask) Fragment() string {
	var parts []string
	put := func(key, value string, given bool) {
		if given {
			parts = append(parts, key+"="+value)
		}
	}
	ch := a.Choices
	put("n", a.Names, a.Names != a.Lang)
	put("m", strconv.Itoa(ch.Mix+1), ch.Mix > 0)
	put("b", strconv.FormatInt(int64(ch.Batch), 10), ch.Batch > 0)
	put("p", strconv.FormatInt(int64(ch.Step), 10), ch.Step > 0)
	put("o", short(ch.Ounces), ch.Ounces > 0)
	if ch.Sureness != nil {
		put("q", short(*ch.Sureness), true)
	}
	put("s", ch.Stage, ch.Stage != "")
	put("w", strings.Join(ch.Missing, ","), len(ch.Missing) > 0)
	put("u", strings.Join(ch.Use, ","), len(ch.Use) > 0)
	if len(parts) == 0 {
		return a.Lang
	}
	return FragmentVersion + ";l=" + a.Lang + ";" + strings.Join(parts, ";")
}

// Trouble is a part of a fragment that could not be followed: the key of what
// is said of it, or "".
type Trouble string

// The troubles.
const (
	LinkBad   Trouble = "link_bad"
	LinkNewer Trouble = "link_newer"
)

// ParseFragment reads what stands behind # in a page's address, which a
// stranger may have written. What the card does not allow is left out.
func ParseFragment(c *card.Card, s, lang string) (Ask, Trouble) {
	a := Ask{Lang: lang, Names: lang}
	s = strings.TrimPrefix(s, "#")
	if slices.Contains(words.Languages, s) {
		return Ask{Lang: s, Names: s}, ""
	}
	if s == "" || len(s) > mostFragment || !strings.Contains(s, ";") {
		return a, "" // a place on the page, or nothing
	}
	version, rest, _ := strings.Cut(s, ";")
	if version != FragmentVersion {
		return a, LinkNewer
	}
	r := fragmentReader{card: c, ask: &a}
	parts := strings.Split(rest, ";")
	for _, first := range []string{"l", "m", ""} { // what the others depend on
		for _, part := range parts {
			key, value, ok := strings.Cut(part, "=")
			if after := key != "l" && key != "m"; key == first || first == "" && after {
				r.read(key, value, ok)
			}
		}
	}
	if a.Names == "" {
		a.Names = a.Lang
	}
	if r.bad {
		return a, LinkBad
	}
	return a, ""
}

type fragmentReader struct {
	card *card.Card
	ask  *Ask
	bad  bool
}

// read takes one part over, if the card allows it.
func (r *fragmentReader) read(key, value string, ok bool) {
	ch, may := &r.ask.Choices, r.card.Changes
	switch key {
	case "l":
		if ok = ok && slices.Contains(words.Languages, value); ok {
			r.ask.Lang, r.ask.Names = value, value
		}
	case "n":
		if ok = ok && slices.Contains(nameLanguages, value); ok {
			r.ask.Names = value
		}
	case "m":
		n, err := strconv.Atoi(value)
		if ok = ok && err == nil && n >= 1 && n <= len(r.card.Mixes); ok {
			ch.Mix = n - 1
		}
	case "b":
		ok = ok && may.Batch && massIn(value, &ch.Batch)
	case "p":
		ok = ok && may.Step && massIn(value, &ch.Step)
	case "o":
		v, err := strconv.ParseFloat(value, 64)
		if ok = ok && may.Step && err == nil && v > 0 && v < 1e5; ok {
			ch.Ounces = v
		}
	case "q":
		v, err := strconv.ParseFloat(value, 64)
		if ok = ok && may.Sureness && err == nil && sure(v); ok {
			ch.Sureness = &v
		}
	case "s":
		if ok = ok && may.Stage && r.isStage(value); ok {
			ch.Stage = value
		}
	case "w":
		ok = ok && r.refs(value, &ch.Missing, r.inMix)
	case "u":
		ok = ok && r.refs(value, &ch.Use, func(ref string) bool { return slices.Contains(r.card.Offered, ref) && !r.inMix(ref) })
	default:
		ok = false
	}
	r.bad = r.bad || !ok
}

func sure(v float64) bool { return v == 0 || v >= card.LeastSure && v <= card.MostSure }

func massIn(s string, to *nutrient.Mass) bool {
	n, err := strconv.ParseInt(s, 10, 64)
	if err != nil || n <= 0 || n > int64(nutrient.MaxMass) {
		return false
	}
	*to = nutrient.Mass(n)
	return true
}

func (r *fragmentReader) isStage(id string) bool {
	for _, s := range r.card.Species {
		if s.ID == r.card.Mixes[r.ask.Choices.Mix].Document.Species {
			return s.Stage(id) != nil
		}
	}
	return false
}

func (r *fragmentReader) inMix(ref string) bool {
	return slices.ContainsFunc(r.card.Mixes[r.ask.Choices.Mix].Document.Lines, func(l mix.Line) bool { return l.Ingredient == ref })
}

// refs takes a list of references over; those that are not allowed are left
// out.
func (r *fragmentReader) refs(s string, to *[]string, allowed func(string) bool) bool {
	good := true
	for _, ref := range strings.Split(s, ",") {
		if !allowed(ref) || slices.Contains(*to, ref) {
			good = false
			continue
		}
		*to = append(*to, ref)
	}
	return good
}

// fields are a form's fields by name, as they were sent.
type fields map[string][]string

// one is the first value of a field.
func (f fields) one(name string) string {
	if v := f[name]; len(v) > 0 {
		return v[0]
	}
	return ""
}

// parseFields reads name=value parted by &, as a browser writes a form.
func parseFields(s string) (fields, error) {
	out := fields{}
	for _, part := range strings.Split(s, "&") {
		k, v, _ := strings.Cut(part, "=")
		key, err := unescape(k)
		if err != nil {
			return nil, err
		}
		value, err := unescape(v)
		if err != nil {
			return nil, err
		}
		out[key] = append(out[key], value)
	}
	return out, nil
}

func unescape(s string) (string, error) {
	if !strings.ContainsAny(s, "%+") {
		return s, nil
	}
	b := make([]byte, 0, len(s))
	for i := 0; i < len(s); i++ {
		switch s[i] {
		case '+':
			b = append(b, ' ')
		case '%':
			if i+2 >= len(s) {
				return "", fmt.Errorf("a %% stands at the end")
			}
			n, err := strconv.ParseUint(s[i+1:i+3], 16, 8)
			if err != nil {
				return "", err
			}
			b = append(b, byte(n))
			i += 2
		default:
			b = append(b, s[i])
		}
	}
	return string(b), nil
}

// askOf reads a page's form. What cannot be read stands in the ask as it was
// typed, and the published value holds.
func askOf(c *card.Card, f fields, lang string) Ask {
	a := Ask{Lang: lang, Names: lang, Typed: map[string]string{}, Wrong: map[string]string{}}
	r := fragmentReader{card: c, ask: &a}
	if n, err := strconv.Atoi(f.one("mix")); err == nil {
		r.read("m", strconv.Itoa(n+1), true)
	}
	if n := f.one("names"); n != "" {
		r.read("n", n, true)
	}
	doc := c.Mixes[a.Choices.Mix].Document
	if c.Changes.Step {
		a.mass(f, "step", "need_step", doc.Step)
	}
	if c.Changes.Batch {
		a.mass(f, "batch", "need_batch", doc.Batch)
	}
	if v, err := strconv.ParseFloat(f.one("sureness"), 64); err == nil && c.Changes.Sureness && v/100 != doc.Sureness && sure(v/100) {
		v /= 100
		a.Choices.Sureness = &v
	}
	if s := f.one("stage"); s != "" && s != doc.Stage && c.Changes.Stage && r.isStage(s) {
		a.Choices.Stage = s
	}
	for _, ref := range f["without"] {
		r.read("w", ref, true)
	}
	for _, ref := range f["use"] {
		r.read("u", ref, true)
	}
	return a
}

// mass reads a mass as it is typed; the published one is no choice.
func (a *Ask) mass(f fields, name, wrong string, published nutrient.Mass) {
	typed := strings.TrimSpace(f.one(name))
	if typed == "" {
		return
	}
	m, ounces, err := parseMass(words.Lang(a.Lang), typed)
	step := a.Choices.Step
	if err != nil || m <= 0 || name == "batch" && m < step {
		a.Typed[name], a.Wrong[name] = typed, wrong
		return
	}
	if m == published {
		return
	}
	if name == "step" {
		a.Choices.Step, a.Choices.Ounces = m, ounces
		return
	}
	a.Choices.Batch = m
}

// parseMass reads a mass; a bare number is grams. Ounces are kept as they were
// typed.
func parseMass(l words.Lang, s string) (m nutrient.Mass, ounces float64, err error) {
	end := strings.LastIndexAny(s, "0123456789") + 1
	unit := strings.ToLower(strings.TrimSpace(s[end:]))
	v, err := l.ParseNumber(s[:end])
	if err != nil || v < 0 {
		return 0, 0, words.ErrNumber
	}
	switch unit {
	case "":
		unit = "g"
	case "oz":
		ounces = v
	}
	m, err = nutrient.MassOf(v, unit)
	return m, ounces, err
}
