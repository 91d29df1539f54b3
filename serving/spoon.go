package serving

import (
	"math"

	"firlot/analysis"
	"firlot/catalog"
)

// Volumes, mL. A US cup is 236.5882365 mL (231 cubic inches a gallon, 16 cups
// a gallon), a tablespoon a sixteenth of it and a teaspoon a third of that.
// Recalled: the definitions.
const (
	usCup            = 236.5882365
	usTablespoon     = usCup / 16
	usTeaspoon       = usTablespoon / 3
	metricTablespoon = 15
	metricTeaspoon   = 5
	aussieTablespoon = 20
	aussieTeaspoon   = 5
)

// Kind is a kind of spoon.
type Kind string

// The kinds of spoon.
const (
	US         Kind = "us"
	Metric     Kind = "metric"
	Australian Kind = "australian"
	Own        Kind = "own" // the keeper's own, known by what it holds
)

// Spoon is a spoon, filled level.
type Spoon struct {
	Kind       Kind
	Tablespoon float64 // mL; 0 for an own spoon
	Teaspoon   float64 // mL; 0 for an own spoon
	Grams      float64 // what an own spoon holds of this mix
}

// Spoons lists the spoons of known volume.
func Spoons() []Spoon {
	return []Spoon{
		{Kind: US, Tablespoon: usTablespoon, Teaspoon: usTeaspoon},
		{Kind: Metric, Tablespoon: metricTablespoon, Teaspoon: metricTeaspoon},
		{Kind: Australian, Tablespoon: aussieTablespoon, Teaspoon: aussieTeaspoon},
	}
}

// holds is the mass of the mix in a level spoon, g.
func (s Spoon) holds(d Density) Range {
	if s.Kind == Own {
		return Range{s.Grams, true, s.Grams, s.Grams}
	}
	return d.Range.times(s.Tablespoon)
}

// Of says grams in spoons too; full is what one level spoon of the mix holds,
// as a [Portion] has it.
func (s Spoon) Of(grams, full Range) Amount { return s.amount(grams, full) }

// amount says grams in spoons too; full is what one spoon holds.
func (s Spoon) amount(grams, full Range) Amount {
	a := Amount{Grams: grams, Tablespoons: grams.over(full)}
	if s.Teaspoon > 0 {
		a.Teaspoons = a.Tablespoons.times(s.Tablespoon / s.Teaspoon)
	}
	return a
}

// Density is the bulk density of a mix, g/mL, loosely poured.
type Density struct {
	// Range has the density by added volumes as its mean. Its ends hold 90 of
	// 100 mixes as far as the spread of the densities goes; the high one lets
	// small seeds fill the gaps between large ones, and both allow for the
	// densities that are not known.
	Range
	Known   float64 // share of the mass whose density is known
	Packing float64 // the most that mixing sizes may add, as a share
	How     catalog.Evidence
	Unknown []*catalog.Form // in the mix, without a density
}

// Bulk is the bulk density of a mix: 1/Σ(w/ρ), as if volumes added up. Sizes
// that differ pack closer than that, never looser.
func Bulk(mix []analysis.Portion) Density {
	d := Density{How: catalog.Measured, Packing: packing(mix)}
	var all, known, volume, least, most, square float64
	for _, p := range mix {
		x := p.Mass.Grams()
		if x == 0 {
			continue
		}
		all += x
		f := p.Form.BulkDensity
		if f == nil || f.Mean <= 0 {
			low, high := densityBounds(p.Form.Ingredient.Class)
			least += x / high
			most += x / low
			d.Unknown = append(d.Unknown, p.Form)
			continue
		}
		v := x / f.Mean
		known += x
		volume += v
		s := float64(v * densitySpread(*f))
		square += float64(s * s)
		d.How = d.How.Worse(f.How)
	}
	if all == 0 {
		return d
	}
	d.Known = known / all
	least, most = least+volume, most+volume
	factor := 1.0
	if known > 0 {
		d.Mean, d.HasMean = min(max(known/volume, all/most), all/least), true
		factor = math.Exp(float64(analysis.Interval90 * math.Sqrt(square) / volume))
	}
	d.Low = all / most / factor
	d.High = float64(all / least * factor * (1 + d.Packing))
	return d
}

// densityCV is the spread of a bulk density between bags, as a share, where
// none is recorded. Source: two published densities of sunflower kernels, 0.592
// (USDA SR 28, item 12036, 140 g a cup) and 0.535 g/mL (Santalla and Mascheroni
// 2003), whose standard deviation is 7 % of their mean; evidence: derived, from
// one food. densityDoubt widens it with the doubt about the figure: assumed.
const densityCV = 0.07

func densityDoubt(e catalog.Evidence) float64 {
	return []float64{1, 1.25, 1.5, 2}[e.Rank()]
}

// densitySpread is the standard deviation of a density as a share of it, on
// the scale of ratios. A printed range is taken to hold 90 of 100 bags.
func densitySpread(f catalog.Figure) float64 {
	switch {
	case f.SD > 0:
		return f.SD / f.Mean
	case f.Ranged && f.Low > 0 && f.High > f.Low:
		return math.Log(max(f.High/f.Mean, f.Mean/f.Low)) / analysis.Interval90
	}
	return densityCV * densityDoubt(f.How)
}

// densityBounds are densities that no dry food of a class exceeds either way,
// g/mL: from popped grain to grain in its densest heap. Assumed; a test holds
// every dry form of the catalogue inside.
func densityBounds(c catalog.Class) (low, high float64) {
	switch c {
	case catalog.Cereal, catalog.Millet, catalog.Pseudocereal:
		return 0.03, 0.95
	case catalog.Oilseed, catalog.SmallSeed, catalog.Nut:
		return 0.2, 0.85
	case catalog.Pulse:
		return 0.2, 0.95
	case catalog.Hay, catalog.Leaf, catalog.Flower:
		return 0.02, 0.5
	case catalog.Root, catalog.Vegetable, catalog.Green, catalog.Fruit, catalog.Insect:
		return 0.05, 0.8
	}
	return 0.05, 1.6
}

// packingFrom is the share of a mix from which a kind counts for its packing.
const packingFrom = 0.01

// packing is the most by which a mix of sizes is denser than its volumes
// added up, as a share: 5 % where the widest seed is less than three times as
// wide as the narrowest, else 15 %, and so too where a width is not known.
// Assumed; equal spheres at random fill 0.62, and ideal filling of the gaps by
// dust would give 0.62 + 0.38·0.62.
func packing(mix []analysis.Portion) float64 {
	all := 0.0
	for _, p := range mix {
		all += p.Mass.Grams()
	}
	narrow, wide, kinds := math.Inf(1), 0.0, 0
	for _, p := range mix {
		if p.Mass == 0 || p.Mass.Grams() < float64(packingFrom*all) {
			continue
		}
		kinds++
		if p.Form.Width == nil || p.Form.Width.Mean <= 0 {
			narrow = 0
			continue
		}
		narrow, wide = min(narrow, p.Form.Width.Mean), max(wide, p.Form.Width.Mean)
	}
	switch {
	case kinds < 2:
		return 0
	case wide < float64(3*narrow):
		return 0.05
	}
	return 0.15
}
