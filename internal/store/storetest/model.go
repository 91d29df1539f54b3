package storetest

import (
	"bytes"
	"cmp"
	"context"
	"maps"
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"firlot/internal/store"
)

// background is for what outlasts a test's own context: drawing and cleaning.
var background = context.Background()

func compareIDs(a, b store.ID) int { return strings.Compare(string(a), string(b)) }

// model does in maps and slices what a store does on disk. IDs, revs and times
// it takes from the store, after looking at them.
type model struct {
	s        store.Store
	groups   map[store.ID]store.Group
	shelves  map[store.ID]store.Shelf
	mixes    map[store.ID]*modelMix
	makings  map[store.ID]*store.Making
	lots     map[store.ID]store.Lot
	settings map[string]string
	gone     []store.ID
	rev      int64 // the highest so far
}

type modelMix struct {
	store.Mix
	past, future []string // documents; the nearest last
	versions     []store.Version
}

func (m *modelMix) mix() store.Mix {
	out := m.Mix
	out.CanUndo, out.CanRedo = len(m.past) > 0, len(m.future) > 0
	return out
}

// againstModel does random things to a store and to the model.
func againstModel(t *testing.T, open func(t *testing.T) store.Store) {
	rapid.Check(t, func(rt *rapid.T) {
		m := &model{s: open(t), groups: map[store.ID]store.Group{}, shelves: map[store.ID]store.Shelf{},
			mixes: map[store.ID]*modelMix{}, settings: map[string]string{}, makings: map[store.ID]*store.Making{}, lots: map[store.ID]store.Lot{}}
		defer closeIt(t, m.s)
		rt.Repeat(map[string]func(*rapid.T){
			"":              m.compare,
			"save group":    m.saveGroup,
			"delete group":  m.deleteGroup,
			"save shelf":    m.saveShelf,
			"delete shelf":  m.deleteShelf,
			"add mix":       m.addMix,
			"change mix":    m.changeMix,
			"work on a mix": m.workOnMix,
			"undo":          m.undo,
			"redo":          m.redo,
			"keep version":  m.keepVersion,
			"delete mix":    m.deleteMix,
			"save lot":      m.saveLot,
			"delete lot":    m.deleteLot,
			"start making":  m.startMaking,
			"event":         m.appendAny,
			"at the scale":  m.atTheScale,
			"at it again":   m.atTheScale,
			"end making":    m.endMaking,
			"set":           m.set,
			"list":          m.list,
			"back and back": m.backAndBack,
		})
	})
}

var (
	someNames     = rapid.SampledFrom([]string{"Winter", "winter", "Ähre", "ahre mix", "ёж", "%", "a-b", " ", ""})
	someDocuments = rapid.SampledFrom([]string{"", "a", "b", "c", "batch = \"1 kg\"\n", "\x00"})
)

// pick draws an ID: a known one, mostly, a deleted one or one never heard of.
func pick[V any](t *rapid.T, m *model, known map[store.ID]V) store.ID {
	ids := slices.SortedFunc(maps.Keys(known), compareIDs)
	others := append([]store.ID{"unheard-of"}, m.gone...)
	if len(ids) == 0 || rapid.IntRange(0, 9).Draw(t, "who") == 0 {
		return rapid.SampledFrom(others).Draw(t, "other ID")
	}
	return rapid.SampledFrom(ids).Draw(t, "ID")
}

// held draws the rev that a caller holds: mostly the right one.
func held(t *rapid.T, rev int64) int64 {
	return rev - rapid.SampledFrom([]int64{0, 0, 0, 0, 1, -1}).Draw(t, "rev off by")
}

// fault is the error that a change of a thing must meet.
func fault(there bool, has, rev int64) error {
	switch {
	case !there:
		return store.ErrNotFound
	case has != rev:
		return store.ErrConflict
	}
	return nil
}

// newRev takes note of a rev, which nothing may have had before.
func (m *model) newRev(t *rapid.T, rev int64) {
	if rev <= m.rev {
		t.Fatalf("rev %d after %d", rev, m.rev)
	}
	m.rev = rev
}

func (m *model) saveGroup(t *rapid.T) {
	g := store.Group{Name: someNames.Draw(t, "name"), Animals: rapid.IntRange(-1, 3).Draw(t, "animals"), Archived: rapid.Bool().Draw(t, "archived")}
	expect := g.Check()
	if rapid.Bool().Draw(t, "change") {
		g.ID = pick(t, m, m.groups)
		has, there := m.groups[g.ID]
		g.Rev = held(t, has.Rev)
		expect = cmp.Or(asInvalid(expect), fault(there, has.Rev, g.Rev))
	}
	kept, err := m.s.SaveGroup(background, g)
	want(t, "saving a group", err, asInvalid(expect))
	if err != nil {
		return
	}
	stamped(t, kept.ID, kept.Rev, kept.Changed)
	m.newRev(t, kept.Rev)
	g.ID, g.Rev, g.Changed = cmp.Or(g.ID, kept.ID), kept.Rev, kept.Changed
	same(t, "kept", kept, g)
	m.groups[g.ID] = g
}

// asInvalid leaves of an error of Check what a store must return.
func asInvalid(err error) error {
	if err == nil || !strings.HasPrefix(err.Error(), store.ErrInvalid.Error()) {
		return err
	}
	return store.ErrInvalid
}

func (m *model) deleteGroup(t *rapid.T) {
	id := pick(t, m, m.groups)
	has, there := m.groups[id]
	rev := held(t, has.Rev)
	err := m.s.DeleteGroup(background, id, rev)
	want(t, "deleting a group", err, fault(there, has.Rev, rev))
	if err != nil {
		return
	}
	delete(m.groups, id)
	m.gone = append(m.gone, id)
	m.release(t, func(x *modelMix) *store.ID { return &x.Group }, id)
}

// release takes a group or shelf away from its mixes, whose revs go up.
func (m *model) release(t *rapid.T, of func(*modelMix) *store.ID, id store.ID) {
	highest := m.rev
	for _, x := range m.mixes {
		if *of(x) != id {
			continue
		}
		*of(x) = ""
		now := must(m.s.Mix(background, x.ID))(t).Rev
		if now <= m.rev {
			t.Fatalf("rev %d after %d", now, m.rev)
		}
		x.Rev, highest = now, max(highest, now)
	}
	m.rev = highest
}

// releaseMakings takes a mix or shelf away from its makings, likewise.
func (m *model) releaseMakings(t *rapid.T, of func(*store.Making) *store.ID, id store.ID) {
	highest := m.rev
	for _, k := range m.makings {
		if *of(k) != id {
			continue
		}
		*of(k) = ""
		now := must(m.s.Making(background, k.ID))(t).Rev
		if now <= m.rev {
			t.Fatalf("rev %d after %d", now, m.rev)
		}
		k.Rev, highest = now, max(highest, now)
	}
	m.rev = highest
}

func (m *model) saveShelf(t *rapid.T) {
	sh := store.Shelf{Name: someNames.Draw(t, "name")}
	for _, ref := range rapid.SliceOfN(rapid.SampledFrom([]string{"oat", "rye", "millet", "spelt", "hemp"}), 0, 3).Draw(t, "items") {
		sh.Items = append(sh.Items, store.Item{Ref: ref, CanHave: rapid.Bool().Draw(t, "to be had"),
			OnHand: rapid.Ptr(rapid.Int64Range(-1, 9), true).Draw(t, "on hand"),
			Price:  rapid.Ptr(rapid.Float64Range(0, 9), true).Draw(t, "price")})
	}
	expect := asInvalid(sh.Check())
	if rapid.Bool().Draw(t, "change") {
		sh.ID = pick(t, m, m.shelves)
		has, there := m.shelves[sh.ID]
		sh.Rev = held(t, has.Rev)
		expect = cmp.Or(expect, fault(there, has.Rev, sh.Rev))
	}
	kept, err := m.s.SaveShelf(background, sh)
	want(t, "saving a shelf", err, expect)
	if err != nil {
		return
	}
	stamped(t, kept.ID, kept.Rev, kept.Changed)
	m.newRev(t, kept.Rev)
	sh.ID, sh.Rev, sh.Changed = cmp.Or(sh.ID, kept.ID), kept.Rev, kept.Changed
	same(t, "kept", kept, sh)
	m.shelves[sh.ID] = sh
}

func (m *model) deleteShelf(t *rapid.T) {
	id := pick(t, m, m.shelves)
	has, there := m.shelves[id]
	rev := held(t, has.Rev)
	err := m.s.DeleteShelf(background, id, rev)
	want(t, "deleting a shelf", err, fault(there, has.Rev, rev))
	if err != nil {
		return
	}
	delete(m.shelves, id)
	m.gone = append(m.gone, id)
	m.release(t, func(x *modelMix) *store.ID { return &x.Shelf }, id)
	m.releaseMakings(t, func(k *store.Making) *store.ID { return &k.Shelf }, id)
}

func (m *model) set(t *rapid.T) {
	name, value := someNames.Draw(t, "name"), someDocuments.Draw(t, "value")
	err := m.s.SetSetting(background, name, value)
	want(t, "setting", err, asInvalid(store.CheckSetting(name, value)))
	if err == nil {
		m.settings[name] = value
	}
}

// backAndBack makes a backup, spoils something and restores.
func (m *model) backAndBack(t *rapid.T) {
	var file bytes.Buffer
	want(t, "backup", m.s.Backup(background, &file), nil)
	must(m.s.SaveMix(background, store.Mix{Name: "made in between"}))(t)
	want(t, "restore", m.s.Restore(background, &file), nil)
	for _, x := range m.mixes {
		x.past, x.future = nil, nil
		x.Rev = must(m.s.Mix(background, x.ID))(t).Rev
		m.checkRestored(t, x.Rev)
	}
	for id, g := range m.groups {
		g.Rev = must(m.s.Group(background, id))(t).Rev
		m.checkRestored(t, g.Rev)
		m.groups[id] = g
	}
	for id, sh := range m.shelves {
		sh.Rev = must(m.s.Shelf(background, id))(t).Rev
		m.checkRestored(t, sh.Rev)
		m.shelves[id] = sh
	}
	m.restoredMakings(t)
	// Whatever comes next must be higher than all of these.
	probe := must(m.s.SaveMix(background, store.Mix{Name: "probe"}))(t)
	want(t, "deleting", m.s.DeleteMix(background, probe.ID, probe.Rev), nil)
	m.newRev(t, probe.Rev)
}

func (m *model) checkRestored(t *rapid.T, rev int64) {
	if rev <= m.rev {
		t.Fatalf("restored with rev %d, and %d was given out before", rev, m.rev)
	}
}
