package nearword

import (
	"slices"
	"testing"
)

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

func TestKey(t *testing.T) {
	for in, want := range map[string]string{
		"dried (kidney beans).": "dried kidney beans", "muesli+raisins": "muesli raisins", "cho\u200bcolate": "chocolate", "weiße Bohnen": "weisse bohnen",
		"un-salted": "unsalted", "Un-salted nuts": "unsalted nuts", "sun-dried": "sun dried", "ﬁg": "fig", "": "",
	} {
		if got := Key(in); got != want {
			t.Errorf("Key(%q) = %q, want %q", in, got, want)
		}
	}
}

func TestSpellings(t *testing.T) {
	for in, want := range map[string][]string{
		"Käferbohnen": {"kaferbohnen", "kaeferbohnen"}, "maíz": {"maiz"}, "oats": {"oats"}, "Ka\u0308fer": {"kafer", "kaefer"},
	} {
		if got := Spellings(in); !slices.Equal(got, want) {
			t.Errorf("Spellings(%q) = %q, want %q", in, got, want)
		}
	}
}

// TestStem: singular and plural come to the same.
func TestStem(t *testing.T) {
	for _, pair := range [][2]string{
		{"bean", "beans"}, {"berry", "berries"}, {"avocado", "avocadoes"}, {"leaf", "leaves"}, {"peach", "peaches"}, {"bohne", "bohnen"}, {"grass", "grass"},
	} {
		if a, b := Stem(pair[0]), Stem(pair[1]); a != b {
			t.Errorf("%s: %q, %s: %q", pair[0], a, pair[1], b)
		}
	}
}

func TestSlips(t *testing.T) {
	for _, tt := range []struct {
		a, b string
		want int
	}{{"chocolate", "choclate", 1}, {"onion", "onoin", 1}, {"grape", "grade", 1}, {"kidney", "kidney", 0}, {"oats", "barley", 3}, {"ab", "abcdef", 3}, {"", "ab", 2}} {
		if got := Slips(tt.a, tt.b, 2); got != tt.want {
			t.Errorf("Slips(%q, %q) = %d, want %d", tt.a, tt.b, got, tt.want)
		}
	}
}

func TestHint(t *testing.T) {
	known := []string{"crude_protein", "crude_fat", "dwarf-hamster", "syrian-hamster"}
	for in, want := range map[string]string{
		"protein": `did you mean "crude_protein"?`, "crude_protien": `did you mean "crude_protein"?`, "zebra": "look it up",
		"hamster": `did you mean "dwarf-hamster" or "syrian-hamster"?`, "": "look it up",
	} {
		if got := Hint(in, known, "look it up"); got != want {
			t.Errorf("Hint(%q) = %q, want %q", in, got, want)
		}
	}
}
