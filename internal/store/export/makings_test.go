package export

import (
	"bytes"
	"encoding/csv"
	"errors"
	"fmt"
	"iter"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"

	"firlot/internal/store"
	"firlot/internal/store/sqlite"
	"firlot/making"
	"firlot/nutrient"
)

var at = time.Date(2026, 3, 31, 8, 15, 0, 999, time.UTC)

func start(t *testing.T, masses ...making.Line) string {
	t.Helper()
	s := making.Start{Version: making.Version, Bowls: 1, Scale: making.Scale{Step: 100}, Lines: masses}
	for _, l := range masses {
		s.Batch += l.Mass
	}
	text, err := s.JSON()
	if err != nil {
		t.Fatal(err)
	}
	return string(text)
}

// example is a making with a slip, a replan, something left out and a note.
func example(t *testing.T) store.Making {
	t.Helper()
	plan := making.Plan{Version: making.Version, Batch: 811_500, Lines: []making.Line{{Ref: "oat/groats", Mass: 500_500}, {Ref: "millet/hulled", Mass: 310_000}, {Ref: "own-herbs/dried", Mass: 1_000}}}
	text, err := plan.JSON()
	if err != nil {
		t.Fatal(err)
	}
	events := []store.Event{
		{Key: "1", Kind: store.KindPour, Ref: "oat/groats", Mg: 400_000, Bowl: 1, Round: 2, Lot: "l", Device: "d", By: "Ana"},
		{Key: "2", Kind: store.KindPour, Ref: "millet/hulled", Mg: 900_000, By: "Ana"},
		{Key: "3", Kind: store.KindTakeBack, Of: "2"},
		{Key: "4", Kind: store.KindPour, Ref: "oat/groats", Mg: 100_500, Lot: "unknown", ShortMg: 500, Note: "the last of it, \"really\""},
		{Key: "5", Kind: string(making.Replan), Plan: string(text)},
		{Key: "6", Kind: store.KindEmpty, Ref: "oat/groats"},
		{Key: "7", Kind: string(making.Note), Note: "bell rang"},
		{Key: "8", Kind: store.KindPour, Ref: "millet/hulled", Mg: 310_007},
		{Key: "9", Kind: store.KindPour, Ref: "own-herbs", Mg: 1_000},
	}
	for i := range events {
		events[i].Seq, events[i].At = int64(i+1), at.Add(time.Duration(i)*time.Minute)
	}
	return store.Making{ID: "k", MixName: "Winter", MixVersion: 3, State: store.StateFinished, Lot: "260331 A", BestBefore: "2026-09-30",
		Who: "Bo", Note: "for the long barn", Started: at, Finished: at.Add(time.Hour), Events: events,
		Start: start(t, making.Line{Ref: "oat/groats", Mass: 500_500}, making.Line{Ref: "millet/hulled", Mass: 300_000}, making.Line{Ref: "own-herbs/dried", Mass: 1_000}, making.Line{Ref: "own-seeds/dried", Mass: 2_000})}
}

func one(list ...store.Making) iter.Seq2[store.Making, error] {
	return func(yield func(store.Making, error) bool) {
		for _, m := range list {
			if !yield(m, nil) {
				return
			}
		}
	}
}

func write(t fataler, o Options, list ...store.Making) string {
	var out strings.Builder
	if err := Makings(&out, one(list...), o); err != nil {
		t.Fatalf("%v", err)
	}
	return out.String()
}

type fataler interface {
	Fatalf(format string, args ...any)
}

// The table of the example, written by hand from the words of the package.
func TestMakings(t *testing.T) {
	o := Options{Zone: time.FixedZone("", 7200), Lots: map[store.ID]store.Lot{"l": {Code: "L-2301/7", From: "Grain merchant"}}, Devices: map[store.ID]store.Device{"d": {Name: "Phone"}}}
	const head = "making,batch_lot,state,mix,mix_version,started,ended,best_before,ingredient,form,ingredient_lot,lot_from," +
		"planned_g,replanned_g,poured_g,taken_back_g,short_g,bowl,round,at,who,device,note,made_by,making_note\r\n"
	const k = "k,260331 A,finished,Winter,3,2026-03-31 10:15:00,2026-03-31 11:15:00,2026-09-30,"
	want := head +
		k + "oat,groats,L-2301/7,Grain merchant,500.5,,400,,,1,2,2026-03-31 10:15:00,Ana,Phone,,Bo,for the long barn\r\n" +
		k + "oat,groats,unknown,,,,100.5,,0.5,,,2026-03-31 10:18:00,,,\"the last of it, \"\"really\"\"\",Bo,\r\n" +
		k + "millet,hulled,,,300,310,,900,,,,2026-03-31 10:16:00,Ana,,,Bo,\r\n" +
		k + "millet,hulled,,,,,310.007,,,,,2026-03-31 10:22:00,,,,Bo,\r\n" +
		k + "own-herbs,dried,,,1,,1,,,,,2026-03-31 10:23:00,,,,Bo,\r\n" +
		k + "own-seeds,dried,,,2,0,,,,,,,,,,Bo,\r\n" +
		k + ",,,,,,,,,,,2026-03-31 10:21:00,,,bell rang,Bo,\r\n"
	if d := cmp.Diff(want, write(t, o, example(t))); d != "" {
		t.Errorf("(- by hand, + written):\n%s", d)
	}
	got := write(t, Options{Dialect: DecimalComma}, example(t))
	if !strings.HasPrefix(got, "\ufeffmaking;batch_lot;") || !strings.Contains(got, ";310,007;") {
		t.Errorf("with decimal commas: %s", got)
	}
	got = write(t, Options{Names: func(ref string) (string, string) { return "Name of " + ref, "f" }}, store.Making{ID: "e", Start: "not to be read",
		Events: []store.Event{{Key: "1", Kind: store.KindPour, Ref: "rye/whole", Mg: 5, At: at}}}, store.Making{ID: "nothing", State: store.StateOpen, Started: at})
	if want := head + "e,,,,,,,,Name of rye/whole,f,,,,,0.005,,,,,2026-03-31 08:15:00,,,,,\r\n" +
		"nothing,,open,,,2026-03-31 08:15:00,,,,,,,,,,,,,,,,,,,\r\n"; got != want {
		t.Errorf("got %s\nwant %s", got, want)
	}
}

// No cell of text is a formula, whoever wrote it and wherever it stands; what
// is between is as it was. Read back by a parser of its own.
func TestNoFormula(t *testing.T) {
	for _, bad := range []string{"=1+1", "+1", "-2+3", "@SUM(A1)", "\tx", "\nx", "＝1", "=HYPERLINK(\"http://x\",\"y\")", "=cmd|' /C calc'!A0"} {
		m := store.Making{ID: store.ID(bad), MixName: bad, Lot: bad, Who: bad, Note: bad, Events: []store.Event{
			{Key: "1", Kind: store.KindPour, Ref: bad + "/" + bad, Mg: 5, Lot: "l", Device: "d", By: bad, Note: bad},
			{Key: "2", Kind: store.KindPour, Ref: "a", Mg: 5, Lot: store.ID(bad), Device: store.ID(bad)}}}
		o := Options{Lots: map[store.ID]store.Lot{"l": {Code: bad, From: bad}}, Devices: map[store.ID]store.Device{"d": {Name: bad}}}
		rows, err := csv.NewReader(strings.NewReader(write(t, o, m))).ReadAll()
		if err != nil {
			t.Fatal(err)
		}
		guarded := 0
		for _, row := range rows {
			for _, cell := range row {
				if cell != "" && strings.ContainsRune("=+-@\t\r\n＝＋－＠", []rune(cell)[0]) {
					t.Errorf("%q is in a cell", cell)
				}
				if cell == "'"+bad {
					guarded++
				}
			}
		}
		if guarded < 13 && !strings.ContainsAny(bad, "/") {
			t.Errorf("%q stands in %d cells", bad, guarded)
		}
	}
}

// The columns add up to what the store says was poured, whatever happened.
func TestSums(t *testing.T) {
	first := start(t, making.Line{Ref: "oat", Mass: 1000})
	rapid.Check(t, func(t *rapid.T) {
		m := store.Making{ID: "k", Start: first}
		var poured, back int64
		gone := map[int]bool{}
		for i := range rapid.IntRange(0, 12).Draw(t, "events") {
			if of := rapid.IntRange(0, 30).Draw(t, "of"); of < len(m.Events) && !gone[of] && m.Events[of].Kind == store.KindPour {
				gone[of] = true
				m.Events = append(m.Events, store.Event{Key: fmt.Sprint(i), Kind: store.KindTakeBack, Of: m.Events[of].Key})
				poured, back = poured-m.Events[of].Mg, back+m.Events[of].Mg
				continue
			}
			e := store.Event{Key: fmt.Sprint(i), Kind: store.KindPour, Ref: rapid.SampledFrom([]string{"oat", "rye"}).Draw(t, "ref"), Mg: rapid.Int64Range(1, 5e7).Draw(t, "mg")}
			m.Events = append(m.Events, e)
			poured += e.Mg
		}
		rows, err := csv.NewReader(strings.NewReader(write(t, Options{}, m))).ReadAll()
		if err != nil {
			t.Fatalf("%v", err)
		}
		sum := func(column string) int64 {
			var mg int64
			for i, name := range rows[0] {
				for _, row := range rows[1:] {
					if name == column && row[i] != "" {
						g, err := strconv.ParseFloat(row[i], 64)
						if err != nil {
							t.Fatalf("%v", err)
						}
						mg += int64(g*1000 + 0.5)
					}
				}
			}
			return mg
		}
		if got := []int64{sum("planned_g"), sum("poured_g"), sum("taken_back_g")}; !cmp.Equal(got, []int64{1000, poured, back}) {
			t.Fatalf("sums %v, want 1000, %d and %d", got, poured, back)
		}
	})
}

// From and All go through every page, and an error on the way is told.
func TestFromAStore(t *testing.T) {
	s, err := sqlite.Open(t.Context(), t.TempDir(), sqlite.Options{})
	if err != nil {
		t.Fatal(err)
	}
	defer func() {
		if err := s.Close(); err != nil {
			t.Error(err)
		}
	}()
	for i := range store.MostPage + 3 {
		if _, err := s.StartMaking(t.Context(), store.Making{MixName: fmt.Sprint(i)}); err != nil {
			t.Fatal(err)
		}
	}
	var out bytes.Buffer
	if err := Makings(&out, All(t.Context(), s, store.MakingFilter{Most: 1}), Options{}); err != nil {
		t.Fatal(err)
	}
	if n := strings.Count(out.String(), "\r\n"); n != store.MostPage+4 {
		t.Errorf("%d lines", n)
	}
	if err := Makings(&out, All(t.Context(), s, store.MakingFilter{State: "odd"}), Options{}); !errors.Is(err, store.ErrInvalid) {
		t.Errorf("error %v", err)
	}
	phone, err1 := s.PairDevice(t.Context(), store.Device{Name: "Phone", TokenHash: make([]byte, 32)})
	var last store.Lot
	for i := range store.MostPage + 3 {
		if last, err = s.SaveLot(t.Context(), store.Lot{Ref: "oat/groats", Code: fmt.Sprint("L-", i)}); err != nil {
			t.Fatal(err)
		}
	}
	first, err2 := s.Lots(t.Context(), store.LotFilter{Code: "L-0"})
	k, err3 := s.StartMaking(t.Context(), store.Making{MixName: "Winter"})
	if err := errors.Join(err1, err2, err3); err != nil {
		t.Fatal(err)
	}
	for i, lot := range []store.ID{first[0].ID, last.ID} {
		e := store.Event{Key: fmt.Sprint(i), Kind: store.KindPour, Ref: "oat/groats", Mg: 1500, Lot: lot, Device: phone.ID}
		if _, err := s.AppendEvent(t.Context(), k.ID, e); err != nil {
			t.Fatal(err)
		}
	}
	out.Reset()
	if err := From(t.Context(), &out, s, store.MakingFilter{Text: "winter"}, Options{}); err != nil {
		t.Fatal(err)
	}
	rows, err := csv.NewReader(&out).ReadAll()
	if err != nil || len(rows) != 3 {
		t.Fatalf("%q: %v", rows, err)
	}
	for i, code := range []string{"L-0", "L-202"} {
		if row := strings.Join(rows[i+1], ","); !strings.Contains(row, ",oat,groats,"+code+",,,,1.5,") || !strings.Contains(row, ",Phone,") {
			t.Errorf("%s", row)
		}
	}
	broken := errors.New("the line went dead")
	if err := Makings(failing{broken}, one(example(t)), Options{}); !errors.Is(err, broken) {
		t.Errorf("error %v", err)
	}
}

type failing struct{ err error }

func (f failing) Write([]byte) (int, error) { return 0, f.err }

// Grams are exact for every mass that can be kept.
func TestGrams(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		mg := nutrient.Mass(rapid.Int64Range(0, store.MostMg).Draw(t, "mg"))
		whole, part, _ := strings.Cut(Options{Dialect: Plain}.grams(&mg), ".")
		back, err := strconv.ParseInt(whole+(part + "000")[:3], 10, 64)
		if err != nil || nutrient.Mass(back) != mg || strings.HasSuffix(part, "0") {
			t.Fatalf("%d mg as %s.%s", mg, whole, part)
		}
	})
}
