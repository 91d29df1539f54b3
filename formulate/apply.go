package formulate

import (
	"firlot/mix"
)

// Apply returns the plan's document with the limit moved.
func (m Move) Apply(p *mix.Plan) *mix.Document {
	d := p.Document.Copy()
	grams := mix.Amount{Set: true, Mass: mass(p, int(m.Bound))}
	switch m.limit.kind {
	case edgeLimit:
		m.moveWindow(p, d)
	case floorLimit:
		d.Lines[m.limit.index].Floor = grams
	case ceilingLimit:
		moveCeiling(&d.Lines[m.limit.index], grams)
	case nothingOrLimit:
		d.Lines[m.limit.index].NothingOr = grams
	case groupFloor:
		d.Groups[m.limit.index].Floor = grams
	case groupCeiling:
		d.Groups[m.limit.index].Ceiling = grams
	case groupCount:
		d.Groups[m.limit.index].LeastIngredients, d.Groups[m.limit.index].MostIngredients = m.least, m.most
	case mixCount:
		d.LeastIngredients, d.MostIngredients = m.least, m.most
	}
	return d
}

// moveCeiling lifts whichever of ceiling and amount on hand stands in the way.
func moveCeiling(l *mix.Line, to mix.Amount) {
	if l.Ceiling.Set {
		l.Ceiling = to
	}
	if l.OnHand.Set && l.OnHand.Mass < to.Mass {
		l.OnHand = to
	}
}

func (m Move) moveWindow(p *mix.Plan, d *mix.Document) {
	t := p.Targets[m.limit.index]
	w := mix.Window{Nutrient: t.Nutrient, Per: t.Per, Min: t.Min, Max: t.Max, Basis: t.Basis, On: t.On, Note: "moved"}
	bound := m.Bound
	if m.limit.edge.Upper {
		w.Max = &bound
	} else {
		w.Min = &bound
	}
	for i, o := range d.Windows {
		if o.Nutrient == w.Nutrient && o.Per == w.Per && o.On == w.On {
			d.Windows[i] = w
			return
		}
	}
	d.Windows = append(d.Windows, w)
}

// Apply returns the plan's document with the ingredient on its shelf.
func (a Addition) Apply(p *mix.Plan) *mix.Document {
	return p.Document.Add(mix.Line{Ingredient: a.Form.Ref()})
}
