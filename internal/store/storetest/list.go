package storetest

import (
	"fmt"
	"slices"
	"testing"

	"firlot/internal/store"
)

func search(t *testing.T, s store.Store) {
	ctx := t.Context()
	for _, name := range []string{"Winter ÄHREN", "Aveia em flocos", "Ёлка", "100 % oats", "a_b", "semente-de-LINHO"} {
		must(s.SaveMix(ctx, store.Mix{Name: name}))(t)
	}
	for text, wanted := range map[string]string{
		"ähren": "Winter ÄHREN", "AHREN": "Winter ÄHREN", "AVÉIA": "Aveia em flocos", "ёлк": "Ёлка",
		"%": "100 % oats", "a_b": "a_b", "_": "", "De-Linho": "semente-de-LINHO", "de linho": "semente-de-LINHO", "rye": "",
		"'": "", "\\": "", "*": "",
	} {
		var got []string
		for _, m := range must(s.Mixes(ctx, store.Filter{Text: text}))(t) {
			got = append(got, m.Name)
		}
		// Fold makes a space of "_", so "_" alone asks for nothing in particular.
		if store.Fold(text) == "" {
			same(t, text, len(got), 6)
			continue
		}
		if wanted == "" {
			same(t, text, got, []string(nil))
		} else {
			same(t, text, got, []string{wanted})
		}
	}
}

// pages: every mix once, latest first, however large the pages.
func pages(t *testing.T, s store.Store) {
	ctx := t.Context()
	g := must(s.SaveGroup(ctx, store.Group{Name: "g"}))(t)
	var all, ofGroup []store.Summary
	for i := range store.UsualPage + 7 {
		m := store.Mix{Name: fmt.Sprint("mix ", i)}
		if i%3 == 0 {
			m.Group = g.ID
		}
		m = must(s.SaveMix(ctx, m))(t)
		all = append(all, summary(m))
		if m.Group != "" {
			ofGroup = append(ofGroup, summary(m))
		}
	}
	must(s.SaveMix(ctx, store.Mix{Name: "hidden", Archived: true}))(t)
	slices.SortFunc(all, latestFirst)
	slices.SortFunc(ofGroup, latestFirst)
	same(t, "the usual page", must(s.Mixes(ctx, store.Filter{}))(t), all[:store.UsualPage])
	for _, most := range []int{1, 7, len(all), store.MostPage} {
		same(t, "all", throughPages(t, s, store.Filter{Most: most}), all)
		same(t, "group", throughPages(t, s, store.Filter{Most: most, Group: g.ID}), ofGroup)
	}
	same(t, "archived", len(must(s.Mixes(ctx, store.Filter{Archived: true}))(t)), 1)
	same(t, "nobody's", len(must(s.Mixes(ctx, store.Filter{Group: "nobody"}))(t)), 0)

	// The last of a page changes or goes before the next is asked for.
	page := must(s.Mixes(ctx, store.Filter{Most: 5}))(t)
	last := must(s.Mix(ctx, page[4].ID))(t)
	last = must(s.SaveMix(ctx, last))(t)
	next := store.Filter{After: last.ID, AfterAt: page[4].Changed, Most: 5}
	same(t, "after a change", must(s.Mixes(ctx, next))(t), all[5:10])
	want(t, "deleting", s.DeleteMix(ctx, last.ID, last.Rev), nil)
	same(t, "after deleting", must(s.Mixes(ctx, next))(t), all[5:10])
}

// throughPages asks for one page after another, telling the time or not.
func throughPages(t fataler, s store.Store, f store.Filter) []store.Summary {
	t.Helper()
	var all []store.Summary
	for {
		page, err := s.Mixes(background, f)
		if err != nil {
			t.Fatalf("page: %v", err)
		}
		if len(page) > f.Page() {
			t.Fatalf("%d mixes on a page of %d", len(page), f.Page())
		}
		all = append(all, page...)
		if len(page) < f.Page() {
			return all
		}
		last := page[len(page)-1]
		f.After = last.ID
		if len(all)%2 == 0 {
			f.AfterAt = last.Changed
		} else {
			f.AfterAt = never
		}
	}
}

func summary(m store.Mix) store.Summary {
	return store.Summary{ID: m.ID, Name: m.Name, Group: m.Group, Shelf: m.Shelf, Version: m.Version, Archived: m.Archived, Changed: m.Changed}
}

func latestFirst(a, b store.Summary) int {
	if c := b.Changed.Compare(a.Changed); c != 0 {
		return c
	}
	return compareIDs(b.ID, a.ID)
}
