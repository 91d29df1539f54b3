package view

import (
	"math"
	"slices"
	"strconv"
	"strings"

	"firlot/card"
	"firlot/catalog"
	"firlot/mix"
	"firlot/needs"
	"firlot/nutrient"
	"firlot/report"
	"firlot/serving"
)

// mixName names one of the card's mixes: its title, else whom it is for.
func (p *page) mixName(i int) string {
	if title := p.card.Mixes[i].Document.Title; title != "" {
		return title
	}
	if plan := p.now.plans[i]; plan != nil {
		if who := p.t.who(plan); who != "" {
			return who
		}
	}
	return p.t.T("mix_n", "N", i+1)
}

// stages are the card's other mixes, each with the ingredients that it has in
// common with all of them marked.
func (p *page) stages() html {
	c, t := p.card, p.t
	if len(c.Mixes) < 2 {
		return ""
	}
	shared := map[string]bool{}
	var common []string
	for _, ref := range c.Shared() {
		shared[ref] = true
		if n := t.nameOf(ref); n != "" {
			common = append(common, n)
		}
	}
	var tags []html
	for i := range c.Mixes {
		if i != p.ask.Choices.Mix {
			tags = append(tags, p.otherMix(i, shared))
		}
	}
	said := t.T("stages_none_shared")
	if len(common) > 0 {
		said = t.T("stages_shared", "Names", t.And(common))
	}
	return el("section", at{"class", "own-page", "id", p.id("stages"), "aria-labelledby", p.id("stages-h")},
		el("h2", at{"id", p.id("stages-h")}, t.T("stages_title")), el("p", nil, said), el("div", at{"class", "stages"}, tags))
}

func (p *page) otherMix(i int, shared map[string]bool) html {
	m, t := p.card.Mixes[i], p.t
	var lines []html
	var total nutrient.Mass
	for k, l := range m.Document.Lines {
		f := t.find(l.Ingredient)
		if m.Amounts[k] == 0 || f == nil {
			continue
		}
		total += m.Amounts[k]
		lines = append(lines, el("li", at{"class", "line"},
			el("span", at{"class", "pic"}, portrait(f)),
			el("span", at{"class", "who"}, t.named(f), when(shared[l.Ingredient], func() html { return el("small", nil, t.T("in_all")) })),
			el("span", at{"class", "grams"}, el("b", nil, t.grams(m.Amounts[k])), " g")))
	}
	name := p.mixName(i)
	who := ""
	if plan := p.now.plans[i]; plan != nil {
		who = t.who(plan)
	}
	return el("section", at{"class", "tag", "id", p.id("mix", strconv.Itoa(i+1)), "aria-label", name},
		el("div", at{"class", "hole", "aria-hidden", "true"}), el("h3", nil, name), el("p", at{"class", "for"}, who), el("ol", at{"class", "lines"}, lines),
		el("p", at{"class", "total"}, el("span", nil, t.N("ingredients", len(lines))), " ", el("b", nil, t.mass(total))),
		el("p", at{"class", "js-only"}, el("button", at{"type", "button", "data-mix", i}, t.T("stage_use"), el("span", at{"class", "hidden"}, " "+name))))
}

// base is one mix from which the others are made by adding to it.
func (p *page) base() html {
	b, t := p.card.Base, p.t
	if b == nil {
		return ""
	}
	var toppers []html
	for _, x := range b.Toppers {
		if x.Mix < 0 || x.Mix >= len(p.card.Mixes) {
			continue
		}
		body := el("p", nil, t.T("topper_nothing", "Mass", t.mass(x.Base)))
		if len(x.Amounts) > 0 {
			body = el("p", nil, t.T("topper_add", "Mass", t.mass(x.Base))) + p.shares(x.Amounts)
		}
		toppers = append(toppers, el("div", nil, el("h3", nil, p.mixName(x.Mix)), body))
	}
	said := el("p", nil, t.T("base_lead"))
	if !p.card.BaseHolds(p.now.plans) {
		said = el("p", at{"class", "err", "role", "alert"}, t.T("base_altered"))
	}
	title := b.Title
	if title == "" {
		title = t.T("base_title")
	}
	return el("section", at{"class", "base", "id", p.id("base"), "aria-labelledby", p.id("base-h")},
		el("h2", at{"id", p.id("base-h")}, title), said,
		el("div", at{"class", "stages"}, el("div", nil, el("h3", nil, t.T("base_kilogram")), p.shares(b.Amounts)), toppers))
}

func (p *page) shares(list []card.Share) html {
	var lines []html
	for _, s := range list {
		f := p.t.find(s.Ref)
		if f == nil {
			continue
		}
		lines = append(lines, el("li", at{"class", "line"}, el("span", at{"class", "pic"}, portrait(f)), el("span", at{"class", "who"}, p.t.named(f)),
			el("span", at{"class", "grams"}, el("b", nil, p.t.grams(s.Mass)), " g")))
	}
	return el("ol", at{"class", "lines"}, lines)
}

// kinds say how each ingredient is recognised, which form of it is meant, and
// which is not.
func (p *page) kinds(s *sheet) html {
	var items []html
	for _, f := range p.formsOf(s) {
		items = append(items, p.kind(s, f))
	}
	return el("section", at{"class", "seeds", "aria-labelledby", p.id("kinds")}, el("h2", at{"id", p.id("kinds")}, p.t.T("kinds_title")),
		el("p", at{"class", "hint"}, p.t.T("kinds_hint")), el("ul", at{"class", "kinds"}, items))
}

// formsOf are the forms of a mix, and of the card's other mixes.
func (p *page) formsOf(s *sheet) []*catalog.Form {
	var list []*catalog.Form
	add := func(f *catalog.Form) {
		if f != nil && !slices.Contains(list, f) {
			list = append(list, f)
		}
	}
	for i, m := range s.amounts {
		if m > 0 {
			add(s.plan().Lines[i].Form)
		}
	}
	for _, m := range p.card.Mixes {
		for k, l := range m.Document.Lines {
			if m.Amounts[k] > 0 {
				add(p.t.find(l.Ingredient))
			}
		}
	}
	return list
}

func (p *page) kind(s *sheet, f *catalog.Form) html {
	t := p.t
	parts := []html{el("h3", nil, t.named(f)), el("div", at{"class", "sample"}, p.sample(f))}
	if f.Looks != "" {
		parts = append(parts, el("p", nil, t.of(f, f.Looks)))
	}
	for _, c := range f.Confused {
		name := t.table(PlainRef(c.With))
		if g := t.find(c.With); g != nil {
			name = t.named(g)
		}
		parts = append(parts, el("p", at{"class", "not"}, t.T("kind_not"), " ", name, ": ", t.table(c.Tell)))
	}
	if f.EatenAs != "" && f.HullLeft != nil {
		parts = append(parts, el("p", nil, t.T("kind_husked")))
	}
	parts = append(parts, p.limit(s.plan(), f), p.called(f))
	return el("li", at{"id", p.id("r", f.Ref())}, parts)
}

// PlainRef is a reference to a form that the card does not hold, in words.
func PlainRef(ref string) string {
	return strings.NewReplacer("/", ", ", "-", " ").Replace(ref)
}

// limit is the most of a form that a mix should hold.
func (p *page) limit(plan *mix.Plan, f *catalog.Form) html {
	species := ""
	if plan.Species != nil {
		species = plan.Species.ID
	}
	for _, l := range f.Limits {
		if l.For(species) {
			return el("p", nil, p.t.T("kind_limit", "Most", p.t.Plain(l.Most)), " ", p.t.table(l.Why))
		}
	}
	return ""
}

// called are a form's names in every language of the catalogue.
func (p *page) called(f *catalog.Form) html {
	var parts []html
	for _, lang := range nameLanguages {
		list := f.Names[lang]
		if len(list) == 0 && len(f.Ingredient.Forms) == 1 {
			list = f.Ingredient.Names[lang]
		}
		if len(list) == 0 {
			continue
		}
		parts = append(parts, el("li", nil, p.t.T("language_"+lang), ": ", el("span", at{"lang", lang}, strings.Join(list, ", "))))
	}
	if latin := f.Ingredient.Latin; latin != "" {
		parts = append(parts, el("li", nil, el("i", at{"lang", "la"}, latin)))
	}
	return el("details", at{"class", "names", "id", p.id("names", f.Ref())}, el("summary", nil, p.t.T("kind_names"), el("span", at{"class", "hidden"}, " "+p.t.form(f))), el("ul", at{"class", "plain"}, parts))
}

// windows say where each window comes from, and how well it is known. Those of
// one source stand together.
func (p *page) windows(s *sheet) html {
	t := p.t
	var order []string
	of := map[string][]needs.Window{}
	for _, x := range s.plan().Targets {
		key := string(p.pedigree(x.Window))
		if of[key] == nil {
			order = append(order, key)
		}
		of[key] = append(of[key], x.Window)
	}
	var items []html
	for _, key := range order {
		var list, notes []html
		for i, w := range of[key] {
			if i > 0 {
				list = append(list, "; ")
			}
			name := upper(t.measure(w.Nutrient, w.Per))
			list = append(list, join(name, " ", el("b", at{"class", "range"}, t.window(w)), ", ", t.basisOf(w)))
			if w.Note != "" {
				notes = append(notes, el("p", at{"class", "hint"}, name, ": ", t.note(w)))
			}
		}
		items = append(items, el("li", nil, list, ". ", html(key), notes))
	}
	return el("section", at{"aria-labelledby", p.id("windows")}, el("h2", at{"id", p.id("windows")}, t.T("windows_sources")),
		el("p", at{"class", "hint"}, t.T("windows_hint_card")), el("ul", at{"class", "windows"}, items), p.figures(s))
}

// pedigree is a window's source, and how well it is known.
func (p *page) pedigree(w needs.Window) html {
	t := p.t
	out := join(t.source(w.Source), "; ", t.evidence(w.How), ".")
	if w.StandsIn != "" {
		out += join(" ", upper(t.T("stands_in", "Species", p.speciesName(w.StandsIn))), ".")
	}
	return out
}

func (p *page) speciesName(id string) string {
	for _, s := range p.card.Species {
		if s.ID == id {
			return s.Names.First(string(p.t.Lang))
		}
	}
	return id
}

// figures name the sources of the ingredients' figures.
func (p *page) figures(s *sheet) html {
	seen := map[string]bool{}
	var keys []string
	for _, f := range p.formsOf(s) {
		for _, x := range []*catalog.Form{f, f.Kernel()} {
			for _, g := range x.Figures {
				key, _, _ := strings.Cut(g.Source, ":")
				if !seen[key] {
					seen[key] = true
					keys = append(keys, key)
				}
			}
		}
	}
	slices.Sort(keys)
	var items []html
	for _, k := range keys {
		said, ok := p.t.cited(k)
		if !ok {
			continue
		}
		src := p.t.sources[k]
		if link := web(src.Link); link != "" {
			said = el("a", at{"href", link, "rel", "noreferrer"}, said)
		}
		items = append(items, el("li", nil, said))
	}
	if len(items) == 0 {
		return ""
	}
	return el("details", at{"class", "sources", "id", p.id("sources")}, el("summary", nil, p.t.T("figures_sources")), el("ul", nil, items))
}

// feeding says how it is mixed and how much an animal is given.
func (p *page) feeding(s *sheet) html {
	t := p.t
	parts := []html{el("h2", at{"id", p.id("feeding")}, t.T("feeding_title")), el("p", nil, t.T("mixing_how")), el("p", nil, t.T("feeding_beside"))}
	if said := p.portion(s); said != "" {
		parts = append(parts, said)
	}
	return el("section", at{"class", "feed", "aria-labelledby", p.id("feeding")}, parts)
}

// portion is how much of the mix a grown animal of the usual weight needs.
func (p *page) portion(s *sheet) html {
	t, plan := p.t, s.plan()
	sp := plan.Species
	if sp == nil || sp.Energy == nil || sp.AdultWeight == nil || s.answer.Steps == nil {
		return ""
	}
	weight := sp.AdultWeight.Mean
	got, err := serving.Of(s.answer.Portions(), serving.Ask{Species: sp, Weight: weight, Animals: 1, Feedings: 1, Spoon: serving.Spoons()[1]})
	if err != nil || !got.Animal.Grams.HasMean {
		return ""
	}
	g, sure := got.Animal.Grams, ""
	if !math.IsInf(g.High, 1) {
		sure = t.T("portion_range", "A", t.Num(g.Low, 1), "B", t.Num(g.High, 1))
	}
	out := t.T("portion_is", "Species", sp.Names.First(string(t.Lang)), "Weight", t.Plain(math.Round(weight)), "Grams", t.Num(g.Mean, 1))
	spoons := ""
	if x := got.Animal.Teaspoons; x.HasMean {
		spoons = " " + t.T("portion_spoons", "N", t.Num(x.Mean, 1))
	}
	var note html
	if report.UpkeepOnly(plan.Stage.ID) {
		note = join(" ", t.T("portion_upkeep"))
	}
	return el("p", nil, out, sure, ".", spoons, note, " ", t.T("portion_scales"), " ", el("small", at{"class", "screen"}, t.source(sp.Energy.Source), "; ", t.evidence(sp.Energy.How), "."))
}

// cautions are said of the ingredients, and of every mix.
func (p *page) cautions(s *sheet) html {
	t := p.t
	var items []html
	for i, m := range s.amounts {
		if m == 0 {
			continue
		}
		f := s.plan().Lines[i].Form
		for _, c := range f.Cautions {
			items = append(items, el("li", nil, t.named(f), ": ", t.of(f, c)))
		}
	}
	for i := range catalog.GeneralCautions() {
		items = append(items, el("li", nil, t.T("caution_"+string(rune('1'+i)))))
	}
	return el("section", at{"class", "cautions", "aria-labelledby", p.id("cautions")}, el("h2", at{"id", p.id("cautions")}, t.T("cautions_title")), el("ul", nil, items))
}

// handOn is the picture, the caption and the address.
func (p *page) handOn(s *sheet) html {
	t := p.t
	var presses []html
	for _, shape := range Shapes() {
		name := t.T("picture_" + string(shape))
		presses = append(presses, el("p", at{"class", "press"}, el("span", nil, name), " ",
			el("button", at{"type", "button", "data-picture", string(shape), "data-as", "png"}, "PNG", el("span", at{"class", "hidden"}, ", "+name)), " ",
			el("button", at{"type", "button", "data-picture", string(shape), "data-as", "svg"}, "SVG", el("span", at{"class", "hidden"}, ", "+name))))
	}
	var code html
	if p.qr != "" && web(p.card.Hosted) != "" {
		code = el("div", at{"class", "qr"}, p.qr, el("p", nil, el("span", at{"class", "screen"}, t.T("hosted_at"), " "), el("a", at{"href", p.card.Hosted, "rel", "noreferrer"}, p.card.Hosted)))
	}
	return el("section", at{"class", "hand", "aria-labelledby", p.id("hand")}, el("h2", at{"id", p.id("hand")}, t.T("hand_title")), code,
		el("div", at{"class", "js-only screen"}, el("h3", nil, t.T("picture_title")), presses),
		el("details", at{"class", "screen", "id", p.id("caption")}, el("summary", nil, t.T("caption_title")), el("pre", at{"class", "caption", "tabindex", "0"}, p.caption(s)),
			el("p", at{"class", "js-only"}, el("button", at{"type", "button", "data-do", "caption"}, t.T("caption_copy")))))
}

func (p *page) foot() html {
	t, c := p.t, p.card
	var parts []html
	if c.Licence != "" {
		parts = append(parts, el("p", nil, t.T("licence_is", "Licence", c.Licence)))
	}
	return el("footer", at{"class", "foot"}, parts, el("p", nil, t.T("made_with")), el("p", at{"class", "screen"}, t.T("private")), when(t.Lang != "en", func() html { return el("p", nil, t.T("what_is_english")) }))
}

// caption is the mix as plain text.
func (p *page) caption(s *sheet) string {
	t := p.t
	var b strings.Builder
	b.WriteString(p.card.Title + "\n")
	if len(p.card.Mixes) > 1 && s.name != p.card.Title {
		b.WriteString(s.name + "\n")
	}
	if who := t.who(s.plan()); who != "" {
		b.WriteString(who + "\n")
	}
	b.WriteString("\n")
	var total nutrient.Mass
	for i, m := range s.amounts {
		if m > 0 {
			b.WriteString(t.mass(m) + "  " + t.form(s.plan().Lines[i].Form) + "\n")
			total += m
		}
	}
	if total > 0 {
		b.WriteString(t.mass(total) + "  " + t.T("caption_total") + "\n")
	}
	b.WriteString("\n" + t.sentence(s.answer) + "\n" + t.T("poster_beside") + "\n")
	if c := p.card; c.Publisher != "" {
		b.WriteString(t.T("by", "Name", c.Publisher) + ", " + c.Date + "\n")
	}
	if p.card.Licence != "" {
		b.WriteString(t.T("licence_is", "Licence", p.card.Licence) + "\n")
	}
	if link := web(p.card.Hosted); link != "" {
		b.WriteString(link + "\n")
	}
	return b.String()
}
