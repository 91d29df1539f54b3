package mix_test

import (
	"strings"
	"testing"

	"pgregory.net/rapid"

	catfiles "firlot/catalog/files"
	"firlot/mix"
	mixfiles "firlot/mix/files"
	needfiles "firlot/needs/files"
	"firlot/nutrient"
)

// resolve reads and resolves a document against the built-in tables.
func resolve(t testing.TB, text string) (*mix.Plan, error) {
	t.Helper()
	c, err := catfiles.Builtin()
	if err != nil {
		t.Fatal(err)
	}
	table, err := needfiles.Builtin()
	if err != nil {
		t.Fatal(err)
	}
	f, err := mixfiles.Parse("mix.toml", []byte(text))
	if err != nil {
		return nil, err
	}
	p, err := mix.Resolve(f.Document, c, table)
	return p, f.Locate(err)
}

func mustResolve(t testing.TB, text string) *mix.Plan {
	t.Helper()
	p, err := resolve(t, text)
	if err != nil {
		t.Fatal(err)
	}
	return p
}

const gerbils = "species = 'gerbil'\nstage = 'adult'\n"

// TestShares: a share is of the batch. 12.00 % of a batch of 1,000 g is 120 g
// (common practice, no source); floors are rounded up to a whole step,
// ceilings down, so that the share itself is kept.
func TestShares(t *testing.T) {
	for _, c := range []struct {
		batch, step, share string
		floor, ceiling     int // in steps
	}{
		{"1 kg", "1 g", "12.00 %", 120, 120},
		{"1000 g", "0.1 g", "12 %", 1200, 1200},
		{"1000 g", "1 g", "12.34 %", 124, 123},
		{"1000 g", "5 g", "12 %", 24, 24},
		{"1000 g", "5 g", "12.1 %", 25, 24},
		{"333 g", "1 g", "10 %", 34, 33},
		{"7 g", "1 g", "14.2 %", 1, 0},
		{"1 kg", "1 g", "29 %", 290, 290}, // 0.29 × 1000 < 290 in binary
		{"1 kg", "1 g", "57 %", 570, 570}, // 0.57 × 1000 < 570 in binary
		{"1 kg", "1 g", "0.7 %", 7, 7},    // 0.007 × 1000 > 7 in binary
		{"100 kg", "0.1 g", "29 %", 290000, 290000},
	} {
		p := mustResolve(t, gerbils+"batch = '"+c.batch+"'\nstep = '"+c.step+"'\n[[line]]\ningredient = 'oats/groats'\nfloor = '"+c.share+"'\n[[line]]\ningredient = 'wheat/whole'\nceiling = '"+c.share+"'\n")
		if got := p.Lines[0].Floor; got != c.floor {
			t.Errorf("%s of %s in steps of %s: floor %d steps, want %d", c.share, c.batch, c.step, got, c.floor)
		}
		if got := p.Lines[1].Ceiling; got != c.ceiling {
			t.Errorf("%s of %s in steps of %s: ceiling %d steps, want %d", c.share, c.batch, c.step, got, c.ceiling)
		}
	}
}

// TestSharesHold: whatever the share, the least floor keeps it and the most
// ceiling does not pass it, each to the step.
func TestSharesHold(t *testing.T) {
	rapid.Check(t, func(r *rapid.T) {
		steps := rapid.IntRange(10, mix.MaxSteps).Draw(r, "steps")
		hundredths := rapid.IntRange(0, 10000).Draw(r, "share in hundredths of a per cent")
		a := mix.Amount{Set: true, Share: true, Percent: float64(hundredths) / 100}
		d := &mix.Document{Batch: nutrient.Mass(steps), Step: 1, Windows: []mix.Window{{Nutrient: nutrient.Ash, Max: new(float64), Basis: nutrient.AsFed, On: "offered"}},
			Lines: []mix.Line{{Ingredient: "oats/groats", Floor: a}, {Ingredient: "wheat/whole", Ceiling: a}}}
		c, _ := catfiles.Builtin()
		table, _ := needfiles.Builtin()
		p, err := mix.Resolve(d, c, table)
		if err != nil {
			r.Fatal(err)
		}
		// Whole numbers: n steps keep the share exactly when 10000 n ≥ hundredths · steps.
		least := (hundredths*steps + 9999) / 10000
		most := hundredths * steps / 10000
		if p.Lines[0].Floor != least || p.Lines[1].Ceiling != most {
			r.Fatalf("%d of %d steps: floor %d, ceiling %d; want %d and %d", hundredths, steps, p.Lines[0].Floor, p.Lines[1].Ceiling, least, most)
		}
	})
}

// TestOunces: a pound is 0.45359237 kg and an ounce a sixteenth of it
// (international yard and pound agreement, 1959). Masses are rounded to the
// milligram, batches to a whole number of steps, with a note.
func TestOunces(t *testing.T) {
	p := mustResolve(t, gerbils+"batch = '2 lb'\nstep = '1 g'\n[[line]]\ningredient = 'oats/groats'\nfloor = '3 oz'\non_hand = '1 lb'\n")
	if p.Document.Batch != 907185 || p.Steps != 907 {
		t.Errorf("two pounds are %d mg in %d steps, want 907185 and 907", p.Document.Batch, p.Steps)
	}
	if want := "the batch of 907.185 g is made as 907 g, a whole number of scale steps of 1 g"; len(p.Notes) != 1 || p.Notes[0] != want {
		t.Errorf("notes %q, want %q", p.Notes, want)
	}
	if l := p.Lines[0]; l.Floor != 86 || l.Ceiling != 453 { // 85.049 g up, 453.592 g down
		t.Errorf("floor %d, ceiling %d", l.Floor, l.Ceiling)
	}
	p = mustResolve(t, gerbils+"batch = '1 lb'\nstep = '0.1 oz'\n[[line]]\ningredient = 'oats/groats'\n")
	if p.Document.Step != 2835 || p.Document.StepOunces != 0.1 || p.Steps != 160 {
		t.Errorf("a tenth of an ounce is %d mg, %v oz; a pound has %d of them", p.Document.Step, p.Document.StepOunces, p.Steps)
	}
	if p = mustResolve(t, gerbils+"batch = '1 kg'\n[[line]]\ningredient = 'oats/groats'\n"); len(p.Notes) != 0 || p.Document.StepOunces != 0 {
		t.Errorf("a whole batch in grams has notes %q and a step of %v oz", p.Notes, p.Document.StepOunces)
	}
}

// TestInclusion: a limit of the catalogue holds whatever the document says,
// and one for some species holds for those only.
func TestInclusion(t *testing.T) {
	with := func(head, line string) mix.PlanLine {
		return mustResolve(t, head+"batch = '1 kg'\n[[line]]\ningredient = 'oats/groats'\n[[line]]\n"+line).Lines[1]
	}
	linseed := with(gerbils, "ingredient = 'linseed/whole'\nceiling = '90 %'\n")
	if linseed.Ceiling != 100 || !linseed.CeilingSafety {
		t.Errorf("linseed up to %d g (%s)", linseed.Ceiling, linseed.CeilingWhy)
	}
	lower := with(gerbils, "ingredient = 'linseed/whole'\nceiling = '3 %'\n")
	if lower.Ceiling != 30 || lower.CeilingSafety || lower.CeilingWhy != "its ceiling" {
		t.Errorf("linseed up to %d g (%s)", lower.Ceiling, lower.CeilingWhy)
	}
	gerbil := with(gerbils, "ingredient = 'nettle/leaf-dried'\n")
	hamster := with("species = 'syrian-hamster'\nstage = 'adult'\n", "ingredient = 'nettle/leaf-dried'\n")
	if gerbil.Ceiling <= hamster.Ceiling {
		t.Errorf("nettle up to %d g for gerbils, %d g for hamsters", gerbil.Ceiling, hamster.Ceiling)
	}
	if _, err := resolve(t, gerbils+"batch = '1 kg'\n[[line]]\ningredient = 'linseed/whole'\nfloor = '11 %'\n"); err == nil || !strings.Contains(err.Error(), "mix.toml:6:1: line[0].floor: the floor of 110 g is above the inclusion limit of 10 %") {
		t.Errorf("a floor above an inclusion limit: %v", err)
	}
}

// TestWindows: a document's window replaces the stage's default on the same
// figure and side; off takes it away; source takes another publication's.
func TestWindows(t *testing.T) {
	const shelf = "batch = '1 kg'\n[[line]]\ningredient = 'oats/groats'\n"
	of := func(p *mix.Plan, k nutrient.Key, on string) *mix.Target {
		for i := range p.Targets {
			if p.Targets[i].Nutrient == k && string(p.Targets[i].On) == on {
				return &p.Targets[i]
			}
		}
		return nil
	}
	plain := mustResolve(t, gerbils+shelf)
	if len(plain.Targets) != 3 {
		t.Fatalf("%d default windows, want those of protein, fat and fibre", len(plain.Targets))
	}
	was := of(plain, nutrient.CrudeFat, "offered")
	if was == nil || was.Path != "" {
		t.Fatalf("the default on fat is %v", was)
	}

	p := mustResolve(t, gerbils+shelf+"[[window]]\nnutrient = 'crude_fat'\nmax = 7\nbasis = 'dry matter'\n")
	if w := of(p, nutrient.CrudeFat, "offered"); len(p.Targets) != 3 || w.Min != nil || *w.Max != 7 || w.Basis != nutrient.DryMatter || w.Source != "document" || w.Path != "window[0]" {
		t.Errorf("replaced: %+v of %d", w, len(p.Targets))
	}
	p = mustResolve(t, gerbils+shelf+"[[window]]\nnutrient = 'crude_fat'\nmax = 7\non = 'eaten'\n")
	if len(p.Targets) != 4 || of(p, nutrient.CrudeFat, "offered").Source != was.Source {
		t.Errorf("a window on what is eaten stands beside the one on what is offered: %d windows", len(p.Targets))
	}
	p = mustResolve(t, gerbils+shelf+"[[window]]\nnutrient = 'crude_fat'\noff = true\n")
	if len(p.Targets) != 2 || of(p, nutrient.CrudeFat, "offered") != nil {
		t.Errorf("off: %d windows", len(p.Targets))
	}
	var other string
	for _, w := range plain.Stage.Windows {
		if w.Nutrient == nutrient.CrudeFat && !w.Default {
			other = w.Source
			break
		}
	}
	p = mustResolve(t, gerbils+shelf+"[[window]]\nnutrient = 'crude_fat'\nsource = '"+other+"'\n")
	if w := of(p, nutrient.CrudeFat, "offered"); len(p.Targets) != 3 || w.Source != other || !w.Enforce {
		t.Errorf("source: %+v", w)
	}
	p = mustResolve(t, gerbils+shelf+"[[window]]\nnutrient = 'calcium'\nper = 'phosphorus'\nmin = 0.5\nbasis = 'dry matter'\n")
	if w := of(p, nutrient.Calcium, "offered"); w.Basis != nutrient.AsFed || w.Per != nutrient.Phosphorus {
		t.Errorf("a ratio has no basis of its own: %+v", w)
	}
}

// TestNothingOr: what cannot be enough is left out, and a note says so.
func TestNothingOr(t *testing.T) {
	p := mustResolve(t, gerbils+"batch = '1 kg'\n[[line]]\ningredient = 'oats/groats'\n[[line]]\ningredient = 'wheat/whole'\nnothing_or = '5 %'\non_hand = '20 g'\n")
	if p.Lines[1].NothingOr != 50 || p.Lines[1].Ceiling != 20 || len(p.Notes) != 1 || !strings.Contains(p.Notes[0], "wheat/whole is left out") {
		t.Errorf("%+v, notes %q", p.Lines[1], p.Notes)
	}
}

// TestGroups: lines by name and by class together, each once.
func TestGroups(t *testing.T) {
	p := mustResolve(t, gerbils+"batch = '1 kg'\n[[line]]\ningredient = 'oats/groats'\n[[line]]\ningredient = 'hemp/whole'\n[[line]]\ningredient = 'linseed/whole'\n[[line]]\ningredient = 'almond/kernel'\n"+
		"[[group]]\nof = ['almond/kernel', 'linseed/whole']\nclass = 'oilseed'\nceiling = '12 %'\n")
	g := p.Groups[0]
	if len(g.Lines) != 3 || g.Lines[0] != 1 || g.Lines[1] != 2 || g.Lines[2] != 3 || g.Ceiling != 120 || g.Name != "oilseed" || g.Most != 3 {
		t.Errorf("%+v", g)
	}
}
