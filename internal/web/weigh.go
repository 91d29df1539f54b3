package web

import (
	"html/template"
	"net/http"
	"slices"
	"strings"

	"firlot/catalog"
	"firlot/internal/store"
	"firlot/making"
	"firlot/nutrient"
)

// weighView is the page at the scale.
type weighView struct {
	Making   store.Making
	State    *stateView
	Batch    string
	In       template.HTML // what is in the bowls
	Lines    []weighLine
	Card     *cardView // what to pour now; nil when nothing is left
	Off      bool
	Never    string // why what is in the bowl is not to be fed, whatever follows
	Done     bool
	Back     *lastView // what can be taken back
	BackMass string
	Foods    []addView // what a wrong jar may hold
	Known    bool      // this device knows its screen
	NoteKey  string
	BackKey  string
	Anew     string // keys of the other forms
	LessKey  string
	WrongKey string
	Notes    []string
}

// weighLine is a line of the tag, with what is told when it is its turn.
type weighLine struct {
	Ref, Name string
	Pic       template.HTML
	Class     string // did, now, off, out, or nothing
	Mass      string
	Word      string // what the mark at its side means, for a screen reader
	Looks     string
	Not       []notView
	Life      template.HTML
	Bag       string
	Short     string // more than the shelf had
}

// notView is a form that this one is taken for.
type notView struct {
	Name string
	Tell string
}

// cardView is the step that has the turn.
type cardView struct {
	Ref, Name      string
	Mg, Before, Of int64
	Big            string        // the number, in grams
	Tare           template.HTML // what a scale shows that is not zeroed
	Bowl, Round    int
	Where          string // which bowl, which scale
	Tip            bool
	Part           template.HTML // what is left of the line
	More           bool          // it takes several pours
	Lot            string
	Lots           []choice
	Key            string
	Seen           int
	Centimetre     template.HTML
}

func (s *Server) makingPage(q *request) error {
	x, err := s.weighing(q.Context(), q.id())
	if err != nil {
		return err
	}
	if x.State != store.StateOpen {
		return s.showRecord(q, x)
	}
	v, err := s.weighView(q, x)
	if err != nil {
		return err
	}
	return q.show(http.StatusOK, "weigh", "making", x.MixName, v)
}

func (s *Server) weighView(q *request, x *weighing) (*weighView, error) {
	w := q.words
	state, err := s.stateOf(w, x)
	if err != nil {
		return nil, err
	}
	v := &weighView{Making: x.Making, State: state, Batch: w.Mass(x.Now.Batch), In: w.marked("weigh_in", "Mass", w.Mass(x.Now.Poured)), Off: x.off(), Done: x.Now.Done(),
		NoteKey: newKey(), BackKey: newKey(), Anew: newKey(), LessKey: newKey(), WrongKey: newKey(), Notes: x.Now.Notes}
	if list := x.neverNames(w); len(list) > 0 {
		v.Never = w.N("batch_never", len(list), "Mass", w.Mass(x.Now.Poured), "Names", w.And(list))
	}
	scale, known := q.screenScale()
	v.Known = known
	next := x.Now.Next
	if ref := q.URL.Query().Get("now"); ref != "" {
		next = x.choose(ref)
	}
	for _, l := range x.lines() {
		wl := s.weighLine(w, x, l, scale)
		if next != nil && next.Ref == l.Ref {
			wl.Class, wl.Word = "now", w.T("line_now")
		}
		v.Lines = append(v.Lines, wl)
	}
	if next != nil {
		c, err := s.card(q, x, next, scale)
		if err != nil {
			return nil, err
		}
		v.Card = c
	}
	if v.Back = v.State.Last; v.Back != nil {
		v.BackMass = w.Mass(nutrient.Mass(v.Back.Mg))
	}
	v.Foods = s.wrongJars(w, x)
	return v, nil
}

// choose is the next pour of a line that the keeper wants to pour first.
func (x *weighing) choose(ref string) *making.Next {
	for i, l := range x.Now.Lines {
		if l.Ref != ref {
			continue
		}
		for bowl := range l.Parts {
			if n := x.Now.At(i, bowl+1); n != nil {
				return n
			}
		}
	}
	return x.Now.Next
}

func (s *Server) weighLine(w *words, x *weighing, l making.LineState, scale float64) weighLine {
	f := x.form(l.Ref)
	v := weighLine{Ref: l.Ref, Name: x.name(w, l.Ref), Pic: "<i></i>"}
	v.Class, v.Word, v.Mass = lineStands(w, x, l)
	if m := x.Short[l.Ref]; m > 0 {
		v.Short = w.Mass(m)
	}
	if f == nil {
		return v
	}
	v.Pic = s.smallPortrait(f)
	if l.Left > 0 || v.Class == "off" {
		v.Looks = w.Told(f.Looks)
		v.Not = confusions(w, x, f)
		v.Life = lifePicture(s, f, scale)
	}
	return v
}

// lineStands says how a line stands: its class, the word for it, its mass.
func lineStands(w *words, x *weighing, l making.LineState) (class, word, mass string) {
	mass = w.Mass(l.Planned)
	switch {
	case l.Over() > 0 && l.Planned == 0:
		return "off", w.T("line_wrong"), w.Mass(l.Poured)
	case l.Over() > 0:
		return "off", w.T("line_over", "Mass", w.Mass(l.Over())), w.Mass(l.Poured)
	case l.Left > 0 && x.Empty[l.Ref]:
		return "out", w.T("line_out"), w.T("mass_of", "A", w.Grams(l.Poured), "B", w.Mass(l.Planned))
	case l.Left == 0:
		return "did", w.T("line_did"), w.Mass(l.Poured)
	case l.Poured > 0:
		return "", w.T("line_part"), w.T("mass_of", "A", w.Grams(l.Poured), "B", w.Mass(l.Planned))
	}
	return "", "", mass
}

// mostConfusions are told on the page.
const mostConfusions = 2

// confusions are what a form may be taken for at this scale: the forms of the
// mix and of the shelf; where it has none of them, the first that is known.
func confusions(w *words, x *weighing, f *catalog.Form) []notView {
	here := map[string]bool{}
	for _, l := range x.Now.Lines {
		here[l.Ref] = true
	}
	for _, it := range x.shelf.Items {
		here[x.lineRef(it.Ref)] = true
	}
	var out []notView
	for _, c := range f.Confused {
		if here[c.With] && len(out) < mostConfusions {
			out = append(out, notView{x.name(w, c.With), c.Tell})
		}
	}
	if len(out) == 0 && len(f.Confused) > 0 {
		c := f.Confused[0]
		out = append(out, notView{x.name(w, c.With), c.Tell})
	}
	return out
}

// smallPortrait is portrait with as few words as the weighing page can do with.
func (s *Server) smallPortrait(f *catalog.Form) template.HTML {
	if s.Catalogue.Form(f.Ref()) != f {
		return template.HTML(drawPortrait(f))
	}
	return template.HTML(`<img src="` + template.HTMLEscapeString("/portrait/"+f.Ref()+"?v="+s.portraits.of(f).version) + `" alt="">`)
}

// lifePicture shows a few pieces at life size, beside the words for their
// looks. A form of the catalogue has a file of its own; all of them are fetched with the page, for the laptop may
// be away when their turn comes.
func lifePicture(s *Server, f *catalog.Form, scale float64) template.HTML {
	if s.Catalogue.Form(f.Ref()) != f {
		return template.HTML(drawLife(f, scale))
	}
	return template.HTML(`<img src="` + template.HTMLEscapeString(lifeSrc(f, scale)) + `"` + lifeSize(f, scale) + ` alt="">`)
}

func (s *Server) card(q *request, x *weighing, n *making.Next, scale float64) (*cardView, error) {
	w := q.words
	c := &cardView{Ref: n.Ref, Name: x.name(w, n.Ref), Mg: int64(n.Mass), Before: int64(n.Before), Of: int64(n.Of), Big: w.Grams(n.Mass), Tare: w.marked("tare_from", "A", w.Grams(n.Before), "B", w.Mass(n.After)), Part: w.marked("part_of", "Mass", w.Mass(n.Of)), More: n.Of > n.Mass,
		Bowl: n.Bowl, Round: n.Round, Tip: n.Tip, Where: whereWords(w, *n, x.Began.Bowls), Lot: n.Lot, Key: newKey(), Seen: len(x.Events), Centimetre: centimetre(scale, w.T("scale_bar"))}
	lots, err := s.Store.Lots(q.Context(), store.LotFilter{Ref: x.stock(n.Ref), Here: true})
	if err != nil {
		return nil, err
	}
	for _, l := range lots {
		c.Lots = append(c.Lots, choice{string(l.ID), lotLabel(w, l), string(l.ID) == n.Lot})
	}
	return c, nil
}

// wrongJars are the foods that may have been poured by mistake: those of the
// mix first, then those of the shelf.
func (s *Server) wrongJars(w *words, x *weighing) []addView {
	var in, others []addView
	seen := map[string]bool{}
	for _, l := range x.lines() {
		seen[l.Ref] = true
		in = append(in, addView{l.Ref, x.name(w, l.Ref)})
	}
	for _, it := range x.shelf.Items {
		if f := x.form(it.Ref); f != nil && !seen[f.Ref()] {
			others = append(others, addView{f.Ref(), w.Form(f)})
		}
	}
	byName := func(a, b addView) int { return strings.Compare(a.Name, b.Name) }
	slices.SortFunc(in, byName)
	slices.SortFunc(others, byName)
	return append(in, others...)
}

// marked is a message whose values can be found, and changed, by a script.
func (w *words) marked(key string, pairs ...string) template.HTML {
	data := thing()
	var marks []string
	for i := 0; i+1 < len(pairs); i += 2 {
		mark := "\x01" + pairs[i] + "\x02"
		data[pairs[i]] = mark
		marks = append(marks, mark, `<b class="v-`+template.HTMLEscapeString(pairs[i])+`">`+template.HTMLEscapeString(pairs[i+1])+`</b>`)
	}
	var flat []any
	for k, v := range data {
		flat = append(flat, k, v)
	}
	return template.HTML(strings.NewReplacer(marks...).Replace(template.HTMLEscapeString(w.T(key, flat...))))
}
