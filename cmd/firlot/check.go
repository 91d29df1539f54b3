package main

import (
	"github.com/spf13/cobra"

	"firlot/analysis"
	"firlot/mix"
	"firlot/nutrient"
	"firlot/report"
)

func checkCommand(s streams) *cobra.Command {
	var asJSON, all bool
	c := &cobra.Command{
		Use:   "check FILE",
		Short: "Analyse a mix with the amounts as they stand",
		Long: `Reads a mix document whose lines have amounts, and says what the mix holds and
whether it lies inside its windows. Exits with status 4 when it is not inside
every window, or when a missing figure leaves that open.`,
		Example: `  firlot check examples/gerbil-adult.toml
  firlot check my-mix.toml --all`,
		Args: takes(1, 1), ValidArgsFunction: documents,
		RunE: func(cmd *cobra.Command, args []string) error {
			file, plan, err := load(args[0])
			if err != nil {
				return err
			}
			portions, err := standing(plan)
			if err != nil {
				return file.Locate(err)
			}
			r := report.OfAmounts(plan, portions)
			if asJSON {
				err = s.json(r)
			} else {
				err = printReport(s, r, all)
			}
			if err == nil && r.Status != report.StatusInside {
				err = exit{exitOutside}
			}
			return err
		},
	}
	c.Flags().BoolVar(&asJSON, "json", false, "print JSON for programs (docs/schema/report.json)")
	c.Flags().BoolVar(&all, "all", false, "print every figure and every published minimum")
	return c
}

// standing are the amounts that the document holds. A share is a share of the
// batch; a line without an amount is not in the mix.
func standing(p *mix.Plan) ([]analysis.Portion, error) {
	out := make([]analysis.Portion, len(p.Lines))
	var sum nutrient.Mass
	for i, l := range p.Document.Lines {
		out[i].Form = p.Lines[i].Form
		if l.Amount.Set {
			out[i].Mass = nutrient.Mass(l.Amount.Of(p.Batch())*float64(nutrient.Gram) + 0.5)
		}
		sum += out[i].Mass
	}
	if sum == 0 {
		return nil, &mix.Problem{Path: "line", Message: "no line has an amount", Hint: "firlot solve finds them, and solve --write writes them down"}
	}
	if sum != p.Batch() {
		p.Notes = append(p.Notes, "the amounts add up to "+sum.String()+", the batch is "+p.Batch().String()+"; figures are for the amounts as they stand")
	}
	return out, nil
}
