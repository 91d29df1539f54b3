package mix

import (
	"fmt"
	"math"
	"strings"

	"firlot/catalog"
	"firlot/catalog/find"
	"firlot/internal/nearword"
	"firlot/needs"
	"firlot/nutrient"
)

// Plan is a document with every name resolved.
type Plan struct {
	Document  *Document
	Catalogue *catalog.Catalogue // with the document's own ingredients
	Species   *needs.Species     // nil when the document names none
	Stage     *needs.Stage
	Lines     []PlanLine
	Targets   []Target
	Groups    []PlanGroup
	Steps     int // scale steps in the batch
	Notes     []string

	shop      *catalog.Catalogue // without the document's own ingredients
	table     *needs.Table
	namesakes map[*catalog.Form][]*catalog.Form // of own ingredients
}

// PlanLine is a line with its form and its limits in whole scale steps.
type PlanLine struct {
	Form          *catalog.Form
	Floor         int
	Ceiling       int
	NothingOr     int    // 0: not asked for
	CeilingWhy    string // what sets the ceiling, in words
	CeilingSafety bool   // an inclusion limit sets it, or ties with what does
	Room          int    // the most that safety allows; the ceiling is never above it
}

// PlanGroup is a group limit in whole scale steps over line indices.
type PlanGroup struct {
	Name           string
	Lines          []int
	Floor, Ceiling int // Ceiling = batch when open
	Least, Most    int // Most = number of lines when open
}

// Target is a window that the mix must meet.
type Target struct {
	needs.Window
	Path string // where the document sets it; empty when the stage does
}

// Batch is the mass of the batch, a whole number of scale steps.
func (p *Plan) Batch() nutrient.Mass { return nutrient.Mass(p.Steps) * p.Document.Step }

// Resolve checks a document against a catalogue and a table of needs.
func Resolve(d *Document, c *catalog.Catalogue, t *needs.Table) (*Plan, error) {
	p := &Plan{Document: d, shop: c, table: t}
	for _, step := range []func() error{
		func() error { return p.own(c) },
		p.batch,
		func() error { return p.animals(t) },
		p.lines,
		p.targets,
		p.groups,
		p.room,
	} {
		if err := step(); err != nil {
			return nil, err
		}
	}
	return p, nil
}

func (p *Plan) own(c *catalog.Catalogue) error {
	if len(p.Document.Own) > MaxOwn {
		return &Problem{"own", fmt.Sprintf("there are %d own ingredients; %d is the most", len(p.Document.Own), MaxOwn), ""}
	}
	for i, in := range p.Document.Own {
		at := fmt.Sprintf("own[%d]", i)
		if c.Ingredient(in.ID) != nil {
			return &Problem{at + ".id", fmt.Sprintf("%q is a catalogue ingredient already", in.ID), "choose another id"}
		}
		for k, name := range append([]string{in.ID}, in.Names["en"]...) {
			field := ".id"
			if k > 0 {
				field = ".name"
			}
			if u := find.Refused(c, name); u != nil {
				return &Problem{at + field, fmt.Sprintf("%q is never fed: %s", name, u.Reason), find.Instead(u)}
			}
		}
		if _, ok := in.Forms[0].Figures[nutrient.Moisture]; !ok {
			return &Problem{at + ".figures", "there is no moisture, and what is too moist spoils the jar", "type in the bag's moisture, such as moisture = 12"}
		}
		for _, other := range p.Document.Own[:i] {
			if other.ID == in.ID {
				return &Problem{at + ".id", fmt.Sprintf("%q stands twice", in.ID), "give each its own id"}
			}
		}
	}
	p.Catalogue = c.With(p.Document.Own...)
	p.findNamesakes()
	return nil
}

func (p *Plan) batch() error {
	d := p.Document
	if d.Batch <= 0 {
		return &Problem{"batch", "there is no batch size", `write for example batch = "1 kg"`}
	}
	if d.Step <= 0 {
		return &Problem{"step", "the scale step must be more than nothing", `write for example step = "1 g"`}
	}
	steps := math.Round(float64(d.Batch) / float64(d.Step))
	switch {
	case d.Batch < d.Step:
		return &Problem{"batch", fmt.Sprintf("%v is less than one scale step of %v", d.Batch, d.Step), "make a larger batch or use a finer scale"}
	case steps > MaxSteps:
		return &Problem{"batch", fmt.Sprintf("%v is more than a million scale steps of %v", d.Batch, d.Step), "choose a coarser step"}
	}
	p.Steps = int(steps)
	if p.Batch() != d.Batch {
		p.Notes = append(p.Notes, fmt.Sprintf("the batch of %v is made as %v, a whole number of scale steps of %v", d.Batch, p.Batch(), d.Step))
	}
	return nil
}

func (p *Plan) animals(t *needs.Table) error {
	d := p.Document
	if d.Species == "" {
		if d.Stage != "" {
			return &Problem{"stage", "a stage needs a species", ""}
		}
		return nil
	}
	p.Species = t.Find(d.Species)
	if p.Species == nil {
		var ids []string
		for _, s := range t.Species {
			ids = append(ids, s.ID)
		}
		return &Problem{"species", fmt.Sprintf("%q is not known", d.Species), oneOf(d.Species, ids)}
	}
	p.Stage = p.Species.Stage(d.Stage)
	if p.Stage == nil {
		var ids []string
		for _, s := range p.Species.Stages {
			ids = append(ids, s.ID)
		}
		if d.Stage == "" {
			return &Problem{"stage", "no life stage is named", oneOf("", ids)}
		}
		return &Problem{"stage", fmt.Sprintf("%q is not a stage of %s", d.Stage, p.Species.ID), oneOf(d.Stage, ids)}
	}
	return nil
}

func oneOf(word string, known []string) string {
	return nearword.Hint(word, known, "use one of "+strings.Join(known, ", "))
}

func (p *Plan) lines() error {
	d := p.Document
	if len(d.Lines) == 0 {
		return &Problem{"line", "there are no ingredients", "add at least one [[line]] with an ingredient"}
	}
	if len(d.Lines) > MaxLines {
		return &Problem{"line", fmt.Sprintf("there are %d lines; %d is the most", len(d.Lines), MaxLines), ""}
	}
	first := map[string]int{}
	for i := range d.Lines {
		l, err := p.line(i)
		if err != nil {
			return err
		}
		if j, dup := first[l.Form.Ref()]; dup {
			return &Problem{fmt.Sprintf("line[%d].ingredient", i),
				fmt.Sprintf("%s stands twice, in [[line]] number %d and number %d", l.Form.Ref(), j+1, i+1), "join the two"}
		}
		first[l.Form.Ref()] = i
		p.Lines = append(p.Lines, l)
	}
	return nil
}

func (p *Plan) line(i int) (PlanLine, error) {
	l, at := p.Document.Lines[i], fmt.Sprintf("line[%d]", i)
	if l.Ingredient == "" {
		return PlanLine{}, &Problem{at, "the line names no ingredient", `write for example ingredient = "oats/groats"`}
	}
	form, err := find.Resolve(p.Catalogue, l.Ingredient)
	if err != nil {
		e := err.(*find.Error)
		return PlanLine{}, &Problem{at + ".ingredient", e.Message, e.Hint}
	}
	if fresh(form) {
		return PlanLine{}, &Problem{at + ".ingredient", form.Ref() + " is too moist for a dry mix: it would spoil the rest",
			"feed it beside the mix, or use a dried form"}
	}
	out := PlanLine{Form: form, Ceiling: p.Steps, Room: p.Steps}
	lower := func(path string, a Amount) (int, error) {
		v, err := p.steps(at+"."+path, a)
		return int(math.Ceil(v - stepSlack)), err
	}
	upper := func(path string, a Amount, why string) error {
		v, err := p.steps(at+"."+path, a)
		if n := int(math.Floor(v + stepSlack)); err == nil && a.Set && n < out.Ceiling {
			out.Ceiling, out.CeilingWhy = n, why
		}
		return err
	}
	if out.Floor, err = lower("floor", l.Floor); err != nil {
		return out, err
	}
	if out.NothingOr, err = lower("nothing_or", l.NothingOr); err != nil {
		return out, err
	}
	if err = upper("ceiling", l.Ceiling, "its ceiling"); err != nil {
		return out, err
	}
	if err = upper("on_hand", l.OnHand, "what is on hand"); err != nil {
		return out, err
	}
	p.inclusion(&out)
	if err := p.lineRoom(at, out); err != nil {
		return out, err
	}
	if out.NothingOr > out.Ceiling {
		if out.Floor > 0 {
			return out, &Problem{at + ".nothing_or", fmt.Sprintf("asks for at least %v, above %s of %v, and the floor asks for some",
				p.mass(out.NothingOr), orWord(out.CeilingWhy, "the batch"), p.mass(out.Ceiling)), "lower it, or take the floor away"}
		}
		p.Notes = append(p.Notes, fmt.Sprintf("%s is left out: it is to be nothing or at least %v, and %s is %v",
			form.Ref(), p.mass(out.NothingOr), orWord(out.CeilingWhy, "the batch"), p.mass(out.Ceiling)))
	}
	if l.Price != nil && !(*l.Price >= 0 && *l.Price <= 1e9) {
		return out, &Problem{at + ".price", fmt.Sprintf("%v is not a price", *l.Price), "write the price of a kilogram, such as 3.20"}
	}
	return out, nil
}

// lineRoom checks that a line's floor fits under its ceiling.
func (p *Plan) lineRoom(at string, l PlanLine) error {
	what := "the batch of"
	switch {
	case l.Floor <= l.Ceiling:
		return nil
	case l.CeilingSafety:
		what = fmt.Sprintf("%s, which in a batch of %v is", l.CeilingWhy, p.Batch())
	case l.CeilingWhy != "":
		what = l.CeilingWhy + " of"
	}
	return &Problem{at + ".floor", fmt.Sprintf("the floor of %v is above %s %v", p.mass(l.Floor), what, p.mass(l.Ceiling)), "lower the floor"}
}

// stepSlack forgives the rounding of a percentage of the batch: 12 % of 1,000
// steps must be 120 steps although 0.12 × 1000 is not exact in binary. It is
// far below one step, and far above the relative error 2⁻⁵² × MaxSteps.
const stepSlack = 1e-6

// steps turns an amount into scale steps, not yet rounded.
func (p *Plan) steps(path string, a Amount) (float64, error) {
	if !a.Set {
		return 0, nil
	}
	if a.Share && a.Percent > 100 {
		return 0, &Problem{path, fmt.Sprintf("%v %% is more than the whole batch", a.Percent), "a share is at most 100 %"}
	}
	return a.Of(p.Batch()) / p.Document.Step.Grams(), nil
}

func (p *Plan) mass(steps int) nutrient.Mass { return nutrient.Mass(steps) * p.Document.Step }

func orWord(s, other string) string {
	if s == "" {
		return other
	}
	return s
}

func (p *Plan) groups() error {
	for i, g := range p.Document.Groups {
		at := fmt.Sprintf("group[%d]", i)
		if !g.Floor.Set && !g.Ceiling.Set && g.LeastIngredients == 0 && g.MostIngredients == 0 {
			return &Problem{at, "the group sets no limit", "give it a floor, a ceiling, least_ingredients or most_ingredients"}
		}
		out := PlanGroup{Name: orWord(g.Name, string(g.Class)), Ceiling: p.Steps}
		if err := p.members(at, g, &out); err != nil {
			return err
		}
		floor, err := p.steps(at+".floor", g.Floor)
		if err != nil {
			return err
		}
		ceiling, err := p.steps(at+".ceiling", g.Ceiling)
		if err != nil {
			return err
		}
		out.Floor = int(math.Ceil(floor - stepSlack))
		if g.Ceiling.Set {
			out.Ceiling = int(math.Floor(ceiling + stepSlack))
		}
		if out.Floor > out.Ceiling {
			return &Problem{at + ".floor", fmt.Sprintf("the floor of %v is above the ceiling of %v", p.mass(out.Floor), p.mass(out.Ceiling)), "swap or change them"}
		}
		out.Least, out.Most = g.LeastIngredients, len(out.Lines)
		if g.MostIngredients > 0 {
			out.Most = min(out.Most, g.MostIngredients)
		}
		forced := 0
		for _, k := range out.Lines {
			if p.Lines[k].Floor > 0 {
				forced++
			}
		}
		if forced > out.Most {
			return &Problem{at + ".most_ingredients", fmt.Sprintf("%d lines of the group have floors, more than the %d ingredients allowed", forced, out.Most), "allow more ingredients, or take a floor away"}
		}
		if out.Least > out.Most {
			return &Problem{at + ".least_ingredients", fmt.Sprintf("asks for %d ingredients; the group can hold %d", out.Least, out.Most), ""}
		}
		p.Groups = append(p.Groups, out)
	}
	return nil
}

func (p *Plan) members(at string, g Group, out *PlanGroup) error {
	in := map[int]bool{}
	for j, name := range g.Of {
		form, err := find.Resolve(p.Catalogue, name)
		if err != nil {
			e := err.(*find.Error)
			return &Problem{fmt.Sprintf("%s.of[%d]", at, j), e.Message, e.Hint}
		}
		found := false
		for k, l := range p.Lines {
			if l.Form == form {
				in[k], found = true, true
			}
		}
		if !found {
			return &Problem{fmt.Sprintf("%s.of[%d]", at, j), form.Ref() + " is not among the lines", "add a [[line]] for it, or take it out of the group"}
		}
	}
	for k, l := range p.Lines {
		if g.Class != "" && l.Form.Ingredient.Class == g.Class {
			in[k] = true
		}
		if in[k] {
			out.Lines = append(out.Lines, k)
		}
	}
	if len(out.Lines) == 0 {
		return &Problem{at, "the group holds none of the lines", "name lines with of = [...] or a class"}
	}
	return nil
}

// room checks what simple sums rule out, so that the complaint can name a
// place.
func (p *Plan) room() error {
	d := p.Document
	if d.MostIngredients > 0 && d.LeastIngredients > d.MostIngredients {
		return &Problem{"least_ingredients", fmt.Sprintf("%d is above most_ingredients of %d", d.LeastIngredients, d.MostIngredients), "swap them"}
	}
	if d.LeastIngredients > len(p.Lines) {
		return &Problem{"least_ingredients", fmt.Sprintf("asks for %d ingredients; the shelf has %d", d.LeastIngredients, len(p.Lines)), "ask for fewer, or add a [[line]]"}
	}
	floors, forced, most := 0, 0, 0
	for _, l := range p.Lines {
		floors += l.Floor
		most += l.Ceiling
		if l.Floor > 0 {
			forced++
		}
	}
	switch {
	case floors > p.Steps:
		return &Problem{"batch", fmt.Sprintf("the floors add up to %v, more than the batch of %v", p.mass(floors), p.Batch()), "lower a floor or make a larger batch"}
	case d.MostIngredients > 0 && forced > d.MostIngredients:
		return &Problem{"most_ingredients", fmt.Sprintf("%d lines have floors, more than the %d ingredients allowed", forced, d.MostIngredients), "allow more ingredients, or take a floor away"}
	case max(d.LeastIngredients, forced) > p.Steps:
		return &Problem{"batch", fmt.Sprintf("a batch of %d scale steps cannot hold %d ingredients", p.Steps, max(d.LeastIngredients, forced)), "make a larger batch or use a finer scale"}
	}
	return nil
}
