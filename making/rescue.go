package making

import (
	"context"
	"fmt"
	"slices"

	"firlot/analysis"
	"firlot/catalog"
	"firlot/catalog/find"
	"firlot/formulate"
	"firlot/mix"
	"firlot/nutrient"
)

// SlipKind says what went wrong.
type SlipKind string

// The kinds of slips.
const (
	TooMuch   SlipKind = "too much"   // more of a line is in the bowl than planned
	TooLittle SlipKind = "too little" // less is, and it is to stay so
	EmptyJar  SlipKind = "empty jar"  // the jar gives no more than Rest
	WrongJar  SlipKind = "wrong jar"  // Ref is in the bowl and was not meant to be
)

// Slip is what went wrong. What came into the bowl stands in the log already:
// a pour is kept before anything is reckoned with it.
type Slip struct {
	Kind SlipKind
	Ref  string // the form in question
	Bowl int    // from 1; 0 is the first
	// Rest is what the jar can still give, on EmptyJar and TooLittle.
	Rest nutrient.Mass
}

// RescueOptions bound and inform a rescue.
type RescueOptions struct {
	formulate.Options
	// Jars are what the jars still hold, by reference; what is not named is
	// not counted, and does not run out.
	Jars map[string]nutrient.Mass
	// Shelf is what may join the mix when only that would save it.
	Shelf []*catalog.Form
	// MostBatch is the largest that the batch in the bowl may become; nothing
	// is ten times what was planned.
	MostBatch nutrient.Mass
}

// Rescued is the best that can be made of a bowl after a slip.
type Rescued struct {
	Slip    Slip
	Outcome formulate.Outcome
	Bowl    int // from 1
	// Plan is what to pour from here on, for a replan; nil when the bowl is to
	// be discarded, or nothing was found.
	Plan    *Plan
	Changes []Change
	// BatchBefore is what was planned for the bowl; Batch is what it becomes.
	BatchBefore, Batch nutrient.Mass
	// Before are the windows if pouring went on as planned, After those of the
	// rescue; one a target of the mix.
	Before, After           []analysis.Check
	JointBefore, JointAfter float64
	// Mended says how the answer was found and what is proved of it; nil when
	// nothing had to be reckoned.
	Mended *formulate.Mended
	// Why says why the bowl is to be discarded.
	Why []string
	// Never are the foods in the bowl that are never fed; Why begins with what
	// it says of each, in the same order.
	Never []*catalog.Unsafe
	// Extras are ingredients that were not planned, each of which would bring
	// the bowl inside.
	Extras []Extra
	// Other is a smaller batch that is inside but less sure than asked.
	Other *Rescued
}

// Extra is a rescue by an ingredient that was not planned.
type Extra struct {
	Form    *catalog.Form
	Least   nutrient.Mass // the least of it that will do
	Rescued *Rescued
}

// Change is a line before and after a rescue, in one bowl.
type Change struct {
	Form    *catalog.Form
	Ref     string
	Poured  nutrient.Mass // what is in the bowl
	Planned nutrient.Mass // before
	Now     nutrient.Mass // what is to be in the bowl in the end
	More    nutrient.Mass // what is still to come of it
	// Reopened says that the line was finished and gets more.
	Reopened bool
	// New says that it was not in the plan.
	New bool
}

// Rescue re-solves the rest of a making around what is in the bowl; see
// [formulate.Around] for how, and for what is proved. The plan is the mix's.
//
// With several bowls a slip in one concerns that bowl: it is brought inside by
// itself, and the others stay as planned.
//
// A line is finished when all that was planned of it is in the bowl; the line
// of the slip itself is still in the keeper's hand and is not. What was poured
// and is not in the mix joins it, from the document's shelf or from the
// catalogue. What is never fed, and what is too moist for the jar, cannot be
// diluted: the bowl is to be discarded, or the piece picked out.
func Rescue(ctx context.Context, p *mix.Plan, s *State, slip Slip, o RescueOptions) (*Rescued, error) {
	slip.Bowl = max(slip.Bowl, 1)
	if slip.Bowl > len(s.Bowls) {
		return nil, fault("bowl", "there is no bowl %d; there are %d", slip.Bowl, len(s.Bowls))
	}
	if err := slip.check(s); err != nil {
		return nil, err
	}
	joined, lost, err := join(p, s, slip.Bowl)
	if err != nil {
		return nil, err
	}
	r := &rescuer{state: s, slip: slip, plan: joined, options: o}
	if lost != nil {
		lost.Slip, lost.Outcome, lost.Bowl, lost.BatchBefore = slip, formulate.Discard, slip.Bowl, s.Bowls[slip.Bowl-1].Planned
		return lost, nil
	}
	bowl := r.bowl()
	m, err := formulate.Around(ctx, joined, bowl, o.Options)
	if err != nil {
		return nil, err
	}
	return r.rescued(m, bowl), nil
}

func (l Slip) check(s *State) error {
	switch l.Kind {
	case TooMuch, TooLittle, EmptyJar, WrongJar:
	default:
		return fault("kind", "%q is not a kind of slip", string(l.Kind))
	}
	if l.Rest < 0 || l.Rest > nutrient.MaxMass {
		return fault("rest", "is %d mg", l.Rest)
	}
	for _, line := range s.Lines {
		if line.Ref == l.Ref {
			return nil
		}
	}
	return fault("ref", "%s is neither planned nor in the bowl", l.Ref)
}

// join brings what is in a bowl and is not in the plan into it. It says why the
// bowl cannot be saved where something in it must never be; what went into
// another bowl is that one's affair.
func join(p *mix.Plan, s *State, bowl int) (*mix.Plan, *Rescued, error) {
	have := map[string]bool{}
	for _, l := range p.Lines {
		have[l.Form.Ref()] = true
	}
	lost := &Rescued{}
	var moist []string
	for _, l := range s.Lines {
		if part := l.Parts[bowl-1]; have[l.Ref] || part.Poured == 0 && part.Planned == 0 {
			continue
		}
		f := p.Catalogue.Form(l.Ref)
		switch {
		case f != nil && tooMoist(f):
			moist = append(moist, fmt.Sprintf("%s is too moist for a dry mix: it would spoil the rest", l.Ref))
		case f != nil:
			p = p.Joined(f)
		default:
			u := p.Catalogue.Never(l.Ref)
			if u == nil {
				u = find.Refused(p.Catalogue, l.Ref)
			}
			if u == nil {
				return nil, nil, fault("ref", "%s is not in the catalogue: what is in it is not known; give it as an ingredient of your own, from its label", l.Ref)
			}
			lost.Never = append(lost.Never, u)
			lost.Why = append(lost.Why, fmt.Sprintf("%q is never fed: %s", u.Names.First("en"), u.Reason))
		}
	}
	if lost.Why = append(lost.Why, moist...); len(lost.Why) == 0 {
		lost = nil
	}
	return p, lost, nil
}

// tooMoist reports whether a form has no place in the jar at all, however
// little there is of it. What only a limit of nothing keeps out is left to
// the limits.
func tooMoist(f *catalog.Form) bool {
	_, most := f.Bounds(nutrient.Moisture)
	return most > mix.MostMoisture
}

type rescuer struct {
	state   *State
	slip    Slip
	plan    *mix.Plan
	options RescueOptions
}

// part is a line's share in the bowl of the slip; nothing for a line of the
// document that is not used.
func (r *rescuer) part(ref string) (LineState, Part) {
	for _, l := range r.state.Lines {
		if l.Ref == ref {
			return l, l.Parts[r.slip.Bowl-1]
		}
	}
	return LineState{Ref: ref}, Part{}
}

// bowl is what formulate needs to know.
func (r *rescuer) bowl() formulate.Bowl {
	n := len(r.plan.Lines)
	b := formulate.Bowl{MostBatch: r.options.MostBatch, Shelf: r.options.Shelf,
		Near: make([]nutrient.Mass, n), Poured: make([]nutrient.Mass, n), Most: make([]nutrient.Mass, n),
		Step: make([]nutrient.Mass, n), Finished: make([]bool, n)}
	for _, l := range newBooks(&r.state.Start).lines {
		b.Of += l.Parts[r.slip.Bowl-1].Planned
	}
	scale := r.state.Start.Scale
	for i, pl := range r.plan.Lines {
		ref := pl.Form.Ref()
		l, part := r.part(ref)
		b.Near[i], b.Poured[i] = part.Planned, part.Poured
		b.Batch += part.Planned
		b.Most[i] = -1
		b.Step[i] = scale.Step
		if l.Fine {
			b.Step[i] = scale.Fine.Step
		}
		b.Finished[i] = part.Poured > 0 && part.Left() == 0 && ref != r.slip.Ref
		if rest, ok := r.options.Jars[ref]; ok {
			b.Most[i] = part.Poured + max(rest, 0)
		}
		if l.Empty {
			b.Most[i] = part.Poured + l.Rest
		}
		if ref == r.slip.Ref && (r.slip.Kind == EmptyJar || r.slip.Kind == TooLittle) {
			b.Most[i] = part.Poured + r.slip.Rest
		}
	}
	return b
}

// rescued shapes what formulate found.
func (r *rescuer) rescued(m *formulate.Mended, b formulate.Bowl) *Rescued {
	out := &Rescued{Slip: r.slip, Outcome: m.Outcome, Bowl: r.slip.Bowl, Mended: m, Why: m.Why,
		BatchBefore: b.Batch, Batch: m.Batch, After: m.Checks, JointAfter: m.Joint}
	out.Before, out.JointBefore = r.before(b)
	for _, e := range m.Extras {
		out.Extras = append(out.Extras, Extra{Form: e.Form, Least: e.Least, Rescued: r.rescued(e.Mended, b)})
	}
	if m.Other != nil {
		out.Other = r.rescued(m.Other, b)
	}
	if m.Amounts == nil {
		return out
	}
	reopened := map[int]bool{}
	for _, i := range m.Reopened {
		reopened[i] = true
	}
	for i, l := range m.Plan.Lines {
		_, part := r.part(l.Form.Ref())
		if part.Planned == 0 && m.Amounts[i] == 0 {
			continue
		}
		out.Changes = append(out.Changes, Change{Form: l.Form, Ref: l.Form.Ref(), Poured: part.Poured, Planned: part.Planned,
			Now: m.Amounts[i], More: m.Amounts[i] - part.Poured, Reopened: reopened[i], New: part.Planned == 0})
	}
	out.Plan = r.replan(out)
	return out
}

// before measures the bowl as it would be if pouring went on as planned.
func (r *rescuer) before(b formulate.Bowl) ([]analysis.Check, float64) {
	var portions []analysis.Portion
	for i, l := range r.plan.Lines {
		portions = append(portions, analysis.Portion{Form: l.Form, Mass: max(b.Near[i], b.Poured[i])})
	}
	return check(r.plan, portions)
}

// replan is the plan of a rescue: the lines in the order they had, what is
// new before the leaves and flowers on top.
func (r *rescuer) replan(out *Rescued) *Plan {
	p := &Plan{Version: Version, Batch: out.Batch, Why: "rescue: " + string(r.slip.Kind) + ", " + r.slip.Ref}
	if len(r.state.Bowls) > 1 {
		p.Bowl = r.slip.Bowl
	}
	now := map[string]Change{}
	for _, c := range out.Changes {
		now[c.Ref] = c
	}
	top := 0 // where leaves and flowers begin
	seen := map[string]bool{}
	for _, l := range r.state.Lines {
		c, ok := now[l.Ref]
		if !ok {
			continue
		}
		seen[l.Ref] = true
		spent := l.Ref == r.slip.Ref && (r.slip.Kind == EmptyJar || r.slip.Kind == TooLittle)
		p.Lines = append(p.Lines, Line{Ref: l.Ref, Mass: c.Now, Lot: l.Lot, Empty: l.Empty || spent})
		if !onTop(c.Form) {
			top = len(p.Lines)
		}
	}
	for _, c := range out.Changes {
		if !seen[c.Ref] {
			p.Lines = slices.Insert(p.Lines, top, Line{Ref: c.Ref, Mass: c.Now})
			top++
		}
	}
	return p
}
