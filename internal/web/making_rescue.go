package web

import (
	"context"
	"errors"
	"html/template"
	"net/http"
	"strconv"
	"strings"

	"firlot/analysis"
	"firlot/catalog"
	"firlot/formulate"
	"firlot/internal/store"
	"firlot/making"
	"firlot/nutrient"
)

// Ways to go on after a slip, as forms name them.
const (
	wayRescue = "rescue"
	wayAsIs   = "as-is"
	wayOther  = "other"
	wayExtra  = "extra:" // and the reference
)

// rescueView is what can be made of a bowl after a slip.
type rescueView struct {
	Making    store.Making
	Key       string
	Seen      int
	Slips     []string // what happened, in words
	Sentence  string
	AsIs      *proposalView // pouring goes on as planned
	Best      *proposalView
	Others    []proposalView
	Discard   []template.HTML
	Hint      string    // what to do with a bowl that is to be discarded
	Out       []outView // pours that can be taken back, once every piece is out again
	Saved     bool      // only by a food that was not planned
	Trouble   string
	Nothing   bool // there is nothing to be rescued
	BeforeOut string
}

// proposalView is one way to go on, to be pressed.
type proposalView struct {
	Way, Title, Lead string
	Button           string
	Lines            []shiftLine
	Windows          []shiftWindow
	Strips           []stripView
	Off              []string
	Notes            []template.HTML
	Sure             string
	Best             bool
}

// shiftLine is a line before and after.
type shiftLine struct {
	Name, Poured, Before, Now, More string
	Class                           string
	Reopened, New                   bool
}

// shiftWindow is a window before and after.
type shiftWindow struct{ Name, Window, Before, Now string }

// jars are what the jars still hold: what the shelf counts, and nothing of
// those that are empty.
func (x *weighing) jars() map[string]nutrient.Mass {
	m := map[string]nutrient.Mass{}
	for _, it := range x.shelf.Items {
		if it.OnHand != nil {
			m[x.lineRef(it.Ref)] = nutrient.Mass(*it.OnHand)
		}
	}
	for _, l := range x.Now.Lines {
		if have, counted := m[l.Ref]; counted && l.Left > have && !x.Empty[l.Ref] {
			delete(m, l.Ref) // the count is wrong already, or a new bag is at hand
		}
	}
	for _, l := range x.Now.Lines {
		if l.Empty {
			m[l.Ref] = l.Rest
		}
	}
	return m
}

// rescue works out how to go on after a slip, once for each bowl.
func (s *Server) rescue(ctx context.Context, x *weighing, slip making.Slip) (*making.Rescued, error) {
	key, err := x.asked(slip)
	if err != nil {
		return nil, err
	}
	if known := s.rescues.get(key); known != nil {
		return known, nil
	}
	r, err := s.workOut(ctx, x, slip)
	if err == nil && ctx.Err() == nil { // else nobody waited for all of it
		s.rescues.put(key, r)
	}
	return r, err
}

func (s *Server) workOut(ctx context.Context, x *weighing, slip making.Slip) (*making.Rescued, error) {
	ctx, cancel := context.WithTimeout(ctx, solveTime)
	defer cancel()
	p, err := x.Plan.With(x.Doc) // limits are tried out on the plan that is given
	if err != nil {
		return nil, err
	}
	var shelf []*catalog.Form
	for _, it := range x.shelf.Items {
		if f := x.form(it.Ref); f != nil && it.CanHave && p.Fits(f) {
			shelf = append(shelf, f)
		}
	}
	return making.Rescue(ctx, p, x.Now, slip, making.RescueOptions{Jars: x.jars(), Shelf: shelf})
}

func (s *Server) rescuePage(q *request) error {
	x, err := s.weighing(q.Context(), q.id())
	if err != nil {
		return err
	}
	if x.State != store.StateOpen {
		return q.see(makingPath(x.ID))
	}
	w := q.words
	v := &rescueView{Making: x.Making, Key: newKey(), Seen: len(x.Events)}
	slip, said := x.slips(w)
	v.Slips = said
	if slip != nil && x.Began.Bowls > 1 {
		key, bowl := "rescue_bowl", max(slip.Bowl, 1)
		if x.slipsBeside(bowl) {
			key = "rescue_bowl_first"
		}
		v.Slips = append(v.Slips, w.T(key, "Bowl", bowl, "N", x.Began.Bowls))
	}
	switch {
	case slip == nil:
		v.Nothing, v.Sentence = true, w.T("rescue_nothing")
	case x.Plan == nil && len(x.never()) > 0:
		v.Sentence, v.Discard, v.Hint, v.Out = w.T("rescue_discard"), w.neverWords(x.never()), w.T("rescue_discard_hint"), x.outs(w, *slip)
	case x.Plan == nil:
		v.Trouble = w.T("rescue_no_plan")
		v.Sentence = v.Trouble
	default:
		if err := s.propose(q, x, *slip, v); err != nil {
			return err
		}
	}
	return q.show(http.StatusOK, "rescue", "making", w.T("slip_title"), v)
}

// propose fills in the ways to go on.
func (s *Server) propose(q *request, x *weighing, slip making.Slip, v *rescueView) error {
	w := q.words
	r, err := s.rescue(q.Context(), x, slip)
	var fault *making.Fault
	if errors.As(err, &fault) {
		v.Trouble, v.Sentence = w.T("rescue_cannot"), w.T("rescue_cannot")
		return nil
	}
	if err != nil {
		return err
	}
	b := &proposer{s: s, w: w, x: x, before: r}
	if asIsInside(w, x, r) {
		p := b.asIs()
		v.AsIs = &p
	}
	v.Discard = w.neverWords(r.Never)
	for _, y := range r.Why[len(r.Never):] {
		v.Discard = append(v.Discard, w.Engine(y))
	}
	saved := b.extras(r)
	v.Saved = len(saved) > 0
	if r.Outcome == formulate.Discard && !v.Saved {
		v.Hint, v.Out = b.discardHint(r), b.x.outs(b.w, r.Slip)
	}
	if r.Plan != nil {
		p := b.proposal(r, wayRescue)
		if v.Saved { // what comes inside goes before what does not
			saved = append(saved, p)
		} else {
			p.Best = v.AsIs == nil
			v.Best = &p
		}
	}
	if r.Other != nil && r.Other.Plan != nil {
		v.Others = append(v.Others, b.proposal(r.Other, wayOther))
	}
	if v.Saved {
		saved[0].Best = v.AsIs == nil
		v.Best, v.Others = &saved[0], append(v.Others, saved[1:]...)
	}
	v.Sentence = b.sentence(v, r)
	return nil
}

// asIsInside reports whether pouring on as planned ends inside the windows, as
// surely as asked, and within every limit.
func asIsInside(w *words, x *weighing, r *making.Rescued) bool {
	for _, c := range r.Before {
		if c.Verdict != analysis.Inside {
			return false
		}
	}
	if slip := r.Slip.Kind; slip == making.EmptyJar || slip == making.TooLittle {
		return false // as planned cannot be
	}
	masses := map[string]nutrient.Mass{}
	for _, l := range asIsPlan(x).Lines {
		masses[l.Ref] = l.Mass
	}
	p, portions, ok := x.planOf(masses)
	if !ok {
		return false
	}
	_, limits := broken(w, p, portions)
	return len(limits) == 0 && len(r.Before) > 0 && r.JointBefore >= x.Doc.Sureness && r.Outcome != formulate.Discard
}

type proposer struct {
	s      *Server
	w      *words
	x      *weighing
	before *making.Rescued
}

// extras are the ways to go on with one food more from the shelf.
func (b *proposer) extras(r *making.Rescued) []proposalView {
	var list []proposalView
	for _, e := range r.Extras {
		if e.Rescued == nil || e.Rescued.Plan == nil {
			continue
		}
		p := b.proposal(e.Rescued, wayExtra+e.Form.Ref())
		p.Title = b.w.T("rescue_extra", "Name", b.w.Form(e.Form), "Mass", b.w.Mass(e.Least), "Batch", b.w.Mass(e.Rescued.Batch))
		list = append(list, p)
	}
	return list
}

func (b *proposer) sentence(v *rescueView, r *making.Rescued) string {
	w := b.w
	switch {
	case v.AsIs != nil:
		return w.T("rescue_fine", "Mass", w.Mass(asIsPlan(b.x).Batch))
	case r.Outcome == formulate.SameBatch:
		return w.T("rescue_same", "Mass", w.Mass(r.Batch))
	case r.Outcome == formulate.LargerBatch && r.Mended.NoneBelow < r.Batch:
		return w.T("rescue_title_larger", "Mass", w.Mass(r.Batch)) // a smaller one is inside, and less sure, or not ruled out
	case r.Outcome == formulate.LargerBatch:
		return w.T("rescue_larger", "Mass", w.Mass(r.Batch), "Before", w.Mass(r.BatchBefore))
	case r.Outcome == formulate.Discard && v.Saved:
		return w.T("rescue_discard_saved")
	case r.Outcome == formulate.Discard:
		return w.T("rescue_discard")
	case r.Outcome == formulate.NearestMix && v.Saved:
		return w.T("rescue_nearest_saved")
	case r.Outcome == formulate.NearestMix:
		return w.T("rescue_nearest")
	}
	return w.T("rescue_stopped")
}

// asIsPlan keeps what was planned, and lets stay what is more.
func asIsPlan(x *weighing) *making.Plan {
	p := &making.Plan{Version: making.Version, Why: "as planned, with what is in the bowl"}
	for _, l := range x.Now.Lines {
		m := nutrient.Mass(0)
		for _, part := range l.Parts {
			m += max(part.Planned, part.Poured)
		}
		p.Lines = append(p.Lines, making.Line{Ref: l.Ref, Mass: m, Lot: l.Lot})
		p.Batch += m
	}
	return p
}

func (b *proposer) asIs() proposalView {
	p := proposalView{Way: wayAsIs, Best: true, Title: b.w.T("rescue_as_is"), Button: b.w.T("rescue_carry_on"), Sure: b.sure(b.before.JointBefore, len(b.before.Before))}
	p.Strips = b.s.stripsOf(b.w, b.before.Before)
	return p
}

func (b *proposer) sure(joint float64, windows int) string {
	return b.w.N("rescue_sure", windows, "Sets", b.w.OfHundred(joint))
}

func (b *proposer) proposal(r *making.Rescued, way string) proposalView {
	w := b.w
	p := proposalView{Way: way, Button: w.T("rescue_take")}
	switch r.Outcome {
	case formulate.SameBatch:
		p.Title = w.T("rescue_title_same", "Mass", w.Mass(r.Batch))
	case formulate.LargerBatch:
		p.Title = w.T("rescue_title_larger", "Mass", w.Mass(r.Batch))
	default:
		p.Title = w.T("rescue_title_nearest", "Mass", w.Mass(r.Batch))
	}
	reopened := 0
	for _, c := range r.Changes {
		p.Lines = append(p.Lines, b.shift(c))
		if c.Reopened {
			reopened++
		}
	}
	if reopened > 0 {
		p.Lead = w.N("rescue_reopened", reopened)
	}
	inside := true
	for i, c := range r.After {
		if c.Verdict != analysis.Inside {
			inside = false
			p.Off = append(p.Off, w.T("rescue_off", "Figure", upper(w.measureOf(c.Window)), "Value", b.value(c), "Window", w.WindowText(c.Window)))
		}
		sw := shiftWindow{Name: upper(w.measureOf(c.Window)), Window: w.WindowText(c.Window), Now: b.verdict(c)}
		if i < len(r.Before) {
			sw.Before = b.verdict(r.Before[i])
		}
		p.Windows = append(p.Windows, sw)
	}
	if inside && len(r.After) > 0 {
		p.Sure = b.sure(r.JointAfter, len(r.After))
		if r.Mended != nil && !r.Mended.Sure {
			p.Sure += " " + w.T("rescue_unsure", "Sets", w.OfHundred(b.x.Doc.Sureness))
		}
	}
	p.Strips = b.s.stripsOf(w, r.After)
	if r.Mended != nil {
		p.Notes = b.notes(r)
	}
	return p
}

// notes say which limits of the mix are let go, and what cannot be proved.
func (b *proposer) notes(r *making.Rescued) []template.HTML {
	var list []template.HTML
	limits := &mixBuilder{s: b.s, w: b.w, v: &mixView{}, a: &solved{Doc: b.x.Doc, Plan: r.Mended.Plan}}
	for _, l := range r.Mended.LetGo {
		list = append(list, template.HTML(template.HTMLEscapeString(b.w.T("rescue_let_go", "Limit", limits.limitWords(l)))))
	}
	for _, n := range r.Mended.Notes {
		list = append(list, template.HTML(template.HTMLEscapeString(b.w.T("note")))+" "+b.w.Engine(n)+".")
	}
	return list
}

func (b *proposer) value(c analysis.Check) string {
	if !c.Value.HasMean {
		return b.w.T("not_known")
	}
	return b.w.Quantity(c.Value.Mean, c.Value.Measure.Unit())
}

func (b *proposer) verdict(c analysis.Check) string {
	word := b.w.T("verdict_inside")
	switch c.Verdict {
	case analysis.Outside:
		word = b.w.T("verdict_outside")
	case analysis.NotKnown:
		word = b.w.T("not_known")
	}
	return b.value(c) + ", " + word
}

func (b *proposer) shift(c making.Change) shiftLine {
	w := b.w
	l := shiftLine{Name: w.Form(c.Form), Poured: w.Mass(c.Poured), Before: w.Mass(c.Planned), Now: w.Mass(c.Now), Reopened: c.Reopened, New: c.New}
	if c.More > 0 {
		l.More = w.Mass(c.More)
	}
	switch {
	case c.New:
		l.Class = "in"
	case c.Now != c.Planned:
		l.Class = "moved"
	}
	return l
}

// replanOf is the replan that was pressed. It is worked out anew from the log:
// what a page sends is the way alone.
func (s *Server) replanOf(q *request, x *weighing, e store.Event) ([]store.Event, error) {
	if have := x.has(e.Key); have != nil && have.Kind == e.Kind {
		return []store.Event{*have}, nil // sent again
	}
	if x.State != store.StateOpen {
		return nil, refusal{http.StatusGone, codeNotOpen, "event_not_open"}
	}
	if x.stale(q.value("seen")) {
		return nil, refusal{http.StatusConflict, codeBad, "event_stale"}
	}
	plan, err := s.planFor(q, x, q.value("way"))
	if err != nil {
		return nil, err
	}
	text, err := plan.JSON()
	if err != nil {
		return nil, err
	}
	return []store.Event{{Key: e.Key, Kind: e.Kind, Plan: string(text), By: e.By, Device: e.Device}}, nil
}

// stale reports whether a page was drawn before the last event.
func (x *weighing) stale(seen string) bool { return seen != strconv.Itoa(len(x.Events)) }

func (s *Server) planFor(q *request, x *weighing, way string) (*making.Plan, error) {
	no := refusal{http.StatusUnprocessableEntity, codeBad, "event_bad"}
	slip, _ := x.slips(q.words)
	if slip == nil || x.Plan == nil {
		return nil, no
	}
	r, err := s.rescue(q.Context(), x, *slip)
	if err != nil {
		return nil, err
	}
	ref, extra := strings.CutPrefix(way, wayExtra)
	switch {
	case way == wayAsIs && asIsInside(q.words, x, r):
		return asIsPlan(x), nil
	case way == wayRescue && r.Plan != nil:
		return r.Plan, nil
	case way == wayOther && r.Other != nil && r.Other.Plan != nil:
		return r.Other.Plan, nil
	case extra:
		for _, e := range r.Extras {
			if e.Form.Ref() == ref && e.Rescued != nil && e.Rescued.Plan != nil {
				return e.Rescued.Plan, nil
			}
		}
	}
	return nil, no
}
