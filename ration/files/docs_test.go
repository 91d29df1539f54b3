package files

import (
	"os"
	"reflect"
	"strings"
	"testing"

	catfiles "firlot/catalog/files"
	needfiles "firlot/needs/files"
	"firlot/ration"
)

// TestFormatPage holds docs/week-document.md against what is read: every key,
// every sign and every way is there, and the example resolves.
func TestFormatPage(t *testing.T) {
	text, err := os.ReadFile("../../docs/week-document.md")
	if err != nil {
		t.Fatal(err)
	}
	page := string(text)
	for _, kind := range []any{rawDocument{}, rawLine{}, rawAnimal{}, rawFood{}, rawAway{}, rawChange{}, rawWeight{}, rawBowl{}, rawSign{}} {
		typ := reflect.TypeOf(kind)
		for i := range typ.NumField() {
			key := typ.Field(i).Tag.Get("toml")
			if !strings.Contains(page, "`"+key+"`") && !strings.Contains(page, "`[["+key+"]]`") && !strings.Contains(page, "`["+key+"]`") {
				t.Errorf("the page lacks %s of %s", key, typ.Name())
			}
		}
	}
	for _, s := range ration.Signs() {
		if !strings.Contains(page, "`"+string(s.Sign)+"`") {
			t.Errorf("the page lacks the sign %s", s.Sign)
		}
	}
	for _, w := range ration.Ways() {
		if !strings.Contains(page, "`"+string(w)+"`") {
			t.Errorf("the page lacks the way %s", w)
		}
	}
	_, block, _ := strings.Cut(page, "```toml\n")
	block, _, _ = strings.Cut(block, "```")
	f, err := Parse("example", []byte(block))
	if err != nil {
		t.Fatal(err)
	}
	c, err := catfiles.Builtin()
	if err != nil {
		t.Fatal(err)
	}
	table, err := needfiles.Builtin()
	if err != nil {
		t.Fatal(err)
	}
	day, err := ration.ParseDay("2026-11-25")
	if err != nil {
		t.Fatal(err)
	}
	p, err := ration.Resolve(f.Document, c, table, nil, day)
	if err != nil {
		t.Fatal(f.Locate(err))
	}
	if len(p.Foods) != 4 || len(p.Shelf) != 1 || len(p.Changeover()) != 10 {
		t.Errorf("%d foods, %d on the shelf", len(p.Foods), len(p.Shelf))
	}
}
