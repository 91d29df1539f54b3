package web

import (
	"strconv"

	"firlot/nutrient"
	"firlot/ration"
	rationfiles "firlot/ration/files"
	"firlot/serving"
)

// demoFeeding is how the invented groups of the rescue on Skerra are fed: the
// documents by the groups' place in demoGroups, with days that count from
// today. Nobody and nothing in them is real.
func demoFeeding(i int, today ration.Day) string {
	d := &ration.Document{Note: "An invented week of the rescue on Skerra.", Spoon: serving.Metric, Species: demoGroups[i].species}
	switch i {
	case 0:
		demoPair(d, today)
	case 1:
		demoBarn(d, today)
	case 2:
		demoLitter(d, today)
	case 3:
		demoBramble(d, today)
	}
	return string(rationfiles.Format(d))
}

func demoGrams(g float64) nutrient.Mass { return nutrient.Mass(g*1000) * nutrient.Gram / 1000 }

func demoMass(g float64) ration.Amount {
	return ration.Amount{Set: true, Mass: demoGrams(g), Unit: ration.Grams}
}

func demoOf(n float64, u ration.Unit) ration.Amount {
	return ration.Amount{Set: true, Count: n, Unit: u}
}

// demoDays are days of the week by their place from Monday.
func demoDays(at ...int) ration.Weekdays {
	list := ration.EveryDay.List()
	var w ration.Weekdays
	for _, i := range at {
		w = w.With(list[i])
	}
	return w
}

func demoWeights(d *ration.Document, name string, last ration.Day, every int, grams ...float64) {
	for i, g := range grams {
		d.Weights = append(d.Weights, ration.Weighing{Day: last - ration.Day(every*(len(grams)-1-i)), Animal: name, Mass: demoGrams(g)})
	}
}

func demoPair(d *ration.Document, today ration.Day) {
	d.Animals = []ration.Animal{
		{Name: "Whin", Sex: "female", Born: today - 430, Note: "eats first"},
		{Name: "Haar", Sex: "female", Born: today - 430},
	}
	pack, price := demoGrams(50), 3.2
	d.Foods = []ration.Food{
		{Food: ration.MixName, Days: demoDays(0, 1, 2, 3, 5, 6), Way: ration.Scatter, At: []string{"08:00", "19:00"}, Note: "Friday is free, so that the less liked seeds get eaten"},
		{Food: "timothy-hay/cut", AtWill: true, Way: ration.Rack, OnHand: demoGrams(300), Pack: demoGrams(1000)},
		{Food: "lettuce/romaine", Amount: demoMass(5), Days: demoDays(0, 3), Way: ration.Dish},
		{Food: "dandelion/leaf-dried", Amount: demoOf(1, ration.Teaspoons), Days: demoDays(1, 5), Way: ration.Scatter, OnHand: demoGrams(40), Pack: pack, Price: &price},
		{Food: "mealworm/dried", Amount: demoOf(2, ration.Pieces), Each: true, Days: demoDays(6), Way: ration.ByHand},
		{Food: "parsley/dried"}, {Food: "nettle/leaf-dried", Pack: pack}, {Food: "brewers-yeast/dried"}, {Food: "pumpkin-seed/kernel"},
	}
	d.Away = []ration.Away{{From: today + 3, To: today + 5, Who: "the ferrywoman", Note: "The key hangs in the porch."}}
	demoWeights(d, "Whin", today-2, 12, 81, 82.5, 82, 83.5, 83)
	demoWeights(d, "Haar", today-2, 12, 76, 76.5, 75.5, 76, 75)
	for _, x := range []struct {
		ago    ration.Day
		left   float64
		sorted []ration.Sorted
	}{
		{9, 4.1, []ration.Sorted{{Food: "buckwheat/in-hull", Left: demoGrams(1.6)}, {Food: "wheat/whole", Left: demoGrams(1.2)}, {Food: "sunflower/in-shell-striped", Left: 0}}},
		{4, 3.4, []ration.Sorted{{Food: "buckwheat/in-hull", Left: demoGrams(1.5)}, {Food: "wheat/whole", Left: demoGrams(0.6)}, {Food: "sunflower/in-shell-striped", Left: 0}}},
	} {
		d.Bowls = append(d.Bowls, ration.Bowl{Day: today - x.ago, Food: ration.MixName, Offered: demoGrams(18), Left: demoGrams(x.left), HasLeft: true, Husks: demoGrams(0.8), Sorted: x.sorted})
	}
	d.Sightings = []ration.Sighting{{Day: today - 4, What: ration.NormalStool}}
}

// barnAnimals live in the barn.
const barnAnimals = 30

func demoBarn(d *ration.Document, today ration.Day) {
	for i := range barnAnimals {
		name := "Barn " + strconv.Itoa(i+1)
		d.Animals = append(d.Animals, ration.Animal{Name: name, Born: today - ration.Day(200+17*i)})
		demoWeights(d, name, today-5, 30, 66+float64(i*7%24))
	}
	price := 1.4
	d.Foods = []ration.Food{
		{Food: ration.MixName, Days: ration.EveryDay, Way: ration.Scatter},
		{Food: "timothy-hay/cut", AtWill: true, Way: ration.Rack, Pack: demoGrams(5000)},
		{Food: "kale/fresh", Amount: demoMass(60), Days: demoDays(2, 5), Way: ration.Dish, Pack: demoGrams(400), Price: &price},
		{Food: "nettle/leaf-dried"}, {Food: "parsley/dried"},
	}
}

func demoLitter(d *ration.Document, today ration.Day) {
	for i, name := range []string{"Spring 1", "Spring 2", "Spring 3", "Spring 4", "Spring 5"} {
		d.Animals = append(d.Animals, ration.Animal{Name: name, Born: today - 70})
		demoWeights(d, name, today-1, 7, 38+float64(i), 44+float64(i), 49+float64(i), 53+float64(i))
	}
	d.Foods = []ration.Food{
		{Food: "timothy-hay/cut", AtWill: true, Way: ration.Rack},
		{Food: "lettuce/romaine", Amount: demoMass(2), Each: true, Days: demoDays(1, 4), Way: ration.Dish},
	}
}

func demoBramble(d *ration.Document, today ration.Day) {
	d.Animals = []ration.Animal{{Name: "Bramble", Sex: "male", Born: today - 300}}
	d.Foods = []ration.Food{
		{Food: "meadow-hay/cut", AtWill: true, Way: ration.Rack},
		{Food: "cucumber/fresh", Amount: demoMass(5), Every: 3, From: today - 6, Way: ration.Dish},
	}
	demoWeights(d, "Bramble", today-3, 7, 148, 146, 140, 131)
	d.Sightings = []ration.Sighting{{Day: today - 2, Animal: "Bramble", What: ration.SmallStool}}
}
