package files

import (
	"slices"
	"strings"
	"testing"

	"firlot/catalog"
	catfiles "firlot/catalog/files"
	"firlot/needs"
	"firlot/needs/data"
	"firlot/nutrient"
)

func builtin(t testing.TB) *needs.Table {
	t.Helper()
	table, err := Builtin()
	if err != nil {
		t.Fatal(err)
	}
	return table
}

var stages = []string{"growing", "adult", "senior", "breeding"}

// TestEverySpeciesHasItsStages: five species, four stages each, with ages that
// run forward without gap or overlap; breeding has no age of its own.
func TestEverySpeciesHasItsStages(t *testing.T) {
	table := builtin(t)
	if len(table.Species) < 5 {
		t.Errorf("%d species", len(table.Species))
	}
	for _, s := range table.Species {
		var ids []string
		next := 0
		for _, st := range s.Stages {
			ids = append(ids, st.ID)
			if st.ID == "breeding" {
				continue
			}
			if next != 0 && st.FromDays != next || st.FromDays <= 0 {
				t.Errorf("%s %s starts on day %d, the stage before ends on %d", s.ID, st.ID, st.FromDays, next)
			}
			next = st.ToDays
		}
		if next != 0 {
			t.Errorf("%s: the last stage ends on day %d; it should run to the end of life", s.ID, next)
		}
		if !slices.Equal(ids, stages) {
			t.Errorf("%s has the stages %v", s.ID, ids)
		}
		for _, lang := range []string{"en", "es", "de", "fr", "nl", "pt"} {
			if len(s.Names[lang]) == 0 {
				t.Errorf("%s has no name in %s", s.ID, lang)
			}
			for _, n := range s.Names[lang] {
				if table.Find(n) != s {
					t.Errorf("%q does not lead to %s", n, s.ID)
				}
			}
		}
		if s.AdultWeight == nil || s.Energy == nil {
			t.Errorf("%s lacks a weight or an energy need", s.ID)
		}
	}
}

// TestOneDefaultWindow: each stage starts a new mix with exactly one window
// for protein, fat and fibre, closed on both sides, as fed and as offered.
func TestOneDefaultWindow(t *testing.T) {
	for _, s := range builtin(t).Species {
		for _, st := range s.Stages {
			count := map[nutrient.Key]int{}
			for _, w := range st.Windows {
				if !w.Default {
					continue
				}
				count[w.Nutrient]++
				if w.Min == nil || w.Max == nil || w.Basis != nutrient.AsFed || w.On != needs.Offered || w.Per != "" || !w.Enforce {
					t.Errorf("%s %s %s: a default window of %+v", s.ID, st.ID, w.Nutrient, w)
				}
			}
			for _, k := range []nutrient.Key{nutrient.CrudeProtein, nutrient.CrudeFat, nutrient.CrudeFibre} {
				if count[k] != 1 {
					t.Errorf("%s %s has %d default windows for %s", s.ID, st.ID, count[k], k)
				}
			}
			if len(count) != 3 || len(st.Enforced()) != 3 {
				t.Errorf("%s %s: %d figures with a default window, %d enforced", s.ID, st.ID, len(count), len(st.Enforced()))
			}
		}
	}
}

// notPublications are the words that may follow "recalled:" beside the key of
// a source: general knowledge of a kind, not one publication.
var notPublications = []string{"general", "laboratory-handbooks", "veterinary-rule", "clinical-habit"}

func checkSource(t *testing.T, table *needs.Table, what, ref string, how catalog.Evidence) {
	t.Helper()
	key, item, _ := strings.Cut(ref, ":")
	if table.Sources[key].Title == "" {
		t.Errorf("%s: the source %q is not in sources.toml", what, ref)
	}
	publication, _, _ := strings.Cut(item, " ")
	if _, known := table.Sources[publication]; key == "recalled" && !known && !slices.Contains(notPublications, publication) {
		t.Errorf("%s: %q recalls a publication that is not in sources.toml", what, ref)
	}
	if !how.Known() || key == "recalled" && how != catalog.Recalled && how != catalog.Assumed && how != catalog.Derived {
		t.Errorf("%s: %q with evidence %q", what, ref, how)
	}
}

// TestEverySourceResolves: windows, ages, weights and energy name a source
// that is on the list and one of the four kinds of evidence; figures that
// stand in for another species name it.
func TestEverySourceResolves(t *testing.T) {
	table := builtin(t)
	windows := 0
	for _, s := range table.Species {
		checkSource(t, table, s.ID+" weight", s.AdultWeight.Source, s.AdultWeight.How)
		checkSource(t, table, s.ID+" energy", s.Energy.Source, s.Energy.How)
		if e := s.Energy; e.Low > e.Factor || e.Factor > e.High || e.Low <= 0 {
			t.Errorf("%s: energy %v outside %v to %v", s.ID, e.Factor, e.Low, e.High)
		}
		for _, state := range states {
			x := s.Energy.State(state)
			if x == nil || x.Low < 1 || x.Note == "" {
				t.Errorf("%s: the energy of a %s animal is %+v", s.ID, state, x)
				continue
			}
			checkSource(t, table, s.ID+" "+state, x.Source, x.How)
		}
		for _, st := range s.Stages {
			checkSource(t, table, s.ID+" "+st.ID, st.Source, st.How)
			for _, w := range st.Windows {
				windows++
				what := s.ID + " " + st.ID + " " + string(w.Nutrient)
				checkSource(t, table, what, w.Source, w.How)
				checkWindow(t, table, what, w)
			}
		}
	}
	t.Logf("%d species, %d windows", len(table.Species), windows)
}

func checkWindow(t *testing.T, table *needs.Table, what string, w needs.Window) {
	t.Helper()
	info, ok := nutrient.Lookup(w.Nutrient)
	if !ok {
		t.Errorf("%s: not a figure", what)
	}
	if w.Min == nil && w.Max == nil || w.Min != nil && w.Max != nil && *w.Min > *w.Max {
		t.Errorf("%s: window %v to %v", what, w.Min, w.Max)
	}
	for _, v := range []*float64{w.Min, w.Max} {
		if v != nil && w.Per == "" && (*v < 0 || *v > info.Ceiling) {
			t.Errorf("%s: %v lies beyond what a food can hold (%v)", what, *v, info.Ceiling)
		}
	}
	if w.StandsIn != "" && table.Find(w.StandsIn) == nil {
		t.Errorf("%s stands in for %q, which is not a species", what, w.StandsIn)
	}
}

// TestStartingRangesAreOurs: starting ranges are ours and say so.
func TestStartingRangesAreOurs(t *testing.T) {
	for _, s := range builtin(t).Species {
		for _, st := range s.Stages {
			for _, w := range st.Enforced() {
				if w.Source != "firlot:starting-range" || w.How != catalog.Assumed || w.Note == "" {
					t.Errorf("%s %s %s: the starting range is from %q, %s, %q", s.ID, st.ID, w.Nutrient, w.Source, w.How, w.Note)
				}
			}
		}
	}
}

// TestLimitsNameKnownSpecies: a limit of the catalogue that holds for some
// species only names species that the needs know by their id.
func TestLimitsNameKnownSpecies(t *testing.T) {
	table := builtin(t)
	c, err := catfiles.Builtin()
	if err != nil {
		t.Fatal(err)
	}
	limits, some := 0, 0
	for _, f := range c.Forms() {
		for _, l := range f.Limits {
			limits++
			for _, id := range l.Species {
				some++
				if s := table.Find(id); s == nil || s.ID != id {
					t.Errorf("%s: a limit for %q, which is not a species", f.Ref(), id)
				}
			}
		}
	}
	t.Logf("%d limits, %d of them named for a species", limits, some)
}

func BenchmarkLoad(b *testing.B) {
	for b.Loop() {
		if _, err := Load(data.Files); err != nil {
			b.Fatal(err)
		}
	}
}
