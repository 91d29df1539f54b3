package web

import (
	"slices"

	"firlot/analysis"
	"firlot/mix"
	"firlot/nutrient"
)

// Limits of a mix are shares of its batch, or grams. What is in the bowls may
// be another batch, and may hold what was never planned.

// planOf is the mix for a batch of some masses, by reference, with whatever is
// in them besides. It reports false when that cannot be told.
func (x *weighing) planOf(masses map[string]nutrient.Mass) (*mix.Plan, []analysis.Portion, bool) {
	var total nutrient.Mass
	for _, m := range masses {
		total += m
	}
	if x.Plan == nil || total == 0 {
		return nil, nil, false
	}
	d := x.Doc.Copy()
	d.Batch, d.Step, d.StepOunces = total, common(total, x.Doc.Step), 0
	for i := range d.Lines {
		d.Lines[i].OnHand = mix.Amount{} // what is in the bowl was on hand
	}
	p, err := x.Plan.With(d)
	if err != nil {
		return nil, nil, false
	}
	for _, l := range x.Now.Lines {
		f := x.form(l.Ref)
		switch {
		case masses[l.Ref] == 0: // it was taken back
			continue
		case f == nil:
			return nil, nil, false
		}
		if !slices.ContainsFunc(p.Lines, func(pl mix.PlanLine) bool { return pl.Form.Ref() == l.Ref }) {
			p = p.Joined(f)
		}
	}
	list := make([]analysis.Portion, len(p.Lines))
	for i, l := range p.Lines {
		list[i] = analysis.Portion{Form: l.Form, Mass: masses[l.Form.Ref()]}
	}
	return p, list, true
}

// poured is what is in the bowls, by reference.
func (x *weighing) poured() map[string]nutrient.Mass {
	m := map[string]nutrient.Mass{}
	for _, l := range x.Now.Lines {
		m[l.Ref] = l.Poured
	}
	return m
}

// common is the greatest mass of which both are whole numbers.
func common(a, b nutrient.Mass) nutrient.Mass {
	for b != 0 {
		a, b = b, a%b
	}
	return a
}

// sharedRounding forgives the rounding of shares of a limit that foods share.
const sharedRounding = 1e-6

// broken says in words which limits a batch does not keep: the foods that are
// above a limit of safety, and all that is to be said.
func broken(w *words, p *mix.Plan, portions []analysis.Portion) (unsafe, list []string) {
	mass := func(steps int) nutrient.Mass { return nutrient.Mass(steps) * p.Document.Step }
	for i, l := range p.Lines {
		m, name := portions[i].Mass, w.Form(l.Form)
		switch {
		case m > mass(l.Ceiling) && l.CeilingSafety:
			unsafe = append(unsafe, name)
			list = append(list, w.T("off_safety", "Name", name, "Mass", w.Mass(m), "Limit", w.Mass(mass(l.Ceiling))))
		case m > mass(l.Ceiling):
			list = append(list, w.T("off_ceiling", "Name", name, "Mass", w.Mass(m), "Limit", w.Mass(mass(l.Ceiling))))
		case m < mass(l.Floor):
			list = append(list, w.T("off_floor", "Name", name, "Mass", w.Mass(m), "Limit", w.Mass(mass(l.Floor))))
		}
	}
	for _, q := range p.Pools() {
		if used := q.Used(func(i int) float64 { return float64(portions[i].Mass) / float64(p.Document.Step) }); used > 1+sharedRounding {
			unsafe = append(unsafe, q.Name)
			list = append(list, w.T("off_pool", "Name", q.Name, "Percent", w.Num(100*used, 0)))
		}
	}
	for i, g := range p.Groups {
		name := g.Name
		if c := p.Document.Groups[i]; c.Name == "" && c.Class != "" {
			name = w.Class(c.Class)
		}
		var sum nutrient.Mass
		for _, k := range g.Lines {
			sum += portions[k].Mass
		}
		switch {
		case sum > mass(g.Ceiling) && g.Ceiling < p.Steps:
			list = append(list, w.T("off_ceiling", "Name", name, "Mass", w.Mass(sum), "Limit", w.Mass(mass(g.Ceiling))))
		case sum < mass(g.Floor):
			list = append(list, w.T("off_floor", "Name", name, "Mass", w.Mass(sum), "Limit", w.Mass(mass(g.Floor))))
		}
	}
	return unsafe, list
}
