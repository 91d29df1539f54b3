package files

import (
	"errors"
	"io/fs"
	"math"
	"testing"

	"firlot/catalog"
	"firlot/catalog/data"
	"firlot/internal/tomldoc"
	"firlot/nutrient"
)

// seeds are documents near the edges of the format.
var seeds = []string{
	"",
	"id = \"x\"",
	"id = \"x\"\nclass = \"cereal\"\nnames.en = [\"x\"]\n[[form]]\nid = \"a\"\nstate = \"whole\"\n",
	"id = \"x\"\nclass = \"cereal\"\nnames.en = [\"x\"]\n[[form]]\nid = \"a\"\nstate = \"whole\"\n[form.figures]\ncrude_fat = { mean = 3, low = 5, from = \"a\", how = \"measured\" }\n",
	"id = \"x\"\nclass = \"cereal\"\nnames.en = [\"x\"]\n[[form]]\nid = \"a\"\nstate = \"whole\"\n[form.figures]\ncrude_fat = { mean = nan, from = \"a\", how = \"measured\" }\n",
	"id = \"x\"\nclass = \"cereal\"\nnames.en = [\"x\"]\n[[form]]\nid = \"a\"\nstate = \"whole\"\neaten_as = \"b\"\n",
	"id = \"x\"\nclass = \"cereal\"\nnames.en = [\"x\"]\n[[form]]\nid = \"a\"\nstate = \"whole\"\nhull = { mean = -1, from = \"a\", how = \"measured\" }\n",
	"id = \"x\"\nclass = \"cereal\"\nnames.en = [\"x\"]\n[[form]]\nid = \"a\"\nstate = \"whole\"\n[form.figures]\nenergy = { mean = 1, from = \"a\", how = \"measured\" }\n",
	"id = \"x\"\n[[form]]\n[[form]]\n[[form.confused]]\n",
}

// FuzzIngredient: reading never panics; a refusal names the file; what is
// read holds together and its figures can be asked for.
func FuzzIngredient(f *testing.F) {
	for _, s := range seeds {
		f.Add([]byte(s))
	}
	for _, name := range []string{"oats.toml", "amaranth.toml", "mealworm.toml"} {
		text, err := fs.ReadFile(data.Files, name)
		if err != nil {
			f.Fatal(err)
		}
		f.Add(text)
	}
	f.Fuzz(func(t *testing.T, text []byte) {
		in, err := Ingredient("x.toml", text)
		if err != nil {
			var e *tomldoc.Error
			if !errors.As(err, &e) || e.File != "x.toml" || e.Message == "" {
				t.Fatalf("refused without a place: %v", err)
			}
			return
		}
		holdsTogether(t, in)
	})
}

func holdsTogether(t *testing.T, in *catalog.Ingredient) {
	t.Helper()
	if in.ID != "x" || len(in.Forms) == 0 || len(in.Names["en"]) == 0 {
		t.Fatalf("read without id, forms or names: %+v", in)
	}
	c := catalog.New([]*catalog.Ingredient{in}, nil, nil)
	for _, f := range in.Forms {
		if f.ID == "" || f.State == "" || f.Ingredient != in || in.Form(f.ID) != f || c.Form(f.Ref()) != f {
			t.Fatalf("form %q is not to be found", f.ID)
		}
		if f.EatenAs != "" && in.Form(f.EatenAs) == nil {
			t.Fatalf("%s is eaten as nothing", f.Ref())
		}
		if hull, left := f.HullShares(); hull < 0 || left < 0 {
			t.Fatalf("%s has a hull of %v, %v left", f.Ref(), hull, left)
		}
		if len(c.Called(f)) == 0 || f.Name("pt") == "" && f.Names["pt"] == nil && in.Names["en"][0] != "" {
			t.Fatalf("%s has no name", f.Ref())
		}
		for _, info := range nutrient.All() {
			checkAsked(t, f, info)
		}
	}
}

// checkAsked: a known figure is a number with evidence and a source; an
// unknown one is bounded.
func checkAsked(t *testing.T, f *catalog.Form, info nutrient.Info) {
	t.Helper()
	fig, ok := f.Figure(info.Key)
	if ok && !info.Derived && (fig.Mean < 0 || math.IsNaN(fig.Mean) || math.IsInf(fig.Mean, 0) || !fig.How.Known() || fig.Source == "") {
		t.Fatalf("%s %s: %+v", f.Ref(), info.Key, fig)
	}
	if ok && fig.Ranged && fig.Low > fig.High {
		t.Fatalf("%s %s: range %v to %v", f.Ref(), info.Key, fig.Low, fig.High)
	}
	if sd, _, known := f.Spread(info.Key); sd < 0 || math.IsNaN(sd) || known && info.Derived {
		t.Fatalf("%s %s: spread %v", f.Ref(), info.Key, sd)
	}
	if least, most := f.Bounds(info.Key); !ok && (least < 0 || most > info.Ceiling || math.IsNaN(least) || math.IsNaN(most)) {
		t.Fatalf("%s %s: bounds %v to %v", f.Ref(), info.Key, least, most)
	}
}
