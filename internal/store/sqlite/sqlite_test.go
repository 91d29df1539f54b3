package sqlite

import (
	"fmt"
	"os"
	"strings"
	"testing"
	"time"

	"firlot/internal/store"
	"firlot/internal/store/storetest"
)

// TestMain is also the program that TestKill and TestKillMakings kill, and the one that holds the
// lock in TestLockOfAnotherProgram.
func TestMain(m *testing.M) {
	if full := os.Getenv(childFull); full != "" {
		childOnFullDisk(full)
		return
	}
	if dir := os.Getenv(childDir); dir != "" {
		if at := os.Getenv(childMaking); at != "" {
			childAtTheScale(dir, at)
		} else {
			child(dir)
		}
		return
	}
	os.Exit(m.Run())
}

// unsynced leaves out waiting for the disk, of which no test without a power
// cut can tell. TestSettings holds what a program gets.
const unsynced = "&_pragma=synchronous(OFF)"

func open(t testing.TB, dir string, o Options) *Store {
	t.Helper()
	s, err := Open(t.Context(), dir, o)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		if err := s.Close(); err != nil {
			t.Error(err)
		}
	})
	return s
}

func TestConformance(t *testing.T) {
	storetest.Run(t, func(t *testing.T) store.Store { return open(t, t.TempDir(), Options{extra: unsynced}) })
}

// A stopped clock gives many mixes one time; lists then go by ID.
func TestConformanceWithStoppedClock(t *testing.T) {
	at := time.Date(2026, 3, 31, 8, 15, 0, 123456789, time.FixedZone("", 3600))
	storetest.Run(t, func(t *testing.T) store.Store {
		return open(t, t.TempDir(), Options{Now: func() time.Time { return at }, extra: unsynced})
	})
}

// TestSettings: promise 1 rests on these.
func TestSettings(t *testing.T) {
	s := open(t, t.TempDir(), Options{})
	for _, c := range []struct {
		pragma string
		of     func(t *testing.T) *pool
		want   string
	}{
		{"synchronous", s.writer, "2"}, // FULL
		{"journal_mode", s.writer, "wal"},
		{"fullfsync", s.writer, "1"},
		{"checkpoint_fullfsync", s.writer, "1"},
		{"foreign_keys", s.writer, "1"},
		{"busy_timeout", s.writer, "5000"},
		{"query_only", s.reader, "1"},
		{"journal_mode", s.reader, "wal"},
	} {
		if got := pragma(t, c.of(t), c.pragma); got != c.want {
			t.Errorf("%s = %s, want %s", c.pragma, got, c.want)
		}
	}
}

func (s *Store) writer(*testing.T) *pool { return s.write }
func (s *Store) reader(*testing.T) *pool { return s.read }

func pragma(t testing.TB, p *pool, name string) string {
	t.Helper()
	c, err := p.take(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	defer func() { p.free <- c }()
	var value string
	if err := c.sql.QueryRowContext(t.Context(), "PRAGMA "+name).Scan(&value); err != nil {
		t.Fatal(err)
	}
	return value
}

// whole fails unless SQLite finds nothing wrong, indexes and references
// included, every mix stands at one of its steps and the books of every making
// add up.
func whole(t testing.TB, s *Store) {
	t.Helper()
	if got := pragma(t, s.read, "integrity_check"); got != "ok" {
		t.Fatalf("integrity_check: %s", got)
	}
	err := s.look(t.Context(), func(x tx) error {
		var refs, lost, folded int
		if err := x.one("SELECT count(*) FROM pragma_foreign_key_check", nil, &refs); err != nil {
			return err
		}
		err := x.one(`SELECT count(*) FROM mix WHERE (SELECT count(*) FROM mix_step WHERE mix = id AND number BETWEEN oldest AND newest)
			!= newest - oldest + 1 OR version != (SELECT count(*) FROM mix_version WHERE mix = id)`, nil, &lost)
		if err != nil {
			return err
		}
		if err != nil {
			return err
		}
		var books int
		err = x.one(`SELECT count(*) FROM making WHERE poured_mg != `+pouredInto+` OR folded_lot != '' AND lot = ''
			OR events != (SELECT count(*) FROM making_event e WHERE e.making = making.id)
			OR events != (SELECT coalesce(max(seq), 0) FROM making_event e WHERE e.making = making.id)
			OR NOT EXISTS (SELECT 1 FROM making_document d WHERE d.making = making.id)`, nil, &books)
		if err != nil {
			return err
		}
		lost += books
		err = x.each("SELECT name, folded FROM mix UNION ALL SELECT name, folded FROM shelf UNION ALL SELECT name, folded FROM feeding_group"+
			" UNION ALL SELECT lot, folded_lot FROM making UNION ALL SELECT mix_name || ' ' || lot || ' ' || who, folded FROM making"+
			" UNION ALL SELECT code, folded_code FROM lot UNION ALL SELECT code || ' ' || source || ' ' || ref, folded FROM lot", nil,
			func(scan func(...any) error) error {
				var name, has string
				err := scan(&name, &has)
				if store.Fold(name) != has {
					folded++
				}
				return err
			})
		if err == nil && refs+lost+folded > 0 {
			err = fmt.Errorf("%d broken references, %d mixes without their steps or versions or makings whose books do not add up, %d names folded wrongly", refs, lost, folded)
		}
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
}

// The list goes by an index and sorts nothing, with and without a group.
func TestListUsesIndexes(t *testing.T) {
	s := open(t, t.TempDir(), Options{extra: unsynced})
	for _, f := range []store.Filter{{}, {After: "x", AfterAt: time.Now()}, {Group: "g"}, {Group: "g", After: "x", AfterAt: time.Now()}, {Text: "a"}} {
		err := s.look(t.Context(), func(x tx) error {
			text, args, err := x.page(f)
			if err != nil {
				return err
			}
			return x.each("EXPLAIN QUERY PLAN "+text, args, func(scan func(...any) error) error {
				var id, parent, unused int
				var step string
				if err := scan(&id, &parent, &unused, &step); err != nil {
					return err
				}
				if !strings.Contains(step, "SEARCH mix USING INDEX mix_by_") || f.After != "" && !strings.Contains(step, "(changed,id)<") {
					t.Errorf("%+v: %s", f, step)
				}
				return nil
			})
		})
		if err != nil {
			t.Fatal(err)
		}
	}
}
