package ration

import (
	"firlot/catalog"
)

// Beside lists the catalogue's foods that may be fed beside a mix to mend it:
// leaves, flowers, roots, vegetables, greens and fruit, fresh and dried,
// insects, egg and the like, minerals and yeast.
func (p *Plan) Beside() []*catalog.Form {
	var list []*catalog.Form
	for _, f := range p.Catalogue.Forms() {
		switch f.Ingredient.Class {
		case catalog.Leaf, catalog.Flower, catalog.Root, catalog.Vegetable, catalog.Green, catalog.Fruit,
			catalog.Insect, catalog.Animal, catalog.MineralFeed, catalog.Other:
			list = append(list, f)
		}
	}
	return list
}

// Names are the targets of a ledger, each once.
func (l *Ledger) Names() []string {
	var list []string
	seen := map[string]bool{}
	for _, a := range l.Accounts {
		for _, r := range a.Rows {
			if n := r.Target().String(); !seen[n] && r.By != ByNeed {
				seen[n] = true
				list = append(list, n)
			}
		}
	}
	return list
}
