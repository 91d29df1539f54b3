package main

import (
	"context"
	"fmt"
	"strconv"
	"strings"

	"github.com/spf13/cobra"

	"firlot/catalog"
	"firlot/report"
	"firlot/serving"
)

// scooping are the flags of scoops.
type scooping struct {
	json                       bool
	marker, scoop, batch, step string
	counts, weights            string
	largeScoop, large          string
	allowed                    float64 // %
	as                         int
}

func scoopsCommand(s streams) *cobra.Command {
	var f scooping
	c := &cobra.Command{
		Use:   "scoops FILE",
		Short: "Whether a batch is mixed through, from a marker in a few scoops",
		Long: `Takes one ingredient of a mix as a marker. Count its seeds, or weigh them, in
several scoops from all over the batch; Firlot holds how much the scoops differ
against what chance alone would do (Gy's fundamental sampling error, and
Fisher's index of dispersion), and says well mixed, not well mixed, or that the
scoops cannot tell, with its confidence. Without counts or weights it says how
many scoops, or how large ones, would tell.

A feed mill's rule of 10 % is for samples of many thousand particles. A spoon of
coarse seed differs more than that however well it is mixed, so the rule is put
to what is left once chance is taken off.`,
		Example: `  firlot scoops my-mix.toml --marker linseed/whole
  firlot scoops my-mix.toml --marker linseed/whole --scoop 20g --counts 51,64,48,70,55,60
  firlot scoops my-mix.toml --marker linseed/whole --weights 0.41,0.38,0.46 --step 0.01g`,
		Args: takes(1, 1), ValidArgsFunction: documents,
		RunE: func(cmd *cobra.Command, args []string) error { return f.run(cmd.Context(), s, args[0]) },
	}
	c.Flags().BoolVar(&f.json, "json", false, "print JSON for programs (docs/schema/mixing.json)")
	c.Flags().StringVar(&f.marker, "marker", "", "the ingredient that is counted or weighed, such as linseed/whole")
	c.Flags().StringVar(&f.scoop, "scoop", "10g", "mass of a scoop")
	c.Flags().StringVar(&f.counts, "counts", "", "seeds of the marker in each scoop, with commas")
	c.Flags().StringVar(&f.weights, "weights", "", "grams of the marker in each scoop, with commas")
	c.Flags().StringVar(&f.step, "step", "0.1g", "step of the scale that the marker was weighed on")
	c.Flags().StringVar(&f.largeScoop, "large-scoop", "", "mass of a larger scoop, to tell sorting from chance (Visman)")
	c.Flags().StringVar(&f.large, "large", "", "counts or weights of the marker in larger scoops")
	c.Flags().StringVar(&f.batch, "batch", "", "mass of the batch (default: the mix's own)")
	c.Flags().Float64Var(&f.allowed, "allowed", 100*serving.UsualAllowed, "the mixing's own spread that still counts as well mixed: relative standard deviation, in %")
	c.Flags().IntVar(&f.as, "scoops", 10, "how many scoops to plan for")
	return c
}

func (f *scooping) run(ctx context.Context, s streams, path string) error {
	if f.marker == "" {
		return fmt.Errorf("there is no marker; name an ingredient of the mix that is easy to tell, such as --marker linseed/whole")
	}
	if f.counts != "" && f.weights != "" {
		return fmt.Errorf("the marker was either counted or weighed: give --counts or --weights, not both")
	}
	if (f.large == "") != (f.largeScoop == "") {
		return fmt.Errorf("larger scoops need both --large and --large-scoop")
	}
	if f.as < serving.LeastScoops || f.as > serving.MostScoops {
		return fmt.Errorf("--scoops %d is out of range; it is %d to %d", f.as, serving.LeastScoops, serving.MostScoops)
	}
	m, err := mixed(ctx, path)
	if err != nil {
		return err
	}
	sampling, grams, err := f.sampling(m)
	if err != nil {
		return err
	}
	out, err := f.check(m, sampling, grams)
	if err != nil {
		return err
	}
	if f.json {
		return s.json(out)
	}
	return printScoops(s, out)
}

// sampling is what the flags ask, but for the scoops themselves.
func (f *scooping) sampling(m *mixture) (serving.Sampling, float64, error) {
	none := serving.Sampling{}
	grams, err := gramsOf("--scoop", f.scoop)
	if err != nil {
		return none, 0, err
	}
	batch := serving.MassOf(m.portions).Grams()
	if f.batch != "" {
		if batch, err = gramsOf("--batch", f.batch); err != nil {
			return none, 0, err
		}
	}
	step, err := gramsOf("--step", f.step)
	if err != nil {
		return none, 0, err
	}
	s := serving.Sampling{Lot: serving.LotOf(m.portions, batch), Marker: -1, Weighed: f.weights != "", Step: step, Allowed: f.allowed / 100}
	var names []string
	for i, p := range s.Lot.Pieces {
		if is(p.Form, f.marker) {
			s.Marker = i
		}
		names = append(names, p.Form.Ref())
	}
	if s.Marker < 0 {
		return none, 0, fmt.Errorf("--marker %q is not in the mix; it has %s", f.marker, join(names))
	}
	if !s.Lot.Pieces[s.Marker].Known {
		return none, 0, fmt.Errorf("what a piece of %s weighs is not known, so neither is what chance alone would do; take a seed as the marker", f.marker)
	}
	if !(s.Allowed > 0) || s.Allowed > 1 {
		return none, 0, fmt.Errorf("--allowed %v is out of range; it is a relative standard deviation in %%, above 0 and at most 100", f.allowed)
	}
	if len(s.Lot.Pieces) < 2 {
		return none, 0, fmt.Errorf("the mix has one ingredient, and nothing to be mixed with")
	}
	return s, grams, nil
}

func is(f *catalog.Form, text string) bool { return f.Ref() == text || f.Ingredient.ID == text }

func (f *scooping) check(m *mixture, s serving.Sampling, grams float64) (report.Mixing, error) {
	flag, list := "--counts", f.counts
	if s.Weighed {
		flag, list = "--weights", f.weights
	}
	if list == "" {
		return report.MixingOf(m.amounts, s, grams, f.as, nil), nil
	}
	var err error
	if s.Scoops, err = scoopsOf(flag, list, grams, s.Weighed); err != nil {
		return report.Mixing{}, err
	}
	found, err := s.Check()
	if err != nil {
		return report.Mixing{}, err
	}
	out := report.MixingOf(m.amounts, s, grams, len(s.Scoops), found)
	if f.large == "" {
		return out, nil
	}
	larger, err := gramsOf("--large-scoop", f.largeScoop)
	if err != nil {
		return report.Mixing{}, err
	}
	if larger <= grams {
		return report.Mixing{}, fmt.Errorf("--large-scoop %s is not larger than the scoop of %s g", f.largeScoop, short(grams))
	}
	big := s
	if big.Scoops, err = scoopsOf("--large", f.large, larger, s.Weighed); err != nil {
		return report.Mixing{}, err
	}
	second, err := big.Check()
	if err != nil {
		return report.Mixing{}, fmt.Errorf("--large: %w", err)
	}
	out.Visman = report.VismanOf(s, found, second)
	return out, nil
}

// scoopsOf reads counts or weights.
func scoopsOf(flag, list string, grams float64, weighed bool) ([]serving.Scoop, error) {
	var out []serving.Scoop
	for _, t := range strings.Split(list, ",") {
		t = strings.TrimSpace(t)
		v, err := strconv.ParseFloat(t, 64)
		if err != nil || v < 0 || !weighed && v != float64(int64(v)) {
			what := "a count of seeds, such as 17"
			if weighed {
				what = "a mass in grams, such as 0.41"
			}
			return nil, fmt.Errorf("%s: %q is not %s", flag, t, what)
		}
		out = append(out, serving.Scoop{Grams: grams, Marker: v})
	}
	return out, nil
}
