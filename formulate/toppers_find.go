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
	if a.z != nil {
		nodes = min(nodes, sureNodes)
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
	a.relaxed = true
	d, err := lp.Sketch(b.ctx, b.model(a).Model)
	switch {
	case err != nil:
		return false, err
	case d.Status == lp.Stopped || b.ctx.Err() != nil:
		return false, errStopped{lp.Stopped}
	}
	return d.Status != lp.Infeasible && d.X != nil, nil
}

// find looks for the base; nil when a limit on the work came first.
func (b *baser) find() (*BaseMix, error) {
	if len(b.plans) == 1 {
		return b.single()
	}
	p, none, err := b.best(nil)
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
func (b *baser) best(z [][]float64) (p *basePoint, none bool, err error) {
	a := baseAsk{goal: baseLargest, largest: b.most, total: -1, z: z}
	p, none, bound, proof, err := b.run(a, nil)
	if err != nil || p == nil {
		if none && z == nil {
			b.claim("no base has toppers of "+b.mass(b.most).String()+" or less", proof)
		}
		return nil, none, err
	}
	var claims []Claim
	add := func(what string, c *lp.Certificate) {
		if z != nil {
			what += ", among those that keep the deviations asked for"
		}
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

// surer makes a base of which every plan's mix is as sure as asked, or as sure
// as was found. A part of the deviations of an evenly shared risk is asked
// for, the least part that will do, to a sixteenth: sharing evenly asks for
// more than need be.
func (b *baser) surer(p *basePoint, lack []int) (*basePoint, error) {
	lo, hi := 0, surerParts
	var best *basePoint
	for hi-lo > 1 || best == nil {
		at := (lo + hi) / 2
		if best == nil && hi == surerParts && lo == 0 {
			at = surerParts
		}
		q, err := b.withPart(lack, float64(at)/surerParts)
		if err != nil {
			return nil, err
		}
		switch {
		case q != nil && len(b.lacking(q)) == 0:
			best, hi = q, at
		case at == surerParts && best == nil:
			return b.surest(p, lack)
		default:
			lo = at
		}
	}
	return best, nil
}

// surerParts is how finely the part of the deviations is looked for.
const surerParts = 16

// surest is the base with the largest part of the deviations that was found;
// p where none is.
func (b *baser) surest(p *basePoint, lack []int) (*basePoint, error) {
	b.notes = append(b.notes, "no base was found of which every mix is as sure as asked; this is the surest that was found")
	for part := surerParts - 1; part > 0; part-- {
		q, err := b.withPart(lack, float64(part)/surerParts)
		if err != nil {
			return nil, err
		}
		if q != nil {
			return q, nil
		}
	}
	return p, nil
}

// withPart finds a base that keeps a part of the deviations of an evenly
// shared risk in the stages that lack sureness; nil when none is found.
func (b *baser) withPart(lack []int, part float64) (*basePoint, error) {
	z := make([][]float64, len(b.stages))
	for s, m := range b.stages {
		z[s] = make([]float64, len(m.edges))
	}
	for _, s := range lack {
		even := b.stages[s].evenly()
		for i := range even {
			z[s][i] = math.Ceil(even[i]*part*zDigits) / zDigits
		}
	}
	if ok, err := b.draft(baseAsk{goal: baseAny, largest: b.most, total: -1, z: z}); err != nil || !ok {
		return nil, err
	}
	q, _, err := b.best(z)
	return q, err
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

// impossible names limits that cannot hold together: first the stages are
// left out one by one, then, where the relaxation clashes already, the limits
// of those that remain, the last first, so that the set is as small as leaving
// out one after the other makes it.
func (b *baser) impossible() (*BaseMix, error) {
	out := b.stoppedShort()
	out.Status, out.Claims, out.Notes = Impossible, b.claims, b.notes
	skip := make([]bool, len(b.stages))
	a := baseAsk{goal: baseAny, largest: b.most, total: -1, skip: func(s int) bool { return skip[s] }, without: map[[3]int]bool{}}
	for s := range b.stages {
		skip[s] = true
		_, none, _, _, err := b.run(a, nil)
		if err != nil {
			return nil, err
		}
		skip[s] = none
	}
	ok, err := b.draft(a)
	if err != nil {
		return nil, err
	}
	if out.Whole = ok; !ok {
		if err := b.narrow(a, skip); err != nil {
			return nil, err
		}
	}
	for s, m := range b.stages {
		if skip[s] {
			continue
		}
		if out.Whole {
			out.Clash = append(out.Clash, StageClash{s, "its limits together, in whole steps"})
			continue
		}
		before := len(out.Clash)
		for k, l := range m.limits {
			if !a.without[[3]int{s, 1, k}] {
				out.Clash = append(out.Clash, StageClash{s, l.what})
			}
		}
		for i, e := range m.edges {
			if !a.without[[3]int{s, 0, i}] {
				out.Clash = append(out.Clash, StageClash{s, edgeWords(m.plan.Targets[e.target].Window, e.edge)})
			}
		}
		if len(out.Clash) == before {
			out.Clash = append(out.Clash, StageClash{s, "what it does not list is not in the base"})
		}
	}
	return out, nil
}

// narrow leaves out limits that the clash does not need, on drafts.
func (b *baser) narrow(a baseAsk, skip []bool) error {
	try := func(key [3]int) error {
		a.without[key] = true
		ok, err := b.draft(a)
		if ok {
			delete(a.without, key)
		}
		return err
	}
	for s, m := range b.stages {
		if skip[s] {
			continue
		}
		for k := range m.limits {
			if err := try([3]int{s, 1, k}); err != nil {
				return err
			}
		}
		for i := range m.edges {
			if err := try([3]int{s, 0, i}); err != nil {
				return err
			}
		}
	}
	return nil
}
