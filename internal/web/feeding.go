package web

import (
	"errors"
	"html/template"
	"net/http"
	"net/url"
	"strconv"
	"strings"
	"time"

	"firlot/analysis"
	"firlot/internal/store"
	"firlot/internal/tomldoc"
	"firlot/needs"
	"firlot/ration"
	rationfiles "firlot/ration/files"
	"firlot/serving"
)

// feeding is how a group is fed: its document, resolved for today.
type feeding struct {
	s     *Server
	w     *words
	Group store.Group
	File  *rationfiles.File // nil where the kept text does not read
	Doc   *ration.Document
	Plan  *ration.Plan // nil with a Problem
	Day   ration.Day
	// Away: another device asks, which may write down and not plan.
	Away bool
	// Fresh: nothing is kept yet, and the document is what follows from the
	// group.
	Fresh   bool
	Problem template.HTML
	// Mix is the group's mix, Portions its amounts; none without one.
	Mix      *store.Mix
	Solved   *solved
	Portions []analysis.Portion
}

// feedingPath is a page of a group's feeding.
func feedingPath(id store.ID, page string) string {
	return "/animals/" + url.PathEscape(string(id)) + "/" + page
}

// feedingOf reads how a group is fed.
func (s *Server) feedingOf(q *request) (*feeding, error) {
	g, err := s.Store.Group(q.Context(), q.id())
	if err != nil {
		return nil, err
	}
	return s.feeding(q, g)
}

func (s *Server) feeding(q *request, g store.Group) (*feeding, error) {
	f := &feeding{s: s, w: q.words, Group: g, Day: ration.DayOf(s.Clock()), Away: q.fromOutside()}
	text := g.Feeding
	if text == "" {
		f.Fresh = true
		text = string(rationfiles.Format(s.firstFeeding(q, g)))
	}
	return f, f.read(q, text)
}

// read takes a document's text over and resolves it.
func (f *feeding) read(q *request, text string) error {
	file, err := rationfiles.Parse("feeding", []byte(text))
	if err != nil {
		return f.wrong(err)
	}
	f.File, f.Doc = file, file.Document
	if err := f.mix(q); err != nil {
		return err
	}
	return f.resolve()
}

// resolve works the document out for today. A document without a mix is
// resolved without the foods that need one.
func (f *feeding) resolve() error {
	f.Problem, f.Plan = "", nil
	p, err := ration.Resolve(f.Doc, f.s.Catalogue, f.s.Needs, f.Portions, f.Day)
	if err != nil {
		return f.wrong(err)
	}
	f.Plan = p
	if len(f.Doc.Lines) > 0 { // the document holds its mix itself
		f.Portions = p.Mix
	}
	return nil
}

// wrong keeps what is wrong with a document as words; the error is for faults
// of ours.
func (f *feeding) wrong(err error) error {
	var at *tomldoc.Error
	var p *ration.Problem
	switch {
	case errors.As(err, &at):
		f.Problem = f.w.complaint(at.Message, at.Hint)
	case errors.As(err, &p):
		f.Problem = f.w.complaint(p.Message, p.Hint)
	default:
		return err
	}
	return nil
}

// mix finds the group's mix: the one that the document names, or else the one
// changed last.
func (f *feeding) mix(q *request) error {
	list, err := f.s.Store.Mixes(q.Context(), store.Filter{Group: f.Group.ID, Most: mostOfGroup})
	if err != nil || len(list) == 0 {
		return err
	}
	at := list[0]
	for _, m := range list {
		if f.Doc.Mix == m.Name || f.Doc.Mix == string(m.ID) {
			at = m
			break
		}
	}
	m, err := f.s.Store.Mix(q.Context(), at.ID)
	if err != nil {
		return err
	}
	f.Mix = &m
	if f.Solved, err = f.s.solve(q.Context(), m.Document); err != nil {
		return err
	}
	if a := f.Solved.Answer; a != nil && a.Steps != nil {
		f.Portions = a.Portions()
	}
	return nil
}

// firstFeeding is the document of a group that has none yet: its animals by
// number, and the mix every day by need where there is one.
func (s *Server) firstFeeding(q *request, g store.Group) *ration.Document {
	d := &ration.Document{Species: g.Species, Spoon: serving.Metric}
	born, _ := ration.ParseDay(g.Born)
	for i := range min(max(g.Animals, 1), ration.MaxAnimals) {
		d.Animals = append(d.Animals, ration.Animal{Name: q.words.T("feed_animal_n", "N", q.words.Plain(float64(i+1))), Born: born, Stage: g.Stage})
	}
	list, err := s.Store.Mixes(q.Context(), store.Filter{Group: g.ID, Most: 1})
	if err == nil && len(list) > 0 && s.hasAmounts(q, list[0].ID) {
		d.Foods = append(d.Foods, ration.Food{Food: ration.MixName, Days: ration.EveryDay, Way: ration.Scatter})
	}
	return d
}

// hasAmounts reports whether a kept mix has amounts.
func (s *Server) hasAmounts(q *request, id store.ID) bool {
	m, err := s.Store.Mix(q.Context(), id)
	if err != nil {
		return false
	}
	a, err := s.solve(q.Context(), m.Document)
	return err == nil && a.Answer != nil && a.Answer.Steps != nil
}

// keep saves a changed document on top of the revision that the page showed.
// It reports a conflict as store.ErrConflict, and what is wrong with the
// document as words.
func (f *feeding) keep(q *request, text string) (complaint template.HTML, err error) {
	next := *f
	if err := next.read(q, text); err != nil {
		return "", err
	}
	if next.Problem != "" {
		return next.Problem, nil
	}
	g := f.Group
	g.Feeding, g.Rev = text, q.rev()
	if next.Plan != nil {
		g.Animals = len(next.Plan.Animals) // the document knows who is there
	}
	_, err = f.s.Store.SaveGroup(q.Context(), g)
	return "", err
}

// keepDoc saves a changed document, whose comments go where they cannot be
// kept.
func (f *feeding) keepDoc(q *request, d *ration.Document) (template.HTML, error) {
	return f.keep(q, string(rationfiles.Format(d)))
}

// copyDoc is a document to be changed.
func (f *feeding) copyDoc() *ration.Document {
	d := f.Doc.Copy()
	d.Animals = append([]ration.Animal(nil), f.Doc.Animals...)
	d.Weights = append([]ration.Weighing(nil), f.Doc.Weights...)
	d.Bowls = append([]ration.Bowl(nil), f.Doc.Bowls...)
	d.Sightings = append([]ration.Sighting(nil), f.Doc.Sightings...)
	d.Away = append([]ration.Away(nil), f.Doc.Away...)
	return d
}

// addRecords appends what was written down. Two hands that add at once both
// add: a record is never the other's change.
func (f *feeding) addRecords(q *request, r rationfiles.Records) (template.HTML, error) {
	const tries = 3
	for range tries {
		text, err := f.File.WithRecords(r)
		if err != nil {
			return "", err
		}
		next := *f
		if err := next.read(q, string(text)); err != nil || next.Problem != "" {
			return next.Problem, err
		}
		g := f.Group
		g.Feeding = string(text)
		_, err = f.s.Store.SaveGroup(q.Context(), g)
		if !isConflict(err) {
			return "", err
		}
		again, err := f.s.feedingOf(q)
		if err != nil {
			return "", err
		}
		*f = *again
		if f.File == nil {
			return f.Problem, nil
		}
	}
	return "", store.ErrConflict
}

// feedPage is what every page of feeding shows besides its own.
type feedPage struct {
	ID       store.ID
	Rev      int64
	Name     string
	Here     string // the page's own name in its address
	Species  *needs.Species
	Problem  template.HTML
	NoMix    bool
	MixName  string
	MixPath  string
	Today    string
	Conflict bool
	Kept     []string
	Errors   map[string]string
	Typed    map[string]string
	Wrong    template.HTML // why what was typed was not kept
	WrongAt  string        // where on the page it stands
	Ask      *weightAsk    // a weight to be said again
	Device   bool          // shown on another device
}

func (f *feeding) page(here string) feedPage {
	p := feedPage{Device: f.Away, ID: f.Group.ID, Rev: f.Group.Rev, Name: f.Group.Name, Here: here, Species: f.s.Needs.Find(f.Group.Species),
		Problem: f.Problem, NoMix: f.Portions == nil, Today: f.s.Clock().Format(time.DateOnly), Errors: map[string]string{}, Typed: map[string]string{}}
	if f.Mix != nil {
		p.MixName, p.MixPath = f.Mix.Name, mixPath(f.Mix.ID)
	}
	return p
}

// Path is another page of the same group.
func (p feedPage) Path(page string) string { return feedingPath(p.ID, page) }

// Tabs are the pages of a group's feeding.
func (p feedPage) Tabs() []feedTab {
	var list []feedTab
	for _, x := range []string{"portion", "week", "diet", "weights", "bowl", "spoonful"} {
		if p.Device && !devicesMay["GET /animals/{id}/"+x] {
			continue
		}
		list = append(list, feedTab{x, p.Path(x), "feed_nav_" + x, x == p.Here})
	}
	return list
}

type feedTab struct {
	ID, Path, Key string
	Here          bool
}

// quiet leaves out when the keeper is away, who comes then and where the key
// hangs: on another device's page that may go over the air in the clear. What
// is shown so is never kept.
func (f *feeding) quiet() *feeding {
	if f.Away && f.Doc != nil {
		f.Doc.Away = nil
	}
	return f
}

// refuse answers a device that asks for what the laptop does.
func (q *request) refuse() error {
	return q.showAlone(http.StatusForbidden, "pair", "laptop_only_title", pairView{Refused: true})
}

// show renders a page of feeding.
func (f *feeding) show(q *request, status int, page string, data any) error {
	return q.show(status, "feed_"+page, "animals", q.words.T("feed_nav_"+page)+" · "+f.Group.Name, data)
}

// see sends the browser to a page of feeding after a change.
func (f *feeding) see(q *request, page, at string) error {
	to := feedingPath(f.Group.ID, page) + "?said=saved"
	return q.see(to + at)
}

// names are those of the animals, in the plan's order.
func (f *feeding) names() []string {
	var list []string
	if f.Plan == nil {
		return nil
	}
	for _, a := range f.Plan.Animals {
		list = append(list, a.Animal.Name)
	}
	return list
}

// foodName is what a food is called, in the reader's words.
func (f *feeding) foodName(name string) string {
	if name == ration.MixName {
		return f.w.T("feed_the_mix")
	}
	if form := f.s.Catalogue.Form(name); form != nil {
		return f.w.Form(form)
	}
	if f.Plan != nil {
		for _, x := range append(append([]ration.Served(nil), f.Plan.Foods...), f.Plan.Shelf...) {
			if x.Food.Food == name && x.Form != nil {
				return f.w.Form(x.Form)
			}
		}
	}
	return name
}

// FeedAmount is an amount in the reader's words; none is "by need".
func (w *words) FeedAmount(a ration.Amount) string {
	if !a.Set {
		return ""
	}
	if a.Unit == ration.Grams {
		return w.Plain(a.Mass.Grams()) + "\u00a0g"
	}
	key := map[ration.Unit]string{ration.Teaspoons: "feed_amount_tsp", ration.Tablespoons: "feed_amount_tbsp", ration.OwnSpoons: "feed_amount_spoon", ration.Pieces: "feed_amount_piece"}[a.Unit]
	return w.T(key, "N", w.Plain(a.Count))
}

// rangeWords is a quantity with its ends, in the reader's words.
func (w *words) rangeWords(r serving.Range, unit string) string {
	if unit != "" {
		unit = "\u00a0" + unit
	}
	if !r.HasMean {
		return w.T("not_known")
	}
	if r.Low == r.High {
		return w.two(r.Mean) + unit
	}
	return w.T("feed_range", "Mean", w.two(r.Mean)+unit, "Low", w.two(r.Low), "High", w.twoOr(r.High))
}

// two prints about two significant digits: more than a portion is known to.
func (w *words) two(v float64) string {
	places := 0
	switch {
	case v == 0 || v >= 9.95:
	case v >= 0.95:
		places = 1
	case v >= 0.095:
		places = 2
	default:
		return w.Short(v)
	}
	return w.language().Reformat(trimZeros(strconv.FormatFloat(v, 'f', places, 64)))
}

func trimZeros(s string) string {
	if !strings.Contains(s, ".") {
		return s
	}
	return strings.TrimRight(strings.TrimRight(s, "0"), ".")
}

func (w *words) twoOr(v float64) string {
	if v > 1e9 {
		return w.T("feed_open")
	}
	return w.two(v)
}

// orWrong turns a conflict into a page that shows both.
func (f *feeding) orWrong(q *request, complaint template.HTML, err error) (wrong template.HTML, conflict bool, fault error) {
	if isConflict(err) {
		return template.HTML(template.HTMLEscapeString(q.words.T("feed_conflict"))), true, nil
	}
	return complaint, false, err
}

// status is the answer to a form that was not kept.
func statusOf(conflict bool) int {
	if conflict {
		return http.StatusConflict
	}
	return http.StatusUnprocessableEntity
}
