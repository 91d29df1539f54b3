package web

import (
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
	return s.showOwn(q, http.StatusOK, sh, map[string]string{"kind": "label"}, nil)
}

func (s *Server) showOwn(q *request, status int, sh store.Shelf, typed, errs map[string]string) error {
	v := ownView{Shelf: sh, Typed: typed, Errors: errs, Classes: catalog.Classes()}
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
	return q.show(status, "own", "shelf", q.words.T("own_title"), v)
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
	own := ownOf(sh)
	in, errs := s.readOwn(q, own)
	if len(errs) > 0 {
		typed := map[string]string{}
		for k := range q.PostForm {
			typed[k] = q.value(k)
		}
		return s.showOwn(q, http.StatusUnprocessableEntity, sh, typed, errs)
	}
	text := mixfiles.Format(&mix.Document{Own: append(own, in)})
	if _, err := mixfiles.Parse("own", text); err != nil {
		return fmt.Errorf("an own ingredient that was checked does not read: %w", err)
	}
	sh.Own = string(text)
	sh.Items = append(sh.Items, store.Item{Ref: in.ID, CanHave: true})
	if _, err := s.Store.SaveShelf(q.Context(), sh); err != nil {
		return err
	}
	return q.see(shelfPath(sh.ID) + "?said=added")
}

func (s *Server) readOwn(q *request, others []*catalog.Ingredient) (*catalog.Ingredient, map[string]string) {
	errs := map[string]string{}
	name := clip(q.value("name"), 120)
	switch u := find.Refused(s.Catalogue, name); {
	case name == "":
		errs["name"] = q.words.T("need_name")
	case u != nil:
		errs["name"] = q.words.T("own_refused", "Name", name, "Reason", u.Reason)
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
	in := &catalog.Ingredient{ID: s.ownID(name, others), Class: class, Names: catalog.Names{"en": {name}}, Forms: []*catalog.Form{f}}
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
