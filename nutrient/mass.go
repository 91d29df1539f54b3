package nutrient

import (
	"errors"
	"fmt"
	"math"
	"strconv"
	"strings"
)

// Mass is a mass in whole milligrams.
type Mass int64

// Masses by name. Ounce and pound are the international avoirdupois units
// (0.45359237 kg a pound), rounded to the milligram.
const (
	Milligram Mass = 1
	Gram      Mass = 1000
	Kilogram  Mass = 1000 * Gram

	// MaxMass is the largest mass that a document may name: a tonne. Sums of
	// many lines stay far inside 64 bits.
	MaxMass = 1000 * Kilogram
)

const (
	milligramsPerOunce = 28349.523125
	milligramsPerPound = 453592.37
)

// Grams returns the mass in grams.
func (m Mass) Grams() float64 { return float64(m) / float64(Gram) }

// String prints the mass in grams with as few decimals as it needs, for
// example "142 g" or "2.5 g".
func (m Mass) String() string {
	return strconv.FormatFloat(m.Grams(), 'f', -1, 64) + " g"
}

// MassUnit returns the short name of a unit of mass (mg, g, kg, oz or lb) that may
// be written out, in the plural or in capitals: "KG", "lbs", "grams". Any other
// text comes back as it is, "Mg" too, which means a tonne.
func MassUnit(written string) string {
	if short := unitNames[strings.ToLower(written)]; short != "" && written != "Mg" {
		return short
	}
	return written
}

var unitNames = map[string]string{
	"mg": "mg", "milligram": "mg", "milligrams": "mg", "milligramme": "mg", "milligrammes": "mg",
	"g": "g", "gram": "g", "grams": "g", "gramme": "g", "grammes": "g",
	"kg": "kg", "kilo": "kg", "kilos": "kg", "kilogram": "kg", "kilograms": "kg", "kilogramme": "kg", "kilogrammes": "kg",
	"oz": "oz", "ounce": "oz", "ounces": "oz",
	"lb": "lb", "lbs": "lb", "pound": "lb", "pounds": "lb",
}

// ParseAmount reads a number with a unit, such as "1 kg", "30 g", "2.5 oz",
// "1 lb" or "12 %". It returns the number and the unit: the short name of a
// unit of mass, see [MassUnit], or else the text as written.
func ParseAmount(s string) (float64, string, error) {
	t := strings.TrimSpace(s)
	i := numberEnd(t)
	v, err := strconv.ParseFloat(t[:i], 64)
	switch {
	case errors.Is(err, strconv.ErrRange):
		return 0, "", fmt.Errorf("%q is too large a number", s)
	case err != nil:
		return 0, "", fmt.Errorf("%q does not start with a number; write for example \"30 g\"", s)
	case strings.HasPrefix(t[i:], ","):
		return 0, "", fmt.Errorf("%q has a comma in its number; write a point for decimals, as in \"2.5 g\", and nothing between thousands", s)
	case strings.TrimSpace(t[i:]) == "":
		return 0, "", fmt.Errorf("%q has no unit; write for example \"30 g\"", s)
	}
	return v, MassUnit(strings.TrimSpace(t[i:])), nil
}

// numberEnd is where the number at the start of a text ends: sign, digits,
// point, and an exponent when digits follow it.
func numberEnd(t string) int {
	digits := func(i int) int {
		for i < len(t) && (t[i] >= '0' && t[i] <= '9' || t[i] == '.') {
			i++
		}
		return i
	}
	sign := func(i int) int {
		if i < len(t) && (t[i] == '-' || t[i] == '+') {
			i++
		}
		return i
	}
	i := digits(sign(0))
	if i < len(t) && (t[i] == 'e' || t[i] == 'E') {
		if from := sign(i + 1); digits(from) > from {
			return digits(from)
		}
	}
	return i
}

// ParseMass reads a mass in mg, g, kg, oz or lb, as [MassUnit] knows them. Ounces and pounds are
// rounded to the nearest milligram.
func ParseMass(s string) (Mass, error) {
	v, unit, err := ParseAmount(s)
	if err != nil {
		return 0, err
	}
	return MassOf(v, unit)
}

// MassOf turns a number and a unit into a mass.
func MassOf(v float64, unit string) (Mass, error) {
	per := map[string]float64{
		"mg": 1, "g": float64(Gram), "kg": float64(Kilogram),
		"oz": milligramsPerOunce, "lb": milligramsPerPound,
	}[MassUnit(unit)]
	if per == 0 {
		return 0, fmt.Errorf("unit %q is not known; use g, kg, mg, oz or lb", unit)
	}
	mg := math.Round(v * per)
	if v < 0 {
		return 0, fmt.Errorf("%v %s is less than nothing", v, unit)
	}
	if mg > float64(MaxMass) {
		return 0, fmt.Errorf("%v %s is more than %v kg, the most that a mass may be", v, unit, int64(MaxMass/Kilogram))
	}
	return Mass(mg), nil
}
