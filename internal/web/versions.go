package web

import (
	"errors"
	"fmt"
	"math"
	"net/http"
	"slices"
	"strconv"
	"strings"

	"firlot/internal/store"
	"firlot/mix"
	mixfiles "firlot/mix/files"
	"firlot/nutrient"
)

func isConflict(err error) bool { return errors.Is(err, store.ErrConflict) }

// conflictView shows a mix as it is kept beside what this page wanted to keep.
type conflictView struct {
	Mix   store.Mix
	Mine  string   // the document of this page
	Diffs []string // what would change if it were kept
}

// showConflict shows both and loses nothing.
func (s *Server) showConflict(q *request, id store.ID, mine string) error {
	m, err := s.Store.Mix(q.Context(), id)
	if err != nil {
		return err
	}
	v := conflictView{Mix: m, Mine: mine, Diffs: s.differences(q.words, m.Document, mine)}
	return q.show(http.StatusConflict, "conflict", "mix", q.words.T("conflict_title"), v)
}

// resolveConflict keeps what was chosen: the other's, this page's, or both.
func (s *Server) resolveConflict(q *request) error {
	if err := q.form(); err != nil {
		return err
	}
	m, err := s.Store.Mix(q.Context(), q.id())
	if err != nil {
		return err
	}
	text := q.value("document")
	if _, err := mixfiles.Parse("mix", []byte(text)); err != nil && q.value("do") != "theirs" {
		return badRequest(err.Error())
	}
	switch q.value("do") {
	case "mine":
		return s.keep(q, m, q.rev(), text)
	case "both":
		kept, err := s.Store.SaveMix(q.Context(), store.Mix{Name: q.words.T("copy_of", "Name", m.Name), Group: m.Group, Shelf: m.Shelf, Document: text})
		if err != nil {
			return err
		}
		return q.see(mixPath(kept.ID) + "?said=copied")
	}
	return q.see(mixPath(m.ID))
}

func (s *Server) undoMix(q *request) error { return s.step(q, s.Store.UndoMix) }
func (s *Server) redoMix(q *request) error { return s.step(q, s.Store.RedoMix) }

// step takes a change back, or makes it again.
func (s *Server) step(q *request, do undoer) error {
	if err := q.form(); err != nil {
		return err
	}
	_, err := do(q.Context(), q.id(), q.rev())
	if isConflict(err) {
		m, err := s.Store.Mix(q.Context(), q.id())
		if err != nil {
			return err
		}
		return s.showConflict(q, m.ID, m.Document)
	}
	if err != nil && !errors.Is(err, store.ErrNotFound) {
		return err
	}
	return q.see(q.mixAgain(q.id()))
}

// versionsView are the versions of a mix with what changed between them.
type versionsView struct {
	Mix      store.Mix
	Unkept   []string // what changed since the last version
	Versions []versionView
	Error    string
}

type versionView struct {
	store.Version
	Changes []string // since the version before
}

func (s *Server) versions(q *request) error { return s.showVersions(q, http.StatusOK, "") }

func (s *Server) showVersions(q *request, status int, complaint string) error {
	m, err := s.Store.Mix(q.Context(), q.id())
	if err != nil {
		return err
	}
	list, err := s.Store.Versions(q.Context(), m.ID)
	if err != nil {
		return err
	}
	v := versionsView{Mix: m, Error: complaint}
	if len(list) > 0 {
		v.Unkept = s.differences(q.words, list[0].Document, m.Document)
	}
	for i, x := range list {
		vv := versionView{Version: x}
		if i+1 < len(list) {
			vv.Changes = s.differences(q.words, list[i+1].Document, x.Document)
		}
		v.Versions = append(v.Versions, vv)
	}
	return q.show(status, "versions", "mix", q.words.T("versions_title", "Name", m.Name), v)
}

// keepVersion keeps the mix as it is shown: with its amounts in the document.
func (s *Server) keepVersion(q *request) error {
	m, now, err := s.posted(q)
	if err != nil || !now {
		return err
	}
	a, err := s.solve(q.Context(), m.Document)
	if err != nil {
		return err
	}
	if a.Answer != nil && a.Answer.Steps != nil {
		if whole := string(mixfiles.Format(a.standing().Doc)); whole != string(mixfiles.Format(a.Doc)) {
			m.Document = whole
			if m, err = s.Store.SaveMix(q.Context(), m); err != nil {
				return err
			}
		}
	}
	if _, err = s.Store.KeepVersion(q.Context(), m.ID, m.Rev, clip(q.value("note"), 500)); err != nil {
		return err
	}
	return q.see(mixPath(m.ID) + "/versions?said=kept")
}

// restoreVersion makes an old version the mix again; it can be taken back.
func (s *Server) restoreVersion(q *request) error {
	if err := q.form(); err != nil {
		return err
	}
	m, err := s.Store.Mix(q.Context(), q.id())
	if err != nil {
		return err
	}
	list, err := s.Store.Versions(q.Context(), m.ID)
	if err != nil {
		return err
	}
	n, _ := strconv.Atoi(q.value("version"))
	at := slices.IndexFunc(list, func(v store.Version) bool { return v.Number == n })
	if at < 0 {
		return badRequest("no such version")
	}
	return s.keep(q, m, q.rev(), list[at].Document)
}

// differences says what changed from one document to another, in sentences.
func (s *Server) differences(w *words, before, after string) []string {
	f, err1 := mixfiles.Parse("mix", []byte(before))
	g, err2 := mixfiles.Parse("mix", []byte(after))
	if err1 != nil || err2 != nil {
		if before == after {
			return nil
		}
		return []string{w.T("diff_unreadable")}
	}
	return differ{s: s, w: w, a: f.Document, b: g.Document}.all()
}

// contrast says how two mixes differ: in shares, since their batches may, and
// without what only one keeper's shopping has to do with.
func (s *Server) contrast(w *words, a, b *mix.Document) []string {
	return differ{s: s, w: w, a: a, b: b, shares: true}.all()
}

// differ gathers what differs between two documents.
type differ struct {
	s    *Server
	w    *words
	a, b *mix.Document
	list []string

	shares bool // two mixes, not two states of one
}

func (d differ) all() []string {
	d.lines()
	d.head()
	d.windows()
	return d.list
}

func (d *differ) say(key string, pairs ...any) { d.list = append(d.list, d.w.T(key, pairs...)) }

func (d *differ) head() {
	none := func(s string) string {
		if s == "" {
			return d.w.T("nothing")
		}
		return s
	}
	for _, x := range []struct{ key, before, after string }{
		{"diff_title", d.a.Title, d.b.Title},
		{"diff_who", d.who(d.a), d.who(d.b)},
		{"diff_batch", d.w.Mass(d.a.Batch), d.w.Mass(d.b.Batch)},
		{"diff_step", d.w.Mass(d.a.Step), d.w.Mass(d.b.Step)},
		{"diff_prefer", d.prefer(d.a), d.prefer(d.b)},
		{"diff_sureness", d.sure(d.a), d.sure(d.b)},
		{"diff_most", number0(d.a.MostIngredients), number0(d.b.MostIngredients)},
		{"diff_least", number0(d.a.LeastIngredients), number0(d.b.LeastIngredients)},
		{"diff_groups", d.groups(d.a), d.groups(d.b)},
	} {
		if d.shares && x.key == "diff_title" {
			continue // the two have names, which stand above
		}
		if x.before != x.after {
			d.say(x.key, "A", none(x.before), "B", none(x.after))
		}
	}
}

func (d *differ) who(x *mix.Document) string {
	sp := d.s.Needs.Find(x.Species)
	if sp == nil {
		return x.Species
	}
	if st := sp.Stage(x.Stage); st != nil {
		return d.w.T("who", "Species", d.w.Species(sp), "Stage", d.w.Stage(st))
	}
	return d.w.Species(sp)
}

func (d *differ) prefer(x *mix.Document) string {
	if x.Prefer == "" {
		return ""
	}
	return d.w.T("prefer_" + string(x.Prefer))
}

func (d *differ) sure(x *mix.Document) string {
	if x.Sureness == 0 {
		return d.w.T("sure_means")
	}
	return d.w.T("sure_sets", "N", d.w.Plain(math.Round(x.Sureness*1e4)/100))
}

func (d *differ) groups(x *mix.Document) string {
	var list []string
	for _, g := range x.Groups {
		name := g.Name
		if name == "" && g.Class != "" {
			name = d.w.Class(g.Class)
		}
		list = append(list, strings.Join(strings.Fields(fmt.Sprintf("%s %s", name, d.limits(g.Floor, g.Ceiling))), " "))
	}
	return strings.Join(list, "; ")
}

func (d *differ) limits(floor, ceiling mix.Amount) string {
	switch {
	case floor.Set && ceiling.Set:
		return d.w.T("range", "A", d.w.Amount(floor), "B", d.w.Amount(ceiling))
	case floor.Set:
		return d.w.T("range_least", "A", d.w.Amount(floor))
	case ceiling.Set:
		return d.w.T("range_most", "B", d.w.Amount(ceiling))
	}
	return d.w.T("no_limit")
}

func (d *differ) name(x *mix.Document, ref string) string {
	if f := formOf(d.s.Catalogue.With(x.Own...), ref); f != nil {
		return d.w.Form(f)
	}
	return ref
}

func (d *differ) lines() {
	find := func(x *mix.Document, ref string) *mix.Line {
		for i := range x.Lines {
			if x.Lines[i].Ingredient == ref {
				return &x.Lines[i]
			}
		}
		return nil
	}
	for _, l := range d.a.Lines {
		if find(d.b, l.Ingredient) == nil && !d.idle(l) {
			d.say("diff_gone", "Name", d.name(d.a, l.Ingredient), "Mass", d.mass(d.a, l))
		}
	}
	for _, l := range d.b.Lines {
		was := find(d.a, l.Ingredient)
		name := d.name(d.b, l.Ingredient)
		if was == nil && d.idle(l) {
			continue
		}
		if was == nil {
			d.say("diff_come", "Name", name, "Mass", d.mass(d.b, l))
			continue
		}
		if x, y := d.mass(d.a, *was), d.mass(d.b, l); x != y {
			d.say("diff_amount", "Name", name, "A", x, "B", y)
		}
		if x, y := d.limits(was.Floor, was.Ceiling), d.limits(l.Floor, l.Ceiling); x != y {
			d.say("diff_limits", "Name", name, "A", x, "B", y)
		}
		if was.NothingOr != l.NothingOr {
			d.say("diff_nothing", "Name", name, "A", d.or(d.w.Amount(was.NothingOr)), "B", d.or(d.w.Amount(l.NothingOr)))
		}
		if x, y := d.w.typedPointer(was.Price), d.w.typedPointer(l.Price); x != y && !d.shares {
			d.say("diff_price", "Name", name, "A", d.or(x), "B", d.or(y))
		}
	}
}

func (d *differ) or(s string) string {
	if s == "" {
		return d.w.T("nothing")
	}
	return s
}

// idle is a line of no amount, which makes no difference between two mixes.
func (d *differ) idle(l mix.Line) bool {
	return d.shares && massOf(l.Amount, nutrient.Kilogram) == 0
}

// mass is a line's amount, or its share of the batch.
func (d *differ) mass(x *mix.Document, l mix.Line) string {
	m := massOf(l.Amount, x.Batch)
	if d.shares {
		return d.w.Num(100*float64(m)/float64(max(x.Batch, 1)), 1) + "\u00a0%"
	}
	return d.w.Mass(m)
}

func (d *differ) windows() {
	text := func(x *mix.Document) map[string]string {
		m := map[string]string{}
		for _, win := range x.Windows {
			k := d.w.Measure(win.Nutrient, win.Per)
			switch {
			case win.Off:
				m[k] = d.w.T("window_off")
			case win.Source != "":
				m[k] = win.Source
			default:
				m[k] = d.w.boundText(win)
			}
		}
		return m
	}
	before, after := text(d.a), text(d.b)
	var keys []string
	for k := range before {
		keys = append(keys, k)
	}
	for k := range after {
		if _, ok := before[k]; !ok {
			keys = append(keys, k)
		}
	}
	slices.Sort(keys)
	for _, k := range keys {
		if before[k] != after[k] {
			d.say("diff_window", "Name", k, "A", d.ordinary(before[k]), "B", d.ordinary(after[k]))
		}
	}
}

func (d *differ) ordinary(s string) string {
	if s == "" {
		return d.w.T("window_default")
	}
	return s
}

// compareView sets two mixes beside each other.
type compareView struct {
	All   []store.Summary
	A, B  store.ID
	Sides []compareSide
	Diffs []string
}

type compareSide struct {
	Mix      store.Mix
	Sentence string
	Holding  []string
	Cost     string
}

func (s *Server) compare(q *request) error {
	all, err := s.Store.Mixes(q.Context(), store.Filter{Most: 200})
	if err != nil {
		return err
	}
	v := compareView{All: all, A: store.ID(q.URL.Query().Get("a")), B: store.ID(q.URL.Query().Get("b"))}
	for _, id := range []store.ID{v.A, v.B} { // an older one that was asked for
		if id == "" || slices.ContainsFunc(v.All, func(m store.Summary) bool { return m.ID == id }) {
			continue
		}
		m, err := s.Store.Mix(q.Context(), id)
		if err != nil {
			return err
		}
		v.All = append(v.All, store.Summary{ID: m.ID, Name: m.Name})
	}
	if v.A != "" && v.B != "" {
		if err := s.compareSides(q, &v); err != nil {
			return err
		}
	}
	return q.show(http.StatusOK, "compare", "mix", q.words.T("compare_title"), v)
}

func (s *Server) compareSides(q *request, v *compareView) error {
	var docs []*mix.Document
	for _, id := range []store.ID{v.A, v.B} {
		m, err := s.Store.Mix(q.Context(), id)
		if err != nil {
			return err
		}
		a, err := s.solve(q.Context(), m.Document)
		if err != nil {
			return err
		}
		mv, err := s.mixView(q, m, a, nil)
		if err != nil {
			return err
		}
		side := compareSide{Mix: m, Sentence: mv.Sentence, Holding: mv.Holding}
		if mv.Trade != nil {
			side.Cost = mv.Trade.Cost
		}
		v.Sides = append(v.Sides, side)
		if a.Plan != nil {
			docs = append(docs, a.standing().Doc)
		}
	}
	if len(docs) == 2 {
		v.Diffs = s.contrast(q.words, docs[0], docs[1])
	} else {
		v.Diffs = []string{q.words.T("diff_unreadable")}
	}
	return nil
}
