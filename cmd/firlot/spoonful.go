package main

import (
	"context"
	"fmt"

	"github.com/spf13/cobra"

	"firlot/analysis"
	"firlot/catalog"
	"firlot/needs"
	"firlot/report"
	"firlot/serving"
)

// spooning are the flags of spoonful.
type spooning struct {
	json           bool
	portion, batch string
	target         float64 // %
}

func spoonfulCommand(s streams) *cobra.Command {
	var f spooning
	c := &cobra.Command{
		Use:   "spoonful FILE",
		Short: "How alike two portions of a mix are",
		Long: `A portion is a number of whole seeds, so no two hold the same. Works out by how
much each figure with a window, and each ingredient's share, differs between
portions of a well mixed batch by chance alone; the smallest portion that keeps
the difference within a bound; which ingredient causes most of it, and what
would help. The mix is the document's amounts, or the one that solving finds.

The bounds hold for perfect mixing (Gy's fundamental sampling error). Seeds that
sort themselves in the jar differ more.`,
		Example: `  firlot spoonful examples/gerbil-adult.toml
  firlot spoonful my-mix.toml --portion 6g --batch 500g --rsd 5`,
		Args: takes(1, 1), ValidArgsFunction: documents,
		RunE: func(cmd *cobra.Command, args []string) error { return f.run(cmd.Context(), s, args[0]) },
	}
	c.Flags().BoolVar(&f.json, "json", false, "print JSON for programs (docs/schema/spoonful.json)")
	c.Flags().StringVar(&f.portion, "portion", "10g", "mass of a portion")
	c.Flags().StringVar(&f.batch, "batch", "", "mass of the batch it is taken from (default: the mix's own)")
	c.Flags().Float64Var(&f.target, "rsd", 10, "the spread that the smallest portion keeps to: relative standard deviation, in %")
	return c
}

func (f *spooning) run(ctx context.Context, s streams, path string) error {
	if !(f.target > 0) || f.target > 100 {
		return fmt.Errorf("--rsd %v is out of range; it is a relative standard deviation in %%, above 0 and at most 100", f.target)
	}
	portion, err := gramsOf("--portion", f.portion)
	if err != nil {
		return err
	}
	m, err := mixed(ctx, path)
	if err != nil {
		return err
	}
	batch := serving.MassOf(m.portions).Grams()
	if f.batch != "" {
		if batch, err = gramsOf("--batch", f.batch); err != nil {
			return err
		}
	}
	if portion > batch {
		return fmt.Errorf("a portion of %s g is more than the batch of %s g", grams(portion), grams(batch))
	}
	b := &bowls{m, serving.LotOf(m.portions, batch), portion, f.target / 100}
	out := b.show()
	if f.json {
		return s.json(out)
	}
	return printSpoonful(s, out)
}

// bowls are portions taken from a batch.
type bowls struct {
	*mixture
	lot     serving.Lot
	portion float64 // g
	target  float64 // relative standard deviation, as a share
}

// shownSpoonful is `spoonful --json`.
type shownSpoonful struct {
	Species     string           `json:"species,omitempty"`
	Stage       string           `json:"stage,omitempty"`
	Amounts     string           `json:"amounts_from"`
	PortionG    report.Number    `json:"portion_g"`
	BatchG      report.Number    `json:"batch_g"`
	Target      report.Number    `json:"target_rsd"`
	Figures     []shownVariation `json:"figures"`
	Ingredients []shownPiece     `json:"ingredients"`
	Notes       []string         `json:"notes"`
}

// shownVariation is how one figure differs between portions. Spreads are
// relative standard deviations in per cent of the figure.
type shownVariation struct {
	Nutrient string         `json:"nutrient"`
	Per      string         `json:"per,omitempty"`
	Name     string         `json:"name"`
	Unit     string         `json:"unit"`
	Basis    string         `json:"basis"`
	On       string         `json:"on"`
	Value    *report.Number `json:"value"`
	RSD      *report.Number `json:"rsd"`
	SD       *report.Number `json:"sd"`
	AtLeast  bool           `json:"at_least"`
	Smallest *report.Number `json:"smallest_portion_g"`
	Unknown  []string       `json:"figure_not_known"`
	Most     *shownCause    `json:"most_from,omitempty"`
	Missing  []shownMissing `json:"piece_not_known"`
}

type shownCause struct {
	Ingredient string        `json:"ingredient"`
	Form       string        `json:"form"`
	Name       string        `json:"name"`
	Share      report.Number `json:"share"`
	Apart      report.Number `json:"rsd_counted_by_hand"`
	Halved     report.Number `json:"rsd_half_the_piece"`
}

type shownMissing struct {
	Ingredient string         `json:"ingredient"`
	Form       string         `json:"form"`
	Name       string         `json:"name"`
	DoublesAt  *report.Number `json:"doubles_at_piece_g"`
}

// shownPiece is one kind of piece in a portion.
type shownPiece struct {
	Ingredient string         `json:"ingredient"`
	Form       string         `json:"form"`
	Name       string         `json:"name"`
	Percent    report.Number  `json:"percent"`
	PieceG     *report.Number `json:"piece_g"`
	Evidence   string         `json:"evidence,omitempty"`
	Pieces     *report.Number `json:"pieces"`
	None       *report.Number `json:"chance_of_none"`
	RSD        *report.Number `json:"rsd"`
	AtLeast    bool           `json:"at_least"`
	Smallest   *report.Number `json:"smallest_portion_g"`
}

func (b *bowls) show() shownSpoonful {
	out := shownSpoonful{Amounts: b.amounts, PortionG: report.Number(b.portion), BatchG: report.Number(b.lot.Grams),
		Target: report.Number(100 * b.target), Notes: append([]string{}, b.plan.Notes...)}
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

func (b *bowls) variation(m analysis.Measure) shownVariation {
	v := b.lot.OfFigure(m)
	out := shownVariation{Nutrient: string(m.Nutrient), Per: string(m.Per), Unit: string(m.Unit()), Basis: string(m.Basis), On: string(m.On),
		Name:    windowName(needs.Window{Nutrient: m.Nutrient, Per: m.Per, Basis: m.Basis, On: m.On}),
		Unknown: refs(v.Unknown), Missing: []shownMissing{}}
	if !v.Known {
		return out
	}
	r := b.rsd(v.K)
	out.Value, out.RSD, out.SD = numberOf(v.Value), numberOf(100*r), numberOf(r*v.Value)
	out.Smallest, out.AtLeast = numberOf(b.lot.Smallest(v.K, b.target)), len(v.Missing) > 0
	if i := v.Top(); i >= 0 {
		f, c := b.lot.Pieces[i].Form, v.Causes[i]
		out.Most = &shownCause{f.Ingredient.ID, f.ID, f.Name("en"), report.Number(c.K / v.K),
			report.Number(100 * b.rsd(c.Apart)), report.Number(100 * b.rsd(c.Halved))}
	}
	for _, i := range v.Missing {
		f := b.lot.Pieces[i].Form
		x := shownMissing{Ingredient: f.Ingredient.ID, Form: f.ID, Name: f.Name("en")}
		if g, ok := v.Doubling(i); ok {
			x.DoublesAt = numberOf(g)
		}
		out.Missing = append(out.Missing, x)
	}
	return out
}

func (b *bowls) piece(i int) shownPiece {
	p := b.lot.Pieces[i]
	out := shownPiece{Ingredient: p.Form.Ingredient.ID, Form: p.Form.ID, Name: p.Form.Name("en"), Percent: report.Number(100 * p.Share)}
	n, ok := b.lot.Count(i, b.portion)
	if !ok {
		return out
	}
	none, _ := b.lot.None(i, b.portion)
	out.PieceG, out.Evidence, out.Pieces, out.None = numberOf(p.Grams), string(p.How), numberOf(n), numberOf(none)
	v := b.lot.OfShare(i)
	out.RSD, out.AtLeast, out.Smallest = numberOf(100*b.rsd(v.K)), len(v.Missing) > 0, numberOf(b.lot.Smallest(v.K, b.target))
	return out
}

// worstPiece is how well the masses of pieces are known, at worst.
func (o shownSpoonful) worstPiece() catalog.Evidence {
	how := catalog.Measured
	for _, p := range o.Ingredients {
		if p.PieceG != nil {
			how = how.Worse(catalog.Evidence(p.Evidence))
		}
	}
	return how
}
