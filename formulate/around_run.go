package formulate

import (
	"fmt"
	"math"
	"slices"

	"firlot/analysis"
	"firlot/lp"
	"firlot/needs"
	"firlot/nutrient"
)

// sureNodes and surePart bound a search for a mix that keeps deviations.
const (
	sureNodes = 60
	surePart  = 0.005
)

// mendNodes bounds each of the searches around a bowl: a keeper stands at the
// scale.
const mendNodes = 2000

// found is a mix around a bowl, in units, or that there is none.
type found struct {
	x       []int // nil: there is none
	none    bool  // proved
	stopped bool  // neither a mix nor a proof
	bound   float64
	best    bool // proved best, to the gap
	fewest  bool // proved: no fewer lines are reopened
	total   int
	joint   float64
	sure    bool
	late    bool // a limit on the work was reached before it was as sure as can be
	claims  []Claim
}

// run solves an ask exactly.
func (m *mender) run(a ask) (*found, *lp.Certificate, error) {
	b := m.model(a)
	gap, nodes := m.effort(a)
	r, err := lp.Solve(m.ctx, b.Model, lp.Options{Gap: gap, Nodes: nodes, Progress: m.options.Progress, Proof: m.options.Proof})
	if err != nil {
		return nil, nil, fmt.Errorf("the model of the bowl is wrong: %w", err)
	}
	m.nodes += r.Nodes
	f := &found{none: r.Status == lp.Infeasible, best: r.Status == lp.Optimal, bound: r.Bound + b.offset}
	f.stopped = !f.none && r.X == nil
	if r.Status == lp.Unbounded {
		return nil, nil, fmt.Errorf("the solver ended with %v", r.Status)
	}
	if r.X != nil {
		f.x = make([]int, len(b.cols))
		for i, v := range b.amounts(r.X) {
			f.x[i] = int(math.Round(v))
			f.total += f.x[i]
		}
	}
	return f, r.Proof, nil
}

// effort is the gap at which a search stops, and its most nodes. What keeps
// deviations is one of several tries, none of which rules a mix out: it is
// looked for less long.
func (m *mender) effort(a ask) (gap float64, nodes int) {
	if a.goal == goalNear {
		gap = m.nearGap(a.total)
	}
	if nodes = m.options.Nodes; nodes == 0 {
		nodes = mendNodes
	}
	if a.z != nil {
		nodes = min(nodes, sureNodes)
		gap = max(gap, surePart*float64(max(a.total, m.batch)))
	}
	return gap, nodes
}

// nearGap is the gap of the grams moved: as in Solve a share of the batch. A
// gram moved counts twice here, once in each line.
func (m *mender) nearGap(total int) float64 {
	switch g := m.options.Gap; {
	case g < 0:
		return 0
	case g == 0:
		return 2 * DefaultGap * float64(total)
	default:
		return 2 * g * float64(total)
	}
}

// draft guesses at an ask in float64, whole steps and counts left out.
func (m *mender) draft(a ask) (x []float64, ok bool, err error) {
	a.relaxed, a.reopen = true, min(a.reopen, 0)
	b := m.model(a)
	d, err := lp.Sketch(m.ctx, b.Model)
	switch {
	case err != nil:
		return nil, false, err
	case d.Status == lp.Stopped || m.ctx.Err() != nil:
		return nil, false, errStopped{lp.Stopped}
	case d.Status == lp.Infeasible || d.X == nil:
		return nil, false, nil
	}
	return b.amounts(d.X), true, nil
}

// claim keeps a certificate.
func (m *mender) claim(what string, c *lp.Certificate) {
	if c != nil {
		m.claims = append(m.claims, Claim{what, c})
	}
}

// settle finds the mix of a batch that opens the fewest finished lines anew
// and, among these, moves least. With deviations to keep, lines are closed one
// by one instead, see close.
func (m *mender) settle(a ask) (*found, error) {
	a.goal, a.slack = goalNear, m.slackFor(a.total)
	if a.z != nil {
		return m.settleSurely(a)
	}
	fewest := true
	var claims []Claim
	try := func(goal goalKind, k int) (*found, error) {
		if k >= m.closed {
			k = -1
		}
		a.goal = goal
		f, proof, err := m.run(withReopen(a, k))
		if err == nil && proof != nil {
			if c := m.claimOf(a, f, k); c != "" {
				claims = append(claims, Claim{c, proof})
			}
		}
		return f, err
	}
	_, ok, err := m.draft(withReopen(a, -1))
	if err != nil {
		return nil, err
	}
	if !ok { // a draft is a guess: it is proved, or else gone on from
		if f, err := try(goalAny, m.closed); err != nil || f.x == nil {
			return f.with(fewest, claims), err
		}
	}
	// No line opened anew is what happens most; otherwise the fewest are found
	// by halving.
	f, err := try(goalNear, 0)
	if err != nil || f.x != nil || m.closed == 0 {
		return f.with(fewest, claims), err
	}
	no, yes := 0, m.closed
	fewest = f.none
	for yes-no > 1 {
		mid := (no + yes) / 2
		f, err := try(goalAny, mid)
		if err != nil {
			return nil, err
		}
		if f.x != nil {
			yes = mid
		} else {
			no, fewest = mid, fewest && f.none
		}
	}
	f, err = try(goalNear, yes)
	return f.with(fewest, claims), err
}

// with adds what settling has proved.
func (f *found) with(fewest bool, claims []Claim) *found {
	if f != nil {
		f.fewest, f.claims = fewest && f.x != nil, claims
	}
	return f
}

// settleSurely opens no finished line where that will do. Otherwise it closes
// the lines that get more one by one, the one that gets least first, as long
// as a mix is left: none of those that stay open can be closed by itself, but
// that fewer would do is not ruled out.
func (m *mender) settleSurely(a ask) (*found, error) {
	if m.closed > 0 {
		if f, err := m.tried(withReopen(a, 0)); err != nil || f != nil {
			return f, err
		}
	}
	best, err := m.tried(withReopen(a, -1))
	if err != nil {
		return nil, err
	}
	if best == nil {
		return &found{none: true}, nil
	}
	a.shut = make([]bool, len(m.poured))
	kept := make([]bool, len(m.poured))
	for {
		i := m.leastOpened(best.x, kept)
		if i < 0 {
			return best, nil
		}
		a.shut[i], kept[i] = true, true
		f, err := m.tried(withReopen(a, -1))
		if err != nil {
			return nil, err
		}
		if a.shut[i] = f != nil; f != nil {
			best = f
		}
	}
}

// leastOpened is the finished line that gets least more, of those not tried
// yet; -1 when there is none.
func (m *mender) leastOpened(x []int, tried []bool) int {
	least := -1
	for i, n := range x {
		if m.finished[i] && !tried[i] && n > m.poured[i] && (least < 0 || n-m.poured[i] < x[least]-m.poured[least]) {
			least = i
		}
	}
	return least
}

// tried is the mix of an ask with deviations to keep; nil when none is found.
func (m *mender) tried(a ask) (*found, error) {
	if _, ok, err := m.draft(a); err != nil || !ok {
		return nil, err
	}
	f, proof, err := m.run(a)
	if err != nil || f.x == nil {
		return nil, err
	}
	if c := m.claimOf(a, f, -1); c != "" && proof != nil {
		f.claims = []Claim{{c, proof}}
	}
	return f, nil
}

// claimOf says what a solve of one batch has proved. With deviations asked for
// only a mix that was found is worth a word: another sharing may do where this
// one rules every mix out.
func (m *mender) claimOf(a ask, f *found, k int) string {
	inside := "inside its windows"
	if a.widen > 0 {
		inside = fmt.Sprintf("inside windows of which some are widened by %s of their widths", trim(a.widen))
	}
	if a.z != nil {
		inside += " with the deviations asked for"
	}
	only := ""
	if a.shut != nil || a.z != nil && a.reopen == 0 {
		only = " that opens no other finished line"
	} else if k >= 0 && m.closed > 0 {
		only = " that opens no more than " + opened(k)
	}
	switch {
	case f.x != nil && f.best && a.goal == goalNear:
		return fmt.Sprintf("no mix of %v %s%s moves less, but for the gap", m.mass(a.total), inside, only)
	case f.none && a.z == nil:
		return fmt.Sprintf("no mix of %v is %s%s", m.mass(a.total), inside, only)
	}
	return ""
}

func opened(k int) string {
	if k == 1 {
		return "1 finished line anew"
	}
	return fmt.Sprintf("%d finished lines anew", k)
}

func withReopen(a ask, k int) ask { a.reopen = k; return a }

// slackFor is by how much a batch may be missed upward because what is in the
// bowl is no whole number of steps: less than the coarsest step. A trace on
// the fine scale could make up the rest, but not with so much more of it that
// the batch is right to the step of the other.
func (m *mender) slackFor(total int) int {
	coarse, rest := 0, total
	for i, s := range m.step {
		rest -= m.poured[i]
		if m.cap[i] >= m.poured[i]+s {
			coarse = max(coarse, s)
		}
	}
	if coarse == 0 || rest%coarse == 0 {
		return 0
	}
	return coarse - 1
}

func (m *mender) mass(units int) nutrient.Mass { return nutrient.Mass(units) * m.unit }

func (m *mender) masses(x []int) []nutrient.Mass {
	out := make([]nutrient.Mass, len(x))
	for i, n := range x {
		out[i] = m.mass(n)
	}
	return out
}

func (m *mender) sureness() float64 { return m.plan.Document.Sureness }

// jointOf is the chance of whole amounts to lie inside all windows.
func (m *mender) jointOf(x []int) float64 {
	return analysis.Joint(portions(m.plan, m.masses(x)), m.windows())
}

func (m *mender) windows() []needs.Window { return windows(m.plan) }

// report shapes a mix that was found.
func (m *mender) report(o Outcome, f *found) *Mended {
	out := &Mended{Outcome: o, Plan: m.plan, Amounts: m.masses(f.x), Batch: m.mass(f.total), Fewest: f.fewest,
		Joint: f.joint, Sure: f.sure, Claims: append(m.claims[:len(m.claims):len(m.claims)], f.claims...), Nodes: m.nodes, Notes: append([]string(nil), m.plan.Notes...)}
	if !f.best {
		out.Notes = append(out.Notes, "a limit on the work was reached; another mix may move less")
	}
	if f.late {
		out.late()
	}
	near := m.near
	if f.total != m.batch {
		near = m.nearAt(f.total)
	}
	moved := 0
	for i, n := range f.x {
		moved += abs(n - near[i])
		if m.finished[i] && n > m.poured[i] {
			out.Reopened = append(out.Reopened, i)
		}
	}
	out.Moved = m.mass(moved) / 2
	mixed := portions(m.plan, out.Amounts)
	for _, t := range m.plan.Targets {
		out.Checks = append(out.Checks, analysis.CheckWindow(mixed, t.Window))
	}
	for _, l := range m.limits {
		if !m.limitMet(l, f.x) {
			out.LetGo = append(out.LetGo, l.what)
		}
	}
	return out
}

// late notes that what might be surer was not all looked for.
func (out *Mended) late() *Mended {
	const note = "a limit on the work was reached before all was tried to make it surer"
	if !slices.Contains(out.Notes, note) {
		out.Notes = append(out.Notes, note)
	}
	return out
}

func (m *mender) unsettled() *Mended {
	return &Mended{Outcome: Unsettled, Plan: m.plan, Nodes: m.nodes,
		Notes: []string{"a limit on the work was reached before a mix was found or ruled out"}}
}
