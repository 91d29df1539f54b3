package ration

import (
	"math"
	"slices"
	"strings"
	"testing"

	"firlot/nutrient"
)

// What is likely a slip of the pen is said: a birth yet to come, a weight that
// no animal of the kind has. What is not known of many is said once.
func TestSlips(t *testing.T) {
	notes := func(d *Document) string { return strings.Join(resolve(t, d, nil).Notes, "\n") }
	d := gerbils(2)
	if got := notes(d); got != "" {
		t.Errorf("two plain gerbils: %s", got)
	}
	d.Animals[1].Born = today + 1
	if got := notes(d); !strings.Contains(got, "yet to come") || len(resolve(t, d, nil).Animals) != 1 {
		t.Errorf("born tomorrow: %q", got)
	}
	for g, want := range map[float64]bool{8: true, 41: true, 43: false, 229: false, 231: true, 780: true} {
		d := gerbils(1)
		d.Weights[0].Mass = milligrams(g)
		if got := strings.Contains(notes(d), "written down right"); got != want {
			t.Errorf("%v g is doubted: %v", g, got)
		}
	}
	d = gerbils(1)
	d.Animals[0].Born, d.Weights[0].Mass = today-40, milligrams(20)
	if got := notes(d); got != "" {
		t.Errorf("a pup of 20 g: %s", got)
	}
	d = gerbils(30)
	d.Weights = nil
	if got := resolve(t, d, nil).Notes; len(got) != 1 || !strings.Contains(got[0], "were never weighed") {
		t.Errorf("thirty that were never weighed: %v", got)
	}
}

// A mouse's mix is handed out in tenths of a gram, a group's in whole grams.
func TestHandedGrams(t *testing.T) {
	for g, want := range map[float64]nutrient.Mass{0.04: 0, 0.42: 400, 3.14: 3100, 9.94: 9900, 9.96: 10_000, 28.4: 28_000} {
		if got := HandedGrams(g); got != want {
			t.Errorf("%v g: %v", g, got)
		}
	}
}

// An animal that left the group sends nobody to the veterinarian.
func TestSignsOfTheGone(t *testing.T) {
	d := gerbils(2)
	d.Sightings = []Sighting{{Day: today - 2, Animal: d.Animals[0].Name, What: Blood}}
	vet := func() bool {
		return slices.ContainsFunc(resolve(t, d, nil).Advice(), func(a Advice) bool { return a.ID == "sign" })
	}
	if !vet() {
		t.Error("blood, and no veterinarian")
	}
	if d.Animals[0].Gone = today - 1; vet() {
		t.Error("an animal that is gone is sent to the veterinarian")
	}
}

// Who leaves nearly everything is sent to the veterinarian, and no portion is
// cut by more than half at a time.
func TestHardlyEaten(t *testing.T) {
	advice := func(left nutrient.Mass) Advice {
		d := gerbils(1).feed(mixByNeed())
		for i := range Day(3) {
			d.Bowls = append(d.Bowls, Bowl{Day: today - i, Food: MixName, Offered: 10_000, HasLeft: true, Left: left})
		}
		return resolve(t, d, seeds(t)).Advice()[0]
	}
	for left, want := range map[nutrient.Mass]string{3_000: "about 72 %", 7_400: "about 50 %"} {
		if a := advice(left); a.ID != "smaller" || !strings.Contains(a.Text, want) {
			t.Errorf("%v of 10 g left: %+v", left, a)
		}
	}
	for _, left := range []nutrient.Mass{7_500, 10_000} {
		if a := advice(left); a.ID != "not-eaten" || !a.Vet {
			t.Errorf("%v of 10 g left: %+v", left, a)
		}
	}
}

// A pup that was never weighed is not taken to weigh what a grown one does.
func TestPupNeverWeighed(t *testing.T) {
	at := func(age Day) Fed {
		return resolve(t, &Document{Species: "gerbil", Animals: []Animal{{Name: "A", Born: today - age}}}, nil).Animals[0]
	}
	near(t, "on its first day", at(0).Weight, 10.25, 1e-9) // a tenth of 102.5
	near(t, "91 days", at(91).Weight, 102.5/math.Sqrt2, 1e-9)
	near(t, "grown", at(182).Weight, 102.5, 1e-9)
	if grown := at(400).Need.Mean; at(40).Need.Mean > 1.5*grown || at(5).Need.Mean > grown {
		t.Errorf("kcal at 5, 40 and 400 days: %v, %v, %v", at(5).Need.Mean, at(40).Need.Mean, grown)
	}
}
