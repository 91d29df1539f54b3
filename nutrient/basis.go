package nutrient

import "fmt"

// Basis says what a figure is a share of.
type Basis string

// The two bases.
const (
	AsFed     Basis = "as fed"     // of the feed as it is weighed, water included
	DryMatter Basis = "dry matter" // of the feed without its water
)

// ParseBasis reads a basis; the empty string means as fed.
func ParseBasis(s string) (Basis, error) {
	switch s {
	case "", string(AsFed):
		return AsFed, nil
	case string(DryMatter):
		return DryMatter, nil
	}
	return "", fmt.Errorf("basis is %q; it can be %q or %q", s, AsFed, DryMatter)
}

// ToDryMatter turns a figure as fed into one on dry matter. It reports false
// where there is no dry matter to speak of.
func ToDryMatter(asFed, moisture float64) (float64, bool) {
	dm := 100 - moisture
	if dm <= 0 {
		return 0, false
	}
	return asFed * 100 / dm, true
}

// ToAsFed turns a figure on dry matter into one as fed.
func ToAsFed(onDry, moisture float64) float64 { return onDry * (100 - moisture) / 100 }
