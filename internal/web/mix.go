package web

import (
	"html/template"
	"net/http"
	"net/url"
	"slices"
	"strings"

	"firlot/catalog"
	"firlot/internal/store"
	"firlot/mix"
	mixfiles "firlot/mix/files"
	"firlot/nutrient"
)

// mixView is the page of one mix.
type mixView struct {
	Mix       store.Mix
	Doc       *mix.Document
	Who       string
	Group     *groupView  // the group that it is for
	Behind    bool        // the group has other windows now
	OwnBehind []ownBehind // own foods whose figures were changed on a shelf
	State     string      // inside, impossible, stopped, problem
	Sentence  string
	Holding   []string
	Notes     []template.HTML
	Problem   *problemView
	Lines     []lineView // with an amount
	Unused    []lineView // without
	Total     nutrient.Mass
	Strips    []stripView
	Heaps     template.HTML
	Map       *mapView
	Trade     *tradeView
	Ways      *waysView
	Cautions  []cautionView
	Sources   []sourceView
	Groups    []store.Group // whose it could be
	Shelves   []store.Shelf // where it could be from
	General   []string
	Limits    []limitView // limits on groups of lines
	Windows   []mixWindow
	Changed   string // the windows that are the keeper's own, in words
	NewWindow newWindow
	Controls  controls
	Adds      []addGroupView
	Errors    map[string]string
	Typed     map[string]string
	Asked     float64
	Quick     bool // only what the answer changes is sent
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

// Values of the header by which a script asks for a preview: of the page, or
// of the sentence and the tag alone, which come at once.
const (
	previewHeader = "Firlot-Preview"
	previewAnswer = "answer"
)

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
	e := &edit{q: q, d: was.Doc.Copy(), plan: was.Plan, shelf: m.Shelf, errors: map[string]string{}}
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
	if q.Header.Get(previewHeader) != "" {
		v, err := s.mixView(q, m, a, map[string]string{})
		if err != nil {
			return err
		}
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
		return q.see(q.mixAgain(m.ID))
	}
	next := m
	next.Rev, next.Document = rev, text
	_, err := s.Store.SaveMix(q.Context(), next)
	switch {
	case isConflict(err):
		if text == m.Document { // what was to be kept is kept already
			return q.see(q.mixAgain(m.ID))
		}
		return s.showConflict(q, m.ID, text)
	case err != nil:
		return err
	}
	return q.see(q.mixAgain(m.ID))
}

// mixAgain is the page of a mix as it was asked for.
func (q *request) mixAgain(id store.ID) string {
	view := url.Values{}
	for _, name := range []string{"trade", mapLess} {
		if x := q.PostFormValue(name); x != "" && x != mostCostly {
			view.Set(name, x)
		}
	}
	if len(view) == 0 {
		return mixPath(id)
	}
	return mixPath(id) + "?" + view.Encode()
}

// less is what the map is to leave out. A form that is sent does not wait for
// what costs most: the page asks for that afterwards.
func (q *request) less() string {
	x := q.FormValue(mapLess)
	if x == mostCostly && q.Method == http.MethodPost {
		return ""
	}
	return x
}

// quick reports whether only the answer is asked for.
func (q *request) quick() bool { return q.Header.Get(previewHeader) == previewAnswer }

// mixView gathers everything that the page shows. Errors, when not nil, come
// with the form that was sent, whose fields are shown as typed.
func (s *Server) mixView(q *request, m store.Mix, a *solved, errs map[string]string) (*mixView, error) {
	v := &mixView{Mix: m, Doc: a.Doc, Errors: errs, Quick: q.quick() && len(errs) == 0}
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
	if a.Doc != nil {
		v.OwnBehind = ownsBehind(a.Doc, m.Shelf, v.Shelves)
	}
	b := &mixBuilder{s: s, w: q.words, v: v, a: a, quick: v.Quick, trading: q.FormValue("trade") != "", less: q.less()}
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
