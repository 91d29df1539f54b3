package words

import (
	"strconv"
	"strings"
)

// Limits says limits as package formulate words them, in English, in the
// book's language. Subject is the reader's word for what a limit is on: a
// figure, a line, a group, or the mix.
type Limits struct {
	*Book
	Subject func(string) string
}

// limitForm is one way in which package formulate says a limit: its format,
// the unit where that is part of it, and the message.
type limitForm struct {
	format string
	say    func(l Limits, in []string) (string, bool)
}

// limitForms in the order in which they are tried.
var limitForms = []limitForm{
	{"the %s that this shelf allows so surely is %s", Limits.reachSurely},
	{"the %s that this shelf allows is %s", Limits.reach},
	{"%s together at least %s", func(l Limits, in []string) (string, bool) { return l.bound("limit_together_least", in) }},
	{"%s together at most %s", func(l Limits, in []string) (string, bool) { return l.bound("limit_together_most", in) }},
	{"%s of at least %d ingredients", func(l Limits, in []string) (string, bool) { return l.count(in[0], in[1], "0"), true }},
	{"%s of at most %d ingredients", func(l Limits, in []string) (string, bool) { return l.count(in[0], "0", in[1]), true }},
	{"%s of %d to %d ingredients", func(l Limits, in []string) (string, bool) { return l.count(in[0], in[1], in[2]), true }},
	{"%s at most %s (%s)", Limits.ceiling},
	{"%s either none or at least %s", func(l Limits, in []string) (string, bool) { return l.bound("limit_either", in) }},
	{"%s at least %s", func(l Limits, in []string) (string, bool) { return l.bound("limit_least", in) }},
	{"%s at most %s", func(l Limits, in []string) (string, bool) { return l.bound("limit_most", in) }},
	{"%s instead", func(l Limits, in []string) (string, bool) { return l.amount(in[0]) }},
}

// Say says a limit, or where one is moved to. What is not recognised stays as
// it is.
func (l Limits) Say(s string) string {
	if len(s) > longest {
		return s
	}
	for _, f := range limitForms {
		if in, ok := Match(f.format, s); ok {
			if said, ok := f.say(l, in); ok {
				return said
			}
		}
	}
	return s
}

// Bound says where a limit moves to, without what it is on: that has been
// said.
func (l Limits) Bound(s string) string {
	for _, x := range []struct{ format, key, name string }{{"%s at least %s", "range_least", "A"}, {"%s at most %s", "range_most", "B"}} {
		if in, ok := Match(x.format, s); ok {
			if a, ok := l.amount(in[1]); ok {
				return l.T(x.key, x.name, a)
			}
		}
	}
	return l.Say(s)
}

func (l Limits) reach(in []string) (string, bool) { return l.reached("", in) }

func (l Limits) reachSurely(in []string) (string, bool) { return l.reached("_surely", in) }

func (l Limits) reached(tail string, in []string) (string, bool) {
	a, ok := l.amount(in[1])
	return l.T("reach_"+in[0]+tail, "Amount", a), ok && (in[0] == "most" || in[0] == "least")
}

func (l Limits) bound(key string, in []string) (string, bool) {
	a, ok := l.amount(in[1])
	return l.T(key, "What", l.Subject(in[0]), "Amount", a), ok
}

func (l Limits) ceiling(in []string) (string, bool) {
	a, ok := l.amount(in[1])
	return l.T("limit_ceiling", "What", l.Subject(in[0]), "Amount", a, "Why", l.Why(in[2])), ok
}

func (l Limits) count(what, least, most string) string {
	return l.T("limit_count", "What", l.Subject(what), "Count", l.Counts(number(least), number(most)))
}

func number(s string) int {
	n, err := strconv.Atoi(s)
	if err != nil {
		return 0
	}
	return n
}

// Counts says how many ingredients, 0 being no limit.
func (b *Book) Counts(least, most int) string {
	switch {
	case most == 0:
		return b.N("count_least", least)
	case least == 0:
		return b.N("count_most", most)
	}
	return b.T("count_between", "A", least, "B", most)
}

// amount is a number and a unit, or a number alone.
func (l Limits) amount(s string) (string, bool) {
	n, unit, _ := strings.Cut(s, " ")
	switch unit {
	case "", "g", "%", "mg/kg", "IU/kg", "kcal/kg":
	default:
		return "", false
	}
	if !plainNumber(n) {
		return "", false
	}
	return strings.TrimRight(l.Reformat(n)+"\u00a0"+unit, "\u00a0"), true
}

// Why says what sets a ceiling.
func (b *Book) Why(s string) string {
	switch in, ok := Match("the inclusion limit of %s %%", s); {
	case ok:
		return b.T("why_safety", "N", b.Reformat(in[0]))
	case s == "its ceiling":
		return b.T("why_ceiling")
	case s == "what is on hand":
		return b.T("why_hand")
	}
	return s
}
