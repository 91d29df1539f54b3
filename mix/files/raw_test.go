package files

import (
	"strings"
	"testing"
)

// TestOwnFigureComplaint: of several unknown keys the same one is complained
// of each time.
func TestOwnFigureComplaint(t *testing.T) {
	text := []byte("batch = \"1 kg\"\n[[own]]\nid = \"x\"\nname = \"x\"\nkind = \"label\"\nfigures.ash = { zz = 1, qq = 2, aa = 3, mm = 4, kk = 5 }\n")
	for range 50 { // a map of five keys would begin with each of them
		if _, err := Parse("mix.toml", text); err == nil || !strings.Contains(err.Error(), "own[0].figures.ash.aa") {
			t.Fatalf("got %v", err)
		}
	}
}

// TestSurenessOutOfRange: nought is not a way to leave it out.
func TestSurenessOutOfRange(t *testing.T) {
	for _, v := range []string{`"0 %"`, `0`, `0.0`, `"49 %"`, `"99.95 %"`} {
		if _, err := Parse("mix.toml", []byte("batch = \"1 kg\"\nsureness = "+v+"\n")); err == nil || !strings.Contains(err.Error(), `it lies between "50 %" and "99.9 %"`) {
			t.Errorf("sureness = %s: %v", v, err)
		}
	}
}

// TestOunces: ounces and pounds are known however they are written.
func TestOunces(t *testing.T) {
	for text, want := range map[string]float64{"2 oz": 2, "2 ounces": 2, "1 lbs": 16, "1 Pound": 16, "30 g": 0} {
		if got := ounces(text); got != want {
			t.Errorf("%q: %v ounces, want %v", text, got, want)
		}
	}
}
