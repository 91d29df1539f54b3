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
			plan, portions, err := standing(plan)
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

// standing are the amounts that the document holds, and the plan that they
// are measured against: limits in per cent are per cent of what is there.
func standing(p *mix.Plan) (*mix.Plan, []analysis.Portion, error) {
	amounts, any := p.Standing()
	if !any {
		return nil, nil, &mix.Problem{Path: "line", Message: "no line has an amount", Hint: "firlot solve finds them, and solve --write writes them down"}
	}
	out := make([]analysis.Portion, len(p.Lines))
	var sum nutrient.Mass
	for i, m := range amounts {
		out[i] = analysis.Portion{Form: p.Lines[i].Form, Mass: m}
		sum += m
	}
	if sum == p.Batch() {
		return p, out, nil
	}
	d := p.Document.Copy()
	d.Batch = sum
	asIs, err := p.With(d)
	if err != nil {
		asIs = p // its own limits do not fit what is there; they are broken then
	}
	asIs.Notes = append(p.Notes, "the amounts add up to "+sum.String()+", the batch is "+p.Batch().String()+"; figures and limits are for the amounts as they stand")
	return asIs, out, nil
}
