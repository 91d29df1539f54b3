package main

import (
	"encoding/json"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"firlot/catalog"
	catfiles "firlot/catalog/files"
	"firlot/mix"
	mixfiles "firlot/mix/files"
	needfiles "firlot/needs/files"
	"firlot/nutrient"
)

// solved is what the tests read of a report; it is written down here anew, so
// that a change of the program's own type shows.
type solved struct {
	Status  string  `json:"status"`
	BatchG  float64 `json:"batch_g"`
	StepG   float64 `json:"step_g"`
	Amounts []struct {
		Ingredient, Form string
		Grams, Percent   float64
	} `json:"amounts"`
	Figures []struct {
		Nutrient, Per, Basis, On string
		Mean                     *float64
		Window                   *struct{ Min, Max *float64 }
		KnownShare               float64 `json:"known_share"`
	} `json:"figures"`
	Sureness *float64 `json:"sureness"`
	Asked    float64  `json:"sureness_asked"`
	Clash    []any    `json:"clash"`
	Gap      *float64 `json:"gap"`
}

// TestExamples solves every example. Each must end as its comment says, be
// marked as invented, and hold everything that it asks for, worked out here
// again by plain arithmetic on the catalogue's figures.
func TestExamples(t *testing.T) {
	for _, file := range exampleFiles(t) {
		t.Run(strings.TrimSuffix(filepath.Base(file), ".toml"), func(t *testing.T) {
			text, err := os.ReadFile(file)
			if err != nil {
				t.Fatal(err)
			}
			head, _, _ := strings.Cut(string(text), "\n\n")
			if !strings.Contains(head, "invented") || !strings.Contains(head, "Skerra") {
				t.Error("the comment on top does not say that the example is invented")
			}
			want, status := "found", 0
			switch {
			case strings.Contains(head, "\n# Impossible."):
				want, status = "impossible", exitImpossible
			case !strings.Contains(head, "\n# Found."):
				t.Error("the comment on top does not say how the example ends")
			}
			var r solved
			if err := json.Unmarshal(mustRun(t, []string{"solve", file, "--json"}, status), &r); err != nil {
				t.Fatal(err)
			}
			if r.Status != want {
				t.Fatalf("status %q, the comment says %q", r.Status, want)
			}
			if want == "impossible" {
				if len(r.Amounts) != 0 || len(r.Clash) == 0 {
					t.Errorf("an impossible mix has %d amounts and a clash of %d limits", len(r.Amounts), len(r.Clash))
				}
				return
			}
			f, err := mixfiles.Read(file)
			if err != nil {
				t.Fatal(err)
			}
			verifyGrams(t, f.Document, r)
			verifyFigures(t, f.Document, r)
			verifyLimits(t, f.Document, r)
		})
	}
}

// milligrams turns printed grams into whole milligrams.
func milligrams(t *testing.T, g float64) int64 {
	t.Helper()
	mg := math.Round(g * 1000)
	if math.Abs(mg-g*1000) > 1e-6 {
		t.Errorf("%v g is no whole number of milligrams", g)
	}
	return int64(mg)
}

func verifyGrams(t *testing.T, d *mix.Document, r solved) {
	step, batch := int64(d.Step), milligrams(t, r.BatchG)
	if milligrams(t, r.StepG) != step || batch%step != 0 {
		t.Errorf("the batch of %d mg is no whole number of steps of %d mg", batch, step)
	}
	if off := batch - int64(d.Batch); 2*off > step || -2*off > step {
		t.Errorf("the batch is %d mg, the document asks for %d", batch, d.Batch)
	}
	if len(r.Amounts) != len(d.Lines) {
		t.Fatalf("%d amounts for %d lines", len(r.Amounts), len(d.Lines))
	}
	var sum int64
	for _, a := range r.Amounts {
		mg := milligrams(t, a.Grams)
		if mg < 0 || mg%step != 0 {
			t.Errorf("%s/%s: %d mg is no whole number of steps of %d mg", a.Ingredient, a.Form, mg, step)
		}
		if got := 100 * float64(mg) / float64(batch); math.Abs(got-a.Percent) > 1e-3 {
			t.Errorf("%s/%s: %v %%, printed %v", a.Ingredient, a.Form, got, a.Percent)
		}
		sum += mg
	}
	if sum != batch {
		t.Errorf("the amounts add up to %d mg, the batch is %d mg", sum, batch)
	}
}

// shelf is the built-in catalogue with the document's own ingredients.
func shelf(t *testing.T, d *mix.Document) *catalog.Catalogue {
	t.Helper()
	c, err := catfiles.Builtin()
	if err != nil {
		t.Fatal(err)
	}
	return c.With(d.Own...)
}

// verifyFigures works out each windowed figure again: Σ grams × figure ÷ Σ
// grams. The examples' windows are all as fed and as offered.
func verifyFigures(t *testing.T, d *mix.Document, r solved) {
	c := shelf(t, d)
	windows := map[string][2]*float64{}
	for _, f := range r.Figures {
		if f.Window == nil {
			continue
		}
		if f.Per != "" || f.Basis != "as fed" || f.On != "offered" {
			t.Fatalf("%s: the test knows windows as fed and as offered only", f.Nutrient)
		}
		windows[f.Nutrient] = [2]*float64{f.Window.Min, f.Window.Max}
		sum, known, total, worst := 0.0, 0.0, 0.0, 0.0
		key := nutrient.Key(f.Nutrient)
		info, _ := nutrient.Lookup(key)
		for _, a := range r.Amounts {
			total += a.Grams
			fig, ok := c.Form(a.Ingredient + "/" + a.Form).Figures[key]
			if !ok {
				worst += a.Grams * info.Ceiling
				continue
			}
			sum += a.Grams * fig.Mean
			known += a.Grams
		}
		if mean := sum / known; f.Mean == nil || math.Abs(*f.Mean-mean) > 1e-5*math.Max(1, mean) {
			t.Errorf("%s: the mean is %v, printed %v", f.Nutrient, mean, f.Mean)
		}
		if math.Abs(known/total-f.KnownShare) > 1e-5 {
			t.Errorf("%s: known of %v, printed %v", f.Nutrient, known/total, f.KnownShare)
		}
		if lo := f.Window.Min; lo != nil && sum/total < *lo-1e-9 {
			t.Errorf("%s: %v is below %v", f.Nutrient, sum/total, *lo)
		}
		if hi := f.Window.Max; hi != nil && (sum+worst)/total > *hi+1e-9 {
			t.Errorf("%s: up to %v is above %v", f.Nutrient, (sum+worst)/total, *hi)
		}
	}
	verifyWindows(t, d, windows)
	if r.Sureness == nil || *r.Sureness < r.Asked || r.Asked != d.Sureness {
		t.Errorf("sureness %v, asked for %v", r.Sureness, d.Sureness)
	}
}

// verifyWindows checks that the windows are the stage's defaults and the
// document's own.
func verifyWindows(t *testing.T, d *mix.Document, got map[string][2]*float64) {
	table, err := needfiles.Builtin()
	if err != nil {
		t.Fatal(err)
	}
	want := map[string][2]*float64{}
	for _, w := range table.Find(d.Species).Stage(d.Stage).Windows {
		if w.Default && w.Enforce {
			want[string(w.Nutrient)] = [2]*float64{w.Min, w.Max}
		}
	}
	for _, w := range d.Windows {
		want[string(w.Nutrient)] = [2]*float64{w.Min, w.Max}
	}
	if len(got) != len(want) || len(want) < 3 {
		t.Errorf("%d windows are reported, %d hold", len(got), len(want))
	}
	for k, w := range want {
		for side := range w {
			if g := got[k][side]; (g == nil) != (w[side] == nil) || g != nil && *g != *w[side] {
				t.Errorf("%s: another window is reported than holds", k)
			}
		}
	}
}

// verifyLimits checks every limit of the document and of the catalogue in
// grams.
func verifyLimits(t *testing.T, d *mix.Document, r solved) {
	c := shelf(t, d)
	batch := nutrient.Mass(milligrams(t, r.BatchG))
	const whisker = 1e-6 // shares such as 12 % are not exact in binary
	used, byRef, class := 0, map[string]float64{}, map[catalog.Class]float64{}
	for i, a := range r.Amounts {
		l, ref := d.Lines[i], a.Ingredient+"/"+a.Form
		form := c.Form(ref)
		byRef[ref], class[form.Ingredient.Class] = a.Grams, class[form.Ingredient.Class]+a.Grams
		if a.Grams > 0 {
			used++
		}
		switch {
		case a.Grams < l.Floor.Of(batch)-whisker:
			t.Errorf("%s: %v g is below the floor", ref, a.Grams)
		case l.Ceiling.Set && a.Grams > l.Ceiling.Of(batch)+whisker:
			t.Errorf("%s: %v g is above the ceiling", ref, a.Grams)
		case l.OnHand.Set && a.Grams > l.OnHand.Of(batch)+whisker:
			t.Errorf("%s: %v g is more than there is", ref, a.Grams)
		case a.Grams > 0 && a.Grams < l.NothingOr.Of(batch)-whisker:
			t.Errorf("%s: %v g is neither nothing nor enough", ref, a.Grams)
		}
		for _, lim := range form.Limits {
			if lim.For(d.Species) && a.Grams > lim.Most/100*r.BatchG+whisker {
				t.Errorf("%s: %v g is above the inclusion limit of %v %%", ref, a.Grams, lim.Most)
			}
		}
	}
	if d.MostIngredients > 0 && used > d.MostIngredients || used < d.LeastIngredients {
		t.Errorf("%d ingredients", used)
	}
	for _, g := range d.Groups {
		sum := class[g.Class]
		for _, ref := range g.Of {
			sum += byRef[ref]
		}
		if sum < g.Floor.Of(batch)-whisker || g.Ceiling.Set && sum > g.Ceiling.Of(batch)+whisker {
			t.Errorf("%s: together %v g", g.Name, sum)
		}
	}
}

// TestExamplesCover keeps the examples apart: each kind of document that the
// format can say has one.
func TestExamplesCover(t *testing.T) {
	seen := map[string]bool{}
	for _, file := range exampleFiles(t) {
		f, err := mixfiles.Read(file)
		if err != nil {
			t.Fatal(err)
		}
		d := f.Document
		seen[d.Species], seen["stage "+d.Stage], seen["prefer "+string(d.Prefer)] = true, true, true
		for what, has := range map[string]bool{"own": len(d.Own) > 0, "window": len(d.Windows) > 0, "group": len(d.Groups) > 0, "most": d.MostIngredients > 0,
			"ounces": d.StepOunces > 0, "tenths": d.Step == nutrient.Gram/10, "sureness": d.Sureness > 0, "ten kilograms": d.Batch == 10*nutrient.Kilogram} {
			seen[what] = seen[what] || has
		}
		for _, l := range d.Lines {
			seen["price"] = seen["price"] || l.Price != nil
			seen["on hand"] = seen["on hand"] || l.OnHand.Set
			seen["nothing or"] = seen["nothing or"] || l.NothingOr.Set
		}
	}
	for _, want := range []string{"gerbil", "syrian-hamster", "dwarf-hamster", "mouse", "rat", "stage growing", "stage adult", "stage senior",
		"prefer near", "prefer cheap", "prefer steady", "prefer varied", "own", "window", "group", "most", "ounces", "tenths", "sureness",
		"ten kilograms", "price", "on hand", "nothing or"} {
		if !seen[want] {
			t.Errorf("no example shows: %s", want)
		}
	}
}

// TestWriteTwice writes the amounts into every example, and into the same
// documents without their bases and preferences. What was written is inside
// every window, only amounts were added, and a second run changes nothing.
func TestWriteTwice(t *testing.T) {
	for _, file := range exampleFiles(t) {
		text, err := os.ReadFile(file)
		if err != nil {
			t.Fatal(err)
		}
		bare := without(string(text), "base ", "prefer ")
		for name, text := range map[string]string{"whole": string(text), "bare": bare} {
			t.Run(filepath.Base(file)+" "+name, func(t *testing.T) {
				copied := filepath.Join(t.TempDir(), "mix.toml")
				if err := os.WriteFile(copied, []byte(text), 0o600); err != nil {
					t.Fatal(err)
				}
				if _, _, status := runFirlot(t, "solve", copied, "--write"); status != 0 {
					t.Skipf("exit status %d: nothing to write", status)
				}
				once := read(t, copied)
				if without(once, "amount ") != text {
					t.Errorf("more than amounts changed:\n%s", once)
				}
				mustRun(t, []string{"check", copied}, 0)
				mustRun(t, []string{"solve", copied, "--write"}, 0)
				if twice := read(t, copied); twice != once {
					t.Errorf("the second run wrote\n%s", twice)
				}
			})
		}
	}
}

// without takes away the lines that start with one of the words.
func without(text string, words ...string) string {
	var kept []string
next:
	for _, line := range strings.Split(text, "\n") {
		for _, w := range words {
			if strings.HasPrefix(line, w) {
				continue next
			}
		}
		kept = append(kept, line)
	}
	return strings.Join(kept, "\n")
}

func read(t *testing.T, file string) string {
	t.Helper()
	text, err := os.ReadFile(file)
	if err != nil {
		t.Fatal(err)
	}
	return string(text)
}
