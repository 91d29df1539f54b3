package report

import (
	"fmt"

	"firlot/analysis"
	"firlot/mix"
	"firlot/nutrient"
)

// broken lists the limits that a mix does not keep, with the place of each.
// Limits are in whole scale steps; amounts as they stand need not be.
func broken(p *mix.Plan, portions []analysis.Portion) []Clash {
	var list []Clash
	add := func(field, format string, args ...any) {
		list = append(list, Clash{Field: field, What: fmt.Sprintf(format, args...)})
	}
	mass := func(steps int) nutrient.Mass { return nutrient.Mass(steps) * p.Document.Step }
	for i, l := range p.Lines {
		m, at, name := portions[i].Mass, fmt.Sprintf("line[%d]", i), l.Form.Name("en")
		switch {
		case m > mass(l.Ceiling):
			add(at+".ceiling", "%s is %v, above %s (%v)", name, m, l.CeilingWhy, mass(l.Ceiling))
		case m < mass(l.Floor):
			add(at+".floor", "%s is %v, below its floor (%v)", name, m, mass(l.Floor))
		case m > 0 && m < mass(l.NothingOr):
			add(at+".nothing_or", "%s is %v, neither nothing nor at least %v", name, m, mass(l.NothingOr))
		}
	}
	for _, q := range p.Pools() {
		used := q.Used(func(i int) float64 { return float64(portions[i].Mass) / float64(p.Document.Step) })
		if used > 1+usedUp {
			add("", "%s: its forms together use up %.0f %% of the inclusion limit that they share", q.Name, 100*used)
		}
	}
	for i, g := range p.Groups {
		at := fmt.Sprintf("group[%d]", i)
		sum, n := together(portions, g.Lines)
		switch {
		case sum > mass(g.Ceiling) && g.Ceiling < p.Steps:
			add(at+".ceiling", "%s together is %v, above its ceiling (%v)", g.Name, sum, mass(g.Ceiling))
		case sum < mass(g.Floor):
			add(at+".floor", "%s together is %v, below its floor (%v)", g.Name, sum, mass(g.Floor))
		}
		count(add, at+".", g.Name, n, g.Least, g.Most)
	}
	_, n := together(portions, nil)
	most := p.Document.MostIngredients
	if most == 0 {
		most = len(p.Lines)
	}
	count(add, "", "the mix", n, p.Document.LeastIngredients, most)
	return list
}

// usedUp forgives the rounding of shares of a limit.
const usedUp = 1e-6

// together adds up some lines, or all, and counts those that are used.
func together(portions []analysis.Portion, lines []int) (sum nutrient.Mass, used int) {
	add := func(i int) {
		sum += portions[i].Mass
		if portions[i].Mass > 0 {
			used++
		}
	}
	for _, i := range lines {
		add(i)
	}
	if lines == nil {
		for i := range portions {
			add(i)
		}
	}
	return sum, used
}

func count(add func(field, format string, args ...any), at, name string, n, least, most int) {
	switch {
	case n > most:
		add(at+"most_ingredients", "%s holds %d ingredients, more than %d", name, n, most)
	case n < least:
		add(at+"least_ingredients", "%s holds %d ingredients, fewer than %d", name, n, least)
	}
}
