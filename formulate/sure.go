package formulate

import (
	"errors"
	"math"

	"firlot/analysis"
	"firlot/lp"
)

// shareRounds is how often the allowed risk is handed from edges with room to
// those that bind. Each round solves a relaxation; the third rarely moves an
// amount by a gram.
const shareRounds = 3

// zDigits rounds deviations to a millionth, upward, so that they do not
// depend on the last bits of a platform's logarithm.
const zDigits = 1e6

// leastZ is the smallest number of deviations asked of any edge: below it an
// edge with spread would hold in less than half of the sets of bags.
const leastZ = 0

func deviations(risk float64) float64 {
	return max(math.Ceil(analysis.Quantile(1-risk)*zDigits)/zDigits, leastZ)
}

// sure solves with the joint chance asked for.
func (s *solver) sure(a *Answer) error {
	risk := 1 - s.plan.Document.Sureness
	z, ok, err := s.shareRisk(risk)
	if err != nil {
		return err
	}
	if !ok {
		return s.notSure(a, risk)
	}
	r, offset, err := s.run(variant{z: z})
	if err != nil {
		return err
	}
	if r.Status == lp.Infeasible {
		// Whole steps or counts rule out this sharing of the risk.
		return s.notSure(a, risk)
	}
	return s.take(a, r, offset, variant{z: z})
}

// shareRisk finds deviations for the edges whose risks add up to the allowed
// one, on the relaxation. It reports false when it finds no sharing that a
// mix can meet.
func (s *solver) shareRisk(risk float64) ([]float64, bool, error) {
	sharing := s.evenly(risk)
	x, err := s.relaxed(variant{z: s.zOf(sharing)})
	if err != nil {
		return nil, false, err
	}
	if x == nil {
		return s.shareFromSteady(risk)
	}
	for range shareRounds {
		next := s.handOn(sharing, x)
		y, err := s.relaxed(variant{z: s.zOf(next)})
		if err != nil {
			return nil, false, err
		}
		if y == nil {
			break
		}
		sharing, x = next, y
	}
	return s.zOf(sharing), true, nil
}

// relaxed solves a variant's relaxation and returns the point, or nil when
// it is proved that there is none.
func (s *solver) relaxed(v variant) ([]float64, error) {
	v.relaxed = true
	r, _, err := s.run(v)
	switch {
	case err != nil:
		return nil, err
	case r.X == nil && r.Status != lp.Infeasible:
		return nil, errStopped{r.Status}
	}
	return r.X, nil
}

// errStopped says that a relaxation was neither solved nor ruled out.
type errStopped struct{ status lp.Status }

func (e errStopped) Error() string { return "the solver ended with " + e.status.String() }

// evenly shares the risk equally over the edges that have spread.
func (s *solver) evenly(risk float64) []float64 {
	var n float64
	for _, i := range s.edges() {
		if s.rows[i].hasSpread() {
			n++
		}
	}
	out := make([]float64, len(s.limits))
	for _, i := range s.edges() {
		if s.rows[i].hasSpread() {
			out[i] = risk / n
		}
	}
	return out
}

func (s *solver) zOf(sharing []float64) []float64 {
	z := make([]float64, len(sharing))
	for i, r := range sharing {
		if r > 0 {
			z[i] = deviations(r)
		}
	}
	return z
}

// keep is the part of a slack edge's risk that it keeps beyond what it uses,
// so that the mix at hand stays inside after the risk is handed on.
const keep = 1.05

// handOn gives the risk that slack edges do not use to the edges that bind,
// in equal parts.
func (s *solver) handOn(sharing, x []float64) []float64 {
	out := append([]float64(nil), sharing...)
	var tight []int
	spare := 0.0
	for _, i := range s.edges() {
		if sharing[i] == 0 {
			continue
		}
		used := 1 - analysis.Phi(s.zAt(i, x))
		if used*keep < sharing[i] {
			spare += sharing[i] - used*keep
			out[i] = max(used*keep, leastRisk)
			continue
		}
		tight = append(tight, i)
	}
	if len(tight) == 0 {
		return sharing
	}
	for _, i := range tight {
		out[i] += spare / float64(len(tight)+1)
	}
	return out
}

// leastRisk is the smallest risk kept for an edge: six deviations.
const leastRisk = 1e-9

// zAt is how many deviations a point keeps from an edge.
func (s *solver) zAt(i int, x []float64) float64 {
	r := s.rows[i]
	margin, variance := 0.0, 0.0
	for j, v := range x {
		margin += float64(r.coef[j] * v)
		d := float64(r.spread[j] * v)
		variance += float64(d * d)
	}
	if variance == 0 {
		return math.Inf(1)
	}
	return margin / math.Sqrt(variance)
}

// shareFromSteady tries the sharing that the steadiest mix uses.
func (s *solver) shareFromSteady(risk float64) ([]float64, bool, error) {
	_, x, err := s.steadiest()
	if err != nil || x == nil {
		return nil, false, err
	}
	sharing := make([]float64, len(s.limits))
	total := 0.0
	for _, i := range s.edges() {
		if s.rows[i].hasSpread() {
			sharing[i] = max(1-analysis.Phi(s.zAt(i, x)), leastRisk)
			total += sharing[i]
		}
	}
	if total > risk {
		return nil, false, nil
	}
	for i := range sharing {
		sharing[i] *= risk / total
	}
	return s.zOf(sharing), true, nil
}

// notSure answers when no sharing of the risk was met: impossible if even
// every edge alone cannot hold with the chance asked for, else stopped.
func (s *solver) notSure(a *Answer, risk float64) error {
	z := make([]float64, len(s.limits))
	for _, i := range s.edges() {
		if s.rows[i].hasSpread() {
			z[i] = deviations(risk)
		}
	}
	// Rounding upward must not rule out a mix: take the step back.
	for i := range z {
		z[i] = max(z[i]-1/zDigits, 0)
	}
	v := variant{z: z}
	r, _, err := s.run(v)
	if err != nil {
		return err
	}
	if r.Status == lp.Infeasible {
		return s.take(a, r, 0, v)
	}
	a.Status = Stopped
	a.Notes = append(a.Notes, "no mix was found that is this sure, and none is ruled out either; ask for less sureness, or prefer steady to see how sure the shelf can be")
	return nil
}

// mostZ is the widest margin that steady looks for: six deviations leave a
// risk of one in a thousand million, which no figure bears out.
const mostZ = 6

// zStep is how finely steady looks for its margin.
const zStep = 1.0 / 1024

// steadiest finds the largest number of deviations that every edge can keep
// on the relaxation: an upper bound, and a point that keeps nearly as many.
func (s *solver) steadiest() (upper float64, x []float64, err error) {
	all := func(z float64) []float64 {
		out := make([]float64, len(s.limits))
		for _, i := range s.edges() {
			out[i] = z
		}
		return out
	}
	if x, err = s.relaxed(variant{z: all(0), cost: noCost}); err != nil || x == nil {
		return 0, nil, err
	}
	lo, hi := 0.0, float64(mostZ)
	upper = mostZ
	for hi-lo > zStep {
		mid := (lo + hi) / 2
		y, err := s.relaxed(variant{z: all(mid), cost: noCost})
		var unsettled errStopped
		switch {
		case errors.As(err, &unsettled) && s.ctx.Err() == nil:
			// So near to the widest margin that neither a point nor a proof
			// came out: look lower, and leave the bound where it is proved.
			hi = mid
		case err != nil:
			return 0, nil, err
		case y == nil:
			hi, upper = mid, mid
		default:
			lo, x = mid, y
		}
	}
	return upper, x, nil
}

// steady answers with the widest margin.
func (s *solver) steady(a *Answer) error {
	upper, x, err := s.steadiest()
	if err != nil {
		return err
	}
	if x == nil {
		r, offset, err := s.run(variant{cost: noCost})
		if err != nil {
			return err
		}
		return s.take(a, r, offset, variant{})
	}
	near := nearGoal(s.plan, apportion(x, s.plan.Steps))
	for slack := zStep; ; slack *= 2 {
		z := make([]float64, len(s.limits))
		for _, i := range s.edges() {
			z[i] = max(upper-slack, 0)
		}
		r, _, err := s.run(variant{z: z, cost: near.cost})
		if err != nil {
			return err
		}
		if r.X != nil {
			a.Status, a.Steps, a.Nodes = Found, wholeSteps(r.X, s.plan.Steps), r.Nodes
			s.reportSteady(a, upper, r.X)
			return nil
		}
		if slack > upper {
			return s.take(a, r, 0, variant{})
		}
	}
}

func (s *solver) reportSteady(a *Answer, upper float64, x []float64) {
	least := float64(mostZ)
	for _, i := range s.edges() {
		least = min(least, s.zAt(i, x))
	}
	a.Objective, a.Bound = least, upper
	a.Gap = max(upper-least, 0)
	if want := s.plan.Document.Sureness; want > 0 {
		if got := analysis.Joint(portions(s.plan, a.Amounts()), windows(s.plan)); got < want {
			a.Notes = append(a.Notes, "the steadiest mix is less sure than the document asks for")
			a.Status = Stopped
		}
	}
}
