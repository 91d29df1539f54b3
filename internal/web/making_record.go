package web

import (
	"html/template"
	"math"
	"net/http"
	"strings"
	"time"
	"unicode/utf8"

	"firlot/internal/store"
	"firlot/making"
	"firlot/nutrient"
)

// recordView is a making that is closed: what was made of what, when, by whom.
type recordView struct {
	Making   store.Making
	Bowl     *bowlView
	State    string
	Started  string
	Finished string
	Log      []logLine
	Lots     []lotMass
	Lot      field
	Before   field
	Who      field
	Note     field
	Trouble  string
	Done     bool // finished, so that there is a label
}

// logLine is an entry of the log in words.
type logLine struct {
	Time, Text string
	Bag        *lotRow
	Gone       bool   // it was taken back
	Short      string // more than the shelf had
	By         string
}

func (s *Server) showRecord(q *request, x *weighing) error {
	return s.recordPage(q, http.StatusOK, x, map[string]string{}, "")
}

func (s *Server) recordPage(q *request, status int, x *weighing, errs map[string]string, trouble string) error {
	w := q.words
	v := &recordView{Making: x.Making, Bowl: s.bowl(q, x), State: w.T("making_state_" + x.State), Started: stamp(x.Started), Finished: stamp(x.Finished), Trouble: trouble, Done: x.State == store.StateFinished}
	var err error
	if v.Log, err = s.logLines(q, x); err != nil {
		return err
	}
	uses, err := s.Store.LotsOfMaking(q.Context(), x.ID)
	if err != nil {
		return err
	}
	shelves := q.shelvesKept()
	for _, u := range uses {
		v.Lots = append(v.Lots, lotMass{s.lotRow(w, u.Lot, shelves), w.Mass(nutrient.Mass(u.Mg))})
	}
	typed := func(name, kept string) string {
		if len(errs) > 0 {
			return q.value(name)
		}
		return kept
	}
	v.Lot = field{Name: "lot", Label: w.T("finish_lot"), Value: typed("lot", x.Lot), Error: errs["lot"]}
	v.Before = field{Name: "best_before", Label: w.T("lot_bestbefore"), Value: typed("best_before", x.BestBefore), Error: errs["best_before"], Mode: "date"}
	v.Who = field{Name: "who", Label: w.T("start_who"), Value: typed("who", x.Who)}
	v.Note = field{Name: "note", Label: w.T("label_note"), Value: typed("note", x.Note)}
	title := x.MixName
	if x.Lot != "" {
		title = w.T("batch_lot", "Lot", x.Lot) + ": " + x.MixName
	}
	return q.show(status, "record", "making", title, v)
}

// stamp is a moment on this machine's clock; nothing for none.
func stamp(t time.Time) string {
	if t.IsZero() {
		return ""
	}
	return t.Local().Format("2006-01-02 15:04")
}

func (s *Server) logLines(q *request, x *weighing) ([]logLine, error) {
	gone := map[string]bool{}
	for _, e := range x.Events {
		if e.Kind == store.KindTakeBack {
			gone[e.Of] = true
		}
	}
	devices := map[store.ID]string{}
	if list, err := s.Store.Devices(q.Context()); err == nil {
		for _, d := range list {
			devices[d.ID] = d.Name
		}
	}
	shelves := q.shelvesKept()
	lots := map[store.ID]lotRow{}
	var list []logLine
	for _, e := range x.Events {
		l := logLine{Time: clock(e.At), Text: x.logText(q.words, e), Gone: gone[e.Key], By: e.By}
		if name := devices[e.Device]; name != "" && name != e.By {
			l.By = q.words.And(nonEmpty(e.By, name))
		}
		if e.Lot != "" {
			row, ok := lots[e.Lot]
			if !ok {
				lot, err := s.Store.Lot(q.Context(), e.Lot)
				if err != nil {
					return nil, err
				}
				row = s.lotRow(q.words, lot, shelves)
				lots[e.Lot] = row
			}
			l.Bag = &row
		}
		if e.ShortMg > 0 {
			l.Short = q.words.Mass(nutrient.Mass(e.ShortMg))
		}
		list = append(list, l)
	}
	return list, nil
}

func nonEmpty(list ...string) []string {
	var out []string
	for _, s := range list {
		if s != "" {
			out = append(out, s)
		}
	}
	return out
}

func (x *weighing) logText(w *words, e store.Event) string {
	name, mass := x.name(w, e.Ref), w.Mass(nutrient.Mass(e.Mg))
	switch e.Kind {
	case store.KindPour:
		text := w.T("log_pour", "Mass", mass, "Name", name)
		if x.Began.Bowls > 1 {
			text = w.T("log_pour_bowl", "Mass", mass, "Name", name, "Bowl", max(e.Bowl, 1))
		}
		if e.Note != "" {
			text += ", " + w.T("log_typed", "Name", e.Note)
		}
		return text
	case store.KindTakeBack:
		if of := x.has(e.Of); of != nil && of.Kind == store.KindEmpty {
			return w.T("log_back_empty", "Name", x.name(w, of.Ref))
		}
		return w.T("log_back")
	case store.KindEmpty:
		if e.TookMg > 0 {
			return w.T("log_empty_count", "Name", name, "Mass", w.Mass(nutrient.Mass(e.TookMg)))
		}
		return w.T("log_empty", "Name", name)
	case string(making.Replan):
		return w.T("log_replan")
	}
	return e.Note
}

// saveRecord changes what stands about a closed making, or opens it again.
func (s *Server) saveRecord(q *request) error {
	if err := q.form(); err != nil {
		return err
	}
	x, err := s.weighing(q.Context(), q.id())
	if err != nil {
		return err
	}
	if q.value("do") == "reopen" {
		if _, err := s.Store.ReopenMaking(q.Context(), x.ID, q.rev()); err != nil {
			return err
		}
		return q.see(makingPath(x.ID))
	}
	errs := map[string]string{}
	m := x.Making
	m.Rev = q.rev()
	m.Lot, m.Who, m.Note, m.BestBefore = clip(q.value("lot"), 100), clip(q.value("who"), 200), clip(q.value("note"), 2000), q.value("best_before")
	if m.Lot == "" && x.State == store.StateFinished {
		errs["lot"] = q.words.T("need_lot")
	}
	if _, err := time.Parse(time.DateOnly, m.BestBefore); m.BestBefore != "" && err != nil {
		errs["best_before"] = q.words.T("need_day")
	}
	if len(errs) == 0 {
		_, err = s.Store.SaveMaking(q.Context(), m)
		if isTaken(err) {
			errs["lot"] = q.words.T("lot_taken")
		} else if err != nil {
			return err
		}
	}
	if len(errs) > 0 {
		return s.recordPage(q, http.StatusUnprocessableEntity, x, errs, "")
	}
	return q.see(makingPath(x.ID) + "?said=saved")
}

// labelView is the label of a jar.
type labelView struct {
	Making   store.Making
	For      string // species and stage
	Mass     string
	Day      string
	Sheet    bool // on a sheet of paper, to be cut out
	QR       template.HTML
	Cautions []string
	Holds    string // the ingredients, the most of it first
	Points   int    // the size of its letters on label paper
}

// label is what is stuck to the jar. Its code holds the words themselves, so
// that any reader shows them, also far from this machine.
func (s *Server) label(q *request) error {
	x, err := s.weighing(q.Context(), q.id())
	if err != nil {
		return err
	}
	if x.State != store.StateFinished {
		return q.see(makingPath(x.ID))
	}
	w := q.words
	v := &labelView{Making: x.Making, Mass: w.Mass(x.Now.Poured), Day: w.Day(x.Finished.Local()), Sheet: q.URL.Query().Get("paper") == "sheet"}
	if x.Plan != nil && x.Plan.Species != nil {
		v.For = w.T("who", "Species", w.Species(x.Plan.Species), "Stage", w.Stage(x.Plan.Stage))
	}
	v.Holds = x.holds(w)
	v.Cautions = []string{w.T("label_part"), w.T("label_look"), w.T("label_vet")}
	if v.QR, err = qrPicture(x.qrText(w), w.T("label_qr", "Lot", x.Lot)); err != nil {
		return err
	}
	v.Points = labelPoints(x.MixName, v.For, v.Holds, strings.Join(v.Cautions, " "))
	return q.show(http.StatusOK, "label", "making", w.T("label_title", "Lot", x.Lot), v)
}

// labelPoints is the size of a label's letters with which its text fits paper
// of 100 by 70 mm: 9 points, down to 5 where there is much of it. Letters of
// the widest of the usual fonts are 0.58 of their size across, bold ones 0.65.
func labelPoints(name, who, holds, cautions string) int {
	const wide, beside, high = 91.0, 64.0, 61.0 // mm: all across, beside the code, from top to bottom
	lines := func(text string, across, letter float64) float64 {
		return math.Ceil(float64(utf8.RuneCountInString(text)) * 1.1 * letter / across) // a line is not filled to its end
	}
	points := 9
	for ; points > 5; points-- {
		em := float64(points) * 25.4 / 72
		title := lines(name, beside, .65*1.444*em) * 1.1 * 1.444 * em
		facts := (lines(who, beside, .58*em) + 4) * 1.25 * em
		rest := lines(holds, wide, .58*em)*1.25*em + lines(cautions, wide, .58*.833*em)*1.25*.833*em
		if max(title+facts+4, 24)+rest+4 <= high {
			break
		}
	}
	return points
}

// qrText is what the code of a jar says.
func (x *weighing) qrText(w *words) string {
	text := w.T("batch_lot", "Lot", x.Lot) + "\n" + clip(x.MixName, 100) + "\n" + w.T("label_made", "Day", w.Day(x.Finished.Local()))
	if x.BestBefore != "" {
		text += "\n" + w.T("lot_best_before", "Day", x.BestBefore)
	}
	return text
}

// holds lists what is in the batch, the most of it first.
func (x *weighing) holds(w *words) string {
	lines := sortedByPoured(x.Now.Lines)
	var names []string
	for _, l := range lines {
		if l.Poured > 0 {
			names = append(names, x.name(w, l.Ref))
		}
	}
	return w.And(names)
}
