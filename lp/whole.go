package lp

import "math"

// verdict is what became of a node whose relaxation point looks whole.
type verdict int

const (
	nodeOpen   verdict = iota // nothing found: divide it
	nodeClosed                // closed
	nodeAgain                 // a cut was added: solve again
)

// nodeRounds is the most rounds of tangents at a node below the root for
// points that are not whole.
const nodeRounds = 1

// separate adds tangents for the cones that x breaks. It reports whether any
// was added.
func (t *tree) separate(x []float64, round, depth int) bool {
	limit, tol := coneRounds, coneTol
	if t.p.discrete && depth > 0 {
		limit, tol = nodeRounds, nodeConeTol
	}
	if round >= limit {
		return false
	}
	added := false
	for k := range t.p.m.cones {
		if coneBroken(&t.p.m.cones[k], x, tol) && t.p.tangent(k, x) {
			added = true
		}
	}
	return added
}

// seekEvery: the rounding runs at the root and then at every so many nodes.
const seekEvery = 8

// seek runs the rounding heuristics on the relaxation point x of node n.
func (t *tree) seek(n *node, x []float64) {
	if !t.p.pure {
		return
	}
	if n.depth > 0 && t.nodes%seekEvery != 0 {
		return
	}
	r := t.rnd
	r.ranges(n.box, x)
	if r.run(x) {
		pt, _ := t.chk.whole(r.x)
		t.offer(pt)
	}
	if !t.hasSwitches() || (n.depth > 0 && (t.inc != nil || t.nodes%(4*seekEvery) != 0)) {
		return
	}
	t.seekSupport(n, x)
}

func (t *tree) hasSwitches() bool {
	for _, s := range t.p.semi {
		if s > 0 {
			return true
		}
	}
	return false
}

// seekSupport fixes which columns are on as the rounding would, solves the
// relaxation again under that choice and rounds its point. The simplex is put
// back to the node's own relaxation afterwards.
func (t *tree) seekSupport(n *node, x []float64) {
	r := t.rnd
	x = append([]float64(nil), x...)
	r.ranges(n.box, x)
	b := n.box.clone()
	copy(b.lo, r.lo)
	copy(b.hi, r.hi)
	if t.p.normalise(b) {
		t.enter(b)
		t.s.cutoff = math.Inf(1)
		if t.s.solve() == lpOptimal {
			y := t.s.point(nil)
			r.ranges(b, y)
			if r.run(y) {
				pt, _ := t.chk.whole(r.x)
				t.offer(pt)
			}
		}
	}
	t.enter(n.box)
	t.s.cutoff = math.Inf(1)
	t.s.solve()
	copy(t.px, x)
}

// settleWhole handles a node whose relaxation point keeps all switches and
// whole numbers within the float tolerances.
func (t *tree) settleWhole(n *node, x []float64) verdict {
	broken := -1
	var at []float64
	if t.p.pure {
		at = make([]float64, len(x))
		for j, v := range x {
			at[j] = math.Round(v)
		}
		var pt *point
		pt, broken = t.chk.whole(at)
		t.offer(pt)
	} else {
		broken, at = t.settleMixed(n, x)
	}
	if broken >= 0 && t.p.tangent(broken, at) {
		return nodeAgain
	}
	if t.prunes(n.bound) {
		t.closeBound(n, n.bound, n.y, nil)
		return nodeClosed
	}
	t.enter(n.box)
	t.s.cutoff = math.Inf(1)
	if out := t.s.solve(); out == lpLimit {
		t.halted = true
		return nodeClosed
	}
	if !t.relaxExact(n) {
		return nodeClosed
	}
	return nodeOpen
}

// settleMixed fixes whole and switched columns as x has them and solves for
// the rest exactly. It returns a cone that the exact point still breaks and
// the point, or −1.
func (t *tree) settleMixed(n *node, x []float64) (int, []float64) {
	b := t.fixedBox(n.box, x)
	if !t.p.normalise(b) {
		return -1, nil
	}
	for round := 0; round < coneRounds; round++ {
		t.enter(b)
		t.s.cutoff = math.Inf(1)
		if out := t.s.solve(); out != lpOptimal && out != lpInfeasible {
			return -1, nil
		}
		v := t.exactForm().solveExact(t.s, b.lo, b.hi)
		if v.out != lpOptimal {
			return -1, nil
		}
		pt, broken := t.chk.rational(v.x)
		if pt != nil {
			t.offer(pt)
			return -1, nil
		}
		if broken < 0 {
			return -1, nil
		}
		y := t.s.point(nil)
		if !coneBroken(&t.p.m.cones[broken], y, coneTol) {
			t.offer(t.inside(b))
			return -1, nil
		}
		if !t.p.tangent(broken, y) {
			return -1, nil
		}
	}
	return -1, nil
}

// fixedBox fixes the whole columns at the rounded values of x and the
// switches as they stand there.
func (t *tree) fixedBox(b *box, x []float64) *box {
	f := b.clone()
	for j, v := range x {
		switch {
		case t.p.isInt[j]:
			v = math.Min(math.Max(math.Round(v), b.lo[j]), b.hi[j])
			f.lo[j], f.hi[j] = v, v
		case t.p.semi[j] > 0 && !b.isOn(j):
			if v >= t.p.semi[j]/2 {
				f.on[j] = true
			} else {
				f.hi[j] = 0
			}
		case t.p.count[j] && !b.isOn(j):
			if v > zeroTol(b.hi[j]) {
				f.on[j] = true
			} else {
				f.hi[j] = 0
			}
		}
	}
	return f
}

// inside looks for a point that keeps every cone exactly, although the
// relaxation point keeps them only within coneTol: the right sides of the
// tangents are raised by a few coneTol, the relaxation is solved again
// exactly, and the sides are put back.
func (t *tree) inside(b *box) *point {
	p := t.p
	save := append([]float64(nil), p.rowLo...)
	defer func() {
		copy(p.rowLo, save)
		for i := p.firstCut; i < len(save); i++ {
			t.s.setRowBounds(i)
		}
	}()
	for f := 4.0; f < 1e5; f *= 8 {
		for _, c := range p.cuts {
			// The same size as in coneBroken: a cone whose terms run into
			// the thousands of millions is not moved by a few units.
			i, k := c.row, &p.m.cones[c.cone]
			_, norm := coneGap(k, t.px)
			size := math.Max(1, math.Max(math.Abs(k.Lo), float64(k.Z*norm)))
			p.rowLo[i] = save[i] + float64(f*coneTol*size)
			t.s.setRowBounds(i)
		}
		t.enter(b)
		t.s.cutoff = math.Inf(1)
		t.s.solve()
		v := t.exactForm().solveExact(t.s, b.lo, b.hi)
		if v.out != lpOptimal {
			return nil
		}
		if pt, _ := t.chk.rational(v.x); pt != nil {
			return pt
		}
	}
	return nil
}
