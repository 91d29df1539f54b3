package formulate

import (
	"fmt"
	"strconv"
	"strings"

	"firlot/analysis"
	"firlot/mix"
	"firlot/needs"
	"firlot/nutrient"
)

// kind of a limit.
type kind int

const (
	edgeLimit kind = iota
	floorLimit
	ceilingLimit
	nothingOrLimit
	groupFloor
	groupCeiling
	groupCount
	mixCount
	poolLimit // a shared inclusion limit, never moved
)

// limit is one thing that the mix must respect, apart from adding up to the
// batch. Limits are what a clash is made of.
type limit struct {
	kind  kind
	index int // of the target, line or group
	edge  analysis.Edge
	path  string
	what  string
}

// limits lists everything that a plan asks for, single lines first and
// windows last, so that a smallest clash keeps the windows.
func limits(p *mix.Plan) []limit {
	var list []limit
	for i, l := range p.Lines {
		list = append(list, lineLimits(p, i, l)...)
	}
	for i, g := range p.Groups {
		list = append(list, groupLimits(p, i, g)...)
	}
	for i, q := range p.Pools() {
		list = append(list, limit{kind: poolLimit, index: i, what: poolWords(p, q)})
	}
	if p.Document.MostIngredients > 0 || p.Document.LeastIngredients > 0 {
		list = append(list, limit{kind: mixCount, path: "most_ingredients", what: countWords("the mix", p.Document.LeastIngredients, p.Document.MostIngredients)})
	}
	for i, t := range p.Targets {
		for _, e := range analysis.Edges(t.Window) {
			list = append(list, limit{kind: edgeLimit, index: i, edge: e, path: t.Path, what: edgeWords(t.Window, e)})
		}
	}
	return list
}

func lineLimits(p *mix.Plan, i int, l mix.PlanLine) []limit {
	at, name := fmt.Sprintf("line[%d]", i), l.Form.Name("en")
	var list []limit
	if l.Floor > 0 {
		list = append(list, limit{kind: floorLimit, index: i, path: at + ".floor",
			what: fmt.Sprintf("%s at least %v", name, mass(p, l.Floor))})
	}
	if l.NothingOr > 1 {
		list = append(list, limit{kind: nothingOrLimit, index: i, path: at + ".nothing_or",
			what: fmt.Sprintf("%s either none or at least %v", name, mass(p, l.NothingOr))})
	}
	if l.Ceiling < p.Steps {
		list = append(list, limit{kind: ceilingLimit, index: i, path: at + ".ceiling",
			what: fmt.Sprintf("%s at most %v (%s)", name, mass(p, l.Ceiling), l.CeilingWhy)})
	}
	return list
}

// poolWords says a shared inclusion limit, for example "the inclusion limit
// that oat groats and rolled oats share".
func poolWords(p *mix.Plan, q mix.Pool) string {
	var names []string
	for _, i := range q.Lines {
		names = append(names, p.Lines[i].Form.Name("en"))
	}
	return "the inclusion limit that " + strings.Join(names, " and ") + " share"
}

func groupLimits(p *mix.Plan, i int, g mix.PlanGroup) []limit {
	at := fmt.Sprintf("group[%d]", i)
	var list []limit
	if g.Floor > 0 {
		list = append(list, limit{kind: groupFloor, index: i, path: at + ".floor", what: fmt.Sprintf("%s together at least %v", g.Name, mass(p, g.Floor))})
	}
	if g.Ceiling < p.Steps {
		list = append(list, limit{kind: groupCeiling, index: i, path: at + ".ceiling", what: fmt.Sprintf("%s together at most %v", g.Name, mass(p, g.Ceiling))})
	}
	if g.Least > 0 || g.Most < len(g.Lines) {
		list = append(list, limit{kind: groupCount, index: i, path: at + ".most_ingredients", what: countWords(g.Name, g.Least, g.Most)})
	}
	return list
}

func mass(p *mix.Plan, steps int) nutrient.Mass { return nutrient.Mass(steps) * p.Document.Step }

func countWords(name string, least, most int) string {
	switch {
	case most == 0:
		return fmt.Sprintf("%s of at least %d ingredients", name, least)
	case least == 0:
		return fmt.Sprintf("%s of at most %d ingredients", name, most)
	}
	return fmt.Sprintf("%s of %d to %d ingredients", name, least, most)
}

// edgeWords says one side of a window in words, for example "crude fibre at
// least 6 %".
func edgeWords(w needs.Window, e analysis.Edge) string {
	word := "at least"
	if e.Upper {
		word = "at most"
	}
	return fmt.Sprintf("%s %s %s", measureWords(w), word, amountWords(w, e.Bound))
}

func measureWords(w needs.Window) string {
	info, _ := nutrient.Lookup(w.Nutrient)
	s := info.Name
	if w.Per != "" {
		per, _ := nutrient.Lookup(w.Per)
		s = info.Name + " to " + per.Name
	}
	if w.Basis == nutrient.DryMatter {
		s += " on dry matter"
	}
	if w.On == needs.Eaten {
		s += " as eaten"
	}
	return s
}

func amountWords(w needs.Window, v float64) string {
	unit := analysis.MeasureOf(w).Unit()
	return strings.TrimSpace(trim(v) + " " + string(unit))
}

// trim prints a number without the noise of its last binary digits: to ten
// significant ones, far more than any bound has.
func trim(v float64) string {
	short, err := strconv.ParseFloat(strconv.FormatFloat(v, 'g', 10, 64), 64)
	if err != nil {
		short = v
	}
	return strconv.FormatFloat(short, 'f', -1, 64)
}
