package card

import (
	"errors"
	"fmt"
	"strconv"
	"strings"

	"firlot/catalog"
	"firlot/mix"
	"firlot/needs"
	"firlot/nutrient"
)

// The sureness that can be asked for, as for any mix document.
const (
	LeastSure = 0.5
	MostSure  = 0.999
)

func isDate(s string) bool {
	if len(s) != 10 || s[4] != '-' || s[7] != '-' {
		return false
	}
	y, err1 := strconv.ParseUint(s[:4], 10, 16)
	m, err2 := strconv.ParseUint(s[5:7], 10, 8)
	d, err3 := strconv.ParseUint(s[8:], 10, 8)
	return err1 == nil && err2 == nil && err3 == nil && y > 0 && m >= 1 && m <= 12 && d >= 1 && d <= 31
}

// IsLink reports whether a text is a web address: http or https, and nothing
// that could end an attribute or hide where it leads.
func IsLink(s string) bool {
	rest, ok := strings.CutPrefix(s, "https://")
	if !ok {
		rest, ok = strings.CutPrefix(s, "http://")
	}
	return ok && rest != "" && rest[0] != '/' && len(s) <= MaxLink && !strings.ContainsFunc(s, func(r rune) bool {
		return r <= ' ' || r > '~' || strings.ContainsRune("\"'<>\\`{}|^", r)
	})
}

// ready builds the card's catalogue and needs and checks what its parts say of
// one another.
func (c *Card) ready() error {
	if err := c.tables(); err != nil {
		return err
	}
	if len(c.Mixes) == 0 {
		return &Refusal{"mixes", "there is no mix"}
	}
	if c.Date == "" || c.Edition < 1 || len(c.Languages) == 0 {
		return &Refusal{"", "a card needs a date, an edition and a language"}
	}
	for _, l := range c.Languages {
		if !known(l, languages) {
			return &Refusal{"languages", fmt.Sprintf("%q is not a language that Firlot has names in", l)}
		}
	}
	for i, ref := range c.Offered {
		if c.Form(ref) == nil {
			return &Refusal{fmt.Sprintf("offered[%d]", i), fmt.Sprintf("%q is not among the card's ingredients", ref)}
		}
	}
	for i := range c.Mixes {
		if err := c.checkMix(i); err != nil {
			return err
		}
	}
	return c.checkBase()
}

func known(s string, of []string) bool {
	for _, w := range of {
		if w == s {
			return true
		}
	}
	return false
}

func (c *Card) tables() error {
	forms, ids := 0, map[string]bool{}
	for i, in := range c.Ingredients {
		at := fmt.Sprintf("ingredients[%d]", i)
		if ids[in.ID] {
			return &Refusal{at, fmt.Sprintf("%q stands twice", in.ID)}
		}
		ids[in.ID] = true
		if forms += len(in.Forms); forms > MaxForms {
			return &Refusal{at, fmt.Sprintf("there are more than %d forms", MaxForms)}
		}
	}
	ids = map[string]bool{}
	for i, s := range c.Species {
		if ids[s.ID] {
			return &Refusal{fmt.Sprintf("species[%d]", i), fmt.Sprintf("%q stands twice", s.ID)}
		}
		ids[s.ID] = true
	}
	c.catalogue = catalog.New(append([]*catalog.Ingredient(nil), c.Ingredients...), nil, c.Sources)
	c.needs = &needs.Table{Species: c.Species, Sources: c.Sources}
	return nil
}

func (c *Card) checkMix(i int) error {
	m, at := c.Mixes[i], fmt.Sprintf("mixes[%d]", i)
	p, err := c.Open(i)
	if err != nil {
		var problem *mix.Problem
		if errors.As(err, &problem) {
			return &Refusal{at + ".document." + problem.Path, problem.Message}
		}
		return &Refusal{at, err.Error()}
	}
	sum := nutrient.Mass(0)
	for k, a := range m.Amounts {
		if a%m.Document.Step != 0 {
			return &Refusal{fmt.Sprintf("%s.amounts_mg[%d]", at, k), "it is no whole number of scale steps"}
		}
		if m.Document.Lines[k].Ingredient != p.Lines[k].Form.Ref() {
			return &Refusal{fmt.Sprintf("%s.document.lines[%d].ingredient", at, k), "it is not a reference to a form"}
		}
		sum += a
	}
	if sum != p.Batch() {
		return &Refusal{at + ".amounts_mg", fmt.Sprintf("they add up to %v, and the batch is %v", sum, p.Batch())}
	}
	return nil
}

func (c *Card) checkBase() error {
	if c.Base == nil {
		return nil
	}
	check := func(list []Share) error {
		for _, s := range list {
			if c.Form(s.Ref) == nil {
				return &Refusal{"base", fmt.Sprintf("%q is not among the card's ingredients", s.Ref)}
			}
		}
		return nil
	}
	if err := check(c.Base.Amounts); err != nil {
		return err
	}
	for _, t := range c.Base.Toppers {
		if t.Mix >= len(c.Mixes) {
			return &Refusal{"base.toppers", "there is no such mix"}
		}
		if err := check(t.Amounts); err != nil {
			return err
		}
	}
	return nil
}

// Open is one of the card's mixes, resolved on the card's own catalogue.
func (c *Card) Open(i int) (*mix.Plan, error) {
	if i < 0 || i >= len(c.Mixes) {
		return nil, &mix.Problem{Message: fmt.Sprintf("the card holds %d mixes; there is no number %d", len(c.Mixes), i+1)}
	}
	return mix.Resolve(c.Mixes[i].Document, c.catalogue, c.needs)
}

// Catalogue is the card's own catalogue.
func (c *Card) Catalogue() *catalog.Catalogue { return c.catalogue }

// Needs are the card's own needs.
func (c *Card) Needs() *needs.Table { return c.needs }
