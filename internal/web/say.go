package web

import (
	"math"
	"strings"
	"unicode"
	"unicode/utf8"

	"firlot/analysis"
	"firlot/formulate"
	said "firlot/internal/words"
	"firlot/mix"
	"firlot/needs"
	"firlot/nutrient"
)

// sentence answers the keeper's question, and says what holds the mix.
func (b *mixBuilder) sentence() {
	a, v, w := b.a.Answer, b.v, b.w
	windows := len(a.Plan.Targets)
	switch {
	case a.Status == formulate.Impossible:
		v.State, v.Sentence = "impossible", b.clash()
		return
	case a.Steps == nil:
		v.State, v.Sentence = "stopped", w.T("sentence_stopped")
		return
	}
	v.State = "inside"
	key := "sentence_inside"
	if v.Who == "" {
		key = "sentence_inside_plain"
	}
	if a.Status == formulate.Stopped {
		v.State, key = "stopped", "sentence_best_so_far"
	}
	v.Sentence = w.N(key, windows, "Who", v.Who, "Sets", w.OfHundred(a.Joint))
	b.holding()
}

// holding says which window is the tightest and which limits bind.
func (b *mixBuilder) holding() {
	a, w := b.a.Answer, b.w
	var tight *analysis.Check
	for i := range a.Checks {
		if c := &a.Checks[i]; c.HasChance && (tight == nil || c.Chance < tight.Chance) {
			tight = c
		}
	}
	if tight != nil {
		e := nearest(tight)
		key := "holds_floor"
		if e.Upper {
			key = "holds_ceiling"
		}
		b.v.Holding = append(b.v.Holding, w.T(key, "Figure", upper(w.measureOf(tight.Window)),
			"Bound", w.withUnit(e.Bound, analysis.MeasureOf(tight.Window).Unit()), "Sets", w.OfHundred(tight.Chance)))
	}
	var names []string
	for i, l := range a.Plan.Document.Lines {
		if !pinned(l) && b.limitsOf(i, l, a.Amounts()[i]) != "" && a.Steps[i] > 0 {
			names = append(names, w.Form(a.Plan.Lines[i].Form))
		}
	}
	for i, g := range a.Plan.Groups {
		n := 0
		for _, k := range g.Lines {
			n += a.Steps[k]
		}
		if n == g.Floor && g.Floor > 0 || n == g.Ceiling && g.Ceiling < a.Plan.Steps {
			names = append(names, b.groupName(a.Plan.Document.Groups[i]))
		}
	}
	if len(names) > 0 {
		b.v.Holding = append(b.v.Holding, w.N("holds_lines", len(names), "Names", w.And(names)))
	}
	if a.Prefer == mix.Near {
		b.v.Holding = append(b.v.Holding, w.T("moved_from_base", "Mass", w.Plain(math.Round(a.Objective*1000)/1000)))
	}
	if a.Prefer == mix.Near && a.Objective == 0 {
		b.v.Holding = b.v.Holding[:len(b.v.Holding)-1]
	}
}

// upper starts a sentence.
func upper(s string) string {
	r, n := utf8.DecodeRuneInString(s)
	return string(unicode.ToUpper(r)) + s[n:]
}

// nearest is the edge of a window that a mix is nearest to.
func nearest(c *analysis.Check) analysis.Edge {
	edges := analysis.Edges(c.Window)
	best := edges[0]
	for _, e := range edges[1:] {
		if math.Abs(c.Value.Mean-e.Bound) < math.Abs(c.Value.Mean-best.Bound) {
			best = e
		}
	}
	return best
}

func (w *words) measureOf(x needs.Window) string {
	s := w.Measure(x.Nutrient, x.Per)
	if x.Basis == nutrient.DryMatter || x.On == needs.Eaten {
		s += " (" + w.Basis(x.Basis, x.On) + ")"
	}
	return s
}

// clash says which limits cannot hold together.
func (b *mixBuilder) clash() string {
	var limits, reach []string
	for _, c := range b.a.Answer.Clash {
		what := b.limitWords(c.What)
		limits = append(limits, what)
		if c.Reach != "" {
			reach = append(reach, b.w.T("reach_while", "What", what, "Reach", b.limitWords(c.Reach)))
		}
	}
	b.v.Holding = reach
	if len(limits) == 1 {
		return b.w.T("sentence_impossible_one", "Limit", limits[0])
	}
	return b.w.T("sentence_impossible", "Limits", b.w.And(limits))
}

// limitWords turns a limit as package formulate says it into the reader's
// words. What it does not recognise stays as it is.
func (b *mixBuilder) limitWords(s string) string { return b.limitsSaid().Say(s) }

func (b *mixBuilder) limitsSaid() said.Limits {
	return said.Limits{Book: said.In(b.w.lang), Subject: b.subject}
}

// subject is the reader's word for what a limit is on: a figure, a line, or a
// group.
func (b *mixBuilder) subject(s string) string {
	if s == "the mix" {
		return b.w.T("the_mix")
	}
	english := b.s.wordsIn("en", "")
	bare, tail := s, ""
	if x, ok := strings.CutSuffix(bare, " as eaten"); ok {
		bare, tail = x, " ("+b.w.Basis(nutrient.AsFed, needs.Eaten)+")"
	}
	if x, ok := strings.CutSuffix(bare, " on dry matter"); ok {
		bare, tail = x, " ("+b.w.Basis(nutrient.DryMatter, needs.Offered)+")"
	}
	for _, t := range b.a.Plan.Targets {
		if bare == english.Measure(t.Nutrient, t.Per) || bare == plainMeasure(t.Nutrient, t.Per) {
			return b.w.Measure(t.Nutrient, t.Per) + tail
		}
	}
	for _, l := range b.a.Plan.Lines {
		if l.Form.Name("en") == s {
			return b.w.Form(l.Form)
		}
	}
	for _, g := range b.a.Doc.Groups {
		if g.Name == "" && string(g.Class) == s {
			return b.w.Class(g.Class)
		}
	}
	return s
}

// plainMeasure is a figure's name as package nutrient has it.
func plainMeasure(k, per nutrient.Key) string {
	info, _ := nutrient.Lookup(k)
	if per == "" {
		return info.Name
	}
	other, _ := nutrient.Lookup(per)
	return info.Name + " to " + other.Name
}
