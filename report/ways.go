package report

import (
	"firlot/formulate"
	"firlot/nutrient"
)

// Ways are the smallest changes that make an impossible mix possible.
type Ways struct {
	Moves     []Move     `json:"moves"`
	Additions []Addition `json:"additions"`
	Fewest    *Fewest    `json:"fewest,omitempty"`
	// HighestSureness is the highest joint chance that was found on the shelf.
	HighestSureness *Number `json:"highest_sureness,omitempty"`
	Unfinished      bool    `json:"unfinished,omitempty"` // the time was up before all was tried
}

// Move is one limit moved, all others kept.
type Move struct {
	Field string `json:"field,omitempty"`
	What  string `json:"what"`
	To    string `json:"to"`
}

// Addition is one ingredient that makes the mix possible.
type Addition struct {
	Ingredient string `json:"ingredient"`
	Form       string `json:"form"`
	Name       string `json:"name"`
	LeastGrams Number `json:"least_grams"`
}

// Fewest is a smallest set of ingredients that makes the mix possible.
type Fewest struct {
	Ingredients []string `json:"ingredients"`
	Proved      bool     `json:"proved"`
}

// WaysOf reports ways out.
func WaysOf(w *formulate.Ways) *Ways {
	out := &Ways{Moves: []Move{}, Additions: []Addition{}, Unfinished: w.Unfinished}
	for _, m := range w.Moves {
		out.Moves = append(out.Moves, Move{m.Path, m.What, m.To})
	}
	for _, a := range w.Additions {
		out.Additions = append(out.Additions, Addition{a.Form.Ingredient.ID, a.Form.ID, a.Form.Name("en"), Number(a.Least.Grams())})
	}
	if f := w.Fewest; f != nil {
		out.Fewest = &Fewest{Proved: f.Proved}
		for _, form := range f.Forms {
			out.Fewest.Ingredients = append(out.Fewest.Ingredients, form.Ref())
		}
	}
	if w.Sureness != nil {
		out.HighestSureness = num(w.Sureness.Joint)
	}
	return out
}

// Swap is a mix without one of its ingredients.
type Swap struct {
	Without    string      `json:"without"`
	Use        string      `json:"use"` // empty: made up by the others
	Name       string      `json:"name,omitempty"`
	OthersMove Number      `json:"others_move_g"`
	Shift      Number      `json:"figures_shift"`
	Likeness   string      `json:"likeness,omitempty"`
	Amounts    []Changed   `json:"amounts"`
	Figures    []FigureNow `json:"figures"`
	Sureness   Number      `json:"sureness"`
}

// Changed is an amount before and after.
type Changed struct {
	Ingredient string `json:"ingredient"`
	Form       string `json:"form"`
	Name       string `json:"name"`
	Before     Number `json:"before_g"`
	After      Number `json:"after_g"`
}

// FigureNow is a figure with a window, after the change.
type FigureNow struct {
	Nutrient string  `json:"nutrient"`
	Unit     string  `json:"unit"`
	Mean     *Number `json:"mean"`
	Chance   *Number `json:"chance"` // null where it is not known
}

// SwapOf reports a replacement.
func SwapOf(without string, s formulate.Swap) Swap {
	out := Swap{Without: without, OthersMove: Number(s.Moved.Grams()), Shift: Number(s.Shift), Sureness: Number(s.Answer.Joint), Figures: []FigureNow{}}
	if s.Form != nil {
		out.Use, out.Name, out.Likeness = s.Form.Ref(), s.Form.Name("en"), s.Likeness.Words()
	}
	after := s.Answer.Amounts()
	for i, l := range s.Answer.Plan.Lines {
		before := nutrient.Mass(0)
		if i < len(s.Before) {
			before = s.Before[i]
		}
		out.Amounts = append(out.Amounts, Changed{l.Form.Ingredient.ID, l.Form.ID, l.Form.Name("en"), Number(before.Grams()), Number(after[i].Grams())})
	}
	for _, c := range s.Answer.Checks {
		f := figureOf(c.Value)
		now := FigureNow{Nutrient: f.Nutrient, Unit: f.Unit, Mean: f.Mean}
		if c.HasChance {
			now.Chance = num(c.Chance)
		}
		out.Figures = append(out.Figures, now)
	}
	return out
}

// Region is every pair of two figures that a shelf can be mixed to.
type Region struct {
	X       Axis     `json:"x"`
	Y       Axis     `json:"y"`
	Corners []Corner `json:"corners"`
	Without string   `json:"without,omitempty"`
	// NotKnown are the ingredients left out because one of the two figures is
	// not known for them.
	NotKnown []string `json:"not_known,omitempty"`
}

// Axis is one of a region's figures.
type Axis struct {
	Nutrient string `json:"nutrient"`
	Unit     string `json:"unit"`
	Basis    string `json:"basis"`
	On       string `json:"on"`
}

// Corner is a corner of a region with the mix that makes it.
type Corner struct {
	X   Number  `json:"x"`
	Y   Number  `json:"y"`
	Mix []Share `json:"mix"`
}

// Share is an ingredient's share of a mix.
type Share struct {
	Ingredient string `json:"ingredient"`
	Form       string `json:"form"`
	Percent    Number `json:"percent"`
}
