package formulate

import (
	"math"

	"firlot/analysis"
	"firlot/lp"
	"firlot/mix"
)

// coefficientDigits is how many digits a row's largest coefficient has before
// it is rounded to a whole number: with at most a million steps, row sums stay
// below 10¹⁴ and are exact in float64 (2⁵³ ≈ 9·10¹⁵). A figure's own digits
// (four or five) survive untouched.
const coefficientDigits = 8

// wholeSlack is how near a scaled coefficient must be to a whole number to
// count as one: decimals such as 0.1525 are not exact in binary, and their
// product with a power of ten errs by less than 10⁻⁷.
const wholeSlack = 1e-4

// edgeRow is one side of a window over all lines.
type edgeRow struct {
	coef   []float64 // whole numbers; the mix holds the edge when Σ coef·x ≥ 0
	spread []float64 // standard deviations on the same scale, rounded up
	scale  float64   // coef = scale × margin in the figure's unit
	fixed  bool      // the denominator is 1: margins are in the figure's unit
}

// newEdgeRow builds the row of an edge.
func newEdgeRow(p *mix.Plan, target int, e analysis.Edge) edgeRow {
	w := p.Targets[target].Window
	m := analysis.MeasureOf(w)
	rows := make([]analysis.Row, len(p.Lines))
	largest := 0.0
	for i, l := range p.Lines {
		rows[i] = analysis.RowOf(l.Form, m, e)
		largest = max(largest, math.Abs(rows[i].Worst))
	}
	r := edgeRow{scale: 1, coef: make([]float64, len(rows)), spread: make([]float64, len(rows)),
		fixed: m == analysis.Measure{Nutrient: m.Nutrient, Basis: "as fed", On: "offered"}}
	if largest > 0 {
		r.scale = math.Pow10(coefficientDigits - 1 - int(math.Floor(math.Log10(largest))))
	}
	for i, row := range rows {
		r.coef[i] = wholeDown(float64(row.Worst * r.scale))
		r.spread[i] = math.Ceil(norm(row.Parts) * r.scale)
	}
	return r
}

func wholeDown(v float64) float64 {
	if n := math.Round(v); math.Abs(v-n) <= wholeSlack {
		return n
	}
	return math.Floor(v)
}

func norm(parts []analysis.Part) float64 {
	s := 0.0
	for _, p := range parts {
		s += float64(p.Sigma * p.Sigma)
	}
	return math.Sqrt(s)
}

func (r edgeRow) hasSpread() bool {
	for _, s := range r.spread {
		if s > 0 {
			return true
		}
	}
	return false
}

// program is a plan's constraints, ready to be written into models.
type program struct {
	plan   *mix.Plan
	limits []limit
	rows   []edgeRow // one a limit; empty for other kinds than edges
}

func newProgram(p *mix.Plan) *program {
	g := &program{plan: p, limits: limits(p)}
	g.rows = make([]edgeRow, len(g.limits))
	for i, l := range g.limits {
		if l.kind == edgeLimit {
			g.rows[i] = newEdgeRow(p, l.index, l.edge)
		}
	}
	return g
}

// edges lists the indices of the limits that are edges of windows.
func (g *program) edges() []int {
	var list []int
	for i, l := range g.limits {
		if l.kind == edgeLimit {
			list = append(list, i)
		}
	}
	return list
}

// variant says how a model differs from the plain program.
type variant struct {
	answers bool         // its result is the answer, and is certified when asked for
	relaxed bool         // leave out whole steps, counts and nothing-or-at-least
	skip    map[int]bool // limits left out
	z       []float64    // one a limit: deviations to keep from an edge; nil: none
	cost    func(line int) (slope float64, breaks []lp.Break)
	extra   func(m *lp.Model, x []lp.Var)
}

// model writes the program. The objective of the program is the model's plus
// offset.
func (g *program) model(v variant) (m *lp.Model, x []lp.Var, offset float64) {
	m = lp.NewModel()
	bounds := g.bounds(v)
	x = make([]lp.Var, len(bounds))
	total := make([]lp.Term, len(bounds))
	for i, c := range bounds {
		if v.cost != nil {
			c.Cost, c.Breaks = v.cost(i)
			offset += foldBreaks(&c)
		}
		x[i] = m.AddColumn(c)
		total[i] = lp.Term{Var: x[i], Coef: 1}
	}
	n := float64(g.plan.Steps)
	m.AddRow(lp.Row{Name: "batch", Lo: n, Hi: n, Terms: total})
	for i, l := range g.limits {
		if !v.skip[i] {
			g.write(m, x, i, l, v)
		}
	}
	if v.extra != nil {
		v.extra(m, x)
	}
	return m, x, offset
}

// foldBreaks takes breaks at or below the lower bound into the slope, drops
// those at or above the upper, and returns the constant that this leaves out.
func foldBreaks(c *lp.Column) (offset float64) {
	var list []lp.Break
	for _, b := range c.Breaks {
		switch {
		case b.At <= c.Lo:
			c.Cost += b.Rise
			offset -= float64(b.Rise * b.At)
		case b.At < c.Hi:
			list = append(list, b)
		}
	}
	c.Breaks = list
	return offset
}

// bounds are the columns with the limits of single lines.
func (g *program) bounds(v variant) []lp.Column {
	cols := make([]lp.Column, len(g.plan.Lines))
	for i, l := range g.plan.Lines {
		cols[i] = lp.Column{Name: l.Form.Ref(), Hi: float64(g.plan.Steps), Integer: !v.relaxed}
	}
	for i, l := range g.limits {
		if v.skip[i] {
			continue
		}
		switch l.kind {
		case floorLimit:
			cols[l.index].Lo = float64(g.plan.Lines[l.index].Floor)
		case ceilingLimit:
			cols[l.index].Hi = float64(g.plan.Lines[l.index].Ceiling)
		case nothingOrLimit:
			cols[l.index].NothingOr = float64(g.plan.Lines[l.index].NothingOr)
		}
	}
	for i := range cols {
		if cols[i].NothingOr > cols[i].Hi {
			cols[i].Hi, cols[i].NothingOr = 0, 0
		}
		if cols[i].Lo > 0 && cols[i].NothingOr > 0 {
			cols[i].Lo, cols[i].NothingOr = max(cols[i].Lo, cols[i].NothingOr), 0
		}
		if v.relaxed {
			cols[i].NothingOr = 0
		}
	}
	return cols
}

func (g *program) write(m *lp.Model, x []lp.Var, i int, l limit, v variant) {
	p := g.plan
	switch l.kind {
	case edgeLimit:
		g.writeEdge(m, x, i, v)
	case groupFloor:
		m.AddRow(lp.Row{Name: l.what, Lo: float64(p.Groups[l.index].Floor), Hi: math.Inf(1), Terms: sum(x, p.Groups[l.index].Lines)})
	case groupCeiling:
		m.AddRow(lp.Row{Name: l.what, Lo: math.Inf(-1), Hi: float64(p.Groups[l.index].Ceiling), Terms: sum(x, p.Groups[l.index].Lines)})
	case groupCount:
		if !v.relaxed {
			gr := p.Groups[l.index]
			g.writeCount(m, x, l.what, gr.Lines, gr.Least, gr.Most, v)
		}
	case poolLimit:
		m.AddRow(poolRow(l.what, p.Pools()[l.index], x))
	case mixCount:
		if !v.relaxed {
			most := p.Document.MostIngredients
			if most == 0 {
				most = len(x)
			}
			lines := make([]int, len(x))
			for j := range lines {
				lines[j] = j
			}
			g.writeCount(m, x, l.what, lines, p.Document.LeastIngredients, most, v)
		}
	}
}

// writeCount limits how many of some lines are used. A line with a floor is
// used in every mix: it is counted here, and only the others by the solver.
// That floors alone do not use up the count is checked when a plan is made.
func (g *program) writeCount(m *lp.Model, x []lp.Var, name string, lines []int, least, most int, v variant) {
	bounds := g.bounds(v)
	var free []int
	for _, i := range lines {
		if bounds[i].Lo > 0 {
			least, most = least-1, most-1
		} else {
			free = append(free, i)
		}
	}
	m.AddCount(lp.Count{Name: name, Vars: pick(x, free), Least: max(least, 0), Most: max(most, 0)})
}

// poolScale turns the shares of a pool into whole numbers: rounded up they
// err by at most one part in 10¹² each, and the row forgives as many parts as
// there are steps, less than a millionth of the limit.
const poolScale = 1e12

// poolRow is Σ x/most ≤ 1.
func poolRow(name string, q mix.Pool, x []lp.Var) lp.Row {
	row := lp.Row{Name: name, Lo: math.Inf(-1), Hi: poolScale + mix.MaxSteps}
	for i, line := range q.Lines {
		coef := float64(2 * poolScale)
		if q.Most[i] > 0 {
			coef = min(math.Ceil(poolScale/q.Most[i]), coef)
		}
		row.Terms = append(row.Terms, lp.Term{Var: x[line], Coef: coef})
	}
	return row
}

func (g *program) writeEdge(m *lp.Model, x []lp.Var, i int, v variant) {
	r := g.rows[i]
	if v.z == nil || v.z[i] == 0 || !r.hasSpread() {
		m.AddRow(lp.Row{Name: g.limits[i].what, Lo: 0, Hi: math.Inf(1), Terms: terms(x, r.coef)})
		return
	}
	m.AddCone(lp.Cone{Name: g.limits[i].what, Lo: 0, Terms: terms(x, r.coef), Z: v.z[i], Spread: terms(x, r.spread)})
}

func terms(x []lp.Var, coef []float64) []lp.Term {
	var list []lp.Term
	for i, c := range coef {
		if c != 0 {
			list = append(list, lp.Term{Var: x[i], Coef: c})
		}
	}
	return list
}

func sum(x []lp.Var, lines []int) []lp.Term {
	list := make([]lp.Term, len(lines))
	for i, l := range lines {
		list[i] = lp.Term{Var: x[l], Coef: 1}
	}
	return list
}

func pick(x []lp.Var, lines []int) []lp.Var {
	list := make([]lp.Var, len(lines))
	for i, l := range lines {
		list[i] = x[l]
	}
	return list
}
