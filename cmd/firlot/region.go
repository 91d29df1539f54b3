package main

import (
	"fmt"
	"strings"

	"github.com/spf13/cobra"

	"firlot/analysis"
	"firlot/formulate"
	"firlot/internal/nearword"
	"firlot/needs"
	"firlot/nutrient"
	"firlot/report"
)

func regionCommand(s streams) *cobra.Command {
	var asJSON, free bool
	var x, y, basis, on, leave, picture string
	c := &cobra.Command{
		Use:   "region FILE",
		Short: "What pairs of two figures a shelf can be mixed to",
		Long: `Computes every pair of two figures that the shelf can be mixed to, under floors,
ceilings and groups and the windows on other figures: a polygon, exact but for
whole steps and numbers of ingredients, with the mix that makes each corner.`,
		Example: `  firlot region examples/gerbil-adult.toml --x crude_fibre --y crude_protein
  firlot region examples/gerbil-adult.toml --leave buckwheat/in-hull --svg shelf.svg`,
		Args: takes(1, 1), ValidArgsFunction: documents,
		RunE: func(cmd *cobra.Command, args []string) error {
			mx, err := axis("--x", x, basis, on)
			if err != nil {
				return err
			}
			my, err := axis("--y", y, basis, on)
			if err != nil {
				return err
			}
			_, plan, err := load(args[0])
			if err != nil {
				return err
			}
			o := formulate.RegionOptions{Free: free, Leave: -1}
			if leave != "" {
				if o.Leave, err = lineOf(plan, leave); err != nil {
					return fmt.Errorf("--leave: %w", err)
				}
			}
			r, err := formulate.FindRegion(cmd.Context(), plan, mx, my, o)
			if err != nil {
				return fault{err}
			}
			out := report.RegionOf(plan, r)
			if o.Leave >= 0 {
				out.Without = plan.Lines[o.Leave].Form.Ref()
			}
			if picture != "" {
				if err := saveRegion(cmd.Context(), picture, plan, r, o); err != nil {
					return err
				}
			}
			if asJSON {
				err = s.json(out)
			} else {
				err = printRegion(s, out)
			}
			if err == nil && len(r.Corners) == 0 {
				err = exit{exitImpossible}
			}
			return err
		},
	}
	c.Flags().BoolVar(&asJSON, "json", false, "print JSON for programs (docs/schema/region.json)")
	c.Flags().StringVar(&x, "x", string(nutrient.CrudeFibre), "the figure to the right")
	c.Flags().StringVar(&y, "y", string(nutrient.CrudeProtein), "the figure upwards")
	c.Flags().StringVar(&basis, "basis", string(nutrient.AsFed), `"as fed" or "dry matter"`)
	c.Flags().StringVar(&on, "on", string(needs.Offered), `"offered" or "eaten"`)
	c.Flags().StringVar(&picture, "svg", "", "draw the region into this file, with the whole shelf's when --leave is given")
	c.Flags().StringVar(&leave, "leave", "", "leave this ingredient out")
	c.Flags().BoolVar(&free, "free", false, "leave all windows out")
	return c
}

// usual is how many figures a hint lists: the proximates that stand first.
const usual = 5

func axis(flag, key, basis, on string) (analysis.Measure, error) {
	if _, ok := nutrient.Lookup(nutrient.Key(key)); !ok {
		var known []string
		for _, i := range nutrient.All() {
			known = append(known, string(i.Key))
		}
		otherwise := fmt.Sprintf("the usual ones are %s; docs/mix-document.md lists all %d", strings.Join(known[:usual], ", "), len(known))
		return analysis.Measure{}, fmt.Errorf("%s %q is not a figure that Firlot knows; %s", flag, key, nearword.Hint(key, known, otherwise))
	}
	b, err := nutrient.ParseBasis(basis)
	if err != nil {
		return analysis.Measure{}, fmt.Errorf("--basis: %w", err)
	}
	if side := needs.Side(on); side != needs.Offered && side != needs.Eaten {
		return analysis.Measure{}, fmt.Errorf("--on %q is not a side; use offered or eaten", on)
	}
	return analysis.Measure{Nutrient: nutrient.Key(key), Basis: b, On: needs.Side(on)}, nil
}

func printRegion(s streams, r report.Region) error {
	p := &printer{s: s}
	if len(r.Corners) == 0 {
		p.say("%s\n", s.bold("Nothing can be mixed of this shelf under its limits."))
		p.notKnown(r)
		return p.err
	}
	p.say("%s\n", s.bold(fmt.Sprintf("%s by %s, %s%s: %s.", words(r.X.Nutrient), words(r.Y.Nutrient), r.X.Basis, sideOf(r.X), plural(len(r.Corners), "corner", "corners"))))
	for _, c := range r.Corners {
		var parts []string
		for _, m := range c.Mix {
			parts = append(parts, fmt.Sprintf("%s %s %%", m.Ingredient+"/"+m.Form, short(float64(m.Percent))))
		}
		x, y := c.X, c.Y
		p.para("  "+withUnit(&x, r.X.Unit)+" by "+withUnit(&y, r.Y.Unit)+": ", strings.Join(parts, ", "))
	}
	p.notKnown(r)
	return p.err
}

// notKnown names the ingredients that a region leaves out.
func (p *printer) notKnown(r report.Region) {
	if len(r.NotKnown) > 0 {
		p.para("Note: ", "left out, since one of the two figures is not known for them: "+strings.Join(r.NotKnown, ", ")+".")
	}
}

// sideOf says that a figure is of what the animal eats, not of the mix as it is
// weighed.
func sideOf(a report.Axis) string {
	if a.On == string(needs.Eaten) {
		return ", as eaten, without the hulls that are left"
	}
	return ""
}

func words(key string) string {
	info, _ := nutrient.Lookup(nutrient.Key(key))
	return info.Name
}
