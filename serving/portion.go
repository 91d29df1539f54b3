package serving

import (
	"fmt"
	"math"

	"firlot/analysis"
	"firlot/catalog"
	"firlot/needs"
	"firlot/nutrient"
)

// Range is a quantity with the ends that it is thought to lie between. Mean
// is meaningless unless HasMean; High may be infinite.
type Range struct {
	Mean      float64
	HasMean   bool
	Low, High float64
}

// times is the range with every end multiplied by k, which is not negative.
func (r Range) times(k float64) Range {
	return Range{float64(r.Mean * k), r.HasMean, float64(r.Low * k), float64(r.High * k)}
}

// over divides by another range: the ends are those of the worst and the best
// together.
func (r Range) over(d Range) Range {
	out := Range{Low: quotient(r.Low, d.High), High: quotient(r.High, d.Low)}
	if r.HasMean && d.HasMean && d.Mean > 0 {
		out.Mean, out.HasMean = r.Mean/d.Mean, true
	}
	return out
}

func quotient(a, b float64) float64 {
	switch {
	case math.IsInf(b, 1) || a == 0:
		return 0
	case b <= 0:
		return math.Inf(1)
	}
	return a / b
}

// Need is the metabolisable energy that one animal needs, kcal a day, for a
// body weight in grams.
func Need(e needs.Energy, weight float64) Range {
	root := math.Sqrt(weight / 1000)
	scale := root * math.Sqrt(root) // W^0.75, rounded alike on every machine
	return Range{e.Factor, true, e.Low, e.High}.times(scale)
}

// NeedIn is the need of an animal that grows, carries or nurses: that of a
// grown one of its weight times what is needed more. The ends are those of both
// together. It reports false for a state of which nothing is known.
func NeedIn(e needs.Energy, weight float64, state string) (Range, bool) {
	x, r := e.State(state), Need(e, weight)
	if x == nil {
		return r, false
	}
	return Range{float64(r.Mean * x.Times), true, float64(r.Low * x.Low), float64(r.High * x.High)}, true
}

// Energy is the metabolisable energy of a mix, by [analysis.EnergyMethods]'
// default.
type Energy struct {
	Offered    analysis.Value // kcal/kg of the mix as offered, husk credited
	Eaten      analysis.Value // kcal/kg of what is eaten
	EatenShare float64        // of the mass offered, 0 to 1
}

// EnergyOf returns the energy of a mix.
func EnergyOf(mix []analysis.Portion) Energy {
	of := func(on needs.Side) analysis.Value {
		return analysis.Of(mix, analysis.Measure{Nutrient: nutrient.Energy, Basis: nutrient.AsFed, On: on})
	}
	e := Energy{Offered: of(needs.Offered), Eaten: of(needs.Eaten)}
	all, eaten := 0.0, 0.0
	for _, p := range mix {
		hull, left := p.Form.HullShares()
		x := p.Mass.Grams()
		all += x
		eaten += float64(x * (1 - float64(hull*left)))
	}
	if all > 0 {
		e.EatenShare = eaten / all
	}
	return e
}

// PerGram is what an animal gets from a gram of the mix as offered, kcal: the
// low and high ends hold 90 of 100 sets of ordinary bags, whatever the unknown
// part holds.
func (e Energy) PerGram() Range {
	r := Range{Low: e.Eaten.Low(), High: e.Eaten.High()}
	if e.Eaten.HasMean {
		// The known part stands for the rest, as far as the bounds allow.
		r.Mean, r.HasMean = min(max(e.Eaten.Mean, e.Eaten.Least), e.Eaten.Most), true
	}
	return r.times(e.EatenShare / 1000)
}

// Bounds on what may be asked.
const (
	MaxWeight   = 2000 // g; the heaviest of the species here is a third of that
	MaxAnimals  = 1000
	MaxFeedings = 24 // a day
)

// Ask is who is fed, and with what spoon.
type Ask struct {
	Species  *needs.Species
	Weight   float64 // g of body weight, of one animal
	Animals  int
	Feedings int // a day
	Spoon    Spoon
	// Need is what the animal needs where that is known better than as the
	// upkeep of a grown one of its weight, kcal a day; without a mean it is
	// that.
	Need Range
}

// Amount is a quantity of the mix. Teaspoons have no mean where the spoon has
// none.
type Amount struct {
	Grams       Range
	Tablespoons Range
	Teaspoons   Range
}

// Portion is the answer to an [Ask].
type Portion struct {
	Need   Range // kcal a day, one animal
	Energy Energy
	Bulk   Density
	Spoon  Range // g of the mix in one level spoon
	// Animal is for one animal and day, Day for all of them, Feeding for all
	// of them at one of the day's feedings.
	Animal, Day, Feeding Amount
	Practice             *Practice // nil where there is none for the species
	LightOrHeavy         bool      // the weight lies outside those of grown animals
}

// Of works a portion out. The mix must have some mass.
func Of(mix []analysis.Portion, a Ask) (*Portion, error) {
	if err := a.check(); err != nil {
		return nil, err
	}
	p := &Portion{Need: Need(*a.Species.Energy, a.Weight), Energy: EnergyOf(mix), Bulk: Bulk(mix)}
	if a.Need.HasMean {
		p.Need = a.Need
	}
	p.Spoon = a.Spoon.holds(p.Bulk)
	grams := p.Need.over(p.Energy.PerGram())
	p.Animal = a.Spoon.amount(grams, p.Spoon)
	p.Day = a.Spoon.amount(grams.times(float64(a.Animals)), p.Spoon)
	p.Feeding = a.Spoon.amount(grams.times(float64(a.Animals)/float64(a.Feedings)), p.Spoon)
	if w := a.Species.AdultWeight; w != nil && w.Ranged {
		p.LightOrHeavy = a.Weight < w.Low || a.Weight > w.High
	}
	p.Practice = practice(a, p)
	return p, nil
}

func (a Ask) check() error {
	switch {
	case a.Species == nil:
		return fmt.Errorf("no species is named, and the need for energy goes by species")
	case a.Species.Energy == nil:
		return fmt.Errorf("the need for energy of the species %s is not known", a.Species.ID)
	case !(a.Weight > 0) || a.Weight > MaxWeight:
		return fmt.Errorf("a body weight of %v g is out of range; it is more than 0 and at most %d g", a.Weight, MaxWeight)
	case a.Animals < 1 || a.Animals > MaxAnimals:
		return fmt.Errorf("%d animals are out of range; it is 1 to %d", a.Animals, MaxAnimals)
	case a.Feedings < 1 || a.Feedings > MaxFeedings:
		return fmt.Errorf("%d feedings a day are out of range; it is 1 to %d", a.Feedings, MaxFeedings)
	}
	return nil
}

// What keepers of gerbils do: a level tablespoon of mix for each animal every
// second day (two animals get two, three get three), split over up to three
// feedings. Common practice, no source; the tablespoon is taken as the US one,
// which a metric one exceeds by 1.4 %.
const (
	practiceSpecies     = "gerbil"
	practiceTablespoons = 1.0 // an animal, every second day
	practiceDays        = 2.0
	// PracticeFeedings is the most feedings that the spoons are split over.
	PracticeFeedings = 3
)

// Practice is what keepers commonly give, without a source.
type Practice struct {
	SecondDay   float64          // level US tablespoons for all animals, every second day
	Tablespoons float64          // level US tablespoons, an animal and day
	Grams       Range            // of this mix, an animal and day
	OfNeed      Range            // share of the worked-out need that it gives, 0 and up
	How         catalog.Evidence // assumed
}

// practice is nil for species other than the one that it is known of.
func practice(a Ask, p *Portion) *Practice {
	if a.Species.ID != practiceSpecies {
		return nil
	}
	day := practiceTablespoons / practiceDays
	grams := p.Bulk.Range.times(day * usTablespoon)
	gives := grams.times(1)
	per := p.Energy.PerGram()
	gives.Low, gives.High = float64(grams.Low*per.Low), float64(grams.High*per.High)
	gives.Mean, gives.HasMean = float64(grams.Mean*per.Mean), grams.HasMean && per.HasMean
	return &Practice{SecondDay: practiceTablespoons * float64(a.Animals), Tablespoons: day, Grams: grams,
		OfNeed: gives.over(p.Need), How: catalog.Assumed}
}
