package formulate

import (
	"context"
	"errors"
	"fmt"
	"math"

	"firlot/lp"
	"firlot/mix"
)

// Options bound the work of solving.
type Options struct {
	// Gap at which to stop, as a share of the batch for near and varied, of
	// the cost for cheap. 0 means DefaultGap; a negative gap proves the
	// optimum.
	Gap float64
	// Nodes is the most branch-and-bound nodes; 0 is the solver's default.
	Nodes int
	// Relaxed solves without whole steps, counts and nothing-or-at-least; for
	// measurements.
	Relaxed bool
	// Proof collects the certificate of the answer.
	Proof bool
	// Progress is told of work under way; nil is fine.
	Progress func(lp.Progress)
}

// DefaultGap is a thousandth: a gram in a kilogram.
const DefaultGap = 0.001

// Solve finds the preferred mix of a plan. The error is a *mix.Problem when
// the document asks for what cannot be weighed up, such as the cheapest mix
// without prices. A context that ends gives a stopped answer.
func Solve(ctx context.Context, p *mix.Plan, o Options) (*Answer, error) {
	s := &solver{ctx: ctx, program: newProgram(p), plan: p, options: o}
	goal, err := newGoal(p)
	if err != nil {
		return nil, err
	}
	s.goal = goal
	a := &Answer{Plan: p, Prefer: goal.prefer, Unit: goal.unit, Notes: append([]string(nil), p.Notes...)}
	switch {
	case goal.prefer == mix.Steady:
		err = s.steady(a)
	case p.Document.Sureness > 0:
		err = s.sure(a)
	default:
		err = s.plain(a)
	}
	var stopped errStopped
	switch {
	case errors.As(err, &stopped) && stopped.status != lp.Trouble:
		a.Status = Stopped
		a.Notes = append(a.Notes, "a limit on the work was reached before a mix was found or ruled out")
	case err != nil:
		return nil, err
	}
	if a.Steps != nil {
		a.judge()
	}
	return a, nil
}

type solver struct {
	ctx context.Context
	*program
	plan    *mix.Plan
	goal    *goal
	options Options
}

// run solves a variant with the goal's cost.
func (s *solver) run(v variant) (*lp.Result, float64, error) {
	v.relaxed = v.relaxed || s.options.Relaxed
	byGoal := v.cost == nil
	s.price(&v)
	m, x, offset := s.model(v)
	offset += s.goal.offset
	if byGoal && offset != 0 {
		// The model, and its certificate, then speak of the steps moved, not of
		// their cost less a constant.
		m.AddColumn(lp.Column{Name: "the base mix", Lo: 1, Hi: 1, Cost: offset, Integer: !v.relaxed})
		offset = 0
	}
	r, err := lp.Solve(s.ctx, m, lp.Options{Gap: s.gap(), Nodes: s.options.Nodes, Progress: s.options.Progress, Proof: s.options.Proof && v.answers})
	if err != nil {
		return nil, 0, fmt.Errorf("the model of the mix is wrong: %w", err)
	}
	if r.X != nil {
		r.X = r.X[:len(x)]
	}
	return r, offset, nil
}

// price gives a variant without a cost the goal's.
func (s *solver) price(v *variant) {
	if v.cost == nil {
		v.cost, v.extra = s.goal.cost, s.goal.extra
	}
}

func (s *solver) gap() float64 {
	g := s.options.Gap
	switch {
	case g < 0:
		return 0
	case g == 0:
		g = DefaultGap
	}
	return g * s.goal.size
}

// plain solves with the windows on the means.
func (s *solver) plain(a *Answer) error {
	r, offset, err := s.run(variant{answers: true})
	if err != nil {
		return err
	}
	return s.take(a, r, offset, variant{})
}

// take turns a solver's result into the answer.
func (s *solver) take(a *Answer, r *lp.Result, offset float64, v variant) error {
	a.Nodes += r.Nodes
	a.Proof = r.Proof
	switch r.Status {
	case lp.Infeasible:
		a.Status = Impossible
		clash, decided, err := s.clash(v)
		if a.Clash = clash; !decided {
			a.Notes = append(a.Notes, "not every limit could be tried; one of those named may be left out")
		}
		return err
	case lp.Optimal:
		a.Status = Found
	case lp.Feasible:
		a.Status = Found
		a.Notes = append(a.Notes, "a limit on the work was reached; the gap says how much better another mix could be")
	case lp.Stopped:
		a.Status = Stopped
		a.Notes = append(a.Notes, "a limit on the work was reached before a mix was found or ruled out")
		return nil
	default:
		return fmt.Errorf("the solver ended with %v", r.Status)
	}
	a.Steps = apportion(r.X, s.plan.Steps) // changes nothing but a relaxed point
	s.goal.report(a, r.Objective+offset, r.Bound+offset)
	return nil
}

// goal is what a preference minimises.
type goal struct {
	prefer mix.Preference
	unit   string
	scale  float64 // from the model's objective to unit
	offset float64
	size   float64 // the batch or the cost, to which a gap is a share
	cost   func(line int) (float64, []lp.Break)
	extra  func(m *lp.Model, x []lp.Var)
}

func (g *goal) report(a *Answer, objective, bound float64) {
	a.Objective, a.Bound = float64(objective*g.scale), float64(bound*g.scale)
	a.Gap = max(a.Objective-a.Bound, 0)
}

func newGoal(p *mix.Plan) (*goal, error) {
	prefer := p.Document.Prefer
	base := baseSteps(p)
	if prefer == "" {
		prefer = mix.Varied
		if base != nil {
			prefer = mix.Near
		}
	}
	switch prefer {
	case mix.Near:
		if base == nil {
			return nil, &mix.Problem{Path: "prefer", Message: "near needs a mix to be near to", Hint: "give lines a base or an amount"}
		}
		return nearGoal(p, base), nil
	case mix.Cheap:
		return cheapGoal(p)
	case mix.Varied:
		return variedGoal(p), nil
	}
	return &goal{prefer: mix.Steady, unit: "standard deviations", scale: 1, cost: noCost, size: float64(p.Steps)}, nil
}

func noCost(int) (float64, []lp.Break) { return 0, nil }

// nearGoal minimises the steps moved: |x − b|/2 over the lines, which counts
// a gram taken from one line and given to another once.
func nearGoal(p *mix.Plan, base []int) *goal {
	g := &goal{prefer: mix.Near, unit: "g moved", scale: p.Document.Step.Grams(), size: float64(p.Steps)}
	for _, b := range base {
		g.offset += float64(float64(b) / 2)
	}
	g.cost = func(i int) (float64, []lp.Break) {
		return -0.5, []lp.Break{{At: float64(base[i]), Rise: 1}}
	}
	return g
}

func cheapGoal(p *mix.Plan) (*goal, error) {
	perStep := make([]float64, len(p.Lines))
	dearest := 0.0
	for i, l := range p.Document.Lines {
		if l.Price == nil {
			return nil, &mix.Problem{Path: fmt.Sprintf("line[%d]", i), Message: fmt.Sprintf("%s has no price, and the cheapest mix needs every price", l.Ingredient), Hint: "give it a price, or another preference"}
		}
		perStep[i] = *l.Price * p.Document.Step.Grams() / 1000
		dearest = max(dearest, perStep[i])
	}
	unit := p.Document.Currency
	if unit == "" {
		unit = "of the prices' currency"
	}
	// A share of what the dearest line would cost alone bounds the share of
	// the cost from above; the least price stands for the cost from below.
	size := dearest * float64(p.Steps)
	for _, c := range perStep {
		size = min(size, max(c, dearest/10)*float64(p.Steps))
	}
	return &goal{prefer: mix.Cheap, unit: unit, scale: 1, size: size,
		cost: func(i int) (float64, []lp.Break) { return perStep[i], nil }}, nil
}

// variedGoal minimises t with x_i ≤ t.
func variedGoal(p *mix.Plan) *goal {
	return &goal{prefer: mix.Varied, unit: "g of the largest line", scale: p.Document.Step.Grams(), size: float64(p.Steps), cost: noCost,
		extra: func(m *lp.Model, x []lp.Var) {
			t := m.AddColumn(lp.Column{Name: "largest", Hi: float64(p.Steps), Cost: 1})
			for i := range x {
				m.AddRow(lp.Row{Name: "largest", Lo: 0, Hi: math.Inf(1), Terms: []lp.Term{{Var: t, Coef: 1}, {Var: x[i], Coef: -1}}})
			}
		}}
}
