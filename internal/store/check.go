package store

import (
	"fmt"
	"math"
	"strings"
	"unicode/utf8"

	"firlot/internal/nearword"
)

// What is kept is bounded, so that a page, a backup and a stranger's file have
// a size that can be reckoned with. Lengths are in bytes of UTF-8.
const (
	MostName     = 200     // of a name or a place
	MostNote     = 10_000  // of a note to a group, a shelf or a version
	MostItemNote = 1_000   // of a note to an item
	MostDocument = 1 << 20 // of a document, windows or own ingredients
	MostItems    = 2_000   // on a shelf
	MostRef      = 200     // of a reference to an ingredient, a species, a stage
	MostSetting  = 64 << 10
	MostAnimals  = 1_000_000
	MostMg       = 1_000_000_000_000 // a thousand tonnes
	MostPrice    = 1e9
	MostUndo     = 100 // changes of a document that can be taken back
	MostPage     = 200 // mixes on a page of a list
	UsualPage    = 50
)

// Fold is how names are compared and put in order: lower case, without
// accents, with hyphens and slashes as spaces. Every store keeps the folded
// name beside the name and sorts it by its bytes.
func Fold(name string) string { return nearword.Fold(name) }

// Check says why a group cannot be kept, as an ErrInvalid, or nil.
func (g Group) Check() error {
	c := checker{what: "group"}
	c.name(g.Name)
	c.text("species", g.Species, MostRef)
	c.text("stage", g.Stage, MostRef)
	c.text("note", g.Note, MostNote)
	c.text("windows", g.Windows, MostDocument)
	c.text("feeding", g.Feeding, MostDocument)
	if g.Animals < 0 || g.Animals > MostAnimals {
		c.fail("%d animals", g.Animals)
	}
	c.date("born", g.Born)
	return c.err
}

// Check says why a shelf cannot be kept, as an ErrInvalid, or nil.
func (s Shelf) Check() error {
	c := checker{what: "shelf"}
	c.name(s.Name)
	c.text("place", s.Place, MostName)
	c.text("note", s.Note, MostNote)
	c.text("own ingredients", s.Own, MostDocument)
	if len(s.Items) > MostItems {
		c.fail("%d items, more than %d", len(s.Items), MostItems)
	}
	seen := map[string]bool{}
	for _, it := range s.Items {
		c.item(it)
		if seen[it.Ref] {
			c.fail("%q is on it twice", it.Ref)
		}
		seen[it.Ref] = true
	}
	return c.err
}

// Check says why a mix cannot be kept, as an ErrInvalid, or nil. Whether its
// group and shelf exist only the store knows.
func (m Mix) Check() error {
	c := checker{what: "mix"}
	c.name(m.Name)
	c.text("document", m.Document, MostDocument)
	return c.err
}

// Check says why a filter cannot be answered, as an ErrInvalid, or nil.
func (f Filter) Check() error {
	c := checker{what: "list"}
	c.text("text", f.Text, MostName)
	c.page(f.Most)
	return c.err
}

// Page is how many mixes the filter asks for.
func (f Filter) Page() int {
	if f.Most == 0 {
		return UsualPage
	}
	return f.Most
}

// CheckNote says why a note to a version cannot be kept, or nil.
func CheckNote(note string) error {
	c := checker{what: "version"}
	c.text("note", note, MostNote)
	return c.err
}

// CheckSetting says why a setting cannot be kept, or nil.
func CheckSetting(name, value string) error {
	c := checker{what: "setting"}
	c.name(name)
	c.text("value", value, MostSetting)
	return c.err
}

// checker keeps the first complaint.
type checker struct {
	what string
	err  error
}

func (c *checker) fail(format string, args ...any) {
	if c.err == nil {
		c.err = fmt.Errorf("%w: %s: %s", ErrInvalid, c.what, fmt.Sprintf(format, args...))
	}
}

func (c *checker) name(name string) {
	c.text("name", name, MostName)
	if strings.TrimSpace(name) == "" {
		c.fail("it needs a name")
	}
}

// text lets through what every database keeps as it is: UTF-8 without NUL.
func (c *checker) text(field, text string, most int) {
	switch {
	case len(text) > most:
		c.fail("%s of %d bytes, more than %d", field, len(text), most)
	case !utf8.ValidString(text):
		c.fail("%s is not UTF-8", field)
	case strings.ContainsRune(text, 0):
		c.fail("%s holds a zero byte", field)
	}
}

func (c *checker) item(it Item) {
	if it.Ref == "" {
		c.fail("an item without an ingredient")
	}
	c.text("ingredient", it.Ref, MostRef)
	c.text("note", it.Note, MostItemNote)
	c.mass(it.Ref, "on hand", it.OnHand, 0)
	c.mass(it.Ref, "pack", it.PackMg, 1)
	c.cost(it.Ref, "price", it.Price)
	c.cost(it.Ref, "cost of a pack", it.PackCost)
}

func (c *checker) mass(ref, field string, mg *int64, least int64) {
	if mg != nil && (*mg < least || *mg > MostMg) {
		c.fail("%q: %s of %d mg", ref, field, *mg)
	}
}

func (c *checker) cost(ref, field string, cost *float64) {
	if cost != nil && (math.IsNaN(*cost) || *cost < 0 || *cost > MostPrice) {
		c.fail("%q: %s of %v", ref, field, *cost)
	}
}
