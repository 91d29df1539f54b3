package web

import (
	"math"
	"strings"

	"firlot/analysis"
	"firlot/catalog"
	said "firlot/internal/words"
	"firlot/mix"
	"firlot/needs"
	"firlot/nutrient"
)

// language is the language with its way of writing numbers.
func (w *words) language() said.Lang { return said.Lang(w.lang) }

// Num prints a number with so many decimals, as the language does.
func (w *words) Num(v float64, places int) string { return w.language().Num(v, places) }

// Short prints three significant digits, and every digit before the point.
func (w *words) Short(v float64) string { return w.language().Short(v) }

// Plain prints a number with as few decimals as it needs.
func (w *words) Plain(v float64) string { return w.language().Plain(v) }

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
func (w *words) typed(v float64) string { return w.language().Typed(v) }

func (w *words) typedPointer(v *float64) string {
	if v == nil {
		return ""
	}
	return w.typed(*v)
}

var errNumber = said.ErrNumber

// parseNumber reads a number as it is typed in the language: with a point or
// a comma for decimals, and marks between thousands.
func (w *words) parseNumber(s string) (float64, error) { return w.language().ParseNumber(s) }

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
