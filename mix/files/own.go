package files

import (
	"fmt"
	"slices"
	"strings"

	"firlot/catalog"
	"firlot/internal/nearword"
	"firlot/internal/tomldoc"
	"firlot/nutrient"
)

// The two kinds of own figures.
const (
	fromLabel      = "label"
	fromLaboratory = "laboratory"
)

func (o *rawOwn) from() string {
	if o.Source != "" {
		return o.Kind + ": " + o.Source
	}
	return o.Kind
}

// how rates an own figure. A laboratory report is an analysis of that bag. A
// label states guarantees: least protein and fat, most fibre and moisture. The
// contents lie somewhere beyond them, so that a guarantee typed in as contents
// is a guess, and counts with the spread of one.
func (o *rawOwn) how() catalog.Evidence {
	if o.Kind == fromLaboratory {
		return catalog.Measured
	}
	return catalog.Assumed
}

// longestID bounds an id, in bytes.
const longestID = 64

// isID reports whether an own id can stand before a slash in references.
func isID(s string) bool {
	for _, r := range s {
		if r != '-' && (r < 'a' || r > 'z') && (r < '0' || r > '9') {
			return false
		}
	}
	return s != "" && s[0] != '-' && len(s) <= longestID
}

// mostDensity is a bulk density that no feed exceeds, in g/mL: crushed
// limestone, the heaviest, pours at about 1.5. Common practice, no source.
const mostDensity = 3

func classesHint() string {
	var known []string
	for _, c := range catalog.Classes() {
		known = append(known, string(c))
	}
	return "use one of " + strings.Join(known, ", ")
}

func (o *rawOwn) build(doc *tomldoc.Document, at string) (*catalog.Ingredient, error) {
	if o.ID == "" || o.Name == "" {
		return nil, doc.At(at, "an own ingredient needs an id and a name", `write for example id = "bag-pellets" and name = "pellets from the bag"`)
	}
	if !isID(o.ID) {
		return nil, doc.At(at+".id", fmt.Sprintf("%q is not an id", o.ID), `use small letters, digits and hyphens, as in "bag-pellets"`)
	}
	if len(o.Figures) == 0 {
		return nil, doc.At(at, "an own ingredient needs figures", "add [own.figures] with what the label or the report says")
	}
	if !(o.BulkDensity >= 0 && o.BulkDensity <= mostDensity) {
		return nil, doc.At(at+".bulk_density", fmt.Sprintf("%v is out of range", o.BulkDensity), fmt.Sprintf("it is grams in a millilitre, loosely poured, and lies between 0 and %v", mostDensity))
	}
	if o.Class == "" {
		o.Class = catalog.Other
	}
	if !slices.Contains(catalog.Classes(), o.Class) {
		return nil, doc.At(at+".class", fmt.Sprintf("%q is not a class", o.Class), classesHint())
	}
	if o.Kind != fromLabel && o.Kind != fromLaboratory {
		return nil, doc.At(at+".kind", fmt.Sprintf("%q is not a kind of figures", o.Kind), `use "label" for a bag's label or "laboratory" for a report`)
	}
	f := &catalog.Form{ID: "own", State: "as bought", Cautions: o.Cautions, Figures: map[nutrient.Key]catalog.Figure{}}
	keys := make([]string, 0, len(o.Figures))
	for k := range o.Figures {
		keys = append(keys, k)
	}
	slices.Sort(keys)
	for _, k := range keys {
		place := at + ".figures." + k
		info, ok := nutrient.Lookup(nutrient.Key(k))
		if !ok || info.Derived {
			return nil, doc.At(place, fmt.Sprintf("%q is not a figure that can be typed in", k), nearestFigure(k))
		}
		fig, err := figure(doc, place, o.Figures[k], o)
		if err != nil {
			return nil, err
		}
		if fig.Mean > info.Ceiling {
			return nil, doc.At(place, fmt.Sprintf("%v %s is more than any food holds", fig.Mean, info.Unit), fmt.Sprintf("the unit is %s as fed; %v is the most", info.Unit, info.Ceiling))
		}
		f.Figures[info.Key] = fig
	}
	if o.BulkDensity > 0 {
		f.BulkDensity = &catalog.Figure{Mean: o.BulkDensity, Source: o.from(), How: o.how()}
	}
	in := &catalog.Ingredient{ID: o.ID, Class: o.Class, Names: catalog.Names{"en": {o.Name}}, Forms: []*catalog.Form{f}}
	f.Ingredient = in
	return in, balance(doc, at, f)
}

// balance refuses an analysis that adds up to more than the feed.
func balance(doc *tomldoc.Document, at string, f *catalog.Form) error {
	sum := 0.0
	for _, k := range []nutrient.Key{nutrient.Moisture, nutrient.CrudeProtein, nutrient.CrudeFat, nutrient.CrudeFibre, nutrient.Ash} {
		sum += f.Figures[k].Mean
	}
	if sum > 100 {
		return doc.At(at+".figures", fmt.Sprintf("moisture, protein, fat, crude fibre and ash add up to %.1f %%", sum), "they are parts of the same 100 g, as fed, and add up to 100 % at most")
	}
	cf, ok1 := f.Figures[nutrient.CrudeFibre]
	ndf, ok2 := f.Figures[nutrient.NDF]
	if ok1 && ok2 && ndf.Mean < cf.Mean {
		return doc.At(at+".figures.ndf", "is less than crude fibre", "neutral detergent fibre holds all of it; was dietary fibre typed in as crude fibre?")
	}
	return nil
}

func nearestFigure(key string) string {
	var known []string
	for _, i := range nutrient.All() {
		if !i.Derived {
			known = append(known, string(i.Key))
		}
	}
	return nearword.Hint(key, known, "docs/mix-document.md lists the figures")
}
