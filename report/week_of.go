package report

import (
	"slices"

	"firlot/catalog"
	"firlot/nutrient"
	"firlot/ration"
)

// WeekOf reports a plan with its ledger. Mends and shopping are added by
// [Week.Mended] and [Week.Bought].
func WeekOf(p *ration.Plan, l *ration.Ledger) Week {
	w := Week{Title: p.Document.Title, Day: p.Day.String(), NeedKcal: rangeOf(p.Need()),
		Animals: []WeekAnimal{}, Foods: []WeekFood{}, Shelf: []string{}, Accounts: []WeekAccount{}, Shortages: []WeekShortage{},
		Bowls: []WeekBowl{}, Advice: []WeekAdvice{}, Notes: []WeekNote{}}
	for _, t := range p.Trends() {
		a := animalOf(p.Animals[t.Animal], t)
		a.MixG = rangeOf(p.MixOf(t.Animal))
		w.Animals = append(w.Animals, a)
	}
	for _, s := range p.Foods {
		w.Foods = append(w.Foods, foodOf(s))
	}
	for _, s := range p.Shelf {
		w.Shelf = append(w.Shelf, s.Form.Ref())
	}
	w.Practice, w.OwnSpoon = practiceOf(p), spoonOf(p.Document.OwnSpoon)
	w.Days = daysOf(p, p.Week(p.Day.Monday(), 7))
	for _, a := range l.Accounts {
		w.Accounts = append(w.Accounts, accountOf(p, a))
	}
	for _, s := range l.Shortages() {
		w.Shortages = append(w.Shortages, WeekShortage{string(s.Target.Nutrient), string(s.Target.Per), string(s.Verdict), string(s.Row.Open), Number(s.Row.Ratio()), Number(s.Row.Known)})
	}
	for _, f := range p.Feedings() {
		w.Bowls = append(w.Bowls, bowlOf(f))
	}
	for _, a := range p.Advice() {
		w.Advice = append(w.Advice, WeekAdvice{a.ID, a.Text, a.Why, a.Vet})
	}
	w.Changeover = turnOf(p)
	for _, s := range p.Sittings() {
		w.Away = append(w.Away, WeekAway{s.Away.From.String(), s.Away.To.String(), s.Away.Who, daysOf(p, s.Days)})
	}
	for _, n := range l.Notes {
		w.Notes = append(w.Notes, WeekNote{n.ID, n.Text, string(n.How)})
	}
	return w
}

func spoonOf(o *ration.OwnSpoon) *WeekSpoon {
	if o == nil {
		return nil
	}
	out := &WeekSpoon{Name: o.Name}
	if o.Holds > 0 {
		out.MixG = num(o.Holds.Grams())
	}
	if o.ML > 0 {
		out.ML = num(o.ML)
	}
	return out
}

func turnOf(p *ration.Plan) *WeekTurn {
	turn, ok := p.Turning()
	shifts := p.ChangeoverFrom(turn.From, turn.Days)
	if !ok || len(shifts) == 0 {
		return nil
	}
	out := &WeekTurn{}
	if turn.Animal >= 0 {
		out.Animal = p.Animals[turn.Animal].Animal.Name
	}
	for _, s := range shifts {
		out.Days = append(out.Days, WeekShift{s.Day.String(), grams(s.Old), grams(s.New), s.Fed})
	}
	return out
}

func grams(m nutrient.Mass) Number { return Number(m.Grams()) }

func animalOf(f ration.Fed, t ration.Trend) WeekAnimal {
	a := WeekAnimal{Name: f.Animal.Name, Species: f.Species.ID, Stage: f.Stage.ID, StageBy: f.StageBy, Breeding: string(f.Animal.Breeding),
		WeightG: Number(f.Weight), Weighed: f.Weighed.String(), NeedKcal: rangeOf(f.Need), Times: Number(f.Times), Share: Number(f.Share),
		Trend: WeekTrend{Runs: string(t.Runs), Weighings: t.N, LostMonth: Number(t.Lost), LostWeek: Number(t.Week), Fast: t.Fast}}
	if f.Age >= 0 {
		a.AgeDays = &f.Age
	}
	if t.HasSlope {
		a.Trend.GramsWeek = num(t.Slope)
	}
	if t.HasInterval {
		a.Trend.Low, a.Trend.High = num(t.Low), num(t.High)
	}
	if n := f.Next; n != nil {
		a.Next = &WeekStage{Day: n.Day.String(), Stage: n.To.ID, Windows: []WeekChange{}}
		for _, c := range n.Windows {
			x := WeekChange{Nutrient: string(c.Nutrient)}
			if c.Was != nil {
				x.WasMin, x.WasMax = bound(c.Was.Min), bound(c.Was.Max)
			}
			if c.Is != nil {
				x.IsMin, x.IsMax = bound(c.Is.Min), bound(c.Is.Max)
			}
			a.Next.Windows = append(a.Next.Windows, x)
		}
	}
	return a
}

func bound(v *float64) *Number {
	if v == nil {
		return nil
	}
	return num(*v)
}

func foodOf(s ration.Served) WeekFood {
	return WeekFood{Food: s.Name(), Name: nameOf(s.Form), Origin: string(s.Origin), Days: s.Food.Days.Names(), Every: s.Food.Every,
		From: s.Food.From.String(), Until: s.Food.Until.String(), AtWill: s.Food.AtWill, ByNeed: s.ByNeed, Rests: s.Rests, DoseG: rangeOf(s.Dose), DayG: rangeOf(s.PerDay), Loose: s.Loose, Why: s.Why}
}

func nameOf(f *catalog.Form) string {
	if f == nil {
		return ration.MixName
	}
	return f.Name("en")
}

func practiceOf(p *ration.Plan) *WeekPractice {
	c, given := p.Practice()
	if c == nil {
		return nil
	}
	return &WeekPractice{Number(c.Tablespoons * 2), rangeOf(c.Grams), rangeOf(given), "common practice, no source"}
}

func daysOf(p *ration.Plan, list []ration.Daily) []WeekDay {
	out := []WeekDay{}
	for _, d := range list {
		day := WeekDay{Day: d.Day.String(), MixFree: d.MixFree, Entries: []WeekEntry{}}
		for _, e := range d.Entries {
			x := WeekEntry{Food: p.Foods[e.Food].Name(), Name: nameOf(p.Foods[e.Food].Form), Feedings: e.Feedings, At: e.At, Way: string(e.Way)}
			if e.Amount.Set {
				x.Amount, x.Unit = num(countOf(e.Amount)), string(e.Amount.Unit)
			}
			if e.Each.Set {
				x.Each = num(countOf(e.Each))
			}
			day.Entries = append(day.Entries, x)
		}
		out = append(out, day)
	}
	return out
}

// countOf is an amount in its unit.
func countOf(a ration.Amount) float64 {
	if a.Unit == ration.Grams {
		return a.Mass.Grams()
	}
	return a.Count
}

func accountOf(p *ration.Plan, a ration.Account) WeekAccount {
	out := WeekAccount{Species: a.Species.ID, Stage: a.Stage.ID, Animals: []string{}, Rows: []WeekRow{}, Limits: []WeekLimit{}}
	for _, i := range a.Animals {
		out.Animals = append(out.Animals, p.Animals[i].Animal.Name)
	}
	for _, r := range a.Rows {
		row := WeekRow{Nutrient: string(r.Nutrient), Per: string(r.Per), Unit: r.Unit, By: string(r.By), Least: bound(r.Least), Most: bound(r.Most),
			Got: rangeOf(r.Got), Known: Number(r.Known), Parts: []WeekPart{}, Verdict: string(r.Verdict), Open: string(r.Open), Evidence: string(r.How),
			Source: r.Window.Source, StandsIn: r.Window.StandsIn}
		for _, q := range r.Parts {
			if q.Fed {
				row.Parts = append(row.Parts, WeekPart{string(q.Origin), Number(q.Amount), Number(q.Known)})
			}
		}
		out.Rows = append(out.Rows, row)
	}
	for _, l := range a.Limits {
		out.Limits = append(out.Limits, WeekLimit{l.ID, l.Name, Number(l.Value), Number(l.Most), l.Unit, string(l.Verdict), string(l.Open), l.Source, string(l.How), l.Note, l.StandIn})
	}
	return out
}

func bowlOf(f ration.Feeding) WeekBowl {
	b := WeekBowl{Day: f.Bowl.Day.String(), Food: f.Bowl.Food, OfferedG: grams(f.Bowl.Offered)}
	if f.Known {
		b.EatenG, b.Left = num(f.Eaten.Grams()), num(f.Part)
	}
	for _, k := range f.Kinds {
		b.Kinds = append(b.Kinds, WeekKind{k.Form.Ref(), grams(k.Offered), grams(k.Left), Number(k.Electivity), Number(k.Alpha), k.Avoided})
	}
	for i, v := range f.Offered {
		g := WeekGot{Nutrient: string(v.Measure.Nutrient), Unit: string(v.Measure.Unit())}
		if v.HasMean {
			g.Offered = num(v.Mean)
		}
		if f.Got[i].HasMean {
			g.Eaten = num(f.Got[i].Mean)
		}
		b.Figures = append(b.Figures, g)
	}
	return b
}

// Mended adds a mend.
func (w *Week) Mended(m *ration.Mend) {
	x := WeekMend{Targets: []string{}, Found: m.Found, Proved: m.Proved, Light: m.Lightest, TooMany: m.Found && !m.Sensible(), Tried: m.Tried, Adds: []WeekAdd{}, Against: m.Against}
	for _, t := range m.Targets {
		x.Targets = append(x.Targets, t.String())
	}
	for _, c := range m.Changes {
		a := WeekAdd{Food: c.Form.Ref(), Name: c.Form.Name("en"), Grams: Number(c.Grams), Uncommon: c.Uncommon, Doses: []WeekDose{}, Cautions: cautionsOf(c.Form)}
		for _, l := range c.Lines {
			a.Doses = append(a.Doses, WeekDose{Number(countOf(l.Amount)), string(l.Amount.Unit), l.Days.Names()})
		}
		x.Adds = append(x.Adds, a)
	}
	w.Mends = append(w.Mends, x)
}

// cautionsOf are a food's cautions, and what holds for a week's worth of a
// mineral feed.
func cautionsOf(f *catalog.Form) []string {
	if f.Ingredient.Class != catalog.MineralFeed {
		return f.Cautions
	}
	return append(slices.Clone(f.Cautions), "A week's worth at once is left or too much: bind it to the week's mix.")
}

// Bought adds a shopping list.
func (w *Week) Bought(p *ration.Plan, l ration.List) {
	out := &WeekShopping{From: l.From.String(), Weeks: l.Weeks, Lines: []WeekBuy{}, Cost: Number(l.Cost), All: l.All}
	for _, c := range l.Lines {
		b := WeekBuy{Food: p.Foods[c.Food].Name(), NeedG: grams(c.Need), HaveG: grams(c.Have), BuyG: grams(c.Buy), Packs: c.Packs,
			PackG: grams(c.Pack), Fresh: c.Fresh, Loose: c.Loose}
		if c.Cost != nil {
			b.Cost = num(*c.Cost)
		}
		out.Lines = append(out.Lines, b)
	}
	w.Shopping = out
}
