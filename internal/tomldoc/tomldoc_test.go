package tomldoc

import (
	"strings"
	"testing"
)

type fruit struct {
	Title string `toml:"title"`
	Line  []struct {
		Name  string `toml:"name"`
		Floor string `toml:"floor"`
		Sub   struct {
			A int `toml:"a"`
		} `toml:"sub"`
	} `toml:"line"`
	List []string `toml:"list"`
}

const sample = `title = "x" # words
list = ["a",
  "b"]

[[line]]
name = "oats"
floor = "3 g"

[[line]]
name = 'rye'
sub = { a = 3 }
`

func TestPlaces(t *testing.T) {
	var f fruit
	d, err := Decode("f.toml", []byte(sample), &f)
	if err != nil {
		t.Fatal(err)
	}
	for path, want := range map[string]struct {
		line, col int
		value     string
	}{
		"title":         {1, 1, `"x"`},
		"line[0].floor": {7, 1, `"3 g"`},
		"line[1].name":  {10, 1, `'rye'`},
		"line[1].sub.a": {11, 9, `3`},
		"list[1]":       {3, 3, `"b"`},
	} {
		p, ok := d.Place(path)
		if !ok || p.Line != want.line || p.Column != want.col {
			t.Errorf("%s: at %d:%d (%v), want %d:%d", path, p.Line, p.Column, ok, want.line, want.col)
		}
		if got := sample[p.Value.Start:p.Value.End]; got != want.value {
			t.Errorf("%s: value %q, want %q", path, got, want.value)
		}
	}
	if e := d.At("line[1].floor", "is missing", ""); e.Line != 9 {
		t.Errorf("a missing key is placed at line %d, want the table's line 9", e.Line)
	}
}

func TestComplaints(t *testing.T) {
	for _, c := range []struct{ name, text, want string }{
		{"unknown key", "titel = 'x'\n", `f.toml:1:1: titel: this key is not known; did you mean "title"?`},
		{"unknown nested", "[[line]]\nflor = '3 g'\n", `did you mean "floor"?`},
		{"known elsewhere", "floor = '3 g'\n", "f.toml:1:1: floor: this key does not belong here; it belongs in another table"},
		{"broken", "title = \n", "f.toml:1"},
		{"wrong kind", "title = 3\n", "f.toml:1:9"},
	} {
		var f fruit
		_, err := Decode("f.toml", []byte(c.text), &f)
		if err == nil || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%s: got %v, want it to contain %q", c.name, err, c.want)
		}
	}
}
