package main

import (
	"fmt"
	"strings"

	"github.com/spf13/cobra"

	"firlot/catalog"
	"firlot/catalog/find"
	"firlot/formulate"
	"firlot/mix"
	"firlot/report"
)

func withoutCommand(s streams) *cobra.Command {
	var asJSON bool
	var use string
	var most int
	c := &cobra.Command{
		Use:   "without FILE INGREDIENT",
		Short: "Take an ingredient out of a mix and find what can stand in",
		Long: `Takes an ingredient out of a mix. Every other amount stays as near as can be to
what it is, inside the windows; replacements are ranked by how much the others
move, then by how far the figures shift. The mix is the document's amounts, or
the one that solving finds. Another form of the ingredient (rolled for whole,
pearled for hulled, popped for raw) is named with --use.

The document is not changed.`,
		Example: `  firlot without examples/gerbil-adult.toml buckwheat/in-hull
  firlot without examples/gerbil-adult.toml oats/groats --use oats/rolled`,
		Args: takes(2, 2), ValidArgsFunction: documents,
		RunE: func(cmd *cobra.Command, args []string) error {
			if most < 1 {
				return fmt.Errorf("--most %d is out of range; it is at least 1", most)
			}
			file, plan, err := load(args[0])
			if err != nil {
				return err
			}
			line, err := lineOf(plan, args[1])
			if err != nil {
				return err
			}
			var only []*catalog.Form
			if use != "" {
				f, err := find.Resolve(plan.Catalogue, use)
				if err != nil {
					return fmt.Errorf("--use: %w", err)
				}
				only = []*catalog.Form{f}
			}
			list, err := formulate.Without(cmd.Context(), plan, line, only, formulate.Options{})
			if err != nil {
				return ours(file, err)
			}
			gone := plan.Lines[line].Form.Ref()
			swaps := []report.Swap{}
			for i, x := range list {
				if i < most {
					swaps = append(swaps, report.SwapOf(gone, x))
				}
			}
			if asJSON {
				err = s.json(swaps)
			} else {
				err = printSwaps(s, plan, gone, swaps, len(list))
			}
			if err == nil && len(list) == 0 {
				err = exit{exitImpossible}
			}
			return err
		},
	}
	c.Flags().BoolVar(&asJSON, "json", false, "print JSON for programs (docs/schema/without.json)")
	c.Flags().StringVar(&use, "use", "", "the replacement to use, instead of trying every safe and dry form")
	c.Flags().IntVar(&most, "most", 8, "how many replacements to print")
	return c
}

// lineOf finds the line of a mix that a name means.
func lineOf(p *mix.Plan, name string) (int, error) {
	var refs []string
	for i, l := range p.Lines {
		if l.Form.Ref() == name || l.Form.Ingredient.ID == name {
			return i, nil
		}
		refs = append(refs, l.Form.Ref())
	}
	if f, err := find.Resolve(p.Catalogue, name); err == nil {
		for i, l := range p.Lines {
			if l.Form == f {
				return i, nil
			}
		}
	}
	return 0, fmt.Errorf("%q is not in the mix; its lines are %s", name, strings.Join(refs, ", "))
}

// instead is how much of the replacement a mix holds, g.
func instead(w report.Swap) float64 {
	for _, a := range w.Amounts {
		if a.Ingredient+"/"+a.Form == w.Use {
			return float64(a.After)
		}
	}
	return 0
}

func printSwaps(s streams, p *mix.Plan, gone string, swaps []report.Swap, all int) error {
	pr := &printer{s: s}
	if len(swaps) == 0 {
		pr.say("%s\n", s.bold("Nothing that is dry and safe can stand in for "+gone+" in this mix and stay inside its windows."))
		return pr.err
	}
	pr.say("%s\n", s.bold(fmt.Sprintf("Without %s: %s.", gone, plural(all, "way to go on", "ways to go on"))))
	rows := [][]string{{"instead", ">grams", ">others move", ">shift", ">sets inside", ""}}
	for _, w := range swaps {
		name, g := "the rest makes it up", ""
		if w.Use != "" {
			name, g = w.Use, grams(instead(w))+" g"
		}
		rows = append(rows, []string{name, ">" + g, ">" + grams(float64(w.OthersMove)) + " g", ">" + fixed(100*float64(w.Shift), 0) + " %",
			">" + ofHundred(float64(w.Sureness)), w.Likeness})
	}
	pr.table(rows)
	pr.para("  ", "Shift: how far the figures with windows move, each as a share of its window, in all. Sets inside: how many sets of ordinary bags lie inside all windows.")
	pr.say("\nThe first of them, before and after:\n")
	rows = nil
	for _, a := range swaps[0].Amounts {
		if a.Before == 0 && a.After == 0 {
			continue
		}
		rows = append(rows, []string{a.Name, ">" + grams(float64(a.Before)) + " g", "→", ">" + grams(float64(a.After)) + " g"})
	}
	pr.table(rows)
	return pr.err
}
