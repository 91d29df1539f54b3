package web

import (
	"context"
	"html/template"
	"net/http"
	"net/url"
	"slices"
	"strconv"
	"strings"

	"firlot/catalog"
	"firlot/formulate"
	"firlot/internal/store"
	"firlot/mix"
	mixfiles "firlot/mix/files"
	"firlot/nutrient"
	"firlot/report"
)

// mixView is the page of one mix.
type mixView struct {
	Mix      store.Mix
	Doc      *mix.Document
	Who      string
	Group    *groupView // the group that it is for
	Behind   bool       // the group has other windows now
	State    string     // inside, impossible, stopped, problem
	Sentence string
	Holding  []string
	Notes    []template.HTML
	Problem  *problemView
	Lines    []lineView // with an amount
	Unused   []lineView // without
	Total    nutrient.Mass
	Strips   []stripView
	Heaps    template.HTML
	Map      *mapView
	Trade    *tradeView
	Ways     *waysView
	Cautions []cautionView
	Sources  []sourceView
	Groups   []store.Group // whose it could be
	Shelves  []store.Shelf // where it could be from
	General  []string
	Limits   []limitView // limits on groups of lines
	Controls controls
	Adds     []addGroupView
	Errors   map[string]string
	Typed    map[string]string
	Preview  bool
	Asked    float64
}

type problemView struct {
	Line string // the ingredient that it is about, if any
	Text template.HTML
}

type controls struct {
	Prefer                             []choice
	Sureness                           []choice
	Batch, Step, Most, Least, Currency field
	NewClasses                         []catalog.Class
	NewFloor, NewCeiling               field
}

type choice struct {
	Value, Label string
	Chosen       bool
}

// lineView is one line of the tag.
type lineView struct {
	I                                    int
	Ref                                  string
	Form                                 *catalog.Form
	Portrait                             template.HTML
	Mass                                 nutrient.Mass
	Grams, Percent, Ounces, Cups         string
	Pinned                               bool
	Shown                                bool   // there is a mix, so that it has grams
	Limits                               string // what keeps it where it is, in words
	Floor, Ceiling, Nothing, Hand, Price field
	Open                                 bool // one of its fields has a complaint
}

type limitView struct {
	Is, Name       string
	Count          string
	Floor, Ceiling field
	I              int
}

type cautionView struct {
	Name  string
	Texts []string
}

// addGroupView are the ingredients of a shelf that a mix does not have.
type addGroupView struct {
	Shelf string
	Forms []addView
}

type addView struct {
	Ref  string
	Name string
}

func mixPath(id store.ID) string { return "/mix/" + url.PathEscape(string(id)) }

func (s *Server) mix(q *request) error {
	m, err := s.Store.Mix(q.Context(), q.id())
	if err != nil {
		return err
	}
	a, err := s.solve(q.Context(), m.Document)
	if err != nil {
		return err
	}
	v, err := s.mixView(q, m, a, nil)
	if err != nil {
		return err
	}
	return q.show(http.StatusOK, "mix", "mix", m.Name, v)
}

// changeMix takes the page's form over, solves, and keeps the outcome. A
// preview shows what would come of it and keeps nothing.
func (s *Server) changeMix(q *request) error {
	if err := q.form(); err != nil {
		return err
	}
	m, err := s.Store.Mix(q.Context(), q.id())
	if err != nil {
		return err
	}
	was, err := s.solve(q.Context(), m.Document)
	if err != nil {
		return err
	}
	if was.Doc == nil {
		return q.see(mixPath(m.ID)) // a text that does not read is mended by import
	}
	e := &edit{q: q, d: was.Doc.Copy(), plan: was.Plan, errors: map[string]string{}}
	if was.Answer != nil && was.Answer.Steps != nil { // the page showed these
		for i, amount := range was.Answer.Amounts() {
			e.d.Lines[i].Amount = mix.Amount{Set: true, Mass: amount}
		}
	}
	d := e.apply()
	if len(e.errors) > 0 {
		v, err := s.mixView(q, m, was, e.errors)
		if err != nil {
			return err
		}
		return q.show(http.StatusUnprocessableEntity, "mix", "mix", m.Name, v)
	}
	if q.value("do") == "follow" {
		if d, err = s.follow(q, m, d); err != nil {
			return err
		}
	}
	a, err := s.solveDoc(q.Context(), d)
	if err != nil {
		return err
	}
	if q.Header.Get("Firlot-Preview") != "" {
		v, err := s.mixView(q, m, a, map[string]string{})
		if err != nil {
			return err
		}
		v.Preview = true
		return q.show(http.StatusOK, "mix", "mix", m.Name, v)
	}
	return s.keep(q, m, q.rev(), a.Text)
}

// follow brings the species, stage and windows of a mix's group into its
// document. Windows on figures that the stage does not set stay.
func (s *Server) follow(q *request, m store.Mix, d *mix.Document) (*mix.Document, error) {
	g, err := s.Store.Group(q.Context(), m.Group)
	if err != nil {
		return nil, err
	}
	return takeGroup(d, s.groupView(q.words, g)), nil
}

func takeGroup(d *mix.Document, g groupView) *mix.Document {
	next := d.Copy()
	if g.Stage == nil {
		return next
	}
	next.Species, next.Stage = g.Species.ID, g.Stage.ID
	own := ownWindows(g.Group.Windows)
	for _, x := range d.Windows {
		set := slices.ContainsFunc(g.Windows, func(v windowView) bool {
			return v.Nutrient == x.Nutrient && v.Per == x.Per && v.On == x.On
		})
		if !set && x.Source == "" && !x.Off {
			own = append(own, x)
		}
	}
	next.Windows = own
	return next
}

// keep saves a document on top of the revision that the page showed, or shows
// both when another tab was first.
func (s *Server) keep(q *request, m store.Mix, rev int64, text string) error {
	if text == m.Document && rev == m.Rev {
		return q.see(mixPath(m.ID))
	}
	next := m
	next.Rev, next.Document = rev, text
	_, err := s.Store.SaveMix(q.Context(), next)
	switch {
	case isConflict(err):
		if text == m.Document { // what was to be kept is kept already
			return q.see(mixPath(m.ID))
		}
		return s.showConflict(q, m.ID, text)
	case err != nil:
		return err
	}
	return q.see(mixPath(m.ID))
}

// mixView gathers everything that the page shows. Errors, when not nil, come
// with the form that was sent, whose fields are shown as typed.
func (s *Server) mixView(q *request, m store.Mix, a *solved, errs map[string]string) (*mixView, error) {
	v := &mixView{Mix: m, Doc: a.Doc, Errors: errs}
	if errs != nil {
		v.Typed = map[string]string{}
		for k := range q.PostForm {
			if !strings.HasPrefix(k, "newgroup") || errs[k] != "" || len(errs) > 0 {
				v.Typed[k] = q.value(k)
			}
		}
	}
	if errs == nil {
		v.Errors = map[string]string{}
	}
	if m.Group != "" {
		if g, err := s.Store.Group(q.Context(), m.Group); err == nil {
			gv := s.groupView(q.words, g)
			v.Group = &gv
			v.Behind = a.Doc != nil && gv.Stage != nil && string(mixfiles.Format(takeGroup(a.Doc, gv))) != string(mixfiles.Format(a.Doc))
		}
	}
	groups, err := s.Store.Groups(q.Context())
	if err != nil {
		return nil, err
	}
	v.Groups, v.Shelves = groups, q.shelvesKept()
	b := &mixBuilder{s: s, w: q.words, v: v, a: a}
	return v, b.build(q.Context(), slices.Clone(v.Shelves))
}

// shelvesKept are the shelves, or none when they cannot be read.
func (q *request) shelvesKept() []store.Shelf {
	list, err := q.s.Store.Shelves(q.Context())
	if err != nil {
		q.s.Log.Error("the shelves could not be read", "error", err)
	}
	return list
}

// mixBuilder fills a mix's page in, part by part.
type mixBuilder struct {
	s *Server
	w *words
	v *mixView
	a *solved
	r *report.Report

	cited []string // sources in the order of the page's list
}

func (b *mixBuilder) build(ctx context.Context, shelves []store.Shelf) error {
	v, a := b.v, b.a
	v.General = b.general()
	if a.Problem != nil {
		b.problem()
	}
	if a.Doc == nil {
		return nil
	}
	v.Asked = a.Doc.Sureness
	b.controls()
	b.lines()
	b.limits()
	b.adds(shelves)
	if a.Plan != nil && a.Plan.Species != nil {
		v.Who = b.w.T("who", "Species", b.w.Species(a.Plan.Species), "Stage", b.w.Stage(a.Plan.Stage))
	}
	if a.Answer == nil {
		return nil
	}
	b.r = report.OfAnswer(a.Answer)
	b.sentence()
	if a.Answer.Status == formulate.Impossible {
		b.region(ctx)
		return b.ways(ctx)
	}
	if a.Answer.Steps == nil {
		return nil
	}
	b.strips()
	b.pictures(ctx)
	b.trade()
	for _, c := range b.r.Cautions {
		if f := a.Plan.Catalogue.Form(c.Ingredient + "/" + c.Form); f != nil {
			v.Cautions = append(v.Cautions, cautionView{b.w.Form(f), c.Texts})
		}
	}
	return nil
}

// general are the cautions said of every mix, in the reader's language.
func (b *mixBuilder) general() []string {
	return b.w.Cautions()
}

// Cautions are said beside every mix.
func (w *words) Cautions() []string {
	var list []string
	for i := range catalog.GeneralCautions() {
		list = append(list, w.T("caution_"+strconv.Itoa(i+1)))
	}
	return list
}

func (b *mixBuilder) problem() {
	p := b.a.Problem
	b.v.State, b.v.Sentence = "problem", b.w.T("sentence_problem")
	text := p.Message
	if p.Hint != "" {
		text += "; " + p.Hint
	}
	b.v.Problem = &problemView{Text: b.w.English(text)}
	if rest, ok := strings.CutPrefix(p.Path, "line["); ok && b.a.Doc != nil {
		i, err := strconv.Atoi(rest[:max(strings.IndexByte(rest, ']'), 0)])
		if err == nil && i < len(b.a.Doc.Lines) {
			b.v.Problem.Line = b.lineName(i)
			if p.Path == "line["+strconv.Itoa(i)+"]" && b.a.Doc.Lines[i].Price == nil && b.a.Doc.Prefer == mix.Cheap {
				b.v.Problem.Text = template.HTML(template.HTMLEscapeString(b.w.T("problem_no_price")))
			}
		}
	}
	if p.Path == "prefer" && b.a.Doc != nil && b.a.Doc.Prefer == mix.Near {
		b.v.Problem.Text = template.HTML(template.HTMLEscapeString(b.w.T("problem_no_base")))
	}
}

func (b *mixBuilder) lineName(i int) string {
	c := b.s.Catalogue.With(b.a.Doc.Own...)
	if f := formOf(c, b.a.Doc.Lines[i].Ingredient); f != nil {
		return b.w.Form(f)
	}
	return b.a.Doc.Lines[i].Ingredient
}

// field is an input, with what was typed when that came back with a
// complaint.
func (b *mixBuilder) field(name, label, value, hint, mode string) field {
	if t, ok := b.v.Typed[name]; ok {
		value = t
	}
	return field{Name: name, Label: b.w.T(label), Value: value, Error: b.v.Errors[name], Hint: hint, Mode: mode}
}

// surenesses that are offered, in per cent; 0 is on the means.
var surenesses = []float64{0, 50, 60, 70, 80, 85, 90, 95, 98, 99}

func (b *mixBuilder) controls() {
	d, c := b.a.Doc, &b.v.Controls
	prefer := string(d.Prefer)
	if prefer == "" && b.a.Answer != nil {
		prefer = string(b.a.Answer.Prefer)
	}
	for _, p := range mix.Preferences() {
		c.Prefer = append(c.Prefer, choice{string(p), b.w.T("prefer_" + string(p)), string(p) == prefer})
	}
	asked := d.Sureness * 100
	offered := surenesses
	if !slices.Contains(offered, asked) {
		offered = append(slices.Clone(offered), asked)
		slices.Sort(offered)
	}
	for _, p := range offered {
		label := b.w.T("sure_means")
		if p > 0 {
			label = b.w.T("sure_sets", "N", b.w.Plain(p))
		}
		c.Sureness = append(c.Sureness, choice{strconv.FormatFloat(p, 'f', -1, 64), label, p == asked})
	}
	step := b.w.typed(d.Step.Grams()) + " g"
	if d.StepOunces > 0 {
		step = b.w.typed(d.StepOunces) + " oz"
	}
	c.Batch = b.field("batch", "control_batch", b.w.typed(d.Batch.Grams())+" g", "", "text")
	c.Step = b.field("step", "control_step", step, "", "text")
	c.Most = b.field("most", "control_most", number0(d.MostIngredients), "", "numeric")
	c.Least = b.field("least", "control_least", number0(d.LeastIngredients), "", "numeric")
	c.Currency = b.field("currency", "control_currency", d.Currency, "", "text")
	c.NewFloor = b.field("newgroup.floor", "line_floor", "", "", "text")
	c.NewCeiling = b.field("newgroup.ceiling", "line_ceiling", "", "", "text")
}

func number0(n int) string {
	if n == 0 {
		return ""
	}
	return strconv.Itoa(n)
}

func (b *mixBuilder) lines() {
	d := b.a.Doc
	c := b.s.Catalogue.With(d.Own...)
	amounts := make([]nutrient.Mass, len(d.Lines))
	shown := b.a.Answer != nil && b.a.Answer.Steps != nil
	if shown {
		copy(amounts, b.a.Answer.Amounts())
	}
	var total nutrient.Mass
	for _, m := range amounts {
		total += m
	}
	b.v.Total = total
	classes := map[catalog.Class]bool{}
	for i, l := range d.Lines {
		lv := b.line(i, l, formOf(c, l.Ingredient), amounts[i], total)
		if lv.Form != nil && !classes[lv.Form.Ingredient.Class] {
			classes[lv.Form.Ingredient.Class] = true
		}
		if shown && lv.Mass == 0 {
			b.v.Unused = append(b.v.Unused, lv)
		} else {
			b.v.Lines = append(b.v.Lines, lv)
		}
	}
	for _, k := range catalog.Classes() {
		if classes[k] {
			b.v.Controls.NewClasses = append(b.v.Controls.NewClasses, k)
		}
	}
}

func (b *mixBuilder) line(i int, l mix.Line, f *catalog.Form, m, total nutrient.Mass) lineView {
	lv := lineView{I: i, Ref: l.Ingredient, Form: f, Mass: m, Grams: b.w.Grams(m), Pinned: pinned(l), Shown: b.a.Answer != nil && b.a.Answer.Steps != nil}
	if f != nil {
		lv.Portrait = portrait(b.w, f)
		if b.w.units == unitsOunces && m > 0 {
			lv.Ounces, lv.Cups = b.w.Ounces(m), b.w.Cups(f, m)
		}
	}
	if total > 0 {
		lv.Percent = b.w.Num(100*float64(m)/float64(total), 1)
	}
	price := b.w.typedPointer(l.Price)
	lv.Floor = b.field(lineField(i, "floor"), "line_floor", b.w.Amount(l.Floor), "", "text")
	lv.Ceiling = b.field(lineField(i, "ceiling"), "line_ceiling", b.w.Amount(l.Ceiling), "", "text")
	lv.Nothing = b.field(lineField(i, "nothing"), "line_nothing", b.w.Amount(l.NothingOr), "", "text")
	lv.Hand = b.field(lineField(i, "on_hand"), "line_on_hand", b.w.Amount(l.OnHand), "", "text")
	lv.Price = b.field(lineField(i, "price"), "line_price", price, "", "decimal")
	lv.Open = lv.Floor.Error+lv.Ceiling.Error+lv.Nothing.Error+lv.Hand.Error+lv.Price.Error != ""
	lv.Limits = b.limitsOf(i, l, m)
	return lv
}

// limitsOf says what holds a line where it is: a limit that binds stands
// first.
func (b *mixBuilder) limitsOf(i int, l mix.Line, m nutrient.Mass) string {
	if pinned(l) {
		return b.w.T("line_kept")
	}
	if b.a.Plan == nil || i >= len(b.a.Plan.Lines) || b.a.Answer == nil || b.a.Answer.Steps == nil {
		return ""
	}
	p := b.a.Plan.Lines[i]
	step := b.a.Doc.Step
	at := nutrient.Mass(p.Ceiling) * step
	switch {
	case p.Ceiling < b.a.Plan.Steps && m >= at && p.CeilingSafety:
		return b.w.T("line_at_safety", "Mass", b.w.Grams(at))
	case p.Ceiling < b.a.Plan.Steps && m >= at && l.OnHand.Set && massOf(l.OnHand, b.a.Plan.Batch()) <= at+step:
		return b.w.T("line_at_hand", "Mass", b.w.Grams(at))
	case p.Ceiling < b.a.Plan.Steps && m >= at:
		return b.w.T("line_at_ceiling", "Mass", b.w.Grams(at))
	case p.Floor > 0 && m <= nutrient.Mass(p.Floor)*step:
		return b.w.T("line_at_floor", "Mass", b.w.Grams(nutrient.Mass(p.Floor)*step))
	}
	return ""
}

func (b *mixBuilder) limits() {
	for i, g := range b.a.Doc.Groups {
		v := limitView{I: i, Is: groupIs(g), Name: b.groupName(g)}
		v.Floor = b.field(groupField(i, "floor"), "line_floor", b.w.Amount(g.Floor), "", "text")
		v.Ceiling = b.field(groupField(i, "ceiling"), "line_ceiling", b.w.Amount(g.Ceiling), "", "text")
		if g.LeastIngredients > 0 || g.MostIngredients > 0 {
			v.Count = b.counts(g.LeastIngredients, g.MostIngredients)
		}
		b.v.Limits = append(b.v.Limits, v)
	}
}

func (b *mixBuilder) groupName(g mix.Group) string {
	switch {
	case g.Name != "":
		return g.Name
	case g.Class != "":
		return b.w.Class(g.Class)
	}
	return strings.Join(g.Of, ", ")
}

func (b *mixBuilder) counts(least, most int) string {
	switch {
	case most == 0:
		return b.w.N("count_least", least)
	case least == 0:
		return b.w.N("count_most", most)
	}
	return b.w.T("count_between", "A", least, "B", most)
}

// adds lists what the shelves hold that the mix does not, the mix's own shelf
// first.
func (b *mixBuilder) adds(shelves []store.Shelf) {
	in := map[*catalog.Form]bool{}
	ids := map[string]bool{}
	c := b.s.Catalogue.With(b.a.Doc.Own...)
	for _, l := range b.a.Doc.Lines {
		in[formOf(c, l.Ingredient)], ids[l.Ingredient] = true, true
	}
	slices.SortStableFunc(shelves, func(x, y store.Shelf) int {
		switch {
		case x.ID == b.v.Mix.Shelf:
			return -1
		case y.ID == b.v.Mix.Shelf:
			return 1
		}
		return 0
	})
	for _, sh := range shelves {
		g := addGroupView{Shelf: sh.Name}
		cat := b.s.catalogueOf(sh)
		for _, it := range sh.Items {
			f := formOf(cat, it.Ref)
			if f == nil || in[f] || ids[it.Ref] || !it.CanHave || !b.fits(f) {
				continue
			}
			g.Forms = append(g.Forms, addView{it.Ref, b.w.Form(f)})
		}
		slices.SortFunc(g.Forms, func(x, y addView) int { return strings.Compare(x.Name, y.Name) })
		if len(g.Forms) > 0 {
			b.v.Adds = append(b.v.Adds, g)
		}
	}
}

func (b *mixBuilder) fits(f *catalog.Form) bool {
	species := b.a.Doc.Species
	return fitsDry(f, species)
}

// fitsDry reports whether a form may go into a dry mix for a species: dry
// enough to keep, and not limited to nothing.
func fitsDry(f *catalog.Form, species string) bool {
	if m, ok := f.Figure(nutrient.Moisture); ok && m.Mean > mostMoisture {
		return false
	}
	for _, l := range f.Limits {
		if l.Most == 0 && l.For(species) {
			return false
		}
	}
	return true
}

// used is the number of lines with an amount.
func (v *mixView) used() int {
	n := 0
	for _, l := range v.Lines {
		if l.Mass > 0 {
			n++
		}
	}
	return n
}
