package web

import (
	"strconv"

	"firlot/internal/calendar"
	"firlot/internal/store"
	"firlot/nutrient"
	"firlot/ration"
)

// sheetView is a sheet of paper: for the fridge, for who feeds meanwhile, for
// the shop.
type sheetView struct {
	feedPage
	weekView
	Animals  []string
	Always   []string
	Turn     string // why there are two mixes
	Sittings []sittingView
	Vet      bool
	Weeks    int
	Lines    []purchaseView
	Cost     string
}

type sittingView struct {
	From, To, Who, Note string
	Days                []dailyView
	Scales              bool
}

type purchaseView struct {
	Name, Need, Have, Buy, Cost string
	Notes                       []string
	None                        bool // nothing to buy
	Made                        bool // the mix is made
}

// sheetAnimals are the animals with what tells them apart.
func (f *feeding) sheetAnimals() []string {
	var list []string
	for _, a := range f.Plan.Animals {
		s := a.Animal.Name
		if a.Weighed != 0 {
			s += ", " + f.w.T("feed_weighed", "Grams", f.w.Plain(a.Weight), "Day", a.Weighed.String())
		}
		if a.Animal.Note != "" {
			s += ": " + a.Animal.Note
		}
		list = append(list, s)
	}
	return list
}

func (f *feeding) sittings() []sittingView {
	var list []sittingView
	for _, x := range f.Plan.Sittings() {
		v := sittingView{From: x.Away.From.String(), To: x.Away.To.String(), Who: x.Away.Who, Note: x.Away.Note, Scales: x.Scales}
		v.Days = f.daily(x.Away.From, int(x.Away.To-x.Away.From)+1)
		list = append(list, v)
	}
	return list
}

const (
	usualWeeks = 4
	mostWeeks  = 52
)

// turnWords say that the mix is changed over on days that stand on a sheet, and
// why.
func (f *feeding) turnWords(days []dailyView) string {
	for _, d := range days {
		if d.Turning {
			_, why, _ := f.changeover()
			return f.w.T("feed_mixes_lead") + " " + why
		}
	}
	return ""
}

// shopping is what the next weeks take.
func (f *feeding) shopping(q *request, v *sheetView) error {
	n, err := strconv.Atoi(q.URL.Query().Get("weeks"))
	if err != nil || n < 1 || n > mostWeeks {
		n = usualWeeks
	}
	v.Weeks = n
	shelf, name, err := f.shelf(q)
	if err != nil {
		return err
	}
	l := f.Plan.ShoppingFrom(f.Day, n, shelf)
	for _, c := range l.Lines {
		v.Lines = append(v.Lines, f.purchase(c, name))
	}
	switch {
	case l.All:
		v.Cost = f.w.T("feed_buy_cost", "Cost", f.w.Num(l.Cost, 2))
	case l.Cost > 0:
		v.Cost = f.w.T("feed_buy_cost_part", "Cost", f.w.Num(l.Cost, 2))
	default:
		v.Cost = f.w.T("feed_buy_no_price")
	}
	return nil
}

// shelf is what the shelf of the group's mix says of its foods, and its name;
// nil without one, or where the document holds its mix itself.
func (f *feeding) shelf(q *request) (map[string]ration.Shelved, string, error) {
	if f.Mix == nil || f.Mix.Shelf == "" || len(f.Doc.Lines) > 0 {
		return nil, "", nil
	}
	sh, err := f.s.Store.Shelf(q.Context(), f.Mix.Shelf)
	if err != nil {
		return nil, "", err
	}
	mass := func(mg *int64) *nutrient.Mass {
		if mg == nil {
			return nil
		}
		m := nutrient.Mass(*mg)
		return &m
	}
	items := map[string]ration.Shelved{}
	for _, it := range sh.Items {
		x := ration.Shelved{Have: mass(it.OnHand), Price: it.Price, PackCost: it.PackCost}
		if m := mass(it.PackMg); m != nil {
			x.Pack = *m
		}
		items[it.Ref] = x
	}
	for _, x := range f.Portions { // a keeper's own food goes by its id alone
		if own, ok := items[x.Form.Ingredient.ID]; ok {
			items[x.Form.Ref()] = own
		}
	}
	return items, sh.Name, nil
}

// told says which figures of a line are from where.
func (f *feeding) told(c ration.Purchase, shelf string) []string {
	if c.Buy == 0 { // what it costs is no matter
		c.PackBy, c.PriceBy = ration.ByNobody, ration.ByNobody
	}
	by := map[ration.Told][]string{}
	for _, x := range []struct {
		by  ration.Told
		key string
	}{{c.HaveBy, "feed_buy_told_have"}, {c.PackBy, "feed_buy_told_pack"}, {c.PriceBy, "feed_buy_told_price"}} {
		by[x.by] = append(by[x.by], f.w.T(x.key))
	}
	var list []string
	if what := by[ration.ByDocument]; what != nil {
		list = append(list, f.w.T("feed_buy_by_week", "What", f.w.And(what)))
	}
	if what := by[ration.ByShelf]; what != nil {
		list = append(list, f.w.T("feed_buy_by_shelf", "What", f.w.And(what), "Shelf", shelf))
	}
	return list
}

func (f *feeding) purchase(c ration.Purchase, shelf string) purchaseView {
	w := f.w
	name := f.w.T("feed_the_mix")
	if c.Form != nil {
		name = f.w.Form(c.Form)
	}
	v := purchaseView{Name: upper(name), Need: w.kitchen(c.Need.Grams()), Have: w.kitchen(c.Have.Grams()), None: c.Buy == 0, Made: c.Form == nil}
	if c.HaveBy == ration.ByNobody {
		v.Have = w.T("feed_none_known")
	}
	switch {
	case c.Buy == 0:
		v.Buy = w.T("feed_buy_none")
	case c.Form == nil:
		v.Buy = w.T("feed_buy_make", "Mass", w.kitchen(c.Buy.Grams()))
	case c.Packs > 0:
		v.Buy = w.N("feed_buy_packs", c.Packs, "Pack", w.kitchen(c.Pack.Grams()))
	default:
		v.Buy = w.kitchen(c.Buy.Grams())
	}
	if c.Cost != nil && c.Buy > 0 {
		v.Cost = w.Num(*c.Cost, 2)
	}
	if c.Fresh && c.Buy > 0 {
		v.Notes = append(v.Notes, w.T("feed_buy_fresh"))
	}
	if c.Loose {
		v.Notes = append(v.Notes, w.T("feed_buy_loose"))
	}
	if c.ToMix > 0 {
		v.Notes = append(v.Notes, w.T("feed_buy_to_mix", "Mass", w.kitchen(c.ToMix.Grams())))
	}
	v.Notes = append(v.Notes, f.told(c, shelf)...)
	return v
}

// kitchen writes grams, and kilograms from a thousand on.
func (w *words) kitchen(g float64) string {
	if g >= 1000 {
		return w.Short(g/1000) + "\u00a0kg"
	}
	return w.two(g) + "\u00a0g"
}

// weekCalendar is the week as a calendar, to be kept or to be followed.
func (s *Server) weekCalendar(q *request) error {
	f, err := s.feedingOf(q)
	if err != nil {
		return err
	}
	if f.Plan == nil {
		return store.ErrNotFound
	}
	text := calendar.Text(f.Plan, calendar.Options{Name: f.w.T("feed_ribbon_title", "Name", f.Group.Name), Group: string(f.Group.ID), Stamp: s.Clock(), Words: f.calendarWords()})
	q.w.Header().Set("Content-Type", "text/calendar; charset=utf-8")
	q.w.Header().Set("Content-Disposition", `inline; filename="firlot-week.ics"`)
	_, err = q.w.Write(text)
	return err
}

// calendarWords are the words of a calendar in the reader's language.
func (f *feeding) calendarWords() calendar.Words {
	w := f.w
	return calendar.Words{
		Food:   func(s ration.Served) string { return upper(f.foodName(s.Food.Food)) },
		Amount: w.FeedAmount,
		Way: func(way ration.Way) string {
			if way == "" {
				return ""
			}
			return w.T("feed_way_" + string(way))
		},
		Feedings: func(n int) string { return w.N("feed_in_feedings", n) },
		Weigh:    w.T("feed_cal_weigh"),
		Stage: func(animal string, c ration.StageChange) (string, string) {
			return w.T("feed_cal_stage", "Name", animal, "Stage", w.Stage(c.To)), w.T("feed_change_hint")
		},
		Shift: func(s ration.Shift) string {
			return w.T("feed_cal_shift", "Old", w.Grams(s.Old)+"\u00a0g", "New", w.Grams(s.New)+"\u00a0g")
		},
		Away: func(a ration.Away) string { return w.T("feed_away_short", "Who", a.Who) },
		Vet:  w.T("feed_vet"),
	}
}
