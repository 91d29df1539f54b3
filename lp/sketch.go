package lp

import (
	"context"
	"math"
)

// Draft is a guess at the answer of a continuous model: what float64 finds,
// verified by nothing. It is for searching over many models, of which the
// last is then solved and proved with [Solve].
type Draft struct {
	Status    Status // Optimal, Infeasible, Unbounded, Stopped or Trouble; a guess
	X         []float64
	Objective float64
}

// draftTol: a draft whose rounds of tangents ran out still serves a search
// that asks for z to a thousandth, which moves a cone by a thousandth of its
// size; a millionth is far inside that.
const draftTol = 1e-6

// Sketch drafts the answer of a model whose columns are all continuous and
// which has no counts and no nothing-or-at-least. Cones are kept within
// draftTol of their size, or the status is Trouble. The error is not nil only for models that are bad or not
// continuous.
func Sketch(ctx context.Context, m *Model) (*Draft, error) {
	if err := m.Check(); err != nil {
		return nil, err
	}
	p := newProb(m)
	if p.discrete {
		return nil, &ModelError{Kind: "model", What: "a draft is for continuous models only"}
	}
	t := newTree(ctx, p, Options{})
	b := p.rootBox()
	if p.empty >= 0 || !p.normalise(b) {
		return &Draft{Status: Infeasible}, nil
	}
	t.start(b)
	return t.draft(b), nil
}

func (t *tree) draft(b *box) *Draft {
	for round := 0; ; round++ {
		t.enter(b)
		t.s.cutoff = math.Inf(1)
		switch t.s.solve() {
		case lpOptimal:
		case lpInfeasible:
			return &Draft{Status: Infeasible}
		case lpLimit:
			return &Draft{Status: Stopped}
		default:
			return &Draft{Status: Unbounded}
		}
		t.px = t.s.point(t.px)
		if len(t.p.m.cones) > 0 && t.separate(t.px, round, 0) {
			continue
		}
		return t.draftPoint()
	}
}

func (t *tree) draftPoint() *Draft {
	d := &Draft{Status: Optimal, X: append([]float64(nil), t.px[:t.p.n]...)}
	for k := range t.p.m.cones {
		c := &t.p.m.cones[k]
		if gap, norm := coneGap(c, d.X); gap > float64(draftTol*math.Max(1, math.Max(math.Abs(c.Lo), float64(c.Z*norm)))) {
			d.Status = Trouble
		}
	}
	for j, c := range t.p.cols {
		d.Objective += float64(c.Cost * d.X[j])
		for _, br := range c.Breaks {
			if d.X[j] > br.At {
				d.Objective += float64(br.Rise * (d.X[j] - br.At))
			}
		}
	}
	return d
}
