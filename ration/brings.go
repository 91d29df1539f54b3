package ration

import (
	"firlot/analysis"
	"firlot/catalog"
	"firlot/needs"
	"firlot/nutrient"
)

// lin is what a gram of a food brings of something, in the unit of its figure
// times the share of the gram that is eaten. The mean is that of the known
// part alone.
type lin struct {
	mean, least, most float64
	variance          float64
	known             float64 // share of the dry matter for which it is known, 0 to 1
}

func (l *lin) add(m lin, k float64) {
	l.mean += float64(m.mean * k)
	l.least += float64(m.least * k)
	l.most += float64(m.most * k)
	l.variance += float64(m.variance * float64(k*k))
}

// brings is what a gram of a food brings of everything, as eaten: husks that
// are left bring nothing.
type brings struct {
	dry    lin // g of dry matter
	figs   []lin
	have   []bool
	of     []analysis.Portion
	shares []float64 // of each portion in a gram
	drys   []float64 // g of dry matter that each brings in it
}

func bringsOf(of []analysis.Portion) *brings {
	b := &brings{of: of, figs: make([]lin, nutrient.Count()), have: make([]bool, nutrient.Count()),
		shares: make([]float64, len(of)), drys: make([]float64, len(of))}
	all := 0.0
	for _, p := range of {
		all += p.Mass.Grams()
	}
	for i, p := range of {
		if p.Mass == 0 {
			continue
		}
		b.shares[i] = p.Mass.Grams() / all
		d := linOf(dryTerms(p.Form))
		b.dry.add(d, b.shares[i])
		b.drys[i] = float64(b.shares[i] * d.middle())
	}
	b.dry.known = 1
	return b
}

func dryTerms(f *catalog.Form) analysis.Linear {
	return analysis.TermsOf(f, analysis.Measure{Nutrient: nutrient.Moisture, Basis: nutrient.DryMatter, On: needs.Eaten}).Den
}

func linOf(t analysis.Linear) lin {
	l := lin{least: t.Least, most: t.Most}
	if t.Known {
		l.mean, l.known = t.Mean, 1
	}
	for _, p := range t.Parts {
		l.variance += float64(p.Sigma * p.Sigma)
	}
	return l
}

// fig is what a gram brings of a figure.
func (b *brings) fig(k nutrient.Key) lin {
	i := nutrient.Order(k)
	if b.have[i] {
		return b.figs[i]
	}
	var sum lin
	dry, known := 0.0, 0.0
	for j, p := range b.of {
		if b.shares[j] == 0 {
			continue
		}
		t := eaten(p.Form, k)
		sum.add(t, b.shares[j])
		dry += b.drys[j]
		known += float64(b.drys[j] * t.known)
	}
	if dry > 0 {
		sum.known = known / dry
	}
	b.figs[i], b.have[i] = sum, true
	return sum
}

// eaten is what a gram of a form brings of a figure, as eaten. What is not
// husked and not derived from other figures needs no sum of parts.
func eaten(f *catalog.Form, k nutrient.Key) lin {
	if info, _ := nutrient.Lookup(k); f.EatenAs != "" || info.Derived {
		return linOf(analysis.TermsOf(f, analysis.Measure{Nutrient: k, Basis: nutrient.AsFed, On: needs.Eaten}).Num)
	}
	fig, ok := f.Figures[k]
	if !ok {
		least, most := f.Bounds(k)
		return lin{least: least, most: most}
	}
	sd, _, _ := f.Spread(k)
	return lin{mean: fig.Mean, least: fig.Mean, most: fig.Mean, variance: float64(sd * sd), known: 1}
}

// middle is the mean, or the middle of the bounds where it is not known.
func (l lin) middle() float64 {
	if l.known > 0 {
		return l.mean
	}
	return (l.least + l.most) / 2
}

// edge is one side of a window or limit on a diet: it holds when the sum over
// the foods of grams a day times num − bound·den is not negative, or for an
// upper edge the negative of it. Where den is nil the bound stands by itself.
type edge struct {
	num, den func(*Served, *brings) lin
	bound    float64
	upper    bool
}

func fig(k nutrient.Key) func(*Served, *brings) lin {
	return func(_ *Served, b *brings) lin { return b.fig(k) }
}

func dry(_ *Served, b *brings) lin { return b.dry }

// coef is what a gram of a food adds to the margin: at worst, when everything
// unknown turns out against the edge, and at best.
func (e edge) coef(s *Served, b *brings) (worst, best float64) {
	n, d := e.num(s, b), lin{}
	if e.den != nil {
		d = e.den(s, b)
	}
	worst = n.least - float64(e.bound*d.most)
	best = n.most - float64(e.bound*d.least)
	if e.upper {
		worst, best = -best, -worst
	}
	return worst, best
}

// constant is the part of the margin that no food adds to.
func (e edge) constant() float64 {
	switch {
	case e.den != nil:
		return 0
	case e.upper:
		return e.bound
	}
	return -e.bound
}

// diet is what the week feeds, with what a gram of each brings.
type diet struct {
	served []Served
	brings []*brings
	grams  float64 // a day, all foods
}

func (p *Plan) diet() *diet {
	d := &diet{}
	for i := range p.Foods {
		if p.Foods[i].Rests {
			continue
		}
		d.served = append(d.served, p.Foods[i])
		d.brings = append(d.brings, p.bringsOf(&p.Foods[i]))
		d.grams += p.Foods[i].PerDay.Mean
	}
	return d
}

func (p *Plan) bringsOf(s *Served) *brings {
	if s.Form == nil {
		return bringsOf(p.Mix)
	}
	return bringsOf([]analysis.Portion{{Form: s.Form, Mass: nutrient.Gram}})
}

// state is where an edge stands.
type state int

const (
	holds state = iota
	broken
	unknown
)

// settled is the part of a figure's unit, for each gram fed, within which a
// diet counts as standing on an edge: it keeps rounding from failing it.
const settled = 1e-7

func (d *diet) margin(e edge) (worst, best float64) {
	worst, best = e.constant(), e.constant()
	for i := range d.served {
		w, b := e.coef(&d.served[i], d.brings[i])
		x := d.served[i].PerDay
		if d.served[i].Loose {
			worst += min(float64(x.Low*w), float64(x.High*w))
			best += max(float64(x.Low*b), float64(x.High*b))
			continue
		}
		worst += float64(x.Mean * w)
		best += float64(x.Mean * b)
	}
	return worst, best
}

// middle is the margin by the means of amounts and figures.
func (d *diet) middle(e edge) float64 {
	m := e.constant()
	for i := range d.served {
		w, b := e.coef(&d.served[i], d.brings[i])
		m += float64(d.served[i].PerDay.Mean * (w + b) / 2)
	}
	return m
}

// value is what an edge bounds, by the means: num, or num over den.
func (d *diet) value(e edge) float64 {
	n := d.total(e.num).Mean
	if e.den == nil {
		return n
	}
	return over(n, d.total(e.den).Mean, 0)
}

// nothing reports whether the diet holds neither of what an edge sets against
// each other.
func (d *diet) nothing(e edge) bool {
	return e.den != nil && d.total(e.num).most == 0 && d.total(e.den).most == 0
}

func (d *diet) state(e edge) state {
	worst, best := d.margin(e)
	slack := settled * max(d.grams, 1e-6)
	switch {
	case worst >= -slack && best <= slack && !e.upper && d.nothing(e):
		return unknown // nothing is needed for nothing that is eaten, and that is not enough
	case worst >= -slack:
		return holds
	case best < -slack:
		return broken
	}
	return unknown
}
