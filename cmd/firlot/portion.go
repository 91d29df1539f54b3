package main

import (
	"context"
	"fmt"
	"strconv"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"firlot/analysis"
	"firlot/formulate"
	"firlot/mix"
	"firlot/nutrient"
	"firlot/report"
	"firlot/serving"
)

// portioning are the flags of portion.
type portioning struct {
	json              bool
	weight, spoon     string
	state             string
	animals, feedings int
}

func portionCommand(s streams) *cobra.Command {
	var f portioning
	c := &cobra.Command{
		Use:   "portion FILE",
		Short: "How much of a mix an animal needs, in grams and spoons",
		Long: `Works out from body weight and species how much energy an animal needs, and how
much of the mix that comes to: in grams, and in level spoons by the mix's bulk
density. The mix is the document's amounts, or the one that solving finds. What
keepers commonly give is set beside it, and where the two differ, why.

It is a place to start from. Weigh the animal; a veterinarian has the last word.`,
		Example: `  firlot portion examples/gerbil-adult.toml --weight 80 --animals 2 --feedings 2
  firlot portion my-mix.toml --weight 120 --spoon metric
  firlot portion my-mix.toml --weight 80 --spoon 7.5   (your spoon holds 7.5 g)`,
		Args: takes(1, 1), ValidArgsFunction: documents,
		RunE: func(cmd *cobra.Command, args []string) error { return f.run(cmd.Context(), s, args[0]) },
	}
	c.Flags().BoolVar(&f.json, "json", false, "print JSON for programs (docs/schema/portion.json)")
	c.Flags().StringVar(&f.weight, "weight", "", "body weight of one animal, in grams")
	c.Flags().IntVar(&f.animals, "animals", 1, "how many animals of about that weight are fed")
	c.Flags().IntVar(&f.feedings, "feedings", 1, "how many feedings a day the mix is split over")
	c.Flags().StringVar(&f.spoon, "spoon", string(serving.US), "us, metric or australian, or the grams that your own spoon holds")
	c.Flags().StringVar(&f.state, "state", "", "growing (just weaned), pregnant or nursing, which need more; nothing for a grown animal's upkeep")
	return c
}

// states are those in which animals need more energy.
var states = []string{"growing", "pregnant", "nursing"}

func (f *portioning) run(ctx context.Context, s streams, path string) error {
	if f.weight == "" {
		return fmt.Errorf("there is no body weight; weigh an animal and write for example --weight 80")
	}
	weight, err := gramsOf("--weight", f.weight)
	if err != nil {
		return err
	}
	spoon, err := spoonOf(f.spoon)
	if err != nil {
		return err
	}
	m, err := mixed(ctx, path)
	if err != nil {
		return err
	}
	if m.plan.Species == nil {
		return fmt.Errorf("the mix names no species, and the need for energy goes by species; write for example species = \"gerbil\" into it")
	}
	ask := serving.Ask{Species: m.plan.Species, Weight: weight, Animals: f.animals, Feedings: f.feedings, Spoon: spoon}
	if f.state != "" {
		if m.plan.Species.Energy == nil || m.plan.Species.Energy.State(f.state) == nil {
			return notOneOf("--state", f.state, states)
		}
		ask.Need, _ = serving.NeedIn(*m.plan.Species.Energy, weight, f.state)
	}
	p, err := serving.Of(m.portions, ask)
	if err != nil {
		return err
	}
	out := report.PortionOf(m.plan, m.amounts, ask, p)
	if f.state != "" {
		out.InState(m.plan.Species.Energy.State(f.state))
	}
	if f.json {
		return s.json(out)
	}
	return printPortion(s, m, out)
}

// gramsOf reads a mass; a bare number is in grams.
func gramsOf(flag, text string) (float64, error) {
	if v, err := strconv.ParseFloat(text, 64); err == nil && v > 0 && v <= nutrient.MaxMass.Grams() {
		return v, nil
	}
	m, err := nutrient.ParseMass(text)
	if err != nil || m <= 0 {
		return 0, fmt.Errorf("%s %q is not a mass; write grams, such as %s 80", flag, text, flag)
	}
	return m.Grams(), nil
}

// mostSpoon is more than a spoon holds, g: a ladle of salt.
const mostSpoon = 500

func spoonOf(text string) (serving.Spoon, error) {
	var kinds []string
	for _, s := range serving.Spoons() {
		if string(s.Kind) == text {
			return s, nil
		}
		kinds = append(kinds, string(s.Kind))
	}
	g, err := gramsOf("--spoon", text)
	if err != nil || g > mostSpoon {
		return serving.Spoon{}, fmt.Errorf("--spoon %q is no spoon; use %s, or the grams that your own holds, such as 7.5 (weigh ten level ones and divide)", text, strings.Join(kinds, ", "))
	}
	return serving.Spoon{Kind: serving.Own, Grams: g}, nil
}

// mixture is a mix with its amounts.
type mixture struct {
	plan     *mix.Plan
	portions []analysis.Portion
	amounts  string // where they come from
}

// mixWithin is how long solving may take when a document has no amounts.
const mixWithin = 30 * time.Second

// mixed reads a document, and solves it when it has no amounts.
func mixed(ctx context.Context, path string) (*mixture, error) {
	file, plan, err := load(path)
	if err != nil {
		return nil, err
	}
	if _, any := plan.Standing(); any {
		plan, portions, err := standing(plan)
		if err != nil {
			return nil, file.Locate(err)
		}
		return &mixture{plan, portions, report.FromDocument}, nil
	}
	limited, cancel := context.WithTimeout(ctx, mixWithin)
	defer cancel()
	a, err := formulate.Solve(limited, plan, formulate.Options{})
	if err != nil {
		return nil, ours(file, err)
	}
	if a.Steps == nil {
		return nil, file.Locate(&mix.Problem{Path: "line", Message: "the document has no amounts, and no mix was found for it", Hint: "firlot solve says why"})
	}
	return &mixture{plan, a.Portions(), report.FromSolving}, nil
}
