package card_test

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"path/filepath"
	"slices"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"

	"firlot/card"
	"firlot/catalog"
	catfiles "firlot/catalog/files"
	"firlot/formulate"
	"firlot/mix"
	mixfiles "firlot/mix/files"
	needfiles "firlot/needs/files"
	"firlot/report"
)

const examples = "../examples"

func planOf(t testing.TB, name string) *mix.Plan {
	t.Helper()
	f, err := mixfiles.Read(filepath.Join(examples, name+".toml"))
	if err != nil {
		t.Fatal(err)
	}
	return resolved(t, f.Document)
}

// resolved resolves a document on the whole catalogue, as the command line
// does.
func resolved(t testing.TB, d *mix.Document) *mix.Plan {
	t.Helper()
	c, err := catfiles.Builtin()
	if err != nil {
		t.Fatal(err)
	}
	n, err := needfiles.Builtin()
	if err != nil {
		t.Fatal(err)
	}
	p, err := mix.Resolve(d, c, n)
	if err != nil {
		t.Fatal(err)
	}
	return p
}

var publisher = card.Options{Publisher: "Skerra Rescue (invented)", Words: "Fed here since spring.\nAsk us before you change it for an ill animal.",
	Licence: "CC BY 4.0", Hosted: "https://example.org/skerra.html", Date: "2026-11-25",
	Changes: card.Changes{Batch: true, Step: true, Sureness: true, Stage: true}}

func made(t testing.TB, names ...string) *card.Card {
	t.Helper()
	var plans []*mix.Plan
	for _, n := range names {
		plans = append(plans, planOf(t, n))
	}
	c, err := card.Make(context.Background(), plans, publisher)
	if err != nil {
		t.Fatal(err)
	}
	return c
}

var found = []string{"dwarf-hamster", "gerbil-adult", "gerbil-growing", "gerbil-other-forms", "gerbil-senior", "jewellers-scale", "mouse",
	"own-ingredient", "pounds-and-ounces", "rat", "syrian-hamster", "thirty-gerbils"}

var ignored = cmp.Options{cmpopts.IgnoreUnexported(card.Card{}), cmpopts.IgnoreFields(catalog.Form{}, "Ingredient"), cmpopts.EquateEmpty()}

// Every example's card reads back as it was written, to the byte, and its
// certificate holds.
func TestRoundTrip(t *testing.T) {
	for _, name := range found {
		c := made(t, name)
		text := card.Encode(c)
		d, err := card.Decode(text)
		if err != nil {
			t.Fatalf("%s: %v", name, err)
		}
		if diff := cmp.Diff(c, d, ignored); diff != "" {
			t.Errorf("%s: %s", name, diff)
		}
		if !bytes.Equal(text, card.Encode(d)) {
			t.Errorf("%s: encoded again it is another text", name)
		}
		if !json.Valid(text) || bytes.ContainsAny(text, "<>&") {
			t.Errorf("%s: not JSON that can stand in a page", name)
		}
		v, err := d.Verify(context.Background(), 0)
		if err != nil || v.Verdict != card.Sound {
			t.Errorf("%s: %+v %v", name, v, err)
		}
		t.Log(name, len(text), len(d.Mixes[0].Certificate), len(d.Offered), len(d.Ingredients), v.Status)
	}
}

// asCommand answers a document as `firlot solve --json` does, but without the
// time that it took.
func asCommand(t testing.TB, d *mix.Document) []byte {
	t.Helper()
	p := resolved(t, d)
	a, err := formulate.Solve(context.Background(), p, formulate.Options{})
	if err != nil {
		t.Fatal(err)
	}
	return indented(t, report.OfAnswer(a))
}

func indented(t testing.TB, v any) []byte {
	t.Helper()
	var out bytes.Buffer
	enc := json.NewEncoder(&out)
	enc.SetIndent("", "  ")
	enc.SetEscapeHTML(false)
	if err := enc.Encode(v); err != nil {
		t.Fatal(err)
	}
	return out.Bytes()
}

// The card's answer is the command line's, to the byte, for the published
// document and for changed ones: each document is written as TOML, read again
// and solved on the whole catalogue.
func TestSameAsCommand(t *testing.T) {
	for _, name := range found {
		c, err := card.Decode(card.Encode(made(t, name)))
		if err != nil {
			t.Fatal(err)
		}
		sure := 0.6
		lines := c.Mixes[0].Document.Lines
		same := 0
		for _, ch := range []card.Choices{
			{}, {Batch: c.Mixes[0].Document.Batch / 2}, {Sureness: &sure},
			{Missing: []string{lines[0].Ingredient}},
			{Missing: []string{lines[1].Ingredient}, Use: c.Offered[:min(1, len(c.Offered))]},
			{Missing: []string{lines[0].Ingredient, lines[1].Ingredient}, Use: c.Offered[:min(2, len(c.Offered))]},
		} {
			d, err := c.Document(ch)
			if err != nil {
				var problem *mix.Problem
				if !errors.As(err, &problem) {
					t.Errorf("%s: %+v: %v", name, ch, err)
				}
				continue
			}
			r, err := c.Solve(context.Background(), ch, formulate.Options{})
			if err != nil {
				t.Fatalf("%s: %+v: %v", name, ch, err)
			}
			if r.Report.Status != string(formulate.Found) {
				r.Report.Ways = nil // sought among the card's ingredients only
			}
			if r.Proved.Verdict == card.Altered {
				t.Errorf("%s: %+v", name, r.Proved)
			}
			f, err := mixfiles.Parse("card.toml", mixfiles.Format(d))
			if err != nil {
				t.Fatal(err)
			}
			if want := asCommand(t, f.Document); !bytes.Equal(want, indented(t, r.Report)) {
				t.Errorf("%s: %+v:\n%s", name, ch, cmp.Diff(string(want), string(indented(t, r.Report))))
			}
			same++
		}
		if same < 3 {
			t.Errorf("%s: only %d answers could be compared", name, same)
		}
	}
}

// Several stages go into one card, and say what they share.
func TestStages(t *testing.T) {
	c := made(t, "gerbil-growing", "gerbil-adult", "gerbil-senior")
	if len(c.Mixes) != 3 || len(c.Shared()) == 0 {
		t.Fatalf("%d mixes share %v", len(c.Mixes), c.Shared())
	}
	for _, ref := range c.Shared() {
		for _, m := range c.Mixes {
			if !slices.ContainsFunc(m.Document.Lines, func(l mix.Line) bool { return l.Ingredient == ref }) {
				t.Errorf("%s is not in every mix", ref)
			}
		}
	}
}
