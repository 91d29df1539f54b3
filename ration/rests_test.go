package ration

import (
	"slices"
	"testing"

	"firlot/nutrient"
)

// Food whose time is yet to come is on nobody's plate this week, and yet on the
// sitter's sheet, on the shopping list and in the weeks to come; food that is
// over is gone.
func TestFoodToCome(t *testing.T) {
	kale := grams("kale/fresh", 6, EveryDay)
	kale.From, kale.Until = today+20, today+40
	over := grams("carrot/fresh", 5, EveryDay)
	over.Until = today - 1
	last := grams("cucumber/fresh", 10, Weekdays(0).With(1)) // Mondays, until the Thursday before
	last.Until = today + 1
	plain := gerbils(2).feed(mixByNeed())
	d := gerbils(2).feed(mixByNeed(), kale, over, last)
	d.Away = []Away{{From: today + 20, To: today + 22}}
	p, q := resolve(t, d, seeds(t)), resolve(t, plain, seeds(t))
	if a, b := p.Ledger().Accounts[0].row(nutrient.Calcium, "").Got, q.Ledger().Accounts[0].row(nutrient.Calcium, "").Got; a != b {
		t.Errorf("this week's calcium is %v, without what is to come %v", a, b)
	}
	sat := p.Sittings()[0].Days[0]
	if !slices.ContainsFunc(sat.Entries, func(e Entry) bool { return p.Foods[e.Food].Name() == "kale/fresh" }) {
		t.Errorf("the sitter is not told of the kale: %+v", sat)
	}
	need := map[string]nutrient.Mass{}
	for _, c := range p.Shopping(today, 8).Lines {
		need[p.Foods[c.Food].Name()] = c.Need
	}
	if need["kale/fresh"] != 21*6*nutrient.Gram {
		t.Errorf("eight weeks take %v of kale", need["kale/fresh"])
	}
	if _, ok := need["carrot/fresh"]; ok {
		t.Error("what is over is bought")
	}
	if _, ok := need["cucumber/fresh"]; ok {
		t.Error("what comes on no day is bought")
	}
	if n := len(p.Week(today+20, 1)[0].Entries); n != 2 {
		t.Errorf("%d foods on the kale's first day", n)
	}
}

// A summer and a winter line of the mix by need are no two places at once, not
// even in the week in which one follows the other.
func TestMixBySeason(t *testing.T) {
	summer, winter := mixByNeed(), mixByNeed()
	summer.Until, winter.From = today+2, today+3
	for _, foods := range [][]Food{{summer, winter}, {winter, summer}} {
		p := resolve(t, gerbils(2).feed(foods...), seeds(t))
		for i, d := range p.Week(today, 7) {
			if len(d.Entries) != 1 || d.MixFree || d.Entries[0].Amount.Mass == 0 {
				t.Errorf("day %d: %+v", i, d)
			}
		}
		one := resolve(t, gerbils(2).feed(mixByNeed()), seeds(t))
		if a, b := p.MixOf(0), one.MixOf(0); a != b {
			t.Errorf("%v a day, want %v", a, b)
		}
	}
}

// A changeover shows what every line of the mix gives, and one that is over
// makes way for that of a change of stage.
func TestChangeoverOfAllLines(t *testing.T) {
	weekend := Weekdays(0).With(6).With(0)
	d := gerbils(2).feed(grams(MixName, 10, EveryDay&^weekend), grams(MixName, 8, weekend))
	p := resolve(t, d, seeds(t))
	for _, s := range p.ChangeoverFrom(today, 10) {
		want := 10 * nutrient.Gram
		if weekend.On(s.Day.Weekday()) {
			want = 8 * nutrient.Gram
		}
		if !s.Fed || s.Old+s.New != want {
			t.Errorf("%v: %+v, want %v", s.Day.Weekday(), s, want)
		}
	}
	d.Change = &Change{Mix: "x", From: today - 10}
	if turn, ok := resolve(t, d, seeds(t)).Turning(); ok {
		t.Errorf("ten days after it began it is over: %+v", turn)
	}
	d.Change.From++
	if turn, ok := resolve(t, d, seeds(t)).Turning(); !ok || turn.Animal != -1 {
		t.Errorf("on its last day it goes on: %+v", turn)
	}
	d.Change.From--
	d.Animals[0].Born = today - 181
	if turn, ok := resolve(t, d, seeds(t)).Turning(); !ok || turn.Animal != 0 {
		t.Errorf("another animal's change of stage: %+v", turn)
	}
}
