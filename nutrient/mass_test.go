package nutrient_test

import (
	"testing"

	"firlot/nutrient"
)

// TestUnits: units written out, in the plural or in capitals are read; what is
// no unit is not.
func TestUnits(t *testing.T) {
	for text, want := range map[string]nutrient.Mass{
		"1 KG": nutrient.Kilogram, "1 Kg": nutrient.Kilogram, "1kg": nutrient.Kilogram, "2 kilos": 2 * nutrient.Kilogram,
		"30 grams": 30 * nutrient.Gram, "1 gram": nutrient.Gram, "5 G": 5 * nutrient.Gram, "7 MG": 7,
		"2 lbs": 907185, "1 pound": 453592, "1 ounces": 28350, "1 OZ": 28350, // the pound is 453.59237 g by definition
	} {
		if got, err := nutrient.ParseMass(text); err != nil || got != want {
			t.Errorf("%q: %d mg, %v; want %d", text, got, err, want)
		}
	}
	for _, text := range []string{"1 Mg", "3 cups", "1 t", "1 gra"} {
		if got, err := nutrient.ParseMass(text); err == nil {
			t.Errorf("%q is read as %v", text, got)
		}
	}
}
