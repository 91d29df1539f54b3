package web

import (
	"cmp"
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"net/http"
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

// ownView is the form for an ingredient of the keeper's own.
type ownView struct {
	Shelf   store.Shelf
	Main    []ownField // what labels say
	More    []ownField // what a laboratory may add
	Classes []catalog.Class
	Typed   map[string]string
	Errors  map[string]string
	ID      string   // of the food that is changed; empty for a new one
	Was     string   // the food as the form found it
	Kept    []string // what was changed elsewhere meanwhile, figure by figure
}

type ownField struct {
	nutrient.Info
	Hint string
}

// onLabels are the figures that a bag's label usually states.
var onLabels = []nutrient.Key{nutrient.Moisture, nutrient.CrudeProtein, nutrient.CrudeFat, nutrient.CrudeFibre, nutrient.Ash, nutrient.Calcium, nutrient.Phosphorus}

// hinted are the figures that carry an explanation in the form.
var hinted = []nutrient.Key{nutrient.Moisture, nutrient.CrudeProtein, nutrient.CrudeFibre, nutrient.Ash, nutrient.DietaryFibre}

func (s *Server) ownForm(q *request) error {
	sh, err := s.Store.Shelf(q.Context(), q.id())
	if err != nil {
		return err
	}
	v := ownView{Shelf: sh, Typed: map[string]string{"kind": "label"}}
	if id := q.URL.Query().Get("food"); id != "" {
		in := ownNamed(ownOf(sh), id)
		if in == nil {
			return store.ErrNotFound
		}
		v.ID, v.Was, v.Typed = id, ownState(in), q.words.typedOwn(in)
	}
	return s.showOwn(q, http.StatusOK, v)
}

// ownText is an own ingredient as a document writes it.
func ownText(in *catalog.Ingredient) string {
	return string(mixfiles.Format(&mix.Document{Own: []*catalog.Ingredient{in}}))
}

// ownState tells one state of an own ingredient from another.
func ownState(in *catalog.Ingredient) string {
	sum := sha256.Sum256([]byte(ownText(in)))
	return hex.EncodeToString(sum[:])
}

// typedOwn is what one would type for an own ingredient.
func (w *words) typedOwn(in *catalog.Ingredient) map[string]string {
	f := in.Forms[0]
	typed := map[string]string{"name": in.Names.First("en"), "class": string(in.Class), "kind": "label", "caution": strings.Join(f.Cautions, " ")}
	from := ""
	for k, x := range f.Figures {
		typed["figure."+string(k)] = w.typed(x.Mean)
		from = x.Source
	}
	if f.BulkDensity != nil {
		typed["bulk_density"] = w.typed(f.BulkDensity.Mean)
		from = cmp.Or(from, f.BulkDensity.Source)
	}
	if kind, rest, _ := strings.Cut(from, ": "); kind == "label" || kind == "laboratory" {
		typed["kind"], typed["source"] = kind, rest
	}
	return typed
}

func (s *Server) showOwn(q *request, status int, v ownView) error {
	v.Classes = catalog.Classes()
	for _, info := range nutrient.All() {
		if info.Derived {
			continue
		}
		f := ownField{Info: info}
		if slices.Contains(hinted, info.Key) {
			f.Hint = q.words.T("own_hint_" + string(info.Key))
		}
		if slices.Contains(onLabels, info.Key) {
			v.Main = append(v.Main, f)
		} else {
			v.More = append(v.More, f)
		}
	}
	title := q.words.T("own_title")
	if v.ID != "" {
		title = q.words.T("own_change")
	}
	return q.show(status, "own", "shelf", title, v)
}

// addOwn checks a form field by field, then as a whole document would be, and
// keeps it on the shelf.
func (s *Server) addOwn(q *request) error {
	if err := q.form(); err != nil {
		return err
	}
	sh, err := s.Store.Shelf(q.Context(), q.id())
	if err != nil {
		return err
	}
	v := ownView{Shelf: sh, ID: q.value("food"), Was: q.value("was"), Typed: map[string]string{}}
	for k := range q.PostForm {
		v.Typed[k] = q.value(k)
	}
	own := ownOf(sh)
	at := slices.IndexFunc(own, func(o *catalog.Ingredient) bool { return v.ID != "" && o.ID == v.ID })
	var was *catalog.Ingredient
	if at >= 0 {
		was = own[at]
		own = slices.Delete(own, at, at+1)
	}
	in, errs := s.readOwn(q, own, was)
	if len(errs) > 0 {
		v.Errors = errs
		return s.showOwn(q, http.StatusUnprocessableEntity, v)
	}
	if was != nil && ownState(was) != v.Was {
		v.Kept, v.Was = q.words.ownDiffs(was, in), ownState(was)
		return s.showOwn(q, http.StatusConflict, v)
	}
	text := mixfiles.Format(&mix.Document{Own: append(own, in)})
	if _, err := mixfiles.Parse("own", text); err != nil {
		return fmt.Errorf("an own ingredient that was checked does not read: %w", err)
	}
	sh.Own = string(text)
	if !slices.ContainsFunc(sh.Items, func(it store.Item) bool { return it.Ref == in.ID }) {
		sh.Items = append(sh.Items, store.Item{Ref: in.ID, CanHave: true})
	}
	if _, err := s.Store.SaveShelf(q.Context(), sh); err != nil {
		return err
	}
	if v.ID != "" {
		return q.see(shelfPath(sh.ID) + "?said=saved")
	}
	return q.see(shelfPath(sh.ID) + "?said=added")
}

// ownDiffs says how two states of an own ingredient differ, figure by figure.
func (w *words) ownDiffs(a, b *catalog.Ingredient) []string {
	before, after := w.typedOwn(a), w.typedOwn(b)
	var list []string
	say := func(name, key string) {
		if x, y := before[key], after[key]; x != y {
			list = append(list, w.T("own_diff", "Name", name, "A", cmp.Or(x, w.T("nothing")), "B", cmp.Or(y, w.T("nothing"))))
		}
	}
	say(w.T("label_name"), "name")
	say(w.T("own_source"), "source")
	say(w.T("own_caution"), "caution")
	for _, info := range nutrient.All() {
		say(w.Figure(info.Key), "figure."+string(info.Key))
	}
	say(w.T("size_density"), "bulk_density")
	return list
}

// readOwn reads the form; was, when not nil, is the ingredient that it
// changes, whose id stays and whose figures stay as they are where what is
// typed is the same.
func (s *Server) readOwn(q *request, others []*catalog.Ingredient, was *catalog.Ingredient) (*catalog.Ingredient, map[string]string) {
	errs := map[string]string{}
	name := clip(q.value("name"), 120)
	switch u := find.Refused(s.Catalogue, name); {
	case name == "":
		errs["name"] = q.words.T("need_name")
	case u != nil:
		errs["name"] = q.words.T("own_refused", "Name", name, "Reason", q.words.Told(u.Reason))
	case len(others) >= mix.MaxOwn:
		errs["name"] = q.words.T("own_too_many")
	}
	kind := q.value("kind")
	if kind != "laboratory" {
		kind = "label"
	}
	from, how := kind, catalog.Derived
	if kind == "laboratory" {
		how = catalog.Measured
	}
	if src := clip(q.value("source"), 200); src != "" {
		from += ": " + src
	}
	class := catalog.Class(q.value("class"))
	if !slices.Contains(catalog.Classes(), class) {
		class = catalog.Other
	}
	f := &catalog.Form{ID: "own", State: "as bought", Figures: map[nutrient.Key]catalog.Figure{}}
	if c := clip(q.value("caution"), 500); c != "" {
		f.Cautions = []string{c}
	}
	q.readFigures(f, from, how, errs)
	id := s.ownID(name, others)
	if was != nil {
		id = was.ID
		for k, x := range f.Figures {
			if old, ok := was.Forms[0].Figures[k]; ok && old.Mean == x.Mean && old.Source == x.Source {
				f.Figures[k] = old
			}
		}
	}
	in := &catalog.Ingredient{ID: id, Class: class, Names: catalog.Names{"en": {name}}, Forms: []*catalog.Form{f}}
	f.Ingredient = in
	return in, errs
}

// readFigures reads what was typed, figure by figure, and checks that the
// parts of 100 g are no more than 100 g.
func (q *request) readFigures(f *catalog.Form, from string, how catalog.Evidence, errs map[string]string) {
	for _, info := range nutrient.All() {
		at := "figure." + string(info.Key)
		v, err := q.words.parsePointer(q.value(at))
		switch {
		case info.Derived || err == nil && v == nil:
		case err != nil:
			errs[at] = q.words.T("need_number")
		case *v > info.Ceiling:
			errs[at] = q.words.T("need_below", "Most", q.words.Plain(info.Ceiling), "Unit", info.Unit)
		default:
			f.Figures[info.Key] = catalog.Figure{Mean: *v, Source: from, How: how}
		}
	}
	sum := 0.0
	for _, k := range []nutrient.Key{nutrient.Moisture, nutrient.CrudeProtein, nutrient.CrudeFat, nutrient.CrudeFibre, nutrient.Ash} {
		sum += f.Figures[k].Mean
	}
	cf, ok := f.Figures[nutrient.CrudeFibre]
	ndf, ok2 := f.Figures[nutrient.NDF]
	switch {
	case len(errs) == 0 && len(f.Figures) == 0:
		errs["figure.crude_protein"] = q.words.T("own_no_figures")
	case sum > 100:
		errs["figure.moisture"] = q.words.T("own_over_100", "Sum", q.words.Num(sum, 1))
	case ok && ok2 && ndf.Mean < cf.Mean:
		errs["figure.ndf"] = q.words.T("own_ndf_below")
	}
	if d, err := q.words.parsePointer(q.value("bulk_density")); err != nil || d != nil && *d > 3 {
		errs["bulk_density"] = q.words.T("need_below", "Most", "3", "Unit", "g/mL")
	} else if d != nil && *d > 0 {
		f.BulkDensity = &catalog.Figure{Mean: *d, Source: from, How: how}
	}
}

// ownBehind is an own food of a mix whose figures its shelf has changed.
type ownBehind struct{ ID, Name string }

// ownsBehind compares a mix's own foods with those of its shelf.
func ownsBehind(d *mix.Document, id store.ID, shelves []store.Shelf) []ownBehind {
	var list []ownBehind
	for _, sh := range shelves {
		if sh.ID != id || len(d.Own) == 0 {
			continue
		}
		kept := ownOf(sh)
		for _, in := range d.Own {
			if now := ownNamed(kept, in.ID); now != nil && ownText(now) != ownText(in) {
				list = append(list, ownBehind{in.ID, now.Names.First("en")})
			}
		}
	}
	return list
}

// takeOwn brings an own food's figures from the shelves into the document.
func (e *edit) takeOwn(id string) {
	for _, sh := range e.q.shelvesKept() {
		now := ownNamed(ownOf(sh), id)
		if now == nil || sh.ID != e.shelf {
			continue
		}
		own := slices.Clone(e.d.Own)
		for i, in := range own {
			if in.ID == id {
				own[i] = now
			}
		}
		e.d.Own = own
	}
}

// ownID makes an id of a name that no ingredient and no refused food has.
func (s *Server) ownID(name string, others []*catalog.Ingredient) string {
	var b strings.Builder
	for _, r := range nearword.Fold(name) {
		switch {
		case r >= 'a' && r <= 'z' || r >= '0' && r <= '9':
			b.WriteRune(r)
		case b.Len() > 0 && !strings.HasSuffix(b.String(), "-"):
			b.WriteByte('-')
		}
	}
	base := strings.Trim(clip("own-"+b.String(), 56), "-")
	for n := 1; ; n++ {
		id := base
		if n > 1 {
			id = fmt.Sprintf("%s-%d", base, n)
		}
		taken := s.Catalogue.Ingredient(id) != nil || slices.ContainsFunc(others, func(o *catalog.Ingredient) bool { return o.ID == id })
		if !taken {
			return id
		}
	}
}
