package verify

import (
	"math/big"
	"slices"
)

type refBox struct {
	lo, hi []*big.Rat
	on     []bool
}

func (b *refBox) isOn(j int) bool  { return b.on[j] || b.lo[j] != nil && b.lo[j].Sign() > 0 }
func (b *refBox) mayBe(j int) bool { return b.hi[j] == nil || b.hi[j].Sign() > 0 }

func (r *reference) walk(nodes []rawNod) {
	root := &refBox{on: make([]bool, len(r.cols))}
	for j := range r.cols {
		root.lo, root.hi = append(root.lo, r.cols[j].lo), append(root.hi, r.cols[j].hi)
	}
	stack := []*refBox{root}
	for i := range nodes {
		n := &nodes[i]
		must(len(stack) > 0, "nodes left over")
		b := stack[len(stack)-1]
		stack = stack[:len(stack)-1]
		if n.Kind != "value" && n.Kind != "off" {
			r.leaf(b, n)
			continue
		}
		must(n.Col != nil && *n.Col >= 0 && *n.Col < len(r.cols), "column of a split")
		must(len(n.Rows)+len(n.Counts)+len(n.Cuts) == 0, "weights of a split")
		j := *n.Col
		c := &r.cols[j]
		down, up := b, &refBox{slices.Clone(b.lo), slices.Clone(b.hi), slices.Clone(b.on)}
		var at *big.Rat
		if n.Kind == "off" {
			must(c.switchable() && (c.least != nil || c.count) && n.At == "", "switch")
			at, up.on[j] = new(big.Rat), true
		} else {
			at = refNumber(n.At)
			next := at
			if c.whole {
				must(at.IsInt(), "split of a whole column")
				next = plus(at, rat(1))
			}
			if up.lo[j] == nil || up.lo[j].Cmp(next) < 0 {
				up.lo[j] = next
			}
		}
		if down.hi[j] == nil || down.hi[j].Cmp(at) > 0 {
			down.hi[j] = at
		}
		stack = append(stack, up, down)
	}
	must(len(stack) == 0, "nodes missing")
}

func (r *reference) leaf(b *refBox, n *rawNod) {
	must(n.Col == nil && n.At == "", "column of a leaf")
	ok := r.conclude(b)
	switch n.Kind {
	case "open":
		r.open = true
	case "logic":
		must(!ok && len(n.Rows)+len(n.Counts)+len(n.Cuts) == 0, "logic")
	case "point":
		if !ok {
			return
		}
		for j := range b.lo {
			must(b.lo[j] != nil && b.hi[j] != nil && b.lo[j].Cmp(b.hi[j]) == 0, "no single point")
		}
		if cost := r.holds(b.lo); cost != nil {
			r.note(cost)
		}
	case "bound":
		if ok {
			r.note(r.dual(b, n, true))
		}
	default:
		must(n.Kind == "empty", "kind")
		if ok {
			v := r.dual(b, n, false)
			must(v != nil && v.Sign() > 0, "no contradiction")
		}
	}
}

func (r *reference) note(v *big.Rat) {
	if v == nil {
		r.open = true
	} else if r.least == nil || v.Cmp(r.least) < 0 {
		r.least = v
	}
}

func (c *refColumn) smallest() *big.Rat {
	if c.whole && c.least != nil {
		return refCeil(c.least) // above zero, so at least 1
	}
	if c.whole && c.count {
		return rat(1)
	}
	return c.least
}

func (r *reference) conclude(b *refBox) bool {
	for changed := true; changed; {
		changed = false
		for j := range r.cols {
			c := &r.cols[j]
			if c.whole && b.lo[j] != nil {
				b.lo[j] = refCeil(b.lo[j])
			}
			if c.whole && b.hi[j] != nil {
				b.hi[j] = refFloor(b.hi[j])
			}
			if s := c.smallest(); s != nil {
				if b.isOn(j) && b.lo[j].Cmp(s) < 0 {
					b.lo[j], changed = s, true
				} else if !b.isOn(j) && b.hi[j].Sign() > 0 && b.hi[j].Cmp(s) < 0 {
					b.hi[j], changed = new(big.Rat), true
				}
			}
			if b.lo[j] != nil && b.hi[j] != nil && b.lo[j].Cmp(b.hi[j]) > 0 {
				return false
			}
		}
		for _, c := range r.counts {
			on, may := 0, 0
			for _, j := range c.Cols {
				if b.isOn(j) {
					on++
				}
				if b.mayBe(j) {
					may++
				}
			}
			if on > c.Most || may < c.Least {
				return false
			}
			for _, j := range c.Cols {
				switch {
				case b.isOn(j) || !b.mayBe(j):
				case on == c.Most:
					b.hi[j], changed = new(big.Rat), true
				case may == c.Least:
					b.on[j], changed = true, true
				}
			}
		}
	}
	return true
}

func (r *reference) dual(b *refBox, n *rawNod, costs bool) *big.Rat {
	sum, slope := new(big.Rat), make([]*big.Rat, len(r.cols))
	for j := range slope {
		if slope[j] = new(big.Rat); costs {
			slope[j].Set(r.cols[j].cost)
		}
	}
	add := func(ws []rawWeight, limit int, get func(i, sign int) refRow) {
		for _, e := range ws {
			y := refNumber(e.Value)
			must(e.Index >= 0 && e.Index < limit, "rule of a weight")
			if y.Sign() == 0 {
				continue
			}
			w := get(e.Index, y.Sign())
			side := w.lo
			if y.Sign() < 0 {
				side = w.hi
			}
			must(side != nil, "infinite side")
			sum.Add(sum, product(y, side))
			for _, t := range w.terms {
				slope[t.col].Sub(slope[t.col], product(y, t.coef))
			}
		}
	}
	add(n.Rows, len(r.rows), func(i, _ int) refRow { return r.rows[i] })
	add(n.Cuts, len(r.cuts), func(i, _ int) refRow { return r.cuts[i] })
	add(n.Counts, len(r.counts), func(i, sign int) refRow { return r.countRow(&r.counts[i], sign, b) })
	for j := range slope {
		v := r.cols[j].leastTerm(slope[j], b.lo[j], b.hi[j], costs)
		if v == nil {
			return nil
		}
		sum.Add(sum, v)
	}
	return sum
}

func (r *reference) countRow(c *rawCount, sign int, b *refBox) (w refRow) {
	on := 0
	for _, j := range c.Cols {
		if b.isOn(j) {
			on++
			continue
		}
		if !b.mayBe(j) {
			continue
		}
		by := b.hi[j]
		if sign > 0 {
			if by = r.cols[j].smallest(); by == nil {
				return refRow{}
			}
		}
		w.terms = append(w.terms, refTerm{j, new(big.Rat).Inv(by)})
	}
	if sign < 0 {
		w.hi = rat(int64(c.Most - on))
	} else {
		w.lo = rat(int64(c.Least - on))
	}
	return w
}

// leastTerm tries both ends and every break.
func (c *refColumn) leastTerm(slope, lo, hi *big.Rat, breaks bool) (best *big.Rat) {
	last := new(big.Rat).Set(slope)
	for _, b := range c.breaks {
		if breaks {
			last.Add(last, b[1])
		}
	}
	if lo == nil && slope.Sign() > 0 || hi == nil && last.Sign() < 0 {
		return nil
	}
	try := func(x *big.Rat) {
		if v := c.costAt(slope, x, breaks); best == nil || v.Cmp(best) < 0 {
			best = v
		}
	}
	if lo != nil {
		try(lo)
	}
	if hi != nil {
		try(hi)
	}
	for _, b := range c.breaks {
		if breaks && (lo == nil || b[0].Cmp(lo) > 0) && (hi == nil || b[0].Cmp(hi) < 0) {
			try(b[0])
		}
	}
	if best == nil {
		best = new(big.Rat)
	}
	return best
}
