package storetest

import (
	"bytes"
	"compress/gzip"
	"errors"
	"io"
	"strings"
	"testing"
	"testing/iotest"
	"time"

	"firlot/internal/store"
)

// content is everything that a store tells, for comparing; without revs and
// without what could be taken back when a backup lies between.
type content struct {
	Groups   []store.Group
	Shelves  []store.Shelf
	Mixes    []store.Mix
	Versions [][]store.Version
	Setting  string
	Makings  []store.Making
	Lots     []store.Lot
}

func contentOf(t fataler, s store.Store) content {
	t.Helper()
	var c content
	var err error
	if c.Groups, err = s.Groups(background); err != nil {
		t.Fatalf("%v", err)
	}
	c.Shelves = must(s.Shelves(background))(t)
	c.Setting = must(s.Setting(background, "language"))(t)
	for _, archived := range []bool{false, true} {
		for _, sum := range throughPages(t, s, store.Filter{Archived: archived}) {
			c.Mixes = append(c.Mixes, must(s.Mix(background, sum.ID))(t))
			c.Versions = append(c.Versions, must(s.Versions(background, sum.ID))(t))
		}
	}
	for _, sum := range throughMakings(t, s, store.MakingFilter{}) {
		m := must(s.Making(background, sum.ID))(t)
		same(t, "summary", sum, summaryOf(m))
		c.Makings = append(c.Makings, m)
	}
	c.Lots = throughLots(t, s, store.LotFilter{})
	return c
}

func (c content) withoutRevs() content {
	for i := range c.Groups {
		c.Groups[i].Rev = 0
	}
	for i := range c.Shelves {
		c.Shelves[i].Rev = 0
	}
	for i := range c.Mixes {
		c.Mixes[i].Rev, c.Mixes[i].CanUndo, c.Mixes[i].CanRedo = 0, false, false
	}
	for i := range c.Makings {
		c.Makings[i].Rev = 0
	}
	for i := range c.Lots {
		c.Lots[i].Rev = 0
	}
	return c
}

// fill puts something of everything into a store.
func fill(t *testing.T, s store.Store) {
	t.Helper()
	ctx := t.Context()
	g := must(s.SaveGroup(ctx, barn()))(t)
	sh := must(s.SaveShelf(ctx, kitchen()))(t)
	must(s.SaveShelf(ctx, store.Shelf{Name: "empty"}))(t)
	m := must(s.SaveMix(ctx, store.Mix{Name: "Winter", Group: g.ID, Shelf: sh.ID, Document: "a <&> \u2028 \x01 ü\n"}))(t)
	m = must(s.KeepVersion(ctx, m.ID, m.Rev, "first"))(t)
	m.Document = "b"
	m = must(s.SaveMix(ctx, m))(t)
	m = must(s.KeepVersion(ctx, m.ID, m.Rev, ""))(t)
	must(s.UndoMix(ctx, m.ID, m.Rev))(t)
	must(s.SaveMix(ctx, store.Mix{Name: "Old", Archived: true}))(t)
	want(t, "setting", s.SetSetting(ctx, "language", "eo"), nil)
	fillMakings(t, s)
}

// fillMakings adds a finished making, one that was left and an open one.
func fillMakings(t *testing.T, s store.Store) {
	t.Helper()
	ctx := t.Context()
	c := set(t, s)
	must(s.SaveLot(ctx, store.Lot{Ref: "millet/hulled", Gone: true}))(t)
	for _, e := range []store.Event{
		{Key: "1", Kind: store.KindPour, Ref: "oat/groats", Mg: 1_400_000, Bowl: 1, Round: 2, Lot: c.lot.ID, Note: "a\u2028", Device: c.phone.ID, By: "Ana"},
		pour("2", "oat/groats", 1_000_000), takeBack("3", "2"), pour("4", "gold/dust", 7),
		{Key: "5", Kind: "replan", Plan: `{"lines":[]}`}, {Key: "6", Kind: store.KindEmpty, Ref: "oat/groats"},
	} {
		must(s.AppendEvent(ctx, c.making.ID, e))(t)
	}
	m := must(s.Making(ctx, c.making.ID))(t)
	m.Lot, m.BestBefore, m.Finish = "B 1", "2027-01-01", `{"protein":14}`
	must(s.FinishMaking(ctx, m))(t)
	left := must(s.StartMaking(ctx, store.Making{MixName: "left"}))(t)
	must(s.LeaveMaking(ctx, left.ID, left.Rev))(t)
	open := must(s.StartMaking(ctx, store.Making{MixName: "open"}))(t)
	must(s.AppendEvent(ctx, open.ID, pour("1", "oat/groats", 3)))(t)
}

func backups(t *testing.T, s store.Store) {
	ctx := t.Context()
	fill(t, s)
	before := contentOf(t, s).withoutRevs()
	var file bytes.Buffer
	want(t, "backup", s.Backup(ctx, &file), nil)

	for _, g := range must(s.Groups(ctx))(t) {
		want(t, "deleting", s.DeleteGroup(ctx, g.ID, g.Rev), nil)
	}
	must(s.SaveMix(ctx, store.Mix{Name: "made since"}))(t)
	want(t, "setting", s.SetSetting(ctx, "language", "en"), nil)
	want(t, "restore", s.Restore(ctx, iotest.OneByteReader(bytes.NewReader(file.Bytes()))), nil)
	same(t, "restored", contentOf(t, s).withoutRevs(), before)

	// Restored makings go on where they were.
	for _, m := range contentOf(t, s).Makings {
		if m.State == store.StateOpen {
			m = must(s.AppendEvent(ctx, m.ID, pour("1", "oat/groats", 3)))(t) // sent again
			m = must(s.AppendEvent(ctx, m.ID, takeBack("2", "1")))(t)
			same(t, "events", len(m.Events), 2)
		}
	}
	// Restored mixes can be worked with like any other.
	for _, m := range contentOf(t, s).Mixes {
		same(t, "nothing to undo", m.CanUndo || m.CanRedo, false)
		m.Document += "more"
		m = must(s.SaveMix(ctx, m))(t)
		m = must(s.UndoMix(ctx, m.ID, m.Rev))(t)
		must(s.KeepVersion(ctx, m.ID, m.Rev, ""))(t)
	}
}

func emptyBackup(t *testing.T, s store.Store) {
	var file bytes.Buffer
	want(t, "backup", s.Backup(t.Context(), &file), nil)
	fill(t, s)
	want(t, "restore", s.Restore(t.Context(), &file), nil)
	same(t, "restored", contentOf(t, s), content{})
}

// refusedBackups: what cannot be restored changes nothing, revs included.
func refusedBackups(t *testing.T, s store.Store) {
	ctx := t.Context()
	fill(t, s)
	var file bytes.Buffer
	want(t, "backup", s.Backup(ctx, &file), nil)
	before := contentOf(t, s)
	good := file.Bytes()
	broken := errors.New("the line went dead")
	for name, c := range map[string]struct {
		file io.Reader
		want error
	}{
		"nothing":         {strings.NewReader(""), store.ErrForeign},
		"text":            {strings.NewReader("dear keeper"), store.ErrForeign},
		"another gzip":    {bytes.NewReader(zipped("dear keeper\n")), store.ErrForeign},
		"newer":           {bytes.NewReader(zipped(`{"firlot_backup":99,"more":[]}` + "\n")), store.ErrTooNew},
		"cut by a half":   {bytes.NewReader(good[:len(good)/2]), store.ErrDamaged},
		"cut by a byte":   {bytes.NewReader(good[:len(good)-1]), store.ErrDamaged},
		"one bit":         {bytes.NewReader(flipped(good, len(good)-20)), store.ErrDamaged},
		"something after": {bytes.NewReader(append(bytes.Clone(good), 'x')), store.ErrDamaged},
		"dead line":       {io.MultiReader(bytes.NewReader(good[:len(good)/2]), iotest.ErrReader(broken)), broken},
	} {
		want(t, name, s.Restore(ctx, c.file), c.want)
		same(t, name, contentOf(t, s), before)
	}
}

func zipped(text string) []byte {
	var out bytes.Buffer
	w := gzip.NewWriter(&out)
	_, err := io.WriteString(w, text)
	if err := errors.Join(err, w.Close()); err != nil {
		panic(err) // memory does not fail
	}
	return out.Bytes()
}

func flipped(b []byte, at int) []byte {
	b = bytes.Clone(b)
	b[at] ^= 4
	return b
}

// revsAfterRestore: who read a thing before a restore cannot save it after.
func revsAfterRestore(t *testing.T, s store.Store) {
	ctx := t.Context()
	m := must(s.SaveMix(ctx, store.Mix{Name: "a", Document: "old"}))(t)
	var file bytes.Buffer
	want(t, "backup", s.Backup(ctx, &file), nil)
	stale := []store.Mix{m}
	for range 3 {
		m.Document += "!"
		m = must(s.SaveMix(ctx, m))(t)
		stale = append(stale, m)
	}
	want(t, "restore", s.Restore(ctx, &file), nil)
	for _, old := range stale {
		_, err := s.SaveMix(ctx, old)
		want(t, "saving what was read before", err, store.ErrConflict)
	}
	same(t, "restored", must(s.Mix(ctx, m.ID))(t).Document, "old")
}

var never time.Time
