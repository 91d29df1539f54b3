package web

import (
	"html/template"
	"net/http"
	"slices"
	"strconv"
	"strings"

	"firlot/catalog"
	"firlot/internal/chart"
	"firlot/nutrient"
	"firlot/ration"
)

// weekView is what a group gets on which days.
type weekView struct {
	feedPage
	Ribbon  template.HTML
	Keys    []knotKey
	Foods   []foodView
	Shelf   []foodView // on no day yet
	Add     foodView
	Choices []foodClass
	Away    []awayView
	Days    []dailyView
	Besides []string // what holds for all days
	Change  []shiftView
	Why     string // why the mix is changed over
	Planned bool   // by the keeper, and not by age
	From    ration.Day
	Before  string // the page of the week before
	After   string
	// Calendar is the address of the calendar feed.
	Calendar string
}

// knotKey explains a knot.
type knotKey struct {
	SVG  template.HTML
	Word string
}

// foodView is a line of the week with its form.
type foodView struct {
	I         int
	Ref, Name string
	Form      *catalog.Form
	Words     string // how much, how, when
	Dose      string // what a day of it comes to, where that is not as typed
	Count     string // typed
	Units     []choice
	Each      bool
	Days      []dayTick
	Every     string
	From      string
	Until     string
	Ways      []choice
	At        string
	Times     string
	Note      string
	AtWill    bool
	Mix       bool
	OnHand    string
	Pack      string
	Price     string
	Errors    map[string]string
	Open      bool
}

type dayTick struct {
	Name, Label, Full string
	On                bool
}

type foodClass struct {
	Name  string
	Foods []choice
}

type awayView struct {
	I                   int
	From, To, Who, Note string
	Now                 bool
}

// dailyView is a day in words.
type dailyView struct {
	Name, Date string
	Lines      []dayLine
	Turning    bool // one mix is changed over for another
	Free       bool
	Away       string
	Today      bool
}

// dayLine is one food of a day, or which mix is meant.
type dayLine struct {
	Text  string
	Mixes bool
}

type shiftView struct{ Day, Old, New string }

func (s *Server) week(q *request) error {
	f, err := s.feedingOf(q)
	if err != nil {
		return err
	}
	return f.quiet().showWeek(q, http.StatusOK, f.page("week"))
}

func (f *feeding) showWeek(q *request, status int, p feedPage) error {
	from := f.Day.Monday()
	if d, err := ration.ParseDay(q.URL.Query().Get("from")); err == nil {
		from = d.Monday()
	}
	v := f.weekView(p, from)
	if from > 7 {
		v.Before, v.After = v.Path("week")+"?from="+(from-7).String(), v.Path("week")+"?from="+(from+7).String()
	}
	return f.show(q, status, "week", v)
}

func (f *feeding) weekView(p feedPage, from ration.Day) weekView {
	v := weekView{feedPage: p, From: from}
	if f.Doc == nil {
		return v
	}
	for i, x := range f.Doc.Foods {
		fv := f.foodView(i, x)
		if x.Given() {
			v.Foods = append(v.Foods, fv)
		} else {
			v.Shelf = append(v.Shelf, fv)
		}
	}
	v.Add = f.foodView(-1, ration.Food{Way: ration.Dish})
	v.Choices = f.foodChoices()
	if v.Wrong != "" {
		v.typedFoods()
	}
	for i, a := range f.Doc.Away {
		v.Away = append(v.Away, awayView{i, a.From.String(), a.To.String(), a.Who, a.Note, a.From <= f.Day && f.Day <= a.To})
	}
	if f.Plan != nil {
		v.Ribbon = f.ribbon(from, 7)
		v.Days, v.Besides = f.daily(from, 7), f.besides()
		v.Change, v.Why, v.Planned = f.changeover()
		if !f.Away {
			v.Calendar = "http://" + f.s.Addr + v.Path("week.ics")
		}
	}
	for _, k := range ration.Ways() {
		v.Keys = append(v.Keys, knotKey{template.HTML(chart.KnotMark(chart.Knot(k))), f.w.T("feed_way_" + string(k))})
	}
	return v
}

// ribbon draws the days from one on.
func (f *feeding) ribbon(from ration.Day, n int) template.HTML {
	days := make([]chart.RibbonDay, n)
	week := f.Plan.Week(from, n)
	away := ""
	for i, d := range week {
		days[i] = chart.RibbonDay{Label: f.w.dayShort(d.Day), Under: strconv.Itoa(d.Day.Time().Day()) + "/" + strconv.Itoa(int(d.Day.Time().Month())), Now: d.Day == f.Day, Away: d.Away >= 0}
		if d.Away >= 0 && away == "" {
			away = f.w.T("feed_away_short", "Who", f.Doc.Away[d.Away].Who)
		}
	}
	var strands []chart.Strand
	var said []string
	for j, x := range f.Plan.Foods {
		s := chart.Strand{Name: upper(f.foodName(x.Food.Food)), Words: f.foodWords(x, false), Band: x.Form == nil, AtWill: x.Food.AtWill, Knot: chart.Knot(x.Food.Way)}
		var on []string
		for _, d := range week {
			is := slices.ContainsFunc(d.Entries, func(e ration.Entry) bool { return e.Food == j })
			s.On = append(s.On, is)
			if is {
				on = append(on, f.w.dayFull(d.Day))
			}
		}
		if x.Rests && len(on) == 0 {
			continue // its time is not this week
		}
		strands = append(strands, s)
		when := f.w.And(on)
		if x.Food.AtWill {
			when = f.w.T("feed_at_will")
		}
		said = append(said, s.Name+": "+when)
	}
	title := f.w.T("feed_ribbon_title", "Name", f.Group.Name)
	return both(func(width float64) string {
		return chart.Ribbon(days, strands, chart.RibbonOptions{Title: title, Desc: strings.Join(said, ". "), Width: width, Away: away})
	})
}

// foodWords says how much of a food and how, and with when also on which days.
func (f *feeding) foodWords(x ration.Served, when bool) string {
	var parts []string
	switch {
	case x.Food.AtWill:
		parts = append(parts, f.w.T("feed_at_will"))
	case x.ByNeed:
		parts = append(parts, f.w.T("feed_by_need", "Grams", f.w.two(x.Dose.Mean)))
	case x.Food.Each:
		parts = append(parts, f.w.T("feed_each_animal", "Amount", f.w.FeedAmount(x.Food.Amount)))
	default:
		parts = append(parts, f.w.FeedAmount(x.Food.Amount))
	}
	if x.Food.Way != "" && !x.Food.AtWill {
		parts = append(parts, f.w.T("feed_way_"+string(x.Food.Way)))
	}
	if n := x.Food.Feedings(); n > 1 {
		parts = append(parts, f.w.N("feed_in_feedings", n))
	}
	if when {
		parts = append(parts, f.when(x.Food))
	}
	return strings.Join(slices.DeleteFunc(parts, func(s string) bool { return s == "" }), ", ")
}

// when are the days of a food in words.
func (f *feeding) when(x ration.Food) string {
	switch {
	case x.AtWill:
		return ""
	case x.Every > 0:
		return f.w.N("feed_every", x.Every, "From", x.From.String())
	case x.Days == ration.EveryDay:
		return f.w.T("feed_every_day")
	}
	var list []string
	for _, d := range x.Days.List() {
		list = append(list, f.w.T("feed_dayfull_"+dayKey(d)))
	}
	return f.w.And(list)
}

// daily are days in words, for the sheets and for screen readers.
func (f *feeding) daily(from ration.Day, n int) []dailyView {
	var list []dailyView
	mixes := f.Plan.MixesOn(from, n)
	for i, d := range f.Plan.Week(from, n) {
		v := dailyView{Name: upper(f.w.dayFull(d.Day)), Date: d.Day.String(), Free: d.MixFree, Today: d.Day == f.Day}
		if d.Away >= 0 {
			v.Away = f.w.T("feed_away_short", "Who", f.Doc.Away[d.Away].Who)
		}
		last := -1 // line of the mix
		for _, e := range d.Entries {
			x := f.Plan.Foods[e.Food]
			if x.Food.AtWill { // said once, beside the days
				continue
			}
			v.Lines = append(v.Lines, dayLine{Text: f.entryWords(e)})
			if x.Form == nil {
				last = len(v.Lines)
			}
		}
		if v.Turning = mixes != nil && last >= 0; v.Turning {
			v.Lines = slices.Insert(v.Lines, last, dayLine{f.mixesWords(mixes[i]), true})
		}
		list = append(list, v)
	}
	return list
}

// mixesWords says which mix is given on a day, or how much of each.
func (f *feeding) mixesWords(s ration.Shift) string {
	switch newOne, one := s.OneMix(); {
	case one && newOne:
		return f.w.T("feed_mixes_new")
	case one:
		return f.w.T("feed_mixes_old")
	}
	return f.w.T("feed_mixes_both", "Old", f.w.Grams(s.Old)+"\u00a0g", "New", f.w.Grams(s.New)+"\u00a0g")
}

// entryWords is one food of a day, as somebody at the cage needs it.
func (f *feeding) entryWords(e ration.Entry) string {
	x := f.Plan.Foods[e.Food]
	s := upper(f.foodName(x.Food.Food))
	s += ": " + f.w.FeedAmount(e.Amount)
	if x.Form == nil && e.Amount.Unit == ration.Grams && e.Amount.Set {
		if spoons := f.inSpoons(e.Amount.Mass); spoons != "" {
			s += " (" + spoons + ")"
		}
	}
	if e.Way != "" {
		s += ", " + f.w.T("feed_way_"+string(e.Way))
	}
	if e.Feedings > 1 {
		s += "; " + f.w.N("feed_in_feedings", e.Feedings)
		if e.Each.Set {
			s += " " + f.w.T("feed_of_each", "Amount", f.w.FeedAmount(e.Each))
		}
	}
	if len(e.At) > 0 {
		s += ", " + f.w.And(e.At)
	}
	return s
}

// units are those that an amount may be typed in.
func (f *feeding) units() []ration.Unit {
	list := []ration.Unit{ration.Grams, ration.Teaspoons, ration.Tablespoons, ration.Pieces}
	if f.Doc != nil && f.Doc.OwnSpoon != nil {
		list = slices.Insert(list, 3, ration.OwnSpoons)
	}
	return list
}

// besides are what holds for all days: what the own spoon is, food that is
// always there, and what is noted of a food.
func (f *feeding) besides() []string {
	var list []string
	if text := f.ownSpoonWords(); text != "" {
		list = append(list, text)
	}
	for _, x := range f.Plan.Foods {
		name := upper(f.foodName(x.Food.Food))
		if x.Food.AtWill {
			list = append(list, name+": "+f.w.T("feed_at_will"))
		}
		if x.Food.Note != "" {
			list = append(list, name+": "+x.Food.Note)
		}
	}
	return list
}

func (w *words) dayShort(d ration.Day) string { return w.T("feed_day_" + dayKey(d.Weekday())) }
func (w *words) dayFull(d ration.Day) string  { return w.T("feed_dayfull_" + dayKey(d.Weekday())) }

// foodView is a food with its form.
func (f *feeding) foodView(i int, x ration.Food) foodView {
	v := foodView{I: i, Ref: x.Food, Name: upper(f.foodName(x.Food)), Mix: x.Food == ration.MixName, Each: x.Each, AtWill: x.AtWill, Note: x.Note,
		From: x.From.String(), Until: x.Until.String(), At: strings.Join(x.At, ", "), Errors: map[string]string{}}
	if !v.Mix {
		v.Form = f.s.Catalogue.Form(x.Food)
	}
	unit := ration.Grams
	if x.Amount.Set {
		unit = x.Amount.Unit
		v.Count = f.w.typed(x.Amount.Count)
		if unit == ration.Grams {
			v.Count = f.w.typed(x.Amount.Mass.Grams())
		}
	}
	for _, u := range f.units() {
		v.Units = append(v.Units, choice{string(u), f.w.T("feed_unit_" + string(u)), u == unit})
	}
	for _, d := range ration.EveryDay.List() {
		k := dayKey(d)
		v.Days = append(v.Days, dayTick{k, f.w.T("feed_day_" + k), f.w.T("feed_dayfull_" + k), x.Days.On(d)})
	}
	for _, way := range ration.Ways() {
		v.Ways = append(v.Ways, choice{string(way), f.w.T("feed_way_" + string(way)), way == x.Way})
	}
	if x.Every > 0 {
		v.Every = strconv.Itoa(x.Every)
	}
	if x.Times > 1 {
		v.Times = strconv.Itoa(x.Times)
	}
	v.OnHand, v.Pack, v.Price = typedMass(f.w, x.OnHand), typedMass(f.w, x.Pack), f.w.typedPointer(x.Price)
	if f.Plan != nil {
		for _, s := range f.Plan.Foods {
			if s.Index == i {
				v.Words = f.foodWords(s, true)
				if s.Dose.HasMean && (s.Food.Amount.Unit != ration.Grams || s.ByNeed || s.Food.AtWill) {
					v.Dose = f.w.T("feed_dose", "Grams", f.w.rangeWords(s.Dose, "g"))
				}
			}
		}
	}
	return v
}

func typedMass(w *words, m nutrient.Mass) string {
	if m == 0 {
		return ""
	}
	return w.typed(m.Grams())
}

// besideClasses are the classes of food that are fed beside a mix, in the
// order of the list.
var besideClasses = []catalog.Class{catalog.Green, catalog.Vegetable, catalog.Fruit, catalog.Leaf, catalog.Flower, catalog.Root, catalog.Hay, catalog.Insect, catalog.Nut, catalog.Oilseed, catalog.SmallSeed, catalog.Millet}

// foodChoices are the foods that can be added, by class.
func (f *feeding) foodChoices() []foodClass {
	var list []foodClass
	if f.Portions != nil && !slices.ContainsFunc(f.Doc.Foods, func(x ration.Food) bool { return x.Food == ration.MixName }) {
		list = append(list, foodClass{f.w.T("feed_class_mix"), []choice{{ration.MixName, f.w.T("feed_the_mix"), true}}})
	}
	for _, c := range append(besideClasses, catalog.Class("")) {
		one := foodClass{Name: f.w.T("feed_class_rest")}
		if c != "" {
			one.Name = f.w.Class(c)
		}
		for _, form := range f.s.Catalogue.Forms() {
			if k := form.Ingredient.Class; k == c || c == "" && !slices.Contains(besideClasses, k) {
				one.Foods = append(one.Foods, choice{form.Ref(), f.w.Form(form), false})
			}
		}
		slices.SortStableFunc(one.Foods, func(a, b choice) int { return strings.Compare(strings.ToLower(a.Label), strings.ToLower(b.Label)) })
		if len(one.Foods) > 0 {
			list = append(list, one)
		}
	}
	return list
}

// changeover is the change to another mix that is planned or that a life stage
// brings, day by day, and why.
func (f *feeding) changeover() (list []shiftView, why string, planned bool) {
	if t, ok := f.Plan.Turning(); ok && t.Animal >= 0 {
		a := f.Plan.Animals[t.Animal]
		why = f.w.T("feed_change_stage", "Name", a.Animal.Name, "Day", t.From.String())
	} else if c := f.Doc.Change; c != nil {
		planned = true
		why = f.w.T("feed_change_planned", "Mix", nameOr(c.Mix, f.w.T("feed_another_mix")), "Day", c.From.String())
	}
	for _, x := range f.Plan.Changeover() {
		if x.Fed {
			list = append(list, shiftView{f.w.dayFull(x.Day) + " " + x.Day.String(), f.w.Grams(x.Old) + "\u00a0g", f.w.Grams(x.New) + "\u00a0g"})
		}
	}
	return list, why, planned
}
