package card

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"slices"
	"strings"
	"unicode"

	"firlot/catalog"
	"firlot/catalog/find"
	"firlot/formulate"
	"firlot/mix"
	"firlot/needs"
	"firlot/nutrient"
)

// Options are what a publisher says of a card.
type Options struct {
	Title     string // empty: the first mix's
	Publisher string
	Words     string
	Licence   string
	Hosted    string
	Date      string // year-month-day
	Edition   int    // 0: the first
	Languages []string
	Changes   Changes
	// Replacements is how many replacements each ingredient of a mix gets, if
	// as many will do; 0 is DefaultReplacements, less than 0 is none.
	Replacements int
	Base         *Base
}

// DefaultReplacements and MaxReplacements bound the replacements that each
// ingredient gets.
const (
	DefaultReplacements = 2
	MaxReplacements     = 6
)

// ErrNoMix says that a document has no mix to publish.
var ErrNoMix = errors.New("a card holds mixes that were found, and solving found none")

// Make builds a card from one or several plans. Each is solved anew, so that
// what the card publishes is proved. What is on hand stays at home, and so do
// prices, unless the cheapest mix is asked for: then the card needs them. A
// mix that what is on hand has shaped is published as it is, as the one to
// stay near to.
//
// Replacements are the likest forms of the catalogue that can stand in for
// one of the ingredients, each tried by formulate.Without.
func Make(ctx context.Context, plans []*mix.Plan, o Options) (*Card, error) {
	if len(plans) == 0 || len(plans) > MaxMixes {
		return nil, fmt.Errorf("a card holds 1 to %d mixes, and these are %d", MaxMixes, len(plans))
	}
	c, err := o.card()
	if err != nil {
		return nil, err
	}
	g := &gatherer{card: c, forms: map[*catalog.Ingredient][]*catalog.Form{}}
	for _, p := range plans {
		p, m, err := publish(ctx, p)
		if err != nil {
			return nil, err
		}
		if c.Title == "" {
			c.Title = m.Document.Title
		}
		c.Mixes = append(c.Mixes, m)
		g.plan(p)
		if err := g.replacements(ctx, p, m, o.replacements()); err != nil {
			return nil, err
		}
		if err := g.animals(p, o.Changes.Stage); err != nil {
			return nil, err
		}
	}
	c.Title = oneLine(c.Title, MaxTitle)
	c.Base = o.Base
	g.finish(plans)
	if err := c.ready(); err != nil {
		return nil, err
	}
	if n := len(Encode(c)); n > MaxBytes {
		return nil, fmt.Errorf("the card would be %d bytes long; %d is the most", n, MaxBytes)
	}
	return c, nil
}

func (o Options) replacements() int {
	if o.Replacements == 0 {
		return DefaultReplacements
	}
	return min(max(o.Replacements, 0), MaxReplacements)
}

// card is the card's front matter.
func (o Options) card() (*Card, error) {
	c := &Card{Title: oneLine(o.Title, MaxTitle), Publisher: oneLine(o.Publisher, MaxTitle), Words: plainWords(o.Words),
		Licence: oneLine(o.Licence, MaxTitle), Hosted: o.Hosted, Date: o.Date, Edition: max(o.Edition, 1),
		Languages: o.Languages, Changes: o.Changes, Sources: map[string]catalog.Source{}}
	if len(c.Languages) == 0 {
		c.Languages = []string{"en", "es"}
	}
	switch {
	case !isDate(c.Date):
		return nil, fmt.Errorf("%q is not a date; write for example 2026-01-31", c.Date)
	case c.Hosted != "" && !IsLink(c.Hosted):
		return nil, fmt.Errorf("%q is not a web address; write for example https://example.org/card.html", c.Hosted)
	case len([]rune(c.Words)) > MaxWords:
		return nil, fmt.Errorf("the words are longer than %d characters", MaxWords)
	}
	return c, nil
}

// oneLine makes text fit for one line of a card: without characters that
// steer, and no longer than it may be.
func oneLine(s string, most int) string {
	return cut(strings.Join(strings.Fields(withoutSteering(s)), " "), most)
}

// plainWords keeps line breaks and drops what steers.
func plainWords(s string) string {
	return strings.TrimSpace(withoutSteering(strings.ReplaceAll(s, "\r\n", "\n")))
}

func withoutSteering(s string) string {
	return strings.Map(func(r rune) rune {
		switch {
		case r == '\n':
			return r
		case r == '\t':
			return ' '
		case unicode.IsControl(r) || turns(r):
			return -1
		}
		return r
	}, strings.ToValidUTF8(s, "\uFFFD"))
}

func cut(s string, most int) string {
	if r := []rune(s); len(r) > most {
		return strings.TrimSpace(string(r[:most-1])) + "…"
	}
	return s
}

// publish solves a plan as the card will hold it.
func publish(ctx context.Context, p *mix.Plan) (*mix.Plan, Mix, error) {
	d, held := atHome(p)
	if held {
		a, err := formulate.Solve(ctx, p, formulate.Options{})
		if err != nil {
			return nil, Mix{}, err
		}
		if a.Status != formulate.Found {
			return nil, Mix{}, ErrNoMix
		}
		d.Prefer = mix.Near
		for i, m := range a.Amounts() {
			d.Lines[i].Base, d.Lines[i].Amount = mix.Amount{Set: true, Mass: m}, mix.Amount{}
		}
	}
	q, err := p.With(d)
	if err != nil {
		return nil, Mix{}, err
	}
	a, err := formulate.Solve(ctx, q, formulate.Options{Proof: true})
	if err != nil {
		return nil, Mix{}, err
	}
	if ctx.Err() != nil {
		return nil, Mix{}, fmt.Errorf("the time was up before the mix was worked out: %w", ctx.Err())
	}
	if a.Status != formulate.Found {
		return nil, Mix{}, ErrNoMix
	}
	m := Mix{Document: d, Amounts: a.Amounts()}
	if a.Proof != nil && len(a.Proof.JSON()) <= keptCertificate {
		m.Certificate = trimmed(a.Proof.JSON())
	}
	return q, m, nil
}

// keptCertificate is the size up to which a certificate goes along: beyond it
// the card would grow more than its reader gains, since it proves its answer
// anew when it solves.
const keptCertificate = 128 << 10

func trimmed(b []byte) []byte { return []byte(strings.TrimSpace(string(b))) }

// atHome is the document as it leaves the house: references instead of names,
// without what is on hand and without prices that nothing needs. It reports
// whether what was on hand could have shaped the mix.
func atHome(p *mix.Plan) (d *mix.Document, held bool) {
	d = p.Document.Copy()
	d.Title, d.Note = oneLine(d.Title, MaxTitle), cut(plainWords(d.Note), MaxText)
	for i := range d.Lines {
		l := &d.Lines[i]
		l.Ingredient = p.Lines[i].Form.Ref()
		held = held || l.OnHand.Set
		l.OnHand = mix.Amount{}
		if d.Prefer != mix.Cheap {
			l.Price = nil
		}
	}
	if d.Prefer != mix.Cheap {
		d.Currency = ""
	}
	for i := range d.Groups {
		d.Groups[i].Name = oneLine(d.Groups[i].Name, MaxTitle)
		for k, name := range d.Groups[i].Of {
			if f, err := find.Resolve(p.Catalogue, name); err == nil {
				d.Groups[i].Of[k] = f.Ref()
			}
		}
	}
	for i := range d.Windows {
		d.Windows[i].Note = cut(plainWords(d.Windows[i].Note), MaxText)
	}
	if p.Species != nil {
		d.Species = p.Species.ID
	}
	d.Own = nil
	for _, in := range p.Document.Own {
		d.Own = append(d.Own, ownAsText(in))
	}
	return d, held
}

// ownAsText is an own ingredient whose texts fit into a card.
func ownAsText(in *catalog.Ingredient) *catalog.Ingredient {
	out, f := *in, *in.Forms[0]
	out.Names = catalog.Names{"en": {oneLine(in.Names.First("en"), MaxTitle)}}
	f.Ingredient, f.Cautions = &out, nil
	for _, c := range in.Forms[0].Cautions[:min(len(in.Forms[0].Cautions), 20)] {
		f.Cautions = append(f.Cautions, oneLine(c, MaxText))
	}
	f.Figures = map[nutrient.Key]catalog.Figure{}
	for k, fig := range in.Forms[0].Figures {
		fig.Source, fig.Note = oneLine(fig.Source, MaxText), cut(plainWords(fig.Note), MaxText)
		f.Figures[k] = fig
	}
	if b := f.BulkDensity; b != nil {
		fig := *b
		fig.Source = oneLine(fig.Source, MaxText)
		f.BulkDensity = &fig
	}
	out.Forms = []*catalog.Form{&f}
	return &out
}

// gatherer collects what a card's mixes need.
type gatherer struct {
	card  *Card
	forms map[*catalog.Ingredient][]*catalog.Form
	order []*catalog.Ingredient
}

// take adds a form and the kernel that it is eaten as.
func (g *gatherer) take(f *catalog.Form) {
	in := f.Ingredient
	if g.forms[in] == nil {
		g.order = append(g.order, in)
	}
	for _, x := range []*catalog.Form{f, f.Kernel()} {
		if !slices.Contains(g.forms[in], x) {
			g.forms[in] = append(g.forms[in], x)
		}
	}
}

// plan takes the forms of a plan's lines, and those whose limits its own
// ingredients are held to.
func (g *gatherer) plan(p *mix.Plan) {
	own := map[*catalog.Ingredient]bool{}
	for _, in := range p.Document.Own {
		own[in] = true
	}
	for _, l := range p.Lines {
		if own[l.Form.Ingredient] {
			for _, f := range p.Namesakes(l.Form) {
				g.take(f)
			}
			continue
		}
		g.take(l.Form)
	}
}

// tried is how many of the likest forms are tried for each replacement wanted.
const tried = 4

// replacements offers the likest forms that can stand in for a line.
func (g *gatherer) replacements(ctx context.Context, p *mix.Plan, m Mix, wanted int) error {
	q, err := p.With(based(p, m.Amounts))
	if err != nil {
		return err
	}
	for i := range p.Lines {
		if m.Amounts[i] == 0 {
			continue
		}
		found := 0
		for k, f := range likest(p, p.Lines[i].Form) {
			if found == wanted || k == wanted*tried || len(g.card.Offered) == MaxOffered || len(g.order) >= MaxIngredients {
				break
			}
			if !slices.Contains(g.card.Offered, f.Ref()) {
				list, err := formulate.Without(ctx, q, i, []*catalog.Form{f}, formulate.Options{Nodes: replacementNodes})
				var problem *mix.Problem
				if err != nil && !errors.As(err, &problem) {
					return err
				}
				if len(list) == 0 {
					continue
				}
				g.card.Offered = append(g.card.Offered, f.Ref())
				g.take(f)
			}
			found++
		}
	}
	return nil
}

// replacementNodes bounds the search for each replacement that is tried.
const replacementNodes = 200

// based is a plan's document with the published amounts in it.
func based(p *mix.Plan, amounts []nutrient.Mass) *mix.Document {
	d := p.Document.Copy()
	for i, a := range amounts {
		d.Lines[i].Amount = mix.Amount{Set: true, Mass: a}
	}
	return d
}

// likest lists the forms that could stand in for one, the likest first.
func likest(p *mix.Plan, f *catalog.Form) []*catalog.Form {
	have := map[*catalog.Form]bool{}
	for _, l := range p.Lines {
		have[l.Form] = true
	}
	var list []*catalog.Form
	like := map[*catalog.Form]formulate.Likeness{}
	for _, x := range p.Catalogue.Forms() {
		if l := formulate.LikenessOf(f, x); !have[x] && l.Alike() && p.Fits(x) {
			list, like[x] = append(list, x), l
		}
	}
	slices.SortStableFunc(list, func(a, b *catalog.Form) int { return cmp.Compare(like[a].Analysis, like[b].Analysis) })
	return list
}

// animals takes the species of a plan, with the stage that it is for or with
// every stage.
func (g *gatherer) animals(p *mix.Plan, stages bool) error {
	if p.Species == nil {
		return nil
	}
	i := slices.IndexFunc(g.card.Species, func(s *needs.Species) bool { return s.ID == p.Species.ID })
	if i < 0 {
		if len(g.card.Species) == MaxSpecies {
			return fmt.Errorf("a card holds mixes for at most %d species", MaxSpecies)
		}
		s := *p.Species
		s.Stages = nil
		i, g.card.Species = len(g.card.Species), append(g.card.Species, &s)
	}
	have := g.card.Species[i]
	var list []needs.Stage
	for k := range p.Species.Stages {
		s := p.Species.Stages[k]
		if stages || s.ID == p.Stage.ID || have.Stage(s.ID) != nil {
			list = append(list, s)
		}
	}
	have.Stages = list
	return nil
}

// finish copies what was taken, and the sources that it names.
func (g *gatherer) finish(plans []*mix.Plan) {
	for _, in := range g.order {
		g.card.Ingredients = append(g.card.Ingredients, part(in, g.forms[in]))
	}
	for _, ref := range g.card.cited() {
		key, _, _ := strings.Cut(ref, ":")
		for _, p := range plans {
			for _, from := range []map[string]catalog.Source{p.Catalogue.Sources, p.Needs().Sources} {
				if s, ok := from[key]; ok {
					g.card.Sources[key] = s
				}
			}
		}
	}
}

// cited lists what figures, limits, windows and needs give as their sources.
func (c *Card) cited() []string {
	var list []string
	for _, in := range c.Ingredients {
		for _, f := range in.Forms {
			for _, fig := range f.Figures {
				list = append(list, fig.Source)
			}
			for _, q := range quantities(f) {
				if *q.at != nil {
					list = append(list, (*q.at).Source)
				}
			}
			for _, l := range f.Limits {
				list = append(list, l.Source)
			}
		}
	}
	for _, s := range c.Species {
		if s.Energy != nil {
			list = append(list, s.Energy.Source)
		}
		if s.AdultWeight != nil {
			list = append(list, s.AdultWeight.Source)
		}
		for _, st := range s.Stages {
			list = append(list, st.Source)
			for _, w := range st.Windows {
				list = append(list, w.Source)
			}
		}
	}
	return list
}

// part is an ingredient with some of its forms, each called as it is among
// them all.
func part(in *catalog.Ingredient, forms []*catalog.Form) *catalog.Ingredient {
	out := *in
	out.Forms = nil
	for _, f := range in.Forms {
		if !slices.Contains(forms, f) {
			continue
		}
		x := *f
		x.Ingredient = &out
		out.Forms = append(out.Forms, &x)
	}
	for _, x := range out.Forms {
		names := catalog.Names{}
		for _, l := range languages {
			if list := x.Names[l]; len(list) > 0 {
				names[l] = list
			}
			if was := in.Form(x.ID).Name(l); x.Name(l) != was {
				names[l] = []string{was}
			}
		}
		x.Names = names
	}
	return &out
}
