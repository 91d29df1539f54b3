package formulate

import (
	"math"

	"firlot/analysis"
	"firlot/lp"
	"firlot/mix"
)

// baseAsItIs answers near with the base mix itself where that is sure enough
// already: nothing moves, and nothing can be nearer. Whether it is sure enough
// is told by its computed joint chance; each edge is then asked for no more
// than the deviations that the base keeps, so that the solver's exact
// arithmetic verifies the base against every edge and every other limit. It
// reports false where the base will not do.
//
// Without this, sharing the risk over the edges anew could move a mix that
// needs no moving, and a solved mix would not stay where it was put.
func (s *solver) baseAsItIs(a *Answer) (bool, error) {
	base := baseSteps(s.plan)
	if s.goal.prefer != mix.Near || base == nil {
		return false, nil
	}
	asIs := &Answer{Plan: s.plan, Steps: base}
	if analysis.Joint(asIs.Portions(), windows(s.plan)) < s.plan.Document.Sureness {
		return false, nil
	}
	x := make([]float64, len(base))
	for i, n := range base {
		x[i] = float64(n)
	}
	z := make([]float64, len(s.limits))
	for _, i := range s.edges() {
		switch kept := s.zAt(i, x); {
		case kept < 0:
			return false, nil
		case !math.IsInf(kept, 1):
			// A millionth less than is kept absorbs the rounding of zAt.
			z[i] = max(math.Floor(kept*zDigits)-1, 0) / zDigits
		}
	}
	r, offset, err := s.run(variant{z: z, answers: true})
	if err != nil || r.Status != lp.Optimal || r.Objective+offset != 0 {
		return false, err
	}
	return true, s.take(a, r, offset, variant{z: z})
}
