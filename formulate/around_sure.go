package formulate

import (
	"math"

	"firlot/analysis"
)

// surely settles a batch as surely as the document asks, or as surely as was
// found; nil when no mix is inside on the means.
func (m *mender) surely(a ask) (*found, error) {
	f, err := m.settle(a)
	if err != nil {
		return nil, err
	}
	if f.none {
		if a.z == nil {
			m.claims = append(m.claims, f.claims...)
		}
		return nil, nil
	}
	if f.x == nil {
		return f, nil
	}
	if f.joint = m.jointOf(f.x); m.sureness() == 0 || f.joint >= m.sureness() {
		f.sure = true
		return f, nil
	}
	best, on := f, f
	keep := func(g *found) bool {
		if g == nil || g.x == nil {
			return false
		}
		g.joint = m.jointOf(g.x)
		g.sure = g.joint >= m.sureness()
		// What opens as few as the mix on the means opens the fewest.
		g.fewest = on.fewest && m.opens(g.x) <= m.opens(on.x)
		if g.joint > best.joint {
			best = g
		}
		return g.sure
	}
	if err := m.trySurer(a, keep); err != nil && !late(err) {
		return nil, err
	}
	best.late = !best.sure && m.ctx.Err() != nil
	return best, nil
}

// trySurer tries sharings of the risk until a mix is kept.
func (m *mender) trySurer(a ask, keep func(*found) bool) error {
	for _, z := range m.sharings() {
		a.z = z
		if _, ok, err := m.draft(withReopen(a, -1)); err != nil {
			return err
		} else if !ok {
			continue
		}
		if g, err := m.settle(a); err != nil || keep(g) {
			return err
		}
	}
	g, err := m.surest(a)
	if err == nil {
		keep(g)
	}
	return err
}

// opens is how many finished lines a mix opens anew.
func (m *mender) opens(x []int) int {
	n := 0
	for i, v := range x {
		if m.finished[i] && v > m.poured[i] {
			n++
		}
	}
	return n
}

// sharings are ways to share the allowed risk over the edges: as the planned
// mix uses it, which suits a bowl that is nearly right, and evenly.
func (m *mender) sharings() [][]float64 {
	risk := 1 - m.sureness()
	var list [][]float64
	x := make([]float64, len(m.near))
	for i, n := range m.near {
		x[i] = float64(n)
	}
	if z := m.sharedAt(x, risk); z != nil {
		list = append(list, z)
	}
	return append(list, m.evenly())
}

// evenly shares the risk over the edges that have spread.
func (m *mender) evenly() []float64 {
	z, n := make([]float64, len(m.edges)), 0.0
	for _, e := range m.edges {
		if e.row.hasSpread() {
			n++
		}
	}
	for i, e := range m.edges {
		if e.row.hasSpread() {
			z[i] = deviations((1 - m.sureness()) / n)
		}
	}
	return z
}

// sharedAt shares the risk over the edges as a mix uses it; nil when it uses
// more than is allowed.
func (m *mender) sharedAt(x []float64, risk float64) []float64 {
	used := make([]float64, len(m.edges))
	total := 0.0
	for i, e := range m.edges {
		if e.row.hasSpread() {
			used[i] = max(1-analysis.Phi(e.row.kept(x)), leastRisk)
			total += used[i]
		}
	}
	if total > risk || total == 0 {
		return nil
	}
	z := make([]float64, len(used))
	for i, r := range used {
		if r > 0 {
			z[i] = deviations(r * risk / total)
		}
	}
	return z
}

// surest is a mix of a batch that keeps as many deviations from every edge as
// was found by halving on drafts, and then in whole steps.
func (m *mender) surest(a ask) (*found, error) {
	all := func(z float64) []float64 {
		out := make([]float64, len(m.edges))
		for i := range out {
			out[i] = z
		}
		return out
	}
	a.goal = goalAny
	lo, hi := 0.0, float64(mostZ)
	var last []float64
	for hi-lo > surestZ {
		mid := (lo + hi) / 2
		a.z = all(mid)
		x, ok, err := m.draft(withReopen(a, -1))
		if err != nil {
			return nil, err
		}
		if ok {
			lo, last = mid, x
		} else {
			hi = mid
		}
	}
	if last != nil {
		if z := m.sharedAt(last, 1-m.sureness()); z != nil {
			a.z = z
			if f, err := m.settle(a); err != nil || f.x != nil {
				return f, err
			}
		}
	}
	for slack := surestZ; lo > 0; slack *= 2 {
		a.z = all(max(lo-slack, 0))
		f, err := m.settle(a)
		if err != nil || f.x != nil {
			return f, err
		}
		if slack > lo {
			break
		}
	}
	return nil, nil
}

// surestZ is how finely the most deviations are looked for: a sixty-fourth
// moves a chance of 80 in 100 by less than one in 200.
const surestZ = 1.0 / 64

// largerBatch is the smallest larger batch inside every window; nil when there
// is none up to the largest allowed.
func (m *mender) largerBatch() (*Mended, error) {
	from := max(m.batch+1, m.held)
	if m.most < from {
		return nil, nil
	}
	f, below, err := m.smallest(from, nil)
	if err != nil || f == nil {
		return nil, err
	}
	if f.stopped {
		return m.unsettled(), nil
	}
	var less *found
	if !f.sure {
		g, err := m.surer(f)
		if err != nil && !late(err) {
			return nil, err
		}
		f.late = f.late || m.ctx.Err() != nil
		if g != nil {
			less, f = f, g
		}
	}
	out := m.report(LargerBatch, f)
	out.NoneBelow = m.mass(below)
	if less != nil {
		out.Other = m.report(LargerBatch, less)
		out.Other.NoneBelow = out.NoneBelow
	}
	return out, nil
}

// surer looks for a batch larger than one that is inside but not sure enough:
// the smallest for one of the sharings of the risk, and then smaller ones, by
// halving. Nil when none is found. What was found comes along with the error
// of a time that is up.
func (m *mender) surer(f *found) (*found, error) {
	var best *found
	for _, z := range m.sharings() {
		g, _, err := m.smallest(f.total, z)
		if err != nil {
			return best, err
		}
		if g != nil && g.x != nil && g.sure && (best == nil || g.total < best.total) {
			best = g
		}
	}
	if best == nil {
		return nil, nil
	}
	for lo := f.total; best.total-lo > max(f.total/surerPart, 1); {
		mid := (lo + best.total) / 2
		g, err := m.surely(ask{total: mid, reopen: -1})
		if err != nil {
			return best, err
		}
		if g != nil && g.x != nil && g.sure {
			best = g
		} else {
			lo = mid
		}
	}
	return best, nil
}

// surerPart: a sure batch is looked for to a hundredth of it.
const surerPart = 100

// smallest finds the smallest batch from a size up, and the mix of it. It says
// below which no batch is inside.
func (m *mender) smallest(from int, z []float64) (*found, int, error) {
	a := ask{from: from, z: z, reopen: -1, goal: goalTotal}
	if _, ok, err := m.draft(a); err != nil {
		return nil, 0, err
	} else if !ok && z != nil {
		return nil, 0, nil
	}
	proved := 0
	for range smallestTries {
		if a.from > m.most {
			return nil, 0, nil
		}
		f, proof, err := m.run(a)
		switch {
		case err != nil:
			return nil, 0, err
		case f.none:
			m.claim("no batch up to "+m.mass(m.most).String()+" is inside", proof)
			return nil, 0, nil
		case f.x == nil:
			return f, 0, nil
		}
		if z == nil && proved == 0 {
			proved = int(math.Ceil(f.bound - unitSlack))
			m.claim("no batch smaller than "+m.mass(proved).String()+" is inside", proof)
		}
		g, err := m.surely(ask{total: f.total, z: z, reopen: -1})
		if err != nil {
			return nil, 0, err
		}
		if g != nil && g.x != nil {
			return g, proved, nil
		}
		a.from = f.total + 1 // a limit that only a fixed batch can hold
	}
	return nil, 0, nil
}

// smallestTries is how many batches are tried where limits of
// nothing-or-at-least in per cent, which a free batch cannot hold, rule one
// out.
const smallestTries = 20
