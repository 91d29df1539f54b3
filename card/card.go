package card

import (
	"firlot/catalog"
	"firlot/formulate"
	"firlot/mix"
	"firlot/needs"
	"firlot/nutrient"
)

// Format and Version name what Encode writes. Decode reads Version and every
// version before it.
const (
	Format  = "firlot-card"
	Version = 1
)

// Bounds on a card. They keep a stranger's card from costing more than a
// moment, and are far above what a mix needs.
const (
	MaxBytes       = 4 << 20 // of the encoded card
	MaxMixes       = 6
	MaxIngredients = 120
	MaxForms       = 200
	MaxSpecies     = 3
	MaxSources     = 400
	MaxOffered     = 60
	MaxWords       = 4000 // characters of the publisher's words
	MaxTitle       = 200  // characters of a title, a licence, a publisher
	MaxLink        = 500  // characters of an address
	MaxText        = 2000 // characters of any other text
	MaxCertificate = 256 << 10
)

// Card is a mix, or several, made to be handed on. It is read-only once made
// or decoded.
type Card struct {
	Title     string
	Publisher string // who publishes it, in the publisher's own words; may be empty
	Words     string // the publisher's own words, plain text with line breaks; may be empty
	Licence   string // what the publisher allows, such as "CC BY 4.0"; may be empty
	Hosted    string // the address where the card is kept; may be empty
	Date      string // year-month-day, given by whoever makes the card
	Edition   int    // the publisher's count of this card's versions, from 1
	Languages []string
	Changes   Changes
	Mixes     []Mix
	Offered   []string // forms that a reader may add, "ingredient/form", the likest first
	Base      *Base    // nil: none was asked for or none exists

	Ingredients []*catalog.Ingredient
	Species     []*needs.Species
	Sources     map[string]catalog.Source // of figures, limits and windows

	catalogue *catalog.Catalogue
	needs     *needs.Table
}

// Changes are what a reader may change besides leaving out what cannot be
// got and adding what the card offers, which every card allows.
type Changes struct {
	Batch, Step, Sureness, Stage bool
}

// Mix is one mix of a card: what was asked, and the published answer.
type Mix struct {
	Document *mix.Document // lines and groups name forms by "ingredient/form"
	Amounts  []nutrient.Mass
	// Certificate proves the published answer; empty when it was left out for
	// its size.
	Certificate []byte
}

// Base is one mix that a topper turns into each of the card's stages.
type Base struct {
	Title   string
	Amounts []Share
	Toppers []Topper
}

// Share is a mass of a form.
type Share struct {
	Ref  string
	Mass nutrient.Mass
}

// Topper turns the base into a mix for the stage of one of the card's mixes.
type Topper struct {
	Mix     int           // of the card's mixes
	Base    nutrient.Mass // how much of the base the topper is for
	Amounts []Share       // what is added to that much
}

// BaseOf is what a card says of a base that was found; nil when none was.
func BaseOf(b *formulate.BaseMix, title string) *Base {
	if b == nil || b.Status != formulate.Found {
		return nil
	}
	out := &Base{Title: oneLine(title, MaxTitle)}
	for i, f := range b.Forms {
		if b.Base[i] > 0 {
			out.Amounts = append(out.Amounts, Share{f.Ref(), b.Base[i]})
		}
	}
	for i, s := range b.Stages {
		t := Topper{Mix: i, Base: b.BaseMass}
		for k, m := range s.Topper {
			if m > 0 {
				t.Amounts = append(t.Amounts, Share{s.Plan.Lines[k].Form.Ref(), m})
			}
		}
		out.Toppers = append(out.Toppers, t)
	}
	return out
}

// Form returns the card's form of a reference, or nil. The own ingredients of
// its mixes count too.
func (c *Card) Form(ref string) *catalog.Form {
	if f := formOf(c.Ingredients, ref); f != nil {
		return f
	}
	for _, m := range c.Mixes {
		if f := formOf(m.Document.Own, ref); f != nil {
			return f
		}
	}
	return nil
}

func formOf(list []*catalog.Ingredient, ref string) *catalog.Form {
	for _, in := range list {
		for _, f := range in.Forms {
			if in.ID+"/"+f.ID == ref {
				return f
			}
		}
	}
	return nil
}

// Shared lists the forms that every mix of the card holds some of.
func (c *Card) Shared() []string {
	count := map[string]int{}
	for _, m := range c.Mixes {
		for i, l := range m.Document.Lines {
			if m.Amounts[i] > 0 {
				count[l.Ingredient]++
			}
		}
	}
	var list []string
	for _, l := range c.Mixes[0].Document.Lines {
		if count[l.Ingredient] == len(c.Mixes) {
			list = append(list, l.Ingredient)
		}
	}
	return list
}
