package lp

import (
	"context"
	"math"
)

// Solve finds the point of least cost and proves it. The error is not nil
// only for bad models (*ModelError) and bad options; a context that ends
// stops the search with Feasible or Stopped.
func Solve(ctx context.Context, m *Model, o Options) (*Result, error) {
	if err := m.Check(); err != nil {
		return nil, err
	}
	if err := o.check(len(m.cols)); err != nil {
		return nil, err
	}
	return newTree(ctx, newProb(m), o).solve(), nil
}

// check reports faults of the options for a model with n columns.
func (o *Options) check(n int) error {
	if math.IsNaN(o.Gap) || o.Gap < 0 || math.IsInf(o.Gap, 0) {
		return &ModelError{Kind: "model", What: "the gap must be a number that is not negative"}
	}
	if o.Start != nil && len(o.Start) != n {
		return &ModelError{Kind: "model", What: "the starting point has the wrong length"}
	}
	return nil
}

// solve runs the search and shapes the result.
func (t *tree) solve() *Result {
	p := t.p
	t.g = p.findGrid()
	root := &node{box: p.rootBox(), bound: math.Inf(-1)}
	if t.o.Proof {
		root.pf = &proofNode{}
		root.first = root.pf
	}
	if p.empty >= 0 {
		return t.emptyColumn(root, p.empty)
	}
	if !p.normalise(root.box) {
		t.closeLogic(root)
		return t.result(root)
	}
	if p.discrete && !t.narrow(root) {
		return t.result(root)
	}
	t.start(root.box)
	t.tryStart()
	if p.discrete {
		t.run(root)
	} else {
		t.continuous(root)
	}
	if t.ray {
		return t.unbounded(root)
	}
	return t.result(root)
}

// tryStart offers the caller's starting point.
func (t *tree) tryStart() {
	x := t.o.Start
	if x == nil {
		return
	}
	for _, v := range x {
		if !okFigure(v) {
			return
		}
	}
	var pt *point
	if t.p.pure {
		pt, _ = t.chk.whole(x)
	} else {
		pt, _ = t.chk.rational(ratsOf(x))
	}
	t.offer(pt)
}

// continuous solves a model without whole or switched columns: one
// relaxation, with tangents until the cones hold.
func (t *tree) continuous(n *node) {
	t.nodes++
	for round := 0; ; round++ {
		t.enter(n.box)
		t.s.cutoff = math.Inf(1)
		switch t.s.solve() {
		case lpLimit:
			t.halted = true
			t.push(n)
			return
		case lpInfeasible:
			if t.emptyByRay(n) {
				return
			}
		}
		if len(t.p.m.cones) > 0 && t.s.primalFeasible() {
			t.px = t.s.point(t.px)
			if t.separate(t.px, round, 0) {
				continue
			}
		}
		break
	}
	if !t.relaxExact(n) {
		if t.halted || t.ray {
			t.push(n)
		}
		return
	}
	t.finish(n)
}

// finish makes the exact point of the last relaxation the answer, moved
// inside the cones if there are any.
func (t *tree) finish(n *node) {
	pt, broken := t.chk.verifiedPoint(t.root)
	if pt == nil && broken >= 0 {
		pt = t.inside(n.box)
	}
	if pt == nil {
		t.halted = t.stopped()
		t.trouble = !t.halted
		t.push(n)
		return
	}
	t.offer(pt)
	bound := n.bound
	if t.root.obj.Cmp(pt.obj) >= 0 {
		bound = pt.objUp
	}
	t.leafMin = math.Min(t.leafMin, bound)
	n.pf.leaf(leafBound, nil, t.root.y)
	if len(t.p.m.cones) > 0 && pt.objUp-n.bound > t.o.Gap+t.slack() {
		t.halted = true
	}
}

// emptyColumn is the result when a whole column has no whole number in its
// bounds.
func (t *tree) emptyColumn(root *node, j int) *Result {
	root.pf.leaf(leafLogic, nil, nil)
	r := t.result(root)
	r.Clash = []Clash{{ClashBound, j, false, 1}, {ClashBound, j, true, 1}}
	r.Whole = true
	return r
}

// unbounded decides what a ray of falling cost means: with some point that
// keeps all rules the model is unbounded, without one it is infeasible.
func (t *tree) unbounded(root *node) *Result {
	m := *t.p.m
	m.cols = append([]Column(nil), m.cols...)
	for j := range m.cols {
		m.cols[j].Cost, m.cols[j].Breaks = 0, nil
	}
	o := t.o
	o.Gap, o.Start = 0, nil
	r, err := Solve(t.ctx, &m, o)
	if err != nil {
		return &Result{Status: Trouble, Bound: math.Inf(-1)}
	}
	r.Nodes += t.nodes
	r.Pivots += t.s.pivots
	if r.Status == Optimal || r.Status == Feasible {
		r.Status = Unbounded
		r.Objective = math.Inf(-1)
		r.Bound, r.Gap = math.Inf(-1), 0
		r.Duals, r.Reduced, r.Proof = nil, nil, nil
	}
	return r
}

// result shapes the outcome of the search.
func (t *tree) result(root *node) *Result {
	r := &Result{Nodes: t.nodes, Repairs: t.repairs, Cuts: len(t.p.cuts)}
	if t.s != nil {
		r.Pivots = t.s.pivots
	}
	t.fillBound(r)
	done := len(t.open) == 0 && !t.halted && !t.trouble
	if t.inc != nil {
		r.X = append([]float64(nil), t.inc.x...)
	}
	switch {
	case done && t.inc != nil:
		r.Status = Optimal
	case done:
		r.Status = Infeasible
		r.Clash = t.clash.list()
		r.Whole = t.clash.leaves == 1
	case t.inc != nil:
		r.Status = Feasible
	case t.trouble:
		r.Status = Trouble
	default:
		r.Status = Stopped
	}
	t.fillDuals(r)
	if t.o.Proof && root != nil && r.Status != Trouble {
		r.Proof = t.certify(root.first, r)
	}
	return r
}

// fillBound sets the objective, the bound rounded to the grid of the
// objective, and the gap. A bound that is exactly the objective, or above it,
// is reported as the objective.
func (t *tree) fillBound(r *Result) {
	r.Bound = t.lowest()
	if t.inc == nil {
		if !isInf(r.Bound) {
			r.Bound = roundDown(t.g.raise(r.Bound))
		}
		return
	}
	r.Objective, _ = t.inc.obj.Float64()
	switch {
	case math.IsInf(r.Bound, -1):
		r.Gap = math.Inf(1)
		return
	case r.Bound >= t.inc.objUp || t.g.raise(r.Bound).Cmp(t.inc.obj) >= 0:
		r.Bound = r.Objective
		t.tight = true
	default:
		r.Bound = math.Min(roundDown(t.g.raise(r.Bound)), r.Objective)
	}
	r.Gap = r.Objective - r.Bound
}

// noteRoot keeps the multipliers and the point of the root relaxation.
func (t *tree) noteRoot(y, x []float64) {
	t.rootY = append(t.rootY[:0], y...)
	t.rootX = append(t.rootX[:0], x...)
}

// fillDuals reports the multipliers and reduced costs of the root relaxation.
func (t *tree) fillDuals(r *Result) {
	if len(t.rootX) == 0 || r.X == nil {
		return
	}
	p := t.p
	r.Duals = make([]float64, p.m0)
	copy(r.Duals, t.rootY)
	r.Reduced = make([]float64, p.n)
	for j := range r.Reduced {
		d := p.cols[j].Cost
		for _, b := range p.cols[j].Breaks {
			if t.rootX[j] > b.At {
				d += b.Rise
			}
		}
		for i, y := range t.rootY {
			if i < p.m0 || i >= p.firstCut {
				d -= float64(y * p.a[i][j])
			}
		}
		r.Reduced[j] = d
	}
}
