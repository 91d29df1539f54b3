package web

import (
	"errors"
	"math"
	"strconv"
	"strings"

	"firlot/analysis"
	"firlot/catalog"
	"firlot/mix"
	"firlot/needs"
	"firlot/nutrient"
)

// Num prints a number with so many decimals, as the language does.
func (w *words) Num(v float64, places int) string {
	return w.localised(strconv.FormatFloat(v, 'f', places, 64))
}

// localised turns a plain decimal into the language's: groups of three and the
// decimal sign.
func (w *words) localised(s string) string {
	sign := ""
	if strings.HasPrefix(s, "-") {
		sign, s = "−", s[1:]
	}
	whole, rest, decimals := strings.Cut(s, ".")
	group, point, from := ",", ".", 4
	if w.lang == "es" {
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
func (w *words) Short(v float64) string {
	a := math.Abs(v)
	switch {
	case a == 0:
		return "0"
	case a >= 100:
		return w.Num(v, 0)
	case a >= 10:
		return w.Num(v, 1)
	case a >= 1:
		return w.Num(v, 2)
	}
	s := strconv.FormatFloat(v, 'f', 2-int(math.Floor(math.Log10(a))), 64)
	return w.localised(strings.TrimRight(strings.TrimRight(s, "0"), "."))
}

// Plain prints a number with as few decimals as it needs.
func (w *words) Plain(v float64) string {
	return w.localised(strconv.FormatFloat(v, 'f', -1, 64))
}

// Quantity is a figure with its unit.
func (w *words) Quantity(v float64, u nutrient.Unit) string {
	if u == "" {
		return w.Short(v)
	}
	return w.Short(v) + "\u00a0" + string(u)
}

// Grams is the number of a mass in grams.
func (w *words) Grams(m nutrient.Mass) string { return w.Plain(m.Grams()) }

// Mass is a mass in grams, and in ounces for those who ask.
func (w *words) Mass(m nutrient.Mass) string {
	s := w.Grams(m) + "\u00a0g"
	if w.units == unitsOunces {
		s += " (" + w.Ounces(m) + ")"
	}
	return s
}

// milligramsPerOunce is the international avoirdupois ounce.
const milligramsPerOunce = 28349.523125

// Ounces is a mass in ounces.
func (w *words) Ounces(m nutrient.Mass) string {
	return w.Short(float64(m)/milligramsPerOunce) + "\u00a0oz"
}

// The customary cup of the United States, and how it is divided.
const (
	millilitresPerCup  = 236.5882365
	tablespoonsPerCup  = 16
	teaspoonsPerCup    = 48
	smallestCup        = 0.25 // below it spoons are used
	smallestTablespoon = 1.0 / tablespoonsPerCup
)

// Cups is a mass by volume, where the form's bulk density is known.
func (w *words) Cups(f *catalog.Form, m nutrient.Mass) string {
	if f.BulkDensity == nil || f.BulkDensity.Mean <= 0 || m == 0 {
		return ""
	}
	switch cups := m.Grams() / f.BulkDensity.Mean / millilitresPerCup; {
	case cups >= smallestCup:
		return w.T("cups", "N", w.Num(cups, 1))
	case cups >= smallestTablespoon:
		return w.T("tablespoons", "N", w.Num(cups*tablespoonsPerCup, 1))
	default:
		return w.T("teaspoons", "N", w.Num(cups*teaspoonsPerCup, 1))
	}
}

// OfHundred says a chance as so many of 100, rounded down; never 100 of 100,
// and never 0.
func (w *words) OfHundred(p float64) string {
	switch {
	case p > 0.995:
		return w.T("chance_over")
	case p < 0.01:
		return w.T("chance_under")
	}
	return w.T("chance", "N", int(math.Floor(p*100)))
}

// WindowText is a window as a range.
func (w *words) WindowText(x needs.Window) string {
	unit := analysis.MeasureOf(x).Unit()
	switch {
	case x.Min == nil && x.Max == nil:
		return ""
	case x.Min == nil:
		return w.T("range_most", "B", w.withUnit(*x.Max, unit))
	case x.Max == nil:
		return w.T("range_least", "A", w.withUnit(*x.Min, unit))
	}
	if *x.Min == *x.Max {
		return w.withUnit(*x.Max, unit)
	}
	return w.T("range", "A", w.Plain(*x.Min), "B", w.withUnit(*x.Max, unit))
}

func (w *words) withUnit(v float64, u nutrient.Unit) string {
	return strings.TrimRight(w.Plain(math.Round(v*1e4)/1e4)+"\u00a0"+string(u), "\u00a0")
}

// Amount is an amount of a document as a keeper types it.
func (w *words) Amount(a mix.Amount) string {
	switch {
	case !a.Set:
		return ""
	case a.Share:
		return w.typed(a.Percent) + " %"
	}
	return w.typed(a.Mass.Grams()) + " g"
}

// typed is a number in an input: with the language's decimal sign and nothing
// between thousands.
func (w *words) typed(v float64) string {
	s := strconv.FormatFloat(v, 'f', -1, 64)
	if w.lang == "es" {
		s = strings.Replace(s, ".", ",", 1)
	}
	return s
}

func (w *words) typedPointer(v *float64) string {
	if v == nil {
		return ""
	}
	return w.typed(*v)
}

var errNumber = errors.New("not a number")

// parseNumber reads a number as it is typed in the language: with a point or
// a comma for decimals, and marks between thousands.
func (w *words) parseNumber(s string) (float64, error) {
	s = strings.NewReplacer(" ", "", "\u00a0", "", "\u202f", "", "−", "-").Replace(strings.TrimSpace(s))
	decimal, group := ".", ","
	if w.lang == "es" {
		decimal, group = ",", "."
	}
	if strings.Contains(s, group) && !grouped(s, group, decimal) {
		if strings.Contains(s, decimal) || strings.Count(s, group) > 1 {
			return 0, errNumber
		}
		s = strings.Replace(s, group, decimal, 1) // the other language's decimal sign
	}
	s = strings.ReplaceAll(s, group, "")
	v, err := strconv.ParseFloat(strings.Replace(s, decimal, ".", 1), 64)
	if err != nil || math.IsNaN(v) || math.IsInf(v, 0) || strings.ContainsAny(s, "xXpP_") {
		return 0, errNumber
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

// split takes a typed amount apart: the number, and the unit or "".
func split(s string) (number, unit string) {
	s = strings.TrimSpace(s)
	end := strings.LastIndexAny(s, "0123456789") + 1
	return s[:end], strings.ToLower(strings.TrimSpace(s[end:]))
}

// parseMass reads a mass; a bare number is grams.
func (w *words) parseMass(s string) (nutrient.Mass, error) {
	number, unit := split(s)
	v, err := w.parseNumber(number)
	if err != nil || v < 0 {
		return 0, errNumber
	}
	if unit == "" {
		unit = "g"
	}
	return nutrient.MassOf(v, unit)
}

// parseAmount reads a mass or a share of the batch; nothing typed is no limit.
func (w *words) parseAmount(s string) (mix.Amount, error) {
	number, unit := split(s)
	if strings.TrimSpace(s) == "" {
		return mix.Amount{}, nil
	}
	if unit == "%" {
		v, err := w.parseNumber(number)
		if err != nil || v < 0 || v > 100 {
			return mix.Amount{}, errNumber
		}
		return mix.Amount{Set: true, Share: true, Percent: v}, nil
	}
	m, err := w.parseMass(s)
	return mix.Amount{Set: true, Mass: m}, err
}

// parsePointer reads a number that may be left out.
func (w *words) parsePointer(s string) (*float64, error) {
	if strings.TrimSpace(s) == "" {
		return nil, nil
	}
	v, err := w.parseNumber(s)
	if err != nil || v < 0 {
		return nil, errNumber
	}
	return &v, nil
}
