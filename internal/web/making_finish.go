package web

import (
	"encoding/json"
	"errors"
	"html/template"
	"net/http"
	"time"

	"firlot/analysis"
	"firlot/catalog"
	"firlot/internal/store"
	"firlot/making"
	"firlot/mix"
	"firlot/needs"
	"firlot/nutrient"
	"firlot/report"
	"firlot/serving"
)

// bowlView is what is in the bowls, weighed up.
type bowlView struct {
	Sentence string
	State    string // inside, off, open
	Outside  []string
	Broken   []string        // limits that are not kept
	Never    []template.HTML // why foods in it are never fed
	Strips   []stripView
	Lines    []bowlLine
	Total    string
	Planned  string
	Mixing   []string // how to mix it, in words
	Cautions []cautionView
	General  []string
}

// bowlLine is a line as planned and as poured.
type bowlLine struct {
	Name, Planned, Poured, Diff string
	Class                       string // moved, in, or nothing
	Sign                        string // plus or less
	Bags                        []lotRow
}

// measured is the mix as it was really poured: its plan for that batch, and
// what is in the bowls of each line. It reports false when the mix does not
// resolve any more, or something poured is not in the catalogue.
func (x *weighing) measured() (*mix.Plan, []analysis.Portion, bool) { return x.planOf(x.poured()) }

// bowl weighs up what was really poured.
func (s *Server) bowl(q *request, x *weighing) *bowlView {
	w := q.words
	v := &bowlView{Total: w.Mass(x.Now.Poured), Planned: w.Mass(x.Began.Batch), General: w.Cautions(), State: "open", Sentence: w.T("batch_open", "Mass", w.Mass(x.Now.Poured))}
	for _, l := range x.lines() {
		v.Lines = append(v.Lines, bowlLineOf(w, x, l))
	}
	if list := x.never(); len(list) > 0 {
		v.State, v.Sentence, v.Never = "off", w.N("batch_never", len(list), "Mass", w.Mass(x.Now.Poured), "Names", w.And(x.neverNames(w))), w.neverWords(list)
		return v
	}
	p, portions, known := x.measured()
	if !known {
		return v
	}
	checks := checksOf(p, portions)
	v.Strips = s.stripsOf(w, checks)
	unsafe, limits := broken(w, p, portions)
	v.Broken = limits
	v.judge(w, x, checks, portions)
	if len(unsafe) > 0 {
		v.State, v.Sentence = "off", w.N("batch_unsafe", len(unsafe), "Mass", w.Mass(x.Now.Poured), "Names", w.And(unsafe))
	}
	v.Mixing = mixingWords(w, portions)
	r := report.OfAmounts(p, portions)
	for _, c := range r.Cautions {
		if f := x.form(c.Ingredient + "/" + c.Form); f != nil {
			v.Cautions = append(v.Cautions, cautionView{w.Form(f), c.Texts})
		}
	}
	return v
}

func jointOf(checks []analysis.Check, portions []analysis.Portion) float64 {
	var list []needs.Window
	for _, c := range checks {
		list = append(list, c.Window)
	}
	return analysis.Joint(portions, list)
}

func checksOf(p *mix.Plan, portions []analysis.Portion) []analysis.Check {
	var list []analysis.Check
	for _, t := range p.Targets {
		list = append(list, analysis.CheckWindow(portions, t.Window))
	}
	return list
}

// stripsOf draws windows with where a mix lies in them.
func (s *Server) stripsOf(w *words, checks []analysis.Check) []stripView {
	b := &mixBuilder{s: s, w: w, v: &mixView{}}
	var list []stripView
	for _, c := range checks {
		m := analysis.MeasureOf(c.Window)
		sv := stripView{Key: string(c.Window.Nutrient), Name: w.Measure(c.Window.Nutrient, c.Window.Per), Basis: w.Basis(c.Window.Basis, c.Window.On), Window: w.WindowText(c.Window), Known: c.HasChance}
		if c.Value.HasMean {
			sv.Mean = w.Quantity(c.Value.Mean, m.Unit())
		}
		if sv.Known {
			sv.Sets = w.OfHundred(c.Chance)
		} else {
			sv.Why = w.T("not_known_window", "A", w.Short(c.Value.Least), "B", w.Quantity(c.Value.Most, m.Unit()))
		}
		sv.SVG = b.strip(c, sv)
		list = append(list, sv)
	}
	return list
}

// judge says whether what is in the bowls lies inside the windows.
func (v *bowlView) judge(w *words, x *weighing, checks []analysis.Check, portions []analysis.Portion) {
	var windows []string
	open := false
	for _, c := range checks {
		switch c.Verdict {
		case analysis.Inside:
		case analysis.NotKnown:
			open = true
			windows = append(windows, upper(w.measureOf(c.Window)))
		default:
			v.Outside = append(v.Outside, w.measureOf(c.Window))
		}
	}
	mass := w.Mass(x.Now.Poured)
	switch {
	case len(v.Outside) > 0:
		v.State, v.Sentence = "off", w.N("batch_off", len(v.Outside), "Mass", mass, "Names", w.And(v.Outside))
	case open:
		v.State, v.Sentence = "open", w.T("batch_not_known", "Mass", mass, "Names", w.And(windows))
	case len(checks) == 0:
		v.State, v.Sentence = "open", w.T("batch_open", "Mass", mass)
	default:
		v.State, v.Sentence = "inside", w.N("batch_inside", len(checks), "Mass", mass, "Sets", w.OfHundred(jointOf(checks, portions)))
	}
}

func bowlLineOf(w *words, x *weighing, l making.LineState) bowlLine {
	b := bowlLine{Name: x.name(w, l.Ref), Planned: w.Mass(l.Original), Poured: w.Mass(l.Poured)}
	switch d := l.Poured - l.Original; {
	case l.Original == 0:
		b.Class, b.Sign, b.Diff = "in", "plus", w.Mass(d)
	case d > 0:
		b.Class, b.Sign, b.Diff = "moved", "plus", w.Mass(d)
	case d < 0:
		b.Class, b.Sign, b.Diff = "moved", "less", w.Mass(-d)
	}
	return b
}

// fillOfTub is how full a tub may be for turning a mix over in it, as a
// share: above it the top does not move. Common practice, no source.
const fillOfTub = 0.5

// mixingWords says how a batch is mixed by hand: the steps of package making,
// with what the tub must hold and what sinks, which are worked out from the
// seeds.
func mixingWords(w *words, portions []analysis.Portion) []string {
	var list []string
	grams := serving.MassOf(portions).Grams()
	if d := serving.Bulk(portions); d.HasMean && d.Low > 0 {
		list = append(list, w.T("mixing_tub", "Litres", w.Num(grams/d.Low/fillOfTub/1000, 1), "Volume", w.Num(grams/d.Mean/1000, 1)))
	}
	for _, s := range making.Instruction(portions) {
		list = append(list, stepWords(w, s))
	}
	if few := making.Few(portions); len(few) > 0 {
		list = append(list, w.T("mixing_few", "Names", w.formNames(few)))
	}
	lot := serving.LotOf(portions, grams)
	if s := lot.Sorting(); s.Known && s.Degree != serving.SortsLittle {
		narrow, wide := w.Form(lot.Pieces[s.Narrow].Form), w.Form(lot.Pieces[s.Wide].Form)
		list = append(list, w.T("mixing_sorts", "Small", upper(narrow), "Large", wide, "Ratio", w.Num(s.Ratio, 1)))
	}
	return append(list, w.T("mixing_scoop"))
}

func stepWords(w *words, s making.Step) string {
	switch s.Do {
	case making.Premix:
		return w.T("mixing_premix", "Names", w.formNames(s.Forms), "Mass", w.Mass(s.Mass))
	case making.Again:
		return w.N("mixing_again", s.Times)
	case making.Scatter:
		return w.T("mixing_scatter")
	case making.Fold:
		return w.T("mixing_fold", "Names", w.formNames(s.Forms), "N", s.Times)
	}
	return w.T("mixing_turn", "N", s.Times)
}

func (w *words) formNames(list []*catalog.Form) string {
	var names []string
	for _, f := range list {
		names = append(names, w.Form(f))
	}
	return w.And(names)
}

// finishView is the page that closes a making.
type finishView struct {
	Making     store.Making
	Bowl       *bowlView
	Left       string // is still to be poured
	Off        bool
	Lot        field
	Before     field
	Who, Note  field
	Why        string // how the best-before was found
	Trouble    string
	CanDelete  bool
	Nothing    bool // nothing was poured
	Never      bool // something in it is never fed: it is not to be finished
	EmptyStock []stockLeft
}

// stockLeft is what the shelf still counts of a jar that was said to be empty.
type stockLeft struct{ Name, Mass string }

func (s *Server) finishPage(q *request) error {
	x, err := s.weighing(q.Context(), q.id())
	if err != nil {
		return err
	}
	if x.State != store.StateOpen {
		return q.see(makingPath(x.ID))
	}
	return s.showFinish(q, http.StatusOK, x, map[string]string{}, "")
}

func (s *Server) showFinish(q *request, status int, x *weighing, errs map[string]string, trouble string) error {
	w := q.words
	v := &finishView{Making: x.Making, Bowl: s.bowl(q, x), Off: x.off(), Trouble: trouble, Nothing: x.Now.Poured == 0, Never: len(x.never()) > 0}
	if x.Now.Left > 0 && !v.Never {
		v.Left = w.Mass(x.Now.Left)
	}
	code, err := s.freeLot(q)
	if err != nil {
		return err
	}
	day, why, err := s.bestBefore(q, x)
	if err != nil {
		return err
	}
	v.Why = why
	typed := func(name, usual string) string {
		if q.Method == http.MethodPost && q.sent(name) {
			return q.value(name)
		}
		return usual
	}
	v.Lot = field{Name: "lot", Label: w.T("finish_lot"), Value: typed("lot", cmpOr(x.Lot, code)), Error: errs["lot"], Hint: w.T("finish_lot_hint")}
	v.Before = field{Name: "best_before", Label: w.T("lot_bestbefore"), Value: typed("best_before", cmpOr(x.BestBefore, day)), Error: errs["best_before"], Hint: why, Mode: "date"}
	v.Who = field{Name: "who", Label: w.T("start_who"), Value: typed("who", x.Who)}
	v.Note = field{Name: "note", Label: w.T("label_note"), Value: typed("note", x.Note)}
	return q.show(status, "finish", "making", w.T("finish_title"), v)
}

// freeLot proposes a lot for a batch: the first code of the day that no other
// batch has.
func (s *Server) freeLot(q *request) (string, error) {
	day := s.Clock().Local().Format(time.DateOnly)
	for n := 1; n <= making.MaxOfDay; n++ {
		code, err := making.BatchCode(day, n)
		if err != nil {
			return "", err
		}
		have, err := s.Store.Makings(q.Context(), store.MakingFilter{Lot: code, Most: 1})
		if err != nil || len(have) == 0 {
			return code, err
		}
	}
	return "", nil // the keeper names it
}

// bestBefore is the soonest that one of the ingredients goes off, and how that
// was found; a bag's own date counts where it is noted.
func (s *Server) bestBefore(q *request, x *weighing) (day, why string, err error) {
	_, portions, known := x.measured()
	if !known {
		return "", "", nil
	}
	bags, err := s.Store.LotsOfMaking(q.Context(), x.ID)
	if err != nil {
		return "", "", err
	}
	dates := map[string]string{}
	for _, u := range bags {
		ref := x.lineRef(u.Lot.Ref)
		if d := u.Lot.BestBefore; d != "" && u.Mg > 0 && (dates[ref] == "" || d < dates[ref]) {
			dates[ref] = d
		}
	}
	k, err := making.Keeps(portions, s.Clock().Local().Format(time.DateOnly), dates)
	if err != nil || len(k.Shortest) == 0 {
		return "", "", err
	}
	w, l := q.words, k.Shortest[0]
	why = w.T("before_keeps", "Name", upper(w.Form(l.Form)), "Months", w.Plain(l.Months), "How", w.Evidence(l.How))
	if l.FromLot {
		why = w.T("before_bag", "Name", w.Form(l.Form))
	}
	if len(k.NotKnown) > 0 {
		why += " " + w.T("before_not_known", "Names", w.formNames(k.NotKnown))
	}
	return k.BestBefore, why, nil
}

// finishMaking closes a making with its analysis.
func (s *Server) finishMaking(q *request) error {
	if err := q.form(); err != nil {
		return err
	}
	x, err := s.weighing(q.Context(), q.id())
	if err != nil {
		return err
	}
	if q.value("do") == "leave" {
		return s.leaveMaking(q, x)
	}
	errs := map[string]string{}
	if len(x.never()) > 0 {
		return s.showFinish(q, http.StatusUnprocessableEntity, x, errs, "")
	}
	m := x.Making
	m.Rev = q.rev()
	m.Lot, m.Who, m.Note, m.BestBefore = clip(q.value("lot"), 100), clip(q.value("who"), 200), clip(q.value("note"), 2000), q.value("best_before")
	if m.Lot == "" {
		errs["lot"] = q.words.T("need_lot")
	}
	if _, err := time.Parse(time.DateOnly, m.BestBefore); m.BestBefore != "" && err != nil {
		errs["best_before"] = q.words.T("need_day")
	}
	if len(errs) > 0 {
		return s.showFinish(q, http.StatusUnprocessableEntity, x, errs, "")
	}
	if m.Finish, err = finishOf(x); err != nil {
		return err
	}
	_, err = s.Store.FinishMaking(q.Context(), m)
	switch {
	case errors.Is(err, store.ErrTaken):
		return s.showFinish(q, http.StatusUnprocessableEntity, x, map[string]string{"lot": q.words.T("lot_taken")}, "")
	case errors.Is(err, store.ErrConflict):
		return s.showFinish(q, http.StatusConflict, x, errs, q.words.T("finish_changed"))
	case errors.Is(err, store.ErrInvalid):
		return s.showFinish(q, http.StatusUnprocessableEntity, x, map[string]string{"lot": q.words.T("need_lot")}, "")
	case errors.Is(err, store.ErrNotOpen):
		return q.see(makingPath(x.ID))
	case storeTrouble(err) != "":
		return s.showFinish(q, http.StatusInsufficientStorage, x, errs, q.words.T(storeTrouble(err)))
	case err != nil:
		return err
	}
	return q.see(makingPath(x.ID))
}

// leaveMaking gives a making up; one without a pour goes away altogether.
func (s *Server) leaveMaking(q *request, x *weighing) error {
	if x.Now.Poured == 0 {
		if err := s.Store.DeleteMaking(q.Context(), x.ID, q.rev()); err != nil {
			return err
		}
		return q.see("/making?said=removed")
	}
	if _, err := s.Store.LeaveMaking(q.Context(), x.ID, q.rev()); err != nil {
		return err
	}
	return q.see(makingPath(x.ID))
}

// finishKept is what is kept of the analysis at finishing.
type finishKept struct {
	Version int            `json:"version"`
	Report  *report.Report `json:"report,omitempty"` // of what was poured; absent when it could not be weighed up
	Batch   nutrient.Mass  `json:"batch_mg"`
	Planned nutrient.Mass  `json:"planned_mg"`
}

func finishOf(x *weighing) (string, error) {
	k := finishKept{Version: 1, Batch: x.Now.Poured, Planned: x.Began.Batch}
	if p, portions, ok := x.measured(); ok {
		k.Report = report.OfAmounts(p, portions)
	}
	text, err := json.Marshal(k)
	return string(text), err
}
