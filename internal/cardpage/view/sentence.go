package view

import (
	"math"
	"strings"
	"unicode"
	"unicode/utf8"

	"firlot/analysis"
	"firlot/formulate"
	"firlot/internal/words"
	"firlot/mix"
	"firlot/needs"
	"firlot/nutrient"
)

// who names the animals of a plan, or is "".
func (t *teller) who(p *mix.Plan) string {
	if p.Species == nil {
		return ""
	}
	return t.T("who", "Species", p.Species.Names.First(string(t.Lang)), "Stage", p.Stage.Names.First(string(t.Lang)))
}

// sentence answers first, and claims no more than was computed.
func (t *teller) sentence(a *formulate.Answer) string {
	switch {
	case a.Status == formulate.Impossible:
		return t.clash(a)
	case a.Steps == nil && a.Plan.Document.Sureness > 0:
		return t.T("sentence_less_sure")
	case a.Steps == nil:
		return t.T("sentence_stopped")
	}
	key := "sentence_inside"
	who := t.who(a.Plan)
	switch {
	case a.Status == formulate.Stopped:
		key = "sentence_best_so_far"
	case who == "":
		key = "sentence_inside_plain"
	}
	return t.N(key, len(a.Plan.Targets), "Who", who, "Sets", t.ofHundred(a.Joint))
}

// holding says which window is the tightest, which limits bind, and what the
// engine notes.
func (t *teller) holding(a *formulate.Answer) []html {
	var out []html
	if a.Steps == nil {
		for _, c := range a.Clash {
			if c.Reach != "" {
				l := t.limits(a.Plan)
				out = append(out, html(esc(t.T("reach_while", "What", l.Say(c.What), "Reach", l.Say(c.Reach)))))
			}
		}
		return append(out, t.notes(a)...)
	}
	if c := tightest(a.Checks); c != nil {
		e := nearest(c)
		key := "holds_floor"
		if e.Upper {
			key = "holds_ceiling"
		}
		out = append(out, html(esc(t.T(key, "Figure", upper(t.measureOf(c.Window)),
			"Bound", t.withUnit(e.Bound, analysis.MeasureOf(c.Window).Unit()), "Sets", t.ofHundred(c.Chance)))))
	}
	if names := t.binding(a); len(names) > 0 {
		out = append(out, html(esc(t.N("holds_lines", len(names), "Names", t.And(names)))))
	}
	return append(out, t.notes(a)...)
}

func (t *teller) notes(a *formulate.Answer) []html {
	var out []html
	for _, n := range append(a.Plan.Notes[:len(a.Plan.Notes):len(a.Plan.Notes)], a.Notes...) {
		out = append(out, join(t.T("note"), " ", t.engine(n), "."))
	}
	return out
}

// tightest is the window that the fewest sets of bags lie inside.
func tightest(checks []analysis.Check) *analysis.Check {
	var tight *analysis.Check
	for i := range checks {
		if c := &checks[i]; c.HasChance && (tight == nil || c.Chance < tight.Chance) {
			tight = c
		}
	}
	return tight
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

// binding names the ingredients and kinds that are at a limit of theirs.
func (t *teller) binding(a *formulate.Answer) []string {
	var names []string
	for i, l := range a.Plan.Lines {
		n := a.Steps[i]
		if n > 0 && (n == l.Floor || n == l.Ceiling && l.CeilingWhy != "") {
			names = append(names, t.form(l.Form))
		}
	}
	for i, g := range a.Plan.Groups {
		n := 0
		for _, k := range g.Lines {
			n += a.Steps[k]
		}
		if n == g.Floor && g.Floor > 0 || n == g.Ceiling && g.Ceiling < a.Plan.Steps {
			names = append(names, t.group(a.Plan.Document.Groups[i]))
		}
	}
	return names
}

func (t *teller) group(g mix.Group) string {
	switch {
	case g.Name != "":
		return g.Name
	case g.Class != "":
		return t.T("class_" + string(g.Class))
	}
	var names []string
	for _, ref := range g.Of {
		if n := t.nameOf(ref); n != "" {
			ref = n
		}
		names = append(names, ref)
	}
	return t.And(names)
}

// upper starts a sentence.
func upper(s string) string {
	r, n := utf8.DecodeRuneInString(s)
	return string(unicode.ToUpper(r)) + s[n:]
}

// clash says which limits cannot hold together.
func (t *teller) clash(a *formulate.Answer) string {
	l := t.limits(a.Plan)
	var list []string
	for _, c := range a.Clash {
		list = append(list, l.Say(c.What))
	}
	if len(list) == 1 {
		return t.T("sentence_impossible_one", "Limit", list[0])
	}
	return t.T("sentence_impossible", "Limits", t.And(list))
}

// limits says limits as package formulate words them.
func (t *teller) limits(p *mix.Plan) words.Limits {
	return words.Limits{Book: t.Book, Subject: func(s string) string { return t.subject(p, s) }}
}

// subject is the reader's word for what a limit is on: a figure, a line, a
// group, or the mix.
func (t *teller) subject(p *mix.Plan, s string) string {
	if s == "the mix" {
		return t.T("the_mix")
	}
	bare, tail := s, ""
	if x, ok := strings.CutSuffix(bare, " as eaten"); ok {
		bare, tail = x, " ("+t.basis(nutrient.AsFed, needs.Eaten)+")"
	}
	if x, ok := strings.CutSuffix(bare, " on dry matter"); ok {
		bare, tail = x, " ("+t.basis(nutrient.DryMatter, needs.Offered)+")"
	}
	for _, w := range p.Targets {
		if bare == plainMeasure(w.Nutrient, w.Per) {
			return t.measure(w.Nutrient, w.Per) + tail
		}
	}
	for _, l := range p.Lines {
		if l.Form.Name("en") == s {
			return t.form(l.Form)
		}
	}
	for i, g := range p.Groups {
		if g.Name == s {
			return t.group(p.Document.Groups[i])
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
