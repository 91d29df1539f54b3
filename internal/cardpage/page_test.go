package cardpage_test

import (
	"bytes"
	"context"
	"os"
	"path/filepath"
	"sync"
	"testing"

	"firlot/card"
	catfiles "firlot/catalog/files"
	"firlot/internal/cardpage"
	"firlot/mix"
	mixfiles "firlot/mix/files"
	needfiles "firlot/needs/files"
)

const examples = "../../examples"

// planOf resolves an example on the whole catalogue, as the command line does.
func planOf(t testing.TB, name string) *mix.Plan {
	t.Helper()
	f, err := mixfiles.Read(filepath.Join(examples, name+".toml"))
	if err != nil {
		t.Fatal(err)
	}
	return resolved(t, f.Document)
}

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

// The publisher of the tests is invented, as everything on Skerra is.
var skerra = card.Options{Publisher: "Skerra Rescue (invented)", Words: "Fed here since spring; the island's merchant has most of it.\n\nAsk us before you change it for an animal that is ill.",
	Licence: "CC BY 4.0", Hosted: "https://example.org/skerra.html", Date: "2026-11-25",
	Changes: card.Changes{Batch: true, Step: true, Sureness: true, Stage: true}}

func cardOf(t testing.TB, o card.Options, names ...string) *card.Card {
	t.Helper()
	var plans []*mix.Plan
	for _, n := range names {
		plans = append(plans, planOf(t, n))
	}
	c, err := card.Make(context.Background(), plans, o)
	if err != nil {
		t.Fatal(err)
	}
	return c
}

var packed = sync.OnceValues(func() ([]byte, error) {
	return cardpage.Engine(context.Background(), func(string) {})
})

// engineText is the engine as a page holds it.
func engineText(t testing.TB) []byte {
	t.Helper()
	text, err := packed()
	if err != nil {
		t.Fatal(err)
	}
	return text
}

// rendered is a card's page.
func rendered(t testing.TB, c *card.Card) []byte {
	t.Helper()
	var b bytes.Buffer
	if err := cardpage.Render(&b, c, engineText(t), cardpage.Options{}); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

// saved writes a page to a file and returns its address.
func saved(t testing.TB, page []byte) string {
	t.Helper()
	name := filepath.Join(t.TempDir(), "card.html")
	if err := os.WriteFile(name, page, 0o600); err != nil {
		t.Fatal(err)
	}
	return "file://" + name
}

func adult(t testing.TB) *card.Card { return cardOf(t, skerra, "gerbil-adult") }
