package files

import (
	"os"
	"path/filepath"
	"testing"

	"github.com/google/go-cmp/cmp"

	"firlot/catalog"
	"firlot/mix"
)

// noLoop leaves the pointer from a form back to its ingredient out.
var noLoop = cmp.FilterPath(func(p cmp.Path) bool {
	return p.Last().String() == ".Ingredient" && p.Index(-2).Type().Name() == "Form"
}, cmp.Ignore())

// Writing a document and reading it again changes nothing.
func TestFormatReadsBack(t *testing.T) {
	names, err := filepath.Glob("../../examples/*.toml")
	if err != nil || len(names) == 0 {
		t.Fatal("no examples", err)
	}
	for _, name := range names {
		text, err := os.ReadFile(name)
		if err != nil {
			t.Fatal(err)
		}
		readsBack(t, name, text)
	}
	readsBack(t, "hostile", []byte("title = \"a\\\"b\\\\c\\nd\\u0001é\"\nbatch='2 lb'\nsureness=0.57\n[[own]]\nid='x'\nname='<b>'\nkind='label'\nsource='bag: seen'\ncautions=['a','b']\nfigures.ash={mean=2.5,sd=0.1,n=3}\n[[group]]\nclass='nut'\nceiling='12.5 %'\n"))
}

func readsBack(t *testing.T, name string, text []byte) {
	t.Helper()
	f, err := Parse(name, text)
	if err != nil {
		t.Fatal(err)
	}
	again, err := Parse(name, Format(f.Document))
	if err != nil {
		t.Fatalf("%s: %v\n%s", name, err, Format(f.Document))
	}
	if diff := cmp.Diff(f.Document, again.Document, noLoop, cmp.AllowUnexported(mix.Document{}, catalog.Figure{})); diff != "" {
		t.Errorf("%s: %s", name, diff)
	}
}
