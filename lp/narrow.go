package lp

import "math"

const (
	// narrowRounds is the most passes over the rows at the root.
	narrowRounds = 3
	// narrowGain: a bound of a column that is not whole is replaced only if
	// it comes nearer by this part of the range (or was infinite), so that
	// the passes end soon.
	narrowGain = 0.05
	// narrowMargin: bounds of columns that are not whole are moved outwards
	// by this part of their size, so that the proof of the far side has
	// room: the rounding error of a row is below 1e-12 of its terms unless
	// they cancel, and then the proof fails and the bound is left alone.
	narrowMargin = 1e-7
)

// narrow tightens the column bounds of the root box by single rows: what a
// row leaves for a column when all others are at their cheapest. Every step
// is a split whose far side is closed by that row alone, checked with the
// rounding-error bound, so it is part of the proof like any other. It reports
// false if the box turned out empty (then the root is closed).
func (t *tree) narrow(n *node) bool {
	t.p.fillCounts(n.box, nil)
	t.p.derived = t.p.derived[:0]
	for round := 0; round < narrowRounds; round++ {
		changed := false
		for i := 0; i < t.p.m0; i++ {
			changed = t.narrowRow(n, i) || changed
		}
		if !changed {
			return true
		}
		if !t.p.normalise(n.box) {
			t.closeLogic(n)
			return false
		}
	}
	return true
}

// narrowRow draws conclusions from row i for every column in it.
func (t *tree) narrowRow(n *node, i int) bool {
	changed := false
	a := t.p.a[i]
	for side := -1.0; side <= 1; side += 2 {
		// side +1: Σ a·x ≥ lo; side −1: −Σ a·x ≥ −hi.
		r := t.p.rowLo[i]
		if side < 0 {
			r = -t.p.rowHi[i]
		}
		if isInf(r) {
			continue
		}
		most, open := reach(n.box, a, side)
		for j, c := range a {
			if c == 0 || n.box.lo[j] == n.box.hi[j] {
				continue
			}
			c *= side
			end := n.box.hi[j]
			if c < 0 {
				end = n.box.lo[j]
			}
			rest := most
			switch {
			case open == 0:
				rest -= float64(c * end)
			case open > 1 || !isInf(end):
				continue
			}
			// c·x ≥ r − rest
			if t.narrowColumn(n, i, j, side, (r-rest)/c, c > 0) {
				changed = true
				most, open = reach(n.box, a, side)
			}
		}
	}
	return changed
}

// reach is the most that Σ side·a·x can be over the box, and how many terms
// of it are infinite (they are left out of the sum).
func reach(b *box, a []float64, side float64) (most float64, open int) {
	for j, c := range a {
		if c == 0 {
			continue
		}
		c *= side
		x := b.hi[j]
		if c < 0 {
			x = b.lo[j]
		}
		if isInf(x) {
			open++
		} else {
			most += float64(c * x)
		}
	}
	return most, open
}

// narrowColumn tries to make v the new lower (or upper) bound of column j on
// the strength of row i.
func (t *tree) narrowColumn(n *node, i, j int, side, v float64, lower bool) bool {
	b := n.box
	if math.IsNaN(v) || math.Abs(v) > maxFigure || (t.p.isInt[j] && math.Abs(v) >= wholeLimit) {
		return false
	}
	sp := split{kind: splitValue, col: j, cont: !t.p.isInt[j]}
	margin := float64(narrowMargin * math.Max(1, math.Abs(v)))
	if lower {
		if v -= margin; t.p.isInt[j] {
			v = math.Ceil(v)
		} else {
			v = -shortUp(-v)
		}
		if !t.worth(j, v-b.lo[j], b) {
			return false
		}
		sp.at = v
		if t.p.isInt[j] {
			sp.at--
		}
	} else {
		if v += margin; t.p.isInt[j] {
			v = math.Floor(v)
		} else {
			v = shortUp(v)
		}
		if !t.worth(j, b.hi[j]-v, b) {
			return false
		}
		sp.at = v
	}
	if !okFigure(v) || !t.farSideEmpty(n, sp, i, side, lower) {
		return false
	}
	down, up := n.pf.split(sp)
	out, in := up, down
	if lower {
		out, in = down, up
		b.lo[j] = v
	} else {
		b.hi[j] = v
	}
	out.leaf(leafEmpty, t.b.y, nil)
	n.pf = in
	if sp.cont {
		t.p.derived = append(t.p.derived, v)
	}
	return true
}

// shortUp rounds v up to 20 binary digits, which keeps exact numbers short.
func shortUp(v float64) float64 {
	fr, e := math.Frexp(v)
	return math.Ldexp(math.Ceil(fr*0x1p20), e-20)
}

// worth says whether moving a bound of column j by gain is worth a split.
func (t *tree) worth(j int, gain float64, b *box) bool {
	if t.p.isInt[j] {
		return gain >= 1
	}
	return math.IsInf(gain, 1) || gain > float64(narrowGain*(b.hi[j]-b.lo[j]))
}

// farSideEmpty proves that the part of the box beyond the split holds no
// point, by row i alone.
func (t *tree) farSideEmpty(n *node, sp split, i int, side float64, lower bool) bool {
	b := n.box
	j := sp.col
	lo, hi := b.lo[j], b.hi[j]
	sp.apply(b, !lower)
	ok := false
	if b.lo[j] <= b.hi[j] {
		y := make([]float64, i+1)
		y[i] = side
		ok = t.b.eval(y, b.lo, b.hi, false) && t.b.val-t.b.err > 0
	}
	b.lo[j], b.hi[j] = lo, hi
	return ok
}
