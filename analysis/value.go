package analysis

import (
	"math"

	"firlot/catalog"
	"firlot/nutrient"
)

// Portion is a mass of a form in a mix.
type Portion struct {
	Form *catalog.Form
	Mass nutrient.Mass
}

// Value is a measure of a mix.
type Value struct {
	Measure Measure
	// Mean is the figure of the part of the mix for which it is known; see
	// KnownShare. It is meaningless when HasMean is false.
	Mean        float64
	HasMean     bool
	KnownShare  float64 // share of the measured mass for which the figure is known, 0 to 1
	Least, Most float64 // bounds whatever the unknown part holds; equal when all is known
	SD          float64 // between fresh sets of bags
	Assumed     bool    // some of the spread is a stand-in for its class
	How         catalog.Evidence
}

// Interval90 is 1.6449, the half width of the central 90 per cent of the
// normal law in standard deviations (Φ⁻¹(0.95)).
const Interval90 = 1.6448536269514722

// Low and High bound the central 90 of 100 sets of bags, whatever the unknown
// part holds; a figure cannot be less than nothing.
func (v Value) Low() float64  { return max(v.Least-float64(Interval90*v.SD), 0) }
func (v Value) High() float64 { return v.Most + float64(Interval90*v.SD) }

// Of measures a mix. A mix of no mass has no value.
func Of(portions []Portion, m Measure) Value {
	v := Value{Measure: m, How: catalog.Measured}
	var num, den, numLeast, numMost, denLeast, denMost, known, all float64
	var terms []Terms
	for _, p := range portions {
		t, x := TermsOf(p.Form, m), p.Mass.Grams()
		terms = append(terms, t)
		if x == 0 {
			continue
		}
		numLeast += float64(t.Num.Least * x)
		numMost += float64(t.Num.Most * x)
		denLeast += float64(t.Den.Least * x)
		denMost += float64(t.Den.Most * x)
		weight := float64(eatenShare(p.Form, m) * x)
		all += weight
		if t.Num.Known && t.Den.Known {
			num += float64(t.Num.Mean * x)
			den += float64(t.Den.Mean * x)
			known += weight
			v.How = v.How.Worse(t.Num.How).Worse(t.Den.How)
			v.Assumed = v.Assumed || t.Num.Assumed || t.Den.Assumed
		}
	}
	if all == 0 {
		return v
	}
	v.KnownShare = known / all
	if den > 0 {
		v.Mean, v.HasMean = num/den, true
	}
	v.Least, v.Most = ratio(numLeast, denMost, 0), ratio(numMost, denLeast, math.Inf(1))
	if v.HasMean {
		if v.KnownShare == 1 {
			v.Least, v.Most = v.Mean, v.Mean
		}
		// Where part of the denominator is not known, the known part stands
		// for the whole of it.
		v.SD = deviation(portions, terms, v.Mean) * v.KnownShare / den
	}
	return v
}

func ratio(a, b, otherwise float64) float64 {
	if b <= 0 {
		return otherwise
	}
	return a / b
}

func eatenShare(f *catalog.Form, m Measure) float64 {
	if m.On == "eaten" {
		hull, left := f.HullShares()
		return 1 - float64(hull*left)
	}
	return 1
}

// deviation is the standard deviation of Σ (num − value·den)·x, the delta
// method for a ratio; exact as fed and offered, where den is fixed.
func deviation(portions []Portion, terms []Terms, value float64) float64 {
	sum := 0.0
	for i, p := range portions {
		x := p.Mass.Grams()
		for _, part := range terms[i].Row(Edge{Bound: value}).Parts {
			s := float64(part.Sigma * x)
			sum += float64(s * s)
		}
	}
	return math.Sqrt(sum)
}
