package lp

import "math"

// branchKind says how a node is split.
type branchKind int

const (
	splitValue branchKind = iota // x ≤ at | x ≥ at+1 for whole columns, x ≥ at for others
	splitOff                     // x = 0 | x is on
)

// split is a branching of one column.
type split struct {
	kind branchKind
	col  int
	at   float64
	cont bool // the column is not whole
	down bool // visit the lower side first
}

// void says whether one side of the split is empty in the box.
func (s split) void(b *box) bool {
	if s.kind == splitOff {
		return b.isOn(s.col) || b.hi[s.col] <= 0
	}
	return s.at < b.lo[s.col] || s.at >= b.hi[s.col]
}

// wholeLimit: whole columns are split only below this size. Beyond 2⁵² the
// whole numbers next to a float64 need not be float64s, and "at + 1" may be
// rounded over one of them; a search that would need that ends in trouble.
const wholeLimit = 0x1p52

// wholeTol: a value this near to a whole number is not branched on as long as
// another column can be. It only steers the search.
const wholeTol = 1e-7

// apply narrows box b to one side of the split.
func (s split) apply(b *box, upper bool) {
	switch {
	case s.kind == splitOff && !upper:
		b.hi[s.col] = 0
	case s.kind == splitOff:
		b.on[s.col] = true
	case !upper:
		b.hi[s.col] = math.Min(b.hi[s.col], s.at)
	case s.cont:
		b.lo[s.col] = math.Max(b.lo[s.col], s.at)
	default:
		b.lo[s.col] = math.Max(b.lo[s.col], s.at+1)
	}
}

// choose picks the split for the current relaxation point x: switches (counts
// and nothing-or-at-least) before fractions, and among equals the one whose
// cheaper side costs most by the first step of the dual (the penalties of
// Driebeek and Tomlin). It reports false if x already keeps all of them.
func (t *tree) choose(b *box, x []float64) (split, bool) {
	best, score := split{}, -1.0
	try := func(s split, down, up float64) {
		d := t.s.penalty(s.col, -down)
		u := t.s.penalty(s.col, up)
		const floor = 1e-6
		v := math.Max(math.Min(d, 1e9), floor) * math.Max(math.Min(u, 1e9), floor)
		if v > score {
			s.down = d < u || (d == u && down <= up)
			best, score = s, v
		}
	}
	t.openSwitches(b, x, try)
	if score >= 0 {
		return best, true
	}
	for j, v := range x {
		if !t.p.isInt[j] {
			continue
		}
		v = math.Min(math.Max(v, b.lo[j]), b.hi[j])
		f := math.Floor(v)
		if v-f > wholeTol && f+1-v > wholeTol && math.Abs(f) < wholeLimit {
			try(split{kind: splitValue, col: j, at: f}, v-f, f+1-v)
		}
	}
	return best, score >= 0
}

// openSwitches offers the columns that break nothing-or-at-least, and, where
// a count limit is broken, the undecided columns that are not zero.
func (t *tree) openSwitches(b *box, x []float64, try func(split, float64, float64)) {
	p := t.p
	for j, v := range x {
		s := p.semi[j]
		if s > 0 && !b.isOn(j) && v > zeroTol(s) && v < s-zeroTol(s) {
			try(split{kind: splitOff, col: j}, v, s-v)
		}
	}
	for i := range p.links {
		c := p.links[i].c
		n := 0
		for _, v := range c.Vars {
			if b.isOn(int(v)) || x[v] > zeroTol(b.hi[v]) {
				n++
			}
		}
		if n >= c.Least && n <= c.Most {
			continue
		}
		for _, v := range c.Vars {
			j := int(v)
			if !b.isOn(j) && b.hi[j] > 0 && (x[j] > zeroTol(b.hi[j])) == (n > c.Most) {
				try(split{kind: splitOff, col: j}, x[j], math.Max(p.semi[j]-x[j], 0))
			}
		}
	}
}

// zeroTol is the size up to which a float amount counts as nothing when the
// search looks for something to branch on; claims are checked exactly.
func zeroTol(scale float64) float64 { return float64(1e-9 * math.Max(1, math.Abs(scale))) }

// anySplit finds a split of an undecided column even if the float point looks
// whole, so that a node whose point fails the exact check can be divided.
func (t *tree) anySplit(b *box, x []float64) (split, bool) {
	p := t.p
	best, dist := split{}, -1.0
	for j := range x {
		if (p.semi[j] > 0 || p.count[j]) && !b.isOn(j) && b.hi[j] > 0 {
			return split{kind: splitOff, col: j, down: x[j] < p.semi[j]/2}, true
		}
		if !p.isInt[j] || b.lo[j] == b.hi[j] {
			continue
		}
		v := math.Min(math.Max(math.Round(x[j]), b.lo[j]), b.hi[j])
		d := math.Abs(x[j] - v)
		if d <= dist || math.Abs(v) >= wholeLimit {
			continue
		}
		dist = d
		best = split{kind: splitValue, col: j, at: v, down: true}
		if v >= b.hi[j] || (x[j] < v && v > b.lo[j]) {
			best.at, best.down = v-1, false
		}
	}
	return best, dist >= 0
}

// penalty estimates how much the dual objective rises (scaled) when column j
// is moved by delta from its current value.
func (s *simplex) penalty(j int, delta float64) float64 {
	if delta == 0 {
		return 0
	}
	delta /= s.cs[j]
	for v := s.first[j]; v < s.first[j+1]; v++ {
		if r := s.at[v]; r >= 0 {
			return s.rowPenalty(r, delta)
		}
	}
	rate := math.Inf(1) // all segments rest at bounds: the cheapest that can move
	for v := s.first[j]; v < s.first[j+1]; v++ {
		if s.lo[v] < s.hi[v] && s.up[v] == (delta < 0) {
			rate = math.Min(rate, math.Abs(s.d[^s.at[v]]))
		}
	}
	return rate * math.Abs(delta)
}

// rowPenalty walks the long-step dual function of row r when its basic value
// must change by delta.
func (s *simplex) rowPenalty(r int, delta float64) float64 {
	sign, slope := 1.0, -delta
	if delta > 0 {
		sign, slope = -1, delta
	}
	s.gather(r, sign)
	cs := s.cands
	total, last := 0.0, 0.0
	for len(cs) > 0 && slope > 0 {
		k := 0
		for i := range cs {
			if cs[i].ratio < cs[k].ratio {
				k = i
			}
		}
		c := cs[k]
		total += float64(slope * (c.ratio - last))
		last = c.ratio
		v := s.nb[c.j]
		slope -= float64(c.mag * (s.hi[v] - s.lo[v]))
		cs[k] = cs[len(cs)-1]
		cs = cs[:len(cs)-1]
	}
	if slope > 0 {
		return math.Inf(1)
	}
	return total
}
