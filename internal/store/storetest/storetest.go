// Package storetest holds every store to the words of package store. A store
// passes when Run passes on it.
package storetest

import (
	"errors"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"firlot/internal/store"
)

// Run runs the suite. open opens a new, empty store; the suite closes it, and
// open may close it again.
func Run(t *testing.T, open func(t *testing.T) store.Store) {
	for _, c := range []struct {
		name string
		run  func(t *testing.T, s store.Store)
	}{
		{"groups", groups},
		{"shelves", shelves},
		{"copies", copies},
		{"mixes", mixes},
		{"undo", undo},
		{"versions", versions},
		{"deleting what a mix is for", orphans},
		{"makings", makings},
		{"events", events},
		{"counts", counts},
		{"changed counts", countsChanged},
		{"events that fit", fitting},
		{"ends of makings", ends},
		{"pages of makings", makingPages},
		{"deleting what a making is from", makingsLetGo},
		{"two devices at once", twoDevices},
		{"lots", lots},
		{"pages of lots", lotPages},
		{"recall", recall},
		{"devices", devices},
		{"many devices", manyDevices},
		{"devices after restoring", devicesAfterRestore},
		{"search", search},
		{"pages", pages},
		{"settings", settings},
		{"refusals", refusals},
		{"ended context", ended},
		{"one of many wins", race},
		{"readers during writes", readersDuringWrites},
		{"backup", backups},
		{"backup of nothing", emptyBackup},
		{"backup refused", refusedBackups},
		{"revs after restoring", revsAfterRestore},
	} {
		t.Run(c.name, func(t *testing.T) {
			s := open(t)
			defer closeIt(t, s)
			c.run(t, s)
		})
	}
	t.Run("closed", func(t *testing.T) { closed(t, open(t)) })
	t.Run("model", func(t *testing.T) { againstModel(t, open) })
}

func closeIt(t *testing.T, s store.Store) {
	t.Helper()
	if err := s.Close(); err != nil {
		t.Errorf("Close: %v", err)
	}
}

func closed(t *testing.T, s store.Store) {
	closeIt(t, s)
	closeIt(t, s) // twice does no harm
	if _, err := s.Groups(t.Context()); err == nil {
		t.Error("a closed store answers")
	}
	if err := s.SetSetting(t.Context(), "a", "b"); err == nil {
		t.Error("a closed store keeps something")
	}
}

// fataler is what testing.T and rapid.T have in common.
type fataler interface {
	Helper()
	Fatalf(format string, args ...any)
}

// must returns a value that had to come without an error.
func must[T any](value T, err error) func(fataler) T {
	return func(t fataler) T {
		t.Helper()
		if err != nil {
			t.Fatalf("%v", err)
		}
		return value
	}
}

// want holds an error against the one it should be; nil is one of them.
func want(t fataler, doing string, got, want error) {
	t.Helper()
	if !errors.Is(got, want) || want == nil && got != nil {
		t.Fatalf("%s: error %v, want %v", doing, got, want)
	}
}

func same(t fataler, what string, got, want any) {
	t.Helper()
	if d := cmp.Diff(want, got); d != "" {
		t.Fatalf("%s (- wanted, + got):\n%s", what, d)
	}
}

// stamped checks what every kept thing must have.
func stamped(t fataler, id store.ID, rev int64, changed time.Time) {
	t.Helper()
	if id == "" || rev <= 0 {
		t.Fatalf("kept with ID %q and Rev %d", id, rev)
	}
	if changed.IsZero() || changed.Location() != time.UTC || !changed.Equal(changed.Truncate(time.Microsecond)) {
		t.Fatalf("changed at %v, not a UTC time of whole microseconds", changed)
	}
}

func ptr[T any](v T) *T { return &v }
