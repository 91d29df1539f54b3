package ration

import (
	"fmt"
	"math"
	"slices"

	"firlot/analysis"
	"firlot/catalog"
	"firlot/needs"
	"firlot/nutrient"
)

// bowls checks the records of the bowl.
func (p *Plan) bowls() error {
	for i, b := range p.Document.Bowls {
		at := fmt.Sprintf("bowl[%d]", i)
		switch {
		case b.Day == 0 || b.Offered <= 0:
			return &Problem{at, "a record of the bowl needs a day and what was offered", `write for example offered = "12 g"`}
		case b.HasLeft && b.Left > b.Offered:
			return &Problem{at + ".left", fmt.Sprintf("%v is more than the %v that were offered", b.Left, b.Offered), "weigh without the dish"}
		case len(b.Sorted) > 0 && b.Food != MixName:
			return &Problem{at + ".sorted", "only a mix is sorted by kind", ""}
		}
		if b.Food != MixName {
			if _, err := p.form(at+".food", b.Food); err != nil {
				return err
			}
			continue
		}
		if len(p.Mix) == 0 && len(b.Sorted) > 0 {
			return &Problem{at + ".sorted", "there is no mix to sort", `name its document with mix = "my-mix.toml"`}
		}
		sum := nutrient.Mass(0)
		for _, s := range b.Sorted {
			f, err := p.form(at+".sorted."+s.Food, s.Food)
			if err != nil {
				return err
			}
			if p.inMix(f) < 0 {
				return &Problem{at + ".sorted." + s.Food, s.Food + " is not in the mix", ""}
			}
			sum += s.Left
		}
		if sum > b.Offered || b.HasLeft && sum > b.Left {
			return &Problem{at + ".sorted", fmt.Sprintf("the kinds add up to %v, more than was left", sum), ""}
		}
	}
	return nil
}

// inMix is the place of a form in the mix, or -1.
func (p *Plan) inMix(f *catalog.Form) int {
	return slices.IndexFunc(p.Mix, func(q analysis.Portion) bool { return q.Form == f })
}

// Kind is what became of one kind of a mix that was offered.
type Kind struct {
	Form          *catalog.Form
	Offered, Left nutrient.Mass // as the recipe has it, and as it was left
	Eaten         nutrient.Mass
	// Electivity is Ivlev's index, (r − p)/(r + p), with r the kind's share of
	// what was eaten and p of what was offered: −1 avoided, 0 as it comes, 1
	// only this. Source: V. S. Ivlev, Experimental Ecology of the Feeding of
	// Fishes, 1961.
	Electivity float64
	// Alpha is the share of the liking that the kind has when all kinds were
	// there in like amounts, corrected for what is eaten up: ln(left/offered)
	// over the sum of it. 1/kinds is no preference. Source: J. Chesson, The
	// estimation and analysis of preference and its relationship to foraging
	// models, Ecology 64, 1983.
	Alpha   float64
	Avoided bool // at least a twentieth of the mix, and eaten at less than half its share
}

// Feeding is one record of the bowl, worked out.
type Feeding struct {
	Bowl  Bowl
	Eaten nutrient.Mass // offered less left; meaningless without Known
	Known bool
	Part  float64 // of what was offered, that was left
	Kinds []Kind  // when the left was sorted
	// Offered and Got are the figures of the mix as it was offered and of what
	// was eaten of it, husks left out in both; nil unless sorted.
	Offered, Got []analysis.Value
	// Unsorted is what was left and belongs to no kind that was sorted out.
	Unsorted nutrient.Mass
}

// Avoiding: a kind is avoided when it makes up at least avoidFrom of the mix
// and is eaten at less than half its share, which is an electivity below −1/3.
// Assumed.
const (
	avoidFrom = 0.05
	avoidAt   = -1.0 / 3
)

// compared are the figures that a choosy eater changes most.
var compared = []nutrient.Key{nutrient.CrudeProtein, nutrient.CrudeFat, nutrient.CrudeFibre, nutrient.Calcium, nutrient.Energy}

// Feedings works the records of the bowl out, the oldest first, up to the
// plan's day.
func (p *Plan) Feedings() []Feeding {
	var list []Feeding
	for _, b := range p.Document.Bowls {
		if b.Day <= p.Day {
			list = append(list, p.feeding(b))
		}
	}
	slices.SortStableFunc(list, func(a, b Feeding) int { return int(a.Bowl.Day - b.Bowl.Day) })
	return list
}

func (p *Plan) feeding(b Bowl) Feeding {
	f := Feeding{Bowl: b, Known: b.HasLeft || len(b.Sorted) > 0}
	sum := nutrient.Mass(0)
	for _, s := range b.Sorted {
		sum += s.Left
	}
	left := sum
	if b.HasLeft {
		left = b.Left
	}
	f.Eaten = b.Offered - left
	f.Part = left.Grams() / b.Offered.Grams()
	f.Unsorted = left - sum
	if len(b.Sorted) > 0 && f.Eaten > 0 {
		p.kinds(&f)
	}
	return f
}

// kinds shares out what was offered by the recipe. A kind that nobody sorted
// out counts as eaten up; what is left unsorted is spread over those.
func (p *Plan) kinds(f *Feeding) {
	all, rest := 0.0, 0.0
	left := make([]float64, len(p.Mix))
	sorted := make([]bool, len(p.Mix))
	for _, q := range p.Mix {
		all += q.Mass.Grams()
	}
	for _, s := range f.Bowl.Sorted {
		if form, err := p.form("", s.Food); err == nil {
			if i := p.inMix(form); i >= 0 {
				left[i], sorted[i] = s.Left.Grams(), true
			}
		}
	}
	for i, q := range p.Mix {
		if !sorted[i] {
			rest += q.Mass.Grams()
		}
	}
	for i, q := range p.Mix {
		offered := float64(f.Bowl.Offered.Grams() * q.Mass.Grams() / all)
		if !sorted[i] && rest > 0 {
			left[i] = float64(f.Unsorted.Grams() * q.Mass.Grams() / rest)
		}
		// By chance a spoonful may hold more of a kind than the recipe says.
		left[i] = min(left[i], offered)
		f.Kinds = append(f.Kinds, Kind{Form: q.Form, Offered: milligrams(offered), Left: milligrams(left[i]), Eaten: milligrams(offered - left[i])})
	}
	f.indices()
	var offered, eaten []analysis.Portion
	for _, k := range f.Kinds {
		offered = append(offered, analysis.Portion{Form: k.Form, Mass: k.Offered})
		eaten = append(eaten, analysis.Portion{Form: k.Form, Mass: k.Eaten})
	}
	for _, key := range compared {
		m := analysis.Measure{Nutrient: key, Basis: nutrient.AsFed, On: needs.Eaten}
		f.Offered, f.Got = append(f.Offered, analysis.Of(offered, m)), append(f.Got, analysis.Of(eaten, m))
	}
}

func milligrams(g float64) nutrient.Mass {
	return nutrient.Mass(math.Round(float64(g * float64(nutrient.Gram))))
}

// leastLeft is the least share of a kind that counts as left when nothing was
// found: it keeps the logarithm of what is eaten up finite. Assumed: half of
// what a kitchen scale would show of a usual portion.
const leastLeft = 0.01

func (f *Feeding) indices() {
	offered, eaten, logs := 0.0, 0.0, 0.0
	for _, k := range f.Kinds {
		offered += k.Offered.Grams()
		eaten += k.Eaten.Grams()
		logs += gone(k)
	}
	for i := range f.Kinds {
		k := &f.Kinds[i]
		if k.Offered == 0 || eaten == 0 {
			continue
		}
		r, q := k.Eaten.Grams()/eaten, k.Offered.Grams()/offered
		k.Electivity = (r - q) / (r + q)
		if logs > 0 {
			k.Alpha = gone(*k) / logs
		}
		k.Avoided = q >= avoidFrom && k.Electivity < avoidAt
	}
}

// gone is −ln(left/offered).
func gone(k Kind) float64 {
	if k.Offered == 0 {
		return 0
	}
	return -math.Log(max(k.Left.Grams()/k.Offered.Grams(), leastLeft))
}
