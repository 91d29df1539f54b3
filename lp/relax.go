package lp

import (
	"math"
	"math/big"
)

// relax solves the relaxation of the current box. It reports whether the node
// stays open; then t.px is the relaxation point and n.bound is raised.
func (t *tree) relax(n *node) bool {
	s := t.s
	s.cutoff = math.Inf(1)
	if t.inc != nil && t.p.discrete {
		s.cutoff = (t.line.at + float64(1e-9*math.Max(1, math.Abs(t.line.at)))) * s.oscl
	}
	out := s.solve()
	if out == lpCutoff {
		if t.bounded(n) {
			return false
		}
		s.cutoff = math.Inf(1)
		out = s.solve()
	}
	switch out {
	case lpOptimal:
		t.px = s.point(t.px)
		closed := t.bounded(n)
		if n.depth == 0 {
			t.noteRoot(t.y, t.px)
		}
		if closed {
			return false
		}
		if !t.tied(n.bound) {
			return true
		}
	case lpInfeasible:
		if t.emptyByRay(n) {
			return false
		}
	case lpLimit:
		t.halted = true
		return false
	}
	return t.relaxExact(n)
}

// emptyByRay closes the node if the float multipliers of the infeasible row
// prove, in spite of rounding, that there is no point.
func (t *tree) emptyByRay(n *node) bool {
	if t.b.eval(t.s.ray, n.box.lo, n.box.hi, false) && t.b.val-t.b.err > 0 {
		t.closeEmpty(n, t.b.y, nil)
		return true
	}
	if y, ok := t.exactForm().exactRay(t.s, n.box.lo, n.box.hi); ok {
		t.closeEmpty(n, nil, y)
		return true
	}
	return false
}

// bounded evaluates the safe bound of the current multipliers, raises the
// bound of the node and closes it if that suffices.
func (t *tree) bounded(n *node) bool {
	t.y = t.s.multipliers(t.y)
	if !t.b.eval(t.y, n.box.lo, n.box.hi, true) {
		return false
	}
	if v := t.b.val - t.b.err; v > n.bound {
		n.bound = v
		if t.o.Proof {
			n.y = append([]float64(nil), t.b.y...) // children share the old one
		}
	}
	if t.prunes(n.bound) {
		t.closeBound(n, n.bound, n.y, nil)
		return true
	}
	return false
}

// tieTol: when a float bound comes this near (relatively) to the line that
// would close the node, the exact bound is worth its price. Bounds from float
// multipliers lose about 1e-12 of their size. With a grid of the objective
// whose step is well above that loss there is no need: an exact bound within
// the loss of the line is on the line, which does not close the node.
const tieTol = 1e-10

func (t *tree) tied(bound float64) bool {
	if t.inc == nil {
		return false
	}
	near := float64(tieTol * math.Max(1, math.Abs(t.line.at)))
	return bound >= t.line.at-near && !t.g.coarse(near)
}

// relaxExact answers the relaxation of the node exactly.
func (t *tree) relaxExact(n *node) bool {
	v := t.exactForm().solveExact(t.s, n.box.lo, n.box.hi)
	if v.fix {
		t.repairs++
	}
	switch v.out {
	case lpInfeasible:
		t.closeEmpty(n, nil, v.y)
		return false
	case lpUnbounded:
		t.ray = true
		return false
	case lpLimit, lpLost:
		return t.relaxUnknown(n)
	}
	v.xf = floatsOf(v.x)
	if n.depth == 0 {
		t.root = v
		t.noteRoot(floatsOf(v.y), v.xf)
	}
	t.raiseExact(n, v)
	if t.prunesExact(v.obj) {
		bound := roundDown(v.obj)
		if t.g.raiseExact(v.obj).Cmp(t.inc.obj) >= 0 {
			bound = t.inc.objUp // exactly: not below the incumbent
		}
		t.closeBound(n, math.Max(n.bound, bound), nil, v.y)
		return false
	}
	t.px = append(t.px[:0], v.xf...)
	return true
}

// relaxUnknown goes on when not even exact pivots came to an end in time. A
// node of a search keeps the bound it has and is divided at the float point,
// moved into its box; a continuous model is in trouble.
func (t *tree) relaxUnknown(n *node) bool {
	if t.ctx.Err() != nil || !t.p.discrete {
		t.trouble = t.ctx.Err() == nil
		t.halted = true
		return false
	}
	t.px = t.s.point(t.px)
	for j, v := range t.px {
		if math.IsNaN(v) {
			v = 0
		}
		t.px[j] = math.Min(math.Max(v, n.box.lo[j]), n.box.hi[j])
	}
	return true
}

func (t *tree) raiseExact(n *node, v verified) {
	if f := roundDown(v.obj); f > n.bound {
		n.bound = f
		if t.o.Proof {
			n.y = floatsOf(v.y)
			if !t.b.eval(n.y, n.box.lo, n.box.hi, true) || t.b.val-t.b.err < n.bound {
				n.y = nil
				n.pf.hold(v.y)
			}
		}
	}
}

// floatsOf rounds fractions; nil counts as zero.
func floatsOf(r []*big.Rat) []float64 {
	f := make([]float64, len(r))
	for i, v := range r {
		if v != nil {
			f[i], _ = v.Float64()
		}
	}
	return f
}

// prunesExact is prunes for an exact bound.
func (t *tree) prunesExact(bound *big.Rat) bool {
	if t.inc == nil {
		return false
	}
	return t.g.reaches(bound, t.inc, t.o.Gap, t.slack())
}
