package words

import (
	"errors"
	"math"
	"strconv"
	"strings"
)

// Lang is a language by its code, and how it writes numbers.
type Lang string

// plural is the plural form that goes with a number, by the rules of Unicode's
// Common Locale Data Repository.
func (l Lang) plural(n int) string {
	switch {
	case n == 1:
		return "one"
	case l == "es" && n != 0 && n%1_000_000 == 0:
		return "many"
	}
	return "other"
}

// Num prints a number with so many decimals.
func (l Lang) Num(v float64, places int) string {
	return l.localised(strconv.FormatFloat(v, 'f', places, 64))
}

// localised turns a plain decimal into the language's: groups of three and the
// decimal sign.
func (l Lang) localised(s string) string {
	sign := ""
	if strings.HasPrefix(s, "-") {
		sign, s = "−", s[1:]
	}
	whole, rest, decimals := strings.Cut(s, ".")
	group, point, from := ",", ".", 4
	if l == "es" {
		group, point, from = "\u202f", ",", 5 // four digits stand together in Spanish
	}
	if len(whole) >= from {
		var b strings.Builder
		for i, r := range whole {
			if i > 0 && (len(whole)-i)%3 == 0 {
				b.WriteString(group)
			}
			b.WriteRune(r)
		}
		whole = b.String()
	}
	if decimals {
		whole += point + rest
	}
	return sign + whole
}

// Short prints three significant digits, and every digit before the point.
func (l Lang) Short(v float64) string {
	a := math.Abs(v)
	switch {
	case a == 0:
		return "0"
	case a >= 100:
		return l.Num(v, 0)
	case a >= 10:
		return l.Num(v, 1)
	case a >= 1:
		return l.Num(v, 2)
	}
	s := strconv.FormatFloat(v, 'f', 2-int(math.Floor(math.Log10(a))), 64)
	return l.localised(strings.TrimRight(strings.TrimRight(s, "0"), "."))
}

// Plain prints a number with as few decimals as it needs.
func (l Lang) Plain(v float64) string {
	return l.localised(strconv.FormatFloat(v, 'f', -1, 64))
}

// Reformat prints a plain number as the language does; what is none stays.
func (l Lang) Reformat(s string) string {
	v, err := strconv.ParseFloat(s, 64)
	if err != nil {
		return s
	}
	return l.Plain(v)
}

// Typed is a number in an input: with the language's decimal sign and nothing
// between thousands.
func (l Lang) Typed(v float64) string {
	s := strconv.FormatFloat(v, 'f', -1, 64)
	if l == "es" {
		s = strings.Replace(s, ".", ",", 1)
	}
	return s
}

// ErrNumber says that a text is no number.
var ErrNumber = errors.New("not a number")

// ParseNumber reads a number as it is typed in the language: with a point or
// a comma for decimals, and marks between thousands.
func (l Lang) ParseNumber(s string) (float64, error) {
	s = strings.NewReplacer(" ", "", "\u00a0", "", "\u202f", "", "−", "-").Replace(strings.TrimSpace(s))
	decimal, group := ".", ","
	if l == "es" {
		decimal, group = ",", "."
	}
	if strings.Contains(s, group) && !grouped(s, group, decimal) {
		if strings.Contains(s, decimal) || strings.Count(s, group) > 1 {
			return 0, ErrNumber
		}
		s = strings.Replace(s, group, decimal, 1) // the other language's decimal sign
	}
	s = strings.ReplaceAll(s, group, "")
	v, err := strconv.ParseFloat(strings.Replace(s, decimal, ".", 1), 64)
	if err != nil || math.IsNaN(v) || math.IsInf(v, 0) || strings.ContainsAny(s, "xXpP_") {
		return 0, ErrNumber
	}
	return v, nil
}

// grouped reports whether the marks in a number stand between thousands.
func grouped(s, group, decimal string) bool {
	whole, _, _ := strings.Cut(strings.TrimPrefix(s, "-"), decimal)
	parts := strings.Split(whole, group)
	for i, p := range parts {
		if i == 0 && (len(p) == 0 || len(p) > 3 || p == "0") || i > 0 && len(p) != 3 {
			return false
		}
	}
	return true
}
