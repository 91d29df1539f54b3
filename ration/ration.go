package ration

import (
	"firlot/internal/nearword"
	"firlot/nutrient"
	"firlot/serving"
)

// Bounds on a document. They keep a stranger's document from costing more
// than a moment; each is far above what a keeper needs.
const (
	MaxAnimals  = 200
	MaxFoods    = 200
	MaxRecords  = 20_000 // weighings, bowls and signs together
	MaxEvery    = 60     // days between two feedings of a food
	MaxFeedings = 24     // of a day
	MaxLines    = 200    // of a mix that stands in the document
)

// MixName is what a food line calls the mix.
const MixName = "mix"

// Document is a group and its week as its keeper wrote them.
type Document struct {
	Title   string
	Note    string
	Species string // of every animal that names none
	Mix     string // the mix document: a file's name, resolved by the program
	Lines   []Line // or the mix itself
	Spoon   serving.Kind
	// OwnSpoon is the keeper's own, in which amounts may be counted; nil: none.
	OwnSpoon *OwnSpoon

	Animals   []Animal
	Foods     []Food
	Away      []Away
	Change    *Change
	Weights   []Weighing
	Bowls     []Bowl
	Sightings []Sighting
}

// Bounds on a spoon: more than a hand takes.
const (
	MostSpoon   = 500 * nutrient.Gram
	MostSpoonML = 1000.0
)

// OwnSpoon is a spoon or scoop of the keeper's, filled level. At least one of
// the two is known.
type OwnSpoon struct {
	Name  string        // what the keeper calls it; may be empty
	Holds nutrient.Mass // of the mix, weighed; 0: not known
	ML    float64       // its volume, mL; 0: not known
}

// Line is one ingredient of a mix that stands in the document.
type Line struct {
	Ingredient string
	Mass       nutrient.Mass
}

// Breeding is whether an animal carries or nurses young.
type Breeding string

// The breeding states.
const (
	NotBreeding Breeding = ""
	Pregnant    Breeding = "pregnant"
	Nursing     Breeding = "nursing"
)

// Animal is one animal of the group.
type Animal struct {
	Name     string
	Species  string
	Sex      string // male, female or empty
	Born     Day    // 0: not known
	Stage    string // instead of the one that its age gives
	Breeding Breeding
	Since    Day // when the breeding state began
	Gone     Day // left the group on that day; 0: is there
	Note     string
}

// Unit is what an amount is counted in.
type Unit string

// The units of amounts.
const (
	Grams       Unit = "g"
	Teaspoons   Unit = "tsp"
	Tablespoons Unit = "tbsp"
	OwnSpoons   Unit = "spoon" // of [OwnSpoon]
	Pieces      Unit = "piece"
)

// Amount is how much of a food is given. The zero Amount is none.
type Amount struct {
	Set   bool
	Mass  nutrient.Mass // of grams
	Count float64       // of spoons and pieces
	Unit  Unit
}

// Way is how a food is given.
type Way string

// The ways.
const (
	Dish    Way = "dish"
	Scatter Way = "scatter"
	ByHand  Way = "hand"
	Rack    Way = "rack"
)

// Ways lists them all.
func Ways() []Way { return []Way{Dish, Scatter, ByHand, Rack} }

// Food is one food of the week, or of the shelf when it is given on no day.
type Food struct {
	Food   string // a form of the catalogue, or "mix"
	Amount Amount // for the group on one of its days; a mix without one is given by need
	Each   bool   // Amount is for one animal
	Days   Weekdays
	Every  int // days from one to the next, counted from From; 0: by Days
	From   Day // first day; 0: always was
	Until  Day // last day; 0: goes on
	// AtWill food is always there; Eaten is what one animal is taken to eat
	// of it in a day. Where the document does not say, it is assumed.
	AtWill              bool
	EatenLow, EatenHigh nutrient.Mass

	Times int      // feedings that a day's amount is split over; 0 counts as 1
	At    []string // times of day, hh:mm, for the calendar
	Way   Way
	Note  string

	Most   Amount // for one animal and week, up to which mending may go
	OnHand nutrient.Mass
	Pack   nutrient.Mass
	Price  *float64 // of one pack, or of a kilogram where there is no pack
}

// Given reports whether the food is part of the week; otherwise it only
// stands on the shelf, where mending may reach for it.
func (f Food) Given() bool { return f.AtWill || f.Days != 0 || f.Every > 0 }

// Away is a time in which somebody else feeds.
type Away struct {
	From, To Day
	Who      string
	Note     string
}

// Change is a changeover to another mix.
type Change struct {
	Mix  string // the next mix's document
	From Day
	Days int // 0: ten
}

// Weighing is one weight of one animal.
type Weighing struct {
	Day    Day
	Animal string
	Mass   nutrient.Mass
	Note   string
}

// Sorted is what was left of one kind.
type Sorted struct {
	Food string
	Left nutrient.Mass
}

// Bowl is what was left of a feeding.
type Bowl struct {
	Day     Day
	Food    string // "mix" or a food
	Offered nutrient.Mass
	Left    nutrient.Mass // in all, husks not counted; meaningless without HasLeft
	HasLeft bool
	Husks   nutrient.Mass // empty husks, weighed apart
	Sorted  []Sorted      // by kind, in the document's order
	Note    string
}

// Sighting is something seen in an animal or the cage.
type Sighting struct {
	Day    Day
	Animal string // empty: not known whose
	What   Sign
	Note   string
}

// Problem is something wrong with a document, at a field.
type Problem struct {
	Path    string // such as food[2].amount
	Message string
	Hint    string
}

// Error names the field, what is wrong and what would be right.
func (p *Problem) Error() string {
	s := nearword.Hinted(p.Message, p.Hint)
	if p.Path != "" {
		s = p.Path + ": " + s
	}
	return s
}
