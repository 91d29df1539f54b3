package formulate

import (
	"fmt"
	"math"

	"firlot/analysis"
	"firlot/lp"
)

// clash finds a set of limits that cannot hold together and of which none can
// be left out: it leaves out one limit after the other, in document order with
// windows last, and puts back those without which a mix exists (a deletion
// filter). Source: J. W. Chinneck, Feasibility and Infeasibility in
// Optimization, 2008, chapter 6. Other such sets may exist, and smaller ones.
// It reports whether every trial was decided; where one was not, its limit
// stays in the set.
func (s *solver) clash(v variant) (list []Clash, decided bool, err error) {
	v.cost, v.extra = noCost, nil
	skip := map[int]bool{}
	v.skip = skip
	// Where the relaxation clashes already, whole steps and counts are not to
	// blame, and the search is quick without them.
	if v.relaxed, err = s.stillImpossible(variant{z: v.z, cost: noCost, relaxed: true}); err != nil {
		return nil, false, err
	}
	decided = true
	for i := range s.limits {
		skip[i] = true
		r, _, err := s.run(v)
		if err != nil {
			return nil, false, err
		}
		if r.Status != lp.Infeasible {
			delete(skip, i)
		}
		decided = decided && (r.X != nil || r.Status == lp.Infeasible)
	}
	for i, l := range s.limits {
		if skip[i] {
			continue
		}
		reach, err := s.reach(i, v)
		if err != nil {
			return nil, false, err
		}
		list = append(list, Clash{Path: l.path, What: l.what, Reach: reach})
	}
	return list, decided, nil
}

func (s *solver) stillImpossible(v variant) (bool, error) {
	r, _, err := s.run(v)
	if err != nil {
		return false, err
	}
	return r.Status == lp.Infeasible, nil
}

// reach says how near the shelf comes to one limit of the clash while every
// other limit holds, or at least the others of the clash.
func (s *solver) reach(i int, v variant) (string, error) {
	l := s.limits[i]
	if l.kind != edgeLimit {
		return "", nil
	}
	w := s.plan.Targets[l.index].Window
	all := v
	all.skip = nil
	bound, ok, err := s.loosen(i, all)
	if err == nil && !ok {
		bound, ok, err = s.loosen(i, v) // the shelf clashes elsewhere too
	}
	if err != nil || !ok {
		return "", err
	}
	word := "most"
	if l.edge.Upper {
		word = "least"
	}
	sure := ""
	if v.z != nil && v.z[i] > 0 {
		sure = " so surely"
	}
	return fmt.Sprintf("the %s that this shelf allows%s is %s", word, sure, amountWords(w, bound)), nil
}

// loosenSteps is how often the range of a bound is halved on the relaxation,
// which leaves less of it than float64 tells apart.
const loosenSteps = 40

// loosen finds the bound nearest to the one asked for that the shelf can meet
// in whole steps while the other limits hold, rounded to four digits on the
// loose side. The relaxation says where to look; the bound that is said has
// been solved for.
func (s *solver) loosen(i int, v variant) (float64, bool, error) {
	l := s.limits[i]
	far := 0.0 // every mix reaches at least nothing
	if l.edge.Upper {
		far = s.ceiling(l.index)
	}
	holds := func(bound float64, ask func(variant) (bool, error)) (bool, error) {
		row := s.rows[i]
		s.rows[i] = newEdgeRow(s.plan, l.index, analysis.Edge{Bound: bound, Upper: l.edge.Upper})
		ok, err := ask(v)
		s.rows[i] = row
		return ok, err
	}
	if ok, err := holds(far, s.sketched); err != nil || !ok {
		return 0, false, err
	}
	reachable, near := far, l.edge.Bound
	for range loosenSteps {
		mid := (near + reachable) / 2
		ok, err := holds(mid, s.sketched)
		if err != nil {
			return 0, false, err
		}
		if ok {
			reachable = mid
		} else {
			near = mid
		}
	}
	return s.solvedBound(newScale(reachable, l.edge.Upper), far, holds)
}

// solvedBound walks from a rounded bound to the loose side, in growing steps
// of its last digit, until whole steps meet it, and then back by halves.
func (s *solver) solvedBound(b boundScale, far float64, holds func(float64, func(variant) (bool, error)) (bool, error)) (float64, bool, error) {
	whole := func(k int) (bool, error) { return holds(b.at(k), s.possibleWhole) }
	if ok, err := whole(0); err != nil || ok {
		return b.at(0), ok, err
	}
	no, yes := 0, 1
	for ; ; yes *= 2 {
		ok, err := whole(yes)
		if err != nil {
			return 0, false, err
		}
		if ok {
			break
		}
		if b.beyond(yes, far) {
			return 0, false, nil
		}
		no = yes
	}
	for yes-no > 1 {
		mid := (yes + no) / 2
		ok, err := whole(mid)
		if err != nil {
			return 0, false, err
		}
		if ok {
			yes = mid
		} else {
			no = mid
		}
	}
	return b.at(yes), true, nil
}

// sketched asks a draft of the relaxation whether there is a mix.
func (s *solver) sketched(v variant) (bool, error) {
	v.relaxed = true
	d, err := s.draft(v)
	return err == nil && d.Status != lp.Infeasible, err
}

// possibleWhole asks for a mix in whole steps.
func (s *solver) possibleWhole(v variant) (bool, error) {
	v.relaxed = false
	r, _, err := s.run(v)
	return err == nil && r.X != nil, err
}

// boundScale numbers the bounds of four digits from one towards the loose
// side.
type boundScale struct {
	start float64 // in units of the last digit
	unit  float64
	sign  float64 // +1 for an upper bound, −1 for a lower
}

const boundDigits = 4

func newScale(v float64, upper bool) boundScale {
	b := boundScale{unit: 1e-3, sign: -1}
	if v > 0 {
		b.unit = math.Pow10(int(math.Floor(math.Log10(v))) + 1 - boundDigits)
	}
	if b.start = math.Floor(v/b.unit + wholeSlack); upper {
		b.start, b.sign = math.Ceil(v/b.unit-wholeSlack), 1
	}
	return b
}

func (b boundScale) at(k int) float64 {
	n := max(b.start+float64(b.sign*float64(k)), 0)
	if b.unit < 1 {
		return n / math.Round(1/b.unit) // a decimal, not a multiple of one
	}
	return n * b.unit
}

func (b boundScale) beyond(k int, far float64) bool {
	return b.sign > 0 && b.at(k) >= far || b.sign < 0 && b.at(k) <= far
}

// ceiling bounds a target's values from above over the shelf.
func (s *solver) ceiling(target int) float64 {
	m := analysis.MeasureOf(s.plan.Targets[target].Window)
	most := 0.0
	for _, l := range s.plan.Lines {
		t := analysis.TermsOf(l.Form, m)
		if t.Den.Least > 0 {
			most = max(most, t.Num.Most/t.Den.Least)
		}
	}
	return most
}
