package mix

import (
	"firlot/catalog"
	"firlot/internal/nearword"
	"firlot/needs"
	"firlot/nutrient"
)

// Bounds on a document. They keep a stranger's document from costing more
// than a moment; each is far above what a kitchen needs.
const (
	MaxLines   = 200
	MaxWindows = 100
	MaxGroups  = 50
	MaxOwn     = 50
	MaxSteps   = 1_000_000 // scale steps in a batch
)

// DefaultStep is the scale step of a document that names none.
const DefaultStep = nutrient.Gram

// Preference is what to prefer among all mixes inside the windows.
type Preference string

// The preferences.
const (
	Near   Preference = "near"   // least grams moved from the base mix
	Cheap  Preference = "cheap"  // least cost
	Steady Preference = "steady" // widest safety margin
	Varied Preference = "varied" // smallest largest share
)

// Preferences lists them all.
func Preferences() []Preference { return []Preference{Near, Cheap, Steady, Varied} }

// Amount is a mass, or a share of the batch in per cent.
type Amount struct {
	Set     bool
	Share   bool // Percent counts, Mass does not
	Mass    nutrient.Mass
	Percent float64
}

// Of returns the amount in grams for a batch.
func (a Amount) Of(batch nutrient.Mass) float64 {
	if a.Share {
		return a.Percent / 100 * batch.Grams()
	}
	return a.Mass.Grams()
}

// Document is a mix as its author wrote it.
type Document struct {
	Title   string
	Note    string
	Species string
	Stage   string
	Batch   nutrient.Mass
	Step    nutrient.Mass
	// StepOunces is the step in ounces when the document writes it in ounces
	// or pounds, else 0; Step is the same rounded to the milligram.
	StepOunces float64
	Sureness   float64 // 0: windows hold on the means; else the joint chance asked for
	Prefer     Preference
	Currency   string

	LeastIngredients int
	MostIngredients  int // 0: no limit

	Windows []Window
	Groups  []Group
	Lines   []Line
	Own     []*catalog.Ingredient
}

// Window is a window that the document sets, instead of or beside those of
// the stage.
type Window struct {
	Nutrient nutrient.Key
	Per      nutrient.Key
	Min, Max *float64
	Basis    nutrient.Basis
	On       needs.Side
	Source   string // take the stage's window from this source
	Off      bool   // do without the stage's window
	Note     string
}

// Group is a limit on several lines together.
type Group struct {
	Name             string
	Of               []string // references, as in lines
	Class            catalog.Class
	Floor, Ceiling   Amount
	LeastIngredients int
	MostIngredients  int
}

// Line is one ingredient of the shelf.
type Line struct {
	Ingredient string
	Floor      Amount // at least
	Ceiling    Amount // at most
	NothingOr  Amount // nothing, or at least
	OnHand     Amount
	Price      *float64 // for a kilogram
	Base       Amount   // where "near" starts from; the amount, when not set
	Amount     Amount
}

// Problem is something wrong with a document, at a field.
type Problem struct {
	Path    string // such as line[2].floor
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
