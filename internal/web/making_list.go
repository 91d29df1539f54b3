package web

import (
	"bytes"
	"cmp"
	"errors"
	"net/http"
	"slices"
	"strings"
	"time"

	"firlot/internal/store"
	"firlot/internal/store/export"
	"firlot/making"
	"firlot/nutrient"
)

// makingsView is the list of makings.
type makingsView struct {
	Open, Past         []makingRow
	Any                bool
	Text, Since, Until string
	States             []choice
	Next               string
	Export             string
}

type makingRow struct {
	store.MakingSummary
	Poured string
	Word   string // its state
}

func (s *Server) makings(q *request) error {
	f, v := q.makingFilter()
	list, err := s.Store.Makings(q.Context(), f)
	if err != nil {
		return err
	}
	open, err := s.Store.Makings(q.Context(), store.MakingFilter{State: store.StateOpen, Most: mostMixes})
	if err != nil {
		return err
	}
	for _, m := range open {
		v.Open = append(v.Open, makingRowOf(q.words, m))
	}
	for _, m := range list {
		if f.State == "" && m.State == store.StateOpen {
			continue // it stands above
		}
		v.Past = append(v.Past, makingRowOf(q.words, m))
	}
	v.Any = len(list)+len(open) > 0 || len(q.URL.RawQuery) > 0
	p := q.URL.Query()
	p.Del("after")
	v.Export = "/making/export?" + p.Encode()
	if len(list) == mostMixes {
		p.Set("after", string(list[len(list)-1].ID))
		v.Next = "/making?" + p.Encode()
	}
	return q.show(http.StatusOK, "makings", "making", q.words.T("making_title"), v)
}

func makingRowOf(w *words, m store.MakingSummary) makingRow {
	return makingRow{m, w.Mass(nutrient.Mass(m.PouredMg)), w.T("making_state_" + m.State)}
}

// makingFilter reads what the list is to hold. A day that does not read bounds
// nothing.
func (q *request) makingFilter() (store.MakingFilter, *makingsView) {
	p := q.URL.Query()
	f := store.MakingFilter{Text: clip(p.Get("q"), 200), Lot: clip(p.Get("lot"), 200), After: store.ID(p.Get("after")), Most: mostMixes}
	if code, ok := making.ReadBatchCode(f.Text); ok {
		f.Text = code // typed from a jar, with or without its hyphens
	}
	v := &makingsView{Text: f.Text, Since: p.Get("since"), Until: p.Get("until")}
	if t, err := time.Parse(time.DateOnly, v.Since); err == nil {
		f.Since = t
	}
	if t, err := time.Parse(time.DateOnly, v.Until); err == nil {
		f.Until = t.AddDate(0, 0, 1)
	}
	state := p.Get("state")
	v.States = []choice{{"", q.words.T("making_all"), state == ""}}
	for _, k := range []string{store.StateOpen, store.StateFinished, store.StateLeft} {
		v.States = append(v.States, choice{k, q.words.T("making_state_" + k), k == state})
		if k == state {
			f.State = state
		}
	}
	return f, v
}

// exportMakings sends every pour of the makings of a list as a table, in the
// words and numbers of the page; package export tells the columns. It is
// gathered first, so that a fault half way is an error page and not half a
// table.
func (s *Server) exportMakings(q *request) error {
	f, _ := q.makingFilter()
	o := export.Options{Dialect: export.DecimalPoint, Zone: time.Local, Names: s.exportNames(q)}
	if q.words.lang == "es" {
		o.Dialect = export.DecimalComma
	}
	var b bytes.Buffer
	if err := export.From(q.Context(), &b, s.Store, f, o); err != nil {
		return err
	}
	q.attach("firlot-makings.csv", "text/csv; charset=utf-8")
	return q.send(http.StatusOK, b.Bytes())
}

// exportNames names ingredient and form of a reference. A keeper's own food has
// one name; what is known no longer keeps its id.
func (s *Server) exportNames(q *request) func(ref string) (ingredient, form string) {
	shelves := q.shelvesKept()
	return func(ref string) (string, string) {
		if f := formOf(s.Catalogue, ref); f != nil {
			return f.Ingredient.Names.First(q.words.lang), q.words.Form(f)
		}
		if name := s.formName(q.words, ref, shelves); name != ref {
			return name, ""
		}
		ingredient, form, _ := strings.Cut(ref, "/")
		return ingredient, form
	}
}

func isTaken(err error) bool { return errors.Is(err, store.ErrTaken) }

func sortedByPoured(lines []making.LineState) []making.LineState {
	out := slices.Clone(lines)
	slices.SortStableFunc(out, func(a, b making.LineState) int { return cmp.Compare(b.Poured, a.Poured) })
	return out
}
