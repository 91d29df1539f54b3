package catalog

import "firlot/nutrient"

// Coefficients of variation between bags, in per cent, that stand in where a
// figure carries no recorded spread.
//
// Source: medians over foods of standard error × √n / mean in USDA National
// Nutrient Database for Standard Reference, Release 28 (foods with three
// samples or more), by group of foods; evidence: derived. Crude fibre is in
// neither USDA nor IFCT tables: its rows follow the table values' known
// variation of up to 15 per cent for organic constituents (Colorado State
// University fact sheet 1.615) and printed spreads of rye (15 %, INRAE-CIRAD-
// AFZ tables) and lucerne hay (13 %, Feedipedia); evidence: assumed.
// Vitamins and amino acids of a group without a median take the column
// "all"; evidence: assumed.
type cvGroup int

const (
	cvGrain cvGroup = iota
	cvOilseed
	cvPulse
	cvNut
	cvDryHerb
	cvFresh
	cvAnimal
	cvHay
	cvGroups
)

var groupOf = map[Class]cvGroup{
	Cereal: cvGrain, Pseudocereal: cvGrain, Millet: cvGrain, Oilseed: cvOilseed,
	SmallSeed: cvOilseed, Pulse: cvPulse, Nut: cvNut, Hay: cvHay, Leaf: cvDryHerb,
	Flower: cvDryHerb, Root: cvDryHerb, Vegetable: cvDryHerb, Green: cvFresh,
	Fruit: cvFresh, Insect: cvAnimal, Animal: cvAnimal, MineralFeed: cvAnimal, Other: cvGrain,
}

// Where the pairs of USDA and IFCT foods (docs/catalogue-checks.md) show a
// median to be too narrow, the cell is the geometric mean of the median and
// what the pairs show; none was made narrower.
//
// cvTable rows: grain, oilseed, pulse, nut, dried herb, fresh, animal, hay.
var cvTable = map[nutrient.Key][cvGroups]float64{
	nutrient.Moisture:     {10, 15, 12, 15, 15, 3, 10, 15},
	nutrient.CrudeProtein: {12, 11, 8, 5, 11, 18, 10, 15},
	nutrient.CrudeFat:     {21, 17, 26, 5, 23, 34, 20, 25},
	nutrient.CrudeFibre:   {15, 15, 15, 15, 25, 25, 20, 13},
	nutrient.Ash:          {11, 18, 12, 7, 17, 15, 15, 15},
	nutrient.DietaryFibre: {22, 27, 15, 9, 13, 17, 20, 13},
	nutrient.NDF:          {13, 15, 15, 15, 25, 25, 20, 10},
	nutrient.Starch:       {8, 20, 10, 20, 25, 25, 20, 25},
	nutrient.Sugars:       {20, 20, 20, 20, 25, 25, 20, 25},
	nutrient.Calcium:      {24, 18, 28, 14, 21, 23, 25, 21},
	nutrient.Phosphorus:   {16, 17, 15, 11, 17, 18, 20, 20},
	nutrient.Magnesium:    {21, 12, 26, 7, 16, 22, 20, 20},
	nutrient.Zinc:         {25, 28, 19, 8, 29, 26, 25, 30},
	nutrient.Iron:         {19, 33, 28, 18, 35, 40, 30, 35},
	nutrient.Copper:       {22, 31, 21, 7, 22, 40, 25, 25},
	nutrient.Manganese:    {22, 25, 20, 33, 14, 32, 30, 30},
	nutrient.Selenium:     {50, 50, 50, 50, 100, 100, 50, 100},
	nutrient.Iodine:       {50, 50, 50, 50, 100, 100, 50, 100},
	nutrient.VitaminE:     {13, 18, 20, 16, 40, 40, 25, 40},
}

// cvOther stands for a figure without a row above: by group of figures for
// dry and for leafy foods. Evidence: assumed, from the same tables' range.
var cvOther = map[nutrient.Group][2]float64{
	nutrient.Proximate: {15, 25},
	nutrient.Mineral:   {20, 30},
	nutrient.Vitamin:   {30, 40},
	nutrient.AminoAcid: {15, 30},
	nutrient.FattyAcid: {20, 30},
	nutrient.Antinutri: {30, 40},
}

// wider is the factor by which a stand-in spread grows with the doubt about
// the figure itself. Assumed: no study gives it; tables of one food differ by
// a third more than lots of it do in the pairs of USDA and IFCT foods.
var wider = map[Evidence]float64{Measured: 1, Derived: 1.25, Recalled: 1.5, Assumed: 2}

// Spread returns the standard deviation between bags of a typed-in figure and
// whether a source recorded it. It reports known = false for a missing one.
// Derived figures have no spread of their own: see package analysis.
func (f *Form) Spread(k nutrient.Key) (sd float64, recorded, known bool) {
	fig, ok := f.Figures[k]
	if !ok {
		return 0, false, false
	}
	if fig.SD > 0 {
		return fig.SD, true, true
	}
	return fig.Mean * f.cv(k) / 100 * wider[fig.How], false, true
}

// freshFrom is the moisture, in per cent, from which a plant part counts as
// fresh. Dried ones hold at most 15, fresh ones 70 or more.
const freshFrom = 50

// group is the column of the form. The same leaf or root is sold fresh and
// dried, so for these the moisture decides and not the class.
func (f *Form) group() cvGroup {
	g := groupOf[f.Ingredient.Class]
	fresh := f.Figures[nutrient.Moisture].Mean >= freshFrom
	switch {
	case g == cvDryHerb && fresh:
		return cvFresh
	case g == cvFresh && !fresh:
		return cvDryHerb
	}
	return g
}

func (f *Form) cv(k nutrient.Key) float64 {
	g := f.group()
	if row, ok := cvTable[k]; ok {
		return row[g]
	}
	leafy := 0
	if g == cvDryHerb || g == cvFresh || g == cvHay {
		leafy = 1
	}
	info, _ := nutrient.Lookup(k)
	return cvOther[info.Group][leafy]
}
