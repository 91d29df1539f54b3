package report

import (
	"firlot/analysis"
	"firlot/formulate"
	"firlot/nutrient"
)

// Base is one base mix with a topper for each of several mixes.
type Base struct {
	Status string `json:"status"`
	StepG  Number `json:"step_g"`
	// BaseG is the mass of base that toppers are weighed for.
	BaseG  Number   `json:"base_g"`
	Base   []Amount `json:"base"`
	Mixes  []Topped `json:"mixes"`
	Proved *Toppers `json:"toppers"` // null without a base
	// Clash are limits of which no base and toppers hold all together.
	Clash []BaseClash `json:"clash,omitempty"`
	Notes []string    `json:"notes,omitempty"`
}

// Toppers are the largest topper and all together, and what is proved of
// them: no base has a smaller largest one than the bound; and none with this
// largest one has a smaller total.
type Toppers struct {
	LargestG      Number `json:"largest_g"`
	LargestBoundG Number `json:"largest_bound_g"`
	TogetherG     Number `json:"together_g"`
	TogetherBound Number `json:"together_bound_g"`
}

// Topped is a mix made of base and topper.
type Topped struct {
	Title   string `json:"title,omitempty"`
	Species string `json:"species,omitempty"`
	Stage   string `json:"stage,omitempty"`
	// TopperG is what is added to BaseG of base.
	TopperG       Number `json:"topper_g"`
	TopperPercent Number `json:"topper_percent"` // of the mix
	// BasePerKgG and TopperPerKgG make a kilogram of the mix.
	BasePerKgG    Number   `json:"base_per_kg_g"`
	TopperPerKgG  Number   `json:"topper_per_kg_g"`
	Topper        []Amount `json:"topper"`
	Amounts       []Amount `json:"amounts"`
	Figures       []Figure `json:"figures"`
	Sureness      Number   `json:"sureness"`
	SurenessAsked Number   `json:"sureness_asked"`
}

// BaseClash is a limit of one of the mixes.
type BaseClash struct {
	Mix  int    `json:"mix"` // from 1, in the order given
	What string `json:"what"`
}

// BaseOf reports a base.
func BaseOf(m *formulate.BaseMix) *Base {
	out := &Base{Status: string(m.Status), StepG: Number(m.Step.Grams()), BaseG: Number(m.BaseMass.Grams()),
		Base: []Amount{}, Mixes: []Topped{}, Notes: m.Notes}
	for _, c := range m.Clash {
		out.Clash = append(out.Clash, BaseClash{c.Stage + 1, c.What})
	}
	if m.Base == nil {
		return out
	}
	var base []analysis.Portion
	for k, f := range m.Forms {
		base = append(base, analysis.Portion{Form: f, Mass: m.Base[k]})
	}
	out.Base = amountsOf(base, m.BaseMass)
	out.Proved = &Toppers{Number(m.Largest.Grams()), Number(m.LargestBound.Grams()), Number(m.Total.Grams()), Number(m.TotalBound.Grams())}
	for _, g := range m.Stages {
		out.Mixes = append(out.Mixes, toppedOf(g, m.BaseMass))
	}
	return out
}

func toppedOf(g formulate.Topped, base nutrient.Mass) Topped {
	t := Topped{Title: g.Plan.Document.Title, TopperG: Number(g.Weight.Grams()), TopperPercent: Number(100 * g.Share),
		BasePerKgG: Number(1000 * (1 - g.Share)), TopperPerKgG: Number(1000 * g.Share),
		Sureness: Number(g.Joint), SurenessAsked: Number(g.Plan.Document.Sureness)}
	if g.Plan.Species != nil {
		t.Species, t.Stage = g.Plan.Species.ID, g.Plan.Stage.ID
	}
	var topper, all []analysis.Portion
	for i, l := range g.Plan.Lines {
		topper = append(topper, analysis.Portion{Form: l.Form, Mass: g.Topper[i]})
		all = append(all, analysis.Portion{Form: l.Form, Mass: g.Amounts[i]})
	}
	t.Topper, t.Amounts = amountsOf(topper, g.Weight), amountsOf(all, base+g.Weight)
	t.Figures = windowed(all, g.Checks)
	return t
}

// amountsOf are the portions that are more than nothing, with their share of a
// total.
func amountsOf(portions []analysis.Portion, total nutrient.Mass) []Amount {
	list := []Amount{}
	for _, q := range portions {
		if q.Mass > 0 {
			list = append(list, Amount{Ingredient: q.Form.Ingredient.ID, Form: q.Form.ID, Name: q.Form.Name("en"),
				Grams: Number(q.Mass.Grams()), Percent: Number(share(q.Mass, total))})
		}
	}
	return list
}

// windowed are the figures that have a window.
func windowed(portions []analysis.Portion, checks []analysis.Check) []Figure {
	list := []Figure{}
	for _, f := range figures(portions, checks) {
		if f.Window != nil {
			list = append(list, f)
		}
	}
	return list
}
