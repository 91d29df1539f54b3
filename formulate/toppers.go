package formulate

import (
	"context"
	"fmt"
	"math"

	"firlot/analysis"
	"firlot/catalog"
	"firlot/lp"
	"firlot/mix"
	"firlot/nutrient"
)

// BaseOptions bound the search for a base and its toppers.
type BaseOptions struct {
	Options
	// Base is the mass of base that toppers are weighed for; nothing is a
	// kilogram.
	Base nutrient.Mass
	// MostTopper is the most that may be added to that much base; nothing is
	// as much again. What is more than half of a mix is no topper to it.
	MostTopper nutrient.Mass
	// Step is the least by which base and toppers differ; nothing is the
	// coarsest step of the plans.
	Step nutrient.Mass
}

// BaseMix is one base mix, and a topper for each of several plans.
type BaseMix struct {
	Status Status
	// Forms are all forms of the plans, in order of first appearance; Base is
	// how much of each is in BaseMass of base.
	Forms    []*catalog.Form
	Base     []nutrient.Mass
	BaseMass nutrient.Mass
	Step     nutrient.Mass
	Stages   []Topped

	// Largest is the largest topper for BaseMass of base, Total all of them
	// together. No base has a smaller largest topper than LargestBound; none
	// with the largest topper of this one has a smaller total than TotalBound.
	Largest, LargestBound nutrient.Mass
	Total, TotalBound     nutrient.Mass

	// Clash are limits of which no base and toppers can hold all together, and
	// of which none can be left out; on Impossible.
	Clash []StageClash
	// Whole says that the clash lies in whole steps, counts or
	// nothing-or-at-least, or that the time was up, and that it is not narrowed
	// down further than to stages.
	Whole  bool
	Claims []Claim
	Notes  []string
	Nodes  int
}

// Topped is one plan's mix: the base with its topper.
type Topped struct {
	Plan    *mix.Plan
	Topper  []nutrient.Mass // one a line of the plan, for BaseMass of base
	Amounts []nutrient.Mass // base and topper together
	Weight  nutrient.Mass   // of the topper
	Share   float64         // of the topper in the mix, 0 to 1
	Checks  []analysis.Check
	Joint   float64
	Sure    bool // Joint is what the document asks for
}

// PerKilogram is how much base goes into a kilogram of the mix; the rest is
// topper.
func (t Topped) PerKilogram() nutrient.Mass {
	return nutrient.Mass(math.Round(float64(nutrient.Kilogram) * (1 - t.Share)))
}

// StageClash is one limit of a clash.
type StageClash struct {
	Stage int // index of the plan
	What  string
}

// FindBase finds one base mix, in whole steps, and for each plan a topper,
// such that base and topper together are inside the plan's windows, with its
// limits and those of safety. The largest topper is as small as can be; then
// the toppers together are; then the base is near to the mean of what the
// plans' documents start from, or where none has a base or an amount, its
// largest share is as small as can be.
//
// Masses stand for BaseMass of base, so that a plan's mix weighs the base and
// its topper. Window rows and shares hold for a mix of any mass, and what is
// asked stays linear. Shares of the documents, and amounts in grams as shares
// of their batch, are those of the mix, base and topper together;
// nothing-or-at-least counts against the mass of base. A form that a plan does
// not list is in none of its mixes, and so not in the base.
//
// With sureness the windows are first held on the means. Where a mix is then
// not sure enough, bases are drafted that keep a part of the deviations of an
// evenly shared risk, and each plan's topper is the smallest that [Around]
// finds to such a base. What is proved of the smallest toppers is proved on
// the means, and so holds.
func FindBase(ctx context.Context, plans []*mix.Plan, o BaseOptions) (*BaseMix, error) {
	b, err := newBaser(ctx, plans, o)
	if err != nil {
		return nil, err
	}
	out, err := b.find()
	if late(err) || err == nil && out == nil {
		return b.stoppedShort(), nil
	}
	return out, err
}

// MaxStages is the most plans that share a base.
const MaxStages = 12

// baser looks for a base.
type baser struct {
	ctx    context.Context
	o      BaseOptions
	plans  []*mix.Plan
	stages []*mender
	forms  []*catalog.Form
	at     [][]int // by stage and line: index into forms
	step   nutrient.Mass
	base   int // steps
	most   int
	near   []int // what the base is near to; nil: varied
	nodes  int
	claims []Claim
	notes  []string
}

func newBaser(ctx context.Context, plans []*mix.Plan, o BaseOptions) (*baser, error) {
	if len(plans) == 0 || len(plans) > MaxStages {
		return nil, &mix.Problem{Message: fmt.Sprintf("a base is for 1 to %d mixes, not for %d", MaxStages, len(plans))}
	}
	b := &baser{ctx: ctx, o: o, plans: plans, step: o.Step}
	if o.Base == 0 {
		o.Base = nutrient.Kilogram
	}
	if o.MostTopper == 0 {
		o.MostTopper = o.Base
	}
	if b.step == 0 {
		for _, p := range plans {
			b.step = max(b.step, p.Document.Step)
		}
	}
	b.base, b.most = int(o.Base/b.step), int(o.MostTopper/b.step)
	if b.base < 1 || o.MostTopper < 0 || b.base+b.most > maxUnits {
		return nil, &mix.Problem{Message: fmt.Sprintf("%v of base in steps of %v cannot be weighed", o.Base, b.step)}
	}
	at := map[string]int{}
	for _, p := range plans {
		index := make([]int, len(p.Lines))
		for i, l := range p.Lines {
			ref := l.Form.Ref()
			k, ok := at[ref]
			if !ok {
				k = len(b.forms)
				at[ref] = k
				b.forms = append(b.forms, l.Form)
			}
			if !alikeForms(b.forms[k], l.Form) {
				return nil, &mix.Problem{Message: fmt.Sprintf("%s is not the same in all mixes", ref), Hint: "give the two own ingredients different ids, or the same figures"}
			}
			index[i] = k
		}
		b.at = append(b.at, index)
		m, err := b.stage(p)
		if err != nil {
			return nil, err
		}
		b.stages = append(b.stages, m)
	}
	b.near = b.meanOf()
	return b, nil
}

// alikeForms reports whether two forms of one reference are the same: own
// ingredients of two documents may bear one id.
func alikeForms(a, b *catalog.Form) bool {
	if a == b {
		return true
	}
	if len(a.Figures) != len(b.Figures) {
		return false
	}
	for k, f := range a.Figures {
		if g, ok := b.Figures[k]; !ok || f.Mean != g.Mean || f.SD != g.SD {
			return false
		}
	}
	return true
}

// stage is a plan with nothing poured, its limits as shares.
func (b *baser) stage(p *mix.Plan) (*mender, error) {
	n := len(p.Lines)
	steps := make([]nutrient.Mass, n)
	for i := range steps {
		steps[i] = b.step
	}
	base := nutrient.Mass(b.base) * b.step
	m, err := newMender(b.ctx, p, Bowl{Batch: base, MostBatch: base + nutrient.Mass(b.most)*b.step, Step: steps,
		Near: make([]nutrient.Mass, n), Poured: make([]nutrient.Mass, n)}, b.o.Options)
	if err != nil {
		return nil, err
	}
	for k := range m.limits {
		l := &m.limits[k]
		if l.kind == bowlNothingOr {
			if l.amount.Share {
				l.amount = mix.Amount{Set: true, Mass: nutrient.Mass(math.Ceil(float64(l.amount.Percent/100*float64(base)) - unitSlack))}
			}
		} else if !l.amount.Share && l.amount.Set {
			l.amount = mix.Amount{Set: true, Share: true, Percent: 100 * float64(l.amount.Mass) / float64(base)}
		}
	}
	return m, nil
}

// meanOf is the mean of what the documents start from, brought to the base;
// nil when none has a base or an amount.
func (b *baser) meanOf() []int {
	shares := make([]float64, len(b.forms))
	any := false
	for s, p := range b.plans {
		steps := baseSteps(p)
		for i, n := range steps {
			shares[b.at[s][i]] += float64(n) / float64(p.Steps)
			any = true
		}
	}
	if !any {
		return nil
	}
	sum := 0.0
	for _, v := range shares {
		sum += v
	}
	for k := range shares {
		shares[k] = shares[k] / sum * float64(b.base)
	}
	return apportion(shares, b.base)
}

// baseAsk is one question about a base.
type baseAsk struct {
	goal    baseGoal
	largest int         // the most of any topper, steps
	total   int         // the most of all toppers; negative: no limit
	z       [][]float64 // by stage and edge; nil: none
	relaxed bool
	skip    func(stage int) bool // stages left out
	without map[[3]int]bool      // limits left out: stage, 0 edge or 1 limit, index
}

type baseGoal int

const (
	baseAny baseGoal = iota
	baseLargest
	baseTotal
	baseNear
)

// baseModel is the program of an ask.
type baseModel struct {
	*lp.Model
	base   []lp.Var
	stages []*bowlModel
	offset float64
}

func (b *baser) model(a baseAsk) *baseModel {
	m := &baseModel{Model: lp.NewModel()}
	for k := range b.forms {
		c := lp.Column{Name: "base: " + b.forms[k].Ref(), Hi: float64(b.base), Integer: !a.relaxed}
		if a.goal == baseNear && b.near != nil {
			at := float64(b.near[k])
			c.Cost, c.Breaks = -1, []lp.Break{{At: at, Rise: 2}}
			m.offset += at + foldBreaks(&c)
		}
		m.base = append(m.base, m.AddColumn(c))
	}
	all := make([]lp.Term, len(m.base))
	for k, v := range m.base {
		all[k] = lp.Term{Var: v, Coef: 1}
	}
	m.AddRow(lp.Row{Name: "base", Lo: float64(b.base), Hi: float64(b.base), Terms: all})
	for s := range b.stages {
		m.stages = append(m.stages, nil)
		if a.skip == nil || !a.skip(s) {
			m.stages[s] = b.writeStage(m, a, s)
		}
	}
	b.writeGoal(m, a)
	return m
}

// writeStage adds a plan's mix, which holds at least the base.
func (b *baser) writeStage(m *baseModel, a baseAsk, s int) *bowlModel {
	men := b.stages[s]
	w := &bowlModel{Model: m.Model, m: men, ask: ask{relaxed: a.relaxed, reopen: -1}}
	if a.z != nil {
		w.ask.z = a.z[s]
	}
	w.bounds()
	for i := range men.plan.Lines {
		w.column(i)
	}
	w.total()
	for i := range men.edges {
		if !a.without[[3]int{s, 0, i}] {
			w.edge(i)
		}
	}
	for k, l := range men.limits {
		if !a.without[[3]int{s, 1, k}] {
			w.limit(l)
		}
	}
	listed := map[int]bool{}
	for i, c := range w.cols {
		k := b.at[s][i]
		listed[k] = true
		m.AddRow(lp.Row{Name: b.forms[k].Ref() + " in the base", Lo: 0, Hi: math.Inf(1),
			Terms: []lp.Term{{Var: c.v, Coef: 1}, {Var: m.base[k], Coef: -1}}})
	}
	for k, v := range m.base {
		if !listed[k] {
			m.AddRow(lp.Row{Name: b.forms[k].Ref() + " is not for this mix", Lo: math.Inf(-1), Hi: 0, Terms: []lp.Term{{Var: v, Coef: 1}}})
		}
	}
	return w
}

// writeGoal adds what is minimised and what was found least before: the
// largest topper and all of them together, each a column of its own.
func (b *baser) writeGoal(m *baseModel, a baseAsk) {
	n := 0.0
	for _, w := range m.stages {
		if w != nil {
			n++
		}
	}
	cols := []lp.Column{{Name: "largest topper", Hi: float64(a.largest)}, {Name: "toppers together", Hi: float64(a.largest) * n}}
	if a.total >= 0 {
		cols[1].Hi = min(cols[1].Hi, float64(a.total))
	}
	switch a.goal {
	case baseLargest:
		cols[0].Cost = 1
	case baseTotal:
		cols[1].Cost = 1
	}
	var v [2]lp.Var
	for k, c := range cols {
		c.Integer = !a.relaxed
		v[k] = m.AddColumn(c)
	}
	for _, w := range m.stages {
		if w != nil {
			m.AddRow(lp.Row{Name: "its topper", Lo: math.Inf(-1), Hi: float64(b.base), Terms: append(w.with(w.over(nil, 1, 0)), lp.Term{Var: v[0], Coef: -1})})
		}
	}
	m.AddRow(lp.Row{Name: "toppers together", Lo: math.Inf(-1), Hi: n * float64(b.base), Terms: append(m.stageTerms(), lp.Term{Var: v[1], Coef: -1})})
	if a.goal == baseNear && b.near == nil {
		t := m.AddColumn(lp.Column{Name: "largest share of the base", Hi: float64(b.base), Cost: 1})
		for _, x := range m.base {
			m.AddRow(lp.Row{Name: "largest share of the base", Lo: 0, Hi: math.Inf(1), Terms: []lp.Term{{Var: t, Coef: 1}, {Var: x, Coef: -1}}})
		}
	}
}

func (m *baseModel) stageTerms() []lp.Term {
	var list []lp.Term
	for _, w := range m.stages {
		if w == nil {
			continue
		}
		for _, c := range w.cols {
			list = append(list, lp.Term{Var: c.v, Coef: c.mult})
		}
	}
	return list
}
