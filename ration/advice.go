package ration

import (
	"fmt"
	"slices"
	"sort"
	"strings"

	"firlot/catalog"
)

// Advice is what the records say to do, with the numbers that say it.
type Advice struct {
	ID   string
	Text string
	Why  string
	Vet  bool
}

// The rules' numbers, all assumed.
const (
	signDays     = 14   // how long a sign counts
	bowlDays     = 28   // how far back bowls are looked at
	leftMuch     = 0.25 // of the offered, left in the median
	leftNothing  = 0.02
	hardlyEaten  = 0.75 // left: no longer a question of the portion
	leastCut     = 0.5  // of a portion, at a time
	enoughBowls  = 2
	weighEvery   = 14 // days
	avoidedTwice = 2
)

// Advice follows from the records up to the plan's day: first what calls for a
// veterinarian, then the bowl.
func (p *Plan) Advice() []Advice {
	list := p.vetAdvice()
	vet := len(list) > 0
	list = append(list, p.bowlAdvice(vet)...)
	return append(list, p.weighAdvice()...)
}

func (p *Plan) vetAdvice() []Advice {
	var list []Advice
	for _, t := range p.Trends() {
		if !t.Fast {
			continue
		}
		f := p.Animals[t.Animal]
		text := f.Animal.Name + " loses weight fast: see a veterinarian."
		if f.Animal.Breeding != NotBreeding {
			text = f.Animal.Name + " is much lighter than before. After giving birth that is so; otherwise, or when it goes on, see a veterinarian."
		}
		list = append(list, Advice{"fast-loss", text,
			fmt.Sprintf("%.1f %% below the heaviest weight of the month, %.1f %% below that of the week; from 10 and 5 %% on it counts as fast (recalled, a clinical habit).", 100*t.Lost, 100*t.Week), true})
	}
	for _, s := range p.Document.Sightings {
		info, _ := s.What.Info()
		if !info.Vet || s.Day > p.Day || p.Day-s.Day > signDays || !p.here(s.Animal) {
			continue
		}
		who := "In the group"
		if s.Animal != "" {
			who = s.Animal
		}
		list = append(list, Advice{"sign", who + ": " + info.Name + ". See a veterinarian.", "Seen on " + s.Day.String() + "; it is on the caution list.", true})
	}
	return list
}

// here reports whether an animal is in the group on the plan's day; one without
// a name is.
func (p *Plan) here(name string) bool {
	return name == "" || slices.ContainsFunc(p.Animals, func(f Fed) bool { return f.Animal.Name == name })
}

func (p *Plan) bowlAdvice(vet bool) []Advice {
	var left []float64
	avoided := map[*catalog.Form]int{}
	var forms []*catalog.Form
	sorted := 0
	for _, f := range p.Feedings() {
		if f.Bowl.Food != MixName || !f.Known || p.Day-f.Bowl.Day > bowlDays {
			continue
		}
		left = append(left, f.Part)
		if len(f.Kinds) > 0 {
			sorted++
		}
		for _, k := range f.Kinds {
			if k.Avoided {
				if avoided[k.Form] == 0 {
					forms = append(forms, k.Form)
				}
				avoided[k.Form]++
			}
		}
	}
	var list []Advice
	if a, ok := p.leftAdvice(left, vet); ok {
		list = append(list, a)
	}
	forms = slices.DeleteFunc(forms, func(f *catalog.Form) bool { return avoided[f] < avoidedTwice && sorted >= avoidedTwice })
	if len(forms) > 0 {
		list = append(list, p.pickyAdvice(forms, sorted, vet)...)
	}
	return list
}

func (p *Plan) leftAdvice(left []float64, vet bool) (Advice, bool) {
	if len(left) < enoughBowls {
		return Advice{}, false
	}
	sort.Float64s(left)
	m := median(left)
	why := fmt.Sprintf("In %d bowls of the last four weeks the middle one had %.0f %% left.", len(left), 100*m)
	switch {
	case m >= hardlyEaten:
		return Advice{"not-eaten", "Hardly any of the mix is eaten. Look whether it is sound and whether there is water, and whether other food is eaten: a small animal that does not eat needs a veterinarian on the same day. Do not cut the portion.", why, true}, true
	case m > leftMuch && vet:
		return Advice{"left-ill", "Much of the mix is left, and something is wrong: do not cut the portion before a veterinarian has looked.", why, true}, true
	case m > leftMuch && p.any(Falling):
		return Advice{"left-falling", "Much of the mix is left while a weight falls: look at teeth and health before cutting the portion.", why, true}, true
	case m > leftMuch:
		return Advice{"smaller", fmt.Sprintf("Give less mix: about %.0f %% of the portion, and look again after a week.", 100*max(1-m+leftNothing, leastCut)), why, false}, true
	case m < leftNothing && p.any(Falling):
		return Advice{"larger", "Nothing is left and a weight falls: give more mix.", why, false}, true
	}
	return Advice{}, false
}

func (p *Plan) any(run Run) bool {
	return slices.ContainsFunc(p.Trends(), func(t Trend) bool { return t.Runs == run })
}

func (p *Plan) pickyAdvice(forms []*catalog.Form, sorted int, vet bool) []Advice {
	var names []string
	for _, f := range forms {
		names = append(names, f.Name("en"))
	}
	why := fmt.Sprintf("Left beyond their share in %d sorted bowls (electivity below −1/3): %s.", sorted, strings.Join(names, ", "))
	var list []Advice
	free, scatter, mix := false, false, false
	for _, d := range p.Week(p.Day.Monday(), 7) {
		free = free || d.MixFree
	}
	for _, s := range p.Foods {
		if s.Form == nil {
			mix = true
			scatter = scatter || s.Food.Way == Scatter
		}
	}
	switch {
	case !mix:
	case vet:
		list = append(list, Advice{"picky-ill", "The mix is picked over. Have teeth and health looked at before leaving any day without mix.", why, true})
	case !free && p.tender():
		list = append(list, Advice{"picky-tender", "The mix is picked over. Young, carrying or nursing animals get no day without mix: give it in smaller amounts and more often, or other pieces: flaked or hulled forms are sorted out less.", why, false})
	case !free:
		list = append(list, Advice{"skip", "The mix is picked over. Leave one day a week without mix, with hay and greens as ever, so that the rest gets eaten (common practice, no source); never for young, carrying or nursing animals.", why, false})
	default:
		list = append(list, Advice{"picky", "The mix is picked over in spite of a day without it. Give a little less at a time, or other pieces: flaked or hulled forms are sorted out less.", why, false})
	}
	if mix && !scatter {
		list = append(list, Advice{"scatter", "Scatter the mix in the bedding instead of a dish: what must be found is picked over less (common practice, no source).", why, false})
	}
	return list
}

// tender reports whether some of the animals grow, carry or nurse.
func (p *Plan) tender() bool {
	return slices.ContainsFunc(p.Animals, func(f Fed) bool {
		return f.Stage.ID == growingStage || f.Stage.ID == breedingStage || f.Animal.Breeding != NotBreeding
	})
}

func (p *Plan) weighAdvice() []Advice {
	var late []string
	for _, t := range p.Trends() {
		if t.Since < 0 || t.Since > weighEvery {
			late = append(late, p.Animals[t.Animal].Animal.Name)
		}
	}
	if len(late) == 0 {
		return nil
	}
	return []Advice{{"weigh", "Weigh " + strings.Join(late, ", ") + ".", fmt.Sprintf("The last weighing is more than %d days ago, or there was none.", weighEvery), false}}
}
