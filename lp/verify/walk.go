package verify

import (
	"errors"
	"fmt"
	"math/big"
)

// box is the part of the space that belongs to a node.
type box struct {
	lo, hi []*big.Rat // nil = infinite; the numbers are never changed in place
	on     []bool
}

func (b *box) clone() *box {
	return &box{append([]*big.Rat(nil), b.lo...), append([]*big.Rat(nil), b.hi...), append([]bool(nil), b.on...)}
}

// isOn says whether column j is known to be non-zero.
func (b *box) isOn(j int) bool { return b.on[j] || (b.lo[j] != nil && b.lo[j].Sign() > 0) }

// mayBe says whether column j can be above zero.
func (b *box) mayBe(j int) bool { return b.hi[j] == nil || b.hi[j].Sign() > 0 }

// walker goes through the tree.
type walker struct {
	m      *model
	cuts   []row
	least  *big.Rat // least bound of the leaves so far, nil = all empty
	open   bool     // some leaf proves nothing
	leaves int
}

// addCuts derives the tangents from their directions.
func (w *walker) addCuts(raw []rawCut) error {
	for i, c := range raw {
		if c.Cone < 0 || c.Cone >= len(w.m.cones) || len(c.Dir) != len(w.m.cones[c.Cone].spread) {
			return fmt.Errorf("cut %d does not fit a cone", i)
		}
		k := &w.m.cones[c.Cone]
		sq, t := new(big.Rat), new(big.Rat)
		coef := make(map[int]*big.Rat)
		var order []int
		for _, e := range k.terms {
			coef[e.col] = new(big.Rat).Set(e.coef)
			order = append(order, e.col)
		}
		for n, e := range k.spread {
			v, err := number(c.Dir[n])
			if err != nil {
				return fmt.Errorf("cut %d: %w", i, err)
			}
			sq.Add(sq, t.Mul(v, v))
			if coef[e.col] == nil {
				coef[e.col] = new(big.Rat)
				order = append(order, e.col)
			}
			t.Mul(k.z, v)
			coef[e.col].Sub(coef[e.col], t.Mul(t, e.coef))
		}
		if sq.Cmp(big.NewRat(1, 1)) > 0 {
			return fmt.Errorf("the direction of cut %d is too long", i)
		}
		r := row{lo: k.lo}
		for _, j := range order {
			r.terms = append(r.terms, term{j, coef[j]})
		}
		w.cuts = append(w.cuts, r)
	}
	return nil
}

// walk visits the nodes, which are in preorder.
func (w *walker) walk(nodes []rawNod) error {
	root := &box{on: make([]bool, len(w.m.cols))}
	for j := range w.m.cols {
		root.lo = append(root.lo, w.m.cols[j].lo)
		root.hi = append(root.hi, w.m.cols[j].hi)
	}
	stack := []*box{root}
	for i := range nodes {
		if len(stack) == 0 {
			return errors.New("the tree has nodes left over")
		}
		b := stack[len(stack)-1]
		stack = stack[:len(stack)-1]
		n := &nodes[i]
		if n.Kind == "value" || n.Kind == "off" {
			down, up, err := w.split(b, n)
			if err != nil {
				return fmt.Errorf("node %d: %w", i, err)
			}
			stack = append(stack, up, down)
			continue
		}
		w.leaves++
		if err := w.leaf(b, n); err != nil {
			return fmt.Errorf("node %d: %w", i, err)
		}
	}
	if len(stack) > 0 {
		return errors.New("the tree ends too early")
	}
	return nil
}

// split divides a box.
func (w *walker) split(b *box, n *rawNod) (down, up *box, err error) {
	if n.Col == nil || *n.Col < 0 || *n.Col >= len(w.m.cols) {
		return nil, nil, errors.New("a split needs a column")
	}
	if len(n.Rows)+len(n.Counts)+len(n.Cuts) > 0 {
		return nil, nil, errors.New("a split has no weights")
	}
	j := *n.Col
	c := &w.m.cols[j]
	down, up = b, b.clone()
	if n.Kind == "off" {
		if !c.switchable() || (c.least == nil && !c.count) || n.At != "" {
			return nil, nil, errors.New("this column cannot be switched")
		}
		down.hi[j] = lower(b.hi[j], new(big.Rat))
		up.on[j] = true
		return down, up, nil
	}
	at, err := number(n.At)
	if err != nil {
		return nil, nil, err
	}
	next := at
	if c.whole {
		if !at.IsInt() {
			return nil, nil, errors.New("whole columns are split at whole numbers")
		}
		next = new(big.Rat).Add(at, big.NewRat(1, 1))
	}
	down.hi[j] = lower(b.hi[j], at)
	up.lo[j] = upper(up.lo[j], next)
	return down, up, nil
}

// lower is the smaller of an upper bound (nil = infinite) and v.
func lower(b, v *big.Rat) *big.Rat {
	if b != nil && b.Cmp(v) < 0 {
		return b
	}
	return v
}

// upper is the larger of a lower bound (nil = infinite) and v.
func upper(b, v *big.Rat) *big.Rat {
	if b != nil && b.Cmp(v) > 0 {
		return b
	}
	return v
}

// leaf closes a box.
func (w *walker) leaf(b *box, n *rawNod) error {
	if n.Col != nil || n.At != "" {
		return errors.New("a leaf has no column")
	}
	weights := len(n.Rows) + len(n.Counts) + len(n.Cuts)
	ok := w.conclude(b)
	switch n.Kind {
	case "open":
		w.open = true
		return nil
	case "logic":
		if ok || weights > 0 {
			return errors.New("plain conclusions do not empty the box")
		}
		return nil
	case "point":
		return w.pointLeaf(b, ok)
	case "bound", "empty":
	default:
		return fmt.Errorf("unknown kind %.40q", n.Kind)
	}
	if !ok {
		return nil // the box is empty: any weights will do
	}
	costs := n.Kind == "bound"
	v, err := w.dual(b, n, costs)
	if err != nil {
		return err
	}
	if !costs {
		if v == nil || v.Sign() <= 0 {
			return errors.New("the weights do not prove a contradiction")
		}
		return nil
	}
	w.note(v)
	return nil
}

// note takes the bound of a leaf; nil is −∞.
func (w *walker) note(v *big.Rat) {
	if v == nil {
		w.open = true
	} else if w.least == nil || v.Cmp(w.least) < 0 {
		w.least = v
	}
}

// pointLeaf checks the single point of the box.
func (w *walker) pointLeaf(b *box, ok bool) error {
	if !ok {
		return nil
	}
	for j := range b.lo {
		if b.lo[j] == nil || b.hi[j] == nil || b.lo[j].Cmp(b.hi[j]) != 0 {
			return errors.New("the box is not a single point")
		}
	}
	if cost, err := w.m.holds(b.lo); err == nil {
		w.note(cost)
	}
	return nil
}

// least amount of a column that is on, or nil if it may be as small as it
// likes.
func (c *column) smallest() *big.Rat {
	one := big.NewRat(1, 1)
	switch {
	case c.least == nil && c.whole && c.count:
		return one
	case c.least == nil:
		return nil
	case c.whole:
		return upper(one, ceil(c.least))
	}
	return c.least
}

// ceil and floor round to whole numbers.
func ceil(r *big.Rat) *big.Rat {
	f := floor(r)
	if f.Cmp(r) < 0 {
		f.Add(f, big.NewRat(1, 1))
	}
	return f
}

func floor(r *big.Rat) *big.Rat {
	q, m := new(big.Int), new(big.Int)
	q.DivMod(r.Num(), r.Denom(), m)
	return new(big.Rat).SetInt(q)
}

// conclude narrows the box by rounding whole columns inwards, by
// nothing-or-at-least and by the counts, until nothing changes. It reports
// false if the box is empty.
func (w *walker) conclude(b *box) bool {
	zero := new(big.Rat)
	for changed := true; changed; {
		changed = false
		for j := range w.m.cols {
			c := &w.m.cols[j]
			if c.whole {
				if b.lo[j] != nil && !b.lo[j].IsInt() {
					b.lo[j] = ceil(b.lo[j])
				}
				if b.hi[j] != nil && !b.hi[j].IsInt() {
					b.hi[j] = floor(b.hi[j])
				}
			}
			if s := c.smallest(); s != nil {
				if b.isOn(j) && b.lo[j].Cmp(s) < 0 {
					b.lo[j], changed = s, true
				} else if !b.isOn(j) && b.hi[j].Sign() > 0 && b.hi[j].Cmp(s) < 0 {
					b.hi[j], changed = zero, true
				}
			}
			if b.lo[j] != nil && b.hi[j] != nil && b.lo[j].Cmp(b.hi[j]) > 0 {
				return false
			}
		}
		for i := range w.m.counts {
			ch, ok := concludeCount(&w.m.counts[i], b)
			if !ok {
				return false
			}
			changed = changed || ch
		}
	}
	return true
}

func concludeCount(c *count, b *box) (changed, ok bool) {
	on, may := 0, 0
	for _, j := range c.cols {
		if b.isOn(j) {
			on++
		}
		if b.mayBe(j) {
			may++
		}
	}
	if on > c.most || may < c.least {
		return false, false
	}
	for _, j := range c.cols {
		if b.isOn(j) || !b.mayBe(j) {
			continue
		}
		if on == c.most {
			b.hi[j], changed = new(big.Rat), true
		} else if may == c.least {
			b.on[j], changed = true, true
		}
	}
	return changed, true
}

// dual evaluates the bound that the weights of a leaf prove; nil is −∞.
func (w *walker) dual(b *box, n *rawNod, costs bool) (*big.Rat, error) {
	sum := new(big.Rat)
	slope := make([]*big.Rat, len(w.m.cols))
	for j := range slope {
		slope[j] = new(big.Rat)
		if costs {
			slope[j].Set(w.m.cols[j].cost)
		}
	}
	add := func(ws []rawWeight, limit int, get func(i, sign int) row) error {
		for _, e := range ws {
			y, err := number(e.Value)
			if err != nil {
				return err
			}
			if e.Index < 0 || e.Index >= limit {
				return fmt.Errorf("there is no rule %d", e.Index)
			}
			if y.Sign() == 0 {
				continue
			}
			r := get(e.Index, y.Sign())
			side := r.lo
			if y.Sign() < 0 {
				side = r.hi
			}
			if side == nil {
				return errors.New("a weight stands on an infinite side")
			}
			t := new(big.Rat)
			sum.Add(sum, t.Mul(y, side))
			for _, c := range r.terms {
				slope[c.col].Sub(slope[c.col], t.Mul(y, c.coef))
				if slope[c.col].Denom().BitLen() > maxBits {
					return errors.New("the numbers grow too large")
				}
			}
		}
		return nil
	}
	err := add(n.Rows, len(w.m.rows), func(i, _ int) row { return w.m.rows[i] })
	if err == nil {
		err = add(n.Cuts, len(w.cuts), func(i, _ int) row { return w.cuts[i] })
	}
	if err == nil {
		err = add(n.Counts, len(w.m.counts), func(i, sign int) row { return w.countRow(i, sign, b) })
	}
	if err != nil {
		return nil, err
	}
	for j := range slope {
		v := leastTerm(&w.m.cols[j], slope[j], b.lo[j], b.hi[j], costs)
		if v == nil {
			return nil, nil
		}
		sum.Add(sum, v)
	}
	return sum, nil
}

// countRow is the linear consequence of a count in the box: for a column that
// is neither known to be on nor off, x/hi ≤ [x ≠ 0] ≤ x/smallest.
func (w *walker) countRow(i, sign int, b *box) row {
	c := &w.m.counts[i]
	on := 0
	var r row
	for _, j := range c.cols {
		if b.isOn(j) {
			on++
			continue
		}
		if !b.mayBe(j) {
			continue
		}
		if sign < 0 {
			r.terms = append(r.terms, term{j, new(big.Rat).Inv(b.hi[j])})
		} else if s := w.m.cols[j].smallest(); s != nil {
			r.terms = append(r.terms, term{j, new(big.Rat).Inv(s)})
		} else {
			return row{} // no least amount: no row, the weight is refused
		}
	}
	if sign < 0 {
		r.hi = big.NewRat(int64(c.most-on), 1)
	} else {
		r.lo = big.NewRat(int64(c.least-on), 1)
	}
	return r
}

// leastTerm is the least of slope·x + Σ rise·max(0, x−at) over [lo, hi]; nil
// is −∞. A convex function takes it at an end, at a break, or (only if both
// ends are infinite and there is no break) nowhere in particular, when its
// slope is zero.
func leastTerm(c *column, slope, lo, hi *big.Rat, breaks bool) *big.Rat {
	last := new(big.Rat).Set(slope)
	if breaks {
		for _, b := range c.breaks {
			last.Add(last, b.rise)
		}
	}
	if (lo == nil && slope.Sign() > 0) || (hi == nil && last.Sign() < 0) {
		return nil
	}
	var best *big.Rat
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
	if breaks {
		for _, b := range c.breaks {
			if (lo == nil || b.at.Cmp(lo) > 0) && (hi == nil || b.at.Cmp(hi) < 0) {
				try(b.at)
			}
		}
	}
	if best == nil {
		best = new(big.Rat)
	}
	return best
}
