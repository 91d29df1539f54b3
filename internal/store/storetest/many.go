package storetest

import (
	"errors"
	"fmt"
	"strings"
	"sync"
	"sync/atomic"
	"testing"

	"firlot/internal/store"
)

// race: of many who save the same Rev, one is kept and the others are told.
func race(t *testing.T, s store.Store) {
	ctx := t.Context()
	const rounds, writers = 10, 8
	m := must(s.SaveMix(ctx, store.Mix{Name: "a", Document: "start"}))(t)
	for round := range rounds {
		var won, lost atomic.Int32
		var winner atomic.Value
		var all sync.WaitGroup
		for w := range writers {
			all.Go(func() {
				mine := m
				mine.Document = fmt.Sprint(round, " by ", w)
				kept, err := s.SaveMix(ctx, mine)
				switch {
				case err == nil:
					won.Add(1)
					winner.Store(kept)
				case errors.Is(err, store.ErrConflict):
					lost.Add(1)
				default:
					t.Errorf("writer %d: %v", w, err)
				}
			})
		}
		all.Wait()
		if won.Load() != 1 || lost.Load() != writers-1 {
			t.Fatalf("round %d: %d won, %d lost", round, won.Load(), lost.Load())
		}
		m = must(s.Mix(ctx, m.ID))(t)
		same(t, "kept", m, winner.Load().(store.Mix))
	}
}

// readersDuringWrites: a reader sees a change whole or not yet. The writer
// keeps a mix's name, document and number of versions in step, and a shelf's
// note with the number of its items.
func readersDuringWrites(t *testing.T, s store.Store) {
	ctx := t.Context()
	const writes, readers = 60, 4
	m := must(s.SaveMix(ctx, store.Mix{Name: "0", Document: "0"}))(t)
	sh := must(s.SaveShelf(ctx, store.Shelf{Name: "s", Note: ""}))(t)
	id := m.ID
	var done atomic.Bool
	var all sync.WaitGroup
	for range readers {
		all.Go(func() {
			for last := int64(0); !done.Load(); {
				got, err := s.Mix(ctx, id)
				if err != nil || got.Name != got.Document || got.Rev < last {
					t.Errorf("mix %q %q, Rev %d after %d: %v", got.Name, got.Document, got.Rev, last, err)
					return
				}
				last = got.Rev
				list, err := s.Shelves(ctx)
				if err != nil || len(list) != 1 || len(list[0].Note) != len(list[0].Items) {
					t.Errorf("shelves %+v: %v", list, err)
					return
				}
			}
		})
	}
	for i := 1; i <= writes && !t.Failed(); i++ {
		m.Name, m.Document = fmt.Sprint(i), fmt.Sprint(i)
		m = must(s.SaveMix(ctx, m))(t)
		sh.Note, sh.Items = strings.Repeat("x", i%7), nil
		for n := range i % 7 {
			sh.Items = append(sh.Items, store.Item{Ref: fmt.Sprint(n)})
		}
		sh = must(s.SaveShelf(ctx, sh))(t)
	}
	done.Store(true)
	all.Wait()
}
