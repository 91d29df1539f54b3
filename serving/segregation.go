package serving

import (
	"math"

	"firlot/catalog"
)

// Sorting is how readily seeds of a mix sort themselves by size.
type Sorting string

// The degrees of sorting, by the width of the widest kind over that of the
// narrowest. Estimates: sifting is measurable from a ratio of about 1.3,
// serious from about 3, and small balls fall through a resting bed of large
// ones from 1/(2/√3 − 1) = 6.46 (recalled); the steps between are ours. Width,
// the second largest side, is what decides whether a seed slips through a gap.
const (
	SortsLittle  Sorting = "low"
	SortsSome    Sorting = "medium"
	SortsMuch    Sorting = "high"
	FallsThrough Sorting = "falls-through"
)

const (
	sortsSome    = 1.5
	sortsMuch    = 3.0
	fallsThrough = 6.0
)

// sortingFrom is the share of the mass from which a kind counts as one that
// others sift through: fewer large seeds have no gaps between them.
const sortingFrom = 0.01

// Segregation says which seeds of a lot sort themselves.
type Segregation struct {
	// Known reports that two kinds at least have a width; the rest is
	// meaningless otherwise.
	Known        bool
	Degree       Sorting
	Narrow, Wide int // pieces of the lot
	Ratio        float64
	// Of is each kind's own degree beside the widest: how readily it sifts
	// down. It is empty where the width is not known, and for the widest.
	Of      []Sorting
	Unknown []*catalog.Form // without a width
}

// Sorting is how readily the lot's seeds sort themselves: an estimate.
func (l Lot) Sorting() Segregation {
	s := Segregation{Narrow: -1, Wide: -1, Of: make([]Sorting, len(l.Pieces))}
	for i, p := range l.Pieces {
		w := widthOf(p.Form)
		if w <= 0 {
			s.Unknown = append(s.Unknown, p.Form)
			continue
		}
		if p.Share >= sortingFrom && (s.Wide < 0 || w > widthOf(l.Pieces[s.Wide].Form)) {
			s.Wide = i
		}
		if s.Narrow < 0 || w < widthOf(l.Pieces[s.Narrow].Form) {
			s.Narrow = i
		}
	}
	if s.Wide < 0 || s.Narrow == s.Wide {
		return s
	}
	s.Known = true
	wide := widthOf(l.Pieces[s.Wide].Form)
	s.Ratio = wide / widthOf(l.Pieces[s.Narrow].Form)
	s.Degree = sortingOf(s.Ratio)
	for i, p := range l.Pieces {
		if w := widthOf(p.Form); w > 0 && i != s.Wide {
			s.Of[i] = sortingOf(wide / w)
		}
	}
	return s
}

func widthOf(f *catalog.Form) float64 {
	if f.Width == nil || math.IsNaN(f.Width.Mean) {
		return 0
	}
	return f.Width.Mean
}

func sortingOf(ratio float64) Sorting {
	switch {
	case ratio > fallsThrough:
		return FallsThrough
	case ratio > sortsMuch:
		return SortsMuch
	case ratio >= sortsSome:
		return SortsSome
	}
	return SortsLittle
}
