package export

import (
	"context"
	"encoding/csv"
	"errors"
	"io"
	"iter"
	"strconv"
	"strings"
	"time"

	"firlot/internal/store"
	"firlot/making"
	"firlot/nutrient"
)

// Dialect is how cells are set apart and numbers written.
type Dialect struct {
	Comma rune // between cells
	Point byte // in numbers
	Mark  bool // a byte order mark first, by which some spreadsheets know UTF-8
}

// The dialects. Spreadsheets of countries with a decimal comma open a file
// with semicolons and decimal commas without asking.
var (
	Plain        = Dialect{Comma: ',', Point: '.'} // RFC 4180, for programs
	DecimalPoint = Dialect{Comma: ',', Point: '.', Mark: true}
	DecimalComma = Dialect{Comma: ';', Point: ',', Mark: true}
)

// Options are how the table is written.
type Options struct {
	Dialect Dialect // the zero value is Plain
	// Zone is that of the times; nil is UTC.
	Zone *time.Location
	// Names gives the words for a reference; nil takes the reference apart.
	Names func(ref string) (ingredient, form string)
	// Lots and Devices are what the makings name. One that is missing leaves
	// its id.
	Lots    map[store.ID]store.Lot
	Devices map[store.ID]store.Device
}

// Columns are the names of the columns in their order.
var Columns = []string{"making", "batch_lot", "state", "mix", "mix_version", "started", "ended", "best_before", "ingredient", "form",
	"ingredient_lot", "planned_g", "replanned_g", "poured_g", "taken_back_g", "at", "who", "device", "note", "making_note"}

// Makings writes a table of makings. It stops at the first error, of the
// makings or of the writer.
func Makings(w io.Writer, makings iter.Seq2[store.Making, error], o Options) error {
	if o.Dialect == (Dialect{}) {
		o.Dialect = Plain
	}
	if o.Zone == nil {
		o.Zone = time.UTC
	}
	if o.Names == nil {
		o.Names = apart
	}
	if o.Dialect.Mark {
		if _, err := io.WriteString(w, "\ufeff"); err != nil {
			return err
		}
	}
	out := csv.NewWriter(w)
	out.Comma, out.UseCRLF = o.Dialect.Comma, true
	if err := out.Write(Columns); err != nil {
		return err
	}
	for m, err := range makings {
		if err != nil {
			return err
		}
		for _, l := range lines(m, o) {
			if err := out.Write(l.cells(m, o)); err != nil {
				return err
			}
		}
	}
	out.Flush()
	return out.Error()
}

// All hands over the makings that a filter picks, page by page, with their
// events. f.After and f.Most are its own.
func All(ctx context.Context, s store.Makings, f store.MakingFilter) iter.Seq2[store.Making, error] {
	f.After, f.Most = "", store.MostPage
	return func(yield func(store.Making, error) bool) {
		for {
			page, err := s.Makings(ctx, f)
			if err != nil {
				yield(store.Making{}, err)
				return
			}
			for _, x := range page {
				m, err := s.Making(ctx, x.ID)
				if errors.Is(err, store.ErrNotFound) {
					continue // deleted since the page was read
				}
				if !yield(m, err) || err != nil {
					return
				}
				f.After = x.ID
			}
			if len(page) < store.MostPage {
				return
			}
		}
	}
}

// line is one line of the table.
type line struct {
	ref                string
	planned, replanned *nutrient.Mass
	event              *store.Event // the pour or the note
	taken              bool
	first              bool // of its making
}

// lines puts a making in order. A start that cannot be read leaves what was
// poured, without a plan.
func lines(m store.Making, o Options) []line {
	taken := map[string]bool{}
	var order []string
	byRef := map[string][]line{}
	place := func(ref string) {
		if _, there := byRef[ref]; !there {
			order, byRef[ref] = append(order, ref), nil
		}
	}
	plan := planOf(m)
	for _, l := range plan {
		place(l.Ref)
	}
	var notes []line
	for i := range m.Events {
		switch e := &m.Events[i]; e.Kind {
		case store.KindTakeBack:
			taken[e.Of] = true
		case store.KindPour:
			place(e.Ref)
			byRef[e.Ref] = append(byRef[e.Ref], line{ref: e.Ref, event: e})
		case string(making.Note):
			notes = append(notes, line{ref: e.Ref, event: e})
		}
	}
	var out []line
	for _, ref := range order {
		list := byRef[ref]
		if len(list) == 0 {
			list = []line{{ref: ref}}
		}
		list[0].planned, list[0].replanned = planned(plan, ref)
		for i := range list {
			list[i].taken = list[i].event != nil && taken[list[i].event.Key]
		}
		out = append(out, list...)
	}
	out = append(out, notes...)
	if len(out) == 0 {
		out = []line{{}}
	}
	out[0].first = true
	return out
}

// planOf is what was planned, in the order of pouring; nothing when the start
// or an event is not to be read.
func planOf(m store.Making) []making.LineState {
	start, err := making.DecodeStart([]byte(m.Start))
	if err != nil {
		return nil
	}
	log, err := Log(m)
	if err != nil {
		return nil
	}
	state, err := making.Of(start, log)
	if err != nil {
		return nil
	}
	return state.Lines
}

// Log is the log of a making as package making reads it: without what only the
// store and the shelf know, such as an empty jar.
func Log(m store.Making) ([]making.Event, error) {
	var log []making.Event
	own := map[string]bool{}
	for _, e := range m.Events {
		if own[e.Key] = e.Kind == store.KindEmpty; own[e.Key] || own[e.Of] {
			continue
		}
		x := making.Event{Key: e.Key, Kind: making.Kind(e.Kind), Ref: e.Ref, Mass: nutrient.Mass(e.Mg), Bowl: e.Bowl, Round: e.Round,
			Lot: string(e.Lot), Of: e.Of, Note: e.Note, By: e.By}
		if e.Plan != "" {
			plan, err := making.DecodePlan([]byte(e.Plan))
			if err != nil {
				return nil, err
			}
			x.Plan = plan
		}
		log = append(log, x)
	}
	return log, nil
}

// planned is what was planned of an ingredient: at the start, and by the last
// plan where that is another mass. What was not planned is nil.
func planned(plan []making.LineState, ref string) (first, last *nutrient.Mass) {
	for _, l := range plan {
		if l.Ref != ref {
			continue
		}
		if l.Original > 0 {
			first = &l.Original
		}
		if l.Planned != l.Original {
			last = &l.Planned
		}
	}
	return first, last
}

func (l line) cells(m store.Making, o Options) []string {
	var ingredient, form, lot, poured, back, at, who, device, note, beside string
	if l.ref != "" {
		ingredient, form = o.Names(l.ref)
	}
	if e := l.event; e != nil {
		lot, device = string(e.Lot), string(e.Device)
		if x, known := o.Lots[e.Lot]; known {
			lot = x.Code
		}
		if x, known := o.Devices[e.Device]; known {
			device = x.Name
		}
		at, who, note = o.time(e.At), e.By, e.Note
		switch {
		case e.Kind != store.KindPour:
		case l.taken:
			back = o.grams((*nutrient.Mass)(&e.Mg))
		default:
			poured = o.grams((*nutrient.Mass)(&e.Mg))
		}
	}
	if l.first {
		beside = m.Note
	}
	version := ""
	if m.MixVersion > 0 {
		version = strconv.Itoa(m.MixVersion)
	}
	return []string{text(string(m.ID)), text(m.Lot), m.State, text(m.MixName), version, o.time(m.Started), o.time(m.Finished), m.BestBefore,
		text(ingredient), text(form), text(lot), o.grams(l.planned), o.grams(l.replanned), poured, back, at, text(who), text(device),
		text(note), text(beside)}
}

// time writes a time; none is empty.
func (o Options) time(t time.Time) string {
	if t.IsZero() {
		return ""
	}
	return t.In(o.Zone).Format(time.DateTime)
}

// grams writes a mass in grams, exact to the milligram; none is empty.
func (o Options) grams(m *nutrient.Mass) string {
	if m == nil {
		return ""
	}
	mg := int64(*m)
	out := strconv.FormatInt(mg/1000, 10)
	if rest := mg % 1000; rest != 0 {
		digits := strconv.FormatInt(1000+rest, 10)[1:]
		out += string(o.Dialect.Point) + strings.TrimRight(digits, "0")
	}
	return out
}

// text keeps a spreadsheet from calculating what is text.
func text(s string) string {
	if s != "" && strings.ContainsRune("=+-@\t\r\n＝＋－＠", []rune(s)[0]) {
		return "'" + s
	}
	return s
}

// apart takes a reference apart.
func apart(ref string) (ingredient, form string) {
	ingredient, form, _ = strings.Cut(ref, "/")
	return ingredient, form
}
