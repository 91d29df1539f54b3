package storetest

import (
	"fmt"
	"testing"
	"time"

	"firlot/internal/store"
)

func mixes(t *testing.T, s store.Store) {
	ctx := t.Context()
	g := must(s.SaveGroup(ctx, barn()))(t)
	sh := must(s.SaveShelf(ctx, kitchen()))(t)
	// What the store sets, it sets itself.
	kept := must(s.SaveMix(ctx, store.Mix{Rev: 7, Name: "Winter", Group: g.ID, Shelf: sh.ID, Document: "batch = \"500 g\"\n",
		Version: 9, Made: time.Unix(1, 0), Changed: time.Unix(2, 0), CanUndo: true, CanRedo: true}))(t)
	stamped(t, kept.ID, kept.Rev, kept.Changed)
	same(t, "kept", kept, store.Mix{ID: kept.ID, Rev: kept.Rev, Name: "Winter", Group: g.ID, Shelf: sh.ID,
		Document: "batch = \"500 g\"\n", Made: kept.Changed, Changed: kept.Changed})
	same(t, "read", must(s.Mix(ctx, kept.ID))(t), kept)

	change := kept
	change.Name, change.Group, change.Shelf, change.Archived = "Summer", "", "", true
	next := must(s.SaveMix(ctx, change))(t)
	same(t, "made", next.Made, kept.Made)
	same(t, "nothing to undo in a new name", next.CanUndo, false)
	same(t, "read", must(s.Mix(ctx, kept.ID))(t), next)
	_, err := s.SaveMix(ctx, change)
	want(t, "an old Rev", err, store.ErrConflict)
	change = next
	change.Group = "nobody"
	_, err = s.SaveMix(ctx, change)
	want(t, "an unknown group", err, store.ErrInvalid)

	want(t, "deleting an old Rev", s.DeleteMix(ctx, kept.ID, kept.Rev), store.ErrConflict)
	want(t, "deleting", s.DeleteMix(ctx, kept.ID, next.Rev), nil)
	for doing, do := range map[string]func() error{
		"reading":  func() error { _, err := s.Mix(ctx, kept.ID); return err },
		"saving":   func() error { _, err := s.SaveMix(ctx, next); return err },
		"undoing":  func() error { _, err := s.UndoMix(ctx, kept.ID, next.Rev); return err },
		"keeping":  func() error { _, err := s.KeepVersion(ctx, kept.ID, next.Rev, ""); return err },
		"versions": func() error { _, err := s.Versions(ctx, kept.ID); return err },
		"paging":   func() error { _, err := s.Mixes(ctx, store.Filter{After: kept.ID}); return err },
	} {
		want(t, doing+" the deleted", do(), store.ErrNotFound)
	}
}

func undo(t *testing.T, s store.Store) {
	ctx := t.Context()
	m := must(s.SaveMix(ctx, store.Mix{Name: "a", Document: "0"}))(t)
	_, err := s.UndoMix(ctx, m.ID, m.Rev)
	want(t, "nothing to undo", err, store.ErrNoStep)
	const saves = store.MostUndo + 5
	for i := 1; i <= saves; i++ {
		m.Document = fmt.Sprint(i)
		m = must(s.SaveMix(ctx, m))(t)
	}
	for i := saves - 1; i >= saves-store.MostUndo; i-- {
		if !m.CanUndo {
			t.Fatalf("no undo from %s", m.Document)
		}
		m = must(s.UndoMix(ctx, m.ID, m.Rev))(t)
		same(t, "undone", m.Document, fmt.Sprint(i))
	}
	same(t, "the last undo", m.CanUndo, false)
	_, err = s.UndoMix(ctx, m.ID, m.Rev)
	want(t, "undo beyond the limit", err, store.ErrNoStep)
	_, err = s.RedoMix(ctx, m.ID, m.Rev-1)
	want(t, "redo of an old Rev", err, store.ErrConflict)
	for i := saves - store.MostUndo + 1; i <= saves; i++ {
		m = must(s.RedoMix(ctx, m.ID, m.Rev))(t)
		same(t, "redone", m.Document, fmt.Sprint(i))
	}
	same(t, "read", must(s.Mix(ctx, m.ID))(t), m)
	_, err = s.RedoMix(ctx, m.ID, m.Rev)
	want(t, "nothing to redo", err, store.ErrNoStep)

	m = must(s.UndoMix(ctx, m.ID, m.Rev))(t)
	m.Name = "b"
	m = must(s.SaveMix(ctx, m))(t)
	same(t, "a new name leaves redo", m.CanRedo, true)
	m.Document = "other"
	m = must(s.SaveMix(ctx, m))(t)
	same(t, "a new document ends redo", m.CanRedo, false)
	m = must(s.UndoMix(ctx, m.ID, m.Rev))(t)
	same(t, "before the other", m.Document, fmt.Sprint(saves-1))
	same(t, "the name is not undone", m.Name, "b")

	// A change after several steps back forgets all of them.
	for range 3 {
		m = must(s.UndoMix(ctx, m.ID, m.Rev))(t)
	}
	m.Document = "another"
	m = must(s.SaveMix(ctx, m))(t)
	same(t, "a new document ends redo", m.CanRedo, false)
	_, err = s.RedoMix(ctx, m.ID, m.Rev)
	want(t, "nothing to redo", err, store.ErrNoStep)
	same(t, "before it", must(s.UndoMix(ctx, m.ID, m.Rev))(t).Document, fmt.Sprint(saves-4))
}

func versions(t *testing.T, s store.Store) {
	ctx := t.Context()
	m := must(s.SaveMix(ctx, store.Mix{Name: "a", Document: "one"}))(t)
	same(t, "none", len(must(s.Versions(ctx, m.ID))(t)), 0)
	first := must(s.KeepVersion(ctx, m.ID, m.Rev, "as first made"))(t)
	same(t, "counted", first.Version, 1)
	_, err := s.KeepVersion(ctx, m.ID, m.Rev, "")
	want(t, "an old Rev", err, store.ErrConflict)
	first.Document = "two"
	second := must(s.SaveMix(ctx, first))(t)
	second = must(s.KeepVersion(ctx, m.ID, second.Rev, ""))(t)
	second = must(s.UndoMix(ctx, m.ID, second.Rev))(t)
	same(t, "undo leaves the versions", second.Version, 2)
	got := must(s.Versions(ctx, m.ID))(t)
	for _, v := range got {
		stamped(t, v.Mix, int64(v.Number), v.At)
	}
	same(t, "versions", got, []store.Version{
		{Mix: m.ID, Number: 2, Document: "two", At: got[0].At},
		{Mix: m.ID, Number: 1, Document: "one", Note: "as first made", At: got[1].At},
	})
	want(t, "deleting", s.DeleteMix(ctx, m.ID, second.Rev), nil)
}

// orphans: the mixes of a deleted group or shelf stay.
func orphans(t *testing.T, s store.Store) {
	ctx := t.Context()
	g := must(s.SaveGroup(ctx, store.Group{Name: "g"}))(t)
	sh := must(s.SaveShelf(ctx, store.Shelf{Name: "s"}))(t)
	both := must(s.SaveMix(ctx, store.Mix{Name: "both", Group: g.ID, Shelf: sh.ID}))(t)
	free := must(s.SaveMix(ctx, store.Mix{Name: "free"}))(t)
	want(t, "deleting the group", s.DeleteGroup(ctx, g.ID, g.Rev), nil)
	left := must(s.Mix(ctx, both.ID))(t)
	if left.Group != "" || left.Shelf != sh.ID || left.Rev <= both.Rev || !left.Changed.Equal(both.Changed) {
		t.Errorf("after its group: %+v", left)
	}
	want(t, "deleting the shelf", s.DeleteShelf(ctx, sh.ID, sh.Rev), nil)
	after := must(s.Mix(ctx, both.ID))(t)
	if after.Shelf != "" || after.Rev <= left.Rev {
		t.Errorf("after its shelf: %+v", after)
	}
	_, err := s.SaveMix(ctx, both)
	want(t, "saving what still names them", err, store.ErrConflict)
	same(t, "the other mix", must(s.Mix(ctx, free.ID))(t), free)
}
