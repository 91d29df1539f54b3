package view

import (
	"math"

	"firlot/analysis"
	"firlot/catalog"
	"firlot/formulate"
	"firlot/mix"
	"firlot/nutrient"
)

// sheet is one stage's mix as a page shows it.
type sheet struct {
	stage   int // of the card
	name    string
	answer  *formulate.Answer
	amounts []nutrient.Mass // one a line of the answer's plan
	// was are the published amounts for this batch by reference, and before the
	// published checks; nil where what is shown is what was published.
	was     map[string]nutrient.Mass
	instead map[string]string // of a new ingredient: the one whose place it takes
	before  []analysis.Check
	// without are the published ingredients that the reader cannot get.
	without []*catalog.Form
	choose  bool // the reader can tick what cannot be had
}

func (s *sheet) plan() *mix.Plan { return s.answer.Plan }

// id is an identifier on the page, which holds two languages.
func (p *page) id(parts ...string) string {
	out := string(p.t.Lang)
	for _, x := range parts {
		out += "-" + x
	}
	return out
}

// tag is the mix on a feed bag's tag.
func (p *page) tag(s *sheet) html {
	t := p.t
	var lines []html
	n := 0
	var total nutrient.Mass
	for i, m := range s.amounts {
		if f := s.plan().Lines[i].Form; m > 0 {
			lines = append(lines, p.line(s, f, m))
			total += m
			n++
		}
	}
	var gone []html
	for _, f := range s.without {
		gone = append(gone, p.gone(f, s.was[f.Ref()]))
	}
	class := "tag"
	if n > manyLines {
		class = "tag many"
	}
	return el("section", at{"class", class, "id", p.id("tag"), "aria-labelledby", p.id("tag-h")},
		el("div", at{"class", "hole", "aria-hidden", "true"}),
		el("h2", at{"id", p.id("tag-h"), "class", given(sameAs(s.name, p.card.Title))}, s.name),
		el("p", at{"class", "for"}, p.forWhom(s, total)),
		el("ol", at{"class", "lines"}, lines),
		when(n > 0, func() html {
			return el("p", at{"class", "total"}, el("span", nil, t.N("ingredients", n)), " ", el("b", nil, t.mass(total)))
		}),
		when(len(gone) > 0, func() html {
			return el("h3", nil, t.T("left_out")) + el("ul", at{"class", "lines left"}, gone)
		}))
}

// sameAs marks a heading that says the page's title again; paper has no room
// for that.
func sameAs(name, title string) string {
	if name == title {
		return "screen"
	}
	return ""
}

// manyLines is from how many ingredients on a printed page says less of each,
// to stay one page.
const manyLines = 12

func (p *page) forWhom(s *sheet, total nutrient.Mass) string {
	t := p.t
	who := t.who(s.plan())
	if who == "" {
		return t.T("tag_batch", "Mass", t.mass(s.plan().Batch()), "Step", t.mass(s.plan().Document.Step))
	}
	return t.T("tag_for", "Who", who, "Mass", t.mass(s.plan().Batch()), "Step", t.mass(s.plan().Document.Step))
}

// line is one ingredient: what it looks like, its name, and grams.
func (p *page) line(s *sheet, f *catalog.Form, m nutrient.Mass) html {
	t := p.t
	class, was := "line", html("")
	if s.was != nil {
		switch old, known := s.was[f.Ref()]; {
		case !known || old == 0:
			said := t.T("line_new")
			if n := t.nameOf(s.instead[f.Ref()]); n != "" {
				said = t.T("line_instead", "Name", n)
			}
			class, was = "line moved", el("span", at{"class", "was"}, said)
		case old != m:
			class, was = "line moved", el("span", at{"class", "was"}, t.T("line_was", "Mass", t.mass(old)))
		}
	}
	return el("li", at{"class", class, "data-ref", f.Ref()},
		el("span", at{"class", "pic"}, portrait(f)),
		el("span", at{"class", "who"}, el("a", at{"href", "#" + p.id("r", f.Ref())}, t.named(f)), p.notThis(f), onPaper(t.of(f, f.Looks))),
		el("span", at{"class", "grams"}, el("b", nil, t.grams(m)), " g"),
		was,
		when(s.choose, func() html { return p.cannot(f, false) }))
}

// onPaper is what a printed page says here; on a screen it stands elsewhere.
func onPaper(x html) html { return el("small", at{"class", "paper"}, x) }

// notThis names what an ingredient is easily taken for.
func (p *page) notThis(f *catalog.Form) html {
	var names []string
	for _, c := range f.Confused {
		if n := p.t.nameOf(c.With); n != "" {
			names = append(names, n)
		}
	}
	if len(names) == 0 {
		return ""
	}
	return el("small", nil, p.t.T("not_this", "Names", p.t.nor(names)))
}

// gone is an ingredient that the reader does without.
func (p *page) gone(f *catalog.Form, was nutrient.Mass) html {
	return el("li", at{"class", "line", "data-ref", f.Ref()},
		el("span", at{"class", "pic"}, portrait(f)),
		el("span", at{"class", "who"}, p.t.named(f)),
		el("span", at{"class", "grams"}, p.t.T("line_was", "Mass", p.t.mass(was))),
		p.cannot(f, true))
}

// cannot is the tick that leaves an ingredient out.
func (p *page) cannot(f *catalog.Form, ticked bool) html {
	return el("label", at{"class", "cannot tick js-only"},
		el("input", at{"type", "checkbox", "form", p.id("choose"), "name", "without", "value", f.Ref(), "id", p.id("w", f.Ref()), "checked", bare(ticked)}),
		el("span", nil, p.t.T("cannot"), el("span", at{"class", "hidden"}, " "+p.t.form(f))))
}

// strips are the windows in pictures.
func (p *page) strips(s *sheet) html {
	var out []html
	for i, c := range s.answer.Checks {
		var before *analysis.Check
		if i < len(s.before) {
			before = &s.before[i]
		}
		out = append(out, el("div", at{"class", "strip"}, p.t.strip(p.t.stripOf(s.plan(), c, before))))
	}
	if len(out) == 0 {
		return ""
	}
	return el("section", at{"aria-labelledby", p.id("strips")}, el("h2", at{"id", p.id("strips")}, p.t.T("strips_title")), out,
		el("p", at{"class", "hint"}, p.t.T("strips_hint")))
}

// heaps are the ingredients by volume.
func (p *page) heaps(s *sheet) html {
	if s.answer.Steps == nil {
		return ""
	}
	return el("section", at{"class", "heaps", "aria-labelledby", p.id("heaps")}, el("h2", at{"id", p.id("heaps")}, p.t.T("heaps_title")),
		p.t.heaps(p.id("h"), s.plan(), s.amounts, 420), el("p", at{"class", "hint"}, p.t.T("heaps_hint")))
}

// moved is how much goes from one ingredient to another between two mixes.
func moved(was map[string]nutrient.Mass, p *mix.Plan, now []nutrient.Mass) nutrient.Mass {
	sum := 0.0
	seen := map[string]bool{}
	for i, m := range now {
		ref := p.Lines[i].Form.Ref()
		seen[ref] = true
		sum += math.Abs(float64(m - was[ref]))
	}
	for ref, m := range was {
		if !seen[ref] {
			sum += float64(m)
		}
	}
	return nutrient.Mass(math.Round(sum / 2))
}
