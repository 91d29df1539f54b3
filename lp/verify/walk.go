package verify

import (
	"errors"
	"fmt"
	"math/big"
)

// box is the part of the space that belongs to a node.
type box struct {
	lo, hi []*big.Int // places; nil = infinite; never changed in place
	on     []bool
}

func newBox(n int) box {
	return box{make([]*big.Int, n), make([]*big.Int, n), make([]bool, n)}
}

func (b *box) copy(from *box) {
	copy(b.lo, from.lo)
	copy(b.hi, from.hi)
	copy(b.on, from.on)
}

// isOn says whether column j is known to be non-zero. It may be so in a box
// that leaves it no place above zero: such a box holds no point, and whatever
// is concluded of it is true.
func (b *box) isOn(j int) bool { return b.on[j] || (b.lo[j] != nil && b.lo[j].Sign() > 0) }

// mayBe says whether column j can be above zero.
func (b *box) mayBe(j int) bool { return b.hi[j] == nil || b.hi[j].Sign() > 0 }

// side is what a split, or a step back, sets for one column.
type side struct {
	col    int
	lo, hi *big.Int
	on     bool
}

// set changes the box in one column and gives what stood there.
func (b *box) set(s side) side {
	old := side{s.col, b.lo[s.col], b.hi[s.col], b.on[s.col]}
	b.lo[s.col], b.hi[s.col], b.on[s.col] = s.lo, s.hi, s.on
	return old
}

// part is a part of the space that is still to be visited: the box of the node
// above it, which is reached by going back until the trail is depth long, with
// one side changed.
type part struct {
	depth int
	side  side
}

// walker goes through the tree.
type walker struct {
	m      *model
	cuts   []row
	least  *frac // least bound of the leaves so far, nil = all empty
	open   bool  // some leaf proves nothing
	leaves int

	at    box    // the box of the node
	trail []side // what stood in it before, from the root down
	sums  sums   // room for the sums of a leaf
}

// walk visits the nodes, which are in preorder.
func (w *walker) walk(nodes []rawNod) error {
	n := len(w.m.cols)
	w.at, w.sums = newBox(n), newSums(n)
	for j := range w.m.cols {
		w.at.lo[j], w.at.hi[j] = w.m.cols[j].lo, w.m.cols[j].hi
	}
	leaf := newBox(n)
	left := []part{{side: side{col: -1}}}
	for i := range nodes {
		if len(left) == 0 {
			return errors.New("the tree has nodes left over")
		}
		w.enter(left[len(left)-1])
		left = left[:len(left)-1]
		var err error
		if k := nodes[i].Kind; k == "value" || k == "off" {
			left, err = w.split(left, &nodes[i], w.m.at[i])
		} else {
			w.leaves++
			leaf.copy(&w.at)
			err = w.leaf(&leaf, &nodes[i])
		}
		if err != nil {
			return fmt.Errorf("node %d: %w", i, err)
		}
	}
	if len(left) > 0 {
		return errors.New("the tree ends too early")
	}
	return nil
}

// enter makes w.at the box of a part.
func (w *walker) enter(p part) {
	for len(w.trail) > p.depth {
		w.at.set(w.trail[len(w.trail)-1])
		w.trail = w.trail[:len(w.trail)-1]
	}
	if p.side.col >= 0 {
		w.trail = append(w.trail, w.at.set(p.side))
	}
}

// split divides a box: its upper part is left for later, its lower one comes
// next. A column that is not whole is in both with the place itself.
func (w *walker) split(left []part, n *rawNod, at *big.Int) ([]part, error) {
	if n.Col == nil || *n.Col < 0 || *n.Col >= len(w.m.cols) {
		return nil, errors.New("a split needs a column")
	}
	if len(n.Rows)+len(n.Counts)+len(n.Cuts) > 0 {
		return nil, errors.New("a split has no weights")
	}
	j := *n.Col
	c := &w.m.cols[j]
	down := side{j, w.at.lo[j], w.at.hi[j], w.at.on[j]}
	up := down
	switch {
	case n.Kind == "off":
		if !c.switchable() || (c.least == nil && !c.count) || n.At != "" {
			return nil, errors.New("this column cannot be switched")
		}
		down.hi = lower(down.hi, new(big.Int))
		up.on = true
	case !c.whole:
		down.hi, up.lo = lower(down.hi, at), upper(up.lo, at)
	case !w.m.isWhole(at):
		return nil, errors.New("whole columns are split at whole numbers")
	default:
		down.hi, up.lo = lower(down.hi, at), upper(up.lo, new(big.Int).Add(at, w.m.one))
	}
	return append(left, part{len(w.trail), up}, part{len(w.trail), down}), nil
}

// lower is the smaller of an upper bound (nil = infinite) and v.
func lower(b, v *big.Int) *big.Int {
	if b != nil && b.Cmp(v) < 0 {
		return b
	}
	return v
}

// upper is the larger of a lower bound (nil = infinite) and v.
func upper(b, v *big.Int) *big.Int {
	if b != nil && b.Cmp(v) > 0 {
		return b
	}
	return v
}

// leaf closes a box, which it may change.
func (w *walker) leaf(b *box, n *rawNod) error {
	if n.Col != nil || n.At != "" {
		return errors.New("a leaf has no column")
	}
	weights := len(n.Rows) + len(n.Counts) + len(n.Cuts)
	ok, err := w.conclude(b)
	if err != nil {
		return err
	}
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
	if costs {
		return w.note(v)
	}
	if v == nil || v.n.Sign() <= 0 {
		return errors.New("the weights do not prove a contradiction")
	}
	return nil
}

// note takes the bound of a leaf; nil is −∞.
func (w *walker) note(v *frac) error {
	switch {
	case v == nil:
		w.open = true
	case w.least == nil:
		w.least = v
	default:
		long := size(v.n) + words(v.d.bits()) + size(w.least.n) + words(w.least.d.bits())
		if err := w.m.spend(1, long*long/4); err != nil {
			return err
		}
		if v.cmp(*w.least) < 0 {
			w.least = v
		}
	}
	return nil
}

// pointLeaf checks the single point of the box. If a rule is broken there, the
// box holds no point, and nothing is left to note.
func (w *walker) pointLeaf(b *box, ok bool) error {
	if !ok {
		return nil
	}
	for j := range b.lo {
		if b.lo[j] == nil || b.hi[j] == nil || b.lo[j].Cmp(b.hi[j]) != 0 {
			return errors.New("the box is not a single point")
		}
	}
	cost, broken, err := w.m.holds(b.lo, w.m.places)
	if err != nil || broken != "" {
		return err
	}
	return w.note(&cost)
}

// conclude narrows the box by rounding whole columns inwards, by
// nothing-or-at-least and by the counts, until nothing changes. It reports
// false if the box is empty.
func (w *walker) conclude(b *box) (bool, error) {
	for changed := true; changed; {
		if err := w.m.spend(w.m.cells, w.m.placeSize*w.m.placeSize); err != nil {
			return false, err
		}
		changed = false
		for j := range w.m.cols {
			ch, ok := w.m.concludeColumn(j, b)
			if !ok {
				return false, nil
			}
			changed = changed || ch
		}
		for i := range w.m.counts {
			ch, ok := concludeCount(&w.m.counts[i], b)
			if !ok {
				return false, nil
			}
			changed = changed || ch
		}
	}
	return true, nil
}

func (m *model) concludeColumn(j int, b *box) (changed, ok bool) {
	c := &m.cols[j]
	if c.whole && b.lo[j] != nil {
		b.lo[j] = m.ceil(b.lo[j])
	}
	if c.whole && b.hi[j] != nil {
		b.hi[j] = m.floor(b.hi[j])
	}
	if s := c.smallest; s != nil {
		if b.isOn(j) && b.lo[j].Cmp(s) < 0 {
			b.lo[j], changed = s, true
		} else if !b.isOn(j) && b.hi[j].Sign() > 0 && b.hi[j].Cmp(s) < 0 {
			b.hi[j], changed = new(big.Int), true
		}
	}
	return changed, b.lo[j] == nil || b.hi[j] == nil || b.lo[j].Cmp(b.hi[j]) <= 0
}

// concludeCount leans on counted columns being at least zero, so that one that
// cannot be above zero is zero, which is not on.
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
			b.hi[j], changed = new(big.Int), true
		} else if may == c.least {
			b.on[j], changed = true, true
		}
	}
	return changed, true
}
