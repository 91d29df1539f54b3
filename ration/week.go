package ration

import (
	"math"
	"slices"

	"firlot/nutrient"
)

// Entry is one food on one day.
type Entry struct {
	Food     int // in Plan.Foods
	Amount   Amount
	Feedings int
	Each     Amount   // of one feeding; not set where the amount does not part evenly
	At       []string // times of day
	Way      Way
}

// Daily is what a day brings.
type Daily struct {
	Day     Day
	Entries []Entry
	MixFree bool // mix is fed in the week, but not on this day
	Away    int  // in Document.Away; -1: somebody is at home
}

// Week lists n days from one on. Amounts are for the group, as a keeper
// measures them out: the mix by need by [HandedGrams], everything else as the
// document has it.
func (p *Plan) Week(from Day, n int) []Daily {
	list := make([]Daily, n)
	mix := false
	for _, s := range p.Foods {
		mix = mix || s.Form == nil && s.Food.holds(from, from+Day(n)-1)
	}
	for i := range list {
		d := Daily{Day: from + Day(i), Away: p.away(from + Day(i)), MixFree: mix}
		for j, s := range p.Foods {
			if !s.Food.On(d.Day) {
				continue
			}
			if s.Form == nil {
				d.MixFree = false
			}
			e := Entry{Food: j, Amount: p.handed(s), Feedings: s.Food.Feedings(), At: s.Food.At, Way: s.Food.Way}
			e.Each = parted(e.Amount, e.Feedings)
			d.Entries = append(d.Entries, e)
		}
		list[i] = d
	}
	return list
}

func (p *Plan) away(d Day) int {
	for i, a := range p.Document.Away {
		if a.From <= d && d <= a.To {
			return i
		}
	}
	return -1
}

// handed is a day's amount for the group as it is measured out.
func (p *Plan) handed(s Served) Amount {
	switch {
	case s.Food.AtWill:
		return Amount{}
	case s.ByNeed:
		return Amount{Set: true, Mass: HandedGrams(s.Dose.Mean), Unit: Grams}
	}
	a := s.Food.Amount
	if s.Food.Each {
		a.Count *= float64(len(p.Animals))
		a.Mass *= nutrient.Mass(len(p.Animals))
	}
	return a
}

// HandedGrams is how finely a mix by need is measured out: in whole grams, and
// below ten in tenths, since half a gram is much of what a mouse eats.
func HandedGrams(g float64) nutrient.Mass {
	if g < 9.95 {
		return nutrient.Mass(math.Round(10*g)) * nutrient.Gram / 10
	}
	return wholeGrams(g)
}

func wholeGrams(g float64) nutrient.Mass { return nutrient.Mass(math.Round(g)) * nutrient.Gram }

// parted is one of n equal parts, where they come out as whole tenths of a
// gram, quarters of a spoon or pieces.
func parted(a Amount, n int) Amount {
	if !a.Set || n == 1 {
		return a
	}
	switch a.Unit {
	case Grams:
		if a.Mass%(nutrient.Mass(n)*nutrient.Gram/10) != 0 {
			return Amount{}
		}
		a.Mass /= nutrient.Mass(n)
	case Pieces:
		if math.Mod(a.Count, float64(n)) != 0 {
			return Amount{}
		}
		a.Count /= float64(n)
	default:
		if math.Mod(a.Count*4, float64(n)) != 0 {
			return Amount{}
		}
		a.Count /= float64(n)
	}
	return a
}

// Sitting is what somebody needs to know who feeds while the keeper is away.
type Sitting struct {
	Away   Away
	Days   []Daily
	Scales bool // something is weighed out, or two mixes are
}

// Sittings are the times away that are not over on the plan's day.
func (p *Plan) Sittings() []Sitting {
	var list []Sitting
	for _, a := range p.Document.Away {
		if a.To < p.Day {
			continue
		}
		s := Sitting{Away: a, Days: p.Week(a.From, int(a.To-a.From)+1)}
		for _, d := range s.Days {
			for _, e := range d.Entries {
				s.Scales = s.Scales || e.Amount.Unit == Grams && e.Amount.Set
			}
		}
		for _, x := range p.MixesOn(a.From, len(s.Days)) {
			s.Scales = s.Scales || x.Old > 0 && x.New > 0
		}
		list = append(list, s)
	}
	return list
}

// longestAway bounds a time away, in days.
const longestAway = 120

// ChangeDays is over how many days a mix is changed for another. Common
// practice, no source.
const ChangeDays = 10

// Shift is a day of a changeover, in whole grams for the group.
type Shift struct {
	Day      Day
	Old, New nutrient.Mass
	Share    float64 // of the new mix, 0 to 1
	Fed      bool    // mix is given on that day
}

// Changeover parts a day's whole grams between an old and a new mix over n
// days, the new one's share growing by the same every day; 0 days stands for
// ten. The two always add up to the day's grams. Common practice, no source.
func Changeover(from Day, n int, grams nutrient.Mass, fed func(Day) bool) []Shift {
	if n == 0 {
		n = ChangeDays
	}
	whole := wholeGrams(grams.Grams())
	list := make([]Shift, n)
	for i := range list {
		s := Shift{Day: from + Day(i), Share: float64(i+1) / float64(n), Fed: true}
		if fed != nil {
			s.Fed = fed(s.Day)
		}
		if s.Fed {
			s.part(whole)
		}
		list[i] = s
	}
	return list
}

// OneMix reports whether a day's grams are all of one mix, and whether that is
// the new one. What does not come to a gram is of the mix with the larger share.
func (s Shift) OneMix() (newOne, one bool) {
	if s.Old == 0 && s.New == 0 {
		return s.Share >= 0.5, true
	}
	return s.Old == 0, s.Old == 0 || s.New == 0
}

// part shares whole grams out by the day's share.
func (s *Shift) part(whole nutrient.Mass) {
	s.New = wholeGrams(float64(whole.Grams() * s.Share))
	s.Old = whole - s.New
}

// Ahead is how many days before a change of stage its changeover is shown.
const Ahead = 28

// Turn is why a mix is changed over.
type Turn struct {
	From   Day
	Days   int
	Animal int // in Plan.Animals, whose stage changes; -1: the document plans it
}

// Turning is the changeover that is going on or comes: the document's own unless
// it is over, or else that of the first animal whose age brings another stage
// within [Ahead] days.
func (p *Plan) Turning() (Turn, bool) {
	if c := p.Document.Change; c != nil && c.From != 0 {
		days := c.Days
		if days == 0 {
			days = ChangeDays
		}
		if p.Day < c.From+Day(days) {
			return Turn{c.From, days, -1}, true
		}
	}
	best, found := Turn{}, false
	for i, f := range p.Animals {
		if f.StageBy != "age" {
			continue
		}
		at := f.Animal.Born + Day(f.Stage.FromDays) // when the present stage began
		if p.Day-at >= ChangeDays || f.Age < f.Stage.FromDays || !f.grewInto() {
			if f.Next == nil || f.Next.Day-p.Day > Ahead {
				continue
			}
			at = f.Next.Day
		}
		if !found || at < best.From {
			best, found = Turn{at, ChangeDays, i}, true
		}
	}
	return best, found
}

// grewInto reports whether another stage of age comes before the animal's.
func (f Fed) grewInto() bool {
	for _, st := range f.Species.Stages {
		if st.ID != breedingStage && st.ToDays != 0 && st.ToDays == f.Stage.FromDays {
			return true
		}
	}
	return false
}

// Changeover is the days of [Plan.Turning], or nil.
func (p *Plan) Changeover() []Shift {
	if t, ok := p.Turning(); ok {
		return p.ChangeoverFrom(t.From, t.Days)
	}
	return nil
}

// ChangeoverFrom plans a changeover of the group's own mix: on each day what
// all its lines give together. Without a mix there is none.
func (p *Plan) ChangeoverFrom(from Day, n int) []Shift {
	if !slices.ContainsFunc(p.Foods, func(s Served) bool { return s.Form == nil }) {
		return nil
	}
	list := Changeover(from, n, 0, nil)
	for i := range list {
		p.fill(&list[i])
	}
	return list
}

// fill puts in what all lines of the mix give on the day of a shift.
func (p *Plan) fill(s *Shift) {
	grams := 0.0
	s.Fed = false
	for _, f := range p.Foods {
		if f.Form == nil && f.Food.On(s.Day) {
			s.Fed = true
			grams += f.Dose.Mean
		}
	}
	s.part(wholeGrams(grams))
}

// MixesOn says for each of n days from one on which mix is given, the old one
// before the changeover and the new one after it. It is nil where none goes on
// or is over by then, and where there is no mix: then there is one mix only.
func (p *Plan) MixesOn(from Day, n int) []Shift {
	t, ok := p.Turning()
	if !ok || t.From > from+Day(n)-1 || p.ChangeoverFrom(t.From, 1) == nil {
		return nil
	}
	list := make([]Shift, n)
	for i := range list {
		s := &list[i]
		s.Day = from + Day(i)
		s.Share = min(max(float64(s.Day-t.From+1)/float64(t.Days), 0), 1)
		p.fill(s)
	}
	return list
}
