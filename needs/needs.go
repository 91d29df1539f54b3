package needs

import (
	"firlot/catalog"
	"firlot/nutrient"
)

// Side says which of a mix's two analyses a window looks at.
type Side string

// The two sides.
const (
	Offered Side = "offered" // the mix as it is weighed, hulls and all
	Eaten   Side = "eaten"   // what is left of it once hulls are discarded
)

// Window is the range that a figure must lie in.
type Window struct {
	Nutrient nutrient.Key
	Per      nutrient.Key // for a ratio: the figure divided by; otherwise empty
	Min, Max *float64     // nil: open on that side
	Basis    nutrient.Basis
	On       Side

	Source   string
	How      catalog.Evidence
	Note     string
	StandsIn string // the species whose figure stands in, when not this one

	Default bool // the one that holds unless a document says otherwise
	Enforce bool // a mix must meet it; otherwise it is only shown
}

// Stage is a life stage of a species.
type Stage struct {
	ID       string
	Names    catalog.Names
	FromDays int
	ToDays   int // 0: to the end of life
	Source   string
	How      catalog.Evidence
	Note     string
	Windows  []Window
}

// Energy is the need for metabolisable energy, in kcal a day per kilogram of
// body weight to the power 0.75.
type Energy struct {
	Factor, Low, High float64
	Source            string
	How               catalog.Evidence
	Note              string
	States            []EnergyState
}

// EnergyState is by how much an animal in a state needs more than the upkeep
// of a grown one.
type EnergyState struct {
	State            string // growing, pregnant or nursing
	Times, Low, High float64
	Source           string
	How              catalog.Evidence
	Note             string
}

// State returns the state with a name, or nil.
func (e *Energy) State(name string) *EnergyState {
	for i := range e.States {
		if e.States[i].State == name {
			return &e.States[i]
		}
	}
	return nil
}

// Species is a kind of animal with its stages.
type Species struct {
	ID          string
	Latin       string
	Names       catalog.Names
	Note        string
	AdultWeight *catalog.Figure // g
	Energy      *Energy
	Stages      []Stage
}

// Stage returns the stage with an id, or nil.
func (s *Species) Stage(id string) *Stage {
	for i := range s.Stages {
		if s.Stages[i].ID == id {
			return &s.Stages[i]
		}
	}
	return nil
}

// Table is every species with the sources that its figures name.
type Table struct {
	Species []*Species // sorted by id
	Sources map[string]catalog.Source
}

// Find returns the species with an id or a name in any language, or nil.
func (t *Table) Find(name string) *Species {
	for _, s := range t.Species {
		if s.ID == name {
			return s
		}
	}
	for _, s := range t.Species {
		for _, list := range s.Names {
			for _, n := range list {
				if n == name {
					return s
				}
			}
		}
	}
	return nil
}

// Enforced returns the windows of a stage that a mix must meet by default.
func (s *Stage) Enforced() []Window {
	var list []Window
	for _, w := range s.Windows {
		if w.Default && w.Enforce {
			list = append(list, w)
		}
	}
	return list
}
