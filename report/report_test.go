package report

import (
	"encoding/json"
	"math"
	"testing"

	"pgregory.net/rapid"
)

// TestNumber: six significant digits, no exponents, and null for what is no
// number.
func TestNumber(t *testing.T) {
	for v, want := range map[float64]string{
		0: "0", 1: "1", 0.1 + 0.2: "0.3", 13.5249999999: "13.525", 1234567.8: "1234570", -2.5: "-2.5",
		1.0 / 3: "0.333333", 1e-7: "0.0000001", math.Inf(1): "null", math.Inf(-1): "null",
	} {
		got, err := json.Marshal(Number(v))
		if err != nil || string(got) != want {
			t.Errorf("%v prints as %s (%v), want %s", v, got, err, want)
		}
	}
	if got, _ := json.Marshal(Number(math.NaN())); string(got) != "null" {
		t.Errorf("NaN prints as %s", got)
	}
}

// TestNumberHolds: what is printed reads as JSON, lies within half a unit of
// the sixth digit, and prints as itself when read again.
func TestNumberHolds(t *testing.T) {
	rapid.Check(t, func(r *rapid.T) {
		v := rapid.Float64Range(-1e9, 1e9).Draw(r, "value")
		text, err := json.Marshal(Number(v))
		if err != nil {
			r.Fatal(err)
		}
		var back float64
		if err := json.Unmarshal(text, &back); err != nil {
			r.Fatalf("%v prints as %s: %v", v, text, err)
		}
		if math.Abs(back-v) > 5.0001e-6*math.Abs(v) {
			r.Fatalf("%v prints as %s", v, text)
		}
		if again, _ := json.Marshal(Number(back)); string(again) != string(text) {
			r.Fatalf("%s prints as %s", text, again)
		}
	})
}
