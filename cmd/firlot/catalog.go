package main

import (
	"fmt"
	"strings"

	"github.com/spf13/cobra"

	"firlot/catalog"
	"firlot/catalog/find"
	"firlot/nutrient"
)

func catalogCommand(s streams) *cobra.Command {
	c := &cobra.Command{
		Use:   "catalog",
		Short: "Look up what foods are made of",
		Example: `  firlot catalog list
  firlot catalog search avena
  firlot catalog show oats/groats`,
	}
	c.AddCommand(catalogList(s), catalogSearch(s), catalogShow(s))
	return c
}

// listed is an ingredient in `catalog list --json`.
type listed struct {
	Ingredient string        `json:"ingredient"`
	Class      catalog.Class `json:"class"`
	Name       string        `json:"name"`
	Latin      string        `json:"latin"`
	Forms      []string      `json:"forms"`
}

func catalogList(s streams) *cobra.Command {
	var asJSON bool
	c := &cobra.Command{
		Use: "list", Short: "List every ingredient with its forms", Args: takes(0, 0),
		RunE: func(*cobra.Command, []string) error {
			c, _, err := tables()
			if err != nil {
				return err
			}
			var list []listed
			for _, in := range c.Ingredients {
				l := listed{Ingredient: in.ID, Class: in.Class, Name: in.Names.First("en"), Latin: in.Latin}
				for _, f := range in.Forms {
					l.Forms = append(l.Forms, f.ID)
				}
				list = append(list, l)
			}
			if asJSON {
				return s.json(list)
			}
			p := &printer{s: s}
			class := catalog.Class("")
			for _, l := range list {
				if l.Class != class {
					class = l.Class
					p.say("%s\n", s.bold(string(class)))
				}
				p.para("  "+l.Ingredient+": ", strings.Join(l.Forms, ", "))
			}
			p.para("", fmt.Sprintf("%d ingredients in %d forms; firlot catalog show INGREDIENT/FORM opens one.", len(list), len(c.Forms())))
			return p.err
		},
	}
	c.Flags().BoolVar(&asJSON, "json", false, "print JSON for programs (docs/schema/catalog-list.json)")
	return c
}

// hit is a form in `catalog search --json`.
type hit struct {
	Ref   string        `json:"ref"`
	Name  string        `json:"name"`
	Class catalog.Class `json:"class"`
	Match string        `json:"match"`
	Lang  string        `json:"language,omitempty"`
}

// searched is what `catalog search --json` prints.
type searched struct {
	Found   []hit    `json:"found"`
	Refused *refusal `json:"refused,omitempty"`
}

// refusal is an unsafe food that the words of a search name.
type refusal struct {
	Food     string           `json:"food"`
	Reason   string           `json:"reason"`
	Instead  string           `json:"instead,omitempty"`
	Source   string           `json:"source"`
	Evidence catalog.Evidence `json:"evidence"`
}

func refusalOf(u *catalog.Unsafe) *refusal {
	if u == nil {
		return nil
	}
	return &refusal{u.Names.First("en"), u.Reason, u.Instead, u.Source, u.How}
}

// refusal prints why a food is never fed, if it is.
func (p *printer) refusal(c *catalog.Catalogue, u *catalog.Unsafe) {
	if u == nil {
		return
	}
	p.say("%s\n", p.s.bold("Never fed: "+u.Names.First("en")+"."))
	p.para("  ", u.Reason)
	if instead := find.Instead(u); instead != "" {
		p.para("  ", instead)
	}
	key, item, _ := strings.Cut(u.Source, ":")
	from := u.Source
	if src, ok := c.Sources[key]; ok && key != "recalled" {
		from = src.Title + ", " + item
	}
	p.para("  ", fmt.Sprintf("How well it is known: %s (%s).", u.How, from))
}

func catalogSearch(s streams) *cobra.Command {
	var asJSON bool
	c := &cobra.Command{
		Use: "search WORDS", Short: "Find foods by any name in any language",
		Example: `  firlot catalog search hafer
  firlot catalog search "pearl barley"`,
		Args: takes(1, -1),
		RunE: func(_ *cobra.Command, args []string) error {
			c, _, err := tables()
			if err != nil {
				return err
			}
			query := strings.Join(args, " ")
			hits := []hit{}
			for _, m := range find.Search(c, query) {
				hits = append(hits, hit{m.Form.Ref(), m.Form.Name("en"), m.Form.Ingredient.Class, m.Name, m.Lang})
			}
			u := find.Refused(c, query)
			if asJSON {
				return s.json(searched{hits, refusalOf(u)})
			}
			if len(hits) == 0 && u == nil {
				return fmt.Errorf("no food of the catalogue answers to %q", query)
			}
			p := &printer{s: s}
			p.refusal(c, u)
			var rows [][]string
			for _, h := range hits {
				as := ""
				if h.Match != h.Name && h.Match != h.Ref {
					as = "(" + h.Match + ")"
				}
				rows = append(rows, []string{h.Ref, h.Name, as})
			}
			p.table(rows)
			return p.err
		},
	}
	c.Flags().BoolVar(&asJSON, "json", false, "print JSON for programs (docs/schema/catalog-search.json)")
	return c
}

func catalogShow(s streams) *cobra.Command {
	var asJSON bool
	c := &cobra.Command{
		Use: "show INGREDIENT[/FORM]", Short: "Show a food with every figure and its source",
		Example: `  firlot catalog show oats/groats
  firlot catalog show popped amaranth`,
		Args:              takes(1, -1),
		ValidArgsFunction: forms,
		RunE: func(_ *cobra.Command, args []string) error {
			c, _, err := tables()
			if err != nil {
				return err
			}
			forms, err := formsOf(c, strings.Join(args, " "))
			if err != nil {
				return err
			}
			if asJSON {
				var list []shownForm
				for _, f := range forms {
					list = append(list, showForm(c, f))
				}
				return s.json(list)
			}
			p := &printer{s: s}
			for i, f := range forms {
				if i > 0 {
					p.say("\n")
				}
				p.form(c, f)
			}
			return p.err
		},
	}
	c.Flags().BoolVar(&asJSON, "json", false, "print JSON for programs (docs/schema/catalog-show.json)")
	return c
}

// formsOf resolves a name to forms: an ingredient's id means all its forms.
func formsOf(c *catalog.Catalogue, name string) ([]*catalog.Form, error) {
	if in := c.Ingredient(name); in != nil {
		return in.Forms, nil
	}
	f, err := find.Resolve(c, name)
	if err != nil {
		return nil, err
	}
	return []*catalog.Form{f}, nil
}

// shownForm is a form in `catalog show --json`.
type shownForm struct {
	Ref      string                 `json:"ref"`
	State    string                 `json:"state"`
	Class    catalog.Class          `json:"class"`
	Latin    string                 `json:"latin,omitempty"`
	Names    catalog.Names          `json:"names"`
	Looks    string                 `json:"looks,omitempty"`
	Confused []shownConfusion       `json:"confused,omitempty"`
	Shape    string                 `json:"shape,omitempty"`
	Colours  []string               `json:"colours,omitempty"`
	EatenAs  string                 `json:"eaten_as,omitempty"`
	Sizes    map[string]shownFigure `json:"sizes,omitempty"`
	Limits   []shownLimit           `json:"limits,omitempty"`
	Cautions []string               `json:"cautions,omitempty"`
	Figures  []shownFigure          `json:"figures"`
}

type shownConfusion struct {
	With string `json:"with"`
	Tell string `json:"tell"`
}

type shownLimit struct {
	Most     float64          `json:"most_percent"`
	Why      string           `json:"why"`
	Source   string           `json:"source"`
	Evidence catalog.Evidence `json:"evidence"`
	Species  []string         `json:"species,omitempty"`
}

type shownFigure struct {
	Nutrient string           `json:"nutrient,omitempty"`
	Unit     string           `json:"unit"`
	Mean     float64          `json:"mean"`
	SD       *float64         `json:"sd"`
	Low      *float64         `json:"low,omitempty"`
	High     *float64         `json:"high,omitempty"`
	N        int              `json:"n,omitempty"`
	Source   string           `json:"source"`
	Title    string           `json:"source_title,omitempty"`
	Evidence catalog.Evidence `json:"evidence"`
	Note     string           `json:"note,omitempty"`
}

func showForm(c *catalog.Catalogue, f *catalog.Form) shownForm {
	names := catalog.Names{}
	for lang, list := range f.Ingredient.Names {
		names[lang] = append(names[lang], list...)
	}
	for lang, list := range f.Names {
		names[lang] = append(append([]string(nil), list...), names[lang]...)
	}
	out := shownForm{Ref: f.Ref(), State: f.State, Class: f.Ingredient.Class, Latin: f.Ingredient.Latin, Names: names,
		Looks: f.Looks, Shape: f.Shape, Colours: f.Colours, EatenAs: f.EatenAs,
		Cautions: f.Cautions, Sizes: map[string]shownFigure{}, Figures: []shownFigure{}}
	for _, x := range f.Confused {
		out.Confused = append(out.Confused, shownConfusion{x.With, x.Tell})
	}
	for _, l := range f.Limits {
		out.Limits = append(out.Limits, shownLimit{l.Most, l.Why, l.Source, l.How, l.Species})
	}
	for _, q := range sizes(f) {
		out.Sizes[q.key] = showFigure(c, "", q.unit, *q.figure)
	}
	for _, info := range nutrient.All() {
		if fig, ok := f.Figure(info.Key); ok {
			out.Figures = append(out.Figures, showFigure(c, string(info.Key), string(info.Unit), fig))
		}
	}
	return out
}

func showFigure(c *catalog.Catalogue, key, unit string, f catalog.Figure) shownFigure {
	out := shownFigure{Nutrient: key, Unit: unit, Mean: f.Mean, N: f.N, Source: f.Source, Evidence: f.How, Note: f.Note}
	name, _, _ := strings.Cut(f.Source, ":")
	out.Title = c.Sources[name].Title
	if f.SD > 0 {
		out.SD = &f.SD
	}
	if f.Ranged {
		out.Low, out.High = &f.Low, &f.High
	}
	return out
}

type size struct {
	key, label, unit string
	figure           *catalog.Figure
}

// sizes lists the quantities of a form that are known.
func sizes(f *catalog.Form) []size {
	var list []size
	for _, q := range []size{
		{"hull", "hull or shell", "% of its mass", f.Hull},
		{"hull_left", "hull left by the animal", "%", f.HullLeft},
		{"thousand_kernels", "a thousand kernels", "g", f.ThousandKernels},
		{"length", "length", "mm", f.Length}, {"width", "width", "mm", f.Width},
		{"bulk_density", "loose", "g/mL", f.BulkDensity},
		{"keeps_months", "keeps, sealed and cool", "months", f.KeepsMonths},
	} {
		if q.figure != nil {
			list = append(list, q)
		}
	}
	return list
}
