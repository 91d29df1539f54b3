package card

import (
	"fmt"
	"math"
	"strings"

	"firlot/catalog"
	"firlot/catalog/find"
	"firlot/mix"
	"firlot/needs"
	"firlot/nutrient"
)

// Received is one of a card's mixes, brought home to another catalogue.
type Received struct {
	Document *mix.Document // with the published amounts
	// Foods differ between the card and the catalogue here, one entry each.
	Foods []FoodDiffers
	// Windows of the stage differ.
	Windows []WindowDiffers
	// Own are the forms that the catalogue here does not hold: they come along
	// as the document's own, with the card's figures.
	Own []string
}

// FoodDiffers is a form of the mix whose entry in the card differs from the
// one here.
type FoodDiffers struct {
	Ref     string
	Figures []FigureDiffers
	// Limits is set where the inclusion limits differ; those here hold.
	Limits bool
	// Hull is set where the hull, what is left of it or the form that is eaten
	// differs.
	Hull bool
}

// FigureDiffers is a figure in the card and here; nil where there is none.
type FigureDiffers struct {
	Nutrient nutrient.Key
	Card     *catalog.Figure
	Here     *catalog.Figure
}

// WindowDiffers is a window that a mix must meet, in the card and here; nil
// where there is none.
type WindowDiffers struct {
	Card, Here *needs.Window
}

// sameTo is the relative difference up to which two figures are one: what
// writing them down may round.
const sameTo = 1e-9

// Receive brings one of the card's mixes home: it resolves with the catalogue
// and the needs here, which have the last word on limits and on what is never
// fed. What the card says of foods that are known here is not taken over; that
// it differs is told. A form that is not known here becomes an ingredient of
// the document's own.
func (c *Card) Receive(i int, here *catalog.Catalogue, t *needs.Table) (*Received, error) {
	p, err := c.Open(i)
	if err != nil {
		return nil, err
	}
	r := &Received{Document: p.Document.Copy()}
	for k, m := range c.Mixes[i].Amounts {
		r.Document.Lines[k].Amount = mix.Amount{Set: true, Mass: m}
	}
	renamed := map[string]string{}
	for k, l := range p.Lines {
		ref, err := r.food(l.Form, here, p.Document.Own)
		if err != nil {
			return nil, err
		}
		renamed[l.Form.Ref()], r.Document.Lines[k].Ingredient = ref, ref
		if here.Form(l.Form.Ref()) == nil {
			r.keepLimits(k, l.Form)
		}
	}
	for g := range r.Document.Groups {
		for k, name := range r.Document.Groups[g].Of {
			if ref, ok := renamed[name]; ok {
				r.Document.Groups[g].Of[k] = ref
			}
		}
	}
	r.windows(p, t)
	q, err := mix.Resolve(r.Document, here, t)
	if err != nil {
		return nil, err
	}
	r.Document = q.Document
	return r, nil
}

// food compares a form with the one here and returns what it is called here.
func (r *Received) food(f *catalog.Form, here *catalog.Catalogue, own []*catalog.Ingredient) (string, error) {
	for _, in := range own {
		if in == f.Ingredient {
			return f.Ref(), nil
		}
	}
	mine := here.Form(f.Ref())
	if mine == nil {
		in, err := strange(f, here)
		if err != nil {
			return "", err
		}
		r.Document.Own = append(r.Document.Own, in)
		r.Own = append(r.Own, f.Ref())
		return in.Forms[0].Ref(), nil
	}
	r.compare(f, mine)
	if k, here := f.Kernel(), mine.Kernel(); k != f && here != mine && k.ID == here.ID {
		r.compare(k, here) // windows on what is eaten stand on these
	}
	return f.Ref(), nil
}

// compare tells how a form in the card differs from the one here.
func (r *Received) compare(f, mine *catalog.Form) {
	for _, d := range r.Foods {
		if d.Ref == f.Ref() {
			return // the kernel of one line can be another
		}
	}
	d := FoodDiffers{Ref: f.Ref(), Limits: !sameLimits(f.Limits, mine.Limits),
		Hull: f.EatenAs != mine.EatenAs || !sameQuantity(f.Hull, mine.Hull) || !sameQuantity(f.HullLeft, mine.HullLeft)}
	for _, info := range nutrient.All() {
		a, inCard := f.Figures[info.Key]
		b, isHere := mine.Figures[info.Key]
		if !inCard && !isHere || inCard && isHere && same(a.Mean, b.Mean) && same(a.SD, b.SD) {
			continue
		}
		x := FigureDiffers{Nutrient: info.Key}
		if inCard {
			x.Card = &a
		}
		if isHere {
			x.Here = &b
		}
		d.Figures = append(d.Figures, x)
	}
	if d.Limits || d.Hull || len(d.Figures) > 0 {
		r.Foods = append(r.Foods, d)
	}
}

func sameQuantity(a, b *catalog.Figure) bool {
	return (a == nil) == (b == nil) && (a == nil || same(a.Mean, b.Mean) && same(a.SD, b.SD))
}

// strange makes an own ingredient of a form that is not known here.
func strange(f *catalog.Form, here *catalog.Catalogue) (*catalog.Ingredient, error) {
	name := f.Name("en")
	for _, n := range append([]string{name, f.Ingredient.ID}, f.Ingredient.Names["en"]...) {
		if u := find.Refused(here, n); u != nil {
			return nil, &mix.Problem{Path: "own", Message: fmt.Sprintf("%q is never fed: %s", n, u.Reason), Hint: find.Instead(u)}
		}
	}
	id := cutBytes(strings.ReplaceAll(f.Ref(), "/", "-"), 56) + "-card"
	x := &catalog.Form{ID: "own", State: f.State, Cautions: f.Cautions, BulkDensity: f.BulkDensity, Figures: map[nutrient.Key]catalog.Figure{}}
	for k, fig := range f.Figures {
		// The card's source is hearsay here: what it said stays readable.
		fig.Source, fig.How, fig.Ranged = "label: "+fig.Source, catalog.Assumed, false
		fig.Low, fig.High = 0, 0
		x.Figures[k] = fig
	}
	in := &catalog.Ingredient{ID: id, Class: f.Ingredient.Class, Names: catalog.Names{"en": {name}}, Forms: []*catalog.Form{x}}
	x.Ingredient = in
	return in, nil
}

// keepLimits makes the card's inclusion limits of a form that is not known here
// a ceiling of its line: an own ingredient has none, and nothing here would
// take their place.
func (r *Received) keepLimits(line int, f *catalog.Form) {
	d := r.Document
	l := &d.Lines[line]
	for _, lim := range f.Limits {
		a := mix.Amount{Set: true, Share: true, Percent: lim.Most}
		if lim.For(d.Species) && (!l.Ceiling.Set || a.Of(d.Batch) < l.Ceiling.Of(d.Batch)) {
			l.Ceiling = a
		}
	}
}

func cutBytes(s string, most int) string { return strings.TrimRight(s[:min(len(s), most)], "-") }

func same(a, b float64) bool { return math.Abs(a-b) <= sameTo*max(math.Abs(a), math.Abs(b)) }

func sameLimits(a, b []catalog.Limit) bool {
	if len(a) != len(b) {
		return false
	}
	for i := range a {
		if !same(a[i].Most, b[i].Most) || a[i].With != b[i].With || strings.Join(a[i].Species, " ") != strings.Join(b[i].Species, " ") {
			return false
		}
	}
	return true
}

// windows compares the windows that the stage asks of a mix.
func (r *Received) windows(p *mix.Plan, t *needs.Table) {
	if p.Stage == nil {
		return
	}
	var here []needs.Window
	if s := t.Find(p.Species.ID); s != nil {
		if st := s.Stage(p.Stage.ID); st != nil {
			here = st.Enforced()
		}
	}
	theirs := p.Stage.Enforced()
	alike := func(a, b needs.Window) bool { return a.Nutrient == b.Nutrient && a.Per == b.Per && a.On == b.On }
	find := func(list []needs.Window, w needs.Window) *needs.Window {
		for i := range list {
			if alike(list[i], w) {
				return &list[i]
			}
		}
		return nil
	}
	for i := range theirs {
		w := &theirs[i]
		if mine := find(here, *w); mine == nil || !sameEnd(w.Min, mine.Min) || !sameEnd(w.Max, mine.Max) || w.Basis != mine.Basis {
			r.Windows = append(r.Windows, WindowDiffers{w, mine})
		}
	}
	for i := range here {
		if find(theirs, here[i]) == nil {
			r.Windows = append(r.Windows, WindowDiffers{nil, &here[i]})
		}
	}
}

func sameEnd(a, b *float64) bool { return (a == nil) == (b == nil) && (a == nil || same(*a, *b)) }
