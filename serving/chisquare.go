package serving

import "math"

// chiBelow is the chance that a chi-square variable of some degrees of freedom
// is at most x: the regularised incomplete gamma function P(df/2, x/2).
//
// Source: Abramowitz and Stegun, Handbook of Mathematical Functions, 1964
// (recalled): 26.4.19, and for P the series 6.5.29 where x < a+1 and the
// continued fraction 6.5.31 elsewhere, evaluated by Lentz's method. Printed
// tables in the tests hold it.
func chiBelow(df, x float64) float64 {
	switch {
	case !(x > 0):
		return 0
	case math.IsInf(x, 1):
		return 1
	}
	a, half := float64(df/2), float64(x/2)
	if half < a+1 {
		return min(gammaSeries(a, half), 1)
	}
	return max(1-gammaFraction(a, half), 0)
}

// chiAbove is the chance of more than x, without the loss of digits in 1 − P.
func chiAbove(df, x float64) float64 {
	switch {
	case !(x > 0):
		return 1
	case math.IsInf(x, 1):
		return 0
	}
	a, half := float64(df/2), float64(x/2)
	if half < a+1 {
		return max(1-gammaSeries(a, half), 0)
	}
	return min(gammaFraction(a, half), 1)
}

const (
	// gammaEnd is the size of a term, beside the sum, at which the sums end:
	// the last bit of a float64.
	gammaEnd = 0x1p-53
	// gammaMost terms bound the sums. They take about √a of them near x = a;
	// a is at most MostScoops/2.
	gammaMost = 10_000
	// gammaTiny keeps Lentz's quotients from dividing by nought.
	gammaTiny = 0x1p-1000
)

// gammaHead is x^a·e^(−x)/Γ(a).
func gammaHead(a, x float64) float64 {
	lg, _ := math.Lgamma(a)
	return math.Exp(float64(a*math.Log(x)) - x - lg)
}

func gammaSeries(a, x float64) float64 {
	term := 1 / a
	sum := term
	for n := 1; n < gammaMost && term > float64(sum*gammaEnd); n++ {
		term = float64(term * (x / (a + float64(n))))
		sum += term
	}
	return float64(sum * gammaHead(a, x))
}

func gammaFraction(a, x float64) float64 {
	b := x + 1 - a
	c, d := 1/gammaTiny, 1/b
	h := d
	for n := 1; n < gammaMost; n++ {
		k := float64(n)
		an := float64(-k * (k - a))
		b += 2
		if d = float64(an*d) + b; math.Abs(d) < gammaTiny {
			d = gammaTiny
		}
		if c = b + an/c; math.Abs(c) < gammaTiny {
			c = gammaTiny
		}
		d = 1 / d
		by := float64(d * c)
		h = float64(h * by)
		if math.Abs(by-1) < gammaEnd {
			break
		}
	}
	return float64(h * gammaHead(a, x))
}

// chiQuantile is the x below which a chi-square variable lies with chance p,
// more than 0 and less than 1: by halving.
func chiQuantile(df, p float64) float64 {
	high := max(df, 1)
	for chiBelow(df, high) < p {
		high *= 2
	}
	low := 0.0
	for range chiHalvings {
		if mid := low + float64((high-low)/2); chiBelow(df, mid) < p {
			low = mid
		} else {
			high = mid
		}
	}
	return low + float64((high-low)/2)
}

// chiHalvings bring an interval as wide as the quantile below a float64's last
// bit.
const chiHalvings = 60
