package web

import (
	"net/http"
	"strings"

	"firlot/catalog"
	"firlot/catalog/find"
	"firlot/internal/store"
	"firlot/nutrient"
)

// entryView is one form of the catalogue.
type entryView struct {
	*catalog.Form
	Portrait   any
	OtherNames []langNames
	Sizes      []entryFigure
	Known      []entryFigure
	Missing    []string
	Refused    *catalog.Unsafe
	Ceilings   []entryLimit
}

// entryLimit is the most of a form that a mix should hold, and for which
// species, by name; "" for all.
type entryLimit struct {
	catalog.Limit
	For string
}

type langNames struct{ Lang, Names string }

// entryFigure is a figure with its name and unit.
type entryFigure struct {
	catalog.Figure
	Name, Unit string
	Spread     string
	StandIn    bool // the spread is its class's
}

func (s *Server) catalogue(q *request) error {
	query := clip(strings.TrimSpace(q.URL.Query().Get("q")), 100)
	var found []foundView
	var refused *catalog.Unsafe
	if query != "" {
		found, refused = search(q.words, s.Catalogue, query, nil), find.Refused(s.Catalogue, query)
	}
	return q.show(http.StatusOK, "catalogue", "shelf", q.words.T("catalogue_title"),
		thing("Query", query, "Found", found, "Refused", refused, "Count", len(s.Catalogue.Forms())))
}

func (s *Server) entry(q *request) error {
	f := s.Catalogue.Form(q.PathValue("ingredient") + "/" + q.PathValue("form"))
	if f == nil {
		all, err := s.Store.Shelves(q.Context())
		if err != nil {
			return err
		}
		for _, sh := range all {
			if own := formOf(s.catalogueOf(sh), q.PathValue("ingredient")); own != nil && own.ID == q.PathValue("form") {
				f = own
			}
		}
	}
	if f == nil {
		return store.ErrNotFound
	}
	return q.show(http.StatusOK, "entry", "shelf", q.words.Form(f), s.entryView(q.words, f))
}

func (s *Server) entryView(w *words, f *catalog.Form) *entryView {
	v := &entryView{Form: f, Portrait: portrait(w, f)}
	for _, l := range []string{"en", "es", "de", "fr", "nl", "pt"} {
		names := f.Names[l]
		if len(names) == 0 {
			names = f.Ingredient.Names[l]
		}
		if len(names) > 0 {
			v.OtherNames = append(v.OtherNames, langNames{l, strings.Join(names, ", ")})
		}
	}
	for _, l := range f.Limits {
		var names []string
		for _, id := range l.Species {
			if sp := s.Needs.Find(id); sp != nil {
				names = append(names, w.Species(sp))
			}
		}
		v.Ceilings = append(v.Ceilings, entryLimit{l, w.And(names)})
	}
	for _, q := range []struct {
		key, unit string
		fig       *catalog.Figure
	}{{"size_length", "mm", f.Length}, {"size_width", "mm", f.Width}, {"size_thousand", "g", f.ThousandKernels},
		{"size_hull", "%", f.Hull}, {"size_hull_left", "%", f.HullLeft}, {"size_density", "g/mL", f.BulkDensity}, {"size_keeps", "", f.KeepsMonths}} {
		if q.fig != nil {
			v.Sizes = append(v.Sizes, entryFigure{Figure: *q.fig, Name: w.T(q.key), Unit: q.unit})
		}
	}
	for _, info := range nutrient.All() {
		fig, ok := f.Figure(info.Key)
		if !ok {
			if !info.Derived {
				v.Missing = append(v.Missing, w.Figure(info.Key))
			}
			continue
		}
		e := entryFigure{Figure: fig, Name: w.Figure(info.Key), Unit: string(info.Unit)}
		if sd, recorded, known := f.Spread(info.Key); known && !info.Derived {
			e.Spread, e.StandIn = w.Short(sd), !recorded
		}
		v.Known = append(v.Known, e)
	}
	return v
}
