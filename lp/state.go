package lp

import "math"

// box is the state of a node: the bounds of every column, and which counted
// columns are taken to be on although their lower bound may be zero.
type box struct {
	lo, hi []float64
	on     []bool
}

func (b *box) clone() *box {
	return &box{
		lo: append([]float64(nil), b.lo...),
		hi: append([]float64(nil), b.hi...),
		on: append([]bool(nil), b.on...),
	}
}

// rootBox is the box of the model itself.
func (p *prob) rootBox() *box {
	return &box{
		lo: append([]float64(nil), p.lo...),
		hi: append([]float64(nil), p.hi...),
		on: make([]bool, p.n),
	}
}

// isOn says whether column j is counted as non-zero in the box.
func (b *box) isOn(j int) bool { return b.on[j] || b.lo[j] > 0 }

// normalise draws the plain conclusions of nothing-or-at-least and of the
// counts until nothing changes. It reports false if the box is empty.
//
//   - a column that may be on but cannot reach its least amount is off;
//   - a column that is on has at least its least amount;
//   - when Most columns are on the others are off, more is impossible;
//   - when only Least columns can be on they are on, fewer is impossible.
func (p *prob) normalise(b *box) bool {
	for {
		changed := false
		for j := range b.lo {
			if p.semi[j] > 0 {
				changed = p.switchColumn(b, j) || changed
			}
			if b.lo[j] > b.hi[j] {
				return false
			}
		}
		for i := range p.links {
			ch, ok := p.countColumns(b, p.links[i].c)
			if !ok {
				return false
			}
			changed = changed || ch
		}
		if !changed {
			return true
		}
	}
}

func (p *prob) switchColumn(b *box, j int) bool {
	if b.isOn(j) {
		if b.lo[j] < p.semi[j] {
			b.lo[j] = p.semi[j]
			return true
		}
		return false
	}
	if b.hi[j] > 0 && b.hi[j] < p.semi[j] {
		b.hi[j] = 0
		return true
	}
	return false
}

func (p *prob) countColumns(b *box, c *Count) (changed, ok bool) {
	on, may := 0, 0
	for _, v := range c.Vars {
		if b.isOn(int(v)) {
			on++
		}
		if b.hi[v] > 0 {
			may++
		}
	}
	if on > c.Most || may < c.Least {
		return false, false
	}
	if on == c.Most && may > on {
		for _, v := range c.Vars {
			if !b.isOn(int(v)) && b.hi[v] > 0 {
				b.hi[v] = 0
				changed = true
			}
		}
	} else if may == c.Least && on < may {
		for _, v := range c.Vars {
			if b.hi[v] > 0 && !b.isOn(int(v)) {
				b.on[v] = true
				changed = true
			}
		}
	}
	return changed, true
}

// fillCounts writes the surrogate rows of the counts for the box. A column
// that is neither on nor off satisfies x/hi ≤ [x ≠ 0] ≤ x/least, so
//
//	Σ undecided x/hi ≤ Most − on,   Σ undecided x/least ≥ Least − on.
//
// The coefficients are rounded to the safe side, which x ≥ 0 allows. It
// reports which rows changed.
func (p *prob) fillCounts(b *box, changed []int) []int {
	changed = changed[:0]
	for _, l := range p.links {
		on := 0
		for _, v := range l.c.Vars {
			if b.isOn(int(v)) {
				on++
			}
		}
		if i := l.most; i >= 0 {
			if p.fillCount(b, l.c, i, true) || p.rowHi[i] != float64(l.c.Most-on) {
				p.rowHi[i] = float64(l.c.Most - on)
				changed = append(changed, i)
			}
		}
		if i := l.least; i >= 0 {
			if p.fillCount(b, l.c, i, false) || p.rowLo[i] != float64(l.c.Least-on) {
				p.rowLo[i] = float64(l.c.Least - on)
				changed = append(changed, i)
			}
		}
	}
	return changed
}

func (p *prob) fillCount(b *box, c *Count, i int, most bool) bool {
	changed := false
	for _, v := range c.Vars {
		f := 0.0
		if !b.isOn(int(v)) && b.hi[v] > 0 {
			if most {
				f = shareBelow(b.hi[v])
			} else {
				f = shareAbove(p.semi[v])
			}
		}
		if p.a[i][v] != f {
			p.a[i][v] = f
			changed = true
		}
	}
	return changed
}

// shareBelow is a float64 that is not above 1/v.
func shareBelow(v float64) float64 { return math.Nextafter(1/v, 0) }

// shareAbove is a float64 that is not below 1/v.
func shareAbove(v float64) float64 { return math.Nextafter(1/v, math.Inf(1)) }
