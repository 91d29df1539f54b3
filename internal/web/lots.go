package web

import (
	"cmp"
	"errors"
	"net/http"
	"net/url"
	"slices"
	"strings"
	"time"

	"firlot/internal/store"
	"firlot/nutrient"
)

// lotsView is the list of the bags that ingredients came in.
type lotsView struct {
	Lots   []lotRow
	Text   string
	Gone   bool // those that are used up stand in it too
	Any    bool
	Next   string
	Foods  []addView // what a new bag may hold
	Errors map[string]string
	Typed  map[string]string
}

// lotRow is a lot in words.
type lotRow struct {
	store.Lot
	Name   string
	Label  string // its code, or the caption of its photograph, or when it was bought
	Poured string
	Over   string // how much more was poured than was bought
}

func lotPath(id store.ID) string { return "/lots/" + url.PathEscape(string(id)) }

// lotLabel is what a bag is called: its code, else the caption of its
// photograph, else the day it was bought or written down.
func lotLabel(w *words, l store.Lot) string {
	if l.Code != "" {
		return l.Code
	}
	if l.Note != "" {
		return w.T("lot_photo", "Caption", clip(l.Note, 60))
	}
	return w.T("lot_of_day", "Day", cmp.Or(l.Bought, w.Day(l.Made)))
}

// formName is the name of a reference in the reader's language.
func (s *Server) formName(w *words, ref string, shelves []store.Shelf) string {
	if f := formOf(s.Catalogue, ref); f != nil {
		return w.Form(f)
	}
	for _, sh := range shelves {
		if f := formOf(s.catalogueOf(sh), ref); f != nil {
			return w.Form(f)
		}
	}
	if u := s.Catalogue.Never(ref); u != nil {
		return u.Names.First(w.lang)
	}
	return ref
}

func (s *Server) lotRow(w *words, l store.Lot, shelves []store.Shelf) lotRow {
	r := lotRow{Lot: l, Name: s.formName(w, l.Ref, shelves), Label: lotLabel(w, l), Poured: w.Mass(nutrient.Mass(l.PouredMg))}
	if l.BoughtMg != nil && l.PouredMg > *l.BoughtMg {
		r.Over = w.Mass(nutrient.Mass(l.PouredMg - *l.BoughtMg))
	}
	return r
}

func (s *Server) lots(q *request) error {
	return s.showLots(q, http.StatusOK, map[string]string{"ref": q.URL.Query().Get("ref")}, map[string]string{})
}

func (s *Server) showLots(q *request, status int, typed, errs map[string]string) error {
	p := q.URL.Query()
	f := store.LotFilter{Text: clip(p.Get("q"), 200), Here: p.Get("gone") == "", After: store.ID(p.Get("after")), Most: mostMixes}
	list, err := s.Store.Lots(q.Context(), f)
	if err != nil {
		return err
	}
	shelves := q.shelvesKept()
	v := lotsView{Text: f.Text, Gone: !f.Here, Any: len(list) > 0 || f.Text != "" || !f.Here, Typed: typed, Errors: errs, Foods: s.foodsOf(q.words, shelves)}
	for _, l := range list {
		v.Lots = append(v.Lots, s.lotRow(q.words, l, shelves))
	}
	if len(list) == mostMixes {
		p.Set("after", string(list[len(list)-1].ID))
		v.Next = "/lots?" + p.Encode()
	}
	return q.show(status, "lots", "making", q.words.T("lots_title"), v)
}

// foodsOf are the foods of all shelves by name, each once.
func (s *Server) foodsOf(w *words, shelves []store.Shelf) []addView {
	var list []addView
	seen := map[string]bool{}
	for _, sh := range shelves {
		cat := s.catalogueOf(sh)
		for _, it := range sh.Items {
			if f := formOf(cat, it.Ref); f != nil && !seen[it.Ref] {
				seen[it.Ref] = true
				list = append(list, addView{it.Ref, w.Form(f)})
			}
		}
	}
	slices.SortFunc(list, func(x, y addView) int { return strings.Compare(x.Name, y.Name) })
	return list
}

// readLot takes a lot's fields over; what is wrong with them is said by name.
func (q *request) readLot(l *store.Lot) (typed, errs map[string]string) {
	typed, errs = map[string]string{}, map[string]string{}
	for _, f := range []string{"ref", "code", "from", "bought", "best_before", "bought_mass", "note"} {
		typed[f] = q.value(f)
	}
	l.Code, l.From, l.Note = clip(typed["code"], 200), clip(typed["from"], 200), clip(typed["note"], 500)
	l.Gone = q.value("gone") != ""
	for _, d := range []struct {
		name string
		to   *string
	}{{"bought", &l.Bought}, {"best_before", &l.BestBefore}} {
		if *d.to = typed[d.name]; *d.to == "" {
			continue
		}
		if _, err := time.Parse(time.DateOnly, *d.to); err != nil {
			errs[d.name] = q.words.T("need_day")
		}
	}
	l.BoughtMg = nil
	if t := typed["bought_mass"]; t != "" {
		m, err := q.words.parseMass(t)
		if err != nil || m > nutrient.MaxMass {
			errs["bought_mass"] = q.words.T("need_mass")
		}
		n := int64(m)
		l.BoughtMg = &n
	}
	return typed, errs
}

func (s *Server) addLot(q *request) error {
	if err := q.form(); err != nil {
		return err
	}
	l := store.Lot{Ref: q.value("ref")}
	typed, errs := q.readLot(&l)
	if s.formName(q.words, l.Ref, q.shelvesKept()) == l.Ref || s.Catalogue.Never(l.Ref) != nil {
		errs["ref"] = q.words.T("need_choice")
	}
	if l.Code == "" && l.Note == "" {
		errs["code"] = q.words.T("need_code")
	}
	if len(errs) > 0 {
		return s.showLots(q, http.StatusUnprocessableEntity, typed, errs)
	}
	kept, err := s.Store.SaveLot(q.Context(), l)
	if err != nil {
		return err
	}
	return q.see(lotPath(kept.ID) + "?said=saved")
}

// lotView is one lot, with every batch that it went into: a recall list.
type lotView struct {
	lotRow
	Batches []batchOfLot
	Errors  map[string]string
	Typed   map[string]string
	Stale   bool
	CanGo   bool   // nothing was poured from it
	Printed string // the day, for the paper
}

// batchOfLot is a batch that a lot went into, with the other lots in it.
type batchOfLot struct {
	Making store.MakingSummary
	Mass   string
	Back   string // was poured and taken back
	State  string
	With   []lotMass
}

// lotMass is what of a lot went into a batch.
type lotMass struct {
	lotRow
	Mass string
}

func (s *Server) lot(q *request) error {
	l, err := s.Store.Lot(q.Context(), q.id())
	if err != nil {
		return err
	}
	return s.showLot(q, http.StatusOK, l, lotTyped(q.words, l), map[string]string{}, false)
}

func lotTyped(w *words, l store.Lot) map[string]string {
	t := map[string]string{"ref": l.Ref, "code": l.Code, "from": l.From, "bought": l.Bought, "best_before": l.BestBefore, "note": l.Note}
	if l.BoughtMg != nil {
		t["bought_mass"] = w.typed(nutrient.Mass(*l.BoughtMg).Grams()) + " g"
	}
	return t
}

func (s *Server) showLot(q *request, status int, l store.Lot, typed, errs map[string]string, stale bool) error {
	shelves := q.shelvesKept()
	v := lotView{lotRow: s.lotRow(q.words, l, shelves), Typed: typed, Errors: errs, Stale: stale, Printed: q.words.Day(s.Clock())}
	uses, err := s.Store.MakingsOfLot(q.Context(), l.ID)
	if err != nil {
		return err
	}
	v.CanGo = len(uses) == 0
	for _, u := range uses {
		b := batchOfLot{Making: u.Making, Mass: q.words.Mass(nutrient.Mass(u.Mg)), State: upper(q.words.T("making_state_" + u.Making.State))}
		if u.BackMg > 0 {
			b.Back = q.words.Mass(nutrient.Mass(u.BackMg))
		}
		with, err := s.Store.LotsOfMaking(q.Context(), u.Making.ID)
		if err != nil {
			return err
		}
		for _, x := range with {
			if x.Lot.ID != l.ID {
				b.With = append(b.With, lotMass{s.lotRow(q.words, x.Lot, shelves), q.words.Mass(nutrient.Mass(x.Mg))})
			}
		}
		v.Batches = append(v.Batches, b)
	}
	return q.show(status, "lot", "making", v.Name+" "+v.Label, v)
}

func (s *Server) saveLot(q *request) error {
	if err := q.form(); err != nil {
		return err
	}
	l, err := s.Store.Lot(q.Context(), q.id())
	if err != nil {
		return err
	}
	kept := l
	typed, errs := q.readLot(&l)
	if len(errs) > 0 {
		return s.showLot(q, http.StatusUnprocessableEntity, kept, typed, errs, false)
	}
	l.Rev = q.rev()
	_, err = s.Store.SaveLot(q.Context(), l)
	switch {
	case errors.Is(err, store.ErrConflict):
		return s.showLot(q, http.StatusConflict, kept, typed, errs, true)
	case err != nil:
		return err
	}
	return q.see(lotPath(l.ID) + "?said=saved")
}

func (s *Server) deleteLot(q *request) error {
	if err := q.form(); err != nil {
		return err
	}
	if err := s.Store.DeleteLot(q.Context(), q.id(), q.rev()); err != nil {
		return err
	}
	return q.see("/lots?said=removed")
}

// recentMakings are looked at for what a shelf is short of.
const recentMakings = 10

// shortOf is how much more was poured lately than a shelf's counts had, by
// reference. It is told while the count is nought: a new count settles it.
func (s *Server) shortOf(q *request, sh store.Shelf) (map[string]nutrient.Mass, error) {
	list, err := s.Store.Makings(q.Context(), store.MakingFilter{Shelf: sh.ID, Most: recentMakings})
	if err != nil {
		return nil, err
	}
	short := map[string]nutrient.Mass{}
	for _, m := range list {
		x, err := s.Store.Making(q.Context(), m.ID)
		if err != nil {
			return nil, err
		}
		gone := map[string]bool{}
		for _, e := range x.Events {
			if e.Kind == store.KindTakeBack {
				gone[e.Of] = true
			}
		}
		for _, e := range x.Events {
			if e.Kind == store.KindPour && !gone[e.Key] {
				short[e.Ref] += nutrient.Mass(e.ShortMg)
			}
		}
	}
	return short, nil
}

// lotOf is the lot of a line: a new one where a code or a caption was typed,
// else the one that was chosen.
func (d *startDraft) lotOf(ref string) (string, error) {
	q := d.q
	l := store.Lot{Ref: ref, Code: clip(q.value("code."+ref), 200), Note: clip(q.value("caption."+ref), 500), BestBefore: q.value("before." + ref)}
	if l.Code == "" && l.Note == "" && l.BestBefore == "" {
		id, err := d.s.lotThere(q, store.ID(q.value("lot."+ref)))
		return string(id), err
	}
	if l.Code != "" {
		have, err := d.s.Store.Lots(q.Context(), store.LotFilter{Ref: ref, Code: l.Code, Most: 1})
		if err != nil {
			return "", err
		}
		if len(have) > 0 {
			known := have[0]
			known.Note, known.BestBefore = cmpOr(known.Note, l.Note), cmpOr(known.BestBefore, l.BestBefore)
			if known == have[0] { // nothing is told of it that was not known
				return string(known.ID), nil
			}
			l = known
		}
	}
	kept, err := d.s.Store.SaveLot(q.Context(), l)
	return string(kept.ID), err
}
