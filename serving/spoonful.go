package serving

import (
	"math"

	"firlot/analysis"
	"firlot/catalog"
	"firlot/nutrient"
)

// Piece is one kind of piece in a lot: the kernels of a form.
type Piece struct {
	Form  *catalog.Form
	Share float64 // of the lot's mass, 0 to 1
	Grams float64 // mass of one piece; meaningless unless Known
	Known bool
	How   catalog.Evidence // of the piece's mass
}

// Lot is a mix as a heap of pieces.
type Lot struct {
	Pieces []Piece // those with some mass, in the order of the mix
	Grams  float64
}

// LotOf is a mix as a heap of pieces, brought to a mass. A form without a mass
// of a thousand kernels has pieces of an unknown mass.
func LotOf(mix []analysis.Portion, grams float64) Lot {
	l := Lot{Grams: grams}
	all := 0.0
	for _, p := range mix {
		all += p.Mass.Grams()
	}
	for _, p := range mix {
		if p.Mass == 0 {
			continue
		}
		q := Piece{Form: p.Form, Share: p.Mass.Grams() / all, How: catalog.Assumed}
		if t := p.Form.ThousandKernels; t != nil && t.Mean > 0 {
			q.Grams, q.Known, q.How = t.Mean/1000, true, t.How
		}
		l.Pieces = append(l.Pieces, q)
	}
	return l
}

// Count is the expected number of a kind's pieces in a portion of some grams.
// It reports false where the mass of a piece is not known.
func (l Lot) Count(i int, portion float64) (float64, bool) {
	p := l.Pieces[i]
	if !p.Known {
		return 0, false
	}
	return float64(portion*p.Share) / p.Grams, true
}

// None is the chance that a portion holds no piece of a kind: each piece of
// the lot falls into the portion with the chance portion/lot.
func (l Lot) None(i int, portion float64) (float64, bool) {
	n, ok := l.Count(i, portion)
	if !ok {
		return 0, false
	}
	if part := portion / l.Grams; part > 0 {
		n *= -math.Log1p(-min(part, 1)) / part
	}
	return math.Exp(-n), true
}

// Variation is how a figure differs between portions of a lot, by chance
// alone.
type Variation struct {
	Value float64 // the lot's figure
	// Known reports that the figure is known for every piece, and is not
	// nothing; the rest is meaningless otherwise. Unknown lists the forms that
	// lack it.
	Known   bool
	Unknown []*catalog.Form
	// K is Gy's sum in grams, over the kinds whose pieces' mass is known. It
	// is all of it unless Missing lists kinds that bring some more.
	K       float64
	Causes  []Cause // one a kind, in the lot's order
	Missing []int
}

// Cause is what one kind of piece brings to a variation.
type Cause struct {
	// Weight times the mass of a piece in grams is what the kind brings to K:
	// w·(c/c_L − 1)².
	Weight float64
	K      float64 // g; meaningless where the mass of a piece is not known
	// Apart is the sum K once the kind is counted out by hand, exactly its
	// share in every portion; Halved is K with its pieces half as heavy.
	Apart, Halved float64
}

// OfFigure is how a measure of the mix differs between portions. For a figure
// on dry matter, as eaten, or divided by another the same sum holds to first
// order with (num − value·den)/(value·mean den) in place of c/c_L − 1.
func (l Lot) OfFigure(m analysis.Measure) Variation {
	var v Variation
	num, den := make([]float64, len(l.Pieces)), make([]float64, len(l.Pieces))
	sumNum, sumDen := 0.0, 0.0
	for i, p := range l.Pieces {
		t := analysis.TermsOf(p.Form, m)
		if !t.Num.Known || !t.Den.Known {
			v.Unknown = append(v.Unknown, p.Form)
			continue
		}
		num[i], den[i] = t.Num.Mean, t.Den.Mean
		sumNum += float64(p.Share * num[i])
		sumDen += float64(p.Share * den[i])
	}
	if len(v.Unknown) > 0 || sumDen <= 0 || sumNum <= 0 {
		return v
	}
	v.Value = sumNum / sumDen
	off := make([]float64, len(l.Pieces))
	for i := range off {
		off[i] = (num[i] - float64(v.Value*den[i])) / sumNum
	}
	l.fill(&v, off)
	return v
}

// OfShare is how the mass share of a kind of piece, as a value from 0 to 1,
// differs between portions.
func (l Lot) OfShare(kind int) Variation {
	v := Variation{Value: l.Pieces[kind].Share}
	off := make([]float64, len(l.Pieces))
	for i := range off {
		off[i] = -1
	}
	off[kind] = 1/v.Value - 1
	l.fill(&v, off)
	return v
}

// alike is the relative deviation below which a kind counts as holding what
// the lot holds: far above the rounding of the sums, far below any figure's
// worth.
const alike = 1e-12

// fill sums up over the kinds; off is the figure's relative deviation of each.
func (l Lot) fill(v *Variation, off []float64) {
	v.Known = true
	for i, p := range l.Pieces {
		if math.Abs(off[i]) < alike {
			off[i] = 0
		}
		c := Cause{Weight: float64(p.Share * float64(off[i]*off[i]))}
		if p.Known {
			c.K = float64(c.Weight * p.Grams)
			v.K += c.K
		} else if c.Weight > 0 {
			v.Missing = append(v.Missing, i)
		}
		v.Causes = append(v.Causes, c)
	}
	for i := range v.Causes {
		v.Causes[i].Halved = v.K - float64(v.Causes[i].K/2)
		v.Causes[i].Apart = l.apart(i, off)
	}
}

// apart is K without the kind: the rest then varies about its own mean.
func (l Lot) apart(kind int, off []float64) float64 {
	rest, mean := 0.0, 0.0
	for i, p := range l.Pieces {
		if i != kind {
			rest += p.Share
			mean += float64(p.Share * off[i])
		}
	}
	if rest <= 0 {
		return 0
	}
	mean /= rest
	k := 0.0
	for i, p := range l.Pieces {
		if i != kind && p.Known {
			d := off[i] - mean
			k += float64(float64(p.Share*p.Grams) * float64(d*d))
		}
	}
	return k
}

// Top is the kind that brings most to K, or -1 when none brings any.
func (v Variation) Top() int {
	top := -1
	for i, c := range v.Causes {
		if c.K > 0 && (top < 0 || c.K > v.Causes[top].K) {
			top = i
		}
	}
	return top
}

// RSD is the relative standard deviation between portions of some grams, as a
// share of the figure, for a sum K in grams. A portion that is the whole lot
// does not vary.
func (l Lot) RSD(k, portion float64) float64 {
	return math.Sqrt(max(1/portion-1/l.Grams, 0) * k)
}

// Smallest is the smallest portion, in grams, with a relative standard
// deviation of at most rsd (a share, more than 0).
func (l Lot) Smallest(k, rsd float64) float64 {
	if k <= 0 {
		return 0
	}
	return 1 / (float64(rsd*rsd)/k + 1/l.Grams)
}

// Doubling is the mass of a piece, in g, with which a kind would bring as much
// to K as all the kinds of known mass do together. It reports false for a kind
// that brings nothing.
func (v Variation) Doubling(kind int) (float64, bool) {
	w := v.Causes[kind].Weight
	if w <= 0 || v.K <= 0 {
		return 0, false
	}
	return v.K / w, true
}

// MassOf is the mass of a mix.
func MassOf(mix []analysis.Portion) nutrient.Mass {
	var m nutrient.Mass
	for _, p := range mix {
		m += p.Mass
	}
	return m
}
