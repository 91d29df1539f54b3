package ration

import (
	"fmt"
	"sort"
	"strings"

	"firlot/analysis"
	"firlot/catalog"
	"firlot/catalog/find"
	"firlot/internal/nearword"
	"firlot/needs"
	"firlot/nutrient"
	"firlot/serving"
)

// Plan is a document with every name resolved, on one day.
type Plan struct {
	Document  *Document
	Catalogue *catalog.Catalogue
	Table     *needs.Table
	Day       Day
	Mix       []analysis.Portion // in any batch; empty when there is no mix
	Animals   []Fed              // those that are there on the day
	Foods     []Served           // what is given and not over yet, in the document's order
	Shelf     []Served           // what stands on the shelf and is given on no day
	Notes     []string

	need   serving.Range // of all animals, kcal a day
	weight float64       // of all animals, g
	mix    serving.Energy
	bulk   serving.Density
	spoon  serving.Spoon
}

// Origin is what part of the diet a food belongs to.
type Origin string

// The origins, in the order in which they are shown.
const (
	FromMix    Origin = "mix"
	FromGreens Origin = "greens" // fresh leaves, vegetables and fruit
	FromForage Origin = "forage" // dried leaves, flowers, roots and fruit
	FromHay    Origin = "hay"
	FromExtras Origin = "extras" // insects, nuts, seeds, minerals and the rest
)

// Origins lists them all.
func Origins() []Origin { return []Origin{FromMix, FromGreens, FromForage, FromHay, FromExtras} }

// freshFrom is the moisture, in per cent, from which a food counts as fresh:
// dried plants hold at most 15, fresh ones 70 or more.
const freshFrom = 50

// OriginOf is where a form counts when it is fed beside the mix.
func OriginOf(f *catalog.Form) Origin {
	switch f.Ingredient.Class {
	case catalog.Hay:
		return FromHay
	case catalog.Leaf, catalog.Flower, catalog.Root, catalog.Vegetable, catalog.Green, catalog.Fruit:
		if f.Figures[nutrient.Moisture].Mean >= freshFrom {
			return FromGreens
		}
		return FromForage
	}
	return FromExtras
}

// Served is a food with what a day of it comes to.
type Served struct {
	Index  int // in Document.Foods; -1 for a candidate that stands nowhere
	Food   Food
	Form   *catalog.Form // nil for the mix
	Origin Origin
	// Dose is what the group gets on one of its days, g; PerDay is the same
	// spread over all days. Of food at will both are what is eaten.
	Dose, PerDay serving.Range
	// Loose amounts are not known, but only bounded: their range counts like
	// a missing figure. The range of others is what weighing and measuring
	// leave open.
	Loose  bool
	ByNeed bool // a mix without an amount
	// Rests: it falls on no day of the week from the plan's day on, most often
	// because its time is yet to come. PerDay is nothing then, and the ledger
	// leaves it out; later weeks, lists and calendars hold it.
	Rests bool
	Why   string
}

// Name is what the food is called in documents.
func (s Served) Name() string {
	if s.Form == nil {
		return MixName
	}
	return s.Form.Ref()
}

// Resolve checks a document for one day. The mix is handed in as portions of
// any batch, and may be nil; it is left out of account when the document holds
// one itself.
func Resolve(d *Document, c *catalog.Catalogue, t *needs.Table, mix []analysis.Portion, day Day) (*Plan, error) {
	p := &Plan{Document: d, Catalogue: c, Table: t, Day: day, Mix: mix}
	for _, s := range serving.Spoons() {
		if s.Kind == d.Spoon || s.Kind == serving.US && d.Spoon == "" {
			p.spoon = s
		}
	}
	for _, step := range []func() error{p.lines, p.animals, p.foods, p.byNeed, p.spans, p.records} {
		if err := step(); err != nil {
			return nil, err
		}
	}
	return p, nil
}

// With resolves a changed document against the same catalogue, needs and mix,
// on the same day.
func (p *Plan) With(d *Document) (*Plan, error) {
	return Resolve(d, p.Catalogue, p.Table, p.Mix, p.Day)
}

// Copy returns a document with a list of foods of its own; the rest is shared
// and must not be changed.
func (d *Document) Copy() *Document {
	c := *d
	c.Foods = append([]Food(nil), d.Foods...)
	return &c
}

func (p *Plan) lines() error {
	if len(p.Document.Lines) > 0 {
		p.Mix = nil
		for i, l := range p.Document.Lines {
			at := fmt.Sprintf("line[%d]", i)
			f, err := p.form(at+".ingredient", l.Ingredient)
			if err != nil {
				return err
			}
			if l.Mass <= 0 {
				return &Problem{at, "the line has no amount", `write for example amount = "120 g"`}
			}
			p.Mix = append(p.Mix, analysis.Portion{Form: f, Mass: l.Mass})
		}
	}
	if serving.MassOf(p.Mix) > 0 {
		p.mix, p.bulk = serving.EnergyOf(p.Mix), serving.Bulk(p.Mix)
	}
	return nil
}

// form finds a form by a name.
func (p *Plan) form(at, name string) (*catalog.Form, error) {
	if name == "" {
		return nil, &Problem{at, "names no food", `write for example "kale/fresh"`}
	}
	f, err := find.Resolve(p.Catalogue, name)
	if err != nil {
		e := err.(*find.Error)
		return nil, &Problem{at, e.Message, e.Hint}
	}
	return f, nil
}

func (p *Plan) foods() error {
	for i, f := range p.Document.Foods {
		at := fmt.Sprintf("food[%d]", i)
		s := Served{Index: i, Food: f, Origin: FromMix}
		if f.Food != MixName {
			form, err := p.form(at+".food", f.Food)
			if err != nil {
				return err
			}
			s.Form, s.Origin = form, OriginOf(form)
		}
		if err := p.rhythm(at, s); err != nil {
			return err
		}
		if f.Most.Set {
			if _, _, _, err := p.grams(at+".most", s.Form, f.Most); err != nil {
				return err
			}
		}
		if !f.Given() {
			if s.Form != nil {
				p.Shelf = append(p.Shelf, s)
			}
			continue
		}
		if f.Until != 0 && f.Until < p.Day {
			continue
		}
		if err := p.serve(at, &s); err != nil {
			return err
		}
		if s.Rests = f.rests(p.Day); s.Rests {
			s.PerDay = exactly(0)
		}
		p.Foods = append(p.Foods, s)
	}
	return nil
}

// holds reports whether the food is part of the week at some time from a to b.
func (f Food) holds(a, b Day) bool {
	return (f.From == 0 || f.From <= b) && (f.Until == 0 || f.Until >= a)
}

// rests reports whether the food falls on no day of the week from a day on. One
// of every so many days counts all through its time.
func (f Food) rests(day Day) bool {
	if f.AtWill || f.Every > 0 {
		return !f.holds(day, day+6)
	}
	for d := range Day(7) {
		if f.On(day + d) {
			return false
		}
	}
	return true
}

func (p *Plan) rhythm(at string, s Served) error {
	f := s.Food
	switch {
	case f.Every > 0 && f.Days != 0:
		return &Problem{at + ".every", "the food has days of the week and a rhythm", "keep one: days, or every with from"}
	case f.Every > 0 && f.From == 0:
		return &Problem{at + ".every", "the rhythm has no first day", "write for example from = 2026-11-23"}
	case f.AtWill && (f.Days != 0 || f.Every > 0 || f.Amount.Set):
		return &Problem{at + ".at_will", "food that is always there has neither amount nor days", "leave amount, days and every out, or at_will"}
	case f.AtWill && s.Form == nil:
		return &Problem{at + ".at_will", "the mix is not given at will: selective eaters leave what is good for them", "give it an amount, or days without one"}
	case f.Until != 0 && f.Until < f.From:
		return &Problem{at + ".until", "the food ends before it begins", ""}
	case f.Times > 0 && len(f.At) > 0 && f.Times != len(f.At):
		return &Problem{at + ".at", fmt.Sprintf("there are %d times of day for %d feedings", len(f.At), f.Times), "make the two agree, or leave times out"}
	case s.Form == nil && f.Given() && serving.MassOf(p.Mix) == 0:
		return &Problem{at + ".food", "the mix is given, but there is none", `name its document with mix = "my-mix.toml", or write it as [[line]] tables`}
	case f.Given() && !f.AtWill && !f.Amount.Set && s.Form != nil:
		return &Problem{at, f.Food + " has no amount", `write for example amount = "2 tsp"`}
	}
	return nil
}

// Feedings is how many feedings a day's amount is split over.
func (f Food) Feedings() int { return max(f.Times, len(f.At), 1) }

// Share is the part of all days on which the food is given.
func (f Food) Share() float64 {
	switch {
	case f.AtWill:
		return 1
	case f.Every > 0:
		return 1 / float64(f.Every)
	}
	return float64(f.Days.Count()) / 7
}

// On reports whether the food is given on a day; food at will is there on
// every day of its time.
func (f Food) On(d Day) bool {
	switch {
	case !f.holds(d, d):
		return false
	case f.AtWill:
		return true
	case f.Every > 0:
		return (d-f.From)%Day(f.Every) == 0
	}
	return f.Days.On(d.Weekday())
}

// serve fills in what a day of a food comes to.
func (p *Plan) serve(at string, s *Served) error {
	if s.Food.AtWill {
		p.atWill(s)
		return nil
	}
	if !s.Food.Amount.Set {
		s.ByNeed = true // filled in once everything else is known
		return nil
	}
	dose, loose, why, err := p.grams(at+".amount", s.Form, s.Food.Amount)
	if err != nil {
		return err
	}
	if s.Food.Each {
		dose = times(dose, float64(len(p.Animals)))
	}
	s.Dose, s.Loose, s.Why = dose, loose, why
	s.PerDay = times(dose, s.Food.Share())
	return nil
}

// What an animal is taken to eat of hay that is always there, as a share of
// its body weight in a day. Assumed: gerbils and hamsters shred most of it for
// the nest, and nobody has weighed what they swallow.
const (
	atWillLow  = 0.002
	atWillHigh = 0.02
)

func (p *Plan) atWill(s *Served) {
	s.Loose = true
	low, high := s.Food.EatenLow.Grams(), s.Food.EatenHigh.Grams()
	if n := float64(len(p.Animals)); high > 0 {
		s.Dose = serving.Range{Mean: n * (low + high) / 2, HasMean: true, Low: n * low, High: n * high}
		s.Why = "what is eaten is taken from the document"
	} else {
		s.Dose = serving.Range{Mean: p.weight * (atWillLow + atWillHigh) / 2, HasMean: true, Low: p.weight * atWillLow, High: p.weight * atWillHigh}
		s.Why = "what is eaten is assumed: 0.2 to 2 % of the body weight a day"
	}
	s.PerDay = s.Dose
}

// times is a range with every end multiplied by k, which is not negative.
func times(r serving.Range, k float64) serving.Range {
	return serving.Range{Mean: float64(r.Mean * k), HasMean: r.HasMean, Low: float64(r.Low * k), High: float64(r.High * k)}
}

func exactly(v float64) serving.Range { return serving.Range{Mean: v, HasMean: true, Low: v, High: v} }

// byNeed fills in the mix that is given by need: what the animals' need for
// energy leaves after all that is fed beside it.
func (p *Plan) byNeed() error {
	other := serving.Range{HasMean: true}
	found := -1
	for i, s := range p.Foods {
		if s.ByNeed {
			if s.Rests {
				continue
			}
			if found >= 0 && !p.restsOne(found, i) {
				return &Problem{fmt.Sprintf("food[%d]", s.Index), "the mix is given by need in two places", "give one of them an amount, or join their days"}
			}
			if !p.Foods[i].Rests {
				found = i
			}
			continue
		}
		e := p.perGram(s)
		other.Mean += float64(e.Mean * s.PerDay.Mean)
		other.Low += float64(e.Low * s.PerDay.Low)
		other.High += float64(e.High * s.PerDay.High)
	}
	for i := range p.Foods {
		if s := &p.Foods[i]; s.ByNeed {
			if err := p.fillNeed(s, other); err != nil {
				return err
			}
		}
	}
	return nil
}

// restsOne lets the later of two lines of the mix rest when one ends before
// the other begins.
func (p *Plan) restsOne(i, j int) bool {
	a, b := &p.Foods[i], &p.Foods[j]
	switch {
	case a.Food.Until != 0 && a.Food.Until < b.Food.From:
		b.Rests = true
	case b.Food.Until != 0 && b.Food.Until < a.Food.From:
		a.Rests = true
	default:
		return false
	}
	return true
}

func (p *Plan) fillNeed(s *Served, other serving.Range) error {
	e := p.perGram(*s)
	if !e.HasMean || e.Mean <= 0 || e.Low <= 0 {
		return &Problem{fmt.Sprintf("food[%d]", s.Index), "the energy of the mix is not known, so how much of it meets the need is not either", `give it an amount, such as "10 g"`}
	}
	s.PerDay = serving.Range{HasMean: true, Mean: max(p.need.Mean-other.Mean, 0) / e.Mean,
		Low: max(p.need.Low-other.High, 0) / e.High, High: max(p.need.High-other.Low, 0) / e.Low}
	s.Dose = times(s.PerDay, 1/s.Food.Share())
	if s.Rests {
		s.PerDay = exactly(0)
	}
	s.Why = "what the need for energy leaves after all that is fed beside it"
	return nil
}

// perGram is the energy that a gram of a food brings, kcal.
func (p *Plan) perGram(s Served) serving.Range {
	if s.Form == nil {
		return p.mix.PerGram()
	}
	return serving.EnergyOf([]analysis.Portion{{Form: s.Form, Mass: nutrient.Gram}}).PerGram()
}

// spans checks times away and the changeover.
func (p *Plan) spans() error {
	for i, a := range p.Document.Away {
		at := fmt.Sprintf("away[%d]", i)
		switch {
		case a.From == 0 || a.To == 0:
			return &Problem{at, "a time away needs its first and its last day", "write from and to, as in from = 2026-12-19"}
		case a.To < a.From:
			return &Problem{at + ".to", "the time away ends before it begins", ""}
		case a.To-a.From > longestAway:
			return &Problem{at + ".to", fmt.Sprintf("%d days are too long a time away", a.To-a.From), fmt.Sprintf("%d days are the most; make several of it", longestAway)}
		}
	}
	if c := p.Document.Change; c != nil && c.From == 0 {
		return &Problem{"change", "the changeover has no first day", "write for example from = 2027-01-04"}
	}
	return nil
}

func (p *Plan) records() error {
	names := map[string]bool{}
	var known []string
	for _, a := range p.Document.Animals {
		names[a.Name] = true
		known = append(known, a.Name)
	}
	sort.Strings(known)
	who := func(at, name string) error {
		if names[name] {
			return nil
		}
		return &Problem{at, fmt.Sprintf("no animal is called %q", name), nearword.Hint(name, known, "known are "+strings.Join(known, ", "))}
	}
	for i, w := range p.Document.Weights {
		at := fmt.Sprintf("weight[%d]", i)
		if err := who(at+".animal", w.Animal); err != nil {
			return err
		}
		if w.Day == 0 || w.Mass <= 0 {
			return &Problem{at, "a weight needs a day and a mass", ""}
		}
		if w.Mass.Grams() > serving.MaxWeight {
			return &Problem{at + ".mass", fmt.Sprintf("%v is more than animals of these species weigh", w.Mass), "write grams"}
		}
	}
	for i, s := range p.Document.Sightings {
		at := fmt.Sprintf("sign[%d]", i)
		if s.Animal != "" {
			if err := who(at+".animal", s.Animal); err != nil {
				return err
			}
		}
		if _, ok := s.What.Info(); !ok || s.Day == 0 {
			return &Problem{at, "what was seen needs a day and a sign", ""}
		}
	}
	return p.bowls()
}

func short(v float64) string { return fmt.Sprintf("%.3g", v) }
