package files

import (
	"bytes"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"firlot/analysis"
	catfiles "firlot/catalog/files"
	needfiles "firlot/needs/files"
	"firlot/nutrient"
	"firlot/ration"
)

func examples(t testing.TB) []string {
	t.Helper()
	names, err := filepath.Glob("../../examples/weeks/*.toml")
	if err != nil || len(names) == 0 {
		t.Fatal("no examples", err)
	}
	return names
}

func read(t testing.TB, name string) *File {
	t.Helper()
	f, err := Read(name)
	if err != nil {
		t.Fatal(err)
	}
	return f
}

// Writing a document and reading it again changes nothing.
func TestFormatReadsBack(t *testing.T) {
	for _, name := range examples(t) {
		f := read(t, name)
		again, err := Parse(name, Format(f.Document))
		if err != nil {
			t.Fatalf("%s: %v\n%s", name, err, Format(f.Document))
		}
		if diff := cmp.Diff(f.Document, again.Document); diff != "" {
			t.Errorf("%s: %s", name, diff)
		}
	}
}

// Records join at the end; the rest of the text stays byte for byte.
func TestRecordsJoin(t *testing.T) {
	f := read(t, examples(t)[0])
	day, _ := ration.ParseDay("2026-11-22")
	text, err := f.WithRecords(Records{
		Weights:   []ration.Weighing{{Day: day, Animal: "Brae", Mass: 78_200}},
		Bowls:     []ration.Bowl{{Day: day, Food: "mix", Offered: 20 * nutrient.Gram, HasLeft: true, Sorted: []ration.Sorted{{Food: "oats/groats", Left: 500}, {Food: "linseed/whole", Left: 0}}}},
		Sightings: []ration.Sighting{{Day: day, What: ration.LooseStool, Note: "a \"note\""}},
	})
	if err != nil {
		t.Fatal(err)
	}
	if !bytes.HasPrefix(text, f.Text()) {
		t.Error("the text before changed")
	}
	again, err := Parse("again", text)
	if err != nil {
		t.Fatal(err)
	}
	if n := len(again.Document.Weights) - len(f.Document.Weights); n != 1 || again.Document.Sightings[1].What != ration.LooseStool {
		t.Errorf("%d weighings joined", n)
	}
}

// Foods are changed in place, however they are written.
func TestFoodsInPlace(t *testing.T) {
	for _, text := range []string{
		"[[food]]\n# words\nfood = \"kale/fresh\" # more\namount = \"3 g\"\ndays = [\"mon\", # [\n \"tue\"]\n",
		"food = [ { food = 'kale/fresh', amount = '3 g', days = 'daily' } ]\n",
		"\xef\xbb\xbf[[food]]\r\nfood = \"kale/fresh\"\r\nnote = \"shelf\"\r\n",
		"[[food]]\nfood = \"kale/fresh\"",
	} {
		f, err := Parse("x", []byte(text))
		if err != nil {
			t.Fatal(err)
		}
		foods := append([]ration.Food(nil), f.Document.Foods...)
		foods[0].Amount = ration.Amount{Set: true, Count: 1.25, Unit: ration.Teaspoons}
		foods[0].Days = ration.Weekdays(0).With(5).With(0)
		out, err := f.WithFoods(foods)
		if err != nil {
			t.Errorf("%q: %v", text, err)
			continue
		}
		for _, word := range []string{"# words", "# more", "note = \"shelf\""} {
			if strings.Contains(text, word) != strings.Contains(string(out), word) {
				t.Errorf("%q was lost from %q", word, out)
			}
		}
		again, err := Parse("y", out)
		if err != nil || again.Document.Foods[0].Amount != foods[0].Amount || again.Document.Foods[0].Days != foods[0].Days {
			t.Errorf("%q: %v", out, err)
		}
	}
}

// Every complaint names the place and what would be right.
func TestComplaints(t *testing.T) {
	for text, want := range map[string]string{
		"speces = 'x'": `w:1:1: speces: this key is not known; did you mean "species"?`,
		"Title = 'x'":  `did you mean "title"?`,
		"[[food]]\nfood = 'mix'\ndaays = ['mon']":                 `did you mean "days"?`,
		"[[food]]\nfood = 'mix'\ndays = ['mon', 'tuse']":          `w:3:16: food[0].days[1]: "tuse" is not a day of the week; did you mean "tue"?`,
		"[[food]]\nfood = 'mix'\namount = '2 teespoons'":          `did you mean "teaspoons"?`,
		"[[food]]\nfood = 'mix'\namount = ''":                     `w:3:1: food[0].amount: is empty`,
		"[[food]]\nfood = 'mix'\namount = '-3 g'":                 `food[0].amount: -3 g is less than nothing`,
		"[[food]]\nfood = 'mix'\namount = '9e12 kg'":              `food[0].amount: `,
		"[[food]]\nfood = 'mix'\namount = '900000000000 kg'":      `the most that a mass may be`,
		"[[food]]\nfood = 'mix'\nway = 'scater'":                  `did you mean "scatter"?`,
		"[[food]]\nfood = 'mix'\nevery = 0":                       `food[0].every: 0 is out of range; it is 1 to 60`,
		"[[food]]\nfood = 'mix'\nat = ['8:00']":                   `food[0].at[0]: "8:00" is not a time of day`,
		"[[food]]\nfood = 'mix'\neaten = ['2 g', '1 g']":          `the least is more than the most`,
		"[[animal]]\nname = 'B'\nborn = 2025-02-30":               `w:3`,
		"[[animal]]\nname = 'B'\nborn = '2.3.2025'":               `animal[0].born: "2.3.2025" is not a date`,
		"[[animal]]\nname = 'B'\nborn = 2025-02-03T10:00:00Z":     `is a time where a date belongs`,
		"[[animal]]\nname = 'B'\nbreeding = 'nursin'":             `did you mean "nursing"?`,
		"[[sign]]\nday = 2026-01-01\nwhat = 'loose-stools'":       `did you mean "loose-stool"?`,
		"[[weight]]\nday = 2026-01-01\nanimal = 'B'\nmass = '78'": `weight[0].mass`,
		"mix = 'a.toml'\n[[line]]\ningredient = 'oats/groats'":    `the mix is named, and stands in the document too`,
		"spoon = 'metrik'": `did you mean "metric"?`,
	} {
		_, err := Parse("w", []byte(text))
		if err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%q: got %v, want it to contain %q", text, err, want)
		}
	}
}

// FuzzParse reads whatever it is given; what parses is written and read as the
// same document, and what resolves too can be worked out in every way.
func FuzzParse(f *testing.F) {
	for _, name := range examples(f) {
		text, err := os.ReadFile(name)
		if err != nil {
			f.Fatal(err)
		}
		f.Add(text)
	}
	f.Add([]byte("species='rat'\n[[animal]]\nname='a'\nbreeding='nursing'\n[[food]]\nfood='mix'\namount='1 tsp'\nevery=2\nfrom=2026-11-20\n[[food]]\nfood='kale/fresh'\nat_will=true\n[[bowl]]\nday=2026-11-24\nfood='mix'\noffered='9 g'\nsorted={'oats/groats'='1 g'}\n[[away]]\nfrom=2026-11-24\nto=2026-12-01\n"))
	f.Add([]byte("[[food]]\nfood='mix'\neaten=['1 g','2 g']\nprice=3\n[change]\nfrom=2026-01-01\n"))
	f.Fuzz(func(t *testing.T, text []byte) {
		file, err := Parse("w", text)
		if err != nil {
			return
		}
		again, err := Parse("w", Format(file.Document))
		if err != nil {
			t.Fatalf("%v\n%s", err, Format(file.Document))
		}
		if diff := cmp.Diff(file.Document, again.Document); diff != "" {
			t.Fatal(diff)
		}
		workOut(t, file)
	})
}

// workOut asks everything of a document that resolves: no panic, no complaint
// without words, and no figure that is not a number.
func workOut(t *testing.T, f *File) {
	c, err := catfiles.Builtin()
	if err != nil {
		t.Fatal(err)
	}
	table, err := needfiles.Builtin()
	if err != nil {
		t.Fatal(err)
	}
	mix := []analysis.Portion{{Form: c.Form("oats/groats"), Mass: nutrient.Kilogram}}
	p, err := ration.Resolve(f.Document, c, table, mix, 20782)
	if err != nil {
		if f.Locate(err).Error() == "" {
			t.Fatal("an error without words")
		}
		return
	}
	for _, a := range p.Ledger().Accounts {
		for _, r := range a.Rows {
			if math.IsNaN(r.Got.Mean) || math.IsNaN(r.Got.Low) || math.IsNaN(r.Known) {
				t.Fatalf("%s: %+v", r.Nutrient, r)
			}
		}
	}
	p.Week(p.Day, 14)
	p.Sittings()
	p.Changeover()
	p.Feedings()
	p.Advice()
	p.Shopping(p.Day, 4)
	p.Practice()
}
