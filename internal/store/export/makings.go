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
	"ingredient_lot", "lot_from", "planned_g", "replanned_g", "poured_g", "taken_back_g", "short_g", "bowl", "round", "at", "who", "device",
	"note", "made_by", "making_note"}

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
		for _, l := range lines(m) {
			if err := out.Write(l.cells(m, o)); err != nil {
				return err
			}
		}
	}
	out.Flush()
	return out.Error()
}

// From writes the table of the makings of a store that a filter picks, with
// the store's lots and devices.
func From(ctx context.Context, w io.Writer, s store.Store, f store.MakingFilter, o Options) error {
	o.Lots, o.Devices = map[store.ID]store.Lot{}, map[store.ID]store.Device{}
	devices, err := s.Devices(ctx)
	if err != nil {
		return err
	}
	for _, d := range devices {
		o.Devices[d.ID] = d
	}
	for page := (store.LotFilter{Most: store.MostPage}); ; {
		lots, err := s.Lots(ctx, page)
		if err != nil {
			return err
		}
		for _, l := range lots {
			o.Lots[l.ID], page.After = l, l.ID
		}
		if len(lots) < page.Most {
			return Makings(w, All(ctx, s, f), o)
		}
	}
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

// lines puts a making in order. A start or a log that cannot be read leaves
// what was poured, without a plan.
func lines(m store.Making) []line {
	taken := map[string]bool{}
	var order []string
	byRef := map[string][]line{}
	place := func(ref string) string {
		if _, there := byRef[ref]; !there {
			order, byRef[ref] = append(order, ref), nil
		}
		return ref
	}
	plan, called := planOf(m)
	for _, l := range plan {
		place(l.Ref)
	}
	var notes []line
	for i := range m.Events {
		switch e := &m.Events[i]; e.Kind {
		case store.KindTakeBack:
			taken[e.Of] = true
		case store.KindPour:
			ref := place(called.line(e.Ref))
			byRef[ref] = append(byRef[ref], line{ref: ref, event: e})
		case string(making.Note):
			notes = append(notes, line{ref: called.line(e.Ref), event: e})
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
	if out = append(out, notes...); len(out) == 0 {
		out = []line{{}}
	}
	out[0].first = true
	return out
}

// names are the references of a plan by the ids of their ingredients. A shelf
// calls a keeper's own food by its id alone, a plan with its form.
type names map[string]string

func (n names) add(lines []making.Line) {
	for _, l := range lines {
		id, _ := apart(l.Ref)
		n[id] = l.Ref
	}
}

// line is how a plan calls what a shelf calls ref.
func (n names) line(ref string) string {
	if long, known := n[ref]; known {
		return long
	}
	return ref
}

// planOf is what was planned, in the order of pouring; nothing when the start
// or the log is not to be read.
func planOf(m store.Making) ([]making.LineState, names) {
	called := names{}
	start, err := making.DecodeStart([]byte(m.Start))
	if err != nil {
		return nil, called
	}
	called.add(start.Lines)
	var log []making.Event
	empty := map[string]bool{} // jars, which change no plan
	for _, e := range m.Events {
		if empty[e.Key] = e.Kind == store.KindEmpty; empty[e.Key] || empty[e.Of] {
			continue
		}
		x := making.Event{Key: e.Key, Kind: making.Kind(e.Kind), Mass: nutrient.Mass(e.Mg), Bowl: e.Bowl, Round: e.Round, Lot: string(e.Lot), Of: e.Of, Note: e.Note}
		if e.Plan != "" {
			if x.Plan, err = making.DecodePlan([]byte(e.Plan)); err != nil {
				return nil, called
			}
			called.add(x.Plan.Lines)
		}
		x.Ref = called.line(e.Ref)
		log = append(log, x)
	}
	state, err := making.Of(start, log)
	if err != nil {
		return nil, called
	}
	return state.Lines, called
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
	var ingredient, form string
	if l.ref != "" {
		ingredient, form = o.Names(l.ref)
	}
	happened := make([]string, 11) // of the event
	if l.event != nil {
		happened = o.happened(*l.event, l.taken)
	}
	out := []string{text(string(m.ID)), text(m.Lot), m.State, text(m.MixName), number(m.MixVersion), o.time(m.Started), o.time(m.Finished), m.BestBefore,
		text(ingredient), text(form), happened[0], happened[1], o.grams(l.planned), o.grams(l.replanned)}
	out = append(append(out, happened[2:]...), text(m.Who), "")
	if l.first {
		out[len(out)-1] = text(m.Note)
	}
	return out
}

// happened are the cells of an event: its lot and where that is from, poured,
// taken back, short, bowl, round, at, who, device and note, in the order of the
// columns.
func (o Options) happened(e store.Event, taken bool) []string {
	code, from, device := string(e.Lot), "", string(e.Device)
	if x, known := o.Lots[e.Lot]; known {
		code, from = x.Code, x.From
	}
	if x, known := o.Devices[e.Device]; known {
		device = x.Name
	}
	var poured, back, short string
	mg, less := nutrient.Mass(e.Mg), nutrient.Mass(e.ShortMg)
	switch {
	case e.Kind != store.KindPour:
	case taken:
		back = o.grams(&mg)
	default:
		poured = o.grams(&mg)
		if less > 0 {
			short = o.grams(&less)
		}
	}
	return []string{text(code), text(from), poured, back, short, number(e.Bowl), number(e.Round), o.time(e.At), text(e.By), text(device), text(e.Note)}
}

// number writes a count; 0 says nothing.
func number(n int) string {
	if n == 0 {
		return ""
	}
	return strconv.Itoa(n)
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
