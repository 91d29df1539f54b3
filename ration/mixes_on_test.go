package ration

import (
	"testing"

	"firlot/nutrient"
)

// On every day of a time away it is known which mix is given: the old one
// before the changeover, both while it goes on, the new one after it. A day
// without mix has none, and nobody is told of a changeover that begins later.
func TestWhichMixIsGiven(t *testing.T) {
	sunday := Weekdays(0).With(0)
	d := gerbils(2).feed(grams(MixName, 10, EveryDay&^sunday), grams(MixName, 2, EveryDay&^sunday))
	d.Change = &Change{Mix: "winter", From: today + 2, Days: 5}
	d.Away = []Away{{From: today, To: today + 9}}
	p := resolve(t, d, seeds(t))
	list := p.MixesOn(today, 10)
	if len(list) != 10 {
		t.Fatalf("%d days of 10", len(list))
	}
	planned := map[Day]Shift{}
	for _, s := range p.Changeover() {
		planned[s.Day] = s
	}
	for i, s := range list {
		fed := s.Day.Weekday() != 0
		if s.Day != today+Day(i) || s.Fed != fed {
			t.Errorf("day %d: %+v", i, s)
		}
		want := Shift{Day: s.Day, Fed: fed, Share: 1, New: 12 * nutrient.Gram}
		if i < 2 {
			want = Shift{Day: s.Day, Fed: fed, Old: 12 * nutrient.Gram}
		}
		if !fed {
			want.Old, want.New = 0, 0
		}
		if x, ok := planned[s.Day]; ok {
			want = x
		}
		if s != want {
			t.Errorf("day %d: %+v, want %+v", i, s, want)
		}
	}
	if got := p.MixesOn(today-5, 7); got != nil {
		t.Errorf("told of a changeover that begins the day after: %+v", got)
	}
	if got := p.MixesOn(today-5, 8); len(got) != 8 {
		t.Errorf("not told of a changeover that begins on the last day: %+v", got)
	}
	d.Change = nil
	if got := resolve(t, d, seeds(t)).MixesOn(today, 10); got != nil {
		t.Errorf("one mix only, and yet: %+v", got)
	}
}

// Two mixes in one portion are weighed out, also where the portion itself is
// told in spoons.
func TestAChangeoverTakesAScale(t *testing.T) {
	d := gerbils(2).feed(Food{Food: MixName, Amount: Amount{Set: true, Count: 2, Unit: Tablespoons}, Days: EveryDay})
	d.Away = []Away{{From: today, To: today + 3}}
	if s := resolve(t, d, seeds(t)).Sittings()[0]; s.Scales {
		t.Fatal("spoons alone take a scale")
	}
	d.Change = &Change{From: today + 3, Days: 5}
	if s := resolve(t, d, seeds(t)).Sittings()[0]; !s.Scales {
		t.Error("a day of both mixes takes none")
	}
	d.Change.From = today - 4 // its last day is today: the new mix alone
	if s := resolve(t, d, seeds(t)).Sittings()[0]; s.Scales {
		t.Error("the new mix alone takes a scale")
	}
}

// Of a mix of less than half a gram a day nothing is weighed out, and it is
// still said which one it is.
func TestATinyMixIsOneOfThem(t *testing.T) {
	d := gerbils(2)
	d.Foods = append(d.Foods, Food{Food: MixName, Amount: Amount{Set: true, Mass: 400 * nutrient.Milligram, Unit: Grams}, Days: EveryDay})
	d.Change = &Change{From: today + 2, Days: 4}
	list := resolve(t, d, seeds(t)).MixesOn(today, 8)
	if len(list) != 8 {
		t.Fatalf("%d days", len(list))
	}
	for i, s := range list {
		if newOne, one := s.OneMix(); !one || newOne != (i >= 3) {
			t.Errorf("day %d: %+v: new %v, one %v", i, s, newOne, one)
		}
	}
	for _, c := range []struct {
		s           Shift
		newOne, one bool
	}{{Shift{Old: 1, Share: 0.1}, false, true}, {Shift{Old: 1, New: 2, Share: 0.7}, false, false}, {Shift{New: 2, Share: 0.9}, true, true}} {
		if newOne, one := c.s.OneMix(); newOne != c.newOne || one != c.one {
			t.Errorf("%+v: new %v, one %v", c.s, newOne, one)
		}
	}
}
