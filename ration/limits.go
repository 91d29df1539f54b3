package ration

import (
	"fmt"
	"math"
	"slices"

	"firlot/catalog"
	"firlot/nutrient"
)

// LimitRow is where the diet stands against a limit.
type LimitRow struct {
	ID      string
	Name    string
	Value   float64 // by the means, stand-ins included
	Most    float64
	Unit    string
	Verdict Verdict // inside, high or not known
	Open    Open    // why it is not known
	Source  string
	How     catalog.Evidence
	Note    string
	StandIn []string // foods for which a stand-in was taken
}

// limit is a limit with its edge.
type limit struct {
	LimitRow
	edge  edge
	scale float64 // from the edge's value to LimitRow's
}

// Limits of a whole diet.
const (
	// oxalateMost is the most oxalate in the dry matter, per cent. Assumed: 0.5 %
	// oxalate can bind 0.23 % calcium (40.08 g bind 88.02 g), nearly half of what
	// growing rats need.
	oxalateMost = 0.5
	// calciumMost is the most calcium in the dry matter, per cent; hamsters are
	// prone to bladder stones. Assumed.
	calciumMost        = 1.2
	calciumMostHamster = 1.0
	// insectsMost is the most that insects may be of the dry matter, per cent.
	// Assumed; common practice, no source: a mealworm or two, two or three times
	// a week for a gerbil, 3 to 5 % of a dry mix.
	insectsMost = 5.0
	// sweetMost is the most that sweet fruit may be of the dry matter, per cent.
	// Assumed: the catalogue calls one berry a treat and not a meal, and keeps
	// dried apple at 3 % of a mix and at half a per cent where dwarf hamsters eat
	// it, which are prone to diabetes.
	sweetMost      = 3.0
	sweetMostDwarf = 0.5
)

// sweets are the foods that the catalogue calls sweet; a test holds the list
// against its cautions.
var sweets = []string{"apple/fresh", "apple/dried", "blackberry/fruit-fresh", "blueberry/fresh", "raspberry/fruit-fresh", "strawberry/fresh"}

// waterMost is the most water that may come with food, mL a day for 100 g of
// body weight: what animals of the species drink of their own accord. Sources:
// gerbil, NRC 1995 page 141 (4 to 10); mouse, humane-endpoints.info (15); the
// others recalled.
var waterMost = map[string]struct {
	most   float64
	source string
	how    catalog.Evidence
}{
	"gerbil":         {10, "nrc-1995-laboratory-animals:chapter 6, page 141", catalog.Measured},
	"syrian-hamster": {10, "recalled:general", catalog.Recalled},
	"dwarf-hamster":  {10, "recalled:general", catalog.Recalled},
	"mouse":          {15, "recalled:laboratory-handbooks", catalog.Recalled},
	"rat":            {12, "recalled:general", catalog.Recalled},
}

const assumedLimit = "firlot:limit"

// limits lists what holds for the animals of an account, on the whole diet.
// Extra forms are not fed yet, but could be.
func (p *Plan) limits(a Account, extra ...*catalog.Form) []limit {
	list := []limit{p.waterLimit(a), p.oxalateLimit(), calciumLimit(a), fatLimit(a), insectLimit(), p.sweetLimit()}
	list = slices.DeleteFunc(list, func(l limit) bool { return l.ID == "" })
	return append(list, p.pools(extra...)...)
}

func (p *Plan) waterLimit(a Account) limit {
	w, ok := waterMost[a.Species.ID]
	if !ok {
		return limit{}
	}
	return limit{LimitRow: LimitRow{ID: "water", Name: "water in fresh food, for 100 g of body weight and day", Most: w.most, Unit: "mL", Source: w.source, How: w.how,
		Note: "No more than animals of the species drink of their own accord; wetter food makes soft droppings."},
		edge: edge{num: func(s *Served, b *brings) lin {
			if s.Origin != FromGreens {
				return lin{known: 1}
			}
			return b.fig(nutrient.Moisture)
		}, bound: w.most * p.weight, upper: true}, scale: 1 / p.weight}
}

func (p *Plan) oxalateLimit() limit {
	return limit{LimitRow: LimitRow{ID: "oxalate", Name: "oxalate in the dry matter", Most: oxalateMost, Unit: "%", Source: assumedLimit, How: catalog.Assumed,
		Note: "Oxalate binds calcium: half a per cent of it nearly half of what growing rats need.", StandIn: p.standIns()},
		edge: edge{num: oxalate, den: dry, bound: oxalateMost, upper: true}, scale: 1}
}

// oxalate is what a gram brings, with a stand-in where it is not known. Where
// tables differ, as by ten times for parsley, it may be as much as the highest
// says.
func oxalate(_ *Served, b *brings) lin {
	var sum lin
	for i, p := range b.of {
		if b.shares[i] == 0 {
			continue
		}
		f := p.Form.Kernel()
		v := float64(standIn(f) * b.drys[i])
		most := v
		if o, ok := f.Figures[nutrient.Oxalate]; ok {
			hull, left := p.Form.HullShares()
			part := float64(b.shares[i] * (1 - float64(hull*left)))
			v = float64(o.Mean * part)
			if most = v; o.Ranged {
				most = max(v, float64(o.High*part))
			}
		}
		sum.mean, sum.least, sum.most = sum.mean+v, sum.least+v, sum.most+most
	}
	sum.known = 1
	return sum
}

// oxalateOf stands in for oxalate that the catalogue lacks, per cent of dry
// matter, by class. Assumed: no food of the class whose oxalate is known holds
// more, but for the plants in oxalatePlants, all of which are known; a test
// says so. What is in no row counts as a leaf.
var oxalateOf = map[catalog.Class]float64{
	catalog.Cereal: 0.1, catalog.Millet: 0.1, catalog.Pseudocereal: 0.3, catalog.Pulse: 0.1, catalog.Nut: 0.4,
	catalog.Oilseed: 0.3, catalog.SmallSeed: 1.0, catalog.Root: 0.6, catalog.Vegetable: 0.8, catalog.Fruit: 0.1,
	catalog.Hay: 0.5, catalog.Insect: 0, catalog.Animal: 0, catalog.MineralFeed: 0, catalog.Other: 0.1,
}

// oxalateLeaf is the stand-in of leaves, greens and flowers.
const oxalateLeaf = 1.1

// oxalatePlants hold more oxalate than others of their class.
var oxalatePlants = []string{"spinach", "chard", "beet-greens", "lettuce", "sesame", "niger", "poppy"}

func standIn(f *catalog.Form) float64 {
	if v, ok := oxalateOf[f.Ingredient.Class]; ok {
		return v
	}
	return oxalateLeaf
}

// standIns lists the foods of the week whose oxalate is not known.
func (p *Plan) standIns() []string {
	var list []string
	for _, s := range p.Foods {
		if s.Rests {
			continue
		}
		if s.Form == nil {
			for _, q := range p.Mix {
				if _, ok := q.Form.Kernel().Figure(nutrient.Oxalate); !ok && standIn(q.Form) > 0 && !slices.Contains(list, MixName) {
					list = append(list, MixName)
				}
			}
			continue
		}
		if _, ok := s.Form.Figure(nutrient.Oxalate); !ok && standIn(s.Form) > 0 {
			list = append(list, s.Form.Ref())
		}
	}
	return list
}

func calciumLimit(a Account) limit {
	most := calciumMost
	if a.Species.ID == "syrian-hamster" || a.Species.ID == "dwarf-hamster" {
		most = calciumMostHamster
	}
	return limit{LimitRow: LimitRow{ID: "calcium", Name: "calcium in the dry matter", Most: most, Unit: "%", Source: assumedLimit, How: catalog.Assumed,
		Note: "More makes bladder stones likelier, in hamsters above all, and binds zinc, iron and magnesium."},
		edge: edge{num: fig(nutrient.Calcium), den: dry, bound: most, upper: true}, scale: 1}
}

// fatLimit is the upper end of the window that a mix starts with, at 90 % dry
// matter.
func fatLimit(a Account) limit {
	for _, w := range a.Stage.Enforced() {
		if w.Nutrient == nutrient.CrudeFat && w.Per == "" && w.Max != nil {
			return limit{LimitRow: LimitRow{ID: "fat", Name: "fat in the dry matter", Most: *w.Max / StandardDry, Unit: "%", Source: w.Source, How: w.How,
				Note: "The upper end of the window that a mix for this stage starts with, on dry matter."},
				edge: edge{num: fig(nutrient.CrudeFat), den: dry, bound: *w.Max / StandardDry, upper: true}, scale: 1}
		}
	}
	return limit{}
}

func insectLimit() limit {
	return limit{LimitRow: LimitRow{ID: "insects", Name: "insects in the dry matter", Most: insectsMost, Unit: "%", Source: assumedLimit, How: catalog.Assumed,
		Note: "A treat: common practice, no source."},
		edge: edge{num: func(s *Served, b *brings) lin {
			if s.Form == nil || s.Form.Ingredient.Class != catalog.Insect {
				return lin{known: 1}
			}
			return percentDry(b)
		}, den: dry, bound: insectsMost, upper: true}, scale: 1}
}

// sweetLimit holds for all where one dwarf hamster shares the food.
func (p *Plan) sweetLimit() limit {
	most := sweetMost
	if slices.ContainsFunc(p.Animals, func(f Fed) bool { return f.Species.ID == "dwarf-hamster" }) {
		most = sweetMostDwarf
	}
	return limit{LimitRow: LimitRow{ID: "sweet", Name: "sweet fruit in the dry matter", Most: most, Unit: "%", Source: assumedLimit, How: catalog.Assumed,
		Note: "A treat; dwarf hamsters are prone to diabetes."},
		edge: edge{num: func(s *Served, b *brings) lin {
			if s.Form == nil || !slices.Contains(sweets, s.Form.Ref()) {
				return lin{known: 1}
			}
			return percentDry(b)
		}, den: dry, bound: most, upper: true}, scale: 1}
}

// percentDry is a food's dry matter, counted so that its share of the whole is
// in per cent.
func percentDry(b *brings) lin {
	var l lin
	l.add(b.dry, 100)
	l.known = b.dry.known
	return l
}

// pools are the catalogue's inclusion limits, on the dry matter of the whole
// diet. Foods that share a limit each use up their part of it.
func (p *Plan) pools(extra ...*catalog.Form) []limit {
	most := map[string]map[*catalog.Form]float64{}
	why := map[string]catalog.Limit{}
	var order []string
	note := func(f *catalog.Form, only ...string) {
		for _, l := range p.limitsOf(f) {
			name := poolOf(f, l)
			if len(only) > 0 && !slices.Contains(only, name) {
				continue
			}
			if most[name] == nil {
				most[name] = map[*catalog.Form]float64{}
				order = append(order, name)
				why[name] = l
			}
			old, ok := most[name][f]
			if !ok || l.Most < old {
				most[name][f] = l.Most
			}
		}
	}
	for _, s := range p.Foods {
		if s.Form != nil && !s.Rests {
			note(s.Form)
		}
	}
	for _, f := range extra {
		note(f)
	}
	for _, q := range p.Mix { // the mix is held to them by itself; here it takes up its part of what others share
		for _, l := range p.limitsOf(q.Form) {
			if name := poolOf(q.Form, l); most[name] != nil {
				note(q.Form, name)
			}
		}
	}
	var list []limit
	for _, name := range order {
		list = append(list, poolLimit(name, most[name], why[name]))
	}
	return list
}

// poolOf names what a limit of a form is shared with.
func poolOf(f *catalog.Form, l catalog.Limit) string {
	if l.With != "" {
		return l.With
	}
	return f.Ingredient.ID
}

// limitsOf are the limits of a form that hold for any animal of the group.
func (p *Plan) limitsOf(f *catalog.Form) []catalog.Limit {
	var list []catalog.Limit
	for _, l := range f.Limits {
		for _, a := range p.Animals {
			if l.For(a.Species.ID) {
				list = append(list, l)
				break
			}
		}
	}
	return list
}

func poolLimit(name string, most map[*catalog.Form]float64, l catalog.Limit) limit {
	return limit{LimitRow: LimitRow{ID: "inclusion:" + name, Name: fmt.Sprintf("%s, of its inclusion limit", name), Most: 100, Unit: "%", Source: l.Source, How: l.How, Note: l.Why},
		edge: edge{num: func(_ *Served, b *brings) lin {
			v := 0.0
			for i, q := range b.of {
				switch m, ok := most[q.Form]; {
				case !ok:
				case m <= 0:
					v += float64(math.MaxFloat32 * b.drys[i])
				default:
					v += float64(100*100*b.drys[i]) / m
				}
			}
			return lin{mean: v, least: v, most: v, known: 1}
		}, den: dry, bound: 100, upper: true}, scale: 1}
}

func (p *Plan) limitRow(d *diet, l limit) LimitRow {
	r := l.LimitRow
	r.Value = float64(d.value(l.edge) * l.scale)
	switch d.state(l.edge) {
	case holds:
		r.Verdict = Inside
	case broken:
		r.Verdict = High
	default:
		r.Verdict, r.Open = NotKnown, d.open(&l.edge)
	}
	return r
}
