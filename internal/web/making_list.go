package web

import (
	"cmp"
	"encoding/csv"
	"errors"
	"net/http"
	"slices"
	"strconv"
	"time"

	"firlot/internal/store"
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

// mostExport is how many makings go into one table.
const mostExport = 10_000

// exportMakings sends every pour of the makings of a list, one a row, as CSV
// (RFC 4180) with a header in English, for other programs.
func (s *Server) exportMakings(q *request) error {
	f, _ := q.makingFilter()
	q.attach("firlot-makings.csv", "text/csv; charset=utf-8")
	c := csv.NewWriter(q.w)
	if err := c.Write([]string{"making", "mix", "mix_version", "state", "batch_lot", "who", "started", "finished", "best_before", "event", "kind", "at", "ingredient", "grams", "bowl", "round", "lot", "lot_from", "taken_back", "short_g", "by", "note"}); err != nil {
		return err
	}
	lots := map[store.ID]store.Lot{}
	for n := 0; n < mostExport; {
		list, err := s.Store.Makings(q.Context(), f)
		if err != nil {
			return err
		}
		for _, m := range list {
			if err := s.exportMaking(q, c, m.ID, lots); err != nil {
				return err
			}
		}
		if n += len(list); len(list) < f.Most {
			break
		}
		f.After = list[len(list)-1].ID
	}
	c.Flush()
	return c.Error()
}

func (s *Server) exportMaking(q *request, c *csv.Writer, id store.ID, lots map[store.ID]store.Lot) error {
	m, err := s.Store.Making(q.Context(), id)
	if err != nil {
		return err
	}
	gone := map[string]bool{}
	for _, e := range m.Events {
		if e.Kind == store.KindTakeBack {
			gone[e.Of] = true
		}
	}
	stamp := func(t time.Time) string {
		if t.IsZero() {
			return ""
		}
		return t.UTC().Format(time.RFC3339)
	}
	head := []string{string(m.ID), m.MixName, strconv.Itoa(m.MixVersion), m.State, m.Lot, m.Who, stamp(m.Started), stamp(m.Finished), m.BestBefore}
	for _, e := range m.Events {
		l, known := lots[e.Lot]
		if e.Lot != "" && !known {
			if l, err = s.Store.Lot(q.Context(), e.Lot); err != nil {
				return err
			}
			lots[e.Lot] = l
		}
		row := append(append([]string(nil), head...), strconv.FormatInt(e.Seq, 10), e.Kind, stamp(e.At), e.Ref, plainGrams(e.Mg), strconv.Itoa(e.Bowl), strconv.Itoa(e.Round),
			l.Code, l.From, strconv.FormatBool(gone[e.Key]), plainGrams(e.ShortMg), e.By, e.Note)
		if err := c.Write(cells(row)); err != nil {
			return err
		}
	}
	return nil
}

// plainGrams is a mass for programs: grams with a point, whatever the language.
func plainGrams(mg int64) string {
	return strconv.FormatFloat(float64(mg)/1000, 'f', -1, 64)
}

// cells keeps a spreadsheet from taking a keeper's words for a formula: a text
// that begins like one gets an apostrophe (OWASP, CSV injection).
func cells(row []string) []string {
	for i, x := range row {
		if x != "" && (x[0] == '=' || x[0] == '+' || x[0] == '@' || x[0] == '-' || x[0] == '\t' || x[0] == '\r') {
			row[i] = "'" + x
		}
	}
	return row
}

func isTaken(err error) bool { return errors.Is(err, store.ErrTaken) }

func sortedByPoured(lines []making.LineState) []making.LineState {
	out := slices.Clone(lines)
	slices.SortStableFunc(out, func(a, b making.LineState) int { return cmp.Compare(b.Poured, a.Poured) })
	return out
}
