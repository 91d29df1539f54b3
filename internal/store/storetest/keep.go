package storetest

import (
	"context"
	"fmt"
	"math"
	"strings"
	"testing"
	"time"

	"firlot/internal/store"
)

// barn is a group with every field set.
func barn() store.Group {
	return store.Group{Name: "Pair of the long barn", Species: "some-mouse", Stage: "adult", Born: "2026-02-28",
		Animals: 2, Note: "one shy\n\"quoted\" <b>", Windows: "[[window]]\nof = \"protein\"\n",
		Feeding: "[[animal]]\nname = \"Pip\"\n", Archived: true}
}

func groups(t *testing.T, s store.Store) {
	ctx := t.Context()
	kept := must(s.SaveGroup(ctx, barn()))(t)
	stamped(t, kept.ID, kept.Rev, kept.Changed)
	wanted := barn()
	wanted.ID, wanted.Rev, wanted.Changed = kept.ID, kept.Rev, kept.Changed
	same(t, "kept", kept, wanted)
	same(t, "read", must(s.Group(ctx, kept.ID))(t), kept)

	changed := kept
	changed.Name, changed.Archived, changed.Animals = "ábaco", false, 0
	next := must(s.SaveGroup(ctx, changed))(t)
	if next.Rev <= kept.Rev {
		t.Errorf("Rev %d after %d", next.Rev, kept.Rev)
	}
	same(t, "read", must(s.Group(ctx, kept.ID))(t), next)
	_, err := s.SaveGroup(ctx, changed)
	want(t, "an old Rev", err, store.ErrConflict)

	var names []string
	for _, name := range []string{"Zebra", "Äpfel", "apfel 2", "b"} {
		must(s.SaveGroup(ctx, store.Group{Name: name}))(t)
	}
	for _, g := range must(s.Groups(ctx))(t) {
		names = append(names, g.Name)
	}
	same(t, "by name", names, []string{"ábaco", "Äpfel", "apfel 2", "b", "Zebra"})

	want(t, "deleting an old Rev", s.DeleteGroup(ctx, kept.ID, kept.Rev), store.ErrConflict)
	want(t, "deleting", s.DeleteGroup(ctx, kept.ID, next.Rev), nil)
	want(t, "deleting again", s.DeleteGroup(ctx, kept.ID, next.Rev), store.ErrNotFound)
	_, err = s.Group(ctx, kept.ID)
	want(t, "reading the deleted", err, store.ErrNotFound)
	_, err = s.SaveGroup(ctx, next)
	want(t, "saving the deleted", err, store.ErrNotFound)
}

// kitchen is a shelf with every field set, and items with none.
func kitchen() store.Shelf {
	return store.Shelf{Name: "Kitchen", Place: "Skerra", Note: "top", Own: "[[own]]\nid = \"x\"\n", Items: []store.Item{
		{Ref: "oat/groats", CanHave: true, OnHand: ptr(int64(1_500_000)), Price: ptr(2.345), PackMg: ptr(int64(500_000)), PackCost: ptr(1.1), Note: "old"},
		{Ref: "a/last-in-name-first"},
		{Ref: "millet/hulled", OnHand: ptr(int64(0)), Price: ptr(0.0)}, // none is not the same as not counted
		{Ref: "gold/dust", OnHand: ptr(int64(store.MostMg)), Price: ptr(1.0 / 3)},
	}}
}

func shelves(t *testing.T, s store.Store) {
	ctx := t.Context()
	kept := must(s.SaveShelf(ctx, kitchen()))(t)
	stamped(t, kept.ID, kept.Rev, kept.Changed)
	wanted := kitchen()
	wanted.ID, wanted.Rev, wanted.Changed = kept.ID, kept.Rev, kept.Changed
	same(t, "kept", kept, wanted)
	same(t, "read", must(s.Shelf(ctx, kept.ID))(t), kept)

	other := must(s.SaveShelf(ctx, store.Shelf{Name: "attic"}))(t)
	same(t, "list", must(s.Shelves(ctx))(t), []store.Shelf{other, kept})

	kept.Items = []store.Item{kept.Items[3], kept.Items[0]}
	next := must(s.SaveShelf(ctx, kept))(t)
	same(t, "fewer items in another order", must(s.Shelf(ctx, kept.ID))(t).Items, kept.Items)
	_, err := s.SaveShelf(ctx, kept)
	want(t, "an old Rev", err, store.ErrConflict)
	want(t, "deleting an old Rev", s.DeleteShelf(ctx, kept.ID, kept.Rev), store.ErrConflict)
	want(t, "deleting", s.DeleteShelf(ctx, kept.ID, next.Rev), nil)
	_, err = s.Shelf(ctx, kept.ID)
	want(t, "reading the deleted", err, store.ErrNotFound)
	same(t, "list", must(s.Shelves(ctx))(t), []store.Shelf{other})
}

func copies(t *testing.T, s store.Store) {
	ctx := t.Context()
	mine := kitchen()
	kept := must(s.SaveShelf(ctx, mine))(t)
	*mine.Items[0].OnHand, mine.Items[1].Ref = 1, "changed"
	*kept.Items[0].Price, kept.Items[2].Ref = 99, "changed"
	same(t, "read", must(s.Shelf(ctx, kept.ID))(t).Items, kitchen().Items)
}

func settings(t *testing.T, s store.Store) {
	ctx := t.Context()
	same(t, "never set", must(s.Setting(ctx, "language"))(t), "")
	for _, value := range []string{"en", "pt-BR", ""} {
		want(t, "setting", s.SetSetting(ctx, "language", value), nil)
		same(t, "read", must(s.Setting(ctx, "language"))(t), value)
	}
	want(t, "no name", s.SetSetting(ctx, "", "x"), store.ErrInvalid)
}

// refusals are kept by every method that keeps something.
func refusals(t *testing.T, s store.Store) {
	ctx := t.Context()
	long := strings.Repeat("x", store.MostDocument+1)
	for _, g := range []store.Group{{}, {Name: " \t"}, {Name: "a\x00b"}, {Name: "\xff"}, {Name: "a", Animals: -1},
		{Name: "a", Born: "31.3.2026"}, {Name: "a", Born: "2026-02-30"}, {Name: "a", Windows: long}, {Name: "a", Feeding: long},
		{Name: strings.Repeat("ä", store.MostName/2+1)}} {
		_, err := s.SaveGroup(ctx, g)
		want(t, "group", err, store.ErrInvalid)
	}
	for _, it := range []store.Item{{}, {Ref: "a", OnHand: ptr(int64(-1))}, {Ref: "a", PackMg: ptr(int64(0))},
		{Ref: "a", Price: ptr(-0.01)}, {Ref: "a", Price: ptr(math.NaN())}, {Ref: "a", PackCost: ptr(math.Inf(1))}, {Ref: "twice"}} {
		_, err := s.SaveShelf(ctx, store.Shelf{Name: "a", Items: []store.Item{{Ref: "twice"}, it}})
		want(t, "shelf", err, store.ErrInvalid)
	}
	for _, m := range []store.Mix{{}, {Name: "a", Document: long}, {Name: "a", Group: "nobody"}, {Name: "a", Shelf: "nowhere"}} {
		_, err := s.SaveMix(ctx, m)
		want(t, "mix", err, store.ErrInvalid)
	}
	for _, f := range []store.Filter{{Most: -1}, {Most: store.MostPage + 1}, {Text: "\xff"}} {
		_, err := s.Mixes(ctx, f)
		want(t, "list", err, store.ErrInvalid)
	}
	refusedMakings(t, s, long)
	m := must(s.SaveMix(ctx, store.Mix{Name: "a"}))(t)
	_, err := s.KeepVersion(ctx, m.ID, m.Rev, strings.Repeat("x", store.MostNote+1))
	want(t, "version", err, store.ErrInvalid)
	same(t, "read", must(s.Mix(ctx, m.ID))(t), m)
	same(t, "groups", len(must(s.Groups(ctx))(t)), 0)
	same(t, "shelves", len(must(s.Shelves(ctx))(t)), 0)
}

func refusedMakings(t *testing.T, s store.Store, long string) {
	t.Helper()
	ctx := t.Context()
	for _, m := range []store.Making{{Start: long}, {Finish: long}, {Key: long}, {Who: "\xff"}, {BestBefore: "soon"}, {Lot: " - "}, {MixVersion: -1}} {
		_, err := s.StartMaking(ctx, m)
		want(t, "making", err, store.ErrInvalid)
	}
	for _, l := range []store.Lot{{}, {Ref: "a", Code: long}, {Ref: "a", Bought: "yesterday"}, {Ref: "a", BoughtMg: ptr(int64(-1))}, {Ref: "a", Note: "\x00"}} {
		_, err := s.SaveLot(ctx, l)
		want(t, "lot", err, store.ErrInvalid)
	}
	for _, f := range []store.MakingFilter{{Most: -1}, {State: "half done"}, {Text: "\xff"}} {
		_, err := s.Makings(ctx, f)
		want(t, "list", err, store.ErrInvalid)
	}
	_, err := s.Lots(ctx, store.LotFilter{Most: store.MostPage + 1})
	want(t, "list", err, store.ErrInvalid)
	m := must(s.StartMaking(ctx, store.Making{}))(t)
	for _, e := range []store.Event{{}, {Kind: "note"}, {Key: "1"}, {Key: "1", Kind: "Pour"}, {Key: "1", Kind: store.KindPour}, {Key: "1", Kind: store.KindEmpty},
		{Key: "1", Kind: store.KindTakeBack}, {Key: "1", Kind: "note", Of: "2"}, {Key: "1", Kind: store.KindPour, Ref: "a", Mg: -1},
		{Key: "1", Kind: store.KindPour, Ref: "a", Mg: store.MostMg + 1}, {Key: "1", Kind: "note", Bowl: -1}, {Key: "1", Kind: "note", Plan: long}} {
		_, err := s.AppendEvent(ctx, m.ID, e)
		want(t, fmt.Sprintf("event %.60v", e), err, store.ErrInvalid)
	}
	same(t, "read", must(s.Making(ctx, m.ID))(t), m)
	same(t, "lots", len(must(s.Lots(ctx, store.LotFilter{}))(t)), 0)
}

// ended: a context that is over keeps nothing, and the store goes on.
func ended(t *testing.T, s store.Store) {
	over, cancel := context.WithCancel(t.Context())
	cancel()
	m := must(s.SaveMix(t.Context(), store.Mix{Name: "a"}))(t)
	_, err := s.SaveMix(over, store.Mix{Name: "b"})
	want(t, "saving", err, context.Canceled)
	want(t, "deleting", s.DeleteMix(over, m.ID, m.Rev), context.Canceled)
	_, err = s.Mixes(over, store.Filter{})
	want(t, "listing", err, context.Canceled)
	same(t, "list", len(must(s.Mixes(t.Context(), store.Filter{}))(t)), 1)

	// Ending at some moment of a save keeps all of it or nothing.
	for i := range 50 {
		soon, cancel := context.WithCancel(t.Context())
		time.AfterFunc(time.Duration(i)*20*time.Microsecond, cancel)
		_, err := s.SaveShelf(soon, kitchen())
		cancel()
		for _, sh := range must(s.Shelves(t.Context()))(t) {
			same(t, "items", sh.Items, kitchen().Items)
			err = s.DeleteShelf(t.Context(), sh.ID, sh.Rev)
		}
		if err != nil && soon.Err() == nil {
			t.Fatal(err)
		}
	}
}
