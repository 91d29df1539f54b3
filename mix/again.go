package mix

import (
	"math"

	"firlot/catalog"
	"firlot/catalog/find"
	"firlot/needs"
	"firlot/nutrient"
)

// With resolves a changed document against the same catalogue and needs.
func (p *Plan) With(d *Document) (*Plan, error) { return Resolve(d, p.shop, p.table) }

// Needs is the table of needs that the plan was resolved with.
func (p *Plan) Needs() *needs.Table { return p.table }

// Copy returns a document that shares nothing with the original but its own
// ingredients, which are never changed.
func (d *Document) Copy() *Document {
	c := *d
	c.Windows = append([]Window(nil), d.Windows...)
	c.Groups = append([]Group(nil), d.Groups...)
	for i := range c.Groups {
		c.Groups[i].Of = append([]string(nil), d.Groups[i].Of...)
	}
	c.Lines = append([]Line(nil), d.Lines...)
	return &c
}

// Add appends a line for a form, which must not be there yet.
func (d *Document) Add(l Line) *Document {
	c := d.Copy()
	c.Lines = append(c.Lines, l)
	return c
}

// Remove takes line i out, and out of the groups that name it by its text or
// by one of refs. A group that then holds nothing goes with it.
func (d *Document) Remove(i int, refs ...string) *Document {
	c := d.Copy()
	gone := map[string]bool{d.Lines[i].Ingredient: true}
	for _, r := range refs {
		gone[r] = true
	}
	c.Lines = append(c.Lines[:i], c.Lines[i+1:]...)
	groups := c.Groups[:0]
	for _, g := range c.Groups {
		var keep []string
		for _, name := range g.Of {
			if !gone[name] {
				keep = append(keep, name)
			}
		}
		if len(keep) == 0 && g.Class == "" {
			continue
		}
		g.Of = keep
		groups = append(groups, g)
	}
	c.Groups = groups
	return c
}

// Remove is the document without line i and without what only it held up:
// groups that name nothing else, and groups of a class that no other line is
// of.
func (p *Plan) Remove(i int) *Document {
	var refs []string
	for _, g := range p.Document.Groups {
		for _, name := range g.Of {
			if p.names(name, i) {
				refs = append(refs, name)
			}
		}
	}
	d := p.Document.Remove(i, refs...)
	groups := d.Groups[:0]
	for _, g := range d.Groups {
		if len(g.Of) > 0 || p.others(g.Class, i) {
			groups = append(groups, g)
		}
	}
	d.Groups = groups
	return d
}

// others reports whether a line but i is of a class.
func (p *Plan) others(c catalog.Class, i int) bool {
	for k, l := range p.Lines {
		if k != i && l.Form.Ingredient.Class == c {
			return true
		}
	}
	return false
}

// Replace is the document with another form in line i, which takes over its
// ceiling and its place in groups, and nothing else.
func (p *Plan) Replace(i int, ref string) *Document {
	d := p.Document.Copy()
	d.Lines[i] = Line{Ingredient: ref, Ceiling: d.Lines[i].Ceiling}
	for k := range d.Groups {
		for j, name := range d.Groups[k].Of {
			if p.names(name, i) {
				d.Groups[k].Of[j] = ref
			}
		}
	}
	return d
}

// names reports whether a name in the document means line i.
func (p *Plan) names(name string, i int) bool {
	f, err := find.Resolve(p.Catalogue, name)
	return err == nil && f == p.Lines[i].Form
}

// Standing are the amounts that the document holds, one a line, and whether
// there are any. A share is a share of the batch; a line without an amount is
// not in the mix.
func (p *Plan) Standing() ([]nutrient.Mass, bool) {
	out := make([]nutrient.Mass, len(p.Lines))
	any := false
	for i, l := range p.Document.Lines {
		if l.Amount.Set {
			out[i] = nutrient.Mass(math.Round(float64(l.Amount.Of(p.Batch()) * float64(nutrient.Gram))))
		}
		any = any || out[i] > 0
	}
	return out, any
}

// Fits reports whether a form may join the plan's mix: dry enough to keep, and
// not limited to nothing for the species.
func (p *Plan) Fits(f *catalog.Form) bool {
	if fresh(f) {
		return false
	}
	l := PlanLine{Form: f, Ceiling: p.Steps, Room: p.Steps}
	p.inclusion(&l)
	return l.Ceiling > 0
}

// Joined is the plan with more lines, one a form, without limits but those of
// safety and of groups that take in their class. The document gains the lines
// too. It is for trying things out: nothing is resolved again.
func (p *Plan) Joined(forms ...*catalog.Form) *Plan {
	q := *p
	q.Document = p.Document.Copy()
	q.Lines = append([]PlanLine(nil), p.Lines...)
	q.Groups = append([]PlanGroup(nil), p.Groups...)
	for _, f := range forms {
		l := PlanLine{Form: f, Ceiling: p.Steps, Room: p.Steps}
		p.inclusion(&l)
		for i, g := range q.Groups {
			if p.Document.Groups[i].Class == f.Ingredient.Class {
				open := g.Most == len(g.Lines)
				g.Lines = append(append([]int(nil), g.Lines...), len(q.Lines))
				if open {
					g.Most = len(g.Lines)
				}
				q.Groups[i] = g
			}
		}
		q.Lines = append(q.Lines, l)
		q.Document.Lines = append(q.Document.Lines, Line{Ingredient: f.Ref()})
	}
	return &q
}
