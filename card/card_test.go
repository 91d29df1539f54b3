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
	"firlot/nutrient"
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

// examplesFound are all of these, or with -short three: in WebAssembly under
// node all of them take minutes.
func examplesFound() []string {
	if testing.Short() {
		return found[:3]
	}
	return found
}

var ignored = cmp.Options{cmpopts.IgnoreUnexported(card.Card{}), cmpopts.IgnoreFields(catalog.Form{}, "Ingredient"), cmpopts.EquateEmpty()}

// Every example's card reads back as it was written, to the byte, and its
// certificate holds.
func TestRoundTrip(t *testing.T) {
	for _, name := range examplesFound() {
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
	for _, name := range examplesFound() {
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

// What is on hand and what was paid stay at home; the mix goes out as it was
// found with them.
func TestStockStaysAtHome(t *testing.T) {
	p := planOf(t, "gerbil-adult")
	d := p.Document.Copy()
	price := 3.5
	for i := range d.Lines {
		d.Lines[i].Price = &price
	}
	d.Lines[0].OnHand = mix.Amount{Set: true, Mass: 150 * nutrient.Gram}
	p = resolved(t, d)
	want, err := formulate.Solve(context.Background(), p, formulate.Options{})
	if err != nil {
		t.Fatal(err)
	}
	c, err := card.Make(context.Background(), []*mix.Plan{p}, publisher)
	if err != nil {
		t.Fatal(err)
	}
	if diff := cmp.Diff(want.Amounts(), c.Mixes[0].Amounts); diff != "" {
		t.Errorf("another mix went out: %s", diff)
	}
	if text := card.Encode(c); bytes.Contains(text, []byte(`"price"`)) || bytes.Contains(text, []byte(`"on_hand"`)) || bytes.Contains(text, []byte("EUR")) {
		t.Error("prices or stock left the house")
	}
	d.Prefer = mix.Cheap
	if c, err = card.Make(context.Background(), []*mix.Plan{resolved(t, d)}, publisher); err != nil {
		t.Fatal(err)
	}
	if d := c.Mixes[0].Document; d.Prefer != mix.Near || d.Lines[0].OnHand.Set {
		t.Errorf("a cheap mix shaped by stock goes out as %q", d.Prefer)
	}
}

// Choices that cannot be met say what clashes, and the ways out name the card's
// ingredients only, and none of those that cannot be had.
func TestImpossibleChoices(t *testing.T) {
	c := made(t, "gerbil-adult")
	missing := []string{"nettle/leaf-dried", "dandelion/leaf-dried"}
	r, err := c.Solve(context.Background(), card.Choices{Missing: missing}, formulate.Options{})
	if err != nil {
		var problem *mix.Problem
		if !errors.As(err, &problem) {
			t.Fatal(err)
		}
		return // the group of herbs holds nothing any more, and that is said
	}
	if r.Report.Status == string(formulate.Found) {
		t.Fatal("a mix without any herb was found, and a floor asks for some")
	}
	for _, a := range r.Report.Ways.Additions {
		ref := a.Ingredient + "/" + a.Form
		if c.Form(ref) == nil || slices.Contains(missing, ref) {
			t.Errorf("%s is offered", ref)
		}
	}
}

// What a card does not offer or allow is refused in words.
func TestChoicesAreHeldToTheCard(t *testing.T) {
	p := planOf(t, "gerbil-adult")
	o := publisher
	o.Changes = card.Changes{}
	c, err := card.Make(context.Background(), []*mix.Plan{p}, o)
	if err != nil {
		t.Fatal(err)
	}
	low, high := 0.2, 0.9
	for name, ch := range map[string]card.Choices{
		"no such mix": {Mix: 3}, "batch": {Batch: nutrient.Kilogram}, "step": {Step: nutrient.Gram}, "sureness": {Sureness: &high}, "bad sureness": {Sureness: &low},
		"stage": {Stage: "senior"}, "not in the mix": {Missing: []string{"maize/popping"}}, "not in the card": {Use: []string{"gold/leaf"}},
		"there already": {Use: []string{"oats/groats"}}, "twice": {Use: []string{c.Offered[0], c.Offered[0]}},
	} {
		_, err := c.Solve(context.Background(), ch, formulate.Options{})
		var problem *mix.Problem
		if !errors.As(err, &problem) || problem.Message == "" {
			t.Errorf("%s: %v", name, err)
		}
	}
}

// A mix brought home is the one that was sent; what differs is told, and what
// is known here has the last word.
func TestReceive(t *testing.T) {
	cat, err := catfiles.Builtin()
	if err != nil {
		t.Fatal(err)
	}
	table, err := needfiles.Builtin()
	if err != nil {
		t.Fatal(err)
	}
	for _, name := range examplesFound() {
		c := made(t, name)
		r, err := c.Receive(0, cat, table)
		if err != nil || len(r.Foods)+len(r.Windows)+len(r.Own) > 0 {
			t.Errorf("%s: %+v %v", name, r, err)
			continue
		}
		f, err := mixfiles.Parse("received.toml", mixfiles.Format(r.Document))
		if err != nil {
			t.Errorf("%s: %v", name, err)
			continue
		}
		got, _ := resolved(t, f.Document).Standing()
		if diff := cmp.Diff(c.Mixes[0].Amounts, got); diff != "" {
			t.Errorf("%s: %s", name, diff)
		}
	}
}

// A form that is not known here comes along as an own one; one that is never
// fed does not, whatever the card calls it.
func TestStrangersFood(t *testing.T) {
	cat, err := catfiles.Builtin()
	if err != nil {
		t.Fatal(err)
	}
	table, err := needfiles.Builtin()
	if err != nil {
		t.Fatal(err)
	}
	r, err := strangers(t, "skerra-corn", "Skerra corn").Receive(0, cat, table)
	if err != nil || len(r.Own) != 1 || r.Own[0] != "skerra-corn/whole" || len(r.Document.Own) != 1 {
		t.Fatalf("%+v %v", r, err)
	}
	if _, err := strangers(t, "cocoa", "chocolate drops").Receive(0, cat, table); err == nil {
		t.Error("chocolate was taken in")
	}
}

// strangers is a card whose wheat goes by another name and id.
func strangers(t *testing.T, id, name string) *card.Card {
	t.Helper()
	text := card.Encode(small(t))
	text = bytes.ReplaceAll(text, []byte(`"id":"wheat"`), []byte(`"id":"`+id+`"`))
	text = bytes.ReplaceAll(text, []byte("wheat/whole"), []byte(id+"/whole"))
	text = bytes.Replace(text, []byte(`"en":["wheat`), []byte(`"en":["`+name), 1)
	c, err := card.Decode(text)
	if err != nil {
		t.Fatal(err)
	}
	return c
}
