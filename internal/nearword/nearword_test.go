package nearword

import "testing"

func TestFold(t *testing.T) {
	for in, want := range map[string]string{
		"Oats/Groats": "oats groats", "Avéia-em  Flocos": "aveia em flocos", "HÜLSE": "hulse", "": "", "maíz, palomitas": "maiz palomitas",
	} {
		if got := Fold(in); got != want {
			t.Errorf("Fold(%q) = %q, want %q", in, got, want)
		}
	}
}

func TestNearest(t *testing.T) {
	known := []string{"crude_protein", "crude_fat", "crude_fibre"}
	for in, want := range map[string]string{"crude_protien": "crude_protein", "crude fiber": "crude_fibre", "zebra": ""} {
		if got := Nearest(in, known); got != want {
			t.Errorf("Nearest(%q) = %q, want %q", in, got, want)
		}
	}
}
