package ration

import (
	"fmt"
	"math"

	"firlot/analysis"
	"firlot/catalog"
	"firlot/nutrient"
	"firlot/serving"
)

// Kitchen is how far a spoon that was levelled by eye lies off, as a share:
// 10 % either way. Assumed: knocking and levelling change it by 5 to 15 %.
const Kitchen = 0.10

// grams turns an amount into grams. It reports loose where they are only
// bounded, because a density or the mass of a piece is not known.
func (p *Plan) grams(at string, f *catalog.Form, a Amount) (r serving.Range, loose bool, why string, err error) {
	switch a.Unit {
	case Grams:
		return exactly(a.Mass.Grams()), false, "", nil
	case Pieces:
		if f == nil || f.ThousandKernels == nil || f.ThousandKernels.Mean <= 0 {
			return r, false, "", &Problem{at, "how heavy a piece is, is not known", `write it in grams, as in "2 g"`}
		}
		one := pieceRange(f.ThousandKernels)
		return times(one, a.Count), false, fmt.Sprintf("a piece weighs %s g (%s)", short(one.Mean), f.ThousandKernels.How), nil
	}
	volume := p.spoon.Teaspoon
	switch a.Unit {
	case Tablespoons:
		volume = p.spoon.Tablespoon
	case OwnSpoons:
		if own := p.Document.OwnSpoon; own != nil && own.Holds > 0 && f == nil {
			r, why = own.weighed(a.Count)
			return r, false, why, nil
		}
		if volume, err = p.ownVolume(at); err != nil {
			return r, false, "", err
		}
	}
	d := p.bulk
	if f != nil {
		d = serving.Bulk([]analysis.Portion{{Form: f, Mass: nutrient.Gram}})
	}
	r = times(d.Range, volume*a.Count)
	r.Low, r.High = r.Low*(1-Kitchen), float64(r.High*(1+Kitchen))
	if !r.HasMean {
		r.Mean, r.HasMean = math.Sqrt(r.Low*r.High), true
		return r, true, "the bulk density is not known; the range is that of the lightest and the heaviest of such foods", nil
	}
	return r, d.Known < 1, fmt.Sprintf("bulk density %s g/mL (%s)", short(d.Mean), d.How), nil
}

// weighed is what some own spoons of the mix come to. The spoon was weighed;
// how it is levelled differs as with any other.
func (o *OwnSpoon) weighed(n float64) (serving.Range, string) {
	r := times(exactly(o.Holds.Grams()), n)
	r.Low, r.High = r.Low*(1-Kitchen), float64(r.High*(1+Kitchen))
	return r, fmt.Sprintf("your own spoon holds %v of the mix, weighed", o.Holds)
}

// ownVolume is the volume of the own spoon, mL.
func (p *Plan) ownVolume(at string) (float64, error) {
	switch own := p.Document.OwnSpoon; {
	case own == nil:
		return 0, &Problem{at, "the amount is in spoons of your own, and how much one holds is not told", `add for example [own_spoon] with holds = "7.5 g"`}
	case own.ML == 0:
		return 0, &Problem{at, "your own spoon was weighed with the mix; how much of this it holds is not known", "add its volume to [own_spoon], such as ml = 12, or write the amount in grams"}
	default:
		return own.ML, nil
	}
}

// pieceRange is the mass of a piece in grams, from that of a thousand.
func pieceRange(t *catalog.Figure) serving.Range {
	r := serving.Range{Mean: t.Mean / 1000, HasMean: true, Low: t.Mean / 1000 * 0.8, High: t.Mean / 1000 * 1.2}
	if t.Ranged && t.High > t.Low {
		r.Low, r.High = t.Low/1000, t.High/1000
	}
	return r
}
