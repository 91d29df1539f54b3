package serving

import "math"

// Visman are the constants of Visman's law for samples made of N increments of
// W g in all: S² = A/W + B/N. A is what pieces bring, B what sorting brings.
// Source: J. Visman's general theory of sampling (as a Canadian government
// report on sampling has it); A is in g and B without unit where spreads are
// relative.
type Visman struct {
	A, B float64
	// Sorted is √(B/A), Visman's degree of segregation, in g^−½; meaningless
	// where A is nought.
	Sorted float64
}

// VismanOf works the constants out from the relative variances of single
// increments of two masses, the second the larger. It reports false where
// neither constant comes out as a variance can be: the larger increments
// differ more than the smaller ones, or the smaller ones by more than pieces
// alone can explain, which few increments do by chance.
func VismanOf(small, large float64, grams, largeGrams float64) (Visman, bool) {
	if !(grams > 0) || !(largeGrams > grams) || !(small > 0) || !(large >= 0) {
		return Visman{}, false
	}
	v := Visman{A: float64(float64(grams*largeGrams)*(small-large)) / (largeGrams - grams)}
	v.B = small - float64(v.A/grams)
	if v.A <= 0 || v.B < 0 {
		return v, false
	}
	v.Sorted = math.Sqrt(v.B / v.A)
	return v, true
}
