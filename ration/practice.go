package ration

import (
	"firlot/nutrient"
	"firlot/serving"
)

// String names the target: a figure, or two with "per" between them.
func (t Target) String() string {
	if t.Per != "" {
		return string(t.Nutrient) + " per " + string(t.Per)
	}
	return string(t.Nutrient)
}

// Practice sets what keepers commonly give beside what the week gives: the mix
// for an animal and day. It is nil for species of which no common practice is
// known, for groups of several species, and without a mix.
func (p *Plan) Practice() (common *serving.Practice, given serving.Range) {
	if serving.MassOf(p.Mix) == 0 {
		return nil, given
	}
	for _, s := range p.Foods {
		if s.Form == nil && !s.Rests {
			given.Mean, given.Low, given.High = given.Mean+s.PerDay.Mean, given.Low+s.PerDay.Low, given.High+s.PerDay.High
			given.HasMean = true
		}
	}
	if !given.HasMean {
		return nil, given
	}
	n := len(p.Animals)
	for _, f := range p.Animals {
		if f.Species != p.Animals[0].Species || f.Times != 1 {
			return nil, given // it is known of grown animals
		}
	}
	portion, err := serving.Of(p.Mix, serving.Ask{Species: p.Animals[0].Species, Weight: p.weight / float64(n), Animals: n, Feedings: 1, Spoon: p.spoon})
	if err != nil || portion.Practice == nil {
		return nil, given
	}
	return portion.Practice, times(given, 1/float64(n))
}

// MixOf is what an animal's share of the mix comes to, g a day spread over all
// days.
func (p *Plan) MixOf(animal int) serving.Range {
	sum := serving.Range{HasMean: true}
	for _, s := range p.Foods {
		if s.Form == nil {
			r := times(s.PerDay, p.Animals[animal].Share)
			sum.Mean, sum.Low, sum.High = sum.Mean+r.Mean, sum.Low+r.Low, sum.High+r.High
		}
	}
	return sum
}

// Spoons are level spoons of the mix that some grams fill, by its bulk
// density; they have no mean where it is not known.
func (p *Plan) Spoons(grams serving.Range) (tablespoons, teaspoons serving.Range) {
	in := func(volume float64) serving.Range {
		r := serving.Range{}
		if p.bulk.HasMean && p.bulk.Mean > 0 {
			r.Mean, r.HasMean = grams.Mean/float64(p.bulk.Mean*volume), grams.HasMean
		}
		if p.bulk.Low > 0 && p.bulk.High > 0 {
			r.Low, r.High = grams.Low/float64(p.bulk.High*volume), grams.High/float64(p.bulk.Low*volume)
		}
		return r
	}
	return in(p.spoon.Tablespoon), in(p.spoon.Teaspoon)
}

// FormOf finds a food of the document by the name that the document gives it.
func (p *Plan) FormOf(name string) (ref string, ok bool) {
	f, err := p.form("", name)
	if err != nil {
		return "", false
	}
	return f.Ref(), true
}

// Parse reads the name of a figure or a ratio, such as "calcium" or
// "calcium per phosphorus".
func (l *Ledger) Parse(name string) (Target, bool) {
	for _, a := range l.Accounts {
		for _, r := range a.Rows {
			if t := r.Target(); t.String() == name {
				return t, true
			}
			if info, ok := nutrient.Lookup(r.Nutrient); ok && r.Per == "" && info.Name == name {
				return r.Target(), true
			}
		}
	}
	return Target{}, false
}
