package main

import (
	"context"
	"fmt"
	"math"
	"strconv"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"firlot/analysis"
	"firlot/catalog"
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
	return c
}

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
	p, err := serving.Of(m.portions, ask)
	if err != nil {
		return err
	}
	out := showPortion(m, ask, p)
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

// The places that amounts come from.
const (
	fromDocument = "document"
	fromSolving  = "solving"
)

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
		return &mixture{plan, portions, fromDocument}, nil
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
	return &mixture{plan, a.Portions(), fromSolving}, nil
}

// shownRange is a quantity with its ends; null where it is not known.
type shownRange struct {
	Mean *report.Number `json:"mean"`
	Low  report.Number  `json:"low"`
	High *report.Number `json:"high"`
}

func showRange(r serving.Range) shownRange {
	out := shownRange{Low: report.Number(r.Low)}
	if r.HasMean {
		out.Mean = numberOf(r.Mean)
	}
	if !math.IsInf(r.High, 1) {
		out.High = numberOf(r.High)
	}
	return out
}

func numberOf(v float64) *report.Number {
	n := report.Number(v)
	return &n
}

// shownPortion is `portion --json`.
type shownPortion struct {
	Species  string         `json:"species"`
	Stage    string         `json:"stage"`
	Amounts  string         `json:"amounts_from"`
	WeightG  report.Number  `json:"weight_g"`
	Animals  int            `json:"animals"`
	Feedings int            `json:"feedings_a_day"`
	Need     shownNeed      `json:"need"`
	Energy   shownEnergy    `json:"energy"`
	Density  shownDensity   `json:"bulk_density"`
	Spoon    shownSpoon     `json:"spoon"`
	Animal   shownServing   `json:"animal_a_day"`
	Day      shownServing   `json:"all_a_day"`
	Feeding  shownServing   `json:"all_a_feeding"`
	Practice *shownPractice `json:"common_practice,omitempty"`
	Notes    []string       `json:"notes"`
}

type shownNeed struct {
	KcalADay shownRange `json:"kcal_a_day"`
	Factor   shownRange `json:"kcal_per_kg_to_the_0_75"`
	Source   string     `json:"source"`
	Evidence string     `json:"evidence"`
	Note     string     `json:"note,omitempty"`
}

type shownEnergy struct {
	Offered    *report.Number `json:"kcal_per_kg_offered"`
	Eaten      *report.Number `json:"kcal_per_kg_eaten"`
	EatenShare report.Number  `json:"eaten_share"`
	PerGram    shownRange     `json:"kcal_got_from_a_gram_offered"`
	Known      report.Number  `json:"known_share"`
	Evidence   string         `json:"evidence"`
	Method     string         `json:"method"`
}

type shownDensity struct {
	GramsPerML shownRange    `json:"g_per_ml"`
	Known      report.Number `json:"known_share"`
	Unknown    []string      `json:"unknown"`
	Packing    report.Number `json:"packing_at_most"`
	Evidence   string        `json:"evidence"`
}

type shownSpoon struct {
	Kind       string         `json:"kind"`
	Tablespoon *report.Number `json:"tablespoon_ml"`
	Teaspoon   *report.Number `json:"teaspoon_ml"`
	Grams      shownRange     `json:"holds_g"`
}

type shownServing struct {
	Grams  shownRange  `json:"grams"`
	Spoons shownRange  `json:"spoons"`
	Tea    *shownRange `json:"teaspoons,omitempty"`
}

type shownPractice struct {
	SecondDay report.Number `json:"us_tablespoons_every_second_day"`
	Feedings  int           `json:"feedings_at_most"`
	Grams     shownRange    `json:"g_an_animal_and_day"`
	OfNeed    shownRange    `json:"share_of_need"`
	Evidence  string        `json:"evidence"`
	Source    string        `json:"source"`
}

// practiceSource is what stands in for a source of common practice.
const practiceSource = "common practice, no source"

func showPortion(m *mixture, a serving.Ask, p *serving.Portion) shownPortion {
	e := a.Species.Energy
	factor := serving.Range{Mean: e.Factor, HasMean: true, Low: e.Low, High: e.High}
	out := shownPortion{Species: a.Species.ID, Amounts: m.amounts, WeightG: report.Number(a.Weight), Animals: a.Animals, Feedings: a.Feedings,
		Need:   shownNeed{showRange(p.Need), showRange(factor), e.Source, string(e.How), e.Note},
		Energy: showEnergy(p.Energy), Density: showDensity(p.Bulk), Spoon: shownSpoon{Kind: string(a.Spoon.Kind), Grams: showRange(p.Spoon)},
		Animal: showServing(a, p.Animal), Day: showServing(a, p.Day), Feeding: showServing(a, p.Feeding), Notes: portionNotes(m, a, p)}
	if m.plan.Stage != nil {
		out.Stage = m.plan.Stage.ID
	}
	if a.Spoon.Kind != serving.Own {
		out.Spoon.Tablespoon, out.Spoon.Teaspoon = numberOf(a.Spoon.Tablespoon), numberOf(a.Spoon.Teaspoon)
	}
	if c := p.Practice; c != nil {
		out.Practice = &shownPractice{report.Number(c.SecondDay), serving.PracticeFeedings, showRange(c.Grams), showRange(c.OfNeed), string(c.How), practiceSource}
	}
	return out
}

func showEnergy(e serving.Energy) shownEnergy {
	method := analysis.EnergyMethods()[0]
	out := shownEnergy{EatenShare: report.Number(e.EatenShare), PerGram: showRange(e.PerGram()), Known: report.Number(e.Eaten.KnownShare),
		Evidence: string(e.Eaten.How), Method: method.Name + " (" + method.Source + ")"}
	if e.Offered.HasMean {
		out.Offered = numberOf(e.Offered.Mean)
	}
	if e.Eaten.HasMean {
		out.Eaten = numberOf(e.Eaten.Mean)
	}
	return out
}

func showDensity(d serving.Density) shownDensity {
	return shownDensity{showRange(d.Range), report.Number(d.Known), refs(d.Unknown), report.Number(d.Packing), string(d.How)}
}

func refs(forms []*catalog.Form) []string {
	list := []string{}
	for _, f := range forms {
		list = append(list, f.Ref())
	}
	return list
}

func showServing(a serving.Ask, x serving.Amount) shownServing {
	out := shownServing{Grams: showRange(x.Grams), Spoons: showRange(x.Tablespoons)}
	if a.Spoon.Teaspoon > 0 {
		tea := showRange(x.Teaspoons)
		out.Tea = &tea
	}
	return out
}

// upkeepOnly reports that animals of a stage need more than the upkeep of a
// grown animal, which is all that the tables know.
func upkeepOnly(stage string) bool { return stage == "growing" || stage == "breeding" }

// portionNotes are what the figures do not say.
func portionNotes(m *mixture, a serving.Ask, p *serving.Portion) []string {
	notes := append([]string{}, m.plan.Notes...)
	if st := m.plan.Stage; st != nil && upkeepOnly(st.ID) {
		notes = append(notes, "The need is that of a grown animal's upkeep; the mix is for the stage "+st.ID+", and growing, carrying and nursing animals need more.")
	}
	if w := a.Species.AdultWeight; p.LightOrHeavy {
		notes = append(notes, fmt.Sprintf("%s g lies outside what grown animals of the species weigh (%s to %s g). For one that is thin, fat or young, ask an exotics veterinarian.",
			grams(a.Weight), grams(w.Low), grams(w.High)))
	}
	if p.Energy.Eaten.KnownShare < 1 {
		notes = append(notes, fmt.Sprintf("The energy is known for %s of what is eaten; the grams' range allows for anything that the rest could hold.", percent(report.Number(p.Energy.Eaten.KnownShare))))
	}
	if list := refs(p.Bulk.Unknown); len(list) > 0 && a.Spoon.Kind != serving.Own {
		notes = append(notes, "The bulk density is not known for "+join(list)+"; the range of what a spoon holds allows for the lightest and the heaviest of such foods.")
	}
	return notes
}
