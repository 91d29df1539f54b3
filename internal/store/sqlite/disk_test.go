package sqlite

import (
	"errors"
	"fmt"
	"path/filepath"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"firlot/internal/store"
)

// Promise 6 with a disk that fills up: SQLite's own limit of pages stands in.
func TestFullDisk(t *testing.T) {
	dir := t.TempDir()
	s := open(t, dir, Options{extra: unsynced + "&_pragma=max_page_count(120)"})
	m, err := s.SaveMix(t.Context(), store.Mix{Name: "a", Document: "0"})
	if err != nil {
		t.Fatal(err)
	}
	for i := 1; err == nil; i++ {
		if i > 1000 {
			t.Fatal("the disk never filled up")
		}
		next := m
		next.Document = strings.Repeat(fmt.Sprint(i, " "), 1000)
		var kept store.Mix
		if kept, err = s.SaveMix(t.Context(), next); err == nil {
			m = kept
		}
	}
	if !errors.Is(err, store.ErrFull) {
		t.Fatalf("error %v, want ErrFull", err)
	}
	_, err = s.SaveShelf(t.Context(), store.Shelf{Name: "b", Own: strings.Repeat("x", 100_000)})
	if !errors.Is(err, store.ErrFull) {
		t.Errorf("shelf: error %v, want ErrFull", err)
	}
	for range 2 { // as it is, and opened again with room
		got, err := s.Mix(t.Context(), m.ID)
		if diff := cmp.Diff(m, got); err != nil || diff != "" {
			t.Fatalf("what was kept (- before, + after): %v\n%s", err, diff)
		}
		whole(t, s)
		if err := s.Close(); err != nil {
			t.Fatal(err)
		}
		s = open(t, dir, Options{})
	}
	m.Document = strings.Repeat("room ", 100_000)
	if _, err := s.SaveMix(t.Context(), m); err != nil {
		t.Errorf("with room again: %v", err)
	}
}

// A restore that does not fit leaves everything as it was.
func TestFullDiskWhileRestoring(t *testing.T) {
	big := open(t, t.TempDir(), Options{extra: unsynced})
	for range 20 {
		if _, err := big.SaveMix(t.Context(), store.Mix{Name: "a", Document: strings.Repeat("x", 50_000)}); err != nil {
			t.Fatal(err)
		}
	}
	file := backupOf(t, big)
	s := open(t, t.TempDir(), Options{extra: unsynced + "&_pragma=max_page_count(120)"})
	m, err := s.SaveMix(t.Context(), store.Mix{Name: "mine"})
	if err != nil {
		t.Fatal(err)
	}
	if err := s.Restore(t.Context(), strings.NewReader(file)); !errors.Is(err, store.ErrFull) {
		t.Errorf("error %v, want ErrFull", err)
	}
	got, err := s.Mix(t.Context(), m.ID)
	if diff := cmp.Diff(m, got); err != nil || diff != "" {
		t.Errorf("what was kept (- before, + after): %v\n%s", err, diff)
	}
	whole(t, s)
}

// Promise 6 with what cannot be written. Permission bits do not hold root, so
// it is a file in the way, and a database opened for reading alone.
func TestUnwritable(t *testing.T) {
	at := filepath.Join(t.TempDir(), "file")
	writeFile(t, at, []byte("in the way"))
	for _, dir := range []string{at, filepath.Join(at, "below")} {
		if _, err := Open(t.Context(), dir, Options{}); !errors.Is(err, store.ErrReadOnly) || !strings.Contains(err.Error(), at) {
			t.Errorf("%s: error %v, want ErrReadOnly and the name", dir, err)
		}
	}

	dir := t.TempDir()
	if _, err := Open(t.Context(), dir, Options{extra: "&mode=ro"}); !errors.Is(err, store.ErrReadOnly) {
		t.Errorf("nothing there yet: error %v, want ErrReadOnly", err)
	}
	s := open(t, dir, Options{})
	m, err := s.SaveMix(t.Context(), store.Mix{Name: "a"})
	if err := errors.Join(err, s.Close()); err != nil {
		t.Fatal(err)
	}
	s = open(t, dir, Options{extra: "&mode=ro"})
	if _, err := s.SaveMix(t.Context(), store.Mix{Name: "b"}); !errors.Is(err, store.ErrReadOnly) {
		t.Errorf("saving: error %v, want ErrReadOnly", err)
	}
	if err := s.DeleteMix(t.Context(), m.ID, m.Rev); !errors.Is(err, store.ErrReadOnly) {
		t.Errorf("deleting: error %v, want ErrReadOnly", err)
	}
	if got, err := s.Mix(t.Context(), m.ID); err != nil || got != m {
		t.Errorf("reading: %+v, %v", got, err)
	}
	whole(t, s)
}

// Promises 6 and 7: pours until the disk is full. The one that did not fit has
// left no trace, on the shelf either, and with room again it is kept under the
// same key.
func TestFullDiskWhilePouring(t *testing.T) {
	dir := t.TempDir()
	s := open(t, dir, Options{extra: unsynced + "&_pragma=max_page_count(160)"})
	had := int64(store.MostMg)
	sh, err1 := s.SaveShelf(t.Context(), store.Shelf{Name: "a", Items: []store.Item{{Ref: "oat/groats", OnHand: &had}}})
	m, err2 := s.StartMaking(t.Context(), store.Making{Shelf: sh.ID, Start: "{}"})
	if err := errors.Join(err1, err2); err != nil {
		t.Fatal(err)
	}
	event := func(i int) store.Event {
		return store.Event{Key: fmt.Sprint(i), Kind: store.KindPour, Ref: "oat/groats", Mg: 1000, Note: strings.Repeat("x", 3000)}
	}
	next := 0
	var err error
	for ; err == nil; next++ {
		if next > 1000 {
			t.Fatal("the disk never filled up")
		}
		var after store.Making
		if after, err = s.AppendEvent(t.Context(), m.ID, event(next)); err == nil {
			m = after
		}
	}
	next-- // the one that failed
	if !errors.Is(err, store.ErrFull) {
		t.Fatalf("error %v, want ErrFull", err)
	}
	_, err = s.StartMaking(t.Context(), store.Making{Start: strings.Repeat("x", 100_000)})
	if !errors.Is(err, store.ErrFull) {
		t.Errorf("starting: error %v, want ErrFull", err)
	}
	for range 2 { // as it is, and opened again with room
		got, err := s.Making(t.Context(), m.ID)
		if diff := cmp.Diff(m, got); err != nil || diff != "" {
			t.Fatalf("what was kept (- before, + after): %v\n%s", err, diff)
		}
		counted(t, s, sh.ID, had-int64(next)*1000)
		whole(t, s)
		if err := s.Close(); err != nil {
			t.Fatal(err)
		}
		s = open(t, dir, Options{})
	}
	for range 2 {
		if m, err = s.AppendEvent(t.Context(), m.ID, event(next)); err != nil || len(m.Events) != next+1 {
			t.Fatalf("with room again: %d events, %v", len(m.Events), err)
		}
		counted(t, s, sh.ID, had-int64(next+1)*1000)
	}
}

func counted(t *testing.T, s *Store, shelf store.ID, mg int64) {
	t.Helper()
	sh, err := s.Shelf(t.Context(), shelf)
	if err != nil || *sh.Items[0].OnHand != mg {
		t.Fatalf("%+v: %v; want %d mg on hand", sh, err, mg)
	}
}

// Promise 6: pours on a disk that cannot be written, and then can.
func TestUnwritableWhilePouring(t *testing.T) {
	dir := t.TempDir()
	s := open(t, dir, Options{})
	m, err := s.StartMaking(t.Context(), store.Making{Start: "{}"})
	pour := store.Event{Key: "1", Kind: store.KindPour, Ref: "oat/groats", Mg: 1000}
	if err == nil {
		m, err = s.AppendEvent(t.Context(), m.ID, pour)
	}
	if err := errors.Join(err, s.Close()); err != nil {
		t.Fatal(err)
	}
	s = open(t, dir, Options{extra: "&mode=ro"})
	second := pour
	second.Key = "2"
	for _, err := range []error{
		func() error { _, err := s.AppendEvent(t.Context(), m.ID, second); return err }(),
		func() error { _, err := s.StartMaking(t.Context(), store.Making{}); return err }(),
		func() error { _, err := s.FinishMaking(t.Context(), m); return err }(),
	} {
		if !errors.Is(err, store.ErrReadOnly) {
			t.Errorf("error %v, want ErrReadOnly", err)
		}
	}
	got, err := s.Making(t.Context(), m.ID)
	if diff := cmp.Diff(m, got); err != nil || diff != "" {
		t.Errorf("reading (- before, + after): %v\n%s", err, diff)
	}
	whole(t, s)
	if err := s.Close(); err != nil {
		t.Fatal(err)
	}
	s = open(t, dir, Options{})
	if m, err = s.AppendEvent(t.Context(), m.ID, second); err != nil || len(m.Events) != 2 {
		t.Errorf("writable again: %d events, %v", len(m.Events), err)
	}
}
