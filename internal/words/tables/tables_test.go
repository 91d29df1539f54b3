package tables

import (
	"io/fs"
	"regexp"
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/pelletier/go-toml/v2"

	"firlot/catalog"
	foods "firlot/catalog/files"
	needs "firlot/needs/files"
)

// asBought is the state of every own ingredient, by package mix/files.
const asBought = "as bought"

// said are the sentences of the tables, each with where it stands.
func said(t *testing.T) map[string]string {
	t.Helper()
	c, err := foods.Builtin()
	if err != nil {
		t.Fatal(err)
	}
	n, err := needs.Builtin()
	if err != nil {
		t.Fatal(err)
	}
	out := map[string]string{asBought: "an own ingredient"}
	put := func(where, text string) {
		if text != "" {
			out[text] = where
		}
	}
	for _, f := range c.Forms() {
		put(f.Ref(), f.State)
		put(f.Ref(), f.Looks)
		put(f.Ref(), f.Balance)
		for _, x := range f.Confused {
			put(f.Ref(), x.Tell)
			if c.Form(x.With) == nil { // of the unsafe list
				put(f.Ref(), x.With)
			}
		}
		for _, l := range f.Limits {
			put(f.Ref(), l.Why)
		}
		for _, text := range f.Cautions {
			put(f.Ref(), text)
		}
	}
	put("figures worked out", "derived")
	for _, list := range []map[string]catalog.Source{c.Sources, n.Sources} {
		for key, s := range list {
			if s.Publisher == "Firlot" || key == "firlot" { // our own
				put(key, s.Title)
			}
			if key == "firlot" {
				put(key, s.Publisher)
			}
		}
	}
	for _, u := range c.Unsafe {
		put(u.ID, u.Reason)
		put(u.ID, u.Instead)
	}
	for _, s := range n.Species {
		put(s.ID, s.Note)
		if s.AdultWeight != nil {
			put(s.ID, s.AdultWeight.Note)
		}
		if s.Energy != nil {
			put(s.ID, s.Energy.Note)
			for _, x := range s.Energy.States {
				put(s.ID, x.Note)
			}
		}
		for _, stage := range s.Stages {
			put(s.ID+", "+stage.ID, stage.Note)
			for _, w := range stage.Windows {
				put(s.ID+", "+stage.ID, w.Note)
			}
		}
	}
	return out
}

func TestNoTextIsMissingOrIdle(t *testing.T) {
	texts := said(t)
	if len(texts) < 1000 {
		t.Fatalf("the tables hold %d sentences", len(texts))
	}
	es := In("es")
	for text, where := range texts {
		if es[text].Other == "" {
			t.Errorf("%s: %q is not said in Spanish", where, text)
		}
	}
	for text := range es {
		if texts[text] == "" {
			t.Errorf("nothing says %q any more", text)
		}
	}
	if In("en") != nil || In("de") != nil {
		t.Error("there is a table of a language that has none")
	}
}

// TestFilesAreReadAsTOMLIs reads the files with a TOML library too, which
// refuses a sentence that stands twice.
func TestFilesAreReadAsTOMLIs(t *testing.T) {
	names, err := fs.Glob(files, "*.es.toml")
	if err != nil || len(names) != len(topics)+1 {
		t.Fatalf("%v, %v", names, err)
	}
	want, got := map[string]string{}, map[string]string{}
	for _, name := range names {
		text, err := files.ReadFile(name)
		if err != nil {
			t.Fatal(err)
		}
		if err := toml.Unmarshal(text, &want); err != nil {
			t.Fatalf("%s: %v", name, err)
		}
	}
	for text, m := range read("es", append([]string{figures}, topics...)...) {
		got[text] = m.Other
	}
	if d := cmp.Diff(want, got); d != "" {
		t.Error(d)
	}
}

var thousands = regexp.MustCompile(`(\d),(\d{3})\b`)

// TestTextsSayTheSameFigures looks at what can be compared without knowing
// Spanish: figures, references, how a sentence begins and ends.
func TestTextsSayTheSameFigures(t *testing.T) {
	numbers := func(text string) []string {
		list := number.FindAllString(text, -1)
		slices.Sort(list)
		return list
	}
	begins := func(text string) bool { r := []rune(text)[0]; return r >= 'a' && r <= 'z' || r == 'á' || r == 'é' }
	refs := regexp.MustCompile(`[a-z-]+/[a-z-]+`)
	for text, m := range In("es") {
		if d := cmp.Diff(numbers(thousands.ReplaceAllString(text, "$1$2")), numbers(strings.ReplaceAll(m.Other, ",", "."))); d != "" {
			t.Errorf("%q and %q: %s", text, m.Other, d)
		}
		if d := cmp.Diff(refs.FindAllString(text, -1), refs.FindAllString(m.Other, -1)); d != "" {
			t.Errorf("%q and %q: %s", text, m.Other, d)
		}
		if strings.HasSuffix(text, ".") != strings.HasSuffix(m.Other, ".") {
			t.Errorf("%q and %q do not end alike", text, m.Other)
		}
		if begins(text) != begins(m.Other) {
			t.Errorf("%q and %q do not begin alike", text, m.Other)
		}
		if strings.Contains(m.Other, "  ") || strings.TrimSpace(m.Other) != m.Other {
			t.Errorf("%q has spaces too many", m.Other)
		}
	}
}

// figuresOf are the quantities of a form that may carry a note.
func figuresOf(f *catalog.Form) []catalog.Figure {
	var list []catalog.Figure
	for _, q := range []*catalog.Figure{f.Hull, f.HullLeft, f.ThousandKernels, f.Length, f.Width, f.BulkDensity, f.KeepsMonths} {
		if q != nil {
			list = append(list, *q)
		}
	}
	for _, q := range f.Figures {
		list = append(list, q)
	}
	return list
}

func TestNotesOnFiguresAreSaid(t *testing.T) {
	c, err := foods.Builtin()
	if err != nil {
		t.Fatal(err)
	}
	idle := map[string]bool{}
	for clause, m := range spanishFigures() {
		idle[clause] = true
		if strings.Count(clause, "#") != strings.Count(m.Other, "#") {
			t.Errorf("%q and %q hold not as many numbers", clause, m.Other)
		}
	}
	seen := 0
	for _, f := range c.Forms() {
		for _, q := range figuresOf(f) {
			if q.Note == "" {
				continue
			}
			seen++
			es, ok := Say("es", q.Note)
			if !ok || strings.Contains(es, "#") {
				t.Errorf("%s: %q is not said in Spanish: %q", f.Ref(), q.Note, es)
			}
			for _, clause := range strings.Split(strings.TrimSuffix(q.Note, "."), "; ") {
				delete(idle, clauseOf(clause))
			}
		}
	}
	if seen < 900 {
		t.Errorf("only %d notes were found", seen)
	}
	for clause := range idle {
		t.Errorf("nothing says %q any more", clause)
	}
	for english, want := range map[string]string{
		"17.99 in the table at N × 5.3":                               "17,99 en la tabla con N × 5,3",
		"1,205 g a cup, whole; Fat turns rancid.":                     "1205 g por taza, entero; La grasa se enrancia.",
		"the table calculated or borrowed it from its item 02033":     "la tabla lo calculó o lo tomó de su entrada 02033",
		"a note that no table holds; brought to this form's moisture": "",
	} {
		if got, _ := Say("es", english); got != want {
			t.Errorf("%q is said as %q, want %q", english, got, want)
		}
	}
	if _, ok := Say("en", "Fat turns rancid"); ok {
		t.Error("English is said otherwise")
	}
}
