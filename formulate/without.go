package formulate

import (
	"context"
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
	Before   []nutrient.Mass // one a line of Answer's plan
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
// amounts; where it has none, the mix that solving finds. use, when not
// empty, names the only replacement to try; otherwise every dry and safe form
// of the catalogue is tried, and making do with the rest. The best comes
// first: fewest grams moved, then least shift of figures, then likeness.
func Without(ctx context.Context, p *mix.Plan, line int, use []*catalog.Form, o Options) ([]Swap, error) {
	amounts, err := standing(ctx, p, o)
	if err != nil {
		return nil, err
	}
	gone := p.Lines[line].Form
	d := p.Document.Remove(line, gone.Ref())
	d.Prefer, d.Sureness = mix.Near, p.Document.Sureness
	rest := append(append([]nutrient.Mass(nil), amounts[:line]...), amounts[line+1:]...)
	for i := range d.Lines {
		d.Lines[i].Base = mix.Amount{Set: true, Mass: rest[i]}
	}
	var list []Swap
	if use == nil {
		if s, ok, err := swap(ctx, p, d, nil, gone, rest, o); err != nil {
			return nil, err
		} else if ok {
			list = append(list, s)
		}
		use = candidates(p)
	}
	for _, f := range use {
		s, ok, err := swap(ctx, p, d, f, gone, rest, o)
		if err != nil {
			return nil, err
		}
		if ok {
			list = append(list, s)
		}
	}
	before := portions(p, amounts)
	for i := range list {
		list[i].Shift = shift(p, before, list[i].Answer.Portions())
	}
	sort.SliceStable(list, func(i, j int) bool { return better(list[i], list[j]) })
	return list, nil
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

// standing are the amounts of the document, or of the mix that solving finds.
func standing(ctx context.Context, p *mix.Plan, o Options) ([]nutrient.Mass, error) {
	out := make([]nutrient.Mass, len(p.Lines))
	var sum nutrient.Mass
	for i, l := range p.Document.Lines {
		if l.Amount.Set {
			out[i] = nutrient.Mass(math.Round(l.Amount.Of(p.Batch()) * float64(nutrient.Gram)))
			sum += out[i]
		}
	}
	if sum > 0 {
		return out, nil
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

// swap solves the mix with one form instead of another.
func swap(ctx context.Context, p *mix.Plan, d *mix.Document, f, gone *catalog.Form, rest []nutrient.Mass, o Options) (Swap, bool, error) {
	if f != nil {
		d = d.Add(mix.Line{Ingredient: f.Ref()})
	}
	q, err := p.With(d)
	if err != nil {
		return Swap{}, false, nil // limits leave no room, for example every line at its ceiling
	}
	s := &solver{ctx: ctx, program: newProgram(q), plan: q, options: o}
	s.goal = replaceGoal(q, rest, f != nil)
	v := variant{}
	if d.Sureness > 0 {
		v.z = s.zOf(s.evenly(1 - d.Sureness))
	}
	r := v
	r.relaxed = true
	if draft, err := s.draft(r); err != nil || draft.Status == lp.Infeasible {
		return Swap{}, false, err
	}
	res, offset, err := s.run(v)
	if err != nil || res.X == nil {
		return Swap{}, false, err
	}
	a := &Answer{Plan: q, Prefer: mix.Near, Unit: "g moved"}
	if err := s.take(a, res, offset, v); err != nil {
		return Swap{}, false, err
	}
	a.judge()
	out := Swap{Form: f, Answer: a, Before: rest, Moved: moved(rest, a.Amounts())}
	if f != nil {
		out.Before = append(append([]nutrient.Mass(nil), rest...), 0)
		out.Likeness = LikenessOf(gone, f)
	}
	return out, true, nil
}

// replaceGoal keeps the other lines near to what they were; the replacement
// takes what it needs.
func replaceGoal(q *mix.Plan, rest []nutrient.Mass, replaced bool) *goal {
	base := make([]int, len(q.Lines))
	for i, m := range rest {
		base[i] = int(math.Round(float64(m) / float64(q.Document.Step)))
	}
	g := nearGoal(q, base)
	if replaced {
		near, last := g.cost, len(base)-1
		g.cost = func(i int) (float64, []lp.Break) {
			if i == last {
				return 0, nil
			}
			return near(i)
		}
	}
	return g
}

// moved is how far the lines of before move in all.
func moved(before, after []nutrient.Mass) nutrient.Mass {
	var sum nutrient.Mass
	for i, m := range before {
		sum += max(m-after[i], after[i]-m)
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

// LikenessOf compares two forms.
func LikenessOf(a, b *catalog.Form) Likeness {
	l := Likeness{SameIngredient: a.Ingredient == b.Ingredient,
		SameFamily: a.Ingredient.Family != "" && a.Ingredient.Family == b.Ingredient.Family,
		SameKind:   kindOf(a.Ingredient.Class) == kindOf(b.Ingredient.Class)}
	for _, k := range []nutrient.Key{nutrient.CrudeProtein, nutrient.CrudeFat, nutrient.CrudeFibre} {
		x, ok := a.Figure(k)
		y, ok2 := b.Figure(k)
		if ok && ok2 {
			d := x.Mean - y.Mean
			l.Analysis += float64(d * d)
		}
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
