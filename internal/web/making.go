package web

import (
	"context"
	"errors"
	"fmt"
	"net/url"
	"slices"
	"time"

	"firlot/catalog"
	"firlot/internal/store"
	"firlot/making"
	"firlot/mix"
	mixfiles "firlot/mix/files"
	"firlot/nutrient"
)

func makingPath(id store.ID) string { return "/making/" + url.PathEscape(string(id)) }

// weighing is a making with what its log comes to.
type weighing struct {
	store.Making
	Began *making.Start
	Now   *making.State
	Doc   *mix.Document
	Plan  *mix.Plan // of the document as it was; nil when it does not resolve any more
	Cat   *catalog.Catalogue
	// Empty are the lines that cannot come to what is planned, since their jar
	// is empty.
	Empty map[string]bool
	// Short is by how much pours were more than the shelf had, by reference.
	Short map[string]nutrient.Mass
	// Uncounted is what the shelf's count still had of jars that were said to
	// be empty, by reference: it was taken from the count.
	Uncounted map[string]nutrient.Mass

	events []making.Event        // as package making has them
	own    []*catalog.Ingredient // of the shelf, and of the document
	shelf  store.Shelf           // whose counts go down; empty when there is none
}

// weighing reads a making and computes its state.
func (s *Server) weighing(ctx context.Context, id store.ID) (*weighing, error) {
	m, err := s.Store.Making(ctx, id)
	if err != nil {
		return nil, err
	}
	sh, err := s.Store.Shelf(ctx, m.Shelf)
	if err != nil && !errors.Is(err, store.ErrNotFound) {
		return nil, err
	}
	x, err := s.weigh(m, ownOf(sh))
	if x != nil {
		x.shelf = sh
	}
	return x, err
}

// weigh computes the state of a making; own are the own foods of its shelf.
func (s *Server) weigh(m store.Making, own []*catalog.Ingredient) (*weighing, error) {
	from, err := s.begun.of(m, s.readStart)
	if err != nil {
		return nil, err
	}
	x := &weighing{Making: m, Began: from.start, Doc: from.doc, Plan: from.plan, own: own}
	x.catalogue(s.Catalogue)
	log, err := x.log()
	if err != nil {
		return nil, err
	}
	x.events = log
	if x.Now, err = making.Of(from.start, log); err != nil {
		return nil, fmt.Errorf("the log of making %s: %w", m.ID, err)
	}
	for _, l := range x.Now.Lines {
		x.Empty[l.Ref] = l.Empty && l.Left > l.Rest
	}
	return x, nil
}

// steps are what is left to do, in order.
func (x *weighing) steps() ([]making.Next, error) { return stepsOf(x.Began, x.events, x.Now) }

// readStart reads what a making began from. A mix that does not resolve any
// more, since the catalogue has changed, can still be weighed.
func (s *Server) readStart(m store.Making) (*beginning, error) {
	start, err := making.DecodeStart([]byte(m.Start))
	if err != nil {
		return nil, fmt.Errorf("the start of making %s does not read: %w", m.ID, err)
	}
	b := &beginning{start: start}
	f, err := mixfiles.Parse("mix", []byte(start.Document))
	if err != nil {
		return b, nil
	}
	b.doc = f.Document
	if p, err := mix.Resolve(f.Document, s.Catalogue, s.Needs); err == nil {
		b.plan = p
	}
	return b, nil
}

// catalogue brings the own foods together: as they were in the document, where
// both it and the shelf have one.
func (x *weighing) catalogue(c *catalog.Catalogue) {
	var own []*catalog.Ingredient
	if x.Doc != nil {
		own = slices.Clone(x.Doc.Own)
	}
	for _, in := range x.own {
		if !slices.ContainsFunc(own, func(o *catalog.Ingredient) bool { return o.ID == in.ID }) {
			own = append(own, in)
		}
	}
	x.own, x.Cat = own, c
	if len(own) > 0 {
		x.Cat = c.With(own...)
	}
}

// stockRef is how a shelf and its lots call a form: a keeper's own food goes
// by its id alone.
func stockRef(f *catalog.Form, own []*catalog.Ingredient) string {
	for _, in := range own {
		if in.ID == f.Ingredient.ID {
			return in.ID
		}
	}
	return f.Ref()
}

// stock is stockRef of a reference.
func (x *weighing) stock(ref string) string {
	if f := x.form(ref); f != nil {
		return stockRef(f, x.own)
	}
	return ref
}

// lineRef is how package making calls what a shelf calls ref.
func (x *weighing) lineRef(ref string) string {
	if f := x.form(ref); f != nil {
		return f.Ref()
	}
	return ref
}

// log turns what is kept into what package making reads. It knows no way back
// from an empty jar: one that was taken back is left out with its take-back.
func (x *weighing) log() ([]making.Event, error) {
	x.Empty, x.Short, x.Uncounted = map[string]bool{}, map[string]nutrient.Mass{}, map[string]nutrient.Mass{}
	empty := map[string]bool{} // keys of events that say that a jar is empty
	gone := map[string]bool{}
	for _, e := range x.Events {
		if e.Kind == store.KindTakeBack {
			gone[e.Of] = true
		}
		if e.Kind == store.KindEmpty {
			empty[e.Key] = true
		}
	}
	var log []making.Event
	for _, e := range x.Events {
		switch {
		case e.Kind == store.KindEmpty && gone[e.Key]:
			continue
		case e.Kind == store.KindTakeBack && empty[e.Of]:
			continue
		}
		ref := x.lineRef(e.Ref)
		ev := making.Event{Key: e.Key, Kind: making.Kind(e.Kind), Ref: ref, Mass: nutrient.Mass(e.Mg), Bowl: e.Bowl, Round: e.Round, Lot: string(e.Lot), Of: e.Of, Note: e.Note, By: e.By}
		if e.Plan != "" {
			p, err := making.DecodePlan([]byte(e.Plan))
			if err != nil {
				return nil, fmt.Errorf("event %d of making %s: %w", e.Seq, x.ID, err)
			}
			ev.Plan = p
		}
		if e.Kind == store.KindPour && !gone[e.Key] {
			x.Short[ref] += nutrient.Mass(e.ShortMg)
		}
		if e.Kind == store.KindEmpty {
			x.Uncounted[ref] += nutrient.Mass(e.TookMg)
		}
		log = append(log, ev)
	}
	return log, nil
}

// mostSteps bounds how far the page looks ahead: what is beyond is told once
// it comes nearer.
const mostSteps = 120

// stepsOf pours what is left in thought, so that a phone knows what follows
// while the laptop cannot be reached.
func stepsOf(start *making.Start, log []making.Event, now *making.State) ([]making.Next, error) {
	var steps []making.Next
	log = slices.Clone(log)
	for n := now.Next; n != nil && len(steps) < mostSteps; {
		steps = append(steps, *n)
		log = append(log, making.Event{Key: fmt.Sprintf("ahead-%d", len(steps)), Kind: making.Pour, Ref: n.Ref, Mass: n.Mass, Bowl: n.Bowl, Round: n.Round})
		next, err := making.Of(start, log)
		if err != nil {
			return nil, err
		}
		n = next.Next
	}
	return steps, nil
}

// form is the form of a reference, in the making's own catalogue.
func (x *weighing) form(ref string) *catalog.Form { return formOf(x.Cat, ref) }

func (x *weighing) name(w *words, ref string) string {
	if f := x.form(ref); f != nil {
		return w.Form(f)
	}
	if u := x.Cat.Never(ref); u != nil {
		return u.Names.First(w.lang)
	}
	return ref
}

// off reports whether what is in the bowls is not what was planned, or cannot
// become so: a hand slipped, a wrong jar was poured, a jar is empty.
func (x *weighing) off() bool {
	if x.State != store.StateOpen {
		return false
	}
	for _, l := range x.Now.Lines {
		if l.Over() > 0 || x.Empty[l.Ref] {
			return true
		}
	}
	return false
}

// undoable is the last event that can be taken back: a pour, or that a jar is
// empty.
func (x *weighing) undoable() *store.Event {
	gone := map[string]bool{}
	for _, e := range x.Events {
		if e.Kind == store.KindTakeBack {
			gone[e.Of] = true
		}
	}
	for i := len(x.Events) - 1; i >= 0; i-- {
		if e := &x.Events[i]; (e.Kind == store.KindPour || e.Kind == store.KindEmpty) && !gone[e.Key] {
			return e
		}
	}
	return nil
}

// storeTrouble says why something could not be kept, when the disk is the
// reason: the message's key, or "".
func storeTrouble(err error) string {
	switch {
	case errors.Is(err, store.ErrFull):
		return "disk_full"
	case errors.Is(err, store.ErrReadOnly):
		return "disk_read_only"
	}
	return ""
}

func clock(t time.Time) string { return t.Local().Format("15:04") }
