package card

import (
	"firlot/analysis"
	"firlot/mix"
	"firlot/nutrient"
)

// BaseHolds reports whether the base with each of its toppers lies inside the
// windows of that topper's mix and under its ceilings, by the card's own
// figures. No certificate speaks of the base, so whoever shows it asks. plans
// are those of the card's mixes. A ceiling is held to a step of the scale,
// since it was one of whole steps in a batch of another size.
func (c *Card) BaseHolds(plans []*mix.Plan) bool {
	if c.Base == nil {
		return false
	}
	base := nutrient.Mass(0)
	for _, s := range c.Base.Amounts {
		base += s.Mass
	}
	for _, t := range c.Base.Toppers {
		if t.Base != base || !holds(plans[t.Mix], append(append([]Share(nil), c.Base.Amounts...), t.Amounts...)) {
			return false
		}
	}
	return true
}

// holds judges shares that are a plan's mix, of whatever mass.
func holds(p *mix.Plan, shares []Share) bool {
	masses, total := map[string]nutrient.Mass{}, nutrient.Mass(0)
	for _, s := range shares {
		masses[s.Ref] += s.Mass
		total += s.Mass
	}
	var portions []analysis.Portion
	for _, l := range p.Lines {
		m := masses[l.Form.Ref()]
		delete(masses, l.Form.Ref())
		if float64(m)*float64(p.Steps) > float64(l.Ceiling+1)*float64(total) {
			return false
		}
		portions = append(portions, analysis.Portion{Form: l.Form, Mass: m})
	}
	for _, t := range p.Targets {
		if analysis.CheckWindow(portions, t.Window).Verdict == analysis.Outside {
			return false
		}
	}
	return len(masses) == 0
}
