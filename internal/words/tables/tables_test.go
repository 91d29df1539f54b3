package tables

import (
	"io/fs"
	"regexp"
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/pelletier/go-toml/v2"

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
	if err != nil || len(names) != len(topics) {
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
	for text, m := range In("es") {
		got[text] = m.Other
	}
	if d := cmp.Diff(want, got); d != "" {
		t.Error(d)
	}
}

var (
	number    = regexp.MustCompile(`\d+(?:[.,]\d+)*`)
	thousands = regexp.MustCompile(`(\d),(\d{3})\b`)
)

// TestTextsSayTheSameFigures looks at what can be compared without knowing
// Spanish: figures, references, how a sentence begins and ends.
func TestTextsSayTheSameFigures(t *testing.T) {
	figures := func(text string) []string {
		list := number.FindAllString(text, -1)
		slices.Sort(list)
		return list
	}
	begins := func(text string) bool { r := []rune(text)[0]; return r >= 'a' && r <= 'z' || r == 'á' || r == 'é' }
	refs := regexp.MustCompile(`[a-z-]+/[a-z-]+`)
	for text, m := range In("es") {
		if d := cmp.Diff(figures(thousands.ReplaceAllString(text, "$1$2")), figures(strings.ReplaceAll(m.Other, ",", "."))); d != "" {
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
