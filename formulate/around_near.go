package formulate

import (
	"fmt"
	"math"
	"sort"

	"firlot/analysis"
	"firlot/catalog"
	"firlot/lp"
	"firlot/nutrient"
)

// nearest is the mix that misses its windows by least, in the smallest batch
// that is safe.
func (m *mender) nearest() (*Mended, error) {
	letGo := m.everyLimit()
	safe, proof, err := m.run(ask{from: max(m.batch, m.held), blind: true, letGo: letGo, reopen: -1, goal: goalTotal})
	if err != nil {
		return nil, err
	}
	if safe.none {
		m.claim("no batch up to "+m.mass(m.most).String()+" keeps the limits of safety", proof)
		return &Mended{Outcome: Discard, Plan: m.plan, Why: m.unsafe(), MostBatch: m.mass(m.most), Claims: m.claims, Nodes: m.nodes}, nil
	}
	if safe.x == nil {
		return m.unsettled(), nil
	}
	a := ask{total: safe.total, letGo: letGo, reopen: -1, goal: goalAny, slack: m.slackFor(safe.total)}
	if a, err = m.leastWiden(a); err != nil || a.widen < 0 {
		return m.unsettled(), err
	}
	if a, err = m.holdAgain(a); err != nil {
		return nil, err
	}
	f, err := m.settle(a)
	if err != nil {
		return nil, err
	}
	if f.x == nil {
		return m.unsettled(), nil
	}
	f.joint = m.jointOf(f.x)
	out := m.report(NearestMix, f)
	out.Sure = false
	m.misses(out)
	return out, nil
}

// everyLimit lets every limit go but those of safety.
func (m *mender) everyLimit() []bool {
	out := make([]bool, len(m.limits))
	for k, l := range m.limits {
		out[k] = !l.safety
	}
	return out
}

// unsafe lists the limits of safety that what is in the bowl breaks in the
// largest batch or, where the jars do not give that, in the planned one.
func (m *mender) unsafe() []string {
	for _, total := range []int{m.most, max(m.batch, m.held)} {
		var list []string
		for _, l := range m.limits {
			part := 0.0
			for k, i := range l.lines {
				share := l.amount.Percent
				if l.kind == bowlPool {
					share = l.share[k]
				}
				if m.poured[i] > 0 {
					part += float64(m.poured[i]) * 100 / share
				}
			}
			if l.safety && part > float64(total)+poolSlack {
				list = append(list, l.what)
			}
		}
		if len(list) > 0 {
			return list
		}
	}
	return nil
}

// widenStep is how finely the share is looked for by which windows are
// widened: a thousandth of their widths.
const widenStep = 1.0 / 1000

// leastWiden finds the least share of their widths by which all windows must
// be widened together, a whole number of thousandths. A share of less than
// nothing says that none was found.
func (m *mender) leastWiden(a ask) (ask, error) {
	holds := func(k int) (bool, error) {
		a.widen = float64(k) * widenStep
		_, ok, err := m.draft(a)
		return ok, err
	}
	no, yes := -1, 0
	for {
		ok, err := holds(yes)
		if err != nil {
			return a, err
		}
		if ok {
			break
		}
		if yes > 1<<40 {
			a.widen = -1
			return a, nil
		}
		no, yes = yes, max(2*yes, 1)
	}
	for yes-no > 1 {
		mid := (yes + no) / 2
		ok, err := holds(mid)
		if err != nil {
			return a, err
		}
		if ok {
			yes = mid
		} else {
			no = mid
		}
	}
	return m.wholeWiden(a, yes)
}

// wholeWiden finds the least share that whole steps need, from the one that a
// draft needs up, and proves that a thousandth less will not do.
func (m *mender) wholeWiden(a ask, k int) (ask, error) {
	var proof *lp.Certificate
	proved := -1
	holds := func(k int) (bool, error) {
		a.widen = float64(k) * widenStep
		f, c, err := m.run(a)
		if err == nil && f.none && k > proved {
			proved, proof = k, c
		}
		return err == nil && f.x != nil, err
	}
	no, yes := k-2, k
	for step := 1; ; step *= 2 {
		ok, err := holds(yes)
		if err != nil {
			return a, err
		}
		if ok {
			break
		}
		if step > 1<<30 || m.ctx.Err() != nil {
			a.widen = -1
			return a, nil
		}
		no, yes = yes, yes+step
	}
	for yes-no > 1 && yes > 0 {
		mid := (yes + no) / 2
		ok, err := holds(max(mid, 0))
		if err != nil {
			return a, err
		}
		if ok {
			yes = mid
		} else {
			no = mid
		}
	}
	a.widen = float64(yes) * widenStep
	if proved == yes-1 {
		m.claim(fmt.Sprintf("no mix of %v lies inside windows widened by %s of their widths", m.mass(a.total), trim(float64(proved)*widenStep)), proof)
	}
	return a, nil
}

// holdAgain holds every window, and then every limit, that can be held while
// the others stay widened or let go, in the plan's order.
func (m *mender) holdAgain(a ask) (ask, error) {
	a.firm = make([]bool, len(m.edges))
	for i := range m.edges {
		a.firm[i] = true
		ok, err := m.possible(a)
		if err != nil {
			return a, err
		}
		a.firm[i] = ok
	}
	a.letGo = append([]bool(nil), a.letGo...)
	for k := range m.limits {
		if !a.letGo[k] {
			continue
		}
		a.letGo[k] = false
		ok, err := m.possible(a)
		if err != nil {
			return a, err
		}
		a.letGo[k] = !ok
	}
	return a, nil
}

// possible solves an ask: a draft could rule out what stands on an edge.
func (m *mender) possible(a ask) (bool, error) {
	f, _, err := m.run(a)
	return err == nil && f.x != nil, err
}

// misses says by how much the mix misses each window.
func (m *mender) misses(out *Mended) {
	for _, e := range m.edges {
		v := out.Checks[e.target].Value
		by := e.edge.Bound - v.Least
		if e.edge.Upper {
			by = v.Most - e.edge.Bound
		}
		if by <= missSlack || out.Checks[e.target].Verdict == analysis.Inside {
			continue
		}
		share := by / e.width
		out.Off = append(out.Off, Off{Target: e.target, What: edgeWords(m.plan.Targets[e.target].Window, e.edge), By: by, Share: share})
		out.Measure = max(out.Measure, share)
	}
}

// missSlack is the part of a figure's unit within which a mix stands on an
// edge and does not miss it: package analysis forgives as much.
const missSlack = 1e-7

// extrasShown is how many ingredients of the shelf are worked out in full.
const extrasShown = 3

// searchShelf looks for the single ingredients of the shelf that bring the
// mix inside: in the planned batch, or if none does, in the smallest larger
// one.
func (m *mender) searchShelf(out *Mended) error {
	have := map[*catalog.Form]bool{}
	for _, l := range m.plan.Lines {
		have[l.Form] = true
	}
	var same, larger []Extra
	for _, f := range m.shelf {
		if have[f] || !m.plan.Fits(f) {
			continue
		}
		have[f] = true
		j, err := m.joined(f)
		if err != nil {
			return err
		}
		if m.held <= m.batch {
			if err := j.leastOf(&same, m.batch); err != nil {
				return err
			}
		}
		if len(same) == 0 {
			if err := j.leastOf(&larger, 0); err != nil {
				return err
			}
		}
	}
	if len(same) == 0 {
		same = larger
	}
	return m.bestExtras(out, same)
}

// joined is the bowl with a form more that may be poured.
func (m *mender) joined(f *catalog.Form) (*mender, error) {
	step := 1
	for _, s := range m.step {
		step = max(step, s)
	}
	j := *m
	j.plan = m.plan.Joined(f)
	j.near = append(m.near[:len(m.near):len(m.near)], 0)
	j.poured = append(m.poured[:len(m.poured):len(m.poured)], 0)
	j.cap = append(m.cap[:len(m.cap):len(m.cap)], math.MaxInt)
	j.step = append(m.step[:len(m.step):len(m.step)], step)
	j.finished = append(m.finished[:len(m.finished):len(m.finished)], false)
	j.edges, j.limits, j.claims = nil, nil, nil
	j.readEdges()
	j.readLimits()
	return &j, nil
}

// leastOf drafts the least of the last line that gets a batch inside, or
// with a free batch the smallest batch, and notes it.
func (m *mender) leastOf(list *[]Extra, total int) error {
	last := len(m.plan.Lines) - 1
	a := ask{total: total, reopen: -1, goal: goalLeast, line: last}
	if total == 0 {
		a.goal, a.from = goalTotal, max(m.batch, m.held)
	} else {
		a.slack = m.slackFor(total)
	}
	x, ok, err := m.draft(a)
	if err != nil || !ok {
		return err
	}
	sum := 0.0
	for _, v := range x {
		sum += v
	}
	*list = append(*list, Extra{Form: m.plan.Lines[last].Form, Least: nutrient.Mass(x[last] * float64(m.unit)),
		Mended: &Mended{Batch: nutrient.Mass(sum * float64(m.unit)), Outcome: Unsettled}})
	return nil
}

// bestExtras works out the most promising ingredients in whole steps.
func (m *mender) bestExtras(out *Mended, drafts []Extra) error {
	sort.SliceStable(drafts, func(a, b int) bool {
		x, y := drafts[a], drafts[b]
		if x.Mended.Batch != y.Mended.Batch && max(x.Mended.Batch, y.Mended.Batch) > m.mass(m.batch+1) {
			return x.Mended.Batch < y.Mended.Batch
		}
		return x.Least < y.Least
	})
	for _, d := range drafts {
		if len(out.Extras) == extrasShown {
			break
		}
		j, err := m.joined(d.Form)
		if err != nil {
			return err
		}
		e, err := j.workOut(d)
		if err != nil {
			return err
		}
		if e != nil {
			out.Extras = append(out.Extras, *e)
		}
	}
	sort.SliceStable(out.Extras, func(a, b int) bool {
		x, y := out.Extras[a], out.Extras[b]
		if x.Mended.Batch != y.Mended.Batch {
			return x.Mended.Batch < y.Mended.Batch
		}
		return x.Least < y.Least
	})
	return nil
}

// workOut finds the least of the last line in whole steps and the mix with
// it; nil when whole steps or the sureness rule it out.
func (m *mender) workOut(d Extra) (*Extra, error) {
	last := len(m.plan.Lines) - 1
	total := m.batch
	if d.Mended.Batch > m.mass(m.batch)+m.mass(1) || m.held > m.batch {
		f, _, err := m.run(ask{from: max(m.batch, m.held), reopen: -1, goal: goalTotal})
		if err != nil || f.x == nil {
			return nil, err
		}
		total = f.total
	}
	a := ask{total: total, reopen: -1, goal: goalLeast, line: last, slack: m.slackFor(total)}
	least, _, err := m.run(a)
	if err != nil || least.x == nil || least.x[last] == 0 {
		return nil, err
	}
	m.cap[last] = least.x[last]
	f, err := m.surely(ask{total: total, reopen: -1})
	if err != nil || f == nil || f.x == nil {
		return nil, err
	}
	if !f.sure { // more of it may be surer
		m.cap[last] = math.MaxInt
		if g, err := m.surely(ask{total: total, reopen: -1}); err != nil {
			return nil, err
		} else if g != nil && g.x != nil && g.joint > f.joint {
			f = g
		}
	}
	o := SameBatch
	if f.total > m.batch+m.slackFor(m.batch) {
		o = LargerBatch
	}
	return &Extra{Form: d.Form, Least: m.mass(f.x[last]), Proved: least.best && f.x[last] == least.x[last], Mended: m.report(o, f)}, nil
}
