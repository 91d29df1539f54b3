package files

import (
	"os"
	"reflect"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"firlot/ration"
)

const withSpoon = `species = "gerbil"

[own_spoon] # the one on the hook
name = "the blue scoop"
holds = "7.5 g"
ml = 12.5

[[food]]
food = "mix"
amount = "2 spoons" # a morning
days = "daily"
`

// A spoon of the keeper's own is read, written and read back as it is, and an
// amount in it is changed in place.
func TestOwnSpoonReadsBack(t *testing.T) {
	f, err := Parse("w", []byte(withSpoon))
	if err != nil {
		t.Fatal(err)
	}
	want := &ration.OwnSpoon{Name: "the blue scoop", Holds: 7_500, ML: 12.5}
	if diff := cmp.Diff(want, f.Document.OwnSpoon); diff != "" {
		t.Error(diff)
	}
	if a := f.Document.Foods[0].Amount; a != (ration.Amount{Set: true, Count: 2, Unit: ration.OwnSpoons}) {
		t.Errorf("%+v", a)
	}
	for _, o := range []*ration.OwnSpoon{want, {Holds: 1}, {ML: 0.3}, {Name: "a \"scoop\"", ML: ration.MostSpoonML}, {Holds: ration.MostSpoon}, nil} {
		d := *f.Document
		d.OwnSpoon = o
		again, err := Parse("again", Format(&d))
		if err != nil {
			t.Errorf("%+v: %v\n%s", o, err, Format(&d))
			continue
		}
		if diff := cmp.Diff(&d, again.Document); diff != "" {
			t.Error(diff)
		}
	}
	for count, text := range map[float64]string{3: `"3 spoons" # a morning`, 1: `"1 spoon" # a morning`, 0.25: `"0.25 spoons" # a morning`} {
		foods := append([]ration.Food(nil), f.Document.Foods...)
		foods[0].Amount.Count = count
		out, err := f.WithFoods(foods)
		if err != nil || !strings.Contains(string(out), text) || !strings.Contains(string(out), "[own_spoon] # the one on the hook") {
			t.Errorf("%v: %v\n%s", count, err, out)
		}
	}
}

// What is wrong with it is told with its place.
func TestOwnSpoonComplaints(t *testing.T) {
	for text, want := range map[string]string{
		"[own_spoon]":                                 "own_spoon: does not say what the spoon holds",
		"[own_spoon]\nname = 'x'":                     "own_spoon: does not say what the spoon holds",
		"[own_spoon]\nholds = '0 g'":                  "w:2:1: own_spoon.holds: 0 g is not what a spoon holds",
		"[own_spoon]\nholds = '501 g'":                "w:2:1: own_spoon.holds: 501 g is not what a spoon holds; it is more than nothing and at most 500 g",
		"[own_spoon]\nholds = '7.5'":                  "w:2:1: own_spoon.holds",
		"[own_spoon]\nml = 0":                         "w:2:1: own_spoon.ml: 0 is not what a spoon holds",
		"[own_spoon]\nml = -1":                        "own_spoon.ml: -1 is not what a spoon holds",
		"[own_spoon]\nml = nan":                       "own_spoon.ml: NaN is not what a spoon holds",
		"[own_spoon]\nml = 1001":                      "at most 1000 mL",
		"[own_spoon]\nml = '12 mL'":                   "w:2",
		"[own_spoon]\nhold = '7 g'":                   `did you mean "holds"?`,
		"[[food]]\nfood = 'mix'\namount = '2 spons'":  `did you mean "spoons"?`,
		"[[food]]\nfood = 'mix'\namount = '-1 spoon'": "-1 is out of range",
	} {
		_, err := Parse("w", []byte(text))
		if err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%q: got %v, want it to contain %q", text, err, want)
		}
	}
}

// The page about the document names every key of the table.
func TestOwnSpoonIsOnThePage(t *testing.T) {
	page, err := os.ReadFile("../../docs/week-document.md")
	if err != nil {
		t.Fatal(err)
	}
	typ := reflect.TypeOf(rawSpoon{})
	for i := range typ.NumField() {
		if key := typ.Field(i).Tag.Get("toml"); !strings.Contains(string(page), "| `"+key+"` |") {
			t.Errorf("the page lacks %s", key)
		}
	}
}
