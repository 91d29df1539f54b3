package report

import (
	"firlot/analysis"
	"firlot/formulate"
	"firlot/mix"
)

// RegionOf reports a region.
func RegionOf(p *mix.Plan, r *formulate.Region) Region {
	out := Region{X: axisOf(r.X), Y: axisOf(r.Y), Corners: []Corner{}}
	for _, i := range r.Unknown {
		out.NotKnown = append(out.NotKnown, p.Lines[i].Form.Ref())
	}
	for _, c := range r.Corners {
		corner := Corner{X: Number(c.X), Y: Number(c.Y), Mix: []Share{}}
		for i, s := range c.Shares {
			if s > leastShare {
				f := p.Lines[i].Form
				corner.Mix = append(corner.Mix, Share{f.Ingredient.ID, f.ID, Number(100 * s)})
			}
		}
		out.Corners = append(out.Corners, corner)
	}
	return out
}

// leastShare is the share of a mix below which an ingredient is not named: a
// milligram in a tonne, which is the rounding of a corner and no amount.
const leastShare = 1e-9

func axisOf(m analysis.Measure) Axis {
	return Axis{string(m.Nutrient), string(m.Unit()), string(m.Basis), string(m.On)}
}
