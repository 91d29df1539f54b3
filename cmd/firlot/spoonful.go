package main

import (
	"context"
	"fmt"

	"github.com/spf13/cobra"

	"firlot/internal/chart"
	mixfiles "firlot/mix/files"
	"firlot/report"
	"firlot/serving"
)

// spooning are the flags of spoonful.
type spooning struct {
	json           bool
	portion, batch string
	target         float64 // %
	draw           int64   // number of the draw; negative: none
	svg            string
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
  firlot spoonful my-mix.toml --portion 6g --batch 500g --rsd 5
  firlot spoonful my-mix.toml --draw 1 --svg spoon.svg`,
		Args: takes(1, 1), ValidArgsFunction: documents,
		RunE: func(cmd *cobra.Command, args []string) error { return f.run(cmd.Context(), s, args[0]) },
	}
	c.Flags().BoolVar(&f.json, "json", false, "print JSON for programs (docs/schema/spoonful.json)")
	c.Flags().StringVar(&f.portion, "portion", "10g", "mass of a portion")
	c.Flags().StringVar(&f.batch, "batch", "", "mass of the batch it is taken from (default: the mix's own)")
	c.Flags().Float64Var(&f.target, "rsd", 10, "the spread that the smallest portion keeps to: relative standard deviation, in %")
	c.Flags().Int64Var(&f.draw, "draw", -1, "draw a portion as chance deals it, by this number; the same number draws the same portion everywhere")
	c.Flags().StringVar(&f.svg, "svg", "", "draw the seeds of that portion into this file")
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
	lot := serving.LotOf(m.portions, batch)
	out := report.SpoonfulOf(m.plan, m.amounts, lot, portion, f.target/100)
	switch {
	case f.draw >= 0:
		drawn := lot.Draw(portion, uint64(f.draw))
		out.Drawn = report.DrawnOf(uint64(f.draw), drawn)
		if err := f.picture(drawn); err != nil {
			return err
		}
	case f.svg != "":
		return fmt.Errorf("--svg draws a portion; give its number with --draw, such as --draw 1")
	}
	if f.json {
		return s.json(out)
	}
	return printSpoonful(s, out)
}

// picture draws a portion into the file that was asked for.
func (f *spooning) picture(drawn []serving.Drawn) error {
	if f.svg == "" {
		return nil
	}
	var items []chart.SpoonItem
	for _, d := range drawn {
		if d.Known {
			items = append(items, chart.SpoonItem{Form: d.Form, Count: d.Count})
		}
	}
	svg := chart.Spoonful(items, chart.SpoonOptions{Title: fmt.Sprintf("Draw number %d", f.draw), Width: spoonWidth, Seed: uint64(f.draw), BarLabel: "1 cm"})
	return mixfiles.Save(f.svg, []byte(chart.Standalone(svg, chart.StandaloneOptions{White: true})))
}

// spoonWidth is the width of a drawn portion, px.
const spoonWidth = 640
