package lp

import (
	"container/heap"
	"context"
	"math"
	"math/big"
)

// node is an open part of the search: a box and a proved lower bound.
type node struct {
	box   *box
	bound float64
	depth int
	seq   int
	y     []float64  // multipliers that prove bound, kept only for proofs
	pf    *proofNode // its place in the proof, nil unless wanted
	first *proofNode // the root of the proof (in the root node only)
}

// nodeHeap orders nodes by bound, then the deeper, then the later first.
type nodeHeap []*node

func (h nodeHeap) Len() int { return len(h) }
func (h nodeHeap) Less(i, j int) bool {
	a, b := h[i], h[j]
	switch {
	case a.bound != b.bound:
		return a.bound < b.bound
	case a.depth != b.depth:
		return a.depth > b.depth
	}
	return a.seq > b.seq
}
func (h nodeHeap) Swap(i, j int) { h[i], h[j] = h[j], h[i] }

// Push implements heap.Interface.
func (h *nodeHeap) Push(x any) { *h = append(*h, x.(*node)) }

// Pop implements heap.Interface.
func (h *nodeHeap) Pop() any {
	old := *h
	x := old[len(old)-1]
	*h = old[:len(old)-1]
	return x
}

// tree is a running branch and bound.
type tree struct {
	ctx context.Context
	o   Options
	p   *prob
	s   *simplex
	ex  *exact
	b   safe
	chk *checker
	rnd *rounder
	g   grid

	inc     *point
	line    cutline
	open    nodeHeap
	leafMin float64 // least bound of a closed leaf
	seq     int
	nodes   int
	repairs int
	halted  bool // limits reached
	trouble bool
	tight   bool // the proved bound is the exact objective of the incumbent
	ray     bool // the relaxation has a ray of falling cost

	clash   clashSet
	changed []int
	y       []float64
	px      []float64
	nodeMax int
	root    verified // exact answer of the root relaxation, if it was asked for
	rootY   []float64
	rootX   []float64
}

// cutline says from which proved bound on a node cannot matter.
type cutline struct {
	at     float64
	strict bool
}

func newTree(ctx context.Context, p *prob, o Options) *tree {
	t := &tree{ctx: ctx, o: o, p: p, leafMin: math.Inf(1)}
	t.line.at = math.Inf(1)
	t.b.p = p
	t.chk = newChecker(p)
	t.rnd = newRounder(p)
	t.nodeMax = o.Nodes
	if t.nodeMax <= 0 {
		t.nodeMax = DefaultNodes
	}
	t.clash.init(p)
	return t
}

// stopped polls the context.
func (t *tree) stopped() bool { return t.ctx.Err() != nil }

// start builds the simplex over the normalised root box, or wakes the one of
// an earlier solve.
func (t *tree) start(b *box) {
	if t.s == nil {
		t.p.fillCounts(b, nil)
		t.s = newSimplex(t.p)
	} else {
		t.s.wake()
		t.enter(b)
	}
	t.s.stop = t.stopped
	t.s.pivots = 0
	t.s.limit = DefaultPivots
	if t.o.Pivots > 0 {
		t.s.limit = t.o.Pivots
	}
	t.s.setBounds(b.lo, b.hi)
}

// exactForm returns the whole-number form, brought up to date.
func (t *tree) exactForm() *exact {
	if t.ex == nil {
		t.ex = newExact(t.p)
		t.ex.stop = t.stopped
	}
	t.ex.sync(t.p.m0)
	return t.ex
}

// enter makes box b the current one of the simplex.
func (t *tree) enter(b *box) {
	t.changed = t.p.fillCounts(b, t.changed)
	for _, i := range t.changed {
		t.s.refreshRow(i)
	}
	for len(t.p.a) > t.s.m {
		t.s.appendRow(t.s.m)
	}
	t.s.setBounds(b.lo, b.hi)
}

// offer takes a checked point as the incumbent if it is the best yet.
func (t *tree) offer(pt *point) bool {
	if pt == nil || (t.inc != nil && pt.obj.Cmp(t.inc.obj) >= 0) {
		return false
	}
	t.inc = pt
	t.line = t.g.line(pt, t.o.Gap, t.slack())
	return true
}

// coneSlack is the relative gap accepted as "optimal" in models that have
// both cones and columns that are not whole: there the optimum is irrational
// in general, and an exactly feasible point can only come near it.
const coneSlack = 1e-7

// slack is the least absolute gap that can be asked for.
func (t *tree) slack() float64 {
	if t.p.pure || len(t.p.m.cones) == 0 || t.inc == nil {
		return 0
	}
	return coneSlack * math.Max(1, math.Abs(t.inc.objUp))
}

// prunes says whether a proved bound closes a node.
func (t *tree) prunes(bound float64) bool {
	if t.inc == nil {
		return false
	}
	return bound > t.line.at || (bound == t.line.at && !t.line.strict)
}

// run searches the tree to the end or to a limit.
func (t *tree) run(root *node) {
	t.push(root)
	var next *node
	for {
		n := next
		next = nil
		if n == nil {
			if len(t.open) == 0 {
				return
			}
			n = heap.Pop(&t.open).(*node)
		}
		if t.prunes(n.bound) {
			t.closeBound(n, n.bound, n.y, nil)
			continue
		}
		if t.nodes >= t.nodeMax || t.stopped() {
			t.halted = true
			t.push(n)
			return
		}
		next = t.process(n)
		if t.halted || t.ray {
			t.push(n)
			return
		}
		t.report()
	}
}

func (t *tree) push(n *node) {
	t.seq++
	n.seq = t.seq
	heap.Push(&t.open, n)
}

func (t *tree) report() {
	if t.o.Progress == nil || t.nodes%64 != 1 {
		return
	}
	pr := Progress{Nodes: t.nodes, Pivots: t.s.pivots, Open: len(t.open), Bound: t.lowest()}
	if t.inc != nil {
		pr.Found = true
		pr.Objective, _ = t.inc.obj.Float64()
	}
	t.o.Progress(pr)
}

// lowest is the least bound over open nodes and closed leaves.
func (t *tree) lowest() float64 {
	v := t.leafMin
	for _, n := range t.open {
		v = math.Min(v, n.bound)
	}
	return v
}

// closeBound closes a node by its bound. The multipliers y or r prove it.
func (t *tree) closeBound(n *node, bound float64, y []float64, r []*big.Rat) {
	t.leafMin = math.Min(t.leafMin, bound)
	n.pf.leaf(leafBound, y, r)
}

// closeEmpty closes a node that holds no point, by Farkas multipliers.
func (t *tree) closeEmpty(n *node, y []float64, r []*big.Rat) {
	n.pf.leaf(leafEmpty, y, r)
	if t.inc == nil {
		t.clash.add(n.box, y, r)
	}
}

// closeLogic closes a node whose box is empty by plain conclusions.
func (t *tree) closeLogic(n *node) {
	n.pf.leaf(leafLogic, nil, nil)
	if t.inc == nil {
		t.clash.logic()
	}
}

// process solves one node: it closes it, or divides it and returns the child
// to visit next.
func (t *tree) process(n *node) *node {
	t.nodes++
	if !t.p.normalise(n.box) {
		t.closeLogic(n)
		return nil
	}
	for round := 0; ; round++ {
		t.enter(n.box)
		if !t.relax(n) {
			return nil
		}
		x := t.px
		if t.separate(x, round, n.depth) {
			continue
		}
		if round == 0 || n.depth == 0 {
			t.seek(n, x)
			if t.prunes(n.bound) {
				t.closeBound(n, n.bound, n.y, nil)
				return nil
			}
		}
		if sp, ok := t.choose(n.box, x); ok {
			return t.divide(n, sp)
		}
		switch t.settleWhole(n, x) {
		case nodeClosed:
			return nil
		case nodeAgain:
			continue
		}
		if sp, ok := t.anySplit(n.box, x); ok {
			return t.divide(n, sp)
		}
		if round < fineRounds && t.separate(x, 0, 0) {
			continue // nothing left to divide: only sharper tangents can help
		}
		t.closePoint(n)
		return nil
	}
}

// fineRounds is the most rounds at one node, so that tangents that no longer
// get anywhere end in closePoint.
const fineRounds = 200

// closePoint closes a node in which nothing is left to divide. If its box is
// a single point the exact check of that point decides; otherwise (a cone
// over columns that are not whole that is missed by a hair) the solver owns
// up to not knowing.
func (t *tree) closePoint(n *node) {
	for j := range n.box.lo {
		if n.box.lo[j] != n.box.hi[j] {
			t.trouble = true
			t.leafMin = math.Min(t.leafMin, n.bound)
			n.pf.leaf(leafBound, n.y, nil)
			return
		}
	}
	pt, broken := t.chk.rational(ratsOf(n.box.lo))
	t.offer(pt)
	n.pf.leaf(leafPoint, nil, nil)
	if pt != nil {
		t.leafMin = math.Min(t.leafMin, t.inc.objUp) // no better than the incumbent
	} else if t.inc == nil {
		t.clash.point(broken)
	}
}
