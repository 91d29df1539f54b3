package analysis

import "firlot/catalog"

// Row is one edge of a window for one form: a mix holds the edge when the sum
// of Margin times mass over its forms is not negative.
type Row struct {
	Margin float64 // by the figure's mean; the middle of the bounds when not known
	Worst  float64 // when everything unknown turns out against the window
	Best   float64 // when it turns out in favour
	Parts  []Part
}

// Edge is one side of a window.
type Edge struct {
	Bound float64
	Upper bool // the value must not exceed Bound; otherwise must reach it
}

// RowOf returns a form's part in an edge of a window on a measure.
func RowOf(f *catalog.Form, m Measure, e Edge) Row { return TermsOf(f, m).Row(e) }

// Row returns the part of a form with these terms in an edge.
func (t Terms) Row(e Edge) Row {
	num, den := t.Num, scale(t.Den, e.Bound)
	r := Row{
		Margin: num.middle() - den.middle(),
		Worst:  num.Least - den.Most,
		Best:   num.Most - den.Least,
		Parts:  addParts(num.Parts, scale(den, -1).Parts),
	}
	if e.Upper {
		r.Margin, r.Worst, r.Best = -r.Margin, -r.Best, -r.Worst
		flipped := make([]Part, len(r.Parts))
		for i, p := range r.Parts {
			flipped[i] = Part{p.Key, -p.Sigma}
		}
		r.Parts = flipped
	}
	return r
}

func (l Linear) middle() float64 {
	if l.Known {
		return l.Mean
	}
	return (l.Least + l.Most) / 2
}
