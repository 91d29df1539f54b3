package web

import (
	"context"
	"html/template"
	"slices"
	"strconv"
	"strings"

	"firlot/catalog"
	"firlot/internal/store"
	"firlot/mix"
	"firlot/nutrient"
	"firlot/report"
)

// mixBuilder fills a mix's page in, part by part.
type mixBuilder struct {
	s *Server
	w *words
	v *mixView
	a *solved
	r *report.Report

	quick   bool   // the sentence and the tag alone
	trading bool   // with what the trade looks for
	less    string // the ingredient that the map also leaves out

	cited []string // sources in the order of the page's list
}

func (b *mixBuilder) build(ctx context.Context, shelves []store.Shelf) error {
	v, a := b.v, b.a
	v.General = b.general()
	if a.Problem != nil {
		b.problem()
	}
	if a.Doc == nil {
		return nil
	}
	v.Asked = a.Doc.Sureness
	b.controls()
	b.lines()
	b.limits()
	b.windows()
	b.adds(shelves)
	if a.Plan != nil && a.Plan.Species != nil {
		v.Who = b.w.T("who", "Species", b.w.Species(a.Plan.Species), "Stage", b.w.Stage(a.Plan.Stage))
	}
	if a.Answer == nil {
		return nil
	}
	b.sentence()
	for _, n := range slices.Concat(a.Plan.Notes, a.Answer.Notes) {
		b.v.Notes = append(b.v.Notes, b.w.Engine(n))
	}
	if b.quick {
		return nil
	}
	if a.stuck() {
		b.region(ctx)
		return b.ways(ctx)
	}
	b.r = report.OfAnswer(a.Answer)
	b.strips()
	b.pictures(ctx)
	if b.trading {
		b.trade()
	}
	for _, c := range b.r.Cautions {
		if f := a.Plan.Catalogue.Form(c.Ingredient + "/" + c.Form); f != nil {
			v.Cautions = append(v.Cautions, cautionView{b.w.Form(f), c.Texts})
		}
	}
	return nil
}

// general are the cautions said of every mix, in the reader's language.
func (b *mixBuilder) general() []string {
	return b.w.Cautions()
}

// Cautions are said beside every mix.
func (w *words) Cautions() []string {
	var list []string
	for i := range catalog.GeneralCautions() {
		list = append(list, w.T("caution_"+strconv.Itoa(i+1)))
	}
	return list
}

func (b *mixBuilder) problem() {
	p := b.a.Problem
	b.v.State, b.v.Sentence = "problem", b.w.T("sentence_problem")
	b.v.Problem = &problemView{Text: b.w.Problem(p)}
	if rest, ok := strings.CutPrefix(p.Path, "line["); ok && b.a.Doc != nil {
		i, err := strconv.Atoi(rest[:max(strings.IndexByte(rest, ']'), 0)])
		if err == nil && i < len(b.a.Doc.Lines) {
			b.v.Problem.Line = b.lineName(i)
			if p.Path == "line["+strconv.Itoa(i)+"]" && b.a.Doc.Lines[i].Price == nil && b.a.Doc.Prefer == mix.Cheap {
				b.v.Problem.Text = template.HTML(template.HTMLEscapeString(b.w.T("problem_no_price")))
			}
		}
	}
	if p.Path == "prefer" && b.a.Doc != nil && b.a.Doc.Prefer == mix.Near {
		b.v.Problem.Text = template.HTML(template.HTMLEscapeString(b.w.T("problem_no_base")))
	}
}

func (b *mixBuilder) lineName(i int) string {
	c := b.s.Catalogue.With(b.a.Doc.Own...)
	if f := formOf(c, b.a.Doc.Lines[i].Ingredient); f != nil {
		return b.w.Form(f)
	}
	return b.a.Doc.Lines[i].Ingredient
}

// field is an input, with what was typed when that came back with a
// complaint.
func (b *mixBuilder) field(name, label, value, hint, mode string) field {
	if t, ok := b.v.Typed[name]; ok {
		value = t
	}
	return field{Name: name, Label: b.w.T(label), Value: value, Error: b.v.Errors[name], Hint: hint, Mode: mode}
}

// surenesses that are offered, in per cent; 0 is on the means.
var surenesses = []float64{0, 50, 60, 70, 80, 85, 90, 95, 98, 99}

func (b *mixBuilder) controls() {
	d, c := b.a.Doc, &b.v.Controls
	prefer := string(d.Prefer)
	if prefer == "" && b.a.Answer != nil {
		prefer = string(b.a.Answer.Prefer)
	}
	for _, p := range mix.Preferences() {
		c.Prefer = append(c.Prefer, choice{string(p), b.w.T("prefer_" + string(p)), string(p) == prefer})
	}
	asked := d.Sureness * 100
	offered := surenesses
	if !slices.Contains(offered, asked) {
		offered = append(slices.Clone(offered), asked)
		slices.Sort(offered)
	}
	for _, p := range offered {
		label := b.w.T("sure_means")
		if p > 0 {
			label = b.w.T("sure_sets", "N", b.w.Plain(p))
		}
		c.Sureness = append(c.Sureness, choice{strconv.FormatFloat(p, 'f', -1, 64), label, p == asked})
	}
	step := b.w.typed(d.Step.Grams()) + " g"
	if d.StepOunces > 0 {
		step = b.w.typed(d.StepOunces) + " oz"
	}
	c.Batch = b.field("batch", "control_batch", b.w.typed(d.Batch.Grams())+" g", "", "text")
	c.Step = b.field("step", "control_step", step, "", "text")
	c.Most = b.field("most", "control_most", number0(d.MostIngredients), "", "numeric")
	c.Least = b.field("least", "control_least", number0(d.LeastIngredients), "", "numeric")
	c.Currency = b.field("currency", "control_currency", d.Currency, "", "text")
	c.NewFloor = b.field("newgroup.floor", "line_floor", "", "", "text")
	c.NewCeiling = b.field("newgroup.ceiling", "line_ceiling", "", "", "text")
}

func number0(n int) string {
	if n == 0 {
		return ""
	}
	return strconv.Itoa(n)
}

func (b *mixBuilder) lines() {
	d := b.a.Doc
	c := b.s.Catalogue.With(d.Own...)
	amounts := make([]nutrient.Mass, len(d.Lines))
	shown := b.a.Answer != nil && b.a.Answer.Steps != nil
	if shown {
		copy(amounts, b.a.Answer.Amounts())
	}
	var total nutrient.Mass
	for _, m := range amounts {
		total += m
	}
	b.v.Total = total
	classes := map[catalog.Class]bool{}
	for i, l := range d.Lines {
		lv := b.line(i, l, formOf(c, l.Ingredient), amounts[i], total)
		if lv.Form != nil && !classes[lv.Form.Ingredient.Class] {
			classes[lv.Form.Ingredient.Class] = true
		}
		if shown && lv.Mass == 0 {
			b.v.Unused = append(b.v.Unused, lv)
		} else {
			b.v.Lines = append(b.v.Lines, lv)
		}
	}
	for _, k := range catalog.Classes() {
		if classes[k] {
			b.v.Controls.NewClasses = append(b.v.Controls.NewClasses, k)
		}
	}
}

func (b *mixBuilder) line(i int, l mix.Line, f *catalog.Form, m, total nutrient.Mass) lineView {
	lv := lineView{I: i, Ref: l.Ingredient, Form: f, Mass: m, Grams: b.w.Grams(m), Pinned: pinned(l), Shown: b.a.Answer != nil && b.a.Answer.Steps != nil}
	if f != nil {
		lv.Portrait = portrait(b.w, f)
		if b.w.units == unitsOunces && m > 0 {
			lv.Ounces, lv.Cups = b.w.Ounces(m), b.w.Cups(f, m)
		}
	}
	if total > 0 {
		lv.Percent = b.w.Num(100*float64(m)/float64(total), 1)
	}
	price := b.w.typedPointer(l.Price)
	lv.Floor = b.field(lineField(i, "floor"), "line_floor", b.w.Amount(l.Floor), "", "text")
	lv.Ceiling = b.field(lineField(i, "ceiling"), "line_ceiling", b.w.Amount(l.Ceiling), "", "text")
	lv.Nothing = b.field(lineField(i, "nothing"), "line_nothing", b.w.Amount(l.NothingOr), "", "text")
	lv.Hand = b.field(lineField(i, "on_hand"), "line_on_hand", b.w.Amount(l.OnHand), "", "text")
	lv.Price = b.field(lineField(i, "price"), "line_price", price, "", "decimal")
	lv.Open = lv.Floor.Error+lv.Ceiling.Error+lv.Nothing.Error+lv.Hand.Error+lv.Price.Error != ""
	lv.Limits = b.limitsOf(i, l, m)
	return lv
}

// limitsOf says what holds a line where it is: a limit that binds stands
// first.
func (b *mixBuilder) limitsOf(i int, l mix.Line, m nutrient.Mass) string {
	if pinned(l) {
		return b.w.T("line_kept")
	}
	if b.a.Plan == nil || i >= len(b.a.Plan.Lines) || b.a.Answer == nil || b.a.Answer.Steps == nil {
		return ""
	}
	p := b.a.Plan.Lines[i]
	step := b.a.Doc.Step
	at := nutrient.Mass(p.Ceiling) * step
	switch {
	case p.Ceiling < b.a.Plan.Steps && m >= at && p.CeilingSafety:
		return b.w.T("line_at_safety", "Mass", b.w.Grams(at))
	case p.Ceiling < b.a.Plan.Steps && m >= at && l.OnHand.Set && massOf(l.OnHand, b.a.Plan.Batch()) <= at+step:
		return b.w.T("line_at_hand", "Mass", b.w.Grams(at))
	case p.Ceiling < b.a.Plan.Steps && m >= at:
		return b.w.T("line_at_ceiling", "Mass", b.w.Grams(at))
	case p.Floor > 0 && m <= nutrient.Mass(p.Floor)*step:
		return b.w.T("line_at_floor", "Mass", b.w.Grams(nutrient.Mass(p.Floor)*step))
	}
	return ""
}

func (b *mixBuilder) limits() {
	for i, g := range b.a.Doc.Groups {
		v := limitView{I: i, Is: groupIs(g), Name: b.groupName(g)}
		v.Floor = b.field(groupField(i, "floor"), "line_floor", b.w.Amount(g.Floor), "", "text")
		v.Ceiling = b.field(groupField(i, "ceiling"), "line_ceiling", b.w.Amount(g.Ceiling), "", "text")
		if g.LeastIngredients > 0 || g.MostIngredients > 0 {
			v.Count = b.counts(g.LeastIngredients, g.MostIngredients)
		}
		b.v.Limits = append(b.v.Limits, v)
	}
}

func (b *mixBuilder) groupName(g mix.Group) string {
	switch {
	case g.Name != "":
		return g.Name
	case g.Class != "":
		return b.w.Class(g.Class)
	}
	return strings.Join(g.Of, ", ")
}

func (b *mixBuilder) counts(least, most int) string {
	switch {
	case most == 0:
		return b.w.N("count_least", least)
	case least == 0:
		return b.w.N("count_most", most)
	}
	return b.w.T("count_between", "A", least, "B", most)
}

// adds lists what the shelves hold that the mix does not, the mix's own shelf
// first.
func (b *mixBuilder) adds(shelves []store.Shelf) {
	in := map[*catalog.Form]bool{}
	ids := map[string]bool{}
	c := b.s.Catalogue.With(b.a.Doc.Own...)
	for _, l := range b.a.Doc.Lines {
		in[formOf(c, l.Ingredient)], ids[l.Ingredient] = true, true
	}
	slices.SortStableFunc(shelves, func(x, y store.Shelf) int {
		switch {
		case x.ID == b.v.Mix.Shelf:
			return -1
		case y.ID == b.v.Mix.Shelf:
			return 1
		}
		return 0
	})
	for _, sh := range shelves {
		g := addGroupView{Shelf: sh.Name}
		cat := b.s.catalogueOf(sh)
		for _, it := range sh.Items {
			f := formOf(cat, it.Ref)
			if f == nil || in[f] || ids[it.Ref] || !it.CanHave || !b.fits(f) {
				continue
			}
			g.Forms = append(g.Forms, addView{it.Ref, b.w.Form(f)})
		}
		slices.SortFunc(g.Forms, func(x, y addView) int { return strings.Compare(x.Name, y.Name) })
		if len(g.Forms) > 0 {
			b.v.Adds = append(b.v.Adds, g)
		}
	}
}

func (b *mixBuilder) fits(f *catalog.Form) bool {
	species := b.a.Doc.Species
	return fitsDry(f, species)
}

// fitsDry reports whether a form may go into a dry mix for a species: dry
// enough to keep, and not limited to nothing.
func fitsDry(f *catalog.Form, species string) bool {
	if m, ok := f.Figure(nutrient.Moisture); ok && m.Mean > mostMoisture {
		return false
	}
	for _, l := range f.Limits {
		if l.Most == 0 && l.For(species) {
			return false
		}
	}
	return true
}

// used is the number of lines with an amount.
func (v *mixView) used() int {
	n := 0
	for _, l := range v.Lines {
		if l.Mass > 0 {
			n++
		}
	}
	return n
}
