package storetest

import (
	"errors"
	"fmt"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"firlot/internal/store"
)

// pour is a pour of a mass in mg.
func pour(key, ref string, mg int64) store.Event {
	return store.Event{Key: key, Kind: store.KindPour, Ref: ref, Mg: mg}
}

func takeBack(key, of string) store.Event {
	return store.Event{Key: key, Kind: store.KindTakeBack, Of: of}
}

// onHand is the count of an ingredient on a shelf.
func onHand(t fataler, s store.Store, shelf store.ID, ref string) *int64 {
	t.Helper()
	for _, it := range must(s.Shelf(background, shelf))(t).Items {
		if it.Ref == ref {
			return it.OnHand
		}
	}
	t.Fatalf("no %s on the shelf", ref)
	return nil
}

// scene is a making from a mix and a shelf, with a lot and a phone.
type scene struct {
	mix    store.Mix
	shelf  store.Shelf
	lot    store.Lot
	phone  store.Device
	making store.Making
}

func set(t fataler, s store.Store) scene {
	t.Helper()
	var c scene
	c.shelf = must(s.SaveShelf(background, kitchen()))(t)
	c.mix = must(s.SaveMix(background, store.Mix{Name: "Winter", Document: "x"}))(t)
	c.lot = must(s.SaveLot(background, bag()))(t)
	c.phone = must(s.PairDevice(background, store.Device{Name: "Phone", TokenHash: hash(1)}))(t)
	c.making = must(s.StartMaking(background, store.Making{Key: "begin", Mix: c.mix.ID, MixName: c.mix.Name, MixVersion: 3,
		Shelf: c.shelf.ID, Start: `{"lines":[]}`, Who: "Ana", Note: "n"}))(t)
	return c
}

func makings(t *testing.T, s store.Store) {
	ctx := t.Context()
	c := set(t, s)
	m := c.making
	stamped(t, m.ID, m.Rev, m.Changed)
	same(t, "started", m, store.Making{ID: m.ID, Rev: m.Rev, Key: "begin", Mix: c.mix.ID, MixName: "Winter", MixVersion: 3, Shelf: c.shelf.ID,
		Start: `{"lines":[]}`, State: store.StateOpen, Who: "Ana", Note: "n", Started: m.Changed, Changed: m.Changed})
	same(t, "read", must(s.Making(ctx, m.ID))(t), m)

	// What the store sets, it sets itself; a start without a key is another each time.
	odd := store.Making{Rev: 9, State: store.StateLeft, Finish: "x", Started: time.Unix(1, 0), Finished: time.Unix(2, 0), Events: []store.Event{pour("a", "b", 1)}}
	for range 2 {
		got := must(s.StartMaking(ctx, odd))(t)
		same(t, "set by the store", got, store.Making{ID: got.ID, Rev: got.Rev, State: store.StateOpen, Started: got.Changed, Changed: got.Changed})
	}
	same(t, "three", len(must(s.Makings(ctx, store.MakingFilter{}))(t)), 3)

	same(t, "started again", must(s.StartMaking(ctx, store.Making{Key: "begin", Start: m.Start, Who: "another"}))(t), m)
	_, err := s.StartMaking(ctx, store.Making{Key: "begin", Start: "other"})
	want(t, "another start with the key", err, store.ErrConflict)

	words := m
	words.Lot, words.Who, words.Note, words.BestBefore = "A-1", "Bo", "", "2026-12-31"
	words.State, words.Start, words.MixName = store.StateLeft, "", "" // these are not words
	next := must(s.SaveMaking(ctx, words))(t)
	expect := m
	expect.Rev, expect.Changed, expect.Lot, expect.Who, expect.Note, expect.BestBefore = next.Rev, next.Changed, "A-1", "Bo", "", "2026-12-31"
	same(t, "other words", next, expect)
	_, err = s.SaveMaking(ctx, words)
	want(t, "an old Rev", err, store.ErrConflict)
	_, err = s.StartMaking(ctx, store.Making{Lot: "a 1"})
	want(t, "a lot that is another's", err, store.ErrTaken)
	other := must(s.StartMaking(ctx, store.Making{Lot: "A-2"}))(t)
	other.Lot = "a/1"
	_, err = s.SaveMaking(ctx, other)
	want(t, "a lot that is another's", err, store.ErrTaken)
	want(t, "deleting", s.DeleteMaking(ctx, other.ID, other.Rev), nil)
	want(t, "deleting again", s.DeleteMaking(ctx, other.ID, other.Rev), store.ErrNotFound)
}

// events: each key once, in the order in which they came.
func events(t *testing.T, s store.Store) {
	ctx := t.Context()
	c := set(t, s)
	e := store.Event{Key: "1", Kind: store.KindPour, Ref: "oat/groats", Mg: 500_000, Bowl: 2, Round: 3, Lot: c.lot.ID, Note: "n",
		Device: c.phone.ID, By: "Ana", Seq: 9, At: time.Unix(1, 0), TookMg: 8, ShortMg: 7}
	first := must(s.AppendEvent(ctx, c.making.ID, e))(t)
	if first.Rev <= c.making.Rev || first.Changed.Before(c.making.Changed) || len(first.Events) != 1 {
		t.Fatalf("after %+v: %+v", c.making, first)
	}
	e.Seq, e.At, e.TookMg, e.ShortMg = 1, first.Events[0].At, 500_000, 0
	same(t, "kept", first.Events[0], e)
	same(t, "read", must(s.Making(ctx, c.making.ID))(t), first)

	again := e
	again.Device, again.By = "", "Bo" // who it was does not count
	same(t, "sent again", must(s.AppendEvent(ctx, c.making.ID, again))(t), first)
	for _, change := range []func(*store.Event){
		func(e *store.Event) { e.Mg++ }, func(e *store.Event) { e.Ref = "millet/hulled" }, func(e *store.Event) { e.Bowl++ },
		func(e *store.Event) { e.Round++ }, func(e *store.Event) { e.Lot = "" }, func(e *store.Event) { e.Note = "" },
		func(e *store.Event) { e.Plan = "{}" }, func(e *store.Event) { e.Kind = "note" },
		func(e *store.Event) { *e = takeBack("1", "1") },
	} {
		other := e
		change(&other)
		_, err := s.AppendEvent(ctx, c.making.ID, other)
		want(t, fmt.Sprintf("%+v", other), err, store.ErrConflict)
	}
	same(t, "as it was", must(s.Making(ctx, c.making.ID))(t), first)
	same(t, "its count", *onHand(t, s, c.shelf.ID, "oat/groats"), int64(1_000_000))

	// Another making has keys of its own.
	other := must(s.StartMaking(ctx, store.Making{}))(t)
	other = must(s.AppendEvent(ctx, other.ID, pour("1", "oat/groats", 1)))(t)
	same(t, "no shelf", other.Events[0].TookMg, int64(0))

	must(s.AppendEvent(ctx, c.making.ID, store.Event{Key: "2", Kind: "replan", Plan: `{"lines":[]}`}))(t)
	last := must(s.AppendEvent(ctx, c.making.ID, store.Event{Key: "3", Kind: "note", Note: "smells of the sea"}))(t)
	var order []string
	for i, e := range last.Events {
		order = append(order, e.Key)
		same(t, "in order", e.Seq, int64(i+1))
	}
	same(t, "in order", order, []string{"1", "2", "3"})
	for name, e := range map[string]store.Event{
		"of no such event": takeBack("x", "9"), "of no such lot": {Key: "x", Kind: store.KindPour, Ref: "a", Lot: "9"},
		"of no such device": {Key: "x", Kind: "note", Device: "9"},
	} {
		_, err := s.AppendEvent(ctx, c.making.ID, e)
		want(t, name, err, store.ErrInvalid)
	}
	_, err := s.AppendEvent(ctx, "9", pour("x", "a", 1))
	want(t, "at no such making", err, store.ErrNotFound)
	same(t, "as it was", must(s.Making(ctx, c.making.ID))(t), last)
}

// scale is one making with its shelf, for following its counts.
type scale struct {
	t *testing.T
	s store.Store
	scene
}

// at appends an event and returns it as kept.
func (x scale) at(e store.Event) store.Event {
	x.t.Helper()
	m := must(x.s.AppendEvent(x.t.Context(), x.making.ID, e))(x.t)
	return m.Events[len(m.Events)-1]
}

// took appends an event that must take so much from the count and be short by
// so much.
func (x scale) took(e store.Event, mg, short int64) {
	x.t.Helper()
	kept := x.at(e)
	same(x.t, "taken and short by "+e.Key, []int64{kept.TookMg, kept.ShortMg}, []int64{mg, short})
}

func (x scale) counted(mg int64) {
	x.t.Helper()
	same(x.t, "on hand", *onHand(x.t, x.s, x.shelf.ID, "oat/groats"), mg)
}

// counts: what a shelf counts goes down by what is poured, never below nought,
// and a take-back gives back what was taken.
func counts(t *testing.T, s store.Store) {
	ctx := t.Context()
	x := scale{t, s, set(t, s)}
	x.took(pour("1", "oat/groats", 900_000), 900_000, 0)
	x.took(pour("2", "oat/groats", 700_000), 600_000, 100_000)
	x.counted(0)
	x.took(pour("3", "oat/groats", 5), 0, 5)
	x.took(takeBack("t3", "3"), 0, 0)
	x.took(takeBack("t2", "2"), -600_000, 0)
	x.counted(600_000)
	for _, again := range []string{"t2", "t2"} { // sent again
		must(s.AppendEvent(ctx, x.making.ID, takeBack(again, "2")))(t)
	}
	x.counted(600_000)
	_, err := s.AppendEvent(ctx, x.making.ID, takeBack("t2 of another", "2"))
	want(t, "taking back twice", err, store.ErrTakenBack)
	_, err = s.AppendEvent(ctx, x.making.ID, takeBack("x", "t2"))
	want(t, "taking a take-back back", err, store.ErrInvalid)
	x.took(store.Event{Key: "e", Kind: store.KindEmpty, Ref: "oat/groats"}, 600_000, 0)
	x.counted(0)
	x.took(takeBack("te", "e"), -600_000, 0)
	x.counted(600_000)
	x.took(store.Event{Key: "f", Kind: store.KindEmpty, Ref: "oat/groats", Mg: 599_000}, 1_000, 0)
	x.took(store.Event{Key: "g", Kind: store.KindEmpty, Ref: "oat/groats", Mg: 599_001}, 0, 0)
	x.took(takeBack("tf", "f"), -1_000, 0)
	x.counted(600_000)
	x.took(store.Event{Key: "r", Kind: "replan", Ref: "oat/groats", Mg: 9, Plan: "{}"}, 0, 0)
	x.took(takeBack("tr", "r"), 0, 0)
}

// countsChanged: what is not counted stays so, a changed count is a changed
// shelf, and the keeper may count anew in between.
func countsChanged(t *testing.T, s store.Store) {
	ctx := t.Context()
	x := scale{t, s, set(t, s)}
	x.took(pour("4", "a/last-in-name-first", 7), 0, 0)
	x.took(pour("5", "rye/whole", 7), 0, 0)
	if got := onHand(t, s, x.shelf.ID, "a/last-in-name-first"); got != nil {
		t.Errorf("not counted, and now %d", *got)
	}
	same(t, "the shelf, with nothing counted", must(s.Shelf(ctx, x.shelf.ID))(t), x.shelf)
	x.took(pour("1", "oat/groats", 900_000), 900_000, 0)
	_, err := s.SaveShelf(ctx, x.shelf)
	want(t, "a shelf that was read before", err, store.ErrConflict)
	sh := must(s.Shelf(ctx, x.shelf.ID))(t)
	x.at(store.Event{Key: "n", Kind: "note", Note: "n"})
	x.took(pour("6", "millet/hulled", 7), 0, 7)
	same(t, "the shelf, with no count changed", must(s.Shelf(ctx, x.shelf.ID))(t), sh)

	// Counted anew in between: what was taken comes on top; counted no more, nothing does.
	*sh.Items[0].OnHand = 50_000
	must(s.SaveShelf(ctx, sh))(t)
	x.took(takeBack("t1", "1"), -900_000, 0)
	x.counted(950_000)
	x.took(pour("7", "gold/dust", 5), 5, 0)
	sh = must(s.Shelf(ctx, x.shelf.ID))(t)
	*sh.Items[3].OnHand = store.MostMg - 2
	must(s.SaveShelf(ctx, sh))(t)
	x.took(takeBack("t7", "7"), -2, 0) // no count is above MostMg
	x.took(pour("8", "oat/groats", 1), 1, 0)
	sh = must(s.Shelf(ctx, x.shelf.ID))(t)
	sh.Items = sh.Items[1:]
	sh = must(s.SaveShelf(ctx, sh))(t)
	x.took(takeBack("t8", "8"), 0, 0)
	want(t, "deleting the shelf", s.DeleteShelf(ctx, sh.ID, sh.Rev), nil)
	x.took(pour("9", "gold/dust", 5), 0, 0)
	same(t, "its shelf", must(s.Making(ctx, x.making.ID))(t).Shelf, store.ID(""))
}

// fitting: what does not fit is not kept, and its key is free.
func fitting(t *testing.T, s store.Store) {
	ctx := t.Context()
	c := set(t, s)
	no := errors.New("it does not fit")
	asked := 0
	_, err := s.AppendEventIf(ctx, c.making.ID, pour("1", "oat/groats", 5), func(with store.Making) error {
		asked++
		same(t, "asked with it", with.Events[0].TookMg, int64(5))
		return no
	})
	want(t, "not fitting", err, no)
	same(t, "nothing", must(s.Making(ctx, c.making.ID))(t), c.making)
	same(t, "the shelf", must(s.Shelf(ctx, c.shelf.ID))(t), c.shelf)
	yes := func(store.Making) error { asked++; return nil }
	m := must(s.AppendEventIf(ctx, c.making.ID, pour("1", "oat/groats", 5), yes))(t)
	same(t, "again", must(s.AppendEventIf(ctx, c.making.ID, pour("1", "oat/groats", 5), func(store.Making) error { return no }))(t), m)
	same(t, "asked", asked, 2)
}

// ends: a making that is finished or left takes no events, and can be opened
// again.
func ends(t *testing.T, s store.Store) {
	ctx := t.Context()
	c := set(t, s)
	m := must(s.AppendEvent(ctx, c.making.ID, pour("1", "oat/groats", 5)))(t)
	late := m
	m = must(s.AppendEvent(ctx, m.ID, pour("2", "oat/groats", 5)))(t)
	late.Finish = "without the second"
	_, err := s.FinishMaking(ctx, late)
	want(t, "finishing what has changed", err, store.ErrConflict)
	m.Lot, m.Who, m.BestBefore, m.Note, m.Finish = "B-1", "Bo", "2027-01-01", "nn", `{"protein":14}`
	end := must(s.FinishMaking(ctx, m))(t)
	m.Rev, m.Changed, m.State, m.Finished = end.Rev, end.Changed, store.StateFinished, end.Changed
	same(t, "finished", end, m)
	same(t, "read", must(s.Making(ctx, m.ID))(t), m)
	_, err = s.FinishMaking(ctx, end)
	want(t, "finishing again", err, store.ErrNotOpen)
	_, err = s.LeaveMaking(ctx, end.ID, end.Rev)
	want(t, "leaving the finished", err, store.ErrNotOpen)
	_, err = s.AppendEvent(ctx, end.ID, pour("3", "oat/groats", 5))
	want(t, "a pour too late", err, store.ErrNotOpen)
	same(t, "one that was in time, sent again", must(s.AppendEvent(ctx, end.ID, pour("2", "oat/groats", 5)))(t), end)
	same(t, "the start, sent again", must(s.StartMaking(ctx, store.Making{Key: "begin", Start: end.Start}))(t), end)
	want(t, "deleting", s.DeleteMaking(ctx, end.ID, end.Rev), store.ErrInUse)
	end.Note = "two left the sorghum"
	end = must(s.SaveMaking(ctx, end))(t)
	same(t, "a note afterwards", end.State+end.Note+end.Finish, "finishedtwo left the sorghum"+`{"protein":14}`)

	_, err = s.ReopenMaking(ctx, end.ID, m.Rev)
	want(t, "opening an old Rev", err, store.ErrConflict)
	open := must(s.ReopenMaking(ctx, end.ID, end.Rev))(t)
	same(t, "open again", []string{open.State, open.Finish, open.Lot}, []string{store.StateOpen, "", "B-1"})
	same(t, "no end", open.Finished.IsZero(), true)
	same(t, "opened twice", must(s.ReopenMaking(ctx, open.ID, open.Rev))(t), open)
	for i, key := range []string{"1", "2"} {
		open = must(s.AppendEvent(ctx, open.ID, takeBack(fmt.Sprint("t", i), key)))(t)
	}
	left := must(s.LeaveMaking(ctx, open.ID, open.Rev))(t)
	same(t, "left", []any{left.State, left.Finished.Equal(left.Changed), len(left.Events)}, []any{store.StateLeft, true, 4})
	want(t, "deleting an old Rev", s.DeleteMaking(ctx, left.ID, open.Rev), store.ErrConflict)
	want(t, "deleting what came to nothing", s.DeleteMaking(ctx, left.ID, left.Rev), nil)
	same(t, "on hand as before", *onHand(t, s, c.shelf.ID, "oat/groats"), int64(1_500_000))
	want(t, "deleting the lot that was never poured", s.DeleteLot(ctx, c.lot.ID, c.lot.Rev), nil)
	for doing, do := range map[string]func() error{
		"reading":   func() error { _, err := s.Making(ctx, left.ID); return err },
		"saving":    func() error { _, err := s.SaveMaking(ctx, left); return err },
		"finishing": func() error { _, err := s.FinishMaking(ctx, left); return err },
		"leaving":   func() error { _, err := s.LeaveMaking(ctx, left.ID, left.Rev); return err },
		"opening":   func() error { _, err := s.ReopenMaking(ctx, left.ID, left.Rev); return err },
		"paging":    func() error { _, err := s.Makings(ctx, store.MakingFilter{After: left.ID}); return err },
		"its lots":  func() error { _, err := s.LotsOfMaking(ctx, left.ID); return err },
	} {
		want(t, doing+" the deleted", do(), store.ErrNotFound)
	}
}

// makingPages: every making once, latest start first, however it is picked.
func makingPages(t *testing.T, s store.Store) {
	ctx := t.Context()
	c := set(t, s)
	all := []store.MakingSummary{summaryOf(c.making)}
	for i := range store.UsualPage + 7 {
		m := store.Making{MixName: fmt.Sprintf("Mix %d Ährchen", i), Who: "Zoë"}
		if i%3 == 0 {
			m.Mix, m.Shelf = c.mix.ID, c.shelf.ID
		}
		m = must(s.StartMaking(ctx, m))(t)
		if i%4 == 0 {
			m = must(s.AppendEvent(ctx, m.ID, pour("1", "oat/groats", 3)))(t)
			m = must(s.AppendEvent(ctx, m.ID, pour("2", "oat/groats", 4)))(t)
			m = must(s.AppendEvent(ctx, m.ID, takeBack("3", "1")))(t)
			m.Lot = fmt.Sprintf("2026-%02d", i)
			m = must(s.FinishMaking(ctx, m))(t)
		}
		all = append(all, summaryOf(m))
	}
	slices.SortFunc(all, func(a, b store.MakingSummary) int {
		if c := b.Started.Compare(a.Started); c != 0 {
			return c
		}
		return compareIDs(b.ID, a.ID)
	})
	middle := all[20].Started
	for name, c := range map[string]struct {
		filter store.MakingFilter
		in     func(store.MakingSummary) bool
	}{
		"all":          {store.MakingFilter{}, func(store.MakingSummary) bool { return true }},
		"of a mix":     {store.MakingFilter{Mix: c.mix.ID}, func(m store.MakingSummary) bool { return m.Mix == c.mix.ID }},
		"from a shelf": {store.MakingFilter{Shelf: c.shelf.ID}, func(m store.MakingSummary) bool { return m.Shelf == c.shelf.ID }},
		"open":         {store.MakingFilter{State: store.StateOpen}, func(m store.MakingSummary) bool { return m.State == store.StateOpen }},
		"open of a mix": {store.MakingFilter{State: store.StateFinished, Mix: c.mix.ID}, func(m store.MakingSummary) bool {
			return m.State == store.StateFinished && m.Mix == c.mix.ID
		}},
		"by name":  {store.MakingFilter{Text: "5 AHRCHEN"}, func(m store.MakingSummary) bool { return strings.HasSuffix(m.MixName, "5 Ährchen") }},
		"by lot":   {store.MakingFilter{Text: "2026 0"}, func(m store.MakingSummary) bool { return strings.HasPrefix(m.Lot, "2026-0") }},
		"by who":   {store.MakingFilter{Text: "zoe"}, func(m store.MakingSummary) bool { return m.Who == "Zoë" }},
		"one lot":  {store.MakingFilter{Lot: "2026 04"}, func(m store.MakingSummary) bool { return m.Lot == "2026-04" }},
		"no lot":   {store.MakingFilter{Lot: "2026"}, func(m store.MakingSummary) bool { return false }},
		"since":    {store.MakingFilter{Since: middle}, func(m store.MakingSummary) bool { return !m.Started.Before(middle) }},
		"until":    {store.MakingFilter{Until: middle}, func(m store.MakingSummary) bool { return m.Started.Before(middle) }},
		"nobody's": {store.MakingFilter{Mix: "nobody"}, func(m store.MakingSummary) bool { return false }},
	} {
		var wanted []store.MakingSummary
		for _, m := range all {
			if c.in(m) {
				wanted = append(wanted, m)
			}
		}
		for _, most := range []int{3, store.MostPage} {
			c.filter.Most = most
			same(t, name, throughMakings(t, s, c.filter), wanted)
		}
	}
	same(t, "the usual page", must(s.Makings(ctx, store.MakingFilter{}))(t), all[:store.UsualPage])
}

func throughMakings(t fataler, s store.Store, f store.MakingFilter) []store.MakingSummary {
	t.Helper()
	var all []store.MakingSummary
	for {
		page := must(s.Makings(background, f))(t)
		if len(page) > f.Page() {
			t.Fatalf("%d makings on a page of %d", len(page), f.Page())
		}
		all = append(all, page...)
		if len(page) < f.Page() {
			return all
		}
		f.After = page[len(page)-1].ID
	}
}

// summaryOf says of a making what a list says, from its events.
func summaryOf(m store.Making) store.MakingSummary {
	out := store.MakingSummary{ID: m.ID, Rev: m.Rev, Mix: m.Mix, MixName: m.MixName, MixVersion: m.MixVersion, Shelf: m.Shelf, State: m.State,
		Lot: m.Lot, Who: m.Who, Note: m.Note, BestBefore: m.BestBefore, Events: len(m.Events), Started: m.Started, Finished: m.Finished, Changed: m.Changed}
	for _, e := range standing(m.Events) {
		out.PouredMg += e.Mg
	}
	return out
}

// standing are the pours that were not taken back.
func standing(list []store.Event) []store.Event {
	var out []store.Event
	for _, e := range list {
		taken := slices.ContainsFunc(list, func(b store.Event) bool { return b.Kind == store.KindTakeBack && b.Of == e.Key })
		if e.Kind == store.KindPour && !taken {
			out = append(out, e)
		}
	}
	return out
}

// makingsLetGo: a making outlives its mix and its shelf.
func makingsLetGo(t *testing.T, s store.Store) {
	ctx := t.Context()
	c := set(t, s)
	want(t, "deleting the mix", s.DeleteMix(ctx, c.mix.ID, c.mix.Rev), nil)
	m := must(s.Making(ctx, c.making.ID))(t)
	if m.Mix != "" || m.MixName != "Winter" || m.Rev <= c.making.Rev {
		t.Errorf("after its mix: %+v", m)
	}
	_, err := s.FinishMaking(ctx, c.making)
	want(t, "finishing what was read before", err, store.ErrConflict)
	_, err = s.StartMaking(ctx, store.Making{Mix: c.mix.ID})
	want(t, "a mix that is not there", err, store.ErrInvalid)
	want(t, "deleting the shelf", s.DeleteShelf(ctx, c.shelf.ID, c.shelf.Rev), nil)
	if got := must(s.Making(ctx, c.making.ID))(t); got.Shelf != "" || got.Rev <= m.Rev {
		t.Errorf("after its shelf: %+v", got)
	}
	_, err = s.StartMaking(ctx, store.Making{Shelf: c.shelf.ID})
	want(t, "a shelf that is not there", err, store.ErrInvalid)
}

// twoDevices: two devices pour at once and send everything several times; each
// key is kept once and the count is right.
func twoDevices(t *testing.T, s store.Store) {
	ctx := t.Context()
	c := set(t, s)
	const pours = 20
	var both sync.WaitGroup
	for device := range 2 {
		both.Go(func() {
			for i := range pours {
				for range 3 {
					key := fmt.Sprint(device, "-", i)
					m, err := s.AppendEvent(ctx, c.making.ID, pour(key, "oat/groats", 1000))
					if err != nil || !slices.ContainsFunc(m.Events, func(e store.Event) bool { return e.Key == key }) {
						t.Errorf("%s: %v", key, err)
					}
				}
			}
		})
	}
	both.Wait()
	m := must(s.Making(ctx, c.making.ID))(t)
	same(t, "pours", len(m.Events), 2*pours)
	for i, e := range m.Events {
		same(t, "in order", e.Seq, int64(i+1))
	}
	same(t, "on hand", *onHand(t, s, c.shelf.ID, "oat/groats"), int64(1_500_000-2*pours*1000))
}
