package formulate

import (
	"fmt"
	"math"
	"slices"

	"firlot/analysis"
	"firlot/mix"
	"firlot/needs"
	"firlot/nutrient"
)

// bowlEdge is one side of a window.
type bowlEdge struct {
	target int
	edge   analysis.Edge
	row    edgeRow
	width  float64 // of its window, in the figure's unit
}

func (m *mender) readEdges() {
	for i, t := range m.plan.Targets {
		for _, e := range analysis.Edges(t.Window) {
			m.edges = append(m.edges, bowlEdge{target: i, edge: e, row: newEdgeRow(m.plan, i, e), width: spanOf(t.Window)})
		}
	}
}

// spanOf is the width of a window, by which misses are measured: of one with
// a single bound, or of a single value, the bound; of one at nothing, one
// unit.
func spanOf(w needs.Window) float64 {
	if v := widthOf(w); v > 0 {
		return v
	}
	if w.Max != nil && *w.Max > 0 {
		return *w.Max
	}
	return 1
}

// widened is the row of an edge moved outward by a share of the width.
func (m *mender) widened(i int, share float64) edgeRow {
	e := m.edges[i]
	if share == 0 {
		return e.row
	}
	to := e.edge
	if to.Upper {
		to.Bound += float64(share * e.width)
	} else {
		to.Bound = max(to.Bound-float64(share*e.width), 0)
	}
	return newEdgeRow(m.plan, e.target, to)
}

// bowlLimit is one limit that is not a window.
type bowlLimit struct {
	kind   bowlKind
	lines  []int
	amount mix.Amount // of floors, ceilings and nothing-or-at-least
	give   float64    // of a floor: it may be missed by this many units
	share  []float64  // of a pool: the most of each line, % of the batch
	least  int        // of counts
	most   int
	safety bool
	what   string
}

type bowlKind int

const (
	bowlFloor bowlKind = iota
	bowlCeiling
	bowlNothingOr
	bowlCount
	bowlPool
)

// readLimits lists the limits of the document and of safety. Amounts in grams
// belong to the document's batch and are brought to the bowl's; shares follow
// whatever the batch becomes.
func (m *mender) readLimits() {
	for i, l := range m.plan.Document.Lines {
		name := m.plan.Lines[i].Form.Name("en")
		m.limit(bowlFloor, []int{i}, l.Floor, name)
		m.limit(bowlCeiling, []int{i}, l.Ceiling, name)
		m.limit(bowlNothingOr, []int{i}, l.NothingOr, name)
		if l.OnHand.Set {
			have := int(math.Floor(l.OnHand.Mass.Grams() * m.scaled() / m.unit.Grams()))
			m.cap[i] = min(m.cap[i], max(have, m.poured[i]))
		}
	}
	for i, g := range m.plan.Groups {
		d := m.plan.Document.Groups[i]
		m.limit(bowlFloor, g.Lines, d.Floor, g.Name+" together")
		m.limit(bowlCeiling, g.Lines, d.Ceiling, g.Name+" together")
		if g.Least > 0 || g.Most < len(g.Lines) {
			m.limits = append(m.limits, bowlLimit{kind: bowlCount, lines: g.Lines, least: g.Least, most: g.Most, what: countWords(g.Name, g.Least, g.Most)})
		}
	}
	if d := m.plan.Document; d.MostIngredients > 0 || d.LeastIngredients > 0 {
		most := d.MostIngredients
		if most == 0 {
			most = len(m.plan.Lines)
		}
		all := make([]int, len(m.plan.Lines))
		for i := range all {
			all[i] = i
		}
		m.limits = append(m.limits, bowlLimit{kind: bowlCount, lines: all, least: d.LeastIngredients, most: most, what: countWords("the mix", d.LeastIngredients, d.MostIngredients)})
	}
	m.readSafety()
	m.yield()
}

// yield lets a floor be missed by less than a step where its ceiling is less
// than a step above it: an amount that is fixed need not be a whole number of
// steps in another batch than the document's.
func (m *mender) yield() {
	for k := range m.limits {
		f := &m.limits[k]
		if f.kind != bowlFloor {
			continue
		}
		step := 0
		for _, i := range f.lines {
			step = int(gcd(nutrient.Mass(m.step[i]), nutrient.Mass(step)))
		}
		at := m.units(f.amount, m.batch)
		for _, c := range m.limits {
			if c.kind == bowlCeiling && slices.Equal(c.lines, f.lines) && m.units(c.amount, m.batch)-at < float64(step)-unitSlack {
				f.give = float64(step) - 3*unitSlack
			}
		}
	}
}

// limit adds a floor, a ceiling or a nothing-or-at-least that is set.
func (m *mender) limit(kind bowlKind, lines []int, a mix.Amount, name string) {
	if !a.Set || kind != bowlCeiling && a.Mass == 0 && a.Percent == 0 {
		return
	}
	if !a.Share {
		a.Mass = nutrient.Mass(math.Round(float64(a.Mass) * m.scaled()))
	}
	words := map[bowlKind]string{bowlFloor: "%s at least %s", bowlCeiling: "%s at most %s", bowlNothingOr: "%s either none or at least %s"}
	m.limits = append(m.limits, bowlLimit{kind: kind, lines: lines, amount: a, what: fmt.Sprintf(words[kind], name, amountText(a))})
}

// scaled is the bowl's share of the document's batch.
func (m *mender) scaled() float64 { return float64(m.of) / float64(m.plan.Batch()) }

func amountText(a mix.Amount) string {
	if a.Share {
		return trim(a.Percent) + " %"
	}
	return a.Mass.String()
}

// readSafety adds the inclusion limits: of each line alone, and those that
// several lines share.
func (m *mender) readSafety() {
	at := map[string]int{}
	var pools []bowlLimit
	for i, l := range m.plan.Lines {
		for _, inc := range m.plan.Inclusions(l.Form) {
			a := mix.Amount{Set: true, Share: true, Percent: inc.Percent}
			what := fmt.Sprintf("%s at most %s (the inclusion limit of %s)", l.Form.Name("en"), amountText(a), amountText(a))
			m.limits = append(m.limits, bowlLimit{kind: bowlCeiling, lines: []int{i}, amount: a, safety: true, what: what})
			k, ok := at[inc.Pool]
			if !ok {
				k = len(pools)
				at[inc.Pool] = k
				pools = append(pools, bowlLimit{kind: bowlPool, safety: true})
			}
			p := &pools[k]
			if n := len(p.lines); n > 0 && p.lines[n-1] == i {
				p.share[n-1] = min(p.share[n-1], inc.Percent)
				continue
			}
			p.lines, p.share = append(p.lines, i), append(p.share, inc.Percent)
		}
	}
	for _, p := range pools {
		if len(p.lines) > 1 {
			p.what = poolWords(m.plan, mix.Pool{Lines: p.lines})
			m.limits = append(m.limits, p)
		}
	}
}

// broken reports whether what is in the bowl, or what the jars can still
// give, breaks a limit of the document in the planned batch, whatever is
// poured from here on.
func (m *mender) broken(l bowlLimit) bool {
	have, could, used := 0, 0, 0
	for _, i := range l.lines {
		have += m.poured[i]
		could += min(m.cap[i], max(m.batch, m.poured[i]))
		if m.poured[i] > 0 {
			used++
		}
	}
	switch at := m.units(l.amount, m.batch); l.kind {
	case bowlCeiling:
		return float64(have) > at+unitSlack
	case bowlFloor:
		return float64(could) < at-l.give-unitSlack
	case bowlNothingOr:
		return have > 0 && float64(could) < at-unitSlack
	case bowlCount:
		return used > l.most
	}
	return false
}

// units is an amount in units, not rounded, of a batch in units.
func (m *mender) units(a mix.Amount, total int) float64 {
	if a.Share {
		return a.Percent / 100 * float64(total)
	}
	return float64(a.Mass) / float64(m.unit)
}

// unitSlack forgives the rounding of a share of a batch: 12 % of 1,000 units
// must be 120 although 0.12 × 1000 is not exact in binary. It is far above
// the relative error 2⁻⁵² × maxUnits.
const unitSlack = 1e-6
