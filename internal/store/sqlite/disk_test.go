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
