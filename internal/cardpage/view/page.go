package view

import (
	"strconv"
	"strings"

	"firlot/card"
	"firlot/catalog"
	"firlot/nutrient"
	"firlot/report"
)

// page is what one language's page is made of.
type page struct {
	t     *teller
	card  *card.Card
	ask   Ask
	now   *state
	proof card.Proof // of the published answer; its verdict is "" while it is not checked
	qr    html
	kept  *kept
}

// main is the whole of a page in one language.
func (p *page) main() html {
	s := p.sheet()
	return join(
		p.head(),
		p.answer(s),
		p.asks(),
		el("div", at{"class", "columns", "id", p.id("mix")},
			el("div", nil, p.tag(s), p.more(s)),
			el("div", at{"class", "pictures"}, p.strips(s), p.heaps(s), p.feeding(s))),
		p.base(),
		p.kinds(s),
		p.windows(s),
		p.cautions(s),
		p.handOn(s),
		p.foot(),
		p.stages())
}

// first are the parts of a page that answer: each has an identifier, by which
// it takes the place of the one that is shown.
func (p *page) first() html {
	s := p.sheet()
	return join(p.answer(s), p.asks(), p.tag(s), p.more(s))
}

func (p *page) head() html {
	c, t := p.card, p.t
	var paragraphs []html
	for _, x := range strings.Split(strings.TrimSpace(c.Words), "\n\n") {
		if x = strings.TrimSpace(x); x != "" {
			paragraphs = append(paragraphs, el("p", nil, x))
		}
	}
	by := t.T("edition", "N", t.Num(float64(c.Edition), 0), "Day", c.Date)
	if c.Publisher != "" {
		by = t.T("by", "Name", c.Publisher) + " · " + by
	}
	return el("header", nil,
		el("h1", at{"id", p.id("title")}, c.Title),
		el("p", at{"class", "by"}, by),
		when(len(paragraphs) > 0, func() html {
			return el("div", at{"class", "own-words", "role", "group", "aria-label", t.T("words_label")}, paragraphs)
		}))
}

// answer says what the mix is worth, and how that is known.
func (p *page) answer(s *sheet) html {
	t := p.t
	class := "answer"
	switch {
	case p.now.problem != nil:
		return el("section", at{"class", class, "id", p.id("answer")},
			el("p", at{"class", "sentence"}, t.T("sentence_problem")), el("p", at{"class", "err"}, p.now.said(t)), p.changed(s), p.proofLine())
	case s.answer.Steps == nil:
		class = "answer impossible"
	}
	var more []html
	for _, h := range t.holding(s.answer) {
		more = append(more, el("p", at{"class", "holding"}, h))
	}
	return el("section", at{"class", class, "id", p.id("answer"), "aria-label", t.T("answer_label")},
		el("p", at{"class", "sentence", "id", p.id("sentence")}, t.sentence(s.answer)),
		more, p.changed(s), p.ways(s), p.proofLine())
}

// check is a mark beside what a check came to; it says nothing by itself.
func check(good bool) html {
	d := "M3 10.5L8 15.5L17 4.5"
	if !good {
		d = "M4 4L16 16M16 4L4 16"
	}
	return html(`<svg width="20" height="20" viewBox="0 0 20 20" aria-hidden="true"><path d="` + d + `" fill="none" stroke="currentColor" stroke-width="3"/></svg>`)
}

// proofNow says that the answer to what was asked is proved too.
func (p *page) proofNow() string {
	if p.now.result == nil || p.now.problem != nil || p.now.result.Proved.Verdict != card.Sound {
		return ""
	}
	return p.t.T("proof_sound_now")
}

// proofLine says whether the published mix is proved.
func (p *page) proofLine() html {
	t := p.t
	switch p.proof.Verdict {
	case card.Sound:
		return el("p", at{"class", "proof", "id", p.id("proof"), "data-verdict", "sound"}, check(true), el("span", nil, t.T("proof_sound"), " ", p.proofNow(), " ", el("small", at{"class", "screen"}, t.T("proof_speaks"))))
	case card.Altered:
		return el("p", at{"class", "proof bad", "id", p.id("proof"), "role", "alert", "data-verdict", "altered"}, check(false), el("span", nil, t.T("proof_altered")))
	case card.Unproved:
		return el("p", at{"class", "proof", "id", p.id("proof"), "data-verdict", "unproved"}, el("span", nil, t.T("proof_none")))
	}
	return el("p", at{"class", "proof", "id", p.id("proof")}, el("span", at{"class", "js-only"}, t.T("proof_checking")), el("span", at{"class", "nojs-only"}, t.T("proof_unchecked")))
}

// changed says what the reader changed, and how the mix comes back or is
// handed on.
func (p *page) changed(s *sheet) html {
	t := p.t
	if !p.now.changed {
		return ""
	}
	var what []string
	if names := p.names(p.ask.Choices.Missing); len(names) > 0 {
		what = append(what, t.T("changed_without", "Names", t.And(names)))
	}
	if names := p.names(p.ask.Choices.Use); len(names) > 0 {
		what = append(what, t.T("changed_with", "Names", t.And(names)))
	}
	what = append(what, p.otherwise()...)
	if ch := p.ask.Choices; ch.Stage != "" {
		if st := s.plan().Stage; st != nil {
			what = append(what, t.T("changed_stage", "Stage", st.Names.First(string(t.Lang))))
		}
	}
	if s.was != nil && s.answer.Steps != nil {
		m := moved(s.was, s.plan(), s.amounts)
		what = append(what, t.T("changed_moved", "Mass", t.mass(m)))
	}
	return el("div", at{"class", "changed", "id", p.id("changed")},
		el("p", nil, el("strong", nil, t.T("changed_title")), " ", strings.Join(what, " ")),
		el("p", at{"class", "share js-only"},
			el("button", at{"type", "button", "data-do", "copy"}, t.T("copy_link")),
			el("button", at{"type", "button", "data-do", "back", "id", p.id("back")}, t.T("back_to_published"))))
}

// otherwise says which of the published questions were asked otherwise.
func (p *page) otherwise() []string {
	t, ch := p.t, p.ask.Choices
	var out []string
	if ch.Batch > 0 {
		out = append(out, t.T("changed_batch", "Mass", t.mass(ch.Batch)))
	}
	if ch.Step > 0 {
		out = append(out, t.T("changed_step", "Mass", t.mass(ch.Step)))
	}
	if ch.Sureness != nil {
		out = append(out, t.T("changed_sureness", "Sets", p.surenessWords(*ch.Sureness)))
	}
	return out
}

func (p *page) surenessWords(v float64) string {
	if v <= 0 {
		return p.t.T("sure_means")
	}
	return p.t.T("sure_sets", "N", p.t.Plain(percent(v)))
}

func (p *page) names(refs []string) []string {
	var out []string
	for _, r := range refs {
		if n := p.t.nameOf(r); n != "" {
			out = append(out, n)
		}
	}
	return out
}

// ways are the ways out of a mix that cannot be, as presses where the card can
// take them.
func (p *page) ways(s *sheet) html {
	t := p.t
	if s.answer.Steps != nil || p.now.result == nil || p.now.result.Ways == nil {
		return ""
	}
	w := report.WaysOf(p.now.result.Ways)
	parts := p.waysIn(w)
	if x := w.HighestSureness; x != nil && p.card.Changes.Sureness {
		sure := floorPercent(float64(*x))
		parts = append(parts, el("h3", nil, t.T("ways_sure")),
			el("p", at{"class", "press"}, p.way("sure:"+short(sure), t.T("way_sure", "Sets", t.ofHundred(float64(*x))))))
	}
	l := t.limits(s.plan())
	var moves []html
	for i, m := range w.Moves {
		if i < mostWays {
			moves = append(moves, el("li", nil, t.T("way_move", "What", l.Say(m.What), "To", l.Bound(m.To))))
		}
	}
	if len(moves) > 0 {
		parts = append(parts, el("h3", nil, t.T("ways_publisher")), el("ul", nil, moves))
	}
	if len(parts) == 0 {
		parts = append(parts, el("p", nil, t.T("ways_none")))
	}
	return el("section", at{"class", "ways", "aria-labelledby", p.id("ways-h")}, el("h2", at{"id", p.id("ways-h")}, t.T("ways_title")), parts)
}

// waysIn are the ways out by ingredients that come in.
func (p *page) waysIn(w *report.Ways) []html {
	t := p.t
	var parts, adds []html
	for _, a := range w.Additions {
		f := t.find(a.Ingredient + "/" + a.Form)
		if f == nil || len(adds) == mostWays {
			continue
		}
		if do := p.have(f); do != "" {
			adds = append(adds, p.way(do, t.T("way_add", "Name", t.form(f), "Mass", t.Plain(float64(a.LeastGrams))+"\u00a0g")))
		}
	}
	if len(adds) > 0 {
		parts = append(parts, el("h3", nil, t.T("ways_add")), el("p", at{"class", "press"}, adds))
	}
	if f := w.Fewest; f != nil {
		if names := p.names(f.Ingredients); len(names) == len(f.Ingredients) {
			parts = append(parts, el("h3", nil, t.T("ways_fewest")),
				el("p", at{"class", "press"}, p.way("use:"+strings.Join(f.Ingredients, ","), t.T("way_fewest", "Names", t.And(names)))))
		}
	}
	return parts
}

// mostWays bounds a list of ways out.
const mostWays = 12

func (p *page) way(do, label string) html {
	return el("button", at{"type", "button", "class", "js-only", "data-way", do}, label)
}

// have is the press that brings an ingredient into the mix: back among what
// can be had, or as one that the card offers.
func (p *page) have(f *catalog.Form) string {
	ref := f.Ref()
	for _, m := range p.ask.Choices.Missing {
		if m == ref {
			return "have:" + ref
		}
	}
	for _, o := range p.card.Offered {
		if o == ref {
			return "use:" + ref
		}
	}
	return ""
}

// more are the further ingredients that the card can work with.
func (p *page) more(s *sheet) html {
	var ticks []html
	in := map[string]bool{}
	for _, l := range p.published().Lines {
		in[l.Form.Ref()] = true
	}
	used := map[string]bool{}
	for _, r := range p.ask.Choices.Use {
		used[r] = true
	}
	for _, ref := range p.card.Offered {
		f := p.t.find(ref)
		if f == nil || in[ref] {
			continue
		}
		ticks = append(ticks, el("li", nil, el("label", at{"class", "tick"},
			el("input", at{"type", "checkbox", "form", p.id("choose"), "name", "use", "value", ref, "id", p.id("u", ref), "checked", bare(used[ref])}),
			el("span", at{"class", "pic"}, portrait(f)), el("span", nil, p.t.named(f)))))
	}
	if len(ticks) == 0 {
		return ""
	}
	return el("details", at{"class", "more-kinds js-only", "id", p.id("more"), "open", bare(len(used) > 0)},
		el("summary", nil, p.t.N("more_kinds", len(ticks))),
		el("p", at{"class", "hint"}, p.t.T("more_kinds_hint")), el("ul", at{"class", "plain"}, ticks))
}

// surenesses that are offered, in per cent; 0 is on the means.
var surenesses = []float64{0, 50, 60, 70, 80, 85, 90, 95, 98, 99}

// asks are the questions that the publisher lets a reader ask otherwise.
func (p *page) asks() html {
	t, may, ch := p.t, p.card.Changes, p.ask.Choices
	doc := p.published().Document
	var fields []html
	if len(p.card.Mixes) > 1 {
		var options [][2]string
		for i := range p.card.Mixes {
			options = append(options, [2]string{strconv.Itoa(i), p.mixName(i)})
		}
		fields = append(fields, p.choose("mix", "ask_mix", strconv.Itoa(ch.Mix), options))
	}
	if may.Batch {
		fields = append(fields, p.field("batch", "ask_batch", p.typedMass(ch.Batch, doc.Batch)))
	}
	if may.Step {
		fields = append(fields, p.field("step", "ask_step", p.typedMass(ch.Step, doc.Step)))
	}
	if may.Sureness {
		asked := percent(doc.Sureness)
		if ch.Sureness != nil {
			asked = percent(*ch.Sureness)
		}
		fields = append(fields, p.choose("sureness", "ask_sureness", short(asked), p.surenesses(asked)))
	}
	if may.Stage {
		if options, now := p.stageOptions(); len(options) > 1 {
			fields = append(fields, p.choose("stage", "ask_stage", now, options))
		}
	}
	var langs [][2]string
	for _, l := range nameLanguages {
		langs = append(langs, [2]string{l, t.T("language_" + l)})
	}
	fields = append(fields, p.choose("names", "ask_names", p.t.names, langs))
	return el("form", at{"class", "asks js-only", "id", p.id("choose"), "autocomplete", "off", "aria-label", t.T("asks_label")}, fields)
}

// nameLanguages are those in which the catalogue names foods.
var nameLanguages = []string{"en", "es", "de", "fr", "nl", "pt"}

func (p *page) surenesses(asked float64) [][2]string {
	var out [][2]string
	placed := false
	put := func(v float64) {
		out = append(out, [2]string{short(v), p.surenessWords(v / 100)})
	}
	for _, v := range surenesses {
		if !placed && asked <= v {
			if asked < v {
				put(asked)
			}
			placed = true
		}
		put(v)
	}
	if !placed {
		put(asked)
	}
	return out
}

// stageOptions are the stages of the species that the card holds.
func (p *page) stageOptions() (options [][2]string, now string) {
	plan := p.published()
	if plan.Species == nil {
		return nil, ""
	}
	now = plan.Stage.ID
	if s := p.ask.Choices.Stage; s != "" {
		now = s
	}
	for _, st := range plan.Species.Stages {
		options = append(options, [2]string{st.ID, st.Names.First(string(p.t.Lang))})
	}
	return options, now
}

func (p *page) typedMass(chosen, published nutrient.Mass) string {
	if chosen > 0 {
		published = chosen
	}
	return p.t.Typed(published.Grams()) + " g"
}

func (p *page) field(name, label, value string) html {
	class, wrong := "field", p.ask.Wrong[name]
	var described any
	if typed, ok := p.ask.Typed[name]; ok {
		value = typed
	}
	if wrong != "" {
		class, described = "field bad", p.id("err", name)
	}
	return el("div", at{"class", class},
		el("label", at{"for", p.id(name)}, p.t.T(label)),
		el("input", at{"id", p.id(name), "name", name, "value", value, "inputmode", "decimal", "aria-invalid", given(trueIf(wrong != "")), "aria-describedby", described}),
		when(wrong != "", func() html {
			return el("strong", at{"class", "err", "id", p.id("err", name)}, p.t.T(wrong))
		}))
}

func trueIf(yes bool) string {
	if yes {
		return "true"
	}
	return ""
}

func (p *page) choose(name, label, now string, options [][2]string) html {
	var list []html
	for _, o := range options {
		list = append(list, el("option", at{"value", o[0], "selected", bare(o[0] == now)}, o[1]))
	}
	return el("div", at{"class", "field wide-field"}, el("label", at{"for", p.id(name)}, p.t.T(label)), el("select", at{"id", p.id(name), "name", name}, list))
}
