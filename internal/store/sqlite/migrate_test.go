package sqlite

import (
	"bytes"
	"context"
	"database/sql"
	"errors"
	"flag"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"firlot/internal/store"
)

// golden writes the database of the newest version, when there is none yet:
//
//	go test ./internal/store/sqlite -run TestMigrations -golden
//
// Those of earlier versions are never written again: they are what keepers
// have on their disks.
var golden = flag.Bool("golden", false, "write the golden database of the newest schema version if there is none")

// TestMigrations opens the database of every schema version there has been and
// finds everything in it. testdata/v1.sql is a database of version 1 as SQL,
// v1.lines its backup without the first and last line.
func TestMigrations(t *testing.T) {
	s := open(t, t.TempDir(), Options{})
	last, err := newest(s.write.db)
	if err != nil {
		t.Fatal(err)
	}
	for version := int64(1); version <= last; version++ {
		text, err := os.ReadFile(fmt.Sprintf("testdata/v%d.sql", version))
		if errors.Is(err, os.ErrNotExist) && version == last && *golden {
			text, err = writeGolden(t, version), nil
		}
		if err != nil {
			t.Fatal(err)
		}
		t.Run(fmt.Sprint("from ", version), func(t *testing.T) { migrateFrom(t, version, string(text)) })
	}
}

func migrateFrom(t *testing.T, version int64, text string) {
	dir := t.TempDir()
	run(t, filepath.Join(dir, fileName), text)
	unchanged(t, version, filepath.Join(dir, fileName))
	s := open(t, dir, Options{})
	whole(t, s)
	want, err := os.ReadFile(fmt.Sprintf("testdata/v%d.lines", version))
	if err != nil {
		t.Fatal(err)
	}
	if d := cmp.Diff(strings.SplitAfter(string(want), "\n"), strings.SplitAfter(unpacked(t, backupOf(t, s)), "\n")); d != "" {
		t.Errorf("content (- before, + after):\n%s", d)
	}

	// What could be taken back and done again still can.
	list, err := s.Mixes(t.Context(), store.Filter{Text: "skerra winter"})
	if err != nil || len(list) != 1 {
		t.Fatalf("%v, %v", list, err)
	}
	m, err := s.Mix(t.Context(), list[0].ID)
	for _, step := range []struct {
		do   func() (store.Mix, error)
		want string
	}{
		{func() (store.Mix, error) { return s.UndoMix(t.Context(), m.ID, m.Rev) }, "first\n"},
		{func() (store.Mix, error) { return s.RedoMix(t.Context(), m.ID, m.Rev) }, "second\n"},
		{func() (store.Mix, error) { return s.RedoMix(t.Context(), m.ID, m.Rev) }, "third\n"},
	} {
		if err != nil {
			t.Fatal(err)
		}
		if m, err = step.do(); m.Document != step.want {
			t.Errorf("step to %q, want %q: %v", m.Document, step.want, err)
		}
	}
}

// Names that an older Firlot folded another way are folded anew when it opens.
// Of two lots that come to be the same one stays as it was.
func TestFoldedAnew(t *testing.T) {
	dir := t.TempDir()
	s := open(t, dir, Options{})
	populate(t, s)
	other, err := s.StartMaking(t.Context(), store.Making{Lot: "other"})
	if err := errors.Join(err, s.Close()); err != nil {
		t.Fatal(err)
	}
	file := filepath.Join(dir, fileName)
	if got := rowsOf(t, file, "PRAGMA user_version"); got[0] != fmt.Sprint(foldMark()) {
		t.Errorf("marked %v, not %d", got, foldMark())
	}
	run(t, file, "UPDATE mix SET folded = 'odd'; UPDATE shelf SET folded = 'odd'; UPDATE feeding_group SET folded = 'odd'; UPDATE lot SET folded = 'odd', folded_code = 'odd';"+
		"UPDATE making SET folded = 'odd', folded_lot = CASE WHEN lot = 'other' THEN 'x' ELSE '' END; PRAGMA user_version = 1")
	s = open(t, dir, Options{})
	whole(t, s)
	if got, err := s.Mixes(t.Context(), store.Filter{Text: "SKERRA"}); err != nil || len(got) != 1 {
		t.Errorf("%v, %v", got, err)
	}
	if err := s.Close(); err != nil {
		t.Fatal(err)
	}
	run(t, file, "UPDATE making SET lot = '260331-A' WHERE id = '"+string(other.ID)+"'; PRAGMA user_version = 1")
	s = open(t, dir, Options{})
	if got, err := s.Makings(t.Context(), store.MakingFilter{Lot: "260331 a"}); err != nil || len(got) != 1 {
		t.Errorf("%v, %v", got, err)
	}
}

// unchanged: the migrations up to a version still make what they made when
// that version was the newest. Only new ones may be added.
func unchanged(t *testing.T, version int64, file string) {
	t.Helper()
	fresh := filepath.Join(t.TempDir(), fileName)
	db, err := sql.Open("sqlite", address(fresh, writing))
	if err != nil {
		t.Fatal(err)
	}
	p, err := provider(db)
	if err == nil {
		_, err = p.UpTo(t.Context(), version)
	}
	if err := errors.Join(err, db.Close()); err != nil {
		t.Fatal(err)
	}
	if d := cmp.Diff(schema(t, file), schema(t, fresh)); d != "" {
		t.Errorf("version %d (- as it was, + as the migrations make it now):\n%s", version, d)
	}
}

// rowsOf returns the one column of a query.
func rowsOf(t *testing.T, file, query string) []string {
	t.Helper()
	db, err := sql.Open("sqlite", address(file, looking))
	if err != nil {
		t.Fatal(err)
	}
	defer db.Close()
	rows, err := db.QueryContext(t.Context(), query)
	if err != nil {
		t.Fatal(err)
	}
	defer rows.Close()
	var list []string
	for rows.Next() {
		var text string
		if err := rows.Scan(&text); err != nil {
			t.Fatal(err)
		}
		list = append(list, text)
	}
	if err := rows.Err(); err != nil {
		t.Fatal(err)
	}
	return list
}

func schema(t *testing.T, file string) []string {
	return rowsOf(t, file, "SELECT sql FROM sqlite_schema WHERE sql IS NOT NULL AND name NOT LIKE 'sqlite_%' ORDER BY type DESC, name")
}

// writeGolden makes the golden database of the invented rescue.
func writeGolden(t *testing.T, version int64) []byte {
	t.Helper()
	dir, at := t.TempDir(), time.Date(2026, 3, 31, 8, 15, 0, 0, time.UTC)
	s := open(t, dir, Options{Now: func() time.Time { at = at.Add(1234567 * time.Microsecond); return at }})
	populate(t, s)
	lines := unpacked(t, backupOf(t, s))
	if err := s.Close(); err != nil {
		t.Fatal(err)
	}
	text := []byte(dump(t, filepath.Join(dir, fileName)))
	for name, content := range map[string][]byte{"sql": text, "lines": []byte(lines)} {
		writeFile(t, fmt.Sprintf("testdata/v%d.%s", version, name), content)
	}
	return text
}

func populate(t *testing.T, s *Store) {
	t.Helper()
	ctx, grams, price := t.Context(), int64(1_500_000), 2.35
	var errs []error
	keep := func(err error) { errs = append(errs, err) }
	keep(s.SetSetting(ctx, "language", "en"))
	g, err := s.SaveGroup(ctx, store.Group{Name: "Long barn, Skerra (invented)", Species: "mongolian-gerbil", Stage: "adult",
		Animals: 5, Note: "one shy\n", Windows: "[[window]]\n", Feeding: "[[animal]]\n", Archived: true})
	keep(err)
	_, err = s.SaveGroup(ctx, store.Group{Name: "Ærø", Born: "2026-02-28"})
	keep(err)
	sh, err := s.SaveShelf(ctx, store.Shelf{Name: "Kitchen", Place: "Skerra", Own: "[[own]]\n", Items: []store.Item{
		{Ref: "oat/groats", CanHave: true, OnHand: &grams, Price: &price, PackMg: &grams, PackCost: &price, Note: "old bag"}, {Ref: "millet/hulled"}}})
	keep(err)
	m, err := s.SaveMix(ctx, store.Mix{Name: "Skerra Winter", Group: g.ID, Shelf: sh.ID, Document: "first\n"})
	keep(err)
	m, err = s.KeepVersion(ctx, m.ID, m.Rev, "as first made")
	keep(err)
	for _, m.Document = range []string{"second\n", "third\n"} {
		m, err = s.SaveMix(ctx, m)
		keep(err)
	}
	m, err = s.KeepVersion(ctx, m.ID, m.Rev, "")
	keep(err)
	_, err = s.UndoMix(ctx, m.ID, m.Rev)
	keep(err)
	_, err = s.SaveMix(ctx, store.Mix{Name: "It's 'old'", Archived: true})
	keep(err)
	keep(populateMakings(ctx, s, m, sh))
	if err := errors.Join(errs...); err != nil {
		t.Fatal(err)
	}
}

// populateMakings adds a finished making with a slip, an open one, lots and
// devices.
func populateMakings(ctx context.Context, s *Store, m store.Mix, sh store.Shelf) error {
	bought := int64(1_500_000)
	phone, err1 := s.PairDevice(ctx, store.Device{Name: "Phone", TokenHash: bytes.Repeat([]byte{0xa5}, 32)})
	lost, err2 := s.PairDevice(ctx, store.Device{Name: "Lost phone", TokenHash: bytes.Repeat([]byte{0x5a}, 32)})
	l, err3 := s.SaveLot(ctx, store.Lot{Ref: "oat/groats", Code: "L-2301/7", From: "Grain merchant, Skerra (invented)", Bought: "2026-03-01",
		BestBefore: "2027-01-31", BoughtMg: &bought, Note: "top shelf\n"})
	_, err4 := s.SaveLot(ctx, store.Lot{Ref: "millet/hulled", Gone: true})
	a, err5 := s.StartMaking(ctx, store.Making{Key: "k1", Mix: m.ID, MixName: m.Name, MixVersion: 2, Shelf: sh.ID, Start: "{}\n", Who: "Ana"})
	b, err6 := s.StartMaking(ctx, store.Making{MixName: "It's 'gone'", Start: "{}"})
	errs := []error{err1, err2, err3, err4, err5, err6}
	for _, e := range []store.Event{
		{Key: "p1", Kind: store.KindPour, Ref: "oat/groats", Mg: 500_000, Bowl: 1, Round: 1, Lot: l.ID, Device: phone.ID, By: "Ana"},
		{Key: "p2", Kind: store.KindPour, Ref: "oat/groats", Mg: 1_200_000, Bowl: 1, Round: 1, Lot: l.ID, Device: lost.ID, By: "Bo"},
		{Key: "t1", Kind: store.KindTakeBack, Of: "p2", Note: "it was the other jar"},
		{Key: "p3", Kind: store.KindPour, Ref: "millet/hulled", Mg: 300_000},
		{Key: "r1", Kind: "replan", Plan: "{\"lines\":[]}"},
	} {
		_, err := s.AppendEvent(ctx, a.ID, e)
		errs = append(errs, err)
	}
	a, err7 := s.Making(ctx, a.ID)
	a.Lot, a.BestBefore, a.Finish = "260331 A", "2026-09-30", "{\"protein\":14}"
	_, err8 := s.FinishMaking(ctx, a)
	_, err9 := s.AppendEvent(ctx, b.ID, store.Event{Key: "p1", Kind: store.KindPour, Ref: "oat/groats", Mg: 1})
	return errors.Join(append(errs, err7, err8, err9, s.RevokeDevice(ctx, lost.ID))...)
}

// dump writes a database as the statements that make it.
func dump(t *testing.T, file string) string {
	t.Helper()
	var text strings.Builder
	fmt.Fprintf(&text, "PRAGMA journal_mode = WAL;\nPRAGMA application_id = %d;\n", appID)
	for _, statement := range schema(t, file) {
		text.WriteString(statement + ";\n")
	}
	for _, table := range rowsOf(t, file, "SELECT name FROM sqlite_schema WHERE type = 'table' AND name NOT LIKE 'sqlite_%' ORDER BY rowid") {
		columns := rowsOf(t, file, "SELECT name FROM pragma_table_info('"+table+"') ORDER BY cid")
		values := "quote(" + strings.Join(columns, ") || ', ' || quote(") + ")"
		for _, row := range rowsOf(t, file, "SELECT "+values+" FROM "+table) {
			fmt.Fprintf(&text, "INSERT INTO %s (%s) VALUES (%s);\n", table, strings.Join(columns, ", "), row)
		}
	}
	return text.String()
}
