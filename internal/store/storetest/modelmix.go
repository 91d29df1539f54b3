package storetest

import (
	"cmp"
	"maps"
	"slices"
	"strings"

	"pgregory.net/rapid"

	"firlot/internal/store"
)

// drawMix draws what a caller may set.
func (m *model) drawMix(t *rapid.T, x *store.Mix) error {
	x.Name, x.Document = someNames.Draw(t, "name"), someDocuments.Draw(t, "document")
	x.Archived = rapid.Bool().Draw(t, "archived")
	x.Group, x.Shelf = "", ""
	if rapid.Bool().Draw(t, "for a group") {
		x.Group = pick(t, m, m.groups)
	}
	if rapid.Bool().Draw(t, "from a shelf") {
		x.Shelf = pick(t, m, m.shelves)
	}
	return asInvalid(x.Check())
}

// knows says whether what a mix names is there.
func (m *model) knows(x store.Mix) error {
	_, group := m.groups[x.Group]
	_, shelf := m.shelves[x.Shelf]
	if x.Group != "" && !group || x.Shelf != "" && !shelf {
		return store.ErrInvalid
	}
	return nil
}

func (m *model) addMix(t *rapid.T) {
	var x store.Mix
	expect := m.drawMix(t, &x)
	kept, err := m.s.SaveMix(background, x)
	want(t, "adding a mix", err, cmp.Or(expect, m.knows(x)))
	if err != nil {
		return
	}
	if m.mixes[kept.ID] != nil || slices.Contains(m.gone, kept.ID) {
		t.Fatalf("ID %s used again", kept.ID)
	}
	x.ID, x.Made = kept.ID, kept.Changed
	m.mixes[x.ID] = &modelMix{Mix: x}
	m.settle(t, m.mixes[x.ID], kept)
}

// settle takes over the rev and time of a change and compares the rest.
func (m *model) settle(t *rapid.T, x *modelMix, kept store.Mix) {
	stamped(t, kept.ID, kept.Rev, kept.Changed)
	m.newRev(t, kept.Rev)
	x.Rev, x.Changed = kept.Rev, kept.Changed
	same(t, "kept", kept, x.mix())
}

func (m *model) changeMix(t *rapid.T) {
	id := pick(t, m, m.mixes)
	has := m.mixes[id]
	x := store.Mix{ID: id}
	if has != nil {
		x = has.mix()
	}
	expect := m.drawMix(t, &x)
	x.Rev = held(t, x.Rev)
	kept, err := m.s.SaveMix(background, x)
	want(t, "changing a mix", err, cmp.Or(expect, m.mixFault(id, x.Rev), m.knows(x)))
	if err != nil {
		return
	}
	has.write(x.Document)
	has.Name, has.Group, has.Shelf, has.Archived = x.Name, x.Group, x.Shelf, x.Archived
	m.settle(t, has, kept)
}

func (m *model) mixFault(id store.ID, rev int64) error {
	x := m.mixes[id]
	return fault(x != nil, m.revOf(id), rev)
}

func (m *model) revOf(id store.ID) int64 {
	if x := m.mixes[id]; x != nil {
		return x.Rev
	}
	return 0
}

// workOnMix is what keepers do most: change, back and forth, on one mix. Drawn
// one by one, such steps rarely meet on the same mix.
func (m *model) workOnMix(t *rapid.T) {
	if len(m.mixes) == 0 {
		t.Skip("no mix yet")
	}
	ids := slices.SortedFunc(maps.Keys(m.mixes), compareIDs)
	x := m.mixes[rapid.SampledFrom(ids).Draw(t, "mix")]
	for range rapid.IntRange(4, 20).Draw(t, "steps") {
		switch rapid.IntRange(0, 5).Draw(t, "step") {
		case 0, 1:
			m.undoOf(t, x.ID, x.Rev)
		case 2:
			m.redoOf(t, x.ID, x.Rev)
		default:
			m.rewrite(t, x, rapid.StringMatching("[a-e]").Draw(t, "document"))
		}
	}
}

// rewrite saves another document, and nothing else.
func (m *model) rewrite(t *rapid.T, x *modelMix, document string) {
	next := x.mix()
	next.Document = document
	kept, err := m.s.SaveMix(background, next)
	want(t, "rewriting", err, nil)
	x.write(document)
	m.settle(t, x, kept)
}

// write puts a document in place, and what was there among the past.
func (m *modelMix) write(document string) {
	if document == m.Document {
		return
	}
	m.past = append(m.past, m.Document)
	m.past = m.past[max(0, len(m.past)-store.MostUndo):]
	m.future = nil
	m.Document = document
}

func (m *model) undo(t *rapid.T) {
	id := pick(t, m, m.mixes)
	m.undoOf(t, id, held(t, m.revOf(id)))
}

func (m *model) redo(t *rapid.T) {
	id := pick(t, m, m.mixes)
	m.redoOf(t, id, held(t, m.revOf(id)))
}

func (m *model) undoOf(t *rapid.T, id store.ID, rev int64) {
	kept, err := m.s.UndoMix(background, id, rev)
	m.moved(t, id, rev, kept, err, func(x *modelMix) (from, to *[]string) { return &x.past, &x.future })
}

func (m *model) redoOf(t *rapid.T, id store.ID, rev int64) {
	kept, err := m.s.RedoMix(background, id, rev)
	m.moved(t, id, rev, kept, err, func(x *modelMix) (from, to *[]string) { return &x.future, &x.past })
}

func (m *model) moved(t *rapid.T, id store.ID, rev int64, kept store.Mix, err error, ways func(*modelMix) (from, to *[]string)) {
	expect := m.mixFault(id, rev)
	x := m.mixes[id]
	if expect == nil {
		if from, _ := ways(x); len(*from) == 0 {
			expect = store.ErrNoStep
		}
	}
	want(t, "undo or redo", err, expect)
	if err != nil {
		return
	}
	from, to := ways(x)
	*to = append(*to, x.Document)
	x.Document = (*from)[len(*from)-1]
	*from = (*from)[:len(*from)-1]
	m.settle(t, x, kept)
}

func (m *model) keepVersion(t *rapid.T) {
	id := pick(t, m, m.mixes)
	rev := held(t, m.revOf(id))
	note := someDocuments.Draw(t, "note")
	kept, err := m.s.KeepVersion(background, id, rev, note)
	want(t, "keeping a version", err, cmp.Or(asInvalid(store.CheckNote(note)), m.mixFault(id, rev)))
	if err != nil {
		return
	}
	x := m.mixes[id]
	x.Version++
	got := must(m.s.Versions(background, id))(t)
	v := store.Version{Mix: id, Number: x.Version, Document: x.Document, Note: note, At: got[0].At}
	x.versions = slices.Insert(x.versions, 0, v)
	m.settle(t, x, kept)
}

func (m *model) deleteMix(t *rapid.T) {
	id := pick(t, m, m.mixes)
	rev := held(t, m.revOf(id))
	err := m.s.DeleteMix(background, id, rev)
	want(t, "deleting a mix", err, m.mixFault(id, rev))
	if err == nil {
		delete(m.mixes, id)
		m.gone = append(m.gone, id)
		m.releaseMakings(t, func(k *store.Making) *store.ID { return &k.Mix }, id)
	}
}

// list asks for a random list, page by page.
func (m *model) list(t *rapid.T) {
	f := store.Filter{Text: someNames.Draw(t, "text"), Archived: rapid.Bool().Draw(t, "archived"), Most: rapid.IntRange(1, 4).Draw(t, "most")}
	if rapid.Bool().Draw(t, "of a group") {
		f.Group = pick(t, m, m.groups)
	}
	var wanted []store.Summary
	for _, x := range m.mixes {
		if x.Archived == f.Archived && (f.Group == "" || x.Group == f.Group) && strings.Contains(store.Fold(x.Name), store.Fold(f.Text)) {
			wanted = append(wanted, summary(x.Mix))
		}
	}
	slices.SortFunc(wanted, latestFirst)
	same(t, "list", throughPages(t, m.s, f), wanted)
}

// compare holds everything that is kept against the model.
func (m *model) compare(t *rapid.T) {
	var groups []store.Group
	for _, g := range m.groups {
		groups = append(groups, g)
	}
	slices.SortFunc(groups, func(a, b store.Group) int {
		return cmp.Or(strings.Compare(store.Fold(a.Name), store.Fold(b.Name)), strings.Compare(a.Name, b.Name), compareIDs(a.ID, b.ID))
	})
	same(t, "groups", must(m.s.Groups(background))(t), groups)
	var shelves []store.Shelf
	for _, sh := range m.shelves {
		shelves = append(shelves, sh)
	}
	slices.SortFunc(shelves, func(a, b store.Shelf) int {
		return cmp.Or(strings.Compare(store.Fold(a.Name), store.Fold(b.Name)), strings.Compare(a.Name, b.Name), compareIDs(a.ID, b.ID))
	})
	same(t, "shelves", must(m.s.Shelves(background))(t), shelves)
	for id, x := range m.mixes {
		same(t, "mix", must(m.s.Mix(background, id))(t), x.mix())
		same(t, "versions", must(m.s.Versions(background, id))(t), x.versions)
	}
	m.compareMakings(t)
	for name, value := range m.settings {
		same(t, "setting", must(m.s.Setting(background, name))(t), value)
	}
}
