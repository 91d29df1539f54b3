package card_test

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"firlot/card"
	"firlot/mix"
	mixfiles "firlot/mix/files"
	"firlot/nutrient"
)

// vector is the file of one card of a version, kept so that later programs
// still read it. Its rescue on Skerra is invented.
func vector(version int) string { return filepath.Join("testdata", fmt.Sprintf("v%d.json", version)) }

// There is one card of every version, and each still opens, holds its
// certificate and says the same.
func TestEveryVersionOpens(t *testing.T) {
	for v := 1; v <= card.Version; v++ {
		text, err := os.ReadFile(vector(v))
		if err != nil {
			t.Fatal(err)
		}
		c, err := card.Decode(text)
		if err != nil {
			t.Fatalf("version %d: %v", v, err)
		}
		for i := range c.Mixes {
			if p, err := c.Verify(context.Background(), i); err != nil || p.Verdict != card.Sound {
				t.Errorf("version %d, mix %d: %+v %v", v, i+1, p, err)
			}
		}
		if v == card.Version && !bytes.Equal(card.Encode(c), bytes.TrimSpace(text)) {
			t.Errorf("version %d is written otherwise now: a change of the format needs a new version", v)
		}
		if c.Title != "Skerra Rescue: adult gerbils" || len(c.Mixes) != 1 || c.Mixes[0].Amounts[0] != 208*nutrient.Gram {
			t.Errorf("version %d: %q, %v", v, c.Title, c.Mixes[0].Amounts)
		}
	}
}

// change replaces the first of a text in an encoded card.
func change(t *testing.T, text []byte, from, to string) []byte {
	t.Helper()
	if !bytes.Contains(text, []byte(from)) {
		t.Fatalf("the card does not hold %q", from)
	}
	return bytes.Replace(text, []byte(from), []byte(to), 1)
}

// Harmful cards are refused, with the place and a reason.
func TestHarmfulCardsAreRefused(t *testing.T) {
	text, err := os.ReadFile(vector(1))
	if err != nil {
		t.Fatal(err)
	}
	text = bytes.TrimSpace(text)
	swap := func(from, to string) []byte { return change(t, text, from, to) }
	title := `"title":"Skerra Rescue: adult gerbils","publisher"`
	for name, bad := range map[string]struct {
		text []byte
		why  string
	}{
		"nothing":               {nil, "not a card"},
		"not JSON":              {[]byte("<html>"), "not a card"},
		"another format":        {swap(`"firlot-card"`, `"recipe-card"`), "not a card"},
		"a later version":       {swap(`"version":1`, `"version":2`), "of version 2"},
		"version nought":        {swap(`"version":1`, `"version":0`), "not a number from 1"},
		"an unknown member":     {swap(title, `"run":"alert(1)",`+title), "not known"},
		"a member twice":        {swap(title, `"title":"x",`+title), "twice"},
		"more after its end":    {append(bytes.Clone(text), "{}"...), "more after its end"},
		"cut short":             {text[:len(text)/2], ""},
		"not UTF-8":             {swap("Skerra", "Sk\xffrra"), "UTF-8"},
		"a control character":   {swap("Skerra", `Sk\u0007rra`), "control character"},
		"text turned about":     {swap("Skerra", `Sk\u202erra`), "control character, U+202E"},
		"half a character":      {swap("Skerra", `Sk\ud800rra`), "no character"},
		"a long title":          {swap("Skerra", strings.Repeat("x", 500)), "longer than 200"},
		"a long list":           {swap(`"languages":["en","es"]`, `"languages":[`+strings.Repeat(`"en",`, 5000)+`"en"]`), "longer than 20"},
		"an unknown language":   {swap(`"languages":["en","es"]`, `"languages":["xx"]`), "xx"},
		"a dangerous address":   {swap(`https://example.org/skerra.html`, `javascript:alert(1)`), "not a web address"},
		"markup in an address":  {swap(`https://example.org/skerra.html`, `https://example.org/\u003cscript\u003e`), "not a web address"},
		"a huge number":         {swap(`"batch_mg":1000000`, `"batch_mg":1e308`), "out of range"},
		"a number without end":  {swap(`"batch_mg":1000000`, `"batch_mg":1`+strings.Repeat("0", 400)), "out of range"},
		"a hundred megabytes":   {swap(`"batch_mg":1000000`, `"batch_mg":`+strings.Repeat("9", 5<<20)), "longer than"},
		"no number":             {swap(`"batch_mg":1000000`, `"batch_mg":NaN`), "number is expected"},
		"less than nothing":     {swap(`"batch_mg":1000000`, `"batch_mg":-5`), "out of range"},
		"half a milligram":      {swap(`"batch_mg":1000000`, `"batch_mg":1000000.5`), "whole number"},
		"a batch of other size": {swap(`"batch_mg":1000000`, `"batch_mg":2000000`), "add up"},
		"deep nesting":          {swap(`"certificate":{`, `"certificate":`+strings.Repeat(`{"a":`, 5000)+`{`), "too deep"},
		"markup in proof":       {swap(`"status":"optimal"`, `"status":"</script>"`), "no place there"},
		"an unknown figure":     {swap(`"moisture":[`, `"happiness":[`), "not known"},
		"a figure without end":  {swap(`"moisture":[`, `"moisture":[9,1,1,1,1,1,1,1,1,`), "longer than 8"},
		"an unknown text":       {swap(`"moisture":[8.22,`, `"moisture":[8.22,9999,`), "out of range"},
		"a figure beyond all":   {swap(`"moisture":[8.22,`, `"moisture":[822,`), "out of range"},
		"a bad colour":          {swap(`"colours":["#`, `"colours":["url(`), "colour"},
		"a bad id":              {swap(`{"id":"oats"`, `{"id":"../oats"`), "not an id"},
		"an ingredient twice":   {swap(`{"id":"wheat","latin"`, `{"id":"oats","latin"`), "twice"},
		"a missing ingredient":  {swap(`"ingredient":"oats/groats"`, `"ingredient":"oats/sand"`), ""},
		"a stage of its own":    {swap(`"stage":"adult","batch_mg"`, `"stage":"forever","batch_mg"`), "not a stage"},
		"no sureness":           {swap(`"sureness":0.8`, `"sureness":7`), "out of range"},
		"an offer of nothing":   {swap(`"offered":["`, `"offered":["gold/leaf","`), "not among"},
		"not a date":            {swap(`"date":"2026-11-25"`, `"date":"tomorrow!!"`), "not a date"},
	} {
		_, err := card.Decode(bad.text)
		var r *card.Refusal
		if !errors.As(err, &r) {
			t.Errorf("%s: got %v", name, err)
			continue
		}
		if !strings.Contains(r.Error(), bad.why) {
			t.Errorf("%s: refused with %q, want %q in it", name, r, bad.why)
		}
	}
}

// A card that was changed after it was made says so, whatever was changed in
// what its certificate speaks of.
func TestChangedCardsAreNotSound(t *testing.T) {
	text, err := os.ReadFile(vector(1))
	if err != nil {
		t.Fatal(err)
	}
	other := made(t, "gerbil-growing")
	for name, alter := range map[string]func(*card.Card){
		"amounts": func(c *card.Card) {
			c.Mixes[0].Amounts[0] -= 2 * nutrient.Gram
			c.Mixes[0].Amounts[1] += 2 * nutrient.Gram
		},
		"a figure": func(c *card.Card) {
			f := c.Form("oats/groats")
			x := f.Figures[nutrient.CrudeProtein]
			x.Mean += 4
			f.Figures[nutrient.CrudeProtein] = x
		},
		"a window": func(c *card.Card) {
			for i, w := range c.Species[0].Stage("adult").Windows {
				if w.Enforce {
					v := *w.Max + 1
					c.Species[0].Stage("adult").Windows[i].Max = &v
				}
			}
		},
		"a limit":   func(c *card.Card) { c.Mixes[0].Document.Groups[0].Ceiling.Percent++ },
		"another's": func(c *card.Card) { c.Mixes[0].Certificate = other.Mixes[0].Certificate },
		"the claim": func(c *card.Card) {
			c.Mixes[0].Certificate = change(t, c.Mixes[0].Certificate, `"objective":"`, `"objective":"1`)
		},
		"nothing": func(c *card.Card) { c.Mixes[0].Certificate = []byte(`{}`) },
		"impossible": func(c *card.Card) {
			c.Mixes[0].Certificate = change(t, c.Mixes[0].Certificate, `"optimal"`, `"infeasible"`)
		},
		"its program": func(c *card.Card) {
			c.Mixes[0].Certificate = change(t, c.Mixes[0].Certificate, `"name":"batch"`, `"name":"batCh"`)
		},
	} {
		c, err := card.Decode(text)
		if err != nil {
			t.Fatal(err)
		}
		alter(c)
		changed, err := card.Decode(card.Encode(c))
		if err != nil {
			t.Errorf("%s: %v", name, err)
			continue
		}
		p, err := changed.Verify(context.Background(), 0)
		if err != nil || p.Verdict != card.Altered || p.Why == "" {
			t.Errorf("%s: %+v %v", name, p, err)
		}
	}
}

// A certificate of another program is not checked at all: it is a stranger's,
// and could take minutes. That it is another program is said whatever else is
// wrong with it.
func TestAStrangersProgramIsNotChecked(t *testing.T) {
	c, err := card.Decode(card.Encode(small(t)))
	if err != nil {
		t.Fatal(err)
	}
	k := change(t, c.Mixes[0].Certificate, `"hi":"`, `"hi":"7`)
	c.Mixes[0].Certificate = change(t, k, `"kind":"`, `"kind":"un`)
	p, err := c.Verify(context.Background(), 0)
	if err != nil || p.Verdict != card.Altered || !strings.Contains(p.Why, "speaks of another mix") {
		t.Errorf("%+v %v", p, err)
	}
}

// small is a card of two ingredients, for which one window is enough.
func small(t testing.TB) *card.Card {
	t.Helper()
	file, err := mixfiles.Parse("small.toml", []byte("batch='1 kg'\n[[window]]\nnutrient='crude_protein'\nmin=12\n[[line]]\ningredient='wheat/whole'\nbase='700 g'\n[[line]]\ningredient='sunflower/in-shell-striped'\nbase='300 g'\nceiling='40 %'\n"))
	if err != nil {
		t.Fatal(err)
	}
	c, err := card.Make(context.Background(), []*mix.Plan{resolved(t, file.Document)}, card.Options{Date: "2026-11-25", Replacements: -1})
	if err != nil {
		t.Fatal(err)
	}
	return c
}

// Whatever bytes come, reading them ends, and what is taken reads back.
func FuzzDecode(f *testing.F) {
	f.Add(card.Encode(small(f)))
	f.Add([]byte(`{"format":"firlot-card","version":1,"title":"x"}`))
	f.Add([]byte(`{"format":"firlot-card","version":2}`))
	f.Fuzz(func(t *testing.T, text []byte) {
		c, err := card.Decode(text)
		if err != nil {
			var r *card.Refusal
			if !errors.As(err, &r) {
				t.Fatalf("not a refusal: %v", err)
			}
			return
		}
		once := card.Encode(c)
		d, err := card.Decode(once)
		if err != nil {
			t.Fatalf("what was taken is refused when written again: %v", err)
		}
		if !bytes.Equal(once, card.Encode(d)) {
			t.Fatal("written again it is another text")
		}
	})
}

func FuzzDecodeChoices(f *testing.F) {
	f.Add([]byte(`{"mix":1,"missing":["oats/groats"],"use":["oats/rolled"],"batch_mg":500000,"sureness":0.9,"stage":"adult"}`))
	f.Add([]byte(`{}`))
	f.Fuzz(func(t *testing.T, text []byte) {
		ch, err := card.DecodeChoices(text)
		if err != nil {
			return
		}
		back, err := card.DecodeChoices(card.EncodeChoices(ch))
		if err != nil {
			t.Fatalf("%+v: %v", ch, err)
		}
		if !bytes.Equal(card.EncodeChoices(ch), card.EncodeChoices(back)) {
			t.Fatalf("%+v became %+v", ch, back)
		}
	})
}
