package web

import (
	"net/http"
	"net/url"
	"slices"
	"strconv"
	"strings"

	"firlot/internal/store"
	"firlot/report"
	"firlot/serving"
)

// mixedView is the check whether a batch is mixed through.
type mixedView struct {
	Making            store.Making
	Markers           []choice
	Scoop, Step, List field
	Weighed           bool
	Sentence          string
	Plan              []string // what the check needs
	Found             []string // what the scoops say
	Facts             []partView
	Trouble           string
	Query             string // to keep the outcome with
	Can               bool
}

// What the form begins with: a tablespoon of a seed mix, and a kitchen scale.
const (
	usualScoop     = 15.0 // g
	usualWeighStep = 0.1  // g
	usualScoops    = 8
)

func (s *Server) mixedPage(q *request) error {
	x, err := s.weighing(q.Context(), q.id())
	if err != nil {
		return err
	}
	return q.show(http.StatusOK, "mixed", "making", q.words.T("mixed_title"), s.mixed(q, x, q.URL.Query()))
}

// mixed reads the check's fields and works it out: from scoops, or, without
// them, how many are needed.
func (s *Server) mixed(q *request, x *weighing, p url.Values) *mixedView {
	w := q.words
	v := &mixedView{Making: x.Making, Weighed: p.Get("by") == "weight", Sentence: w.T("mixed_title")}
	v.Scoop = field{Name: "scoop", Label: w.T("mixed_scoop"), Value: cmpOr(p.Get("scoop"), w.typed(usualScoop)+" g"), Hint: w.T("mixed_scoop_hint"), Mode: "decimal"}
	v.Step = field{Name: "step", Label: w.T("mixed_step"), Value: cmpOr(p.Get("step"), w.typed(usualWeighStep)+" g"), Hint: w.T("mixed_step_hint"), Mode: "decimal"}
	v.List = field{Name: "list", Label: w.T("mixed_list"), Value: p.Get("list"), Hint: w.T("mixed_list_hint")}
	_, portions, known := x.measured()
	lot := serving.LotOf(portions, serving.MassOf(portions).Grams())
	if !known || len(lot.Pieces) < 2 {
		v.Trouble = w.T("mixed_cannot")
		return v
	}
	sampling := serving.Sampling{Lot: lot, Marker: -1, Weighed: v.Weighed, Allowed: serving.UsualAllowed}
	v.markers(w, &sampling, p.Get("marker"))
	if sampling.Marker < 0 {
		v.Trouble = w.T("mixed_no_marker")
		return v
	}
	scoop, err := w.parseMass(v.Scoop.Value)
	if err != nil || scoop <= 0 {
		v.Scoop.Error = w.T("need_mass")
		return v
	}
	if step, err := w.parseMass(v.Step.Value); err != nil {
		v.Step.Error = w.T("need_mass")
		return v
	} else if v.Weighed {
		sampling.Step = step.Grams()
	}
	v.work(w, sampling, scoop.Grams())
	v.Query = p.Encode()
	return v
}

// markers lists what can be counted, best first: the kind of which a scoop
// holds the most pieces that can still be counted by hand.
func (v *mixedView) markers(w *words, s *serving.Sampling, chosen string) {
	best := 0.0
	for i, p := range s.Lot.Pieces {
		if !p.Known {
			continue
		}
		n, _ := s.Lot.Count(i, usualScoop)
		if ref := p.Form.Ref(); ref == chosen || chosen == "" && n <= mostCounted && n > best {
			s.Marker, best = i, n
		}
	}
	for i, p := range s.Lot.Pieces {
		if p.Known {
			v.Markers = append(v.Markers, choice{p.Form.Ref(), w.Form(p.Form), i == s.Marker})
		}
	}
	slices.SortStableFunc(v.Markers, func(a, b choice) int { return strings.Compare(a.Label, b.Label) })
}

// mostCounted is how many seeds somebody counts in one scoop without losing
// count: an estimate of ours.
const mostCounted = 60

// work holds what was typed against chance: for a making that was poured, and
// for a mix as it is planned, in the same words.
func (v *mixedView) work(w *words, s serving.Sampling, grams float64) {
	if grams > s.Lot.Grams {
		v.Scoop.Error = w.T("mixed_need_scoop")
		return
	}
	name := w.Form(s.Lot.Pieces[s.Marker].Form)
	n := usualScoops
	for _, t := range strings.Fields(strings.ReplaceAll(v.List.Value, ";", " ")) {
		x, err := w.parseNumber(strings.TrimRight(t, ","))
		if err != nil || x < 0 || x > serving.MostMarker || !v.Weighed && x != float64(int64(x)) {
			v.List.Error = w.T("mixed_bad_list", "Word", t)
			return
		}
		s.Scoops = append(s.Scoops, serving.Scoop{Grams: grams, Marker: x})
	}
	var found *serving.Mixing
	if len(s.Scoops) > 0 {
		var err error
		if found, err = s.Check(); err != nil {
			v.List.Error = w.T("mixed_few", "N", serving.LeastScoops)
			return
		}
		n = len(s.Scoops)
	}
	o := report.MixingOf("poured", s, grams, n, found)
	v.Can = true
	v.plan(w, o, name, n)
	if f := o.Found; f != nil {
		v.found(w, o, f, name)
	}
}

func (v *mixedView) plan(w *words, o report.Mixing, name string, n int) {
	key := "mixed_floor"
	if o.AtLeast {
		key = "mixed_floor_least"
	}
	v.Sentence = w.T(key, "Name", name, "Percent", w.Short(float64(o.Floor)), "Scoop", w.Short(float64(o.ScoopG)))
	if o.Expected != nil {
		v.Plan = append(v.Plan, w.T("mixed_expect", "N", w.Short(float64(*o.Expected)), "Name", name))
	}
	switch {
	case o.Enough.Good == nil || o.Enough.Bad == nil:
		v.Plan = append(v.Plan, w.T("mixed_never"))
	default:
		v.Plan = append(v.Plan, w.T("mixed_enough", "Good", *o.Enough.Good, "Bad", *o.Enough.Bad))
	}
	if o.Enough.Grams != nil {
		v.Plan = append(v.Plan, w.T("mixed_larger", "N", n, "Scoop", w.Short(float64(*o.Enough.Grams))))
	}
}

func (v *mixedView) found(w *words, o report.Mixing, f *report.MixingFound, name string) {
	sure := w.OfHundred(float64(f.Confidence))
	allowed := w.Short(float64(o.Allowed))
	switch serving.Verdict(f.Verdict) {
	case serving.WellMixed:
		v.Sentence = w.T("mixed_well", "Name", name, "Sure", sure, "Percent", allowed)
	case serving.NotWellMixed:
		v.Sentence = w.T("mixed_not", "Name", name, "Sure", sure, "Percent", allowed)
	default:
		key := "mixed_cannot_tell_no"
		if f.Likely == string(serving.WellMixed) {
			key = "mixed_cannot_tell_yes"
		}
		v.Sentence = w.T(key, "Sure", sure)
	}
	percent := func(n report.Number) string { return "± " + w.Short(float64(n)) + "\u00a0%" }
	v.Facts = []partView{
		{Name: w.T("mixed_shown"), Gives: w.T("mixed_shown_is", "Shown", w.Short(float64(f.Shown)), "Error", w.Short(float64(f.ShownError)))},
		{Name: w.T("mixed_chance"), Gives: percent(o.Floor)},
		{Name: w.T("mixed_own"), Gives: w.T("mixed_own_is", "Own", w.Short(float64(f.Own)), "A", w.Short(float64(f.OwnLow)), "B", w.Short(float64(f.OwnHigh)))},
	}
	if o.Weighed {
		v.Facts = append(v.Facts, partView{Name: w.T("mixed_rounding"), Gives: percent(f.Rounding)})
	}
	v.Found = append(v.Found, w.T("mixed_index", "Index", w.Short(float64(f.Index)), "Degrees", f.Degrees, "Chance", w.OfHundred(float64(f.Chance))))
	if f.TooAlike {
		v.Found = append(v.Found, w.T("mixed_alike"))
	}
	if f.Rough {
		v.Found = append(v.Found, w.T("mixed_rough"))
	}
	if o.AtLeast {
		v.Found = append(v.Found, w.T("mixed_at_least"))
	}
	if !f.TradeRule {
		v.Found = append(v.Found, w.T("mixed_rule"))
	}
	if f.Overturns != nil && serving.Verdict(f.Verdict) == serving.NotWellMixed {
		v.Found = append(v.Found, w.T("mixed_overturns", "Grams", w.Short(float64(*f.Overturns))))
	}
}

// keepMixed writes the outcome of a check into the batch's note.
func (s *Server) keepMixed(q *request) error {
	if err := q.form(); err != nil {
		return err
	}
	x, err := s.weighing(q.Context(), q.id())
	if err != nil {
		return err
	}
	v := s.mixed(q, x, q.PostForm)
	if !v.Can || len(v.Facts) == 0 {
		return q.show(http.StatusUnprocessableEntity, "mixed", "making", q.words.T("mixed_title"), v)
	}
	m := x.Making
	m.Rev = q.rev()
	line := q.words.Day(s.Clock()) + ": " + v.Sentence + " (" + q.words.T("mixed_scoops_were", "List", v.List.Value, "N", strconv.Itoa(len(strings.Fields(v.List.Value)))) + ")"
	m.Note = clip(strings.TrimSpace(m.Note+"\n"+line), 4000)
	if _, err := s.Store.SaveMaking(q.Context(), m); err != nil {
		return err
	}
	return q.see(makingPath(x.ID) + "?said=saved")
}
