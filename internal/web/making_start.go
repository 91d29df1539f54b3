package web

import (
	"crypto/rand"
	"encoding/hex"
	"encoding/json"
	"errors"
	"html/template"
	"net/http"
	"slices"
	"strconv"
	"strings"
	"time"

	"firlot/catalog"
	"firlot/internal/store"
	"firlot/making"
	"firlot/mix"
	mixfiles "firlot/mix/files"
	"firlot/nutrient"
)

// settingScale keeps, as JSON, what a keeper weighed with the last time.
const settingScale = "scale"

// usualScale is what the form begins with: a kitchen scale. Common practice,
// no source.
type usualScale struct {
	Step, Ceiling, Vessel, FineStep, FineCeiling string
	Who                                          string
}

// newMakingView is the form that begins a making.
type newMakingView struct {
	Mix     store.Mix
	Mixes   []store.Summary // to choose from, when none is chosen
	Key     string          // of the start: pressed twice it begins one making
	Trouble template.HTML   // why it cannot begin
	Fields  map[string]field
	Lines   []startLine
	Rounds  []string // what the scale's ceiling means
	Moved   bool     // amounts are other than the mix's own
	Total   string
	CanGo   bool
	Sure    string // how surely it lies inside its windows
}

type startLine struct {
	N           int
	Ref, Name   string
	Form        *catalog.Form
	Mass        string
	Fine        bool // goes on the fine scale
	First, Last bool
	Lots        []choice
	Short       string // the shelf has less
	Code        field
	Caption     field
	Before      field
}

// startDraft is what was typed for a making, and what comes of it.
type startDraft struct {
	s       *Server
	q       *request
	mix     store.Mix
	doc     *mix.Document
	text    string // of the document with its amounts
	plan    *mix.Plan
	amounts []nutrient.Mass
	scale   making.Scale
	bowls   int
	batch   nutrient.Mass
	order   []string
	errs    map[string]string
	view    newMakingView
}

func (s *Server) newMaking(q *request) error {
	id := store.ID(q.URL.Query().Get("mix"))
	if id == "" {
		list, err := s.Store.Mixes(q.Context(), store.Filter{Most: mostMixes})
		if err != nil {
			return err
		}
		return q.show(http.StatusOK, "newmaking", "making", q.words.T("making_new"), &newMakingView{Mixes: list})
	}
	d, err := s.draft(q, id)
	if err != nil {
		return err
	}
	return d.show(http.StatusOK)
}

// shapeMaking takes the form over: it shows what comes of it, or begins.
func (s *Server) shapeMaking(q *request) error {
	if err := q.form(); err != nil {
		return err
	}
	d, err := s.draft(q, store.ID(q.value("mix")))
	if err != nil {
		return err
	}
	do, arg, _ := strings.Cut(q.value("do"), ":")
	if do == "up" || do == "down" {
		d.move(arg, do == "down")
	}
	if do != "start" {
		return d.show(http.StatusOK)
	}
	if !d.view.CanGo || len(d.errs) > 0 {
		return d.show(http.StatusUnprocessableEntity)
	}
	m, err := d.begin()
	if key := storeTrouble(err); key != "" {
		d.view.Trouble = d.words(key + "_start")
		return d.show(http.StatusInsufficientStorage)
	}
	if err != nil {
		return err
	}
	return q.see(makingPath(m.ID))
}

// field of the form: what was typed, else what was usual, else a default.
func (d *startDraft) typed(name, usual string) string {
	if d.q.Method == http.MethodPost && d.q.sent(name) {
		return d.q.value(name)
	}
	return usual
}

func (s *Server) draft(q *request, id store.ID) (*startDraft, error) {
	m, err := s.Store.Mix(q.Context(), id)
	if err != nil {
		return nil, err
	}
	d := &startDraft{s: s, q: q, mix: m, errs: map[string]string{}, view: newMakingView{Mix: m, Fields: map[string]field{}}}
	d.view.Key = cmpOr(q.PostFormValue("key"), newKey())
	a, err := s.solve(q.Context(), m.Document)
	if err != nil {
		return nil, err
	}
	if a.Answer == nil || a.Answer.Steps == nil {
		d.view.Trouble = d.words("start_no_mix")
		return d, nil
	}
	usual := s.usualScale(q)
	d.masses(a, usual)
	if len(d.errs) > 0 {
		d.view.Trouble = d.words("start_mistakes")
		return d, nil
	}
	if err := d.solve(a); err != nil {
		return nil, err
	}
	return d, d.lines()
}

func (d *startDraft) words(key string) template.HTML {
	return template.HTML(template.HTMLEscapeString(d.q.words.T(key)))
}

func cmpOr(a, b string) string {
	if a != "" {
		return a
	}
	return b
}

// newKey is a key that no other event or start has.
func newKey() string {
	var b [16]byte
	_, _ = rand.Read(b[:]) // never fails: crypto/rand ends the program instead
	return hex.EncodeToString(b[:])
}

func (s *Server) usualScale(q *request) usualScale {
	u := usualScale{Step: "1 g"}
	text, err := s.Store.Setting(q.Context(), settingScale)
	if err == nil && text != "" {
		_ = json.Unmarshal([]byte(text), &u) // one that does not read is asked for again
	}
	return u
}

// masses reads the fields that are amounts.
func (d *startDraft) masses(a *solved, u usualScale) {
	w := d.q.words
	own := w.typed(a.Doc.Batch.Grams()) + " g"
	for _, f := range []struct {
		name, usual string
		to          *nutrient.Mass
		must        bool
	}{{"batch", own, &d.batch, true}, {"step", u.Step, &d.scale.Step, true}, {"ceiling", u.Ceiling, &d.scale.Ceiling, false}, {"vessel", u.Vessel, &d.scale.Vessel, false}} {
		*f.to = d.mass(f.name, f.usual, f.must)
	}
	var fine making.Fine
	fine.Step, fine.Ceiling = d.mass("fine_step", u.FineStep, false), d.mass("fine_ceiling", u.FineCeiling, false)
	if fine.Step > 0 {
		if fine.Ceiling == 0 {
			fine.Ceiling = usualFineCeiling
		}
		d.scale.Fine = &fine
		if fine.Step >= d.scale.Step || d.scale.Step%fine.Step != 0 {
			d.errs["fine_step"] = w.T("need_fine")
		}
	}
	if d.scale.Ceiling > 0 && d.scale.Ceiling < d.scale.Vessel+d.scale.Step {
		d.errs["ceiling"] = w.T("need_ceiling")
	}
	n, err := strconv.Atoi(cmpOr(d.typed("bowls", "1"), "1"))
	if err != nil || n < 1 || n > making.MaxBowls {
		d.errs["bowls"] = w.T("need_bowls", "N", making.MaxBowls)
		n = 1
	}
	d.bowls = n
	if d.batch < d.scale.Step || d.batch > nutrient.MaxMass || d.batch/max(d.scale.Step, 1) > mix.MaxSteps {
		d.errs["batch"] = w.T("need_mass")
	}
	d.view.Fields["bowls"] = d.field("bowls", "1", "numeric")
	d.view.Fields["who"] = d.field("who", u.Who, "")
	d.view.Fields["note"] = d.field("note", "", "")
	for name, usual := range map[string]string{"batch": own, "step": u.Step, "ceiling": u.Ceiling, "vessel": u.Vessel, "fine_step": u.FineStep, "fine_ceiling": u.FineCeiling} {
		d.view.Fields[name] = d.field(name, usual, "text")
	}
}

// usualFineCeiling is what a pocket scale bears when nothing is said. Common
// practice, no source.
const usualFineCeiling = 100 * nutrient.Gram

func (d *startDraft) mass(name, usual string, must bool) nutrient.Mass {
	t := d.typed(name, usual)
	if t == "" && !must {
		return 0
	}
	m, err := d.q.words.parseMass(t)
	if err != nil || m > nutrient.MaxMass || must && m == 0 {
		d.errs[name] = d.q.words.T("need_mass")
	}
	return m
}

var startHints = map[string]string{"ceiling": "start_ceiling_hint", "vessel": "start_vessel_hint", "fine_step": "start_fine_hint", "bowls": "start_bowls_hint", "step": "start_step_hint", "note": "start_note_hint"}

func (d *startDraft) field(name, usual, mode string) field {
	hint := ""
	if k := startHints[name]; k != "" {
		hint = d.q.words.T(k)
	}
	return field{Name: name, Label: d.q.words.T("start_" + name), Value: d.typed(name, usual), Error: d.errs[name], Hint: hint, Mode: mode}
}

// solve brings the mix to the batch and to what the scale shows. A mix that
// the scale shows as it is stays as it is.
func (d *startDraft) solve(a *solved) error {
	next := a.Doc.Copy()
	next.Batch = d.batch
	if next.Step%d.scale.Step != 0 && !(d.scale.Fine != nil && next.Step%d.scale.Fine.Step == 0) || next.Batch%next.Step != 0 {
		next.Step, next.StepOunces = d.scale.Step, 0
	}
	if next.Batch != a.Doc.Batch || next.Step != a.Doc.Step {
		for i, m := range a.Answer.Amounts() {
			next.Lines[i].Amount = mix.Amount{Set: true, Mass: m}
		}
		var err error
		if a, err = d.s.solveDoc(d.q.Context(), next); err != nil {
			return err
		}
		d.view.Moved = true
		if a.Answer == nil || a.Answer.Steps == nil {
			d.view.Trouble = template.HTML(template.HTMLEscapeString(d.q.words.T("start_impossible", "Mass", d.q.words.Mass(d.batch), "Step", d.q.words.Mass(next.Step))))
			return nil
		}
	}
	d.doc, d.plan, d.amounts = a.Doc, a.Plan, a.Answer.Amounts()
	joint, err := d.settle(a.Answer.Joint)
	if err != nil {
		return err
	}
	f, err := mixfiles.Parse("mix", []byte(a.Text))
	if err != nil {
		return err
	}
	text, err := f.WithAmounts(d.amounts)
	if err != nil {
		return err
	}
	d.text = string(text)
	d.view.Sure = d.q.words.N("start_sure", len(a.Plan.Targets), "Sets", d.q.words.OfHundred(joint))
	return nil
}

// lines lists what will be poured, in its order.
func (d *startDraft) lines() error {
	if d.plan == nil {
		return nil
	}
	d.order = d.wanted()
	start, err := d.start()
	var no *making.Fault
	if errors.As(err, &no) {
		d.view.Trouble = d.words("start_not_weighable")
	} else if err != nil {
		return err
	}
	shelf, _ := d.s.Store.Shelf(d.q.Context(), d.mix.Shelf)
	var state *making.State
	if start != nil {
		if state, err = making.Of(start, nil); err != nil {
			return err
		}
		d.view.CanGo = d.view.Trouble == ""
		steps, err := stepsOf(start, nil, state)
		if err != nil {
			return err
		}
		d.view.Rounds = d.rounds(steps)
		d.view.Total = d.q.words.Mass(start.Batch)
	}
	for k, ref := range d.order {
		l, err := d.line(k, ref, shelf)
		if err != nil {
			return err
		}
		if state != nil {
			l.Fine = state.Lines[k].Fine
		}
		d.view.Lines = append(d.view.Lines, l)
	}
	return nil
}

// wanted is the order that was chosen, or the usual one. What the choice does
// not name, since the batch has changed, follows in the usual order.
func (d *startDraft) wanted() []string {
	usual := making.Order(d.plan, d.amounts)
	var order []string
	for _, ref := range strings.Fields(d.q.PostFormValue("order")) {
		if slices.Contains(usual, ref) && !slices.Contains(order, ref) {
			order = append(order, ref)
		}
	}
	for _, ref := range usual {
		if !slices.Contains(order, ref) {
			order = append(order, ref)
		}
	}
	return order
}

// move moves a line one place, and lists anew.
func (d *startDraft) move(ref string, down bool) {
	i := slices.Index(d.order, ref)
	k := i - 1
	if down {
		k = i + 1
	}
	if i < 0 || k < 0 || k >= len(d.order) {
		return
	}
	d.order[i], d.order[k] = d.order[k], d.order[i]
	l := d.view.Lines
	l[i], l[k] = l[k], l[i]
	for n := range l {
		l[n].N, l[n].First, l[n].Last = n+1, n == 0, n == len(l)-1
	}
}

func (d *startDraft) start() (*making.Start, error) {
	return making.Begin(d.plan, making.Setup{Document: d.text, Amounts: d.amounts, Scale: d.scale, Bowls: d.bowls, Order: d.order})
}

func (d *startDraft) line(k int, ref string, shelf store.Shelf) (startLine, error) {
	w := d.q.words
	f := formOf(d.plan.Catalogue, ref)
	l := startLine{N: k + 1, Ref: ref, Name: ref, Form: f, First: k == 0, Last: k == len(d.order)-1}
	var m nutrient.Mass
	for i, p := range d.plan.Lines {
		if p.Form.Ref() == ref {
			m = d.amounts[i]
		}
	}
	if f != nil {
		l.Name = w.Form(f)
	}
	l.Mass = w.Mass(m)
	for _, it := range shelf.Items {
		if it.OnHand != nil && it.Ref == ref && nutrient.Mass(*it.OnHand) < m {
			l.Short = w.Mass(m - nutrient.Mass(*it.OnHand))
		}
	}
	lots, err := d.s.Store.Lots(d.q.Context(), store.LotFilter{Ref: ref, Here: true})
	if err != nil {
		return l, err
	}
	chosen := ""
	if len(lots) > 0 {
		chosen = string(lots[0].ID)
	}
	chosen = d.typed("lot."+ref, chosen)
	for _, x := range lots {
		l.Lots = append(l.Lots, choice{string(x.ID), lotLabel(w, x), string(x.ID) == chosen})
	}
	field := func(name, label, hint, mode string) field {
		return field{Name: name + "." + ref, Label: w.T(label), Value: d.typed(name+"."+ref, ""), Error: d.errs[name+"."+ref], Hint: hint, Mode: mode}
	}
	if day := d.typed("before."+ref, ""); day != "" {
		if _, err := time.Parse(time.DateOnly, day); err != nil {
			d.errs["before."+ref] = w.T("need_day")
			d.view.Trouble = d.words("start_mistakes")
		}
	}
	l.Code, l.Caption, l.Before = field("code", "lot_code", "", ""), field("caption", "lot_caption", "", ""), field("before", "lot_bestbefore", "", "date")
	return l, nil
}

// rounds says in words what the scale's ceiling and the bowls come to.
func (d *startDraft) rounds(steps []making.Next) []string {
	var list []string
	w := d.q.words
	tips, fine := 0, 0
	for _, n := range steps {
		if n.Tip {
			tips++
		}
		if n.Fine {
			fine++
		}
	}
	if tips > 0 {
		list = append(list, w.N("start_tips", tips, "Mass", w.Mass(d.scale.Ceiling)))
	}
	if d.bowls > 1 {
		list = append(list, w.N("start_in_bowls", d.bowls))
	}
	if fine > 0 {
		list = append(list, w.N("start_on_fine", fine))
	}
	return list
}

func (d *startDraft) show(status int) error {
	return d.q.show(status, "newmaking", "making", d.q.words.T("making_new"), &d.view)
}

// begin keeps the lots that were typed, and the making.
func (d *startDraft) begin() (store.Making, error) {
	start, err := d.start()
	if err != nil {
		return store.Making{}, err
	}
	for i := range start.Lines {
		if start.Lines[i].Lot, err = d.lotOf(start.Lines[i].Ref); err != nil {
			return store.Making{}, err
		}
	}
	text, err := start.JSON()
	if err != nil {
		return store.Making{}, err
	}
	q := d.q
	if err := d.remember(); err != nil {
		return store.Making{}, err
	}
	return d.s.Store.StartMaking(q.Context(), store.Making{Key: clip(d.view.Key, 80), Mix: d.mix.ID, MixName: d.mix.Name, MixVersion: d.mix.Version, Shelf: d.mix.Shelf,
		Start: string(text), Who: clip(q.value("who"), 200), Note: clip(q.value("note"), 2000)})
}

func (d *startDraft) remember() error {
	u := usualScale{d.q.value("step"), d.q.value("ceiling"), d.q.value("vessel"), d.q.value("fine_step"), d.q.value("fine_ceiling"), clip(d.q.value("who"), 200)}
	text, err := json.Marshal(u)
	if err != nil {
		return err
	}
	return d.s.Store.SetSetting(d.q.Context(), settingScale, string(text))
}

// moreFields are the fields of the start that few keepers need.
func moreFields() []string {
	return []string{"vessel", "fine_step", "fine_ceiling", "bowls", "note"}
}
