package sqlite

import (
	"bytes"
	"fmt"
	"slices"
	"strings"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"firlot/internal/store"
	"firlot/internal/store/backup"
)

// A making of a kitchen: 20 ingredients, each poured once from a lot of its
// own, and a document of 2 kB.
const (
	benchMakings = 10_000
	benchPours   = 20
	benchLots    = 500
)

func ingredient(i int) string { return fmt.Sprintf("food-%02d/whole", i) }

// makingsOf fills a store with makings, by way of a backup.
func makingsOf(b *testing.B, s *Store, makings int) {
	b.Helper()
	var file bytes.Buffer
	out, err := backup.NewWriter(&file, s.moment())
	if err != nil {
		b.Fatal(err)
	}
	put := func(r backup.Record) {
		if err := out.Put(r); err != nil {
			b.Fatal(err)
		}
	}
	had, at := int64(store.MostMg), time.Date(2026, 3, 31, 8, 15, 0, 0, time.UTC)
	sh := store.Shelf{ID: "s", Name: "Kitchen", Changed: at}
	for i := range benchPours {
		sh.Items = append(sh.Items, store.Item{Ref: ingredient(i), OnHand: &had})
	}
	put(backup.Record{Shelf: &sh})
	put(backup.Record{Mix: &store.Mix{ID: "m", Name: "Winter", Shelf: "s", Document: document, Made: at, Changed: at}})
	for i := range benchLots {
		put(backup.Record{Lot: &store.Lot{ID: store.ID(fmt.Sprintf("l%03d", i)), Ref: ingredient(i % benchPours), Code: fmt.Sprintf("L-%d", i), Made: at, Changed: at}})
	}
	for n := range makings {
		at = at.Add(time.Minute)
		m := store.Making{ID: store.ID(fmt.Sprintf("k%05d", n)), Mix: "m", MixName: "Winter", Shelf: "s", Start: document, State: store.StateFinished,
			Lot: fmt.Sprintf("B %d", n), Who: "Ana", Finish: document, Started: at, Finished: at, Changed: at, Events: make([]store.Event, benchPours)}
		put(backup.Record{Making: &m})
		for i := range benchPours {
			put(backup.Record{Event: &backup.Event{Making: m.ID, Event: store.Event{Key: fmt.Sprint(i), Kind: store.KindPour, Ref: ingredient(i), Mg: 25_000,
				Lot: store.ID(fmt.Sprintf("l%03d", (n/20*benchPours+i)%benchLots)), By: "Ana", At: at, TookMg: 25_000}}})
		}
	}
	if err := out.Close(); err != nil {
		b.Fatal(err)
	}
	if err := s.Restore(b.Context(), &file); err != nil {
		b.Fatal(err)
	}
}

// BenchmarkAppendEvent acknowledges a pour, on disk, at a making of 20 pours
// among so many others, and reports percentiles of what it took. Taking
// a pour back, and one that is sent again, are among them as at a scale.
func BenchmarkAppendEvent(b *testing.B) {
	for _, makings := range []int{0, benchMakings} {
		b.Run(fmt.Sprint("among ", makings), func(b *testing.B) {
			s := open(b, b.TempDir(), Options{})
			makingsOf(b, s, makings)
			var times []time.Duration
			var m store.Making
			for n := 0; b.Loop(); n++ {
				i := n % (benchPours + 2)
				if i == 0 {
					b.StopTimer()
					m = started(b, s)
					b.StartTimer()
				}
				e := store.Event{Key: fmt.Sprint(i), Kind: store.KindPour, Ref: ingredient(i % benchPours), Mg: 25_000, Lot: store.ID(fmt.Sprintf("l%03d", i)), By: "Ana"}
				switch i {
				case benchPours:
					e = store.Event{Key: "back", Kind: store.KindTakeBack, Of: "3"}
				case benchPours + 1:
					e.Key, e.Ref, e.Lot = "1", ingredient(1), "l001"
				}
				begun := time.Now()
				if _, err := s.AppendEvent(b.Context(), m.ID, e); err != nil {
					b.Fatal(err)
				}
				times = append(times, time.Since(begun))
			}
			percentiles(b, times)
		})
	}
}

func percentiles(b *testing.B, times []time.Duration) {
	slices.Sort(times)
	for _, p := range []int{50, 95, 99} {
		b.ReportMetric(float64(times[len(times)*p/100].Microseconds())/1000, fmt.Sprintf("p%d-ms", p))
	}
}

// BenchmarkAppendEventTogether is two devices at one making among 10,000, while
// a page of makings is read again and again.
func BenchmarkAppendEventTogether(b *testing.B) {
	s := open(b, b.TempDir(), Options{})
	makingsOf(b, s, benchMakings)
	var done atomic.Bool
	var reader, writers sync.WaitGroup
	reader.Go(func() {
		for !done.Load() {
			if _, err := s.Makings(b.Context(), store.MakingFilter{}); err != nil {
				b.Error(err)
				return
			}
			time.Sleep(5 * time.Millisecond)
		}
	})
	var times [2][]time.Duration
	b.ResetTimer()
	for d := range times {
		writers.Go(func() {
			var m store.Making
			for n := range b.N {
				if n%50 == 0 {
					m = startedAs(b, s, fmt.Sprint("making ", n))
				}
				e := store.Event{Key: fmt.Sprint(d, "-", n), Kind: store.KindPour, Ref: ingredient(n % benchPours), Mg: 25_000, By: "Ana"}
				begun := time.Now()
				if _, err := s.AppendEvent(b.Context(), m.ID, e); err != nil {
					b.Error(err)
					return
				}
				times[d] = append(times[d], time.Since(begun))
			}
		})
	}
	writers.Wait()
	b.StopTimer()
	done.Store(true)
	reader.Wait()
	percentiles(b, append(times[0], times[1]...))
}

func started(b *testing.B, s *Store) store.Making {
	b.Helper()
	return startedAs(b, s, "")
}

func startedAs(b *testing.B, s *Store, key string) store.Making {
	b.Helper()
	m, err := s.StartMaking(b.Context(), store.Making{Key: key, Mix: "m", MixName: "Winter", Shelf: "s", Start: document})
	if err != nil {
		b.Error(err)
	}
	return m
}

// BenchmarkMakings lists, looks up and recalls among 10,000 makings of 20
// pours.
func BenchmarkMakings(b *testing.B) {
	s := open(b, b.TempDir(), Options{})
	makingsOf(b, s, benchMakings)
	ctx := b.Context()
	for name, do := range map[string]func() error{
		"a page":           func() error { _, err := s.Makings(ctx, store.MakingFilter{}); return err },
		"in the middle":    func() error { _, err := s.Makings(ctx, store.MakingFilter{After: "k05000"}); return err },
		"a lot's batch":    func() error { _, err := s.Makings(ctx, store.MakingFilter{Lot: "B 77"}); return err },
		"a rare word":      func() error { _, err := s.Makings(ctx, store.MakingFilter{Text: "B 77"}); return err },
		"one":              func() error { _, err := s.Making(ctx, "k05000"); return err },
		"lots":             func() error { _, err := s.Lots(ctx, store.LotFilter{}); return err },
		"a lot by code":    func() error { _, err := s.Lots(ctx, store.LotFilter{Code: "L 77"}); return err },
		"batches of a lot": func() error { _, err := s.MakingsOfLot(ctx, "l077"); return err },
		"lots of a batch":  func() error { _, err := s.LotsOfMaking(ctx, "k05000"); return err },
		"shelf":            func() error { _, err := s.Shelf(ctx, "s"); return err },
	} {
		b.Run(strings.ReplaceAll(name, " ", "-"), func(b *testing.B) {
			for b.Loop() {
				if err := do(); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}

// BenchmarkMakingsBackup writes, and BenchmarkMakingsRestore reads, 10,000
// makings of 20 pours.
func BenchmarkMakingsBackup(b *testing.B) {
	s := open(b, b.TempDir(), Options{})
	makingsOf(b, s, benchMakings)
	for b.Loop() {
		var size countingWriter
		if err := s.Backup(b.Context(), &size); err != nil {
			b.Fatal(err)
		}
		b.ReportMetric(float64(size)/(1<<20), "MiB")
	}
}

func BenchmarkMakingsRestore(b *testing.B) {
	s := open(b, b.TempDir(), Options{})
	makingsOf(b, s, benchMakings)
	file := backupOf(b, s)
	for b.Loop() {
		if err := s.Restore(b.Context(), strings.NewReader(file)); err != nil {
			b.Fatal(err)
		}
	}
}

type countingWriter int

func (w *countingWriter) Write(p []byte) (int, error) {
	*w += countingWriter(len(p))
	return len(p), nil
}
