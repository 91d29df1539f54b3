package ration

import (
	"fmt"
	"math"
	"slices"
	"testing"

	"pgregory.net/rapid"

	"firlot/analysis"
	"firlot/catalog"
	"firlot/needs"
	"firlot/nutrient"
)

// unknownTurns: a figure that is taken away never makes a verdict of enough,
// and never of too much held.
func TestUnknownNeverCountsAsEnough(t *testing.T) {
	refs := []string{"kale/fresh", "nettle/leaf-dried", "parsley/dried", "brewers-yeast/dried", "mealworm/dried", "carrot/fresh", "chard/fresh"}
	rapid.Check(t, func(rt *rapid.T) {
		d := gerbils(2).feed(mixByNeed())
		for _, ref := range refs {
			if g := rapid.Float64Range(0, 6).Draw(rt, ref); g > 1 {
				d.feed(grams(ref, g, EveryDay))
			}
		}
		mix := seeds(t)
		before := resolve(t, d, mix).Ledger().Accounts[0]
		k := rapid.SampledFrom([]nutrient.Key{nutrient.Calcium, nutrient.Iron, nutrient.VitaminA, nutrient.Riboflavin, nutrient.Lysine, nutrient.Zinc}).Draw(rt, "figure")
		i := rapid.IntRange(0, len(mix)-1).Draw(rt, "seed")
		blank := *mix[i].Form
		blank.Figures = map[nutrient.Key]catalog.Figure{}
		blank.EatenAs = ""
		mix[i].Form.Figures = cloneFigures(mix[i].Form.Kernel())
		for key, f := range mix[i].Form.Kernel().Figures {
			if key != k {
				blank.Figures[key] = f
			}
		}
		whole := blank
		whole.Figures = mix[i].Form.Kernel().Figures
		mix[i].Form = &whole
		before = resolve(t, d, mix).Ledger().Accounts[0]
		mix[i].Form = &blank
		after := resolve(t, d, mix).Ledger().Accounts[0]
		for j, r := range before.Rows {
			s := after.Rows[j]
			if r.Verdict == Low && s.Verdict == Inside || r.Verdict == High && s.Verdict == Inside || r.Verdict == NotKnown && s.Verdict == Inside {
				rt.Fatalf("%s without %s in %s: %s became %s", r.Nutrient, k, blank.Ref(), r.Verdict, s.Verdict)
			}
			if s.Known > r.Known+1e-12 || s.Got.Low > r.Got.Low+1e-9 || s.Got.High < r.Got.High-1e-9 {
				rt.Fatalf("%s: taking a figure away made more known: %+v, %+v", r.Nutrient, r, s)
			}
		}
	})
}

func cloneFigures(f *catalog.Form) map[nutrient.Key]catalog.Figure { return f.Figures }

// The ledger is the sum of its parts, and of its foods taken one by one.
func TestSumOfParts(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		p := resolve(t, randomWeek(rt), seeds(t))
		for _, a := range p.Ledger().Accounts {
			for _, r := range a.Rows {
				sum := 0.0
				for _, q := range r.Parts {
					sum += q.Amount
				}
				if math.Abs(sum-r.Got.Mean) > 1e-9*(1+math.Abs(sum)) {
					rt.Fatalf("%s %s: parts %v, in all %v", r.Nutrient, r.Per, sum, r.Got.Mean)
				}
				if r.Got.Low > r.Got.Mean+1e-9 || r.Got.High < r.Got.Mean-1e-9 {
					rt.Fatalf("%s: %+v", r.Nutrient, r.Got)
				}
				if r.By == ByRatio {
					continue
				}
				alone := 0.0
				_, per := DayUnit(r.Nutrient)
				for _, s := range p.Foods {
					v := analysis.Of(p.portions(s), analysis.Measure{Nutrient: r.Nutrient, Basis: nutrient.AsFed, On: needs.Eaten})
					alone += v.Mean * v.KnownShare * eatenOf(p.portions(s)) * s.PerDay.Mean * per * a.Share
				}
				if math.Abs(alone-r.Got.Mean) > 1e-6*(1+alone) {
					rt.Fatalf("%s: one by one %v, in the ledger %v", r.Nutrient, alone, r.Got.Mean)
				}
			}
		}
	})
}

func (p *Plan) portions(s Served) []analysis.Portion {
	if s.Form == nil {
		return p.Mix
	}
	return []analysis.Portion{{Form: s.Form, Mass: nutrient.Gram}}
}

// eatenOf is the part of a mix that is eaten.
func eatenOf(mix []analysis.Portion) float64 {
	all, eaten := 0.0, 0.0
	for _, p := range mix {
		hull, left := p.Form.HullShares()
		all += p.Mass.Grams()
		eaten += p.Mass.Grams() * (1 - hull*left)
	}
	return eaten / all
}

// Twice the group with twice the food: nothing changes for one animal.
func TestScalingTheGroup(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		one := randomWeek(rt)
		k := rapid.IntRange(2, 5).Draw(rt, "times")
		many := one.Copy()
		many.Animals, many.Weights = nil, nil
		for i := range k {
			for _, a := range one.Animals {
				a.Name = fmt.Sprint(a.Name, i)
				many.Animals = append(many.Animals, a)
			}
			for _, w := range one.Weights {
				w.Animal = fmt.Sprint(w.Animal, i)
				many.Weights = append(many.Weights, w)
			}
		}
		for i := range many.Foods {
			if !many.Foods[i].Each {
				many.Foods[i].Amount.Count *= float64(k)
				many.Foods[i].Amount.Mass *= nutrient.Mass(k)
			}
		}
		a, b := resolve(t, one, seeds(t)), resolve(t, many, seeds(t))
		for i := range a.Foods {
			if x, y := a.Foods[i].PerDay.Mean*float64(k), b.Foods[i].PerDay.Mean; math.Abs(x-y) > 1e-9*(1+x) {
				rt.Fatalf("%s: %v for %d times %v", a.Foods[i].Name(), y, k, x/float64(k))
			}
		}
		la, lb := a.Ledger(), b.Ledger()
		for i, acc := range la.Accounts {
			for j, r := range acc.Rows {
				s := lb.Accounts[i].Rows[j]
				if r.Verdict != s.Verdict || math.Abs(r.Got.Mean-s.Got.Mean) > 1e-9*(1+r.Got.Mean) {
					rt.Fatalf("%s: %s %v became %s %v", r.Nutrient, r.Verdict, r.Got, s.Verdict, s.Got)
				}
			}
		}
	})
}

// randomWeek is a group with a mix by need or by weight and some foods.
func randomWeek(rt *rapid.T) *Document {
	d := gerbils(rapid.IntRange(1, 4).Draw(rt, "animals"))
	if rapid.Bool().Draw(rt, "by need") {
		d.feed(mixByNeed())
	} else {
		d.feed(grams(MixName, rapid.Float64Range(5, 40).Draw(rt, "mix"), EveryDay))
	}
	for _, ref := range []string{"kale/fresh", "lettuce/romaine", "nettle/leaf-dried", "parsley/dried", "carrot/fresh"} {
		if rapid.Bool().Draw(rt, ref) {
			d.feed(grams(ref, rapid.Float64Range(0.5, 5).Draw(rt, "grams"), Weekdays(rapid.IntRange(1, 127).Draw(rt, "days"))))
		}
	}
	if rapid.Bool().Draw(rt, "hay") {
		d.feed(Food{Food: "timothy-hay/cut", AtWill: true})
	}
	if rapid.Bool().Draw(rt, "worms") {
		d.feed(Food{Food: "mealworm/dried", Amount: Amount{Set: true, Count: 2, Unit: Pieces}, Each: true, Every: 4, From: today - 1})
	}
	return d
}

// No food whose oxalate is known, but for the oxalate plants, holds more than
// what stands in for its class; and those are all known.
func TestStandInsCoverTheCatalogue(t *testing.T) {
	c, _ := tables(t)
	known := 0
	for _, f := range c.Forms() {
		o, ok := f.Figures[nutrient.Oxalate]
		plant := slices.Contains(oxalatePlants, f.Ingredient.ID)
		if !ok {
			if plant && f.Ingredient.ID != "sesame" {
				t.Errorf("the oxalate of %s is not known", f.Ref())
			}
			continue
		}
		known++
		if v, ok := nutrient.ToDryMatter(o.Mean, f.Figures[nutrient.Moisture].Mean); !ok || v > standIn(f) && !plant {
			t.Errorf("%s holds %v %% oxalate in its dry matter; %v stands in for its class", f.Ref(), v, standIn(f))
		}
	}
	if known < 60 {
		t.Errorf("only %d are known", known)
	}
}

// How much hay is eaten is not known: a diet whose fibre hangs on it has no
// verdict.
func TestHayIsNotKnown(t *testing.T) {
	with := resolve(t, gerbils(1).feed(mixByNeed(), Food{Food: "timothy-hay/cut", AtWill: true}), seeds(t)).Ledger().Accounts[0]
	none := resolve(t, gerbils(1).feed(mixByNeed()), seeds(t)).Ledger().Accounts[0]
	much := resolve(t, gerbils(1).feed(mixByNeed(), Food{Food: "timothy-hay/cut", AtWill: true, EatenLow: 3000, EatenHigh: 4000}), seeds(t)).Ledger().Accounts[0]
	got := []Verdict{none.row(nutrient.CrudeFibre, "").Verdict, with.row(nutrient.CrudeFibre, "").Verdict, much.row(nutrient.CrudeFibre, "").Verdict}
	if !slices.Equal(got, []Verdict{Low, NotKnown, Inside}) {
		t.Errorf("fibre without hay, with hay at will, with 3 to 4 g: %v", got)
	}
}

// A row that is not known says why: a figure that is wholly known hangs on how
// much is eaten, and one that is open whatever is eaten on the tables.
func TestOpenSaysWhy(t *testing.T) {
	hay := Food{Food: "timothy-hay/cut", AtWill: true}
	with := resolve(t, gerbils(1).feed(mixByNeed(), hay), seeds(t)).Ledger().Accounts[0]
	if r := with.row(nutrient.CrudeFibre, ""); r.Verdict != NotKnown || r.Known < 0.9995 || r.Open != OpenAmounts {
		t.Errorf("fibre that hangs on the hay: %s, known %v, %q", r.Verdict, r.Known, r.Open)
	}
	if r := with.row(nutrient.VitaminD, ""); r.Verdict != NotKnown || r.Open != OpenFigures {
		t.Errorf("vitamin D, which the tables lack: %s, %q", r.Verdict, r.Open)
	}
	none := resolve(t, gerbils(1).feed(grams("kale/fresh", 0, EveryDay)), nil).Ledger().Accounts[0]
	if r := none.row(nutrient.Lysine, ""); r.Verdict != NotKnown || r.Open != OpenNothing {
		t.Errorf("lysine of nothing: %s, %q", r.Verdict, r.Open)
	}
	for _, d := range []*Document{gerbils(1).feed(mixByNeed(), hay), gerbils(2).feed(mixByNeed()), gerbils(3).feed(grams("kale/fresh", 3, EveryDay), hay)} {
		a := resolve(t, d, seeds(t)).Ledger().Accounts[0]
		for _, r := range a.Rows {
			switch loose := len(d.Foods) > 1 && d.Foods[1].AtWill; {
			case (r.Verdict == NotKnown) != (r.Open != Settled),
				(r.Open == OpenFigures || r.Open == OpenBoth) && r.Known >= 0.9995,
				r.Open == OpenAmounts && r.Known < 0.9995,
				(r.Open == OpenAmounts || r.Open == OpenBoth) && !loose:
				t.Errorf("%v: %s, known %v, %q", r.Target(), r.Verdict, r.Known, r.Open)
			}
		}
	}
}

// A ledger of 30 animals and 40 foods.
func BenchmarkLedger(b *testing.B) {
	d := gerbils(30).feed(mixByNeed())
	c, n := tables(b)
	i := 0
	for _, f := range c.Forms() {
		if o := OriginOf(f); o != FromExtras && i < 39 {
			d.feed(grams(f.Ref(), 5, Weekdays(1+i)))
			i++
		}
	}
	mix := seeds(b)
	b.ReportAllocs()
	for b.Loop() {
		p, err := Resolve(d, c, n, mix, today)
		if err != nil {
			b.Fatal(err)
		}
		if l := p.Ledger(); len(p.Foods) != 40 || len(l.Accounts) != 1 {
			b.Fatal(len(p.Foods), len(l.Accounts))
		}
	}
}

// A group that is given nothing, or nothing that nourishes, has enough of
// nothing: needs go with what is eaten, and nought of nought is not enough.
func TestNothingIsNotEnough(t *testing.T) {
	for name, d := range map[string]*Document{"nothing": gerbils(2), "no amount": gerbils(2).feed(grams("kale/fresh", 0, EveryDay))} {
		a := resolve(t, d, nil).Ledger().Accounts[0]
		for _, r := range a.Rows {
			if r.Least != nil && r.Verdict == Inside {
				t.Errorf("%s: %s is inside", name, r.Target())
			}
		}
	}
	chalk := resolve(t, gerbils(2).feed(grams("calcium-carbonate/powder", 0.1, EveryDay)), nil).Ledger().Accounts[0]
	if v := chalk.row(nutrient.Lysine, "").Verdict; v == Inside {
		t.Errorf("chalk alone: lysine is %s", v)
	}
}

// What could only be high is no shortage, although it is not known.
func TestHighPerhapsIsNoShortage(t *testing.T) {
	hay := Food{Food: "timothy-hay/cut", AtWill: true}
	found := false
	for g := 0.0; g < 2; g += 0.1 {
		l := resolve(t, gerbils(2).feed(grams(MixName, 6, EveryDay), grams("sunflower/kernel", g, EveryDay), hay), seeds(t)).Ledger()
		r := l.Accounts[0].row(nutrient.CrudeFat, "")
		if r.Verdict != NotKnown || r.Got.Mean < (*r.Least+*r.Most)/2 {
			continue
		}
		found = true
		for _, s := range l.Shortages() {
			if s.Target.Nutrient == nutrient.CrudeFat {
				t.Fatalf("crude fat may be high and counts as a shortage: %+v", r)
			}
		}
	}
	if !found {
		t.Error("no amount of sunflower made crude fat not known")
	}
}

// A figure that no food of the week has has no mean; nought would be one.
func TestUnknownHasNoMean(t *testing.T) {
	p := resolve(t, gerbils(2).feed(Food{Food: "birch-leaf/dried", Amount: Amount{Set: true, Mass: nutrient.Gram, Unit: Grams}, Days: EveryDay}), nil)
	for _, r := range p.Ledger().Accounts[0].Rows {
		if r.By != ByNeed && r.Known == 0 && r.Got.HasMean {
			t.Errorf("%s is known for nothing and reads %v", r.Target(), r.Got.Mean)
		}
	}
}
