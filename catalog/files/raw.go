package files

import (
	"fmt"
	"math"
	"slices"

	"firlot/catalog"
	"firlot/internal/nearword"
	"firlot/internal/tomldoc"
	"firlot/nutrient"
)

type rawSource struct {
	Title     string `toml:"title"`
	Publisher string `toml:"publisher"`
	Year      int    `toml:"year"`
	Licence   string `toml:"licence"`
	Link      string `toml:"link"`
}

type rawUnsafeFile struct {
	Unsafe []struct {
		ID        string           `toml:"id"`
		Names     catalog.Names    `toml:"names"`
		Reason    string           `toml:"reason"`
		Instead   string           `toml:"instead"`
		From      string           `toml:"from"`
		How       catalog.Evidence `toml:"how"`
		SafeWords []string         `toml:"safe_words"`
		Whole     []string         `toml:"whole"`
	} `toml:"unsafe"`
}

// RawFigure is a figure as files write it.
type RawFigure struct {
	Mean *float64         `toml:"mean"`
	SD   float64          `toml:"sd"`
	Low  *float64         `toml:"low"`
	High *float64         `toml:"high"`
	N    int              `toml:"n"`
	From string           `toml:"from"`
	How  catalog.Evidence `toml:"how"`
	Note string           `toml:"note"`
}

type rawIngredient struct {
	ID     string        `toml:"id"`
	Latin  string        `toml:"latin"`
	Class  catalog.Class `toml:"class"`
	Family string        `toml:"family"`
	Note   string        `toml:"note"`
	Names  catalog.Names `toml:"names"`
	Form   []rawForm     `toml:"form"`
}

type rawForm struct {
	ID              string                `toml:"id"`
	State           string                `toml:"state"`
	Names           catalog.Names         `toml:"names"`
	Looks           string                `toml:"looks"`
	Shape           string                `toml:"shape"`
	Colours         []string              `toml:"colours"`
	EatenAs         string                `toml:"eaten_as"`
	Balance         string                `toml:"balance"`
	Hull            *RawFigure            `toml:"hull"`
	HullLeft        *RawFigure            `toml:"hull_left"`
	ThousandKernels *RawFigure            `toml:"thousand_kernels"`
	Length          *RawFigure            `toml:"length"`
	Width           *RawFigure            `toml:"width"`
	BulkDensity     *RawFigure            `toml:"bulk_density"`
	KeepsMonths     *RawFigure            `toml:"keeps_months"`
	Confused        []rawConfusion        `toml:"confused"`
	Limits          []rawLimit            `toml:"limits"`
	Cautions        []string              `toml:"cautions"`
	Figures         map[string]*RawFigure `toml:"figures"`
}

type rawConfusion struct {
	With string `toml:"with"`
	Tell string `toml:"tell"`
}

type rawLimit struct {
	Most    *float64         `toml:"most"`
	Why     string           `toml:"why"`
	From    string           `toml:"from"`
	How     catalog.Evidence `toml:"how"`
	Species []string         `toml:"species"`
	With    string           `toml:"with"`
}

func (r *rawIngredient) build(doc *tomldoc.Document) (*catalog.Ingredient, error) {
	if want := idOf(doc.Name); r.ID != want {
		return nil, doc.At("id", fmt.Sprintf("is %q", r.ID), fmt.Sprintf("the file's name asks for %q", want))
	}
	if !slices.Contains(catalog.Classes(), r.Class) {
		return nil, doc.At("class", fmt.Sprintf("%q is not a class", r.Class), fmt.Sprintf("classes are %v", catalog.Classes()))
	}
	if len(r.Names["en"]) == 0 {
		return nil, doc.At("names", "there is no English name", "")
	}
	if len(r.Form) == 0 {
		return nil, doc.At("form", "there is no form", "add a [[form]]")
	}
	in := &catalog.Ingredient{ID: r.ID, Latin: r.Latin, Class: r.Class, Family: r.Family, Note: r.Note, Names: r.Names}
	for i := range r.Form {
		at := fmt.Sprintf("form[%d]", i)
		f, err := r.Form[i].build(doc, at)
		if err != nil {
			return nil, err
		}
		if in.Form(f.ID) != nil {
			return nil, doc.At(at+".id", fmt.Sprintf("the form %q stands twice", f.ID), "")
		}
		f.Ingredient = in
		in.Forms = append(in.Forms, f)
	}
	for i, f := range in.Forms {
		if f.EatenAs != "" && in.Form(f.EatenAs) == nil {
			return nil, doc.At(fmt.Sprintf("form[%d].eaten_as", i), fmt.Sprintf("there is no form %q here", f.EatenAs), "")
		}
	}
	return in, nil
}

func (r *rawForm) build(doc *tomldoc.Document, at string) (*catalog.Form, error) {
	if r.ID == "" || r.State == "" {
		return nil, doc.At(at, "a form needs an id and a state", "")
	}
	f := &catalog.Form{ID: r.ID, State: r.State, Names: r.Names, Looks: r.Looks, Shape: r.Shape,
		Colours: r.Colours, EatenAs: r.EatenAs, Balance: r.Balance, Cautions: r.Cautions,
		Figures: map[nutrient.Key]catalog.Figure{}}
	for _, c := range r.Confused {
		f.Confused = append(f.Confused, catalog.Confusion{With: c.With, Tell: c.Tell})
	}
	for i, l := range r.Limits {
		if l.Most == nil || l.Why == "" || l.From == "" || !l.How.Known() {
			return nil, doc.At(fmt.Sprintf("%s.limits[%d]", at, i), "a limit needs most, why, from and how", "")
		}
		f.Limits = append(f.Limits, catalog.Limit{Most: *l.Most, Why: l.Why, Source: l.From, How: l.How, Species: l.Species, With: l.With})
	}
	for _, q := range []struct {
		key string
		raw *RawFigure
		to  **catalog.Figure
	}{
		{"hull", r.Hull, &f.Hull}, {"hull_left", r.HullLeft, &f.HullLeft},
		{"thousand_kernels", r.ThousandKernels, &f.ThousandKernels},
		{"length", r.Length, &f.Length}, {"width", r.Width, &f.Width},
		{"bulk_density", r.BulkDensity, &f.BulkDensity}, {"keeps_months", r.KeepsMonths, &f.KeepsMonths},
	} {
		if q.raw == nil {
			continue
		}
		fig, err := q.raw.Build(doc, at+"."+q.key)
		if err != nil {
			return nil, err
		}
		*q.to = &fig
	}
	return f, r.figures(doc, at, f)
}

func (r *rawForm) figures(doc *tomldoc.Document, at string, f *catalog.Form) error {
	keys := make([]string, 0, len(r.Figures))
	for k := range r.Figures {
		keys = append(keys, k)
	}
	slices.Sort(keys)
	for _, k := range keys {
		place := at + ".figures." + k
		if err := checkKey(doc, place, k); err != nil {
			return err
		}
		fig, err := r.Figures[k].Build(doc, place)
		if err != nil {
			return err
		}
		f.Figures[nutrient.Key(k)] = fig
	}
	return nil
}

// Build checks a figure and turns it into a catalogue figure.
func (r *RawFigure) Build(doc *tomldoc.Document, at string) (catalog.Figure, error) {
	switch {
	case r.Mean == nil:
		return catalog.Figure{}, doc.At(at, "there is no mean", "write mean = a number, or leave the figure out")
	case bad(*r.Mean) || bad(r.SD):
		return catalog.Figure{}, doc.At(at, "mean and sd must be numbers of nought or more", "")
	case !r.How.Known():
		return catalog.Figure{}, doc.At(at+".how", fmt.Sprintf("%q is not a kind of evidence", r.How), "use measured, derived, recalled or assumed")
	case r.From == "":
		return catalog.Figure{}, doc.At(at, "the figure has no source", "write from = \"source:item\"")
	}
	f := catalog.Figure{Mean: *r.Mean, SD: r.SD, N: r.N, Source: r.From, How: r.How, Note: r.Note}
	if r.Low != nil || r.High != nil {
		f.Low, f.High, f.Ranged = orMean(r.Low, f.Mean), orMean(r.High, f.Mean), true
		if bad(f.Low) || bad(f.High) || f.Low > f.High {
			return f, doc.At(at, "low is above high", "")
		}
	}
	return f, nil
}

// orMean is one end of a printed range; where a source prints only the other
// end, the mean stands for this one.
func orMean(v *float64, mean float64) float64 {
	if v == nil {
		return mean
	}
	return *v
}

// BuildRange is Build for a quantity that may be given as a range alone: its
// mean is then the middle.
func (r *RawFigure) BuildRange(doc *tomldoc.Document, at string) (catalog.Figure, error) {
	if r.Mean == nil && r.Low != nil && r.High != nil {
		middle := (*r.Low + *r.High) / 2
		r.Mean = &middle
	}
	return r.Build(doc, at)
}

func bad(v float64) bool { return math.IsNaN(v) || math.IsInf(v, 0) || v < 0 }

func nearestKey(key string) string {
	var known []string
	for _, i := range nutrient.All() {
		if !i.Derived {
			known = append(known, string(i.Key))
		}
	}
	return nearword.Hint(key, known, "")
}
