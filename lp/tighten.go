package lp

import "math"

// divide splits a node and returns the child to visit next.
func (t *tree) divide(n *node, sp split) *node {
	t.tighten(n)
	if sp.void(n.box) {
		return n // tightening has overtaken the split: solve again
	}
	down := &node{box: n.box.clone(), bound: n.bound, depth: n.depth + 1, y: n.y}
	up := &node{box: n.box, bound: n.bound, depth: n.depth + 1, y: n.y}
	sp.apply(down.box, false)
	sp.apply(up.box, true)
	down.pf, up.pf = n.pf.split(sp)
	if sp.down {
		t.push(up)
		return down
	}
	t.push(down)
	return up
}

// tighten narrows whole columns by reduced costs: where moving a column
// beyond f would push the safe bound over the line, x ≤ f.
func (t *tree) tighten(n *node) {
	if t.inc == nil || !t.b.eval(t.s.multipliers(t.y), n.box.lo, n.box.hi, true) {
		return
	}
	for j := range t.b.d {
		if !t.p.isInt[j] || n.box.lo[j] >= n.box.hi[j] ||
			-n.box.lo[j] >= wholeLimit || n.box.hi[j] >= wholeLimit {
			continue
		}
		if f := t.lastBelow(n.box, j, 1); f < n.box.hi[j] {
			t.shave(n, j, f, true)
		}
		if f := -t.lastBelow(n.box, j, -1); f > n.box.lo[j] {
			t.shave(n, j, f-1, false)
		}
	}
}

// shave records the exclusion of one side of x ≤ at | x ≥ at+1. The excluded
// side is closed by the current multipliers.
func (t *tree) shave(n *node, j int, at float64, upper bool) {
	down, up := n.pf.split(split{kind: splitValue, col: j, at: at})
	out, in := up, down
	if !upper {
		out, in = down, up
	}
	out.leaf(leafBound, t.b.y, nil)
	n.pf = in
	bound := t.line.at
	if t.line.strict {
		bound = math.Nextafter(bound, math.Inf(1))
	}
	t.leafMin = math.Min(t.leafMin, bound)
	if upper {
		n.box.hi[j] = at
	} else {
		n.box.lo[j] = at + 1
	}
}

// lastBelow searches the whole numbers of column j outwards in direction dir
// (+1 up, −1 down; then everything is negated) for the last one at which the
// safe bound stays below the line.
func (t *tree) lastBelow(b *box, j int, dir float64) float64 {
	lo, hi := b.lo[j], b.hi[j]
	if dir < 0 {
		lo, hi = -hi, -lo
	}
	if isInf(lo) || isInf(hi) || !t.over(j, dir*hi) {
		return hi
	}
	if t.over(j, dir*lo) && t.slopeAt(j, dir*lo)*dir >= 0 {
		return hi // the whole range is out; leave it to the node itself
	}
	for hi-lo > 1 {
		mid := math.Floor((lo + hi) / 2)
		if t.over(j, dir*mid) && t.slopeAt(j, dir*mid)*dir > 2*t.b.dErr[j] {
			hi = mid
		} else {
			lo = mid
		}
	}
	return hi - 1
}

// slopeAt is the left slope of the term of column j at x.
func (t *tree) slopeAt(j int, x float64) float64 {
	d := t.b.d[j]
	for _, k := range t.p.cols[j].Breaks {
		if x > k.At {
			d += k.Rise
		}
	}
	return d
}

// over says whether the safe bound with column j fixed at x, and so (the term
// being convex) with it anywhere beyond, closes the node.
func (t *tree) over(j int, x float64) bool {
	br := t.p.cols[j].Breaks
	v, abs := pieceAt(t.b.d[j], br, x)
	err := float64(2*t.b.err) + float64(t.b.dErr[j]*math.Abs(x)*(1+0x1p-20)) +
		float64(float64(4*len(br)+16)*safeUnit*(abs+math.Abs(t.b.val)+math.Abs(t.b.min[j])))
	return t.prunes(t.b.val - t.b.min[j] + v - err)
}
