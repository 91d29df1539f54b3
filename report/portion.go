package report

import (
	"fmt"
	"math"
	"strconv"
	"strings"

	"firlot/analysis"
	"firlot/catalog"
	"firlot/mix"
	"firlot/needs"
	"firlot/serving"
)

// The places that a mix's amounts come from.
const (
	FromDocument = "document"
	FromSolving  = "solving"
)

// Range is a quantity with its ends; null where it is not known, or not bounded.
type Range struct {
	Mean *Number `json:"mean"`
	Low  Number  `json:"low"`
	High *Number `json:"high"`
}

func rangeOf(r serving.Range) Range {
	out := Range{Low: Number(r.Low)}
	if r.HasMean {
		out.Mean = num(r.Mean)
	}
	if !math.IsInf(r.High, 1) {
		out.High = num(r.High)
	}
	return out
}

// Portion is `portion --json`.
type Portion struct {
	Species  string           `json:"species"`
	Stage    string           `json:"stage"`
	Amounts  string           `json:"amounts_from"`
	WeightG  Number           `json:"weight_g"`
	Animals  int              `json:"animals"`
	Feedings int              `json:"feedings_a_day"`
	Need     PortionNeed      `json:"need"`
	Energy   PortionEnergy    `json:"energy"`
	Density  PortionDensity   `json:"bulk_density"`
	Spoon    PortionSpoon     `json:"spoon"`
	Animal   Serving          `json:"animal_a_day"`
	Day      Serving          `json:"all_a_day"`
	Feeding  Serving          `json:"all_a_feeding"`
	Practice *PortionPractice `json:"common_practice,omitempty"`
	Notes    []string         `json:"notes"`
}

// PortionNeed is the energy that one animal needs.
type PortionNeed struct {
	KcalADay Range  `json:"kcal_a_day"`
	Factor   Range  `json:"kcal_per_kg_to_the_0_75"`
	Source   string `json:"source"`
	Evidence string `json:"evidence"`
	Note     string `json:"note,omitempty"`
	// State is what an animal that grows, carries or nurses needs more.
	State *PortionState `json:"state,omitempty"`
}

// PortionState is by how much an animal in a state needs more than a grown
// one's upkeep.
type PortionState struct {
	State    string `json:"state"`
	Times    Range  `json:"times_upkeep"`
	Source   string `json:"source"`
	Evidence string `json:"evidence"`
	Note     string `json:"note"`
}

// PortionEnergy is what the mix holds.
type PortionEnergy struct {
	Offered    *Number `json:"kcal_per_kg_offered"`
	Eaten      *Number `json:"kcal_per_kg_eaten"`
	EatenShare Number  `json:"eaten_share"`
	PerGram    Range   `json:"kcal_got_from_a_gram_offered"`
	Known      Number  `json:"known_share"`
	Evidence   string  `json:"evidence"`
	Method     string  `json:"method"`
}

// PortionDensity is the mix's bulk density, loosely poured.
type PortionDensity struct {
	GramsPerML Range    `json:"g_per_ml"`
	Known      Number   `json:"known_share"`
	Unknown    []string `json:"unknown"`
	Packing    Number   `json:"packing_at_most"`
	Evidence   string   `json:"evidence"`
}

// PortionSpoon is the spoon that is measured with.
type PortionSpoon struct {
	Kind       string  `json:"kind"`
	Tablespoon *Number `json:"tablespoon_ml"`
	Teaspoon   *Number `json:"teaspoon_ml"`
	Grams      Range   `json:"holds_g"`
}

// Serving is an amount of the mix, in grams and level spoons.
type Serving struct {
	Grams  Range  `json:"grams"`
	Spoons Range  `json:"spoons"`
	Tea    *Range `json:"teaspoons,omitempty"`
}

// PortionPractice is what keepers commonly give.
type PortionPractice struct {
	SecondDay Number `json:"us_tablespoons_every_second_day"`
	Feedings  int    `json:"feedings_at_most"`
	Grams     Range  `json:"g_an_animal_and_day"`
	OfNeed    Range  `json:"share_of_need"`
	Evidence  string `json:"evidence"`
	Source    string `json:"source"`
}

// practiceSource is what stands in for a source of common practice.
const practiceSource = "common practice, no source"

// PortionOf reports a portion of a plan's mix. Amounts says where the amounts
// come from: [FromDocument] or [FromSolving].
func PortionOf(plan *mix.Plan, amounts string, a serving.Ask, p *serving.Portion) Portion {
	e := a.Species.Energy
	factor := serving.Range{Mean: e.Factor, HasMean: true, Low: e.Low, High: e.High}
	out := Portion{Species: a.Species.ID, Amounts: amounts, WeightG: Number(a.Weight), Animals: a.Animals, Feedings: a.Feedings,
		Need:   PortionNeed{rangeOf(p.Need), rangeOf(factor), e.Source, string(e.How), e.Note, nil},
		Energy: portionEnergy(p.Energy), Density: portionDensity(p.Bulk), Spoon: PortionSpoon{Kind: string(a.Spoon.Kind), Grams: rangeOf(p.Spoon)},
		Animal: servingOf(a, p.Animal), Day: servingOf(a, p.Day), Feeding: servingOf(a, p.Feeding), Notes: portionNotes(plan, a, p)}
	if plan.Stage != nil {
		out.Stage = plan.Stage.ID
	}
	if a.Spoon.Kind != serving.Own {
		out.Spoon.Tablespoon, out.Spoon.Teaspoon = num(a.Spoon.Tablespoon), num(a.Spoon.Teaspoon)
	}
	if c := p.Practice; c != nil {
		out.Practice = &PortionPractice{Number(c.SecondDay), serving.PracticeFeedings, rangeOf(c.Grams), rangeOf(c.OfNeed), string(c.How), practiceSource}
	}
	return out
}

// InState says in a portion that its need is that of a state.
func (o *Portion) InState(x *needs.EnergyState) {
	o.Need.State = &PortionState{x.State, rangeOf(serving.Range{Mean: x.Times, HasMean: true, Low: x.Low, High: x.High}), x.Source, string(x.How), x.Note}
	o.Practice = nil // it is known of grown animals that do not breed
	o.Need.Evidence = string(catalog.Evidence(o.Need.Evidence).Worse(x.How))
}

func portionEnergy(e serving.Energy) PortionEnergy {
	method := analysis.EnergyMethods()[0]
	out := PortionEnergy{EatenShare: Number(e.EatenShare), PerGram: rangeOf(e.PerGram()), Known: Number(e.Eaten.KnownShare),
		Evidence: string(e.Eaten.How), Method: method.Name + " (" + method.Source + ")"}
	if e.Offered.HasMean {
		out.Offered = num(e.Offered.Mean)
	}
	if e.Eaten.HasMean {
		out.Eaten = num(e.Eaten.Mean)
	}
	return out
}

func portionDensity(d serving.Density) PortionDensity {
	return PortionDensity{rangeOf(d.Range), Number(d.Known), refs(d.Unknown), Number(d.Packing), string(d.How)}
}

func refs(forms []*catalog.Form) []string {
	list := []string{}
	for _, f := range forms {
		list = append(list, f.Ref())
	}
	return list
}

func servingOf(a serving.Ask, x serving.Amount) Serving {
	out := Serving{Grams: rangeOf(x.Grams), Spoons: rangeOf(x.Tablespoons)}
	if a.Spoon.Teaspoon > 0 {
		tea := rangeOf(x.Teaspoons)
		out.Tea = &tea
	}
	return out
}

// UpkeepOnly reports that animals of a stage need more than the upkeep of a
// grown animal, which is all that the tables know.
func UpkeepOnly(stage string) bool { return stage == "growing" || stage == "breeding" }

// portionNotes are what the figures do not say.
func portionNotes(plan *mix.Plan, a serving.Ask, p *serving.Portion) []string {
	notes := append([]string{}, plan.Notes...)
	if st := plan.Stage; st != nil && UpkeepOnly(st.ID) && !a.Need.HasMean {
		notes = append(notes, "The need is that of a grown animal's upkeep; the mix is for the stage "+st.ID+", and growing, carrying and nursing animals need more.")
	}
	if w := a.Species.AdultWeight; p.LightOrHeavy {
		notes = append(notes, fmt.Sprintf("%s g lies outside what grown animals of the species weigh (%s to %s g). For one that is thin, fat or young, ask an exotics veterinarian.",
			plainNumber(a.Weight), plainNumber(w.Low), plainNumber(w.High)))
	}
	if p.Energy.Eaten.KnownShare < 1 {
		notes = append(notes, fmt.Sprintf("The energy is known for %s of what is eaten; the grams' range allows for anything that the rest could hold.", shareWords(p.Energy.Eaten.KnownShare)))
	}
	if list := refs(p.Bulk.Unknown); len(list) > 0 && a.Spoon.Kind != serving.Own {
		notes = append(notes, "The bulk density is not known for "+andWords(list)+"; the range of what a spoon holds allows for the lightest and the heaviest of such foods.")
	}
	return notes
}

// shareWords says a share, from 0 to 1, in per cent.
func shareWords(v float64) string {
	if v == 0 {
		return "none"
	}
	return strconv.FormatFloat(100*v, 'f', 1, 64) + " %"
}

func plainNumber(v float64) string { return strconv.FormatFloat(v, 'f', -1, 64) }

// andWords lists names: "a, b and c".
func andWords(names []string) string {
	if len(names) < 2 {
		return strings.Join(names, "")
	}
	last := len(names) - 1
	return strings.Join(names[:last], ", ") + " and " + names[last]
}
