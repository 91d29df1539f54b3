package catalog

import "firlot/nutrient"

// Part is one typed-in figure inside a derived one.
type Part struct {
	Key  nutrient.Key
	Coef float64
}

// Recipe says how a figure is computed: Constant + Σ Coef × figure. A typed-in
// figure is its own recipe.
type Recipe struct {
	Constant float64
	Parts    []Part
}

// RecipeOf returns how a figure comes about. Energy is modified Atwater:
// 10 × (3.5 protein + 8.5 fat + 3.5 NFE), and with NFE written out protein
// cancels: 10 × (350 + 5 fat − 3.5 (fibre + moisture + ash)).
func RecipeOf(k nutrient.Key) Recipe {
	switch k {
	case nutrient.NFE:
		return Recipe{100, []Part{{nutrient.Moisture, -1}, {nutrient.CrudeProtein, -1},
			{nutrient.CrudeFat, -1}, {nutrient.CrudeFibre, -1}, {nutrient.Ash, -1}}}
	case nutrient.Energy:
		return Recipe{3500, []Part{{nutrient.CrudeFat, 50}, {nutrient.CrudeFibre, -35},
			{nutrient.Moisture, -35}, {nutrient.Ash, -35}}}
	case nutrient.MethionineCystine:
		return Recipe{0, []Part{{nutrient.Methionine, 1}, {nutrient.Cystine, 1}}}
	case nutrient.PhenylalanineTyrosine:
		return Recipe{0, []Part{{nutrient.Phenylalanine, 1}, {nutrient.Tyrosine, 1}}}
	}
	return Recipe{0, []Part{{k, 1}}}
}

// Figure returns a figure of the form, derived ones included. It reports
// false where the figure, or a part that it is derived from, is not known.
func (f *Form) Figure(k nutrient.Key) (Figure, bool) {
	info, ok := nutrient.Lookup(k)
	if !ok || !info.Derived {
		fig, ok := f.Figures[k]
		return fig, ok
	}
	r := RecipeOf(k)
	out := Figure{Mean: r.Constant, How: Derived, Source: "derived"}
	for _, p := range r.Parts {
		part, ok := f.Figures[p.Key]
		if !ok {
			return Figure{}, false
		}
		out.Mean += float64(p.Coef * part.Mean)
		out.How = out.How.Worse(part.How)
	}
	return out, true
}

// Bounds returns the least and the most that a figure of the form can be. For
// a known figure both are its mean. An unknown one is at least nothing and at
// most its nutrient's ceiling; an unknown proximate also leaves room for the
// known ones, since all are parts of the same 100 g, and an unknown part of
// the protein, fat or ash fits in there. The known ones are taken at twice
// their spread to the side that leaves more room: they are not sure either. A
// derived figure with an
// unknown part is bounded by bounding its parts.
func (f *Form) Bounds(k nutrient.Key) (least, most float64) {
	if fig, ok := f.Figure(k); ok {
		return fig.Mean, fig.Mean
	}
	info, ok := nutrient.Lookup(k)
	if !ok {
		return 0, 0
	}
	if !info.Derived {
		return 0, min(info.Ceiling, f.room(k))
	}
	r := RecipeOf(k)
	least, most = r.Constant, r.Constant
	for _, p := range r.Parts {
		lo, hi := f.Bounds(p.Key)
		if p.Coef < 0 {
			lo, hi = hi, lo
		}
		least += float64(p.Coef * lo)
		most += float64(p.Coef * hi)
	}
	return max(least, 0), min(most, info.Ceiling)
}

// proximates are disjoint parts of the feed.
var proximates = []nutrient.Key{nutrient.Moisture, nutrient.CrudeProtein, nutrient.CrudeFat, nutrient.CrudeFibre, nutrient.Ash}

// room is what the known proximates leave for another constituent, in the
// nutrient's own unit; it does not bind what is not counted in per cent.
func (f *Form) room(k nutrient.Key) float64 {
	info, _ := nutrient.Lookup(k)
	if info.Unit != nutrient.Percent {
		return info.Ceiling
	}
	switch info.Group {
	case nutrient.AminoAcid:
		return f.most(nutrient.CrudeProtein)
	case nutrient.FattyAcid:
		return f.most(nutrient.CrudeFat)
	case nutrient.Mineral:
		return f.most(nutrient.Ash)
	}
	left := 100.0
	for _, p := range proximates {
		if fig, ok := f.Figures[p]; ok && p != k && !within(k, p) {
			left -= max(fig.Mean-f.doubt(p), 0)
		}
	}
	return max(left, 0)
}

// within reports whether constituent k may lie inside proximate p.
func within(k, p nutrient.Key) bool {
	if p != nutrient.CrudeFibre && p != nutrient.CrudeProtein {
		return false
	}
	return k == nutrient.DietaryFibre || k == nutrient.NDF
}

func (f *Form) most(k nutrient.Key) float64 {
	if fig, ok := f.Figures[k]; ok {
		return fig.Mean + f.doubt(k)
	}
	return 100
}

// doubt is twice the spread of a known figure: nine bags in ten lie within
// 1.64 of it on both sides, so beyond this hardly one.
func (f *Form) doubt(k nutrient.Key) float64 {
	sd, _, _ := f.Spread(k)
	return 2 * sd
}
