package formulate

import (
	"math"

	"firlot/lp"
)

// ask is one question about a bowl.
type ask struct {
	total   int       // units in the batch; 0: free, up to most
	from    int       // of a free batch, the least; 0: the planned one
	slack   int       // the batch may be this much more than total
	z       []float64 // deviations to keep from each edge; nil: none
	widen   float64   // the share of its width by which an edge is moved outward
	firm    []bool    // edges that are not moved; nil: all may be
	blind   bool      // leave the windows out
	letGo   []bool    // limits that are not kept; nil: those broken already
	reopen  int       // the most finished lines that may get more; negative: any
	shut    []bool    // lines that get no more; nil: none
	relaxed bool
	goal    goalKind
	line    int // of goalLeast
	least   int // of goalLeast's line, a floor in units
}

type goalKind int

const (
	goalAny goalKind = iota
	goalNear
	goalTotal // the smallest batch
	goalLeast // the least of one line
)

// column is how a line stands in a model: its units are base and mult times v.
type column struct {
	v          lp.Var
	base, mult float64
}

// ends are a line's bounds in units. Rows hold what bounds cannot.
type ends struct{ lo, hi, nothingOr float64 }

// bowlModel is a model under way.
type bowlModel struct {
	*lp.Model
	m      *mender
	ask    ask
	cols   []column
	ends   []ends
	offset float64
	near   []int
}

// model writes an ask.
func (m *mender) model(a ask) *bowlModel {
	b := &bowlModel{Model: lp.NewModel(), m: m, ask: a, near: m.near}
	if a.goal == goalNear && a.total != m.batch {
		b.near = m.nearAt(a.total)
	}
	b.bounds()
	for i := range m.plan.Lines {
		b.column(i)
	}
	b.total()
	if !a.blind {
		for i := range m.edges {
			b.edge(i)
		}
	}
	for k, l := range m.limits {
		if !m.gone(a, k) {
			b.limit(l)
		}
	}
	b.reopened()
	return b
}

// gone reports whether limit k is not kept.
func (m *mender) gone(a ask, k int) bool {
	l := m.limits[k]
	switch {
	case l.safety || m.strict && a.letGo == nil:
		return false
	case a.letGo != nil:
		return a.letGo[k]
	}
	return m.broken(l)
}

// nearAt brings the planned mix to another batch.
func (m *mender) nearAt(total int) []int {
	shares := make([]float64, len(m.near))
	for i, n := range m.near {
		shares[i] = float64(n) / float64(m.batch) * float64(total)
	}
	return apportion(shares, total)
}

// largest is the most units that the batch may have.
func (b *bowlModel) largest() int {
	if b.ask.total > 0 {
		return b.ask.total + b.ask.slack
	}
	return b.m.most
}

// bounds are the ends of each line: what is in the bowl, what there is, and
// limits of single lines that do not follow a free batch.
func (b *bowlModel) bounds() {
	m, a := b.m, b.ask
	b.ends = make([]ends, len(m.plan.Lines))
	for i := range b.ends {
		b.ends[i] = ends{lo: float64(m.poured[i]), hi: float64(min(m.cap[i], b.largest()))}
		if a.goal == goalLeast && i == a.line {
			b.ends[i].lo = max(b.ends[i].lo, float64(a.least))
		}
		if a.reopen == 0 && m.finished[i] || a.shut != nil && a.shut[i] {
			b.ends[i].hi = b.ends[i].lo
		}
	}
	for k, l := range m.limits {
		if m.gone(a, k) || len(l.lines) != 1 || !b.fixed(l) {
			continue
		}
		e, at := &b.ends[l.lines[0]], m.units(l.amount, a.total)
		switch l.kind {
		case bowlFloor:
			e.lo = max(e.lo, math.Ceil(at-l.give-unitSlack))
		case bowlCeiling:
			// Below the floor only a row can stand, and say so.
			if hi := math.Floor(at + unitSlack); hi >= e.lo {
				e.hi = min(e.hi, hi)
			}
		case bowlNothingOr:
			e.nothingOr = math.Ceil(at - unitSlack)
		}
	}
}

// fixed reports whether a limit is a number of units in this model.
func (b *bowlModel) fixed(l bowlLimit) bool {
	switch l.kind {
	case bowlFloor, bowlCeiling, bowlNothingOr:
		return !l.amount.Share || b.ask.total > 0
	}
	return false
}

// column adds a line, in steps of its own. What is in the bowl and is no whole
// number of its steps, or is finished and counted when it gets more, counts
// the steps added to it. Where deviations are to be kept, a spread cannot
// have such a base, and a row links the two.
func (b *bowlModel) column(i int) {
	m, e := b.m, b.ends[i]
	mult, base := float64(m.step[i]), 0.0
	if m.poured[i]%m.step[i] != 0 || m.finished[i] && b.ask.reopen > 0 {
		base = float64(m.poured[i])
	}
	if e.nothingOr > 0 && (m.poured[i] > 0 || e.lo > 0) {
		e.lo, e.nothingOr = max(e.lo, e.nothingOr), 0
	}
	col := lp.Column{Name: m.plan.Lines[i].Form.Ref(), Integer: !b.ask.relaxed}
	col.Lo, col.Hi = (e.lo-base)/mult, (e.hi-base)/mult
	if !b.ask.relaxed {
		col.Lo, col.Hi = math.Ceil(col.Lo), math.Floor(col.Hi)
	}
	clash := col.Lo > col.Hi
	if clash {
		col.Lo, col.Hi = col.Hi, col.Lo
	}
	if e.nothingOr > 0 && !b.ask.relaxed && !clash {
		if col.NothingOr = math.Ceil(e.nothingOr / mult); col.NothingOr > col.Hi {
			col.Hi, col.NothingOr = 0, 0
		}
	}
	c := column{base: base, mult: mult}
	b.offset += b.cost(&col, i, c)
	c.v = b.AddColumn(col)
	if clash { // the ends clash: rows say so, and can be proved with
		b.AddRow(lp.Row{Name: col.Name, Lo: col.Hi, Hi: math.Inf(1), Terms: []lp.Term{{Var: c.v, Coef: 1}}})
		b.AddRow(lp.Row{Name: col.Name, Lo: math.Inf(-1), Hi: col.Lo, Terms: []lp.Term{{Var: c.v, Coef: 1}}})
	}
	if base != 0 && b.ask.z != nil {
		whole := b.AddColumn(lp.Column{Name: col.Name, Lo: float64(col.Lo*mult) + base, Hi: float64(col.Hi*mult) + base})
		b.AddRow(lp.Row{Name: col.Name, Lo: base, Hi: base, Terms: []lp.Term{{Var: whole, Coef: 1}, {Var: c.v, Coef: -mult}}})
		c = column{v: whole, mult: 1}
	}
	b.cols = append(b.cols, c)
}

// cost writes a line's part of the goal, and returns what it leaves out.
func (b *bowlModel) cost(col *lp.Column, i int, c column) float64 {
	switch b.ask.goal {
	case goalTotal:
		col.Cost = c.mult
		return c.base
	case goalLeast:
		if i == b.ask.line {
			col.Cost = c.mult
			return c.base
		}
	case goalNear:
		at := float64(b.near[i]) - c.base
		col.Cost, col.Breaks = -c.mult, []lp.Break{{At: at / c.mult, Rise: 2 * c.mult}}
		return at + foldBreaks(col)
	}
	return 0
}

func (b *bowlModel) total() {
	lo, hi := float64(b.ask.total), float64(b.ask.total+b.ask.slack)
	if b.ask.total == 0 {
		lo, hi = float64(max(b.ask.from, b.m.batch)), float64(b.m.most)
	}
	b.row("batch", b.over(nil, 1, 0), lo, hi)
}

// over is coef for some lines (nil: all) and every for all of them.
func (b *bowlModel) over(lines []int, coef, every float64) []float64 {
	sum := make([]float64, len(b.cols))
	for i := range sum {
		sum[i] = every
	}
	if lines == nil {
		for i := range sum {
			sum[i] += coef
		}
	}
	for _, i := range lines {
		sum[i] += coef
	}
	return sum
}

// row adds lo ≤ Σ coef·x ≤ hi, with x in units.
func (b *bowlModel) row(name string, coef []float64, lo, hi float64) {
	base := 0.0
	for i, c := range b.cols {
		base += float64(coef[i] * c.base)
	}
	b.AddRow(lp.Row{Name: name, Lo: lo - base, Hi: hi - base, Terms: b.with(coef)})
}

// with are the terms of a coefficient a line, in units.
func (b *bowlModel) with(coef []float64) []lp.Term {
	var list []lp.Term
	for i, c := range b.cols {
		if coef[i] != 0 {
			list = append(list, lp.Term{Var: c.v, Coef: float64(coef[i] * c.mult)})
		}
	}
	return list
}

func (b *bowlModel) edge(i int) {
	a, e := b.ask, b.m.edges[i]
	r := e.row
	if a.widen > 0 && (a.firm == nil || !a.firm[i]) {
		r = b.m.widened(i, a.widen)
	}
	what := edgeWords(b.m.plan.Targets[e.target].Window, e.edge)
	if a.z == nil || a.z[i] == 0 || !r.hasSpread() {
		b.row(what, r.coef, 0, math.Inf(1))
		return
	}
	b.AddCone(lp.Cone{Name: what, Terms: b.with(r.coef), Z: a.z[i], Spread: b.with(r.spread)})
}

// percentScale makes shares of the batch whole numbers: x ≤ p/100·Σx is
// 100·10⁶·x − 10⁶p·Σx ≤ 0, with p to six decimals.
const percentScale = 1e6

func (b *bowlModel) limit(l bowlLimit) {
	switch {
	case l.kind == bowlCount:
		b.count(l)
	case l.kind == bowlPool:
		b.pool(l)
	case l.kind == bowlNothingOr:
		// With a free batch, a share of it to be reached or left at nothing is
		// asked for only of what is in the bowl; fixed again, it is held.
		if !b.fixed(l) && b.m.poured[l.lines[0]] > 0 {
			b.share(l, true)
		}
	case b.fixed(l):
		b.sum(l)
	default:
		b.share(l, l.kind == bowlFloor)
	}
}

// sum is a limit of a number of units; of a single line a bound says it
// already, unless it clashes.
func (b *bowlModel) sum(l bowlLimit) {
	at := b.m.units(l.amount, b.ask.total)
	single := len(l.lines) == 1
	switch {
	case l.kind == bowlCeiling && !(single && b.ends[l.lines[0]].hi <= math.Floor(at+unitSlack)):
		b.row(l.what, b.over(l.lines, 1, 0), math.Inf(-1), math.Floor(at+unitSlack))
	case l.kind == bowlFloor && !single:
		b.row(l.what, b.over(l.lines, 1, 0), math.Ceil(at-l.give-unitSlack), math.Inf(1))
	}
}

// share is a limit that follows the batch.
func (b *bowlModel) share(l bowlLimit, floor bool) {
	p := math.Round(l.amount.Percent * percentScale)
	coef := b.over(l.lines, 100*percentScale, -p)
	if floor {
		b.row(l.what, coef, -math.Floor(l.give*100*percentScale), math.Inf(1))
	} else {
		b.row(l.what, coef, math.Inf(-1), 0)
	}
}

// bowlPoolScale turns the shares of a pool into whole numbers, rounded up:
// they err by less than one part in 10⁹ each.
const bowlPoolScale = 1e9

// pool is Σ x·(100/share) ≤ Σ x. The rounding of its coefficients is forgiven:
// at most one part in 10⁹ of the batch for each line.
func (b *bowlModel) pool(l bowlLimit) {
	sum := make([]float64, len(b.cols))
	for i := range sum {
		sum[i] = -bowlPoolScale
	}
	for k, i := range l.lines {
		c := 1e4 * bowlPoolScale // a share of nothing, or next to it
		if s := l.share[k]; s > 0 {
			c = min(math.Ceil(100*bowlPoolScale/s), c)
		}
		sum[i] += c
	}
	b.row(l.what, sum, math.Inf(-1), float64(b.largest()))
}

// count limits how many lines are used. What is in the bowl is used.
func (b *bowlModel) count(l bowlLimit) {
	if b.ask.relaxed {
		return
	}
	least, most := l.least, l.most
	var free []lp.Var
	for _, i := range l.lines {
		if b.m.poured[i] > 0 || b.Model.Column(b.cols[i].v).Lo > 0 {
			least, most = least-1, most-1
		} else {
			free = append(free, b.cols[i].v)
		}
	}
	if most < 0 { // more are used than allowed: a row that cannot hold says so
		b.AddRow(lp.Row{Name: l.what, Lo: 1, Hi: math.Inf(1)})
		return
	}
	b.AddCount(lp.Count{Name: l.what, Vars: free, Least: max(least, 0), Most: max(most, max(least, 0))})
}

// reopened limits how many finished lines get more.
func (b *bowlModel) reopened() {
	if b.ask.reopen <= 0 || b.ask.relaxed {
		return
	}
	var more []lp.Var
	for i, c := range b.cols {
		if b.m.finished[i] {
			more = append(more, c.v)
		}
	}
	b.AddCount(lp.Count{Name: "finished lines opened anew", Vars: more, Most: min(b.ask.reopen, len(more))})
}

// amounts reads a point back, in units.
func (b *bowlModel) amounts(x []float64) []float64 {
	out := make([]float64, len(b.cols))
	for i, c := range b.cols {
		out[i] = c.base + float64(x[c.v]*c.mult)
	}
	return out
}

// limitMet reports whether whole amounts keep a limit in their batch.
func (m *mender) limitMet(l bowlLimit, x []int) bool {
	total, have, used, part := 0, 0, 0, 0.0
	for _, n := range x {
		total += n
	}
	for k, i := range l.lines {
		have += x[i]
		if x[i] > 0 {
			used++
		}
		if l.kind == bowlPool && x[i] > 0 {
			part += float64(x[i]) * 100 / l.share[k]
		}
	}
	at := m.units(l.amount, total)
	switch l.kind {
	case bowlFloor:
		return float64(have) >= at-l.give-unitSlack
	case bowlCeiling:
		return float64(have) <= at+unitSlack
	case bowlNothingOr:
		return have == 0 || float64(have) >= at-unitSlack
	case bowlCount:
		return used >= l.least && used <= l.most
	}
	return part <= float64(total)+poolSlack
}

// poolSlack is what the rounding of a pool's coefficients can add up to: 200
// lines of a part in 10⁹ of at most maxUnits units, and the row's own slack.
const poolSlack = 3
