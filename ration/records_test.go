package ration

import (
	"context"
	"fmt"
	"math"
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"firlot/analysis"
	"firlot/nutrient"
)

func weighings(name string, at ...float64) []Weighing {
	var list []Weighing
	for i := 0; i < len(at); i += 2 {
		list = append(list, Weighing{Day: today + Day(at[i]), Animal: name, Mass: nutrient.Mass(math.Round(at[i+1] * 1000))})
	}
	return list
}

func trendOf(t testing.TB, at ...float64) Trend {
	d := &Document{Species: "gerbil", Animals: []Animal{{Name: "A", Born: today - 400}}, Weights: weighings("A", at...)}
	return resolve(t, d, nil).Trends()[0]
}

// The slopes between all pairs of (−21, 80), (−14, 82), (−7, 81), (0, 85) are
// by the week −1, 0.5, 1.5, 5/3, 2 and 4; their median is 19/12. Reckoned by
// hand.
func TestTheilSen(t *testing.T) {
	tr := trendOf(t, -21, 80, -14, 82, -7, 81, 0, 85)
	near(t, "slope", tr.Slope, 19.0/12, 1e-12)
	// C = 1.96·√(4·3·13/18) = 5.77: ranks below 1 and above 6, so the ends.
	near(t, "low", tr.Low, -1, 1e-12)
	near(t, "high", tr.High, 4, 1e-12)
	if tr.Runs != Steady || !tr.HasInterval {
		t.Errorf("%+v", tr)
	}
	// Ten weights that fall by a gram a week: N = 45, C = 1.96·√(10·9·25/18) = 21.9; all slopes are −1.
	var falling []float64
	for i := range 10 {
		falling = append(falling, float64(-6*(9-i)), 90-6*float64(i)/7)
	}
	if tr := trendOf(t, falling...); tr.Runs != Falling || math.Abs(tr.Slope+1) > 1e-2 {
		t.Errorf("%+v", tr)
	}
	if tr := trendOf(t, -14, 80, -7, 81, 0, 82); tr.HasInterval || tr.Runs != TooFew || !tr.HasSlope {
		t.Errorf("three weighings: %+v", tr)
	}
	if tr := trendOf(t); tr.Since != -1 || tr.HasSlope {
		t.Errorf("never weighed: %+v", tr)
	}
}

// One wrong weighing among five does not turn the trend's sign.
func TestOneWrongWeighing(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		slope := rapid.Float64Range(0.5, 3).Draw(rt, "g a week")
		wrong, at := rapid.Float64Range(20, 200).Draw(rt, "wrong"), rapid.IntRange(0, 5).Draw(rt, "which")
		var list []float64
		for i := range 6 {
			w := 80 + slope*float64(i)
			if i == at {
				w = wrong
			}
			list = append(list, float64(7*(i-5)), w)
		}
		if tr := trendOf(t, list...); tr.Slope <= 0 || tr.Slope > 3*slope+1 {
			rt.Fatalf("%v a week with one wrong weighing reads %v", slope, tr.Slope)
		}
	})
}

// The thresholds of fast loss, from both sides.
func TestFastLoss(t *testing.T) {
	for _, c := range []struct {
		at   []float64
		want bool
	}{
		{[]float64{-20, 80, 0, 72.1}, false}, {[]float64{-20, 80, 0, 72}, true}, {[]float64{-40, 80, 0, 72}, false},
		{[]float64{-7, 80, 0, 76.1}, false}, {[]float64{-7, 80, 0, 76}, true}, {[]float64{-9, 80, 0, 76}, false},
		{[]float64{0, 60}, false}, {[]float64{-7, 76, 0, 80}, false},
	} {
		if tr := trendOf(t, c.at...); tr.Fast != c.want {
			t.Errorf("%v: fast %v (%v of the month, %v of the week)", c.at, tr.Fast, tr.Lost, tr.Week)
		}
	}
}

// A veterinarian is named for every sign of the caution list and for fast loss,
// and no portion is cut then.
func TestVeterinarian(t *testing.T) {
	for _, s := range Signs() {
		d := gerbils(1).feed(mixByNeed())
		d.Sightings = []Sighting{{Day: today - 2, What: s.Sign}}
		for i := range Day(3) {
			d.Bowls = append(d.Bowls, Bowl{Day: today - i, Food: MixName, Offered: 10_000, HasLeft: true, Left: 6_000})
		}
		list := resolve(t, d, seeds(t)).Advice()
		vet := slices.ContainsFunc(list, func(a Advice) bool { return a.ID == "sign" && a.Vet })
		cut := slices.ContainsFunc(list, func(a Advice) bool { return a.ID == "smaller" })
		if vet != s.Vet || cut == s.Vet {
			t.Errorf("%s: veterinarian %v, cut %v: %v", s.Sign, vet, cut, list)
		}
	}
	d := gerbils(1)
	d.Sightings = []Sighting{{Day: today - 40, What: LooseStool}}
	if list := resolve(t, d, nil).Advice(); slices.ContainsFunc(list, func(a Advice) bool { return a.Vet }) {
		t.Errorf("a sign of last month: %v", list)
	}
}

func bowlOf(t *testing.T, mix []analysis.Portion, offered float64, left map[string]float64) Feeding {
	t.Helper()
	d := gerbils(1).feed(mixByNeed())
	b := Bowl{Day: today - 1, Food: MixName, Offered: milligrams(offered)}
	for _, p := range mix {
		if g, ok := left[p.Form.Ref()]; ok {
			b.Sorted = append(b.Sorted, Sorted{Food: p.Form.Ref(), Left: milligrams(g)})
		}
	}
	d.Bowls = []Bowl{b}
	return resolve(t, d, mix).Feedings()[0]
}

// Ivlev's electivity and Chesson's alpha of two kinds offered 50 g each, of
// which 25 and 40 g are left, reckoned by hand: shares eaten 25/35 and 10/35,
// electivities (r − ½)/(r + ½) = 3/17 and −3/11; −ln ½ = 0.6931 and −ln 0.8 =
// 0.2231, so alphas 0.7565 and 0.2435.
func TestSelection(t *testing.T) {
	mix := seeds(t)[:2]
	mix[0].Mass, mix[1].Mass = nutrient.Kilogram, nutrient.Kilogram
	f := bowlOf(t, mix, 100, map[string]float64{mix[0].Form.Ref(): 25, mix[1].Form.Ref(): 40})
	near(t, "electivity", f.Kinds[0].Electivity, 3.0/17, 1e-9)
	near(t, "electivity", f.Kinds[1].Electivity, -3.0/11, 1e-9)
	near(t, "alpha", f.Kinds[0].Alpha, 0.7565, 5e-5)
	near(t, "alpha", f.Kinds[1].Alpha, 0.2435, 5e-5)
	if f.Kinds[1].Avoided {
		t.Error("an electivity of −0.27 counts as avoided")
	}
	near(t, "eaten", f.Eaten.Grams(), 35, 1e-9)
}

// Eaten as it comes, every kind has the electivity 0 and the alpha 1/kinds, and
// what was eaten analyses as what was offered.
func TestNoSelection(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		mix := seeds(t)
		part := rapid.Float64Range(0.05, 0.9).Draw(rt, "left")
		all := 0.0
		for _, p := range mix {
			all += p.Mass.Grams()
		}
		left := map[string]float64{}
		for _, p := range mix {
			left[p.Form.Ref()] = 1000 * p.Mass.Grams() / all * part
		}
		f := bowlOf(t, mix, 1000, left)
		for _, k := range f.Kinds {
			if math.Abs(k.Electivity) > 1e-4 || math.Abs(k.Alpha-1/float64(len(mix))) > 1e-3 || k.Avoided {
				rt.Fatalf("%+v", k)
			}
		}
		for i, v := range f.Offered {
			if math.Abs(v.Mean-f.Got[i].Mean) > 1e-3*v.Mean {
				rt.Fatalf("%s: offered %v, eaten %v", v.Measure.Nutrient, v.Mean, f.Got[i].Mean)
			}
		}
	})
}

// Whoever leaves the wheat and eats the fat seeds is named, and the analysis of
// what was eaten shows it; with a mix-free day the advice is another.
func TestPicky(t *testing.T) {
	mix := seeds(t)
	d := gerbils(2).feed(mixByNeed())
	for i := range Day(2) {
		d.Bowls = append(d.Bowls, Bowl{Day: today - 2*i, Food: MixName, Offered: 20_000,
			Sorted: []Sorted{{Food: "wheat/whole", Left: 3_600}, {Food: "proso-millet/in-hull", Left: 1_000}}})
	}
	p := resolve(t, d, mix)
	f := p.Feedings()[0]
	fat := slices.IndexFunc(f.Offered, func(v analysis.Value) bool { return v.Measure.Nutrient == nutrient.CrudeFat })
	if f.Got[fat].Mean <= f.Offered[fat].Mean {
		t.Errorf("fat offered %v, eaten %v", f.Offered[fat].Mean, f.Got[fat].Mean)
	}
	ids := func(p *Plan) string {
		var list []string
		for _, a := range p.Advice() {
			list = append(list, a.ID)
			if a.ID == "skip" && !strings.Contains(a.Why, "wheat") {
				t.Errorf("why: %s", a.Why)
			}
		}
		return strings.Join(list, " ")
	}
	if got := ids(p); got != "skip scatter" {
		t.Errorf("every day from a dish: %q", got)
	}
	d.Foods[0].Days, d.Foods[0].Way = EveryDay&^Weekdays(0).With(5), Scatter
	if got := ids(resolve(t, d, mix)); got != "picky" {
		t.Errorf("with a day without mix, scattered: %q", got)
	}
	d.Foods[0].Days = EveryDay
	d.Animals[1].Breeding = Nursing
	if got := ids(resolve(t, d, mix)); got != "picky-tender" {
		t.Errorf("one of them nurses: %q", got)
	}
}

// A changeover over ten days adds up on each, and the new mix's share only
// grows.
func TestChangeover(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		g := nutrient.Mass(rapid.IntRange(1, 200_000).Draw(rt, "mg"))
		n := rapid.IntRange(0, 30).Draw(rt, "days")
		list := Changeover(today, n, g, nil)
		last := nutrient.Mass(-1)
		for _, s := range list {
			if s.Old+s.New != wholeGrams(g.Grams()) || s.Old%nutrient.Gram != 0 || s.New%nutrient.Gram != 0 || s.New < last || s.Old < 0 {
				rt.Fatalf("%+v of %v", s, g)
			}
			last = s.New
		}
		if end := list[len(list)-1]; end.Old != 0 || len(list) != max(n, 10*btoi(n == 0)) {
			rt.Fatalf("%d days, the last %+v", len(list), end)
		}
	})
}

func btoi(b bool) int {
	if b {
		return 1
	}
	return 0
}

// The stage follows from the day; the day before it is the old one, and the
// windows that change are named.
func TestStageByItself(t *testing.T) {
	at := func(age Day) *Plan {
		d := &Document{Species: "gerbil", Animals: []Animal{{Name: "A", Born: today - age}}}
		return resolve(t, d.feed(mixByNeed()), seeds(t))
	}
	if a, b := at(181).Animals[0], at(182).Animals[0]; a.Stage.ID != "growing" || b.Stage.ID != "adult" || a.Next.Day != today+1 || len(a.Next.Windows) != 3 {
		t.Errorf("%s, %s, %+v", a.Stage.ID, b.Stage.ID, a.Next)
	}
	for age, want := range map[Day]int{100: 0, 160: 10, 181: 10, 182: 10, 191: 10, 192: 0, 400: 0} {
		p := at(age)
		if got := len(p.Changeover()); got != want {
			t.Errorf("at %d days: a changeover of %d days, want %d", age, got, want)
		}
		if turn, ok := p.Turning(); ok && turn.From != today-age+182 {
			t.Errorf("at %d days: it begins on %v", age, turn.From)
		}
	}
	if f := at(1200).Animals[0]; f.Stage.ID != "senior" || f.Next != nil {
		t.Errorf("%s, %v", f.Stage.ID, f.Next)
	}
}

// The week lists each food on its days; rhythms run from their first day, and
// a day without mix is marked.
func TestWeekDays(t *testing.T) {
	d := gerbils(3).feed(Food{Food: MixName, Days: EveryDay &^ Weekdays(0).With(5), Times: 2}, Food{Food: "kale/fresh", Amount: Amount{Set: true, Mass: 6000, Unit: Grams}, Every: 3, From: today.Monday()},
		Food{Food: "mealworm/dried", Amount: Amount{Set: true, Count: 2, Unit: Pieces}, Each: true, Days: Weekdays(0).With(0), At: []string{"19:00"}})
	p := resolve(t, d, seeds(t))
	var got []string
	for _, day := range p.Week(today.Monday(), 7) {
		text := ""
		for _, e := range day.Entries {
			text += p.Foods[e.Food].Name()[:1]
		}
		got = append(got, text+map[bool]string{true: "!"}[day.MixFree])
	}
	if want := []string{"mk", "m", "m", "mk", "!", "m", "mkm"}; !slices.Equal(got, want) {
		t.Errorf("%v, want %v", got, want)
	}
	if worms := p.Week(today.Monday()+6, 1)[0].Entries[2]; worms.Amount.Count != 6 {
		t.Errorf("worms for three: %+v", worms)
	}
}

// Whole packs cover what the days take, less what is there, and never a whole
// pack too many; twice the weeks take no less.
func TestShopping(t *testing.T) {
	price := 2.5
	rapid.Check(t, func(rt *rapid.T) {
		f := grams("kale/fresh", rapid.Float64Range(0.5, 20).Draw(rt, "g"), Weekdays(rapid.IntRange(1, 127).Draw(rt, "days")))
		f.OnHand = nutrient.Mass(rapid.IntRange(0, 200_000).Draw(rt, "there"))
		f.Pack, f.Price = nutrient.Mass(rapid.IntRange(1, 300_000).Draw(rt, "pack")), &price
		p := resolve(t, gerbils(1).feed(f), nil)
		n := rapid.IntRange(1, 8).Draw(rt, "weeks")
		c := p.Shopping(today, n).Lines[0]
		if want := f.Amount.Mass * nutrient.Mass(f.Days.Count()*n); c.Need != want {
			rt.Fatalf("needs %v, want %v", c.Need, want)
		}
		bought := nutrient.Mass(c.Packs) * f.Pack
		if c.Have+bought < c.Need || c.Packs > 0 && c.Have+bought-f.Pack >= c.Need || math.Abs(*c.Cost-price*float64(c.Packs)) > 1e-9 {
			rt.Fatalf("%+v", c)
		}
		if p.Shopping(today, 2*n).Lines[0].Packs < c.Packs {
			rt.Fatal("twice the weeks take less")
		}
	})
}

// A shelf fills in what the document leaves open: what is on hand, packs and
// prices of the mix's ingredients and of the week's foods, none of it twice.
func TestShoppingFromAShelf(t *testing.T) {
	mix := seeds(t)
	d := gerbils(2).feed(grams(MixName, 10, EveryDay), grams("kale/fresh", 10, EveryDay), grams("parsley/dried", 1, EveryDay), grams(mix[0].Form.Ref(), 1, EveryDay))
	own := 9.0
	d.Foods[1].Pack, d.Foods[1].Price = 100*nutrient.Gram, &own
	d.Foods[2].OnHand = 3 * nutrient.Gram
	p := resolve(t, d, mix)
	cost, kilo, much := 4.0, 20.0, 1000*nutrient.Gram
	two := 20 * nutrient.Gram
	shelf := map[string]Shelved{
		"kale/fresh":      {Have: &two, Pack: 400 * nutrient.Gram, PackCost: &cost},
		"parsley/dried":   {Have: &much, Price: &kilo},
		mix[0].Form.Ref(): {Have: &two, Pack: 50 * nutrient.Gram, PackCost: &cost},
	}
	l := p.ShoppingFrom(today, 1, shelf)
	line := func(ref string) Purchase {
		for _, c := range l.Lines {
			if c.name() == ref {
				return c
			}
		}
		t.Fatalf("no line %s", ref)
		return Purchase{}
	}
	if c := line("kale/fresh"); c.Have != two || c.HaveBy != ByShelf || c.Packs != 1 || *c.Cost != own || c.PackBy != ByDocument || c.PriceBy != ByDocument {
		t.Errorf("kale, whose pack the document knows: %+v", c)
	}
	if c := line("parsley/dried"); c.Have != 3*nutrient.Gram || c.HaveBy != ByDocument || c.Packs != 0 || math.Abs(*c.Cost-0.08) > 1e-9 || c.PriceBy != ByShelf {
		t.Errorf("parsley, of which the document has 3 g: %+v", c)
	}
	made, all := nutrient.Mass(0), 0.0
	for _, c := range l.Lines {
		made += c.ToMix
	}
	for _, x := range mix {
		all += x.Mass.Grams()
	}
	if m := line(MixName); m.Buy != 70*nutrient.Gram || math.Abs((made-m.Buy).Grams()) > 0.01 {
		t.Errorf("of %v g of mix %v g are listed", m.Buy, made)
	}
	c := line(mix[0].Form.Ref())
	if want := 7 + 70*mix[0].Mass.Grams()/all; math.Abs(c.Need.Grams()-want) > 0.01 || c.Have != two || c.PackBy != ByShelf {
		t.Errorf("a seed of the mix that is also fed, %v g: %+v", want, c)
	}
	if l.All {
		t.Error("the other seeds have no price, and all is said to have one")
	}
	for _, c := range p.Shopping(today, 1).Lines {
		if c.Food < 0 || c.HaveBy == ByShelf || c.PriceBy == ByShelf {
			t.Errorf("without a shelf: %+v", c)
		}
	}
}

// What a document must not say, with the field.
func TestProblems(t *testing.T) {
	c, table := tables(t)
	one := func(f Food) *Document { return gerbils(1).feed(f) }
	for want, d := range map[string]*Document{
		"animal: nobody is fed":                {Species: "gerbil"},
		"species: \"gerbel\" is not known":     {Species: "gerbel", Animals: []Animal{{Name: "A"}}},
		"animal[1].name":                       {Species: "gerbil", Animals: []Animal{{Name: "A"}, {Name: "A"}}},
		"animal[0].stage":                      {Species: "gerbil", Animals: []Animal{{Name: "A", Stage: "old"}}},
		"weight[0].animal":                     {Species: "gerbil", Animals: []Animal{{Name: "A"}}, Weights: weighings("B", 0, 80)},
		"food[0].food: the mix is given":       one(mixByNeed()),
		"food[0]: kale/fresh has no amount":    one(Food{Food: "kale/fresh", Days: EveryDay}),
		"away[0].to: the time away ends":       {Species: "gerbil", Animals: []Animal{{Name: "A"}}, Away: []Away{{From: today, To: today - 1}}},
		"away[0].to: 200 days":                 {Species: "gerbil", Animals: []Animal{{Name: "A"}}, Away: []Away{{From: today, To: today + 200}}},
		"away[0]: a time away":                 {Species: "gerbil", Animals: []Animal{{Name: "A"}}, Away: []Away{{From: today}}},
		"change: the changeover":               {Species: "gerbil", Animals: []Animal{{Name: "A"}}, Change: &Change{}},
		"food[0].every":                        one(Food{Food: "kale/fresh", Every: 2, Amount: Amount{Set: true, Mass: 1000, Unit: Grams}}),
		"food[0].at_will":                      one(Food{Food: "kale/fresh", AtWill: true, Days: EveryDay}),
		"food[0].amount: how heavy a piece":    one(Food{Food: "kale/fresh", Amount: Amount{Set: true, Count: 1, Unit: Pieces}, Days: EveryDay}),
		"food[0].most: how heavy a piece":      one(Food{Food: "kale/fresh", Most: Amount{Set: true, Count: 1, Unit: Pieces}}),
		"food[0].food: \"chocolate\" is never": one(Food{Food: "chocolate", Days: EveryDay}),
	} {
		_, err := Resolve(d, c, table, nil, today)
		if err == nil || !strings.HasPrefix(err.Error(), want) {
			t.Errorf("got %v, want %s", err, want)
		}
	}
}

func ExamplePlan_Ledger() {
	c, table := exampleTables()
	d := &Document{Species: "gerbil",
		Animals: []Animal{{Name: "Brae", Born: today - 400}},
		Weights: []Weighing{{Day: today, Animal: "Brae", Mass: 80 * nutrient.Gram}},
		Lines:   []Line{{"oats/groats", 60 * nutrient.Gram}, {"proso-millet/in-hull", 40 * nutrient.Gram}},
		Foods:   []Food{{Food: MixName, Days: EveryDay}, {Food: "nettle/leaf-dried", Amount: Amount{Set: true, Count: 1, Unit: Teaspoons}, Days: EveryDay}},
	}
	p, err := Resolve(d, c, table, nil, today)
	if err != nil {
		fmt.Println(err)
		return
	}
	for _, s := range p.Ledger().Shortages()[:2] {
		fmt.Println(s.Target, s.Verdict)
	}
	// Output:
	// sodium low
	// crude_fibre low
}

func ExamplePlan_Mend() {
	c, table := exampleTables()
	d := &Document{Species: "gerbil",
		Animals: []Animal{{Name: "Brae", Born: today - 400}, {Name: "Whin", Born: today - 400}},
		Weights: []Weighing{{Day: today, Animal: "Brae", Mass: 80 * nutrient.Gram}, {Day: today, Animal: "Whin", Mass: 75 * nutrient.Gram}},
		Lines:   []Line{{"oats/groats", 60 * nutrient.Gram}, {"proso-millet/in-hull", 40 * nutrient.Gram}},
		Foods:   []Food{{Food: MixName, Days: EveryDay}, {Food: "parsley/dried"}, {Food: "eggshell/ground"}}, // two stand on the shelf
	}
	p, err := Resolve(d, c, table, nil, today)
	if err != nil {
		fmt.Println(err)
		return
	}
	m, err := p.Mend(context.Background(), MendOptions{Targets: []Target{{Nutrient: nutrient.Calcium}}})
	if err != nil {
		fmt.Println(err)
		return
	}
	for _, c := range m.Changes {
		for _, l := range c.Lines {
			fmt.Println(l.Food, l.Amount.Count, l.Amount.Unit, l.Days.Names())
		}
	}
	fmt.Println(m.Proved)
	// Output:
	// eggshell/ground 0.125 tsp [mon wed fri]
	// true
}
