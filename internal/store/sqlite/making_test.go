package sqlite

import (
	"bytes"
	"strings"
	"testing"
	"time"

	"firlot/internal/store"
)

// A device that is there all the time is written down once a minute.
func TestSeenEveryMinute(t *testing.T) {
	now := time.Date(2026, 3, 31, 8, 15, 0, 0, time.UTC)
	s := open(t, t.TempDir(), Options{Now: func() time.Time { return now }, extra: unsynced})
	d, err := s.PairDevice(t.Context(), store.Device{Name: "Phone", TokenHash: bytes.Repeat([]byte{1}, 32)})
	if err != nil {
		t.Fatal(err)
	}
	paired := now
	for _, c := range []struct{ after, seen time.Duration }{{59 * time.Second, 0}, {time.Minute, time.Minute}, {90 * time.Second, time.Minute},
		{2 * time.Minute, 2 * time.Minute}} {
		now = paired.Add(c.after)
		if err := s.SeenDevice(t.Context(), d.ID); err != nil {
			t.Fatal(err)
		}
		got, err := s.Device(t.Context(), d.ID)
		if err != nil || !got.Seen.Equal(paired.Add(c.seen)) || !got.Paired.Equal(paired) {
			t.Errorf("after %v: %+v, %v", c.after, got, err)
		}
	}
}

// Lists of makings and lots go by an index and sort nothing; looking a lot up
// in either direction, or a batch by its lot, looks at its own rows only.
func TestMakingsUseIndexes(t *testing.T) {
	s := open(t, t.TempDir(), Options{extra: unsynced})
	plan := func(text string, args []any, index string) {
		t.Helper()
		err := s.look(t.Context(), func(x tx) error {
			found := false
			err := x.each("EXPLAIN QUERY PLAN "+text, args, func(scan func(...any) error) error {
				var id, parent, unused int
				var step string
				if err := scan(&id, &parent, &unused, &step); err != nil {
					return err
				}
				found = found || strings.Contains(step, "INDEX "+index)
				if strings.HasPrefix(step, "SCAN making_event") || strings.Contains(step, "TEMP B-TREE FOR ORDER") {
					t.Errorf("%s: %s", text, step)
				}
				return nil
			})
			if !found {
				t.Errorf("%s does not go by %s", text, index)
			}
			return err
		})
		if err != nil {
			t.Fatal(err)
		}
	}
	for _, c := range []struct {
		filter store.MakingFilter
		index  string
	}{
		{store.MakingFilter{}, "making_by_time"}, {store.MakingFilter{Text: "a"}, "making_by_time"}, {store.MakingFilter{Mix: "m"}, "making_by_mix"},
		{store.MakingFilter{Shelf: "s"}, "making_by_shelf"}, {store.MakingFilter{State: store.StateOpen}, "making_by_state"},
		{store.MakingFilter{Lot: "B 1"}, "making_by_lot"}, {store.MakingFilter{Since: time.Unix(9, 0), Until: time.Unix(99, 0)}, "making_by_time"},
	} {
		var text string
		var args []any
		err := s.look(t.Context(), func(x tx) (err error) {
			text, args, err = x.makingPage(c.filter)
			return err
		})
		if err != nil {
			t.Fatal(err)
		}
		plan(text, args, c.index)
	}
	for _, c := range []struct {
		filter store.LotFilter
		index  string
	}{{store.LotFilter{}, "lot_by_time"}, {store.LotFilter{Ref: "oat/groats", Here: true}, "lot_by_ref"}, {store.LotFilter{Code: "L 1"}, "lot_by_code"}} {
		var text string
		var args []any
		err := s.look(t.Context(), func(x tx) (err error) {
			text, args, err = x.lotPage(c.filter)
			return err
		})
		if err != nil {
			t.Fatal(err)
		}
		plan(text, args, c.index)
		plan(text, args, "making_event_by_lot")
	}
}
