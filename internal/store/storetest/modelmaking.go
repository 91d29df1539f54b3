package storetest

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

	"pgregory.net/rapid"

	"firlot/internal/store"
)

func (m *model) saveLot(t *rapid.T) {
	l := store.Lot{Ref: rapid.SampledFrom([]string{"oat", "rye", ""}).Draw(t, "ref"), Code: someNames.Draw(t, "code"),
		BoughtMg: rapid.Ptr(rapid.Int64Range(-1, 9), true).Draw(t, "bought"), Gone: rapid.Bool().Draw(t, "gone")}
	expect := asInvalid(l.Check())
	if rapid.Bool().Draw(t, "change") {
		l.ID = pick(t, m, m.lots)
		has, there := m.lots[l.ID]
		l.Rev, l.Made, l.PouredMg = held(t, has.Rev), has.Made, has.PouredMg
		expect = cmp.Or(expect, fault(there, has.Rev, l.Rev))
	}
	kept, err := m.s.SaveLot(background, l)
	want(t, "saving a lot", err, expect)
	if err != nil {
		return
	}
	stamped(t, kept.ID, kept.Rev, kept.Changed)
	m.newRev(t, kept.Rev)
	if l.ID == "" {
		l.ID, l.Made = kept.ID, kept.Changed
	}
	l.Rev, l.Changed = kept.Rev, kept.Changed
	same(t, "kept", kept, l)
	m.lots[l.ID] = l
}

func (m *model) deleteLot(t *rapid.T) {
	id := pick(t, m, m.lots)
	has, there := m.lots[id]
	rev := held(t, has.Rev)
	expect := fault(there, has.Rev, rev)
	for _, k := range m.makings {
		if slices.ContainsFunc(k.Events, func(e store.Event) bool { return e.Lot == id }) {
			expect = cmp.Or(expect, store.ErrInUse)
		}
	}
	err := m.s.DeleteLot(background, id, rev)
	want(t, "deleting a lot", err, expect)
	if err == nil {
		delete(m.lots, id)
		m.gone = append(m.gone, id)
	}
}

func (m *model) startMaking(t *rapid.T) {
	k := store.Making{Key: rapid.SampledFrom([]string{"", "", "a", "b"}).Draw(t, "key"), MixName: someNames.Draw(t, "name"),
		Start: rapid.SampledFrom([]string{"{}", "[]"}).Draw(t, "start"), Lot: someNames.Draw(t, "lot")}
	if rapid.Bool().Draw(t, "of a mix") {
		k.Mix = pick(t, m, m.mixes)
	}
	if rapid.IntRange(0, 3).Draw(t, "from a shelf") > 0 {
		k.Shelf = pick(t, m, m.shelves)
	}
	_, shelf := m.shelves[k.Shelf]
	_, mix := m.mixes[k.Mix]
	expect := asInvalid(k.Check())
	var before *store.Making
	for _, x := range m.makings {
		if k.Key != "" && x.Key == k.Key {
			before = x
		}
	}
	switch {
	case expect != nil:
	case before != nil && before.Start != k.Start:
		expect = store.ErrConflict
	case before != nil:
	case k.Mix != "" && !mix || k.Shelf != "" && !shelf:
		expect = store.ErrInvalid
	case m.lotTaken(k):
		expect = store.ErrTaken
	}
	kept, err := m.s.StartMaking(background, k)
	want(t, "starting", err, expect)
	switch {
	case err != nil:
	case before != nil:
		same(t, "started again", kept, *before)
	default:
		stamped(t, kept.ID, kept.Rev, kept.Changed)
		m.newRev(t, kept.Rev)
		k.ID, k.Rev, k.State, k.Started, k.Changed = kept.ID, kept.Rev, store.StateOpen, kept.Changed, kept.Changed
		same(t, "kept", kept, k)
		m.makings[k.ID] = &k
	}
}

// lotTaken reports whether another making has the lot of a making.
func (m *model) lotTaken(k store.Making) bool {
	for _, x := range m.makings {
		if x.ID != k.ID && store.Fold(k.Lot) != "" && store.Fold(x.Lot) == store.Fold(k.Lot) {
			return true
		}
	}
	return false
}

func (m *model) drawEvent(t *rapid.T, keys []string) store.Event {
	e := store.Event{Key: rapid.SampledFrom(keys).Draw(t, "key")}
	switch rapid.IntRange(0, 9).Draw(t, "kind") {
	case 0:
		e.Kind, e.Note = "note", "n"
	case 1:
		e.Kind, e.Ref, e.Mg = store.KindEmpty, rapid.SampledFrom([]string{"oat", "rye"}).Draw(t, "ref"), rapid.Int64Range(0, 3).Draw(t, "rest")
	case 2, 3, 4:
		e.Kind, e.Of = store.KindTakeBack, rapid.SampledFrom(keys).Draw(t, "of")
	default:
		e.Kind, e.Ref, e.Mg = store.KindPour, rapid.SampledFrom([]string{"oat", "rye", "oat", "millet"}).Draw(t, "ref"), rapid.Int64Range(-1, 6).Draw(t, "mg")
		if rapid.Bool().Draw(t, "of a lot") {
			e.Lot = pick(t, m, m.lots)
		}
	}
	return e
}

// append sends an event and expects what the contract says.
func (m *model) append(t *rapid.T, id store.ID, e store.Event) {
	k := m.makings[id]
	expect, known := m.eventFault(k, e)
	kept, err := m.s.AppendEvent(background, id, e)
	want(t, fmt.Sprintf("event %+v", e), err, expect)
	if err != nil {
		return
	}
	if known {
		same(t, "sent again", kept, *k)
		return
	}
	stamped(t, kept.ID, kept.Rev, kept.Changed)
	e.Seq, e.At = int64(len(k.Events)+1), kept.Changed
	m.draw(t, k, &e, kept)
	m.newRev(t, kept.Rev)
	k.Events = append(k.Events, e)
	k.Rev, k.Changed = kept.Rev, kept.Changed
	same(t, "kept", kept, *k)
}

// eventFault is the error that an event must meet, and whether it is kept
// already.
func (m *model) eventFault(k *store.Making, e store.Event) (err error, known bool) {
	if err := e.Check(); err != nil {
		return store.ErrInvalid, false
	}
	if k == nil {
		return store.ErrNotFound, false
	}
	find := func(is func(store.Event) bool) *store.Event {
		if i := slices.IndexFunc(k.Events, is); i >= 0 {
			return &k.Events[i]
		}
		return nil
	}
	if has := find(func(x store.Event) bool { return x.Key == e.Key }); has != nil {
		if !has.SameContent(e) {
			return store.ErrConflict, true
		}
		return nil, true
	}
	of := find(func(x store.Event) bool { return x.Key == e.Of })
	_, lot := m.lots[e.Lot]
	switch {
	case k.State != store.StateOpen:
		return store.ErrNotOpen, false
	case e.Lot != "" && !lot, e.Of != "" && (of == nil || of.Kind == store.KindTakeBack):
		return store.ErrInvalid, false
	case e.Of != "" && find(func(x store.Event) bool { return x.Of == e.Of }) != nil:
		return store.ErrTakenBack, false
	}
	return nil, false
}

// draw does in the model what an event does to the shelf and to its lot.
func (m *model) draw(t *rapid.T, k *store.Making, e *store.Event, kept store.Making) {
	of := *e
	for _, x := range k.Events {
		if x.Key == e.Of {
			of = x
		}
	}
	if l, there := m.lots[of.Lot]; there && of.Kind == store.KindPour {
		l.PouredMg += of.Mg
		if e.Of != "" {
			l.PouredMg -= 2 * of.Mg
		}
		m.lots[of.Lot] = l
	}
	sh, there := m.shelves[k.Shelf]
	if !there {
		return
	}
	i := slices.IndexFunc(sh.Items, func(it store.Item) bool { return it.Ref == of.Ref })
	if i < 0 || sh.Items[i].OnHand == nil {
		return
	}
	had := *sh.Items[i].OnHand
	switch e.Kind {
	case store.KindPour:
		e.TookMg = min(had, e.Mg)
		e.ShortMg = e.Mg - e.TookMg
	case store.KindEmpty:
		e.TookMg = max(had-e.Mg, 0)
	case store.KindTakeBack:
		e.TookMg = -of.TookMg
	}
	if e.TookMg == 0 {
		return
	}
	sh.Items = slices.Clone(sh.Items)
	sh.Items[i].OnHand = ptr(had - e.TookMg)
	sh.Rev, sh.Changed = must(m.s.Shelf(background, sh.ID))(t).Rev, kept.Changed
	m.newRev(t, sh.Rev)
	m.shelves[sh.ID] = sh
}

func (m *model) appendAny(t *rapid.T) {
	m.append(t, pick(t, m, m.makings), m.drawEvent(t, []string{"a", "b", "c", ""}))
}

// openMaking draws a making that takes events, mostly one from a shelf that
// counts; drawn one by one, such things rarely come together.
func (m *model) openMaking(t *rapid.T) store.ID {
	var ids []store.ID
	for id, k := range m.makings {
		if k.State == store.StateOpen {
			ids = append(ids, id)
		}
	}
	slices.SortFunc(ids, compareIDs)
	if len(ids) > 0 && rapid.IntRange(0, 2).Draw(t, "another") > 0 {
		return rapid.SampledFrom(ids).Draw(t, "making")
	}
	sh := must(m.s.SaveShelf(background, store.Shelf{Name: "counted", Items: []store.Item{
		{Ref: "rye", OnHand: ptr(int64(20))}, {Ref: "millet"}, {Ref: "oat", OnHand: ptr(rapid.Int64Range(0, 4).Draw(t, "oats"))}}}))(t)
	m.shelves[sh.ID] = sh
	l := must(m.s.SaveLot(background, store.Lot{Ref: "oat"}))(t)
	m.lots[l.ID] = l
	k := must(m.s.StartMaking(background, store.Making{Shelf: sh.ID}))(t)
	m.makings[k.ID] = &k
	m.newRev(t, k.Rev)
	return k.ID
}

// atTheScale is two devices at one making. Each sends its events in its order,
// any of them again at any time, and goes on to the next only when it was told
// that the one before is kept.
func (m *model) atTheScale(t *rapid.T) {
	id := m.openMaking(t)
	var queue [2][]store.Event
	fresh := len(m.makings[id].Events) // keys that the making has not had
	for d := range queue {
		keys := make([]string, rapid.IntRange(1, 5).Draw(t, "events"))
		for i := range keys {
			keys[i] = fmt.Sprintf("%d-%d-%d", fresh, d, i)
		}
		for i := range keys {
			e := m.drawEvent(t, keys[:max(i, 1)]) // takes back what it has sent
			e.Key = keys[i]
			queue[d] = append(queue[d], e)
		}
	}
	var next [2]int
	for next[0] < len(queue[0]) || next[1] < len(queue[1]) {
		d := rapid.IntRange(0, 1).Draw(t, "device")
		if next[d] == len(queue[d]) {
			d = 1 - d
		}
		if next[d] > 0 && rapid.Bool().Draw(t, "again") {
			m.append(t, id, queue[d][rapid.IntRange(0, next[d]-1).Draw(t, "which")])
			continue
		}
		m.append(t, id, queue[d][next[d]])
		if rapid.IntRange(0, 3).Draw(t, "acknowledged") > 0 {
			next[d]++
		}
	}
}

// endMaking finishes, leaves, opens again, writes beside or deletes a making.
func (m *model) endMaking(t *rapid.T) {
	id := pick(t, m, m.makings)
	k := m.makings[id]
	next := store.Making{ID: id}
	if k != nil {
		next = *k
	}
	next.Rev = held(t, next.Rev)
	expect := fault(k != nil, m.makingRev(id), next.Rev)
	open := k != nil && k.State == store.StateOpen
	var kept store.Making
	var err error
	switch what := rapid.IntRange(0, 4).Draw(t, "what"); what {
	case 0, 1:
		next.Note, next.Lot = rapid.StringMatching("[a-c]").Draw(t, "note"), someNames.Draw(t, "lot")
		check := asInvalid(next.Check())
		if what == 0 {
			kept, err = m.s.SaveMaking(background, next)
		} else {
			next.Finish = "{}"
			if expect == nil && !open {
				expect = store.ErrNotOpen
			}
			kept, err = m.s.FinishMaking(background, next)
			next.State, next.Finished = store.StateFinished, kept.Changed
		}
		if expect == nil && m.lotTaken(next) {
			expect = store.ErrTaken
		}
		expect = cmp.Or(check, expect)
	case 2:
		if expect == nil && !open {
			expect = store.ErrNotOpen
		}
		kept, err = m.s.LeaveMaking(background, id, next.Rev)
		next.State, next.Finished = store.StateLeft, kept.Changed
	case 3:
		kept, err = m.s.ReopenMaking(background, id, next.Rev)
		if open && err == nil {
			want(t, "opening what is open", err, expect)
			same(t, "as it is", kept, *k)
			return
		}
		next.State, next.Finish, next.Finished = store.StateOpen, "", kept.Finished
	case 4:
		m.deleteMaking(t, id, next.Rev, expect)
		return
	}
	want(t, "changing a making", err, expect)
	if err != nil {
		return
	}
	stamped(t, kept.ID, kept.Rev, kept.Changed)
	m.newRev(t, kept.Rev)
	next.Rev, next.Changed = kept.Rev, kept.Changed
	same(t, "kept", kept, next)
	m.makings[id] = &next
}

func (m *model) makingRev(id store.ID) int64 {
	if k := m.makings[id]; k != nil {
		return k.Rev
	}
	return 0
}

func (m *model) deleteMaking(t *rapid.T, id store.ID, rev int64, expect error) {
	if k := m.makings[id]; expect == nil && len(standing(k.Events)) > 0 {
		expect = store.ErrInUse
	}
	err := m.s.DeleteMaking(background, id, rev)
	want(t, "deleting a making", err, expect)
	if err == nil {
		delete(m.makings, id)
		m.gone = append(m.gone, id)
	}
}

// compareMakings holds the makings, the lots and what joins them against the
// model.
func (m *model) compareMakings(t *rapid.T) {
	var list []store.MakingSummary
	for id, k := range m.makings {
		same(t, "making", must(m.s.Making(background, id))(t), *k)
		list = append(list, summaryOf(*k))
		for _, u := range must(m.s.LotsOfMaking(background, id))(t) {
			same(t, "lot of a making", u, m.use(u.Lot.ID, id))
		}
	}
	slices.SortFunc(list, func(a, b store.MakingSummary) int {
		return cmp.Or(b.Started.Compare(a.Started), strings.Compare(string(b.ID), string(a.ID)))
	})
	same(t, "makings", throughMakings(t, m.s, store.MakingFilter{Most: 5}), list)
	lots := map[store.ID]store.Lot{}
	for _, l := range throughLots(t, m.s, store.LotFilter{Most: 5}) {
		lots[l.ID] = l
	}
	same(t, "lots", lots, m.lots)
	for id := range m.lots {
		uses := map[store.ID]store.LotUse{}
		for _, u := range must(m.s.MakingsOfLot(background, id))(t) {
			uses[u.Making.ID] = u
		}
		wanted := map[store.ID]store.LotUse{}
		for k, x := range m.makings {
			if slices.ContainsFunc(x.Events, func(e store.Event) bool { return e.Kind == store.KindPour && e.Lot == id }) {
				wanted[k] = m.use(id, k)
			}
		}
		same(t, "makings of a lot", uses, wanted)
	}
}

// use is one lot in one making.
func (m *model) use(lot, making store.ID) store.LotUse {
	k := m.makings[making]
	u := store.LotUse{Lot: m.lots[lot], Making: summaryOf(*k)}
	for _, e := range k.Events {
		if e.Kind == store.KindPour && e.Lot == lot {
			u.BackMg += e.Mg
		}
	}
	for _, e := range standing(k.Events) {
		if e.Lot == lot {
			u.Mg += e.Mg
			u.BackMg -= e.Mg
		}
	}
	return u
}

// restoredMakings takes over the revs that a restore has given.
func (m *model) restoredMakings(t *rapid.T) {
	for id, k := range m.makings {
		k.Rev = must(m.s.Making(background, id))(t).Rev
		m.checkRestored(t, k.Rev)
	}
	for id, l := range m.lots {
		l.Rev = must(m.s.Lot(background, id))(t).Rev
		m.checkRestored(t, l.Rev)
		m.lots[id] = l
	}
}
