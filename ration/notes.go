package ration

import (
	"fmt"
	"slices"

	"firlot/catalog"
	"firlot/nutrient"
)

// Note is something to know that no row says.
type Note struct {
	ID   string
	Text string
	How  catalog.Evidence
	Vet  bool
}

// notes are what to know beside the rows of a ledger.
func (p *Plan) notes(l *Ledger) []Note {
	var list []Note
	for _, n := range p.Notes {
		list = append(list, Note{ID: "plan", Text: n, How: catalog.Assumed})
	}
	list = append(list, Note{"vitamin-c", "Gerbils, hamsters, mice and rats make their own vitamin C; the diet need not bring any.", catalog.Recalled, false})
	row := func(k nutrient.Key) (Row, bool) {
		for _, a := range l.Accounts {
			for _, r := range a.Rows {
				if r.Nutrient == k && r.Verdict != Inside {
					return r, true
				}
			}
		}
		return Row{}, false
	}
	if _, ok := row(nutrient.VitaminD); ok {
		list = append(list, Note{"vitamin-d", "Seeds, leaves and insects hold next to no vitamin D; sun-dried hay holds some that the tables do not give. Rats with enough calcium and phosphorus in good proportion need little of it. Never add it by hand: too much is poisonous. Ask a veterinarian.", catalog.Recalled, false})
	}
	if _, ok := row(nutrient.VitaminB12); ok {
		list = append(list, Note{"vitamin-b12", "Plants hold no vitamin B12. These animals eat some of their droppings, which brings back what their gut makes; how much is not known. Insects, egg and yeast products with B12 added bring it.", catalog.Recalled, false})
	}
	if _, ok := row(nutrient.VitaminK); ok {
		list = append(list, Note{"vitamin-k", "Part of the vitamin K that is needed comes from the gut's own bacteria.", catalog.Recalled, false})
	}
	if r, ok := row(nutrient.Energy); ok {
		list = append(list, energyNote(r))
	}
	said := map[string]bool{}
	for _, a := range l.Accounts {
		if id := a.standsIn(); id != "" && !said[a.Species.ID] {
			said[a.Species.ID] = true
			list = append(list, Note{"stands-in", fmt.Sprintf("Few needs of this species (%s) were ever measured. Most figures here are those of another (%s), standing in.", p.called(a.Species.ID), p.called(id)), catalog.Assumed, false})
		}
	}
	if len(p.Animals) > 1 {
		list = append(list, Note{"sharing", "What is given to all is taken to be shared by need; who really ate it is not known.", catalog.Assumed, false})
	}
	return list
}

func energyNote(r Row) Note {
	switch r.Verdict {
	case Low:
		return Note{"energy", "What is given holds less energy than animals of this weight need. Needs go with the energy that is eaten: an animal that stays hungry lacks everything in proportion. Weigh it, and give more mix unless it is too heavy.", r.How, false}
	case High:
		return Note{"energy", "What is given holds more energy than animals of this weight need; some of it is hoarded or left, or the animal grows fat. The scale decides.", r.How, false}
	}
	return Note{"energy", "Whether the energy is enough hangs on what is not known, above all on how much hay is eaten. The scale decides.", r.How, false}
}

// standsIn is the species whose figures stand in for most rows, or empty.
func (a Account) standsIn() string {
	count := map[string]int{}
	var ids []string
	for _, r := range a.Rows {
		id := r.Window.StandsIn
		if count[id] == 0 {
			ids = append(ids, id)
		}
		count[id]++
	}
	slices.SortStableFunc(ids, func(x, y string) int { return count[y] - count[x] })
	if len(ids) == 0 {
		return ""
	}
	return ids[0]
}

func (p *Plan) called(id string) string {
	if s := p.Table.Find(id); s != nil {
		return s.Names.First("en")
	}
	return id
}
