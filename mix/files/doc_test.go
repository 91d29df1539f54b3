package files

import (
	"fmt"
	"os"
	"reflect"
	"strings"
	"testing"

	catfiles "firlot/catalog/files"
	"firlot/mix"
	needfiles "firlot/needs/files"
	"firlot/nutrient"
)

// TestFormatPage holds docs/mix-document.md against what is read: every key
// is there, every figure under its unit, and the examples resolve.
func TestFormatPage(t *testing.T) {
	text, err := os.ReadFile("../../docs/mix-document.md")
	if err != nil {
		t.Fatal(err)
	}
	page := string(text)
	for _, kind := range []any{rawDocument{}, rawLine{}, rawGroup{}, rawWindow{}, rawOwn{}} {
		typ := reflect.TypeOf(kind)
		for i := range typ.NumField() {
			key := typ.Field(i).Tag.Get("toml")
			if !strings.Contains(page, "`"+key+"`") && !strings.Contains(page, "`[["+key+"]]`") {
				t.Errorf("the page lacks %s of %s", key, typ.Name())
			}
		}
	}
	for _, p := range mix.Preferences() {
		if !strings.Contains(page, "| `"+string(p)+"` |") {
			t.Errorf("the page lacks the preference %s", p)
		}
	}
	section := page[strings.Index(page, "\n## Figures"):]
	section = section[:strings.Index(section[1:], "\n## ")]
	for _, info := range nutrient.All() {
		found := ""
		for _, para := range strings.Split(section, ". In ") {
			for _, p := range strings.Split(para, "\n") {
				if strings.Contains(p, "`"+string(info.Key)+"`") {
					found = p
				}
			}
		}
		if !strings.Contains(found, string(info.Unit)) {
			t.Errorf("the page does not list %s in %s", info.Key, info.Unit)
		}
	}
	examplesOf(t, page)
}

// examplesOf reads and resolves the page's code blocks: the first is a whole
// document, the second a part of one.
func examplesOf(t *testing.T, page string) {
	c, err := catfiles.Builtin()
	if err != nil {
		t.Fatal(err)
	}
	table, err := needfiles.Builtin()
	if err != nil {
		t.Fatal(err)
	}
	blocks := strings.Split(page, "```toml\n")[1:]
	if len(blocks) != 2 {
		t.Fatalf("there are %d examples on the page", len(blocks))
	}
	for i, head := range []string{"", "species = 'gerbil'\nstage = 'adult'\nbatch = '1 kg'\n"} {
		text, _, _ := strings.Cut(blocks[i], "```")
		f, err := Parse(fmt.Sprintf("example %d", i+1), []byte(head+text))
		if err != nil {
			t.Error(err)
			continue
		}
		if _, err := mix.Resolve(f.Document, c, table); err != nil {
			t.Error(f.Locate(err))
		}
	}
}
