package web

import (
	"math"
	"strconv"

	"firlot/nutrient"
	"firlot/ration"
)

// mostSpoonName bounds what a keeper calls a spoon.
const mostSpoonName = 60

// ownSpoon is the keeper's own spoon as the document has it, or an empty one.
func (f *feeding) ownSpoon() ration.OwnSpoon {
	if f.Doc == nil || f.Doc.OwnSpoon == nil {
		return ration.OwnSpoon{}
	}
	return *f.Doc.OwnSpoon
}

// keepSpoon takes over into a document what the keeper's own spoon holds, or
// that it is used no longer: it stays while an amount is counted in it, or a
// volume of it is known that no page asks for.
func (f *feeding) keepSpoon(d *ration.Document, grams, name string) {
	own := f.ownSpoon()
	g, err := strconv.ParseFloat(grams, 64)
	if err != nil {
		if own.ML == 0 && !countsInOwn(d) {
			d.OwnSpoon = nil
		}
		return
	}
	own.Holds, own.Name = max(nutrient.Mass(math.Round(g*float64(nutrient.Gram))), 1), name
	d.OwnSpoon = &own
}

func countsInOwn(d *ration.Document) bool {
	for _, x := range d.Foods {
		if x.Amount.Unit == ration.OwnSpoons || x.Most.Unit == ration.OwnSpoons {
			return true
		}
	}
	return false
}

// ownSpoonWords say what the own spoon is, where the week is told in it.
func (f *feeding) ownSpoonWords() string {
	o := f.ownSpoon()
	if o == (ration.OwnSpoon{}) {
		return ""
	}
	var holds []string
	if o.Holds > 0 {
		holds = append(holds, f.w.T("feed_own_holds", "Mass", f.w.Mass(o.Holds)))
	}
	if o.ML > 0 {
		holds = append(holds, f.w.Plain(o.ML)+"\u00a0mL")
	}
	if o.Name == "" {
		return f.w.T("feed_own_spoon", "Holds", f.w.And(holds))
	}
	return f.w.T("feed_own_spoon_named", "Name", o.Name, "Holds", f.w.And(holds))
}
