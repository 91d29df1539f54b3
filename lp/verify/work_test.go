package verify

import (
	"context"
	"errors"
	"fmt"
	"strings"
	"testing"
)

// littleClaim is a document with a model and a tree that claims as little as can be.
func littleClaim(columns, more, tree string) string {
	return `{"format":"firlot-lp-certificate","version":1,"claim":{"status":"stopped"},"model":{"columns":[` + columns + `]` + more +
		`},"tree":[` + tree + `]}`
}

// many is the text n times, with commas between.
func many(n int, text string) string {
	return strings.TrimSuffix(strings.Repeat(text+",", n), ",")
}

// indices are the whole numbers below n.
func indices(n int) string {
	var b strings.Builder
	for i := range n {
		fmt.Fprintf(&b, ",%d", i)
	}
	return strings.TrimPrefix(b.String(), ",")
}

// V4: what a document makes the check keep is counted when it is made, not
// when all of it is there.
func TestRefusesToKeepMore(t *testing.T) {
	count := `,"counts":[{"cols":[` + indices(2000) + `],"most":2000}]`
	for _, c := range []struct{ name, text string }{
		{"breaks", littleClaim(`{"breaks":[`+many(300000, `["1p4096","1p4096"]`)+`,["x","1"]]}`, "", "")},
		{"splits", littleClaim(`{}`, "", many(600000, `{"kind":"value","col":0,"at":"1p4096"}`)+`,{"kind":"value","at":"x"}`)},
		{"weights", littleClaim(`{"lo":"0"}`, `,"rows":[{"lo":"0"}]`, `{"kind":"bound","rows":[`+many(600000, `{"i":0,"y":"1p4096"}`)+`,{"i":1,"y":"1"}]}`)},
		{"rows of counts", littleClaim(many(2000, `{"lo":"0","hi":"1"}`), count, `{"kind":"bound","counts":[`+many(2000, `{"i":0,"y":"-1"}`)+`]}`)},
	} {
		if _, err := CheckBytes([]byte(c.text)); !errors.Is(err, errLarge) {
			t.Errorf("%s: %v", c.name, err)
		}
	}
}

// V4: what the leaves hold for a while is given back, so that long trees pass.
func TestLeavesGiveBackWhatTheyHold(t *testing.T) {
	var tree strings.Builder
	for i := range 200 {
		fmt.Fprintf(&tree, `{"kind":"value","col":0,"at":"%d"},{"kind":"bound","counts":[`+many(2, `{"i":0,"y":"-1"}`)+`]},`, i)
	}
	tree.WriteString(`{"kind":"open"}`)
	text := littleClaim(`{"hi":"1000"},`+many(100, `{"lo":"0","hi":"1"}`), `,"counts":[{"cols":[`+strings.TrimPrefix(indices(101), "0,")+`],"most":9}]`, tree.String())
	d, err := readDoc([]byte(text))
	if err != nil {
		t.Fatal(err)
	}
	m, err := build(context.Background(), d)
	if err != nil {
		t.Fatal(err)
	}
	before, w := m.stored, &walker{m: m}
	if err := w.walk(d.Tree); err != nil {
		t.Fatal(err)
	}
	if m.stored != before {
		t.Errorf("%d words are held after the walk, %d before", m.stored, before)
	}
}

// V4: loops that a document can make long are counted, even where they find
// nothing to do.
func TestCountsIdleWork(t *testing.T) {
	chain := func(leaf string) string {
		var b strings.Builder
		for i := range 300 {
			fmt.Fprintf(&b, `{"kind":"value","col":0,"at":"%d"},%s,`, i, leaf)
		}
		return b.String() + `{"kind":"open"}`
	}
	long := "1" + strings.Repeat("0", 16000)
	for _, c := range []struct {
		name, text string
		least      int64 // words or steps that are gone through
	}{
		{"counts without columns", littleClaim(`{"lo":"0","hi":"300","whole":true}`, `,"counts":[`+many(300, `{}`)+`]`, chain(`{"kind":"open"}`)), 300 * 300},
		{"counts of a point", littleClaim(`{"lo":"0","hi":"0"}`, `,"counts":[`+many(3000, `{}`)+`]`, `{"kind":"point"}`), 2 * 3000},
		{"columns that are off", littleClaim(many(300, `{"lo":"0","hi":"0"}`), `,"counts":[{"cols":[`+indices(300)+`],"most":1}]`,
			`{"kind":"bound","counts":[`+many(300, `{"i":0,"y":"-1"}`)+`]}`), 300 * 300},
		{"a long multiple of a row", strings.TrimSuffix(littleClaim(many(300, `{"lo":"0","hi":"1","whole":true,"cost":"1"}`),
			`,"rows":[{"lo":"0","hi":"0","terms":[`+strings.TrimPrefix(strings.ReplaceAll(ones(300), `"1"`, `"1p4000"`), `{"c":0,"v":"1p4000"},`)+`]}]`, `{"kind":"bound"}`), "}") +
			`,"grid":{"row":0,"mult":"` + long + `"}}`, 299 * 63 * 800},
	} {
		d, err := readDoc([]byte(c.text))
		if err != nil {
			t.Fatalf("%s: %v", c.name, err)
		}
		m, err := build(context.Background(), d)
		if err != nil {
			t.Fatalf("%s: %v", c.name, err)
		}
		before, w := m.spent, &walker{m: m}
		if err := w.walk(d.Tree); err != nil {
			t.Fatalf("%s: %v", c.name, err)
		}
		if d.Grid != nil {
			before = m.spent // of the rounding alone, less what finding the divisor takes
			if err := w.raise(d.Grid); err != nil {
				t.Fatalf("%s: %v", c.name, err)
			}
		}
		if spent := m.spent - before; spent < c.least {
			t.Errorf("%s: %d counted, at least %d done", c.name, spent, c.least)
		}
	}
}

// V4: a list is refused while it is read, once its elements take more than
// there is room for, and what stands after them is not looked at.
func TestRefusesLongListsAsTheyAreRead(t *testing.T) {
	for _, c := range []struct {
		text string // of a list without its end
		read func(t *text)
	}{
		{`["1","1","1"`, func(t *text) { var to []string; t.strings(&to) }},
		{`[{},{},{}`, func(t *text) { var to []rawTerm; t.terms(&to) }},
		{`[{},{},{}`, func(t *text) { var to []rawWeight; t.weights(&to) }},
		{`{"cols":[0,0,0`, func(t *text) { t.limit() }},
		{`{"breaks":[["",""],["",""],["",""]`, func(t *text) { t.column() }},
		{`{"columns":[{},{},{}`, func(t *text) { t.model(new(rawModel)) }},
		{`{"rows":[{},{},{}`, func(t *text) { t.model(new(rawModel)) }},
		{`{"counts":[{},{},{}`, func(t *text) { t.model(new(rawModel)) }},
		{`{"cones":[{},{},{}`, func(t *text) { t.model(new(rawModel)) }},
		{`{"cuts":[{},{},{}`, func(t *text) { _, _ = t.document() }},
		{`{"tree":[{},{},{}`, func(t *text) { _, _ = t.document() }},
	} {
		room := 0
		for ; room < 100; room++ {
			r := &text{b: c.text, room: room}
			if c.read(r); r.err == nil {
				t.Fatalf("%s is accepted", c.text)
			}
			if !strings.Contains(r.err.Error(), "too large") {
				break
			}
		}
		if room < 3 || room > 3*perObject {
			t.Errorf("%s: three elements fit into %d words", c.text, room)
		}
	}
}

// V4: nothing may follow a document, not even behind a character that is not
// of JSON, and a refusal does not repeat a text of any length.
func TestRefusesWhatFollows(t *testing.T) {
	good := littleClaim("", "", `{"kind":"open"}`)
	if _, err := CheckBytes([]byte(good + " \n")); err != nil {
		t.Fatal(err)
	}
	for _, after := range []string{"\x00", "\x00x", " \x00{}", "null", "}"} {
		if _, err := CheckBytes([]byte(good + after)); err == nil {
			t.Errorf("%q after the document is accepted", after)
		}
	}
	long := strings.Repeat("x", 10000)
	for _, text := range []string{`{"` + long + `":1}`, `{"format":"` + long + `"}`, `{"claim":{"` + long + `":null}}`,
		littleClaim("", "", `{"kind":"`+long+`"}`), littleClaim(`{"lo":"`+long+`"}`, "", "")} {
		if _, err := CheckBytes([]byte(text)); err == nil || len(err.Error()) > 200 {
			t.Errorf("%.200v", err)
		}
	}
}

// ends is a context that is at its end when it has been looked at so often.
type ends struct {
	context.Context
	looks, at int
}

func (e *ends) Err() error {
	if e.looks++; e.looks > e.at {
		return context.DeadlineExceeded
	}
	return nil
}

// V4: long work is left when nobody waits for it any more.
func TestStopsWithItsContext(t *testing.T) {
	var tree strings.Builder
	for i := range 300 {
		fmt.Fprintf(&tree, `{"kind":"value","col":0,"at":"%d"},{"kind":"open"},`, i)
	}
	tree.WriteString(`{"kind":"open"}`)
	data := []byte(littleClaim(`{"lo":"0","hi":"300","whole":true}`, `,"counts":[`+many(60000, `{}`)+`]`, tree.String()))
	patient := &ends{Context: context.Background(), at: 1 << 30}
	if _, err := CheckContext(patient, data); err != nil || patient.looks < 2 {
		t.Fatalf("%v after %d looks", err, patient.looks)
	}
	if _, err := CheckContext(&ends{Context: context.Background(), at: patient.looks - 1}, data); !errors.Is(err, context.DeadlineExceeded) {
		t.Errorf("at the last look: %v", err)
	}
}
