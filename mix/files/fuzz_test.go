package files

import (
	"bytes"
	"os"
	"path/filepath"
	"testing"

	"github.com/google/go-cmp/cmp"

	catfiles "firlot/catalog/files"
	"firlot/mix"
	needfiles "firlot/needs/files"
	"firlot/nutrient"
)

// FuzzParse reads whatever it is given. Reading never panics; what parses and
// resolves can be written back with amounts, reads as the same document with
// those amounts, and writing the same amounts again changes nothing.
func FuzzParse(f *testing.F) {
	c, err := catfiles.Builtin()
	if err != nil {
		f.Fatal(err)
	}
	table, err := needfiles.Builtin()
	if err != nil {
		f.Fatal(err)
	}
	examples, err := filepath.Glob("../../examples/*.toml")
	if err != nil || len(examples) == 0 {
		f.Fatalf("no examples to start from: %v", err)
	}
	for _, name := range examples {
		text, err := os.ReadFile(name)
		if err != nil {
			f.Fatal(err)
		}
		f.Add(text)
		f.Add(bytes.ReplaceAll(text, []byte("\n"), []byte("\r\n")))
	}
	for _, text := range oddDocuments {
		f.Add([]byte(text))
	}
	f.Fuzz(func(t *testing.T, text []byte) {
		file, err := Parse("mix.toml", text)
		if err != nil {
			if err.Error() == "" {
				t.Fatal("an error without words")
			}
			return
		}
		plan, err := mix.Resolve(file.Document, c, table)
		if err != nil {
			if file.Locate(err).Error() == "" {
				t.Fatal("an error without words")
			}
			return
		}
		writeBack(t, file, plan)
	})
}

func writeBack(t *testing.T, file *File, plan *mix.Plan) {
	amounts := make([]nutrient.Mass, len(plan.Lines))
	for i := range amounts {
		amounts[i] = nutrient.Mass(i*i) * plan.Document.Step
	}
	text, err := file.WithAmounts(amounts)
	if err != nil {
		t.Fatalf("cannot be written back: %v", err)
	}
	again, err := Parse("mix.toml", text)
	if err != nil {
		t.Fatalf("what was written cannot be read: %v", err)
	}
	want := *file.Document
	want.Lines = append([]mix.Line(nil), want.Lines...)
	for i := range want.Lines {
		want.Lines[i].Amount = mix.Amount{Set: true, Mass: amounts[i]}
	}
	want.Own, again.Document.Own = nil, nil // their forms point back at them
	if diff := cmp.Diff(&want, again.Document); diff != "" {
		t.Fatalf("the document changed (-want +got):\n%s", diff)
	}
	twice, err := again.WithAmounts(amounts)
	if err != nil || !bytes.Equal(text, twice) {
		t.Fatalf("writing the same amounts again changes the text (%v):\n%s", err, twice)
	}
}

// oddDocuments are ways of writing lines that TOML allows.
var oddDocuments = []string{
	"batch = '9 g'\nwindow = [{nutrient = 'ash', max = 9}]\nline = [{ingredient = 'oats/groats', amount = '1 g'}, {ingredient = 'wheat/whole'}]",
	"batch = '9 g'\n[[window]]\nnutrient = 'ash'\nmax = 9\n[[line]]\n\"ingredient\" = \"\"\"\noats/groats\"\"\" # words\n[[line]]\n'ingredient' = '''wheat/whole'''\nbase='3 g'",
	"\xef\xbb\xbfbatch = '9 g'\r\n[[window]]\r\nnutrient = 'ash'\r\nmax = 9\r\n[[line]]\r\ningredient = 'oats/groats'",
	"window = [ { nutrient = 'ash', max = 9 } ]\nline = [\n  { ingredient = 'oats/groats' }, # one\n  { ingredient = 'wheat/whole', base = '1 g' } # two\n]\nbatch = '9 g'\n",
	"batch = '9 oz'\nstep = '0.1 oz'\n[[window]]\nnutrient='ash'\nmax=9\n[[line]]\ningredient = 'x/own'\n[[own]]\nid = 'x'\nname = 'x'\nkind = 'label'\nfigures = { ash = { mean = 3, sd = 1, n = 2 }, moisture = 9 }\n",
}
