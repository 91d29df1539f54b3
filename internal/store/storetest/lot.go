package storetest

import (
	"bytes"
	"fmt"
	"strings"
	"testing"
	"time"

	"firlot/internal/store"
)

// bag is a lot with every field set.
func bag() store.Lot {
	return store.Lot{Ref: "oat/groats", Code: "L-2301/7", From: "Grain merchant of Skerra", Bought: "2026-03-01", BestBefore: "2027-01-31",
		BoughtMg: ptr(int64(1_500_000)), Note: "top shelf\n"}
}

func lots(t *testing.T, s store.Store) {
	ctx := t.Context()
	kept := must(s.SaveLot(ctx, bag()))(t)
	stamped(t, kept.ID, kept.Rev, kept.Changed)
	wanted := bag()
	wanted.ID, wanted.Rev, wanted.Made, wanted.Changed = kept.ID, kept.Rev, kept.Changed, kept.Changed
	same(t, "kept", kept, wanted)
	same(t, "read", must(s.Lot(ctx, kept.ID))(t), kept)

	change := kept
	change.Gone, change.BoughtMg, change.Code, change.PouredMg, change.Made = true, nil, "", 99, time.Unix(1, 0)
	next := must(s.SaveLot(ctx, change))(t)
	wanted.Gone, wanted.BoughtMg, wanted.Code, wanted.Rev, wanted.Changed = true, nil, "", next.Rev, next.Changed
	same(t, "changed", next, wanted)
	same(t, "read", must(s.Lot(ctx, kept.ID))(t), next)
	_, err := s.SaveLot(ctx, change)
	want(t, "an old Rev", err, store.ErrConflict)
	want(t, "deleting an old Rev", s.DeleteLot(ctx, kept.ID, kept.Rev), store.ErrConflict)
	want(t, "deleting", s.DeleteLot(ctx, kept.ID, next.Rev), nil)
	for doing, do := range map[string]func() error{
		"reading":     func() error { _, err := s.Lot(ctx, kept.ID); return err },
		"saving":      func() error { _, err := s.SaveLot(ctx, next); return err },
		"paging":      func() error { _, err := s.Lots(ctx, store.LotFilter{After: kept.ID}); return err },
		"its makings": func() error { _, err := s.MakingsOfLot(ctx, kept.ID); return err },
	} {
		want(t, doing+" the deleted", do(), store.ErrNotFound)
	}
}

func lotPages(t *testing.T, s store.Store) {
	ctx := t.Context()
	var all []store.Lot
	for i := range store.UsualPage + 7 {
		l := store.Lot{Ref: "oat/groats", Code: fmt.Sprintf("Ä-%d/b", i%10), Gone: i%3 == 0}
		if i%2 == 0 {
			l.Ref, l.From = "millet/hulled", "Health shop"
		}
		all = append(all, must(s.SaveLot(ctx, l))(t))
	}
	// The latest made first; a change moves nothing.
	all[3] = must(s.SaveLot(ctx, all[3]))(t)
	for name, c := range map[string]struct {
		filter store.LotFilter
		in     func(store.Lot) bool
	}{
		"all":     {store.LotFilter{}, func(store.Lot) bool { return true }},
		"here":    {store.LotFilter{Here: true}, func(l store.Lot) bool { return !l.Gone }},
		"of oats": {store.LotFilter{Ref: "oat/groats", Here: true}, func(l store.Lot) bool { return l.Ref == "oat/groats" && !l.Gone }},
		"code":    {store.LotFilter{Code: "a 7 b"}, func(l store.Lot) bool { return l.Code == "Ä-7/b" }},
		"half":    {store.LotFilter{Code: "a 7"}, func(l store.Lot) bool { return false }},
		"text":    {store.LotFilter{Text: "7/B"}, func(l store.Lot) bool { return l.Code == "Ä-7/b" }},
		"from":    {store.LotFilter{Text: "HEALTH"}, func(l store.Lot) bool { return l.From != "" }},
		"ref":     {store.LotFilter{Text: "millet"}, func(l store.Lot) bool { return strings.HasPrefix(l.Ref, "millet") }},
	} {
		wanted := map[store.ID]store.Lot{}
		for _, l := range all {
			if c.in(l) {
				wanted[l.ID] = l
			}
		}
		for _, most := range []int{3, store.MostPage} {
			c.filter.Most = most
			got := map[store.ID]store.Lot{}
			var last store.Lot
			for _, l := range throughLots(t, s, c.filter) {
				if got[l.ID] = l; last.ID != "" && (l.Made.After(last.Made) || l.Made.Equal(last.Made) && l.ID >= last.ID) {
					t.Fatalf("%s: %v after %v", name, l.Made, last.Made)
				}
				last = l
			}
			same(t, name, got, wanted)
		}
	}
	same(t, "the usual page", len(must(s.Lots(ctx, store.LotFilter{}))(t)), store.UsualPage)
}

func throughLots(t fataler, s store.Store, f store.LotFilter) []store.Lot {
	t.Helper()
	var all []store.Lot
	for {
		page := must(s.Lots(background, f))(t)
		all = append(all, page...)
		if len(page) < f.Page() {
			return all
		}
		f.After = page[len(page)-1].ID
	}
}

// recall: from a lot to its batches and from a batch to its lots.
func recall(t *testing.T, s store.Store) {
	ctx := t.Context()
	c := set(t, s)
	rye := must(s.SaveLot(ctx, store.Lot{Ref: "rye/whole", Code: "R"}))(t)
	oats := must(s.SaveLot(ctx, store.Lot{Ref: "oat/groats", Code: "second bag"}))(t)
	other := must(s.StartMaking(ctx, store.Making{MixName: "other"}))(t)
	at := func(making store.ID, key, ref string, lot store.ID, mg int64) {
		t.Helper()
		must(s.AppendEvent(ctx, making, store.Event{Key: key, Kind: store.KindPour, Ref: ref, Lot: lot, Mg: mg}))(t)
	}
	at(c.making.ID, "1", "oat/groats", c.lot.ID, 1_000_000)
	at(c.making.ID, "2", "oat/groats", oats.ID, 30)
	at(c.making.ID, "3", "oat/groats", c.lot.ID, 700_000)
	at(c.making.ID, "4", "oat/groats", "", 5)
	at(c.making.ID, "5", "rye/whole", rye.ID, 7)
	must(s.AppendEvent(ctx, c.making.ID, takeBack("t3", "3")))(t)
	at(other.ID, "3", "oat/groats", c.lot.ID, 3) // the key that is taken back in the other making
	must(s.AppendEvent(ctx, other.ID, store.Event{Key: "n", Kind: "note", Lot: rye.ID, Note: "looked at it"}))(t)

	sum := func(id store.ID) store.MakingSummary {
		t.Helper()
		return summaryOf(must(s.Making(ctx, id))(t))
	}
	bag := must(s.Lot(ctx, c.lot.ID))(t)
	same(t, "poured", bag.PouredMg, int64(1_000_003))
	same(t, "not changed by it", bag.Rev, c.lot.Rev)
	wanted := []store.LotUse{{Lot: bag, Making: sum(other.ID), Mg: 3}, {Lot: bag, Making: sum(c.making.ID), Mg: 1_000_000, BackMg: 700_000}}
	if a, b := wanted[0].Making, wanted[1].Making; a.Started.Equal(b.Started) && a.ID < b.ID {
		wanted[0], wanted[1] = wanted[1], wanted[0]
	}
	same(t, "batches of a lot", must(s.MakingsOfLot(ctx, c.lot.ID))(t), wanted)
	got := must(s.LotsOfMaking(ctx, c.making.ID))(t)
	masses := map[store.ID][2]int64{}
	for _, u := range got {
		same(t, "its making", u.Making, sum(c.making.ID))
		same(t, "its lot", u.Lot, must(s.Lot(ctx, u.Lot.ID))(t))
		masses[u.Lot.ID] = [2]int64{u.Mg, u.BackMg}
	}
	same(t, "lots of a batch", masses, map[store.ID][2]int64{c.lot.ID: {1_000_000, 700_000}, oats.ID: {30, 0}, rye.ID: {7, 0}})
	same(t, "by reference", got[2].Lot.Ref, "rye/whole")
	same(t, "none", len(must(s.LotsOfMaking(ctx, must(s.StartMaking(ctx, store.Making{}))(t).ID))(t)), 0)
	same(t, "not for looking at it", len(must(s.MakingsOfLot(ctx, rye.ID))(t)), 1)
	want(t, "deleting a lot that was poured", s.DeleteLot(ctx, bag.ID, bag.Rev), store.ErrInUse)

	// All of it survives a backup.
	var file bytes.Buffer
	want(t, "backup", s.Backup(ctx, &file), nil)
	want(t, "restore", s.Restore(ctx, &file), nil)
	again := must(s.MakingsOfLot(ctx, c.lot.ID))(t)
	same(t, "batches", len(again), 2)
	for i := range again {
		again[i].Lot.Rev, again[i].Making.Rev = wanted[i].Lot.Rev, wanted[i].Making.Rev
	}
	same(t, "batches of a lot", again, wanted)
}
