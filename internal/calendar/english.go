package calendar

import (
	"fmt"
	"strconv"

	"firlot/ration"
)

// English are the English words.
func English() Words {
	return Words{
		Food: func(s ration.Served) string {
			if s.Form == nil {
				return "Mix"
			}
			return s.Form.Name("en")
		},
		Amount:   amount,
		Way:      way,
		Feedings: func(n int) string { return fmt.Sprintf("split over %d feedings", n) },
		Weigh:    "Weigh the animals",
		Stage: func(animal string, c ration.StageChange) (string, string) {
			return fmt.Sprintf("%s is %s from today", animal, c.To.Names.First("en")),
				"A mix for the new stage: change over ten days (common practice, no source)."
		},
		Shift: func(s ration.Shift) string {
			return fmt.Sprintf("Changeover: %v old mix and %v new", s.Old, s.New)
		},
		Away: func(a ration.Away) string {
			if a.Who != "" {
				return a.Who + " feeds"
			}
			return "Somebody else feeds"
		},
		Vet: "An animal that does not eat, loses weight or has loose droppings: see a veterinarian.",
	}
}

func way(w ration.Way) string {
	return map[ration.Way]string{ration.Dish: "in the dish", ration.Scatter: "scattered in the bedding",
		ration.ByHand: "by hand", ration.Rack: "in the rack"}[w]
}

func amount(a ration.Amount) string {
	n := strconv.FormatFloat(a.Count, 'f', -1, 64)
	switch a.Unit {
	case ration.Grams:
		return a.Mass.String()
	case ration.Pieces:
		if a.Count == 1 {
			return "1 piece"
		}
		return n + " pieces"
	case ration.OwnSpoons:
		if a.Count == 1 {
			return "1 own spoon, level"
		}
		return n + " own spoons, level"
	}
	return n + " " + string(a.Unit) + ", level"
}
