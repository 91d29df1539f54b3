package report

import (
	"firlot/analysis"
	"firlot/mix"
	"firlot/needs"
	"firlot/nutrient"
	"firlot/serving"
)

// bowls are portions taken from a batch.
type bowls struct {
	plan    *mix.Plan
	lot     serving.Lot
	portion float64 // g
	target  float64 // relative standard deviation, as a share
}

// Spoonful is `spoonful --json`.
type Spoonful struct {
	Species     string           `json:"species,omitempty"`
	Stage       string           `json:"stage,omitempty"`
	Amounts     string           `json:"amounts_from"`
	PortionG    Number           `json:"portion_g"`
	BatchG      Number           `json:"batch_g"`
	Target      Number           `json:"target_rsd"`
	Figures     []SpoonfulFigure `json:"figures"`
	Ingredients []SpoonfulPiece  `json:"ingredients"`
	Notes       []string         `json:"notes"`
	// Sorting is how readily the seeds sort themselves in the jar.
	Sorting MixingSorting `json:"sorting"`
	// Drawn is a portion as chance deals it; absent where none was asked for.
	Drawn *SpoonfulDrawn `json:"drawn,omitempty"`
}

// SpoonfulDrawn is a drawn portion.
type SpoonfulDrawn struct {
	Seed   uint64               `json:"seed"`
	Grams  Number               `json:"grams"`
	Pieces []SpoonfulDrawnPiece `json:"pieces"`
}

// SpoonfulDrawnPiece is how many pieces of a kind a drawn portion holds; null
// where the mass of a piece is not known.
type SpoonfulDrawnPiece struct {
	Ingredient string `json:"ingredient"`
	Form       string `json:"form"`
	Name       string `json:"name"`
	Count      *int   `json:"count"`
}

// DrawnOf reports a drawn portion. Its grams are those of the counted kinds.
func DrawnOf(seed uint64, drawn []serving.Drawn) *SpoonfulDrawn {
	out := &SpoonfulDrawn{Seed: seed, Pieces: []SpoonfulDrawnPiece{}}
	for _, d := range drawn {
		p := SpoonfulDrawnPiece{Ingredient: d.Form.Ingredient.ID, Form: d.Form.ID, Name: d.Form.Name("en")}
		if d.Known {
			n := d.Count
			p.Count = &n
			out.Grams += Number(d.Mass.Grams())
		}
		out.Pieces = append(out.Pieces, p)
	}
	return out
}

// SpoonfulFigure is how one figure differs between portions. Spreads are
// relative standard deviations in per cent of the figure.
type SpoonfulFigure struct {
	Nutrient string            `json:"nutrient"`
	Per      string            `json:"per,omitempty"`
	Name     string            `json:"name"`
	Unit     string            `json:"unit"`
	Basis    string            `json:"basis"`
	On       string            `json:"on"`
	Value    *Number           `json:"value"`
	RSD      *Number           `json:"rsd"`
	SD       *Number           `json:"sd"`
	AtLeast  bool              `json:"at_least"`
	Smallest *Number           `json:"smallest_portion_g"`
	Unknown  []string          `json:"figure_not_known"`
	Most     *SpoonfulCause    `json:"most_from,omitempty"`
	Missing  []SpoonfulMissing `json:"piece_not_known"`
}

// SpoonfulCause is the ingredient that brings most of a spread.
type SpoonfulCause struct {
	Ingredient string `json:"ingredient"`
	Form       string `json:"form"`
	Name       string `json:"name"`
	Share      Number `json:"share"`
	Apart      Number `json:"rsd_counted_by_hand"`
	Halved     Number `json:"rsd_half_the_piece"`
}

// SpoonfulMissing is an ingredient whose pieces have no known mass.
type SpoonfulMissing struct {
	Ingredient string  `json:"ingredient"`
	Form       string  `json:"form"`
	Name       string  `json:"name"`
	DoublesAt  *Number `json:"doubles_at_piece_g"`
}

// SpoonfulPiece is one kind of piece in a portion.
type SpoonfulPiece struct {
	Ingredient string  `json:"ingredient"`
	Form       string  `json:"form"`
	Name       string  `json:"name"`
	Percent    Number  `json:"percent"`
	PieceG     *Number `json:"piece_g"`
	Evidence   string  `json:"evidence,omitempty"`
	Pieces     *Number `json:"pieces"`
	None       *Number `json:"chance_of_none"`
	RSD        *Number `json:"rsd"`
	AtLeast    bool    `json:"at_least"`
	Smallest   *Number `json:"smallest_portion_g"`
}

// SpoonfulOf reports how portions of some grams from a lot of a plan's mix
// differ; target is the relative standard deviation, as a share, that smallest
// portions keep to. Amounts is as in [PortionOf].
func SpoonfulOf(plan *mix.Plan, amounts string, lot serving.Lot, portion, target float64) Spoonful {
	b := &bowls{plan, lot, portion, target}
	out := Spoonful{Amounts: amounts, PortionG: Number(b.portion), BatchG: Number(b.lot.Grams),
		Target: Number(100 * b.target), Sorting: sortingOf(lot), Notes: append([]string{}, b.plan.Notes...)}
	if b.plan.Species != nil {
		out.Species, out.Stage = b.plan.Species.ID, b.plan.Stage.ID
	}
	for _, m := range b.measures() {
		out.Figures = append(out.Figures, b.variation(m))
	}
	for i := range b.lot.Pieces {
		out.Ingredients = append(out.Ingredients, b.piece(i))
	}
	return out
}

// measures are those with a window; a document has one at least.
func (b *bowls) measures() []analysis.Measure {
	var list []analysis.Measure
	seen := map[analysis.Measure]bool{}
	for _, t := range b.plan.Targets {
		if m := analysis.MeasureOf(t.Window); !seen[m] {
			seen[m] = true
			list = append(list, m)
		}
	}
	return list
}

func (b *bowls) rsd(k float64) float64 { return b.lot.RSD(k, b.portion) }

func (b *bowls) variation(m analysis.Measure) SpoonfulFigure {
	v := b.lot.OfFigure(m)
	out := SpoonfulFigure{Nutrient: string(m.Nutrient), Per: string(m.Per), Unit: string(m.Unit()), Basis: string(m.Basis), On: string(m.On),
		Name:    WindowName(needs.Window{Nutrient: m.Nutrient, Per: m.Per, Basis: m.Basis, On: m.On}),
		Unknown: refs(v.Unknown), Missing: []SpoonfulMissing{}}
	if !v.Known {
		return out
	}
	r := b.rsd(v.K)
	out.Value, out.RSD, out.SD = num(v.Value), num(100*r), num(r*v.Value)
	out.Smallest, out.AtLeast = num(b.lot.Smallest(v.K, b.target)), len(v.Missing) > 0
	if i := v.Top(); i >= 0 {
		f, c := b.lot.Pieces[i].Form, v.Causes[i]
		out.Most = &SpoonfulCause{f.Ingredient.ID, f.ID, f.Name("en"), Number(c.K / v.K),
			Number(100 * b.rsd(c.Apart)), Number(100 * b.rsd(c.Halved))}
	}
	for _, i := range v.Missing {
		f := b.lot.Pieces[i].Form
		x := SpoonfulMissing{Ingredient: f.Ingredient.ID, Form: f.ID, Name: f.Name("en")}
		if g, ok := v.Doubling(i); ok {
			x.DoublesAt = num(g)
		}
		out.Missing = append(out.Missing, x)
	}
	return out
}

func (b *bowls) piece(i int) SpoonfulPiece {
	p := b.lot.Pieces[i]
	out := SpoonfulPiece{Ingredient: p.Form.Ingredient.ID, Form: p.Form.ID, Name: p.Form.Name("en"), Percent: Number(100 * p.Share)}
	n, ok := b.lot.Count(i, b.portion)
	if !ok {
		return out
	}
	none, _ := b.lot.None(i, b.portion)
	out.PieceG, out.Evidence, out.Pieces, out.None = num(p.Grams), string(p.How), num(n), num(none)
	v := b.lot.OfShare(i)
	out.RSD, out.AtLeast, out.Smallest = num(100*b.rsd(v.K)), len(v.Missing) > 0, num(b.lot.Smallest(v.K, b.target))
	return out
}

// WindowName is the figure of a window in words, with its basis where that is
// not the usual one.
func WindowName(w needs.Window) string {
	info, _ := nutrient.Lookup(w.Nutrient)
	name := info.Name
	if w.Per != "" {
		per, _ := nutrient.Lookup(w.Per)
		name += " to " + per.Name
	}
	if w.Basis == nutrient.DryMatter && w.Per == "" {
		name += ", dry matter"
	}
	if w.On == needs.Eaten {
		name += ", as eaten"
	}
	return name
}
