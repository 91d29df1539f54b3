package web

import (
	"context"
	"errors"
	"html/template"
	"net/http"
	"slices"
	"time"

	"firlot/catalog"
	"firlot/formulate"
	"firlot/internal/store"
	"firlot/mix"
)

// withoutView are the mixes without one ingredient, best first.
type withoutView struct {
	Mix     store.Mix
	Ref     string
	Form    *catalog.Form
	Mass    string
	Swaps   []swapView // what a shelf holds, and making do
	Others  []swapView // what is to be looked for
	More    int        // how many more were found
	Problem template.HTML
	Cut     bool // the time ran out before every replacement was tried
}

type swapView struct {
	Use      string // the form that comes instead; empty when the others make it up
	Form     *catalog.Form
	Portrait template.HTML
	Mass     string
	Moved    string
	Like     string
	Tell     string // how it looks
	Sets     string
	Changes  []changeView
	none     bool // nothing of the form came in
}

// changeView is a line before and after.
type changeView struct{ Name, Before, After string }

// mostSwaps are shown of each kind.
const mostSwaps = 8

// withoutTime is how long replacements are looked for: every form of the
// catalogue is a mix to solve. What was found by then is shown.
const withoutTime = 30 * time.Second

func (s *Server) without(q *request) error {
	m, err := s.Store.Mix(q.Context(), q.id())
	if err != nil {
		return err
	}
	a, at, err := s.lineOf(q, m, q.URL.Query().Get("line"))
	if err != nil {
		return err
	}
	v := withoutView{Mix: m, Ref: a.Doc.Lines[at].Ingredient, Form: a.Plan.Lines[at].Form}
	v.Mass = q.words.Mass(massOf(a.Doc.Lines[at].Amount, a.Plan.Batch()))
	ctx, cancel := context.WithTimeout(q.Context(), withoutTime)
	defer cancel()
	swaps, err := s.swaps(ctx, a, at)
	var p *mix.Problem
	switch {
	case errors.As(err, &p):
		v.Problem = q.words.Problem(p)
	case err != nil && ctx.Err() == nil:
		return err
	}
	v.Cut = ctx.Err() != nil
	have := s.onShelves(q.Context())
	for _, x := range swaps {
		sv := s.swapView(q.words, x)
		if x.Form != nil && sv.none {
			continue // the others make it up, and that is said once
		}
		switch {
		case x.Form == nil || have[x.Form.Ref()] && len(v.Swaps) < mostSwaps:
			v.Swaps = append(v.Swaps, sv)
		case !have[x.Form.Ref()] && len(v.Others) < mostSwaps:
			v.Others = append(v.Others, sv)
		default:
			v.More++
		}
	}
	return q.show(http.StatusOK, "without", "mix", q.words.T("without_title", "Name", q.words.Form(v.Form)), v)
}

// lineOf solves a mix and finds one of its lines.
func (s *Server) lineOf(q *request, m store.Mix, ref string) (*solved, int, error) {
	a, err := s.solve(q.Context(), m.Document)
	if err != nil {
		return nil, 0, err
	}
	if a.Plan == nil {
		return nil, 0, store.ErrNotFound
	}
	a = a.standing()
	at := slices.IndexFunc(a.Doc.Lines, func(l mix.Line) bool { return l.Ingredient == ref })
	if at < 0 || len(a.Doc.Lines) < 2 {
		return nil, 0, store.ErrNotFound
	}
	return a, at, nil
}

// standing is a document that holds the amounts of its answer.
func (a *solved) standing() *solved {
	out := &solved{Text: a.Text, Doc: a.Doc.Copy(), Answer: a.Answer}
	if a.Answer != nil && a.Answer.Steps != nil {
		for i, m := range a.Answer.Amounts() {
			out.Doc.Lines[i].Amount = mix.Amount{Set: true, Mass: m}
		}
	}
	p, err := a.Plan.With(out.Doc)
	if err != nil {
		p = a.Plan
	}
	out.Plan = p
	return out
}

// swaps are the mixes without a line; none when the time runs out.
func (s *Server) swaps(ctx context.Context, a *solved, at int) ([]formulate.Swap, error) {
	found, err := formulate.Without(ctx, a.Plan, at, nil, formulate.Options{})
	if err == nil || ctx.Err() == nil {
		return found, err
	}
	return nil, nil
}

func (s *Server) swapView(w *words, x formulate.Swap) swapView {
	v := swapView{Form: x.Form, Moved: w.Mass(x.Moved), Sets: w.OfHundred(x.Answer.Joint)}
	plan, amounts := x.Answer.Plan, x.Answer.Amounts()
	for i, l := range plan.Lines {
		if x.Form != nil && l.Form == x.Form {
			v.Mass, v.none = w.Mass(amounts[i]), amounts[i] == 0
			continue
		}
		if amounts[i] != x.Before[i] {
			v.Changes = append(v.Changes, changeView{w.Form(l.Form), w.Grams(x.Before[i]), w.Grams(amounts[i])})
		}
	}
	if x.Form != nil {
		v.Use, v.Portrait, v.Like, v.Tell = x.Form.Ref(), portrait(w, x.Form), likeness(w, x.Likeness), x.Form.Looks
	}
	return v
}

// likeness says in a few words how like a replacement is.
func likeness(w *words, l formulate.Likeness) string {
	key := "like_other"
	switch {
	case l.SameIngredient:
		key = "like_form"
	case l.SameFamily:
		key = "like_family"
	case l.SameKind:
		key = "like_class"
	}
	s := upper(w.T(key))
	if l.Size > 0 {
		s += ", " + w.T("like_size", "N", w.Num(l.Size, 1))
	}
	return s
}

// takeWithout makes the mix without a line: near to what it was, with what
// comes instead.
func (s *Server) takeWithout(q *request) error {
	m, now, err := s.posted(q)
	if err != nil || !now {
		return err
	}
	a, at, err := s.lineOf(q, m, q.value("line"))
	if err != nil {
		return err
	}
	use := []*catalog.Form{}
	if ref := q.value("use"); ref != "" {
		f := formOf(a.Plan.Catalogue, ref)
		if f == nil || !a.Plan.Fits(f) {
			return badRequest("no such form")
		}
		use = append(use, f)
	}
	x, err := s.swapFor(q.Context(), a, at, use)
	if err != nil {
		return err
	}
	if x == nil {
		return q.see(withoutPath(m.ID, q.value("line")))
	}
	next, err := s.solveDoc(q.Context(), swapDocument(x))
	if err != nil {
		return err
	}
	return s.keep(q, m, q.rev(), next.Text)
}

// swapFor finds the mix with one replacement, or the one that makes do.
func (s *Server) swapFor(ctx context.Context, a *solved, at int, use []*catalog.Form) (*formulate.Swap, error) {
	if len(use) == 0 {
		use = nil
	}
	ctx, cancel := context.WithTimeout(ctx, withoutTime)
	defer cancel()
	list, err := formulate.Without(ctx, a.Plan, at, use, formulate.Options{})
	if err != nil {
		return nil, err
	}
	for i, x := range list {
		if use == nil && x.Form == nil || use != nil && x.Form == use[0] {
			return &list[i], nil
		}
	}
	return nil, nil
}

// swapDocument is a swap's document with its amounts as what to be near to,
// so that the mix that was shown is the mix that is made.
func swapDocument(x *formulate.Swap) *mix.Document {
	d := x.Answer.Plan.Document.Copy()
	for i, m := range x.Answer.Amounts() {
		d.Lines[i].Amount = mix.Amount{Set: true, Mass: m}
		d.Lines[i].Base = d.Lines[i].Amount
	}
	d.Prefer = mix.Near
	return d
}
