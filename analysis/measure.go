package analysis

import (
	"firlot/catalog"
	"firlot/needs"
	"firlot/nutrient"
)

// Measure is what a window or a figure looks at.
type Measure struct {
	Nutrient nutrient.Key
	Per      nutrient.Key // for a ratio: the nutrient divided by
	Basis    nutrient.Basis
	On       needs.Side
}

// MeasureOf returns what a window looks at.
func MeasureOf(w needs.Window) Measure {
	return Measure{w.Nutrient, w.Per, w.Basis, w.On}
}

// Unit is the unit of the measure's values.
func (m Measure) Unit() nutrient.Unit {
	if m.Per != "" {
		return nutrient.PlainRate
	}
	info, _ := nutrient.Lookup(m.Nutrient)
	return info.Unit
}

// Part is the spread that one typed-in figure of a bag brings: its standard
// deviation times the weight with which it counts, sign kept.
type Part struct {
	Key   nutrient.Key
	Sigma float64
}

// Linear is a quantity that a gram of a form contributes.
type Linear struct {
	Mean        float64 // meaningless unless Known
	Known       bool
	Least, Most float64 // equal to Mean when Known
	Parts       []Part  // spread, empty unless Known
	Assumed     bool    // some of the spread is a stand-in
	How         catalog.Evidence
}

// Terms is a form's part in a measure: its numerator and denominator.
type Terms struct{ Num, Den Linear }

// one is the denominator of figures as fed.
var one = Linear{Mean: 1, Known: true, Least: 1, Most: 1, How: catalog.Measured}

// TermsOf returns what a gram of a form contributes to a measure.
func TermsOf(f *catalog.Form, m Measure) Terms {
	if m.On != needs.Eaten {
		return Terms{amount(f, m.Nutrient), denominator(f, m)}
	}
	hull, left := f.HullShares()
	whole, kernel := 1-left, float64(left*(1-hull))
	join := func(of func(*catalog.Form) Linear) Linear {
		l := combine(of(f), whole, of(f.Kernel()), kernel)
		if hull > 0 {
			l.How, l.Assumed = l.How.Worse(huskEvidence(f)), true
		}
		return l
	}
	return Terms{
		join(func(f *catalog.Form) Linear { return amount(f, m.Nutrient) }),
		join(func(f *catalog.Form) Linear { return denominator(f, m) }),
	}
}

// huskEvidence is how well it is known how much husk a form has and how much
// of it is left. The two bring no spread of their own: nobody has measured
// one, so what is said as eaten is said for the husks as assumed.
func huskEvidence(f *catalog.Form) catalog.Evidence {
	how := f.Hull.How
	if f.HullLeft == nil {
		return how.Worse(catalog.Assumed)
	}
	return how.Worse(f.HullLeft.How)
}

func denominator(f *catalog.Form, m Measure) Linear {
	switch {
	case m.Per != "":
		return amount(f, m.Per)
	case m.Basis == nutrient.DryMatter:
		return dryMatter(f)
	}
	return one
}

// dryMatter is the share of a form that is not water.
func dryMatter(f *catalog.Form) Linear {
	w := amount(f, nutrient.Moisture)
	d := Linear{Mean: 1 - w.Mean/100, Known: w.Known, Least: 1 - w.Most/100, Most: 1 - w.Least/100, Assumed: w.Assumed, How: w.How}
	for _, p := range w.Parts {
		d.Parts = append(d.Parts, Part{p.Key, -p.Sigma / 100})
	}
	return d
}

// amount is a figure of a form with its spread.
func amount(f *catalog.Form, k nutrient.Key) Linear {
	fig, ok := f.Figure(k)
	if !ok {
		least, most := f.Bounds(k)
		return Linear{Least: least, Most: most, How: catalog.Assumed}
	}
	l := Linear{Mean: fig.Mean, Known: true, Least: fig.Mean, Most: fig.Mean, How: fig.How}
	for _, p := range catalog.RecipeOf(k).Parts {
		sd, recorded, _ := f.Spread(p.Key)
		if sd > 0 {
			l.Parts = append(l.Parts, Part{p.Key, float64(p.Coef * sd)})
			l.Assumed = l.Assumed || !recorded
		}
	}
	return l
}

// combine adds two quantities of one bag: their spreads are of one bag too,
// so they add up as they stand. A weight of nothing leaves its side out,
// whether known or not.
func combine(a Linear, wa float64, b Linear, wb float64) Linear {
	if wa == 0 {
		return scale(b, wb)
	}
	if wb == 0 {
		return scale(a, wa)
	}
	a, b = scale(a, wa), scale(b, wb)
	return Linear{Mean: a.Mean + b.Mean, Known: a.Known && b.Known, Least: a.Least + b.Least, Most: a.Most + b.Most,
		Parts: addParts(a.Parts, b.Parts), Assumed: a.Assumed || b.Assumed, How: a.How.Worse(b.How)}
}

func scale(l Linear, w float64) Linear {
	if w == 1 {
		return l
	}
	out := l
	out.Mean, out.Least, out.Most = float64(l.Mean*w), float64(l.Least*w), float64(l.Most*w)
	out.Parts = make([]Part, len(l.Parts))
	for i, p := range l.Parts {
		out.Parts[i] = Part{p.Key, float64(p.Sigma * w)}
	}
	return out
}

func addParts(a, b []Part) []Part {
	out := append([]Part(nil), a...)
next:
	for _, p := range b {
		for i := range out {
			if out[i].Key == p.Key {
				out[i].Sigma += p.Sigma
				continue next
			}
		}
		out = append(out, p)
	}
	return out
}
