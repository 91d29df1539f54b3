package formulate

import (
	"fmt"
	"math"

	"firlot/analysis"
	"firlot/lp"
)

// clash finds a smallest set of limits that cannot hold together: it leaves
// out one limit after the other, in document order with windows last, and
// puts back those without which a mix exists (a deletion filter). Source: J.
// W. Chinneck, Feasibility and Infeasibility in Optimization, 2008, chapter 6.
func (s *solver) clash(v variant) ([]Clash, error) {
	v.cost, v.extra = noCost, nil
	skip := map[int]bool{}
	v.skip = skip
	if lone, err := s.stillImpossible(variant{z: v.z, cost: noCost, relaxed: true}); err != nil {
		return nil, err
	} else if lone {
		// The relaxation clashes already: whole steps and counts are not to
		// blame, and the search is quick without them.
		v.relaxed = true
	}
	for i := range s.limits {
		skip[i] = true
		still, err := s.stillImpossible(v)
		if err != nil {
			return nil, err
		}
		if !still {
			delete(skip, i)
		}
	}
	var list []Clash
	for i, l := range s.limits {
		if skip[i] {
			continue
		}
		reach, err := s.reach(i, v)
		if err != nil {
			return nil, err
		}
		list = append(list, Clash{Path: l.path, What: l.what, Reach: reach})
	}
	return list, nil
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
// which leaves less of it than float64 tells apart; wholeLoosenSteps is how
// often with whole steps, where every try is a search of its own: one part in
// a million.
const (
	loosenSteps      = 40
	wholeLoosenSteps = 20
)

// loosen finds the bound nearest to the one asked for that the shelf can meet
// while the other limits of the clash hold, to the loose side.
func (s *solver) loosen(i int, v variant) (float64, bool, error) {
	l := s.limits[i]
	far := 0.0 // every mix reaches at least nothing
	if l.edge.Upper {
		far = s.ceiling(l.index)
	}
	holds := func(bound float64) (bool, error) {
		row := s.rows[i]
		s.rows[i] = newEdgeRow(s.plan, l.index, analysis.Edge{Bound: bound, Upper: l.edge.Upper})
		ok, err := s.allows(v)
		s.rows[i] = row
		return ok, err
	}
	if ok, err := holds(far); err != nil || !ok {
		return 0, false, err
	}
	near, steps := l.edge.Bound, wholeLoosenSteps
	if v.relaxed {
		steps = loosenSteps
	}
	for range steps {
		mid := (near + far) / 2
		ok, err := holds(mid)
		if err != nil {
			return 0, false, err
		}
		if ok {
			far = mid
		} else {
			near = mid
		}
	}
	return towards(far, l.edge.Upper), true, nil
}

// allows reports whether a variant has a mix: by a draft on the relaxation, by
// solving with whole steps. What is said from it is rounded to the loose side
// by more than a draft errs.
func (s *solver) allows(v variant) (bool, error) {
	if v.relaxed {
		d, err := s.draft(v)
		return err == nil && d.Status != lp.Infeasible, err
	}
	still, err := s.stillImpossible(v)
	return !still, err
}

// towards rounds a bound to three decimals on its loose side, so that what is
// said can be met.
func towards(v float64, upper bool) float64 {
	const places = 1000
	if upper {
		return math.Ceil(float64(v*places)-wholeSlack) / places
	}
	return math.Floor(float64(v*places)+wholeSlack) / places
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
