package web

import (
	"cmp"
	"fmt"
	"net/http"
	"net/url"
	"slices"
	"strings"

	"firlot/catalog"
	"firlot/catalog/find"
	"firlot/internal/nearword"
	"firlot/internal/store"
	"firlot/mix"
	mixfiles "firlot/mix/files"
	"firlot/nutrient"
)

// shelfView is a shelf with its items by name.
type shelfView struct {
	store.Shelf
	Items []itemView
	Query string
	Found []foundView
	Searched,
	Only bool // it is the only shelf
	Errors   map[string]string
	Typed    map[string]string
	Conflict bool     // it was changed elsewhere meanwhile
	Kept     []string // how what is kept differs from what was typed
}

// itemView is an item with its form; Form is nil when the catalogue no longer
// holds it.
type itemView struct {
	store.Item
	I      int
	Form   *catalog.Form
	OnHand string
	Price  string
	Pack   string
	Cost   string
	PerKg  string
	Own    bool   // it is the keeper's own, and can be changed
	Short  string // how much more was poured from it than was counted
}

// foundView is a form that answers a search.
type foundView struct {
	*catalog.Form
	Matched string // the name that matched, when it is not the usual one
	Why     string // what in its looks matched
	Have    bool
	Fresh   bool
}

func shelfPath(id store.ID) string { return "/shelf/" + url.PathEscape(string(id)) }

// shelves opens the only shelf, or lists them.
func (s *Server) shelves(q *request) error {
	list, err := s.Store.Shelves(q.Context())
	if err != nil {
		return err
	}
	if len(list) == 1 && q.URL.Query().Get("all") == "" {
		return q.see(shelfPath(list[0].ID))
	}
	return q.show(http.StatusOK, "shelves", "shelf", q.words.T("nav_shelf"), thing("Shelves", list, "Errors", map[string]string{}))
}

func (s *Server) addShelf(q *request) error {
	if err := q.form(); err != nil {
		return err
	}
	name := clip(q.value("name"), 200)
	if name == "" {
		list, err := s.Store.Shelves(q.Context())
		if err != nil {
			return err
		}
		return q.show(http.StatusUnprocessableEntity, "shelves", "shelf", q.words.T("nav_shelf"),
			thing("Shelves", list, "Errors", map[string]string{"name": q.words.T("need_name")}))
	}
	kept, err := s.Store.SaveShelf(q.Context(), store.Shelf{Name: name, Place: clip(q.value("place"), 200)})
	if err != nil {
		return err
	}
	return q.see(shelfPath(kept.ID))
}

func (s *Server) shelf(q *request) error {
	sh, err := s.Store.Shelf(q.Context(), q.id())
	if err != nil {
		return err
	}
	v, err := s.shelfView(q, sh)
	if err != nil {
		return err
	}
	return q.show(http.StatusOK, "shelf", "shelf", sh.Name, v)
}

func (s *Server) shelfView(q *request, sh store.Shelf) (*shelfView, error) {
	all, err := s.Store.Shelves(q.Context())
	if err != nil {
		return nil, err
	}
	v := &shelfView{Shelf: sh, Only: len(all) == 1, Query: strings.TrimSpace(q.URL.Query().Get("q")), Errors: map[string]string{}, Typed: map[string]string{}}
	cat, own := s.catalogueOf(sh), ownOf(sh)
	have := map[string]bool{}
	short, err := s.shortOf(q, sh)
	if err != nil {
		return nil, err
	}
	for i, it := range sh.Items {
		have[it.Ref] = true
		iv := itemViewOf(q.words, i, it, formOf(cat, it.Ref))
		if m := short[it.Ref]; m > 0 && it.OnHand != nil && *it.OnHand == 0 {
			iv.Short = q.words.Mass(m)
		}
		iv.Own = ownNamed(own, it.Ref) != nil
		v.Items = append(v.Items, iv)
	}
	slices.SortStableFunc(v.Items, func(a, b itemView) int { return strings.Compare(a.label(q.words), b.label(q.words)) })
	if v.Query != "" {
		v.Searched, v.Found = true, search(q.words, cat, clip(v.Query, 100), have)
	}
	return v, nil
}

func (it itemView) label(w *words) string {
	if it.Form == nil {
		return it.Ref
	}
	return nearword.Fold(w.Form(it.Form))
}

func itemViewOf(w *words, i int, it store.Item, f *catalog.Form) itemView {
	v := itemView{Item: it, I: i, Form: f, Price: w.typedPointer(it.Price), Cost: w.typedPointer(it.PackCost)}
	if it.OnHand != nil {
		v.OnHand = w.typed(nutrient.Mass(*it.OnHand).Grams()) + " g"
	}
	if it.PackMg != nil {
		v.Pack = w.typed(nutrient.Mass(*it.PackMg).Grams()) + " g"
	}
	if p := pricePerKg(it); p != nil {
		v.PerKg = w.Num(*p, 2)
	}
	return v
}

// pricePerKg is an item's price for a kilogram: its own, else its pack's.
func pricePerKg(it store.Item) *float64 {
	if it.Price != nil {
		return it.Price
	}
	if it.PackMg == nil || *it.PackMg <= 0 || it.PackCost == nil {
		return nil
	}
	p := *it.PackCost / nutrient.Mass(*it.PackMg).Grams() * 1000
	return &p
}

// formOf resolves a reference, or an own ingredient's id.
func formOf(c *catalog.Catalogue, ref string) *catalog.Form {
	if f := c.Form(ref); f != nil {
		return f
	}
	if in := c.Ingredient(ref); in != nil && len(in.Forms) == 1 {
		return in.Forms[0]
	}
	return nil
}

// ownOf reads the own ingredients of a shelf.
func ownOf(sh store.Shelf) []*catalog.Ingredient {
	if sh.Own == "" {
		return nil
	}
	f, err := mixfiles.Parse("own", []byte(sh.Own))
	if err != nil {
		return nil
	}
	return f.Document.Own
}

// ownWithout is the text of a shelf's own ingredients without one of them.
func ownWithout(sh store.Shelf, id string) string {
	own := ownOf(sh)
	left := slices.DeleteFunc(own, func(in *catalog.Ingredient) bool { return in.ID == id })
	switch len(left) {
	case len(own):
		return sh.Own
	case 0:
		return ""
	}
	return string(mixfiles.Format(&mix.Document{Own: left}))
}

func (s *Server) catalogueOf(sh store.Shelf) *catalog.Catalogue {
	if own := ownOf(sh); len(own) > 0 {
		return s.Catalogue.With(own...)
	}
	return s.Catalogue
}

const mostFound = 30

// search finds forms by any name in any language, then by what they look
// like and what they are taken for.
func search(w *words, c *catalog.Catalogue, query string, have map[string]bool) []foundView {
	var list []foundView
	seen := map[*catalog.Form]bool{}
	add := func(f *catalog.Form, matched, why string) {
		if seen[f] || len(list) >= mostFound {
			return
		}
		seen[f] = true
		m, ok := f.Figure(nutrient.Moisture)
		list = append(list, foundView{Form: f, Matched: matched, Why: why, Have: have[f.Ref()] || have[f.Ingredient.ID], Fresh: ok && m.Mean > mostMoisture})
	}
	for _, m := range find.Search(c, query) {
		matched := m.Name
		if nearword.Fold(matched) == nearword.Fold(w.Form(m.Form)) || matched == m.Form.Ref() {
			matched = ""
		}
		add(m.Form, matched, "")
	}
	for _, f := range c.Forms() {
		if why := looksLike(w, f, query); why != "" {
			add(f, "", why)
		}
	}
	return list
}

// mostMoisture is what package mix takes as too moist for a dry mix, in per
// cent; here it only marks search results.
const mostMoisture = 20

// looksLike returns the sentence of a form's looks or confusions that holds
// every word of a query, in the reader's language or in English.
func looksLike(w *words, f *catalog.Form, query string) string {
	texts := []string{f.Looks}
	for _, x := range f.Confused {
		texts = append(texts, x.Tell)
	}
	asked := strings.Fields(nearword.Fold(query))
	for _, t := range texts {
		if t != "" && (holdsAll(w.Told(t), asked) || holdsAll(t, asked)) {
			return w.Told(t)
		}
	}
	return ""
}

func holdsAll(text string, folded []string) bool {
	text = nearword.Fold(text)
	for _, word := range folded {
		if !strings.Contains(text, word) {
			return false
		}
	}
	return true
}

// addItem puts a form on a shelf.
func (s *Server) addItem(q *request) error {
	if err := q.form(); err != nil {
		return err
	}
	sh, err := s.Store.Shelf(q.Context(), q.id())
	if err != nil {
		return err
	}
	ref := q.value("ref")
	f := formOf(s.catalogueOf(sh), ref)
	if f == nil {
		return badRequest("no such form")
	}
	if !slices.ContainsFunc(sh.Items, func(it store.Item) bool { return it.Ref == ref }) {
		sh.Items = append(sh.Items, store.Item{Ref: ref, CanHave: true})
		if _, err := s.Store.SaveShelf(q.Context(), sh); err != nil {
			return err
		}
	}
	to := shelfPath(sh.ID) + "?said=added"
	if query := q.value("q"); query != "" {
		to += "&q=" + url.QueryEscape(query)
	}
	return q.see(to)
}

// saveShelf takes the whole form of a shelf over, with the button pressed.
func (s *Server) saveShelf(q *request) error {
	if err := q.form(); err != nil {
		return err
	}
	sh, err := s.Store.Shelf(q.Context(), q.id())
	if err != nil {
		return err
	}
	kept := sh
	kept.Items = slices.Clone(sh.Items)
	errs := s.readShelf(q, &sh)
	stale := q.rev() != sh.Rev
	if len(errs) > 0 || stale {
		v, err := s.shelfView(q, sh)
		if err != nil {
			return err
		}
		v.Errors = errs
		for i := range v.Items {
			v.Items[i].retype(q)
		}
		status := http.StatusUnprocessableEntity
		if stale {
			status, v.Kept, v.Conflict = http.StatusConflict, s.shelfDiffs(q, kept, sh), true
		}
		return q.show(status, "shelf", "shelf", sh.Name, v)
	}
	if gone, ok := strings.CutPrefix(q.value("do"), "remove:"); ok {
		sh.Items = slices.DeleteFunc(sh.Items, func(it store.Item) bool { return it.Ref == gone })
		sh.Own = ownWithout(sh, gone)
	}
	if _, err := s.Store.SaveShelf(q.Context(), sh); err != nil {
		return err
	}
	return q.see(shelfPath(sh.ID) + "?said=saved")
}

// shelfDiffs sets a shelf as it is kept beside what was typed on top of an
// older one, thing by thing. What was typed for a food that is no longer
// there stands in it too.
func (s *Server) shelfDiffs(q *request, kept, mine store.Shelf) []string {
	var list []string
	w := q.words
	say := func(name, a, b string) {
		if a != b {
			list = append(list, w.T("own_diff", "Name", name, "A", cmp.Or(a, w.T("nothing")), "B", cmp.Or(b, w.T("nothing"))))
		}
	}
	say(w.T("label_name"), kept.Name, mine.Name)
	say(w.T("label_place"), kept.Place, mine.Place)
	cat := s.catalogueOf(kept)
	for i, it := range kept.Items {
		a, b := itemViewOf(w, i, it, formOf(cat, it.Ref)), itemViewOf(w, i, mine.Items[i], nil)
		name := it.Ref
		if a.Form != nil {
			name = w.Form(a.Form)
		}
		if q.itemIndex(it.Ref) < 0 {
			continue // it came in meanwhile, and nothing was typed about it
		}
		b.retype(q)
		can := map[bool]string{true: w.T("can_have"), false: w.T("cannot_get")}
		say(name, can[it.CanHave], can[mine.Items[i].CanHave])
		for _, f := range []struct{ key, a, b string }{{"line_on_hand", a.OnHand, b.OnHand}, {"line_price", a.Price, b.Price}, {"item_pack", a.Pack, b.Pack}, {"item_cost", a.Cost, b.Cost}, {"label_note", it.Note, b.Note}} {
			say(name+", "+w.T(f.key), f.a, f.b)
		}
	}
	for i := 0; q.sent(itemField(i, "ref")); i++ {
		ref := q.value(itemField(i, "ref"))
		if slices.ContainsFunc(kept.Items, func(it store.Item) bool { return it.Ref == ref }) {
			continue
		}
		var typed []string
		for _, f := range append(itemFields(), "note") {
			if x := q.value(itemField(i, f)); x != "" {
				typed = append(typed, x)
			}
		}
		say(ref, "", cmp.Or(strings.Join(typed, ", "), w.T("can_have")))
	}
	return list
}

// itemIndex is the number that an item had on the page that was sent, or −1.
func (q *request) itemIndex(ref string) int {
	for i := 0; q.sent(itemField(i, "ref")); i++ {
		if q.value(itemField(i, "ref")) == ref {
			return i
		}
	}
	return -1
}

func itemField(i int, name string) string { return fmt.Sprintf("item.%d.%s", i, name) }

// retype puts back what was typed, right or wrong.
func (it *itemView) retype(q *request) {
	at := q.itemIndex(it.Ref)
	if at < 0 {
		return
	}
	it.OnHand, it.Price = q.value(itemField(at, "on_hand")), q.value(itemField(at, "price"))
	it.Pack, it.Cost = q.value(itemField(at, "pack")), q.value(itemField(at, "cost"))
	it.Note = q.value(itemField(at, "note"))
}

func (s *Server) readShelf(q *request, sh *store.Shelf) map[string]string {
	errs := map[string]string{}
	if sh.Name = clip(q.value("name"), 200); sh.Name == "" {
		errs["name"] = q.words.T("need_name")
	}
	sh.Place = clip(q.value("place"), 200)
	for i := range sh.Items {
		it := &sh.Items[i]
		at := q.itemIndex(it.Ref)
		if at < 0 {
			continue // not on the page that was sent
		}
		it.CanHave = q.value(itemField(at, "can")) != ""
		it.Note = clip(q.value(itemField(at, "note")), 500)
		var err error
		mass := func(name string) *int64 {
			t := q.value(itemField(at, name))
			if t == "" {
				return nil
			}
			m, e := q.words.parseMass(t)
			if e != nil || m > nutrient.MaxMass {
				errs[itemField(i, name)] = q.words.T("need_mass")
			}
			n := int64(m)
			return &n
		}
		it.OnHand, it.PackMg = mass("on_hand"), mass("pack")
		if it.Price, err = q.words.parsePointer(q.value(itemField(at, "price"))); err != nil || tooDear(it.Price) {
			errs[itemField(i, "price")] = q.words.T("need_price")
		}
		if it.PackCost, err = q.words.parsePointer(q.value(itemField(at, "cost"))); err != nil || tooDear(it.PackCost) {
			errs[itemField(i, "cost")] = q.words.T("need_price")
		}
		if it.PackMg != nil && *it.PackMg == 0 && errs[itemField(i, "pack")] == "" {
			errs[itemField(i, "pack")] = q.words.T("need_mass")
		}
	}
	return errs
}

func tooDear(p *float64) bool { return p != nil && *p > 1e9 }

func (s *Server) deleteShelf(q *request) error {
	if err := q.form(); err != nil {
		return err
	}
	if err := s.Store.DeleteShelf(q.Context(), q.id(), q.rev()); err != nil {
		return err
	}
	return q.see("/shelf?all=1&said=removed")
}

// itemFields are the fields of an item that can be wrong.
func itemFields() []string { return []string{"on_hand", "price", "pack", "cost"} }
