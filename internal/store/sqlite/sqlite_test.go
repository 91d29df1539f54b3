package sqlite

import (
	"testing"

	"firlot/internal/store"
	"firlot/internal/store/storetest"
)

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
	storetest.Run(t, func(t *testing.T) store.Store { return open(t, t.TempDir(), Options{}) })
}
