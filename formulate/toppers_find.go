package formulate

import (
	"fmt"
	"math"

	"firlot/analysis"
	"firlot/lp"
	"firlot/nutrient"
)

// baseNodes bounds each search for a base.
const baseNodes = 4000

// basePoint is a base with its toppers, in steps.
type basePoint struct {
	base    []int
	mixes   [][]int // by stage and line
	largest int
	total   int
	// least are the proved bounds of the two.
	leastLargest, leastTotal int
	x                        []float64
	claims                   []Claim
}

// run solves an ask exactly; a nil point and true say that there is none.
func (b *baser) run(a baseAsk, start []float64) (p *basePoint, none bool, bound float64, proof *lp.Certificate, err error) {
	m := b.model(a)
	gap := 0.0
	switch {
	case a.goal == baseNear:
		gap = 2 * DefaultGap * float64(b.base)
		if b.o.Gap != 0 {
			gap = 2 * max(b.o.Gap, 0) * float64(b.base)
		}
	}
	nodes := b.o.Nodes
	if nodes == 0 {
		nodes = baseNodes
	}
	if len(start) > m.Columns() {
		start = start[:m.Columns()]
	}
	for start != nil && len(start) < m.Columns() {
		start = append(start[:len(start):len(start)], float64(b.base))
	}
	r, err := lp.Solve(b.ctx, m.Model, lp.Options{Gap: gap, Nodes: nodes, Start: start, Proof: b.o.Proof, Progress: b.o.Progress})
	if err != nil {
		return nil, false, 0, nil, fmt.Errorf("the model of the base is wrong: %w", err)
	}
	b.nodes += r.Nodes
	if r.X == nil {
		return nil, r.Status == lp.Infeasible, 0, r.Proof, nil
	}
	return b.read(m, r.X), false, r.Bound, r.Proof, nil
}

// read turns a solver's point into steps.
func (b *baser) read(m *baseModel, x []float64) *basePoint {
	p := &basePoint{x: x}
	for _, v := range m.base {
		p.base = append(p.base, int(math.Round(x[v])))
	}
	for _, w := range m.stages {
		if w == nil {
			p.mixes = append(p.mixes, nil)
			continue
		}
		var line []int
		sum := 0
		for _, v := range w.amounts(x) {
			line = append(line, int(math.Round(v)))
			sum += line[len(line)-1]
		}
		p.mixes = append(p.mixes, line)
		p.largest = max(p.largest, sum-b.base)
		p.total += sum - b.base
	}
	return p
}

// draft guesses whether a base exists.
func (b *baser) draft(a baseAsk) (bool, error) {
	base, _, err := b.drafted(a)
	return base != nil, err
}

// draftBases guesses at bases, rounded to whole steps: the one with the
// smallest largest topper, and the one with the smallest total of those that
// are nearly as good in the largest.
func (b *baser) draftBases(z [][]float64) ([][]int, error) {
	a := baseAsk{goal: baseLargest, largest: b.most, total: -1, z: z}
	base, largest, err := b.drafted(a)
	if err != nil || base == nil {
		return nil, err
	}
	a.goal, a.largest = baseTotal, min(int(math.Ceil(float64(largest*draftSlack)))+1, a.largest)
	again, _, err := b.drafted(a)
	if err != nil || again == nil {
		return [][]int{base}, err
	}
	return [][]int{again, base}, nil
}

// draftSlack is what the largest topper may grow by where the total is drafted:
// at its very least the draft would have no room to turn in.
const draftSlack = 1.02

// drafted drafts an ask, and says its objective.
func (b *baser) drafted(a baseAsk) ([]int, float64, error) {
	a.relaxed = true
	m := b.model(a)
	d, err := lp.Sketch(b.ctx, m.Model)
	switch {
	case err != nil:
		return nil, 0, err
	case d.Status == lp.Stopped || b.ctx.Err() != nil:
		return nil, 0, errStopped{lp.Stopped}
	case d.Status == lp.Infeasible || d.X == nil:
		return nil, 0, nil
	}
	shares := make([]float64, len(m.base))
	for k, v := range m.base {
		shares[k] = max(d.X[v], 0)
	}
	return apportion(shares, b.base), d.Objective, nil
}

// find looks for the base; nil when a limit on the work came first.
func (b *baser) find() (*BaseMix, error) {
	if len(b.plans) == 1 {
		return b.single()
	}
	p, none, err := b.best()
	if err != nil {
		return nil, err
	}
	if none {
		return b.impossible()
	}
	if p == nil {
		return nil, nil
	}
	on := p // on the means: what is proved of it holds for surer ones too
	if lack := b.lacking(p); len(lack) > 0 {
		if p, err = b.surer(p, lack); err != nil {
			return nil, err
		}
	}
	if p != on {
		p.claims = append(on.claims[:min(len(on.claims), 1):min(len(on.claims), 1)], p.claims...)
	}
	p.leastLargest = on.leastLargest
	if p.largest > on.largest {
		p.leastTotal = on.leastLargest
	} else {
		p.leastTotal = min(on.leastTotal, p.total)
	}
	return b.report(p), nil
}

// best finds the smallest largest topper, then the smallest total, then the
// base that is preferred.
func (b *baser) best() (p *basePoint, none bool, err error) {
	a := baseAsk{goal: baseLargest, largest: b.most, total: -1}
	p, none, bound, proof, err := b.run(a, nil)
	if err != nil || p == nil {
		if none {
			b.claim("no base has toppers of "+b.mass(b.most).String()+" or less", proof)
		}
		return nil, none, err
	}
	var claims []Claim
	add := func(what string, c *lp.Certificate) {
		if c != nil {
			claims = append(claims, Claim{what, c})
		}
	}
	leastLargest := int(math.Ceil(bound - unitSlack))
	leastTotal := leastLargest
	add(fmt.Sprintf("no base has a largest topper below %v", b.mass(leastLargest)), proof)
	a.goal, a.largest, a.total = baseTotal, p.largest, p.total
	if p.largest > 0 {
		q, _, bound, proof, err := b.run(a, p.x)
		if err != nil {
			return nil, false, err
		}
		if q != nil {
			p, leastTotal = q, max(leastTotal, int(math.Ceil(bound-unitSlack)))
			add(fmt.Sprintf("no base with a largest topper of %v has toppers of less than %v together", b.mass(a.largest), b.mass(leastTotal)), proof)
		}
	}
	a.goal, a.total = baseNear, p.total
	q, _, _, proof, err := b.run(a, p.x)
	if err != nil {
		return nil, false, err
	}
	if q != nil {
		p = q
		add("no other base with toppers as small is preferred, but for the gap", proof)
	}
	p.leastLargest, p.leastTotal, p.claims = leastLargest, leastTotal, claims
	return p, false, nil
}

func (b *baser) claim(what string, c *lp.Certificate) {
	if c != nil {
		b.claims = append(b.claims, Claim{what, c})
	}
}

func (b *baser) mass(steps int) nutrient.Mass { return nutrient.Mass(steps) * b.step }

func (b *baser) masses(x []int) []nutrient.Mass {
	out := make([]nutrient.Mass, len(x))
	for i, n := range x {
		out[i] = b.mass(n)
	}
	return out
}

func (b *baser) joint(p *basePoint, s int) float64 {
	return analysis.Joint(portions(b.plans[s], b.masses(p.mixes[s])), windows(b.plans[s]))
}

// lacking lists the stages that are not as sure as asked.
func (b *baser) lacking(p *basePoint) []int {
	var list []int
	for s, plan := range b.plans {
		if plan.Document.Sureness > 0 && b.joint(p, s) < plan.Document.Sureness {
			list = append(list, s)
		}
	}
	return list
}

// surerParts are the parts of an evenly shared risk's deviations for which a
// base is drafted, in sixteenths; sharing evenly asks for more than need be.
var surerParts = []int{16, 14, 12, 10, 8, 6, 5, 4, 3, 2, 1}

// surer makes a base of which every plan's mix is as sure as asked, or as sure
// as was found. Bases are drafted that keep a part of the deviations of an
// evenly shared risk. With a base given, each plan's topper is a question of
// its own: what is the smallest batch around it that is inside and sure? The
// base with the smallest largest topper is taken, then with the smallest
// total.
func (b *baser) surer(p *basePoint, lack []int) (*basePoint, error) {
	best, err := b.trySurer(p, lack)
	if err != nil && !late(err) {
		return nil, err
	}
	if best == nil {
		best = p
	}
	if err != nil {
		b.notes = append(b.notes, "a limit on the work was reached before all bases were tried")
	}
	if len(b.lacking(best)) > 0 {
		b.notes = append(b.notes, "no base was found of which every mix is as sure as asked; this is the surest that was found")
	}
	return best, nil
}

// trySurer is the best that was found, with the error of a time that is up
// too; nil when nothing was.
func (b *baser) trySurer(p *basePoint, lack []int) (*basePoint, error) {
	best, err := b.around(p.base)
	if err != nil {
		return nil, err
	}
	for _, part := range surerParts {
		bases, err := b.draftBases(b.deviations(lack, float64(part)/16))
		if err != nil {
			return best, err
		}
		for _, base := range bases {
			q, err := b.around(base)
			if err != nil {
				return best, err
			}
			if q != nil && (best == nil || b.better(q, best)) {
				best = q
			}
		}
	}
	return best, nil
}

// better compares two bases: fewer mixes that lack sureness, then the smaller
// largest topper, then the smaller total.
func (b *baser) better(p, q *basePoint) bool {
	x, y := len(b.lacking(p)), len(b.lacking(q))
	switch {
	case x != y:
		return x < y
	case p.largest != q.largest:
		return p.largest < q.largest
	}
	return p.total < q.total
}

// deviations are a part of those of an evenly shared risk, in the stages that
// lack sureness.
func (b *baser) deviations(lack []int, part float64) [][]float64 {
	z := make([][]float64, len(b.stages))
	for s, m := range b.stages {
		z[s] = make([]float64, len(m.edges))
	}
	for _, s := range lack {
		even := b.stages[s].evenly()
		for i := range even {
			z[s][i] = math.Ceil(float64(even[i]*part)*zDigits) / zDigits
		}
	}
	return z
}

// around finds each plan's smallest topper to a base: the smallest batch
// around what is in the bowl. Nil when a plan has none.
func (b *baser) around(base []int) (*basePoint, error) {
	p := &basePoint{base: base}
	for s, stage := range b.stages {
		m := *stage
		m.strict, m.held = true, b.base
		m.poured, m.near = make([]int, len(m.near)), make([]int, len(m.near))
		listed := 0
		for i := range m.poured {
			m.poured[i] = base[b.at[s][i]]
			m.near[i] = m.poured[i]
			listed += m.poured[i]
		}
		if listed < b.base {
			return nil, nil // the base holds what the plan does not list
		}
		out, err := m.smallestTopper()
		b.nodes += m.nodes - stage.nodes
		if err != nil || out == nil {
			return nil, err
		}
		line := make([]int, len(m.poured))
		sum := 0
		for i, x := range out.Amounts {
			line[i] = int(x / m.unit)
			sum += line[i]
		}
		p.mixes = append(p.mixes, line)
		p.largest, p.total = max(p.largest, sum-b.base), p.total+sum-b.base
	}
	return p, nil
}

// smallestTopper is the smallest batch around a base, as sure as asked where
// that can be; nil when there is none.
func (m *mender) smallestTopper() (*Mended, error) {
	same, err := m.sameBatch()
	if err != nil || same != nil && same.Sure {
		return same, err
	}
	larger, err := m.largerBatch()
	switch {
	case late(err) && same != nil && same.Amounts != nil:
		return same, nil
	case err != nil:
		return nil, err
	case larger != nil && larger.Amounts != nil && (same == nil || larger.Sure):
		return larger, nil
	case same != nil && same.Amounts != nil:
		return same, nil
	}
	return nil, nil
}

// single answers for one plan: its own mix is the base, and the topper is
// nothing.
func (b *baser) single() (*BaseMix, error) {
	p := b.plans[0]
	solve := func() (*Answer, error) {
		if b.o.Base == 0 || b.o.Base == p.Batch() {
			return Solve(b.ctx, p, b.o.Options)
		}
		return Resize(b.ctx, p, b.o.Base, b.o.Options)
	}
	a, err := solve()
	if err != nil {
		return nil, err
	}
	out := &BaseMix{Status: a.Status, Forms: b.forms, Step: a.Plan.Document.Step, BaseMass: a.Plan.Batch(), Notes: a.Notes, Nodes: a.Nodes}
	if a.Proof != nil {
		out.Claims = []Claim{{"the mix itself", a.Proof}}
	}
	for _, c := range a.Clash {
		out.Clash = append(out.Clash, StageClash{0, c.What})
	}
	if a.Steps == nil {
		return out, nil
	}
	out.Base = a.Amounts()
	out.Stages = []Topped{{Plan: a.Plan, Topper: make([]nutrient.Mass, len(out.Base)), Amounts: out.Base, Checks: a.Checks, Joint: a.Joint,
		Sure: a.Status == Found}}
	return out, nil
}

// report shapes a base that was found.
func (b *baser) report(p *basePoint) *BaseMix {
	out := &BaseMix{Status: Found, Forms: b.forms, Base: b.masses(p.base), BaseMass: b.mass(b.base), Step: b.step,
		Largest: b.mass(p.largest), LargestBound: b.mass(p.leastLargest), Total: b.mass(p.total), TotalBound: b.mass(p.leastTotal),
		Claims: append(b.claims, p.claims...), Notes: b.notes, Nodes: b.nodes}
	for s, plan := range b.plans {
		t := Topped{Plan: plan, Amounts: b.masses(p.mixes[s]), Topper: make([]nutrient.Mass, len(plan.Lines))}
		for i, m := range t.Amounts {
			t.Topper[i] = m - out.Base[b.at[s][i]]
			t.Weight += t.Topper[i]
		}
		t.Share = float64(t.Weight) / float64(t.Weight+out.BaseMass)
		mixed := portions(plan, t.Amounts)
		for _, w := range plan.Targets {
			t.Checks = append(t.Checks, analysis.CheckWindow(mixed, w.Window))
		}
		t.Joint = analysis.Joint(mixed, windows(plan))
		t.Sure = t.Joint >= plan.Document.Sureness
		out.Stages = append(out.Stages, t)
	}
	return out
}

func (b *baser) stoppedShort() *BaseMix {
	return &BaseMix{Status: Stopped, Forms: b.forms, Step: b.step, BaseMass: b.mass(b.base), Nodes: b.nodes,
		Notes: append(b.notes, "a limit on the work was reached before a base was found or ruled out")}
}
