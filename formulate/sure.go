package formulate

import (
	"math"
	"slices"

	"firlot/analysis"
	"firlot/lp"
)

// shareRounds is how often the allowed risk is shared anew; the gain of the
// fourth is below a gram in a kilogram in every case tried.
const shareRounds = 4

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
	if done, err := s.baseAsItIs(a); done || err != nil {
		return err
	}
	risk := 1 - s.plan.Document.Sureness
	z, ok, err := s.shareRisk(risk)
	if err != nil {
		return err
	}
	if !ok {
		return s.notSure(a, risk)
	}
	r, offset, err := s.run(variant{z: z, answers: true})
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
// one, on drafts of the relaxation. It reports false when it finds no sharing
// that a mix can meet.
func (s *solver) shareRisk(risk float64) ([]float64, bool, error) {
	sharing := s.evenly(risk)
	d, err := s.draft(variant{z: s.zOf(sharing)})
	if err != nil {
		return nil, false, err
	}
	if d.Status == lp.Infeasible {
		return s.shareFromSteady(risk)
	}
	for range shareRounds {
		next, err := s.shareAnew(sharing, d, risk)
		if err != nil {
			return nil, false, err
		}
		e, err := s.draft(variant{z: s.zOf(next)})
		if err != nil {
			return nil, false, err
		}
		if e.Status == lp.Infeasible || e.Objective > d.Objective {
			break
		}
		sharing, d = next, e
	}
	return s.zOf(sharing), true, nil
}

// draft solves a variant's relaxation in float64 only, for searching.
func (s *solver) draft(v variant) (*lp.Draft, error) {
	v.relaxed = true
	s.price(&v)
	m, x, _ := s.model(v)
	d, err := lp.Sketch(s.ctx, m)
	switch {
	case err != nil:
		return nil, err
	case d.Status == lp.Stopped || s.ctx.Err() != nil:
		return nil, errStopped{lp.Stopped}
	case d.X != nil:
		d.X = d.X[:len(x)]
	}
	return d, nil
}

// errStopped says that a search ended before an answer.
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

// keep is the part of its risk that a slack edge keeps, so that the mix at
// hand stays inside after the rest is handed on.
const keep = 1.05

// nudge is the change in deviations by which the worth of risk is felt out.
const nudge = 1.0 / 64

// shareAnew moves risk to where it is worth most. At the best sharing a little
// risk is worth the same on every edge that binds: with g the objective's gain
// per deviation given up, and dz/dα = −1/φ(z), that is g/φ(z) equal (the
// condition of Kuhn and Tucker). Edges with room to spare keep what they use.
func (s *solver) shareAnew(sharing []float64, d *lp.Draft, risk float64) ([]float64, error) {
	out := make([]float64, len(sharing))
	worth := make([]float64, len(sharing))
	left := risk
	for _, i := range s.edges() {
		if sharing[i] == 0 {
			continue
		}
		used := 1 - analysis.Phi(s.zAt(i, d.X))
		if used*keep < sharing[i] {
			out[i] = max(used*keep, leastRisk)
			left -= out[i]
			continue
		}
		g, err := s.gain(sharing, i, d)
		if err != nil {
			return nil, err
		}
		if worth[i] = g; g == 0 {
			out[i] = sharing[i]
			left -= out[i]
		}
	}
	spread(out, worth, left)
	return out, nil
}

// gain is what the objective gains per deviation given up on an edge.
func (s *solver) gain(sharing []float64, i int, d *lp.Draft) (float64, error) {
	z := s.zOf(sharing)
	z[i] = max(z[i]-nudge, 0)
	e, err := s.draft(variant{z: z})
	if err != nil || e.X == nil {
		return 0, err
	}
	return max((d.Objective-e.Objective)/nudge, 0), nil
}

// spread shares risk over the edges that have worth: α = 1 − Φ(z) with
// φ(z) = g/μ, and μ found by halving so that the risks add up.
func spread(out, worth []float64, risk float64) {
	most := slices.Max(worth)
	if most == 0 {
		return
	}
	at := func(g, mu float64) float64 {
		// φ(z) = g/μ has the solution z = √(−2·ln(√(2π)·g/μ)).
		v := math.Sqrt(2*math.Pi) * g / mu
		if v >= 1 {
			return 0.5
		}
		return max(1-analysis.Phi(math.Sqrt(-2*math.Log(v))), leastRisk)
	}
	lo, hi := 0.0, most*1e12
	for range 200 {
		mu := (lo + hi) / 2
		sum := 0.0
		for _, g := range worth {
			if g > 0 {
				sum += at(g, mu)
			}
		}
		if sum > risk {
			lo = mu
		} else {
			hi = mu
		}
	}
	for i, g := range worth {
		if g > 0 {
			out[i] = at(g, hi)
		}
	}
}

// leastRisk is the smallest risk kept for an edge: six deviations.
const leastRisk = 1e-9

// zAt is how many deviations a point keeps from an edge.
func (s *solver) zAt(i int, x []float64) float64 { return s.rows[i].kept(x) }

// kept is how many deviations a point keeps from the edge.
func (r edgeRow) kept(x []float64) float64 {
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
	x, _, err := s.steadiest()
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
	v := variant{z: z, answers: true}
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

// steadiest finds the largest number of deviations that every edge can keep,
// on drafts of the relaxation: a point that keeps nearly as many, and the
// number itself, as yet unproved.
func (s *solver) steadiest() (x []float64, z float64, err error) {
	lo, hi := 0.0, float64(mostZ)
	d, err := s.draft(variant{z: s.all(0), cost: noCost})
	if err != nil || d.Status == lp.Infeasible {
		return nil, 0, err
	}
	x = d.X
	for hi-lo > zStep {
		mid := (lo + hi) / 2
		d, err := s.draft(variant{z: s.all(mid), cost: noCost})
		switch {
		case err != nil:
			return nil, 0, err
		case d.Status == lp.Infeasible:
			hi = mid
		default:
			lo, x = mid, d.X
		}
	}
	return x, hi, nil
}

// all asks the same deviations of every edge.
func (s *solver) all(z float64) []float64 {
	out := make([]float64, len(s.limits))
	for _, i := range s.edges() {
		out[i] = z
	}
	return out
}

// provedMargin is a number of deviations that no mix can keep on every edge,
// proved on the relaxation, as near above the drafted one as can be had.
func (s *solver) provedMargin(z float64) (float64, error) {
	for step := zStep; z < mostZ; step *= 2 {
		r, _, err := s.run(variant{z: s.all(z), cost: noCost, relaxed: true})
		if err != nil {
			return 0, err
		}
		if r.Status == lp.Infeasible {
			return z, nil
		}
		if s.ctx.Err() != nil {
			break
		}
		z += step
	}
	return mostZ, nil
}

// steady answers with the widest margin.
func (s *solver) steady(a *Answer) error {
	x, top, err := s.steadiest()
	if err != nil {
		return err
	}
	if x == nil {
		r, offset, err := s.run(variant{cost: noCost, answers: true})
		if err != nil {
			return err
		}
		return s.take(a, r, offset, variant{})
	}
	near := nearGoal(s.plan, apportion(x, s.plan.Steps))
	for slack := zStep; ; slack *= 2 {
		r, _, err := s.run(variant{z: s.all(max(top-slack, 0)), cost: near.cost, answers: true})
		if err != nil {
			return err
		}
		if r.X != nil {
			a.Status, a.Steps, a.Nodes, a.Proof = Found, apportion(r.X, s.plan.Steps), r.Nodes, r.Proof
			return s.reportSteady(a, top, r.X)
		}
		if slack > top {
			return s.take(a, r, 0, variant{})
		}
	}
}

func (s *solver) reportSteady(a *Answer, top float64, x []float64) error {
	upper, err := s.provedMargin(top)
	if err != nil {
		return err
	}
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
	return nil
}
