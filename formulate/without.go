package formulate

import (
	"context"
	"errors"
	"fmt"
	"math"
	"sort"

	"firlot/analysis"
	"firlot/catalog"
	"firlot/lp"
	"firlot/mix"
	"firlot/needs"
	"firlot/nutrient"
)

// Swap is a mix without one of its ingredients.
type Swap struct {
	Form  *catalog.Form // what comes instead; nil when the others make it up
	Moved nutrient.Mass // by how much all other lines move, in all
	// Shift is how far the figures with windows move, each as a share of its
	// window's width (of its bound, where the window is open), summed.
	Shift    float64
	Likeness Likeness
	Before   []nutrient.Mass // one a line of Answer's plan; nothing for the replacement
	Answer   *Answer
}

// Likeness says how like two forms are.
type Likeness struct {
	SameIngredient bool    // another form of it
	SameFamily     bool    // botanical or zoological family
	SameKind       bool    // grain, oily seed, forage …
	Analysis       float64 // distance of the main figures, 0 for alike
	Size           float64 // ratio of kernel lengths, 1 for alike, 0 when not known
}

// Without takes an ingredient out of a mix: every other amount stays as near
// as can be to what it is, inside the windows. The mix is the document's
// amounts, brought to the batch; where it has none, the mix that solving
// finds. A replacement takes over the missing line's ceiling and its place in
// groups.
//
// use, when not empty, names the only replacements to try; otherwise every
// dry and safe form of the catalogue is tried, and making do with the rest.
// The best comes first: what is alike (the same kind of food, of like size)
// before what is not, then fewest grams moved by the others, then least shift
// of figures, then likeness of analysis. With sureness the risk is shared
// evenly over the edges, so that a replacement may be missed, never a wrong
// one offered.
func Without(ctx context.Context, p *mix.Plan, line int, use []*catalog.Form, o Options) ([]Swap, error) {
	amounts, err := standing(ctx, p, o)
	if err != nil {
		return nil, err
	}
	w := &swapper{ctx: ctx, plan: p, line: line, amounts: amounts, options: o}
	if use == nil {
		if err := w.sweep(); err != nil {
			return nil, err
		}
	}
	for _, f := range use {
		if err := w.named(f); err != nil {
			return nil, err
		}
	}
	before := portions(p, amounts)
	for i := range w.list {
		w.list[i].Shift = shift(p, before, w.list[i].Answer.Portions())
	}
	sort.SliceStable(w.list, func(i, j int) bool { return better(w.list[i], w.list[j]) })
	return w.list, nil
}

// swapper tries replacements for one line.
type swapper struct {
	ctx     context.Context
	plan    *mix.Plan
	line    int
	amounts []nutrient.Mass
	options Options
	list    []Swap
}

// sweep tries to make do with the rest, and every candidate. A candidate that
// the document's own limits leave no room for is passed over.
func (w *swapper) sweep() error {
	var p *mix.Problem
	if err := w.without(); err != nil && !errors.As(err, &p) {
		return err
	}
	for _, f := range candidates(w.plan) {
		if err := w.with(f); err != nil && !errors.As(err, &p) {
			return err
		}
	}
	return nil
}

// named tries a replacement that the keeper asked for, and says what stands
// in its way.
func (w *swapper) named(f *catalog.Form) error {
	for i, l := range w.plan.Lines {
		switch {
		case l.Form != f:
		case i == w.line:
			return &mix.Problem{Message: f.Ref() + " is the very food that is missing", Hint: "name another, or none"}
		default:
			return &mix.Problem{Message: f.Ref() + " is in the mix already", Hint: "name none to see what the rest can make up"}
		}
	}
	return w.with(f)
}

// without tries the mix with nothing in the missing line's place.
func (w *swapper) without() error {
	q, err := w.plan.With(near(w.plan.Remove(w.line)))
	if err != nil {
		return err
	}
	rest := append(append([]nutrient.Mass(nil), w.amounts[:w.line]...), w.amounts[w.line+1:]...)
	return w.try(q, rest, -1, nil)
}

// with tries the mix with a form in the missing line's place.
func (w *swapper) with(f *catalog.Form) error {
	q, err := w.plan.With(near(w.plan.Replace(w.line, f.Ref())))
	if err != nil {
		return err
	}
	rest := append([]nutrient.Mass(nil), w.amounts...)
	rest[w.line] = 0
	return w.try(q, rest, w.line, f)
}

func near(d *mix.Document) *mix.Document {
	d.Prefer = mix.Near
	return d
}

// try solves a plan near to the amounts that stay; free is the line that may
// take what it needs.
func (w *swapper) try(q *mix.Plan, rest []nutrient.Mass, free int, f *catalog.Form) error {
	s := &solver{ctx: w.ctx, program: newProgram(q), plan: q, options: w.options}
	s.goal = replaceGoal(q, rest, free)
	v := variant{}
	if q.Document.Sureness > 0 {
		v.z = s.zOf(s.evenly(1 - q.Document.Sureness))
	}
	r := v
	r.relaxed = true
	if draft, err := s.draft(r); err != nil || draft.Status == lp.Infeasible {
		return err
	}
	res, offset, err := s.run(v)
	if err != nil || res.X == nil {
		return err
	}
	a := &Answer{Plan: q, Prefer: mix.Near, Unit: "g moved"}
	if err := s.take(a, res, offset, v); err != nil {
		return err
	}
	if free >= 0 && a.Steps[free] == 0 {
		return nil // the others make it up without it, and that is said once
	}
	a.judge()
	out := Swap{Form: f, Answer: a, Before: rest, Moved: moved(rest, a.Amounts(), free)}
	if f != nil {
		out.Likeness = LikenessOf(w.plan.Lines[w.line].Form, f)
	}
	w.list = append(w.list, out)
	return nil
}

func better(a, b Swap) bool {
	switch {
	case a.alike() != b.alike():
		return a.alike()
	case a.Moved != b.Moved:
		return a.Moved < b.Moved
	case math.Abs(a.Shift-b.Shift) > 1e-9:
		return a.Shift < b.Shift
	}
	return a.Likeness.Analysis < b.Likeness.Analysis
}

// Alike reports whether two forms can pass for each other in a mix: another
// form of the same ingredient, or the same kind of food of like size.
func (l Likeness) Alike() bool {
	return l.SameIngredient || l.SameKind && (l.Size == 0 || l.Size > 1/likeSize && l.Size < likeSize)
}

// likeSize is the ratio of lengths up to which two seeds are of like size.
// Common practice, no source: animals sort by size well before fourfold.
const likeSize = 4.0

// alike also holds when the other lines make up for what is missing.
func (s Swap) alike() bool { return s.Form == nil || s.Likeness.Alike() }

// kindOf joins classes that a keeper would trade for one another.
func kindOf(c catalog.Class) catalog.Class {
	switch c {
	case catalog.Pseudocereal, catalog.Millet:
		return catalog.Cereal
	case catalog.Nut, catalog.SmallSeed:
		return catalog.Oilseed
	case catalog.Flower:
		return catalog.Leaf
	case catalog.Root:
		return catalog.Vegetable
	case catalog.Animal:
		return catalog.Insect
	}
	return c
}

// standing are the amounts of the document, brought to the batch, or of the
// mix that solving finds.
func standing(ctx context.Context, p *mix.Plan, o Options) ([]nutrient.Mass, error) {
	if _, any := p.Standing(); any {
		steps := scaled(p, func(l mix.Line) mix.Amount { return l.Amount })
		return (&Answer{Plan: p, Steps: steps}).Amounts(), nil
	}
	a, err := Solve(ctx, p, o)
	if err != nil {
		return nil, err
	}
	if a.Steps == nil {
		return nil, &mix.Problem{Path: "line", Message: "the document has no amounts, and no mix was found to start from", Hint: "firlot solve says why"}
	}
	return a.Amounts(), nil
}

// replaceGoal keeps the other lines near to what they were; the free line
// takes what it needs.
func replaceGoal(q *mix.Plan, rest []nutrient.Mass, free int) *goal {
	base := make([]int, len(q.Lines))
	for i, m := range rest {
		base[i] = int(math.Round(float64(m) / float64(q.Document.Step)))
	}
	g := nearGoal(q, base)
	cost := g.cost
	g.cost = func(i int) (float64, []lp.Break) {
		if i == free {
			return 0, nil
		}
		return cost(i)
	}
	return g
}

// moved is how far the lines of before move in all, but for the free one.
func moved(before, after []nutrient.Mass, free int) nutrient.Mass {
	var sum nutrient.Mass
	for i, m := range before {
		if i != free {
			sum += max(m-after[i], after[i]-m)
		}
	}
	return sum
}

// shift sums how far the figures with windows move.
func shift(p *mix.Plan, before, after []analysis.Portion) float64 {
	sum := 0.0
	for _, t := range p.Targets {
		m := analysis.MeasureOf(t.Window)
		a, b := analysis.Of(before, m), analysis.Of(after, m)
		if width := widthOf(t.Window); a.HasMean && b.HasMean && width > 0 {
			sum += math.Abs(a.Mean-b.Mean) / width
		}
	}
	return sum
}

func widthOf(w needs.Window) float64 {
	switch {
	case w.Min == nil:
		return *w.Max
	case w.Max == nil:
		return *w.Min
	}
	return *w.Max - *w.Min
}

// unlike is the distance, in points, that an unknown figure counts as: what
// is not known is not alike.
const unlike = 20.0

// LikenessOf compares two forms.
func LikenessOf(a, b *catalog.Form) Likeness {
	l := Likeness{SameIngredient: a.Ingredient == b.Ingredient,
		SameFamily: a.Ingredient.Family != "" && a.Ingredient.Family == b.Ingredient.Family,
		SameKind:   kindOf(a.Ingredient.Class) == kindOf(b.Ingredient.Class)}
	for _, k := range []nutrient.Key{nutrient.CrudeProtein, nutrient.CrudeFat, nutrient.CrudeFibre} {
		d := unlike
		x, ok := a.Figure(k)
		if y, known := b.Figure(k); ok && known {
			d = x.Mean - y.Mean
		}
		l.Analysis += float64(d * d)
	}
	l.Analysis = math.Sqrt(l.Analysis)
	if a.Length != nil && b.Length != nil && a.Length.Mean > 0 && b.Length.Mean > 0 {
		l.Size = b.Length.Mean / a.Length.Mean
	}
	return l
}

// Words says a likeness in a few words.
func (l Likeness) Words() string {
	s := ""
	switch {
	case l.SameIngredient:
		s = "another form of it"
	case l.SameKind && l.SameFamily:
		s = "same kind and family"
	case l.SameKind:
		s = "same kind"
	default:
		s = "another kind"
	}
	if l.Size > 0 {
		s += fmt.Sprintf(", %s times as long", trim(math.Round(l.Size*10)/10))
	}
	return s
}
