package sqlite

import (
	"bytes"
	"errors"
	"fmt"
	"math/rand/v2"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"firlot/internal/store"
)

// TestTornLog: promises 1 and 2 when the power fails. What SQLite had flushed
// when a pour was acknowledged is there; of the sectors that the next one writes
// to the log, each may be written, not written, or noise. This stands in for
// cutting the power as far as files tell; that flushing flushes is the disk's
// affair. The log's header, which is flushed by itself before anything follows
// it, is not torn, and a byte that is not written stays as it is, as SQLite
// takes for granted of disks ("powersafe overwrite").
func TestTornLog(t *testing.T) {
	dir, random := t.TempDir(), rand.New(rand.NewPCG(1, 2))
	s := open(t, dir, Options{extra: "&_pragma=wal_autocheckpoint(300)"}) // written back more often than usual
	m, err := s.StartMaking(t.Context(), store.Making{Start: "{}"})
	if err != nil {
		t.Fatal(err)
	}
	torn, gone, anew := 0, 0, 0
	for n := range 120 {
		before := files(t, dir)
		e := store.Event{Key: fmt.Sprint(n), Kind: store.KindPour, Ref: "oat/groats", Mg: 1, Note: strings.Repeat("x", random.IntN(9000))}
		if _, err := s.AppendEvent(t.Context(), m.ID, e); err != nil {
			t.Fatal(err)
		}
		after := files(t, dir)
		if !bytes.Equal(before.db, after.db) {
			continue // the log was written back, which begins when it is flushed
		}
		got := snapshot{before.db, tear(random, before.log, after.log)}.events(t)
		if got != n && got != n+1 {
			t.Fatalf("%d events after a torn write; %d were acknowledged before it", got, n)
		}
		torn++
		if got == n {
			gone++
		}
		if !bytes.HasPrefix(after.log, before.log) {
			anew++
		}
	}
	t.Logf("%d torn writes, %d of them lost what was not acknowledged, %d in a log that was begun anew", torn, gone, anew)
	if torn < 80 || gone < 40 || torn-gone < 10 || anew < 10 {
		t.Error("this tested too little")
	}
}

// snapshot is a database and its log as they lie on disk.
type snapshot struct{ db, log []byte }

func files(t *testing.T, dir string) snapshot {
	t.Helper()
	db, err1 := os.ReadFile(filepath.Join(dir, fileName))
	log, err2 := os.ReadFile(filepath.Join(dir, fileName+"-wal"))
	if err := errors.Join(err1, err2); err != nil {
		t.Fatal(err)
	}
	return snapshot{db, log}
}

// tear leaves of what was written to a log some sectors out, and makes noise of
// some.
func tear(random *rand.Rand, before, after []byte) []byte {
	const sector, header = 512, 32
	one := 12 << random.IntN(7) // in so many sectors is torn either way
	out := bytes.Clone(after)
	old := append(bytes.Clone(before), make([]byte, max(len(after)-len(before), 0))...)
	copy(old[:header], after)
	for at := 0; at < len(out); at += sector {
		end := min(at+sector, len(out))
		if bytes.Equal(out[at:end], old[at:end]) {
			continue
		}
		switch random.IntN(one) {
		case 0:
			copy(out[at:end], old[at:end])
		case 1:
			for i := at; i < end; i++ {
				if out[i] != old[i] {
					out[i] = byte(random.Uint32())
				}
			}
		}
	}
	return out
}

// events opens a copy and counts what is in it.
func (x snapshot) events(t *testing.T) int {
	t.Helper()
	dir := t.TempDir()
	writeFile(t, filepath.Join(dir, fileName), x.db)
	writeFile(t, filepath.Join(dir, fileName+"-wal"), x.log)
	s := open(t, dir, Options{})
	whole(t, s)
	list, err := s.Makings(t.Context(), store.MakingFilter{})
	if err != nil || len(list) != 1 {
		t.Fatalf("%d makings: %v", len(list), err)
	}
	m, err := s.Making(t.Context(), list[0].ID)
	if err := errors.Join(err, s.Close()); err != nil {
		t.Fatal(err)
	}
	return len(m.Events)
}
