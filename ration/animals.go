package ration

import (
	"fmt"
	"math"
	"strings"

	"firlot/catalog"
	"firlot/internal/nearword"
	"firlot/needs"
	"firlot/nutrient"
	"firlot/serving"
)

// Fed is an animal of the group on the plan's day.
type Fed struct {
	Animal  Animal
	Index   int // in Document.Animals
	Species *needs.Species
	Stage   *needs.Stage
	StageBy string // age, breeding, document or assumed
	Age     int    // days; -1: not known
	Next    *StageChange
	Weight  float64 // g
	Weighed Day     // when; 0: the middle of grown animals is assumed
	Need    serving.Range
	Times   float64 // of the upkeep of a grown animal
	Share   float64 // of what the group is given, 0 to 1
}

// StageChange is a change of life stage.
type StageChange struct {
	Day      Day
	From, To *needs.Stage
	// Windows are those that a mix must meet and that change.
	Windows []WindowChange
}

// WindowChange is a window of a figure before and after; nil where there is
// none.
type WindowChange struct {
	Nutrient nutrient.Key
	Was, Is  *needs.Window
}

func (p *Plan) animals() error {
	d := p.Document
	names := map[string]int{}
	for i, a := range d.Animals {
		at := fmt.Sprintf("animal[%d]", i)
		if a.Name == "" {
			return &Problem{at, "the animal has no name", `write for example name = "Brae"`}
		}
		if j, ok := names[a.Name]; ok {
			return &Problem{at + ".name", fmt.Sprintf("%q is animal number %d too", a.Name, j+1), "give each its own name"}
		}
		names[a.Name] = i
		if a.Gone != 0 && a.Gone <= p.Day {
			continue
		}
		if a.Born > p.Day {
			p.Notes = append(p.Notes, fmt.Sprintf("%s is not counted: its date of birth, %s, is yet to come. See whether it is right.", a.Name, a.Born))
			continue
		}
		f, err := p.fed(at, i, a)
		if err != nil {
			return err
		}
		p.Animals = append(p.Animals, f)
	}
	if len(p.Animals) == 0 {
		return &Problem{"animal", "nobody is fed on " + p.Day.String(), "add at least one [[animal]] with a name"}
	}
	p.noteUnknown()
	p.need = serving.Range{HasMean: true}
	for _, f := range p.Animals {
		p.weight += f.Weight
		p.need.Mean, p.need.Low, p.need.High = p.need.Mean+f.Need.Mean, p.need.Low+f.Need.Low, p.need.High+f.Need.High
	}
	for i := range p.Animals {
		p.Animals[i].Share = p.Animals[i].Need.Mean / p.need.Mean
	}
	return nil
}

// Need is the energy that all animals need, kcal a day.
func (p *Plan) Need() serving.Range { return p.need }

func (p *Plan) fed(at string, i int, a Animal) (Fed, error) {
	f := Fed{Animal: a, Index: i, Age: -1}
	name, field := a.Species, at+".species"
	if name == "" {
		name, field = p.Document.Species, "species"
	}
	if f.Species = p.Table.Find(name); f.Species == nil {
		if name == "" {
			return f, &Problem{at, "the animal's species is not named", `write for example species = "gerbil" at the top`}
		}
		return f, &Problem{field, fmt.Sprintf("%q is not known", name), oneOf(name, p.species())}
	}
	if f.Species.Energy == nil {
		return f, &Problem{field, "the need for energy of the species " + f.Species.ID + " is not known", ""}
	}
	if a.Born != 0 {
		f.Age = int(p.Day - a.Born)
	}
	if err := f.stage(at, p.Day); err != nil {
		return f, err
	}
	p.weigh(&f)
	p.doubt(f)
	f.energy()
	p.noteBreeding(f)
	return f, nil
}

func (p *Plan) species() []string {
	var ids []string
	for _, s := range p.Table.Species {
		ids = append(ids, s.ID)
	}
	return ids
}

func oneOf(word string, known []string) string {
	return nearword.Hint(word, known, "use one of "+strings.Join(known, ", "))
}

// breedingStage is the stage of animals that carry or nurse; growingStage that
// of the young.
const (
	breedingStage = "breeding"
	growingStage  = "growing"
	adultStage    = "adult"
)

func (f *Fed) stage(at string, day Day) error {
	s := f.Species
	switch {
	case f.Animal.Stage != "":
		f.Stage, f.StageBy = s.Stage(f.Animal.Stage), "document"
		if f.Stage == nil {
			var ids []string
			for _, st := range s.Stages {
				ids = append(ids, st.ID)
			}
			return &Problem{at + ".stage", fmt.Sprintf("%q is not a stage of %s", f.Animal.Stage, s.ID), oneOf(f.Animal.Stage, ids)}
		}
	case f.Animal.Breeding != NotBreeding:
		f.Stage, f.StageBy = s.Stage(breedingStage), "breeding"
	case f.Age >= 0:
		f.Stage, f.Next = byAge(s, f.Age, f.Animal.Born)
		f.StageBy = "age"
	default:
		f.Stage, f.StageBy = s.Stage(adultStage), "assumed"
	}
	if f.Stage == nil {
		return &Problem{at, "no life stage of the species " + s.ID + " fits", ""}
	}
	return nil
}

// byAge is the stage at an age in days and the next change. Young below the
// first stage count to it.
func byAge(s *needs.Species, age int, born Day) (*needs.Stage, *StageChange) {
	var stages []*needs.Stage
	for i := range s.Stages {
		if s.Stages[i].ID != breedingStage {
			stages = append(stages, &s.Stages[i])
		}
	}
	for i, st := range stages {
		if st.ToDays != 0 && age >= st.ToDays {
			continue
		}
		if i+1 == len(stages) {
			return st, nil
		}
		return st, &StageChange{Day: born + Day(st.ToDays), From: st, To: stages[i+1], Windows: changes(st, stages[i+1])}
	}
	return nil, nil
}

// changes are the windows that a mix must meet and that differ between stages.
func changes(from, to *needs.Stage) []WindowChange {
	var list []WindowChange
	of := func(list []needs.Window, k nutrient.Key) *needs.Window {
		for i, w := range list {
			if w.Nutrient == k && w.Per == "" {
				return &list[i]
			}
		}
		return nil
	}
	old, now := from.Enforced(), to.Enforced()
	for _, info := range nutrient.All() {
		was, is := of(old, info.Key), of(now, info.Key)
		if was == nil && is == nil || was != nil && is != nil && same(was.Min, is.Min) && same(was.Max, is.Max) {
			continue
		}
		list = append(list, WindowChange{info.Key, was, is})
	}
	return list
}

func same(a, b *float64) bool { return a == nil && b == nil || a != nil && b != nil && *a == *b }

// weigh takes the last weighing up to the day, or else the middle of grown
// animals.
func (p *Plan) weigh(f *Fed) {
	for _, w := range p.Document.Weights {
		if w.Animal == f.Animal.Name && w.Day <= p.Day && w.Day >= f.Weighed {
			f.Weight, f.Weighed = w.Mass.Grams(), w.Day
		}
	}
	if f.Weighed == 0 {
		if w := f.Species.AdultWeight; w != nil {
			f.Weight = w.Mean
			if w.Ranged {
				f.Weight = (w.Low + w.High) / 2
			}
		}
		if f.young() {
			f.Weight *= min(max(math.Sqrt(float64(f.Age)/float64(f.Stage.ToDays)), lightest), 1)
		}
	}
}

// lightest is the least share of a grown animal's weight that is assumed of a
// young one that was never weighed.
const lightest = 0.1

// young reports whether an animal grows and its age is known. Never weighed, it
// is taken to weigh the square root of what its age is of the time in which it
// grows, as a share of a grown one. Assumed, and rather too much than too little:
// mice of eight weeks weigh about 20 g (recalled) and come to 17, gerbils of five
// weeks 30 to 40 (recalled) and come to 45, rats of eight weeks about 220
// (recalled) and come to 222.
func (f *Fed) young() bool { return f.Stage.ID == growingStage && f.Age >= 0 && f.Stage.ToDays > 0 }

// From these shares of what grown animals weigh on, a weight is doubted.
// Assumed: lean and fat animals lie within, a slipped decimal point does not.
const (
	doubtLight = 0.6
	doubtHeavy = 1.7
)

// doubt says so when a weight is hardly one of an animal of the kind.
func (p *Plan) doubt(f Fed) {
	if f.Weighed == 0 || !f.Unlikely(f.Weight, f.Weighed) {
		return
	}
	w := f.Species.AdultWeight
	p.Notes = append(p.Notes, fmt.Sprintf("%s weighs %s g, and grown animals of its kind weigh %s to %s g. See whether the weight is written down right: all amounts hang on it. If it is right, see a veterinarian.",
		f.Animal.Name, short(f.Weight), short(w.Low), short(w.High)))
}

// Unlikely reports whether a weight in grams, on a day, is hardly one of an
// animal of the kind. Young ones, and those whose age is not known, may be as
// light as they like.
func (f Fed) Unlikely(grams float64, day Day) bool {
	w := f.Species.AdultWeight
	if w == nil || !w.Ranged {
		return false
	}
	young := f.Stage.ID == growingStage || f.StageBy == "assumed"
	if s := f.Species.Stage(growingStage); s != nil && f.Animal.Born != 0 && day < f.Animal.Born+Day(s.ToDays) {
		young = true
	}
	return grams < float64(doubtLight*w.Low) && !young || grams > float64(doubtHeavy*w.High)
}

// energy works out the need from weight, species and state.
func (f *Fed) energy() {
	e := f.Species.Energy
	f.Need, f.Times = serving.Need(*e, f.Weight), 1
	state, part := "", 1.0
	switch {
	case f.Animal.Breeding == Pregnant, f.Animal.Breeding == Nursing:
		state = string(f.Animal.Breeding)
	case f.Stage.ID == growingStage && f.Age >= 0 && f.Stage.ToDays > f.Stage.FromDays:
		// From the full factor after weaning to 1 in a straight line: assumed.
		state = growingStage
		part = 1 - float64(f.Age-f.Stage.FromDays)/float64(f.Stage.ToDays-f.Stage.FromDays)
		part = math.Min(math.Max(part, 0), 1)
	case f.Stage.ID == growingStage && f.Age < 0:
		// Somewhere between just weaned and grown: assumed.
		if x := e.State(growingStage); x != nil {
			f.Times = (1 + x.Times) / 2
			f.Need = serving.Range{HasMean: true, Mean: float64(f.Need.Mean * f.Times), Low: f.Need.Low, High: float64(f.Need.High * x.High)}
		}
		return
	}
	x := e.State(state)
	if x == nil {
		return
	}
	by := func(v float64) float64 { return 1 + float64((v-1)*part) }
	f.Times = by(x.Times)
	f.Need = serving.Range{HasMean: true, Mean: f.Need.Mean * by(x.Times), Low: f.Need.Low * by(x.Low), High: f.Need.High * by(x.High)}
}

// Days after which a breeding state is doubted: longer than any species here
// carries or nurses. Recalled: gerbils carry 24 to 26 days, rats 21 to 23, and
// all wean within about four weeks.
const longestBreeding = 35

func (p *Plan) noteBreeding(f Fed) {
	a := f.Animal
	switch {
	case a.Breeding != NotBreeding && a.Sex == "male":
		p.Notes = append(p.Notes, fmt.Sprintf("%s is written down as male and as %s.", a.Name, a.Breeding))
	case a.Breeding != NotBreeding && a.Since != 0 && p.Day-a.Since > longestBreeding:
		p.Notes = append(p.Notes, fmt.Sprintf("%s is written down as %s since %s, longer than animals of these species are; see whether it still holds.", a.Name, a.Breeding, a.Since))
	case f.Stage.ID == breedingStage && a.Breeding == NotBreeding:
		p.Notes = append(p.Notes, fmt.Sprintf("%s is in the breeding stage and neither pregnant nor nursing; its energy is reckoned as that of a grown animal's upkeep.", a.Name))
	case f.Stage.ID == growingStage && f.Age < 0:
		p.Notes = append(p.Notes, fmt.Sprintf("%s is growing and has no birth date; how much more energy it needs than a grown one is taken from the middle between weaning and grown.", a.Name))
	case f.StageBy == "age" && f.Age < f.Stage.FromDays:
		p.Notes = append(p.Notes, fmt.Sprintf("%s is not weaned yet; what it gets from its mother is not counted.", a.Name))
	}
}

// noteUnknown says, once for all animals that are alike in it, what is not known
// of them and what is assumed instead.
func (p *Plan) noteUnknown() {
	var weights, ages []string
	of := map[string][]string{} // names by the weight that is assumed
	for i := range p.Animals {
		f := &p.Animals[i]
		if f.StageBy == "assumed" {
			ages = append(ages, f.Animal.Name)
		}
		if f.Weighed != 0 {
			continue
		}
		w := short(f.Weight)
		if f.young() {
			p.Notes = append(p.Notes, fmt.Sprintf("%s was never weighed; %s g is assumed, by its age. Weigh it.", f.Animal.Name, w))
			continue
		}
		if of[w] == nil {
			weights = append(weights, w)
		}
		of[w] = append(of[w], f.Animal.Name)
	}
	for _, w := range weights {
		if names := of[w]; len(names) > 1 {
			p.Notes = append(p.Notes, fmt.Sprintf("%s were never weighed; %s g, the middle of grown animals, is assumed for each. Weigh them.", strings.Join(names, ", "), w))
		} else {
			p.Notes = append(p.Notes, fmt.Sprintf("%s was never weighed; %s g, the middle of grown animals, is assumed. Weigh it.", names[0], w))
		}
	}
	if len(ages) > 1 {
		p.Notes = append(p.Notes, fmt.Sprintf("%s have no birth date; they are taken for grown.", strings.Join(ages, ", ")))
	} else if len(ages) == 1 {
		p.Notes = append(p.Notes, fmt.Sprintf("%s has no birth date; it is taken for grown.", ages[0]))
	}
}

// evidence of the need for energy of an animal.
func (f Fed) evidence() catalog.Evidence {
	how := f.Species.Energy.How
	if f.Times != 1 {
		how = how.Worse(catalog.Recalled)
	}
	return how
}
