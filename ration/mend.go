package ration

import (
	"context"
	"fmt"
	"math"
	"slices"
	"strings"

	"firlot/catalog"
	"firlot/needs"
	"firlot/nutrient"
)

// MendOptions say what is to be mended, and with what.
type MendOptions struct {
	// Targets are the rows to bring inside; empty means every row that is low.
	Targets []Target
	// Candidates are the foods that may be given, or given more of. Nil means
	// the document's own: its shelf, and what it gives by amount.
	Candidates []*catalog.Form
	// Nodes bounds the search of each solve; 0 is enough for a kitchen.
	Nodes int
}

// Mend is the smallest change of a week that mends a shortage.
type Mend struct {
	Targets []Target
	// Found says that there is a change. Proved says that it is the smallest,
	// with the fewest foods and then the fewest grams; or, when none was
	// found, that the foods cannot mend it within the limits.
	Found, Proved bool
	// Lightest says that no change with as many foods as are allowed takes fewer
	// grams. Where more than three foods are needed up to six are allowed, then any
	// number, and whether fewer would do is not looked into.
	Lightest      bool
	Changes       []Addition
	Document      *Document // with the change
	Before, After *Ledger
	Tried         int      // foods that were allowed
	Against       []string // when none: the rules that stand against it
}

// sensible is up to how many foods anybody would add to a week. Assumed; what
// takes more says that the mix itself should change.
const sensible = 6

// Sensible reports whether a change was found that somebody would make.
func (m *Mend) Sensible() bool { return m.Found && len(m.Changes) <= sensible }

// Addition is more of one food.
type Addition struct {
	Form  *catalog.Form
	Steps int // a week, of Step
	Step  Amount
	Grams float64 // a week, for the group
	Lines []Food  // as they join the document
	// Uncommon is more of it than keepers commonly give: beyond a teaspoon of
	// dried forage, or a tablespoon of fresh greens, a day for three gerbils.
	// Common practice, no source; it is no limit.
	Uncommon bool
}

// mendNodes bounds each of a mend's searches. Usual weeks are settled within a
// few hundred nodes; what is not is mended by so many foods, if by any, that
// nobody would add them.
const mendNodes = 1_000

// mender is a mend being worked out.
type mender struct {
	plan    *Plan
	diet    *diet
	before  *Ledger
	targets []Target
	cands   []candidate
	rules   []rule
	mix     int     // index of the mix by need in the diet, or -1
	mixGram float64 // kcal in a gram of it
}

type candidate struct {
	served Served
	brings *brings
	step   Amount
	grams  float64 // of a step
	most   int     // steps a week
	part   float64 // of the mix that a gram takes the place of
}

// rule is a linear condition on grams a day: Σ coef·grams ≥ need.
type rule struct {
	name string
	coef []float64 // one a candidate
	need float64
}

// Mend looks for the smallest change of the week that brings the targets
// inside, keeps every row that is inside there, and every limit. What a food
// does not tell counts against it.
func (p *Plan) Mend(ctx context.Context, o MendOptions) (*Mend, error) {
	m := &mender{plan: p, diet: p.diet(), before: p.Ledger(), targets: o.Targets, mix: -1}
	if len(m.targets) == 0 {
		for _, s := range m.before.Shortages() {
			if s.Verdict == Low && s.Target.Nutrient != nutrient.Energy {
				m.targets = append(m.targets, s.Target)
			}
		}
	}
	out := &Mend{Targets: m.targets, Before: m.before}
	if err := m.check(); err != nil {
		return nil, err
	}
	if len(m.targets) == 0 {
		out.Found, out.Proved, out.Document, out.After = true, true, p.Document, m.before
		return out, nil
	}
	if err := m.candidates(o.Candidates); err != nil {
		return nil, err
	}
	m.build()
	out.Tried = len(m.cands)
	return out, m.solve(ctx, out, o.Nodes)
}

// check refuses targets that no food mends.
func (m *mender) check() error {
	for _, t := range m.targets {
		if t.Nutrient == nutrient.Energy {
			return &Problem{"", "energy is mended by more mix, not by leaves", "leave the amount of the mix out, and it is given by need"}
		}
		found := false
		for _, a := range m.before.Accounts {
			for _, r := range a.Rows {
				found = found || r.Target() == t
			}
		}
		if !found {
			return &Problem{"", fmt.Sprintf("no animal of the group has a need of %s", t.Nutrient), ""}
		}
	}
	return nil
}

// dayMost bounds what mending may add of one food, as a share of the dry
// matter that the group gets in a day.
const dayMost = 0.25

func (m *mender) candidates(forms []*catalog.Form) error {
	p := m.plan
	if forms == nil {
		for _, s := range append(slices.Clone(p.Foods), p.Shelf...) {
			if s.Form != nil && !s.Food.AtWill && !s.Rests && !slices.Contains(forms, s.Form) {
				forms = append(forms, s.Form)
			}
		}
	}
	for i, s := range m.diet.served {
		if s.ByNeed {
			m.mix, m.mixGram = i, p.perGram(s).Mean
		}
	}
	all := m.diet.total(dry).Mean
	for _, f := range forms {
		c := candidate{served: Served{Index: -1, Form: f, Origin: OriginOf(f), Food: Food{Food: f.Ref()}}}
		c.brings = p.bringsOf(&c.served)
		c.step = p.step(f, all)
		r, loose, _, err := p.grams("", f, c.step)
		if err != nil {
			return err
		}
		if loose || r.Mean <= 0 || p.unfit(f) {
			continue
		}
		c.grams = r.Mean
		if m.mix >= 0 {
			c.part = p.perGram(c.served).Mean / m.mixGram
		}
		c.most = m.most(c, all)
		if c.most > 0 {
			m.cands = append(m.cands, c)
		}
	}
	return nil
}

// notFor are foods that the catalogue warns of for animals in a breeding state,
// in its cautions; mending leaves them out. A test holds the list against it.
var notFor = map[string][]Breeding{
	"raspberry/leaf-dried": {Pregnant},
	"sage/dried":           {Pregnant, Nursing},
}

// unfit reports whether a food is not for some of the animals.
func (p *Plan) unfit(f *catalog.Form) bool {
	return slices.ContainsFunc(p.Animals, func(a Fed) bool { return slices.Contains(notFor[f.Ref()], a.Animal.Breeding) })
}

// Of minerals a step is halved, down to a pinch, until it is no more than this
// share of the dry matter of a week; a sixteenth of a teaspoon is the smallest
// measuring spoon sold.
const (
	mineralStep = 0.01
	pinch       = 1.0 / 16
)

// step is a food's step for a group that gets some grams of dry matter a day.
func (p *Plan) step(f *catalog.Form, dryDay float64) Amount {
	a := stepOf(f)
	if f.Ingredient.Class != catalog.MineralFeed || a.Unit != Teaspoons {
		return a
	}
	for a.Count > pinch {
		if r, _, _, err := p.grams("", f, a); err != nil || r.Mean <= float64(mineralStep*dryDay*7) {
			break
		}
		a.Count /= 2
	}
	return a
}

// stepOf is the smallest amount of a food that is handed out: a piece of what
// comes in pieces, a quarter of a teaspoon of what is dry and pours, else a
// gram.
func stepOf(f *catalog.Form) Amount {
	fresh := f.Figures[nutrient.Moisture].Mean >= freshFrom
	switch {
	case f.Ingredient.Class == catalog.Insect && f.ThousandKernels != nil && f.ThousandKernels.Mean > 0:
		return Amount{Set: true, Count: 1, Unit: Pieces}
	case !fresh && f.BulkDensity != nil && f.BulkDensity.Mean > 0:
		return Amount{Set: true, Count: 0.25, Unit: Teaspoons}
	}
	return Amount{Set: true, Mass: nutrient.Gram, Unit: Grams}
}

// most is how many steps a week of a food may be added.
func (m *mender) most(c candidate, all float64) int {
	n := math.Floor(7 * dayMost * all / max(float64(c.grams*c.brings.dry.middle()), 1e-9))
	for _, f := range m.plan.Document.Foods {
		if f.Most.Set && m.names(f.Food, c.served.Form.Ref()) {
			if r, _, _, err := m.plan.grams("", c.served.Form, f.Most); err == nil {
				left := float64(r.Mean*float64(len(m.plan.Animals))) - m.given(c.served.Form)
				n = min(n, math.Floor(left/c.grams+1e-9))
			}
		}
	}
	return int(min(max(n, 0), 10_000))
}

// given is what a week gives of a food already, g.
func (m *mender) given(f *catalog.Form) float64 {
	g := 0.0
	for _, s := range m.diet.served {
		if s.Form == f {
			g += float64(7 * s.PerDay.Mean)
		}
	}
	return g
}

// build gathers the rules: targets hold, what holds goes on holding, and what
// is broken and no target gets no worse where it is a limit.
func (m *mender) build() {
	var forms []*catalog.Form
	for _, c := range m.cands {
		forms = append(forms, c.served.Form)
	}
	for _, a := range m.before.Accounts {
		for _, w := range needsOf(a.Stage) {
			target := slices.Contains(m.targets, Target{w.Nutrient, w.Per})
			lower, upper := edges(w)
			for _, e := range []*edge{lower, upper} {
				if e == nil {
					continue
				}
				name := rowName(w, e.upper, a)
				switch s := m.diet.state(*e); {
				case target || s == holds:
					m.rule(name, *e, 0)
				case s == unknown: // what could be well must not turn out wrong
					m.atBest(name, *e)
				}
			}
		}
		m.limit(m.energy(a))
		for _, l := range m.plan.limits(a, forms...) {
			m.limit(l)
		}
	}
	if m.mix >= 0 {
		r := rule{name: "the mix itself", need: -m.diet.served[m.mix].PerDay.Mean}
		for _, c := range m.cands {
			r.coef = append(r.coef, -c.part)
		}
		m.rules = append(m.rules, r)
	}
}

func rowName(w needs.Window, upper bool, a Account) string {
	info, _ := nutrient.Lookup(w.Nutrient)
	name := info.Name
	if w.Per != "" {
		per, _ := nutrient.Lookup(w.Per)
		name += " : " + per.Name
	}
	side := "enough "
	if upper {
		side = "not too much "
	}
	return side + name + " (" + a.Stage.ID + ")"
}

// energy keeps what is given from holding more energy than animals of an
// account need.
func (m *mender) energy(a Account) limit {
	_, per := DayUnit(nutrient.Energy)
	l := limit{edge: edge{num: fig(nutrient.Energy), upper: true}}
	l.Name = "energy"
	for _, r := range a.Rows {
		if r.By == ByNeed {
			l.edge.bound = *r.Most / float64(per*a.Share)
		}
	}
	return l
}

// limit adds a limit. One that does not hold now, or is not known to, must by
// the means not come out above where it stands, or above its bound.
func (m *mender) limit(l limit) {
	name := "the limit of " + l.Name
	if food, ok := strings.CutPrefix(l.ID, "inclusion:"); ok {
		name = "the inclusion limit of " + food
	}
	if m.diet.state(l.edge) == holds {
		m.rule(name, l.edge, 0)
		return
	}
	e := l.edge
	if at := m.diet.value(e); at > e.bound {
		e.bound = at
	}
	worst, _ := m.diet.margin(e)
	m.rule(name, e, worst-m.diet.middle(e))
}

// rule adds an edge; floor is what its margin must reach, at worst.
func (m *mender) rule(name string, e edge, floor float64) {
	worst, _ := m.diet.margin(e)
	m.add(name, floor-worst, func(s *Served, b *brings) float64 {
		w, _ := e.coef(s, b)
		return w
	})
}

// atBest adds an edge that must not be broken for certain.
func (m *mender) atBest(name string, e edge) {
	_, best := m.diet.margin(e)
	m.add(name, min(-best, 0), func(s *Served, b *brings) float64 {
		_, w := e.coef(s, b)
		return w
	})
}

func (m *mender) add(name string, need float64, coef func(*Served, *brings) float64) {
	r := rule{name: name, need: need}
	mixed := 0.0
	if m.mix >= 0 {
		mixed = coef(&m.diet.served[m.mix], m.diet.brings[m.mix])
	}
	any := r.need > 0
	for i := range m.cands {
		c := &m.cands[i]
		w := coef(&c.served, c.brings)
		w -= float64(mixed * c.part)
		any = any || w < 0
		r.coef = append(r.coef, w)
	}
	if any { // otherwise nothing can break it
		m.rules = append(m.rules, r)
	}
}
