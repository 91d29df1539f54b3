package web

import (
	"html/template"
	"math"
	"net/http"
	"slices"
	"strconv"

	"firlot/analysis"
	"firlot/needs"
	"firlot/nutrient"
	"firlot/ration"
	"firlot/serving"
)

// portionView is how much of the mix a group gets.
type portionView struct {
	feedPage
	Lead      string
	ByWeek    string // what the week's plan gives, where that differs
	Rows      []portionRow
	All, Each *portionRow // for all, and for all at one feeding
	Feedings  int
	Spoons    []choice
	SpoonName string
	Tea       bool
	Own       string // grams of the keeper's own spoon
	OwnName   string // and what it is called
	Needs     []needHow
	Energy    []string
	Bulk      []string
	Practice  []string
	Husks     string
}

type portionRow struct {
	Name, About, Need, Grams, Spoons, Tea string
}

// needHow is a formula with where it comes from.
type needHow struct {
	Text   string
	Source string
	How    string
	Note   string
}

// mostSpoon is more than a spoon holds, g.
const mostSpoon = 500

func spoonSetting(f *feeding) string { return "spoon-" + string(f.Group.ID) }

// spoon is what the keeper measures with: the document's kind, or an own one
// that was weighed.
func (f *feeding) spoon(q *request) (serving.Spoon, error) {
	text, err := f.s.Store.Setting(q.Context(), spoonSetting(f))
	if err != nil {
		return serving.Spoon{}, err
	}
	if g, err := strconv.ParseFloat(text, 64); err == nil && g > 0 && g <= mostSpoon {
		if o := f.ownSpoon(); o.Holds > 0 { // what the document says now
			g = o.Holds.Grams()
		}
		return serving.Spoon{Kind: serving.Own, Grams: g}, nil
	}
	list := serving.Spoons()
	if f.Doc != nil {
		for _, s := range list {
			if s.Kind == f.Doc.Spoon {
				return s, nil
			}
		}
	}
	return list[0], nil
}

func (s *Server) portion(q *request) error {
	f, err := s.feedingOf(q)
	if err != nil {
		return err
	}
	return f.showPortion(q, http.StatusOK, f.page("portion"))
}

func (f *feeding) showPortion(q *request, status int, p feedPage) error {
	v := portionView{feedPage: p, Feedings: 1}
	spoon, err := f.spoon(q)
	if err != nil {
		return err
	}
	f.spoonChoices(&v, spoon)
	if f.Plan != nil && f.Portions != nil {
		if err := f.portions(&v, spoon); err != nil {
			return err
		}
	}
	return f.show(q, status, "portion", v)
}

func (f *feeding) spoonChoices(v *portionView, spoon serving.Spoon) {
	for _, k := range []serving.Kind{serving.US, serving.Metric, serving.Australian, serving.Own} {
		v.Spoons = append(v.Spoons, choice{string(k), f.w.T("feed_spoon_" + string(k)), k == spoon.Kind})
	}
	v.SpoonName = f.w.T("feed_spoons_of_" + string(spoon.Kind))
	if o := f.ownSpoon(); o.Holds > 0 {
		v.Own = f.w.typed(o.Holds.Grams())
	} else if spoon.Kind == serving.Own {
		v.Own = f.w.typed(spoon.Grams)
	}
	v.OwnName = f.ownSpoon().Name
	v.Tea = spoon.Teaspoon > 0
	if typed, ok := v.Typed["own"]; ok {
		v.Own = typed
	}
	if typed, ok := v.Typed["own_name"]; ok {
		v.OwnName = typed
	}
}

// mixFood is the week's line of the mix, or nil.
func (f *feeding) mixFood() *ration.Served {
	for i := range f.Plan.Foods {
		if x := &f.Plan.Foods[i]; x.Form == nil && !x.Rests {
			return x
		}
	}
	return nil
}

func (f *feeding) portions(v *portionView, spoon serving.Spoon) error {
	if m := f.mixFood(); m != nil {
		v.Feedings = m.Food.Feedings()
	}
	var total serving.Range
	var first *serving.Portion
	total.HasMean = true
	for _, a := range f.Plan.Animals {
		p, err := serving.Of(f.Portions, serving.Ask{Species: a.Species, Weight: a.Weight, Animals: 1, Feedings: 1, Spoon: spoon, Need: a.Need})
		if err != nil {
			return f.wrong(&ration.Problem{Message: err.Error()})
		}
		if first == nil {
			first = p
		}
		v.Rows = append(v.Rows, f.portionRow(a, p))
		g := p.Animal.Grams
		total = serving.Range{Mean: total.Mean + g.Mean, HasMean: total.HasMean && g.HasMean, Low: total.Low + g.Low, High: total.High + g.High}
	}
	all := f.amountRow(f.w.N("feed_all_animals", len(v.Rows)), spoon.Of(total, first.Spoon))
	v.All = &all
	n := float64(v.Feedings)
	part := serving.Range{Mean: total.Mean / n, HasMean: total.HasMean, Low: total.Low / n, High: total.High / n}
	each := f.amountRow(f.w.N("feed_each_feeding", v.Feedings), spoon.Of(part, first.Spoon))
	v.Each = &each
	if len(v.Rows) == 1 {
		v.All = nil
	}
	if v.Feedings == 1 {
		v.Each = nil
	}
	f.portionLead(v, total, spoon.Of(total, first.Spoon))
	f.needHows(v)
	f.energyHow(v, first)
	f.bulkHow(v, first, spoon)
	f.practice(v, total, first)
	return nil
}

func (f *feeding) portionLead(v *portionView, total serving.Range, a serving.Amount) {
	if !total.HasMean {
		v.Lead = f.w.T("feed_portion_unknown")
		return
	}
	v.Lead = f.w.N("feed_portion_lead", len(v.Rows), "Grams", f.w.two(total.Mean), "Spoons", f.w.two(a.Tablespoons.Mean), "Kind", v.SpoonName)
	m := f.mixFood()
	if m == nil || !m.PerDay.HasMean {
		return
	}
	if m.ByNeed {
		v.ByWeek = f.w.T("feed_portion_by_need", "Grams", f.w.two(m.PerDay.Mean), "Dose", f.w.rangeWords(m.Dose, "g"))
	} else {
		v.ByWeek = f.w.T("feed_portion_by_week", "Grams", f.w.two(m.PerDay.Mean), "Dose", f.w.rangeWords(m.Dose, "g"))
	}
}

func (f *feeding) portionRow(a ration.Fed, p *serving.Portion) portionRow {
	r := f.amountRow(a.Animal.Name, p.Animal)
	r.Need = f.w.rangeWords(p.Need, "kcal")
	if a.Weighed != 0 {
		r.About = f.w.T("feed_weighed", "Grams", f.w.Plain(a.Weight), "Day", a.Weighed.String())
	} else {
		r.About = f.w.T("feed_never_weighed", "Grams", f.w.Short(a.Weight))
	}
	if a.Times != 1 {
		r.About += "; " + f.w.T("feed_times", "Times", f.w.two(a.Times), "Stage", f.w.Stage(a.Stage))
	}
	return r
}

func (f *feeding) amountRow(name string, a serving.Amount) portionRow {
	r := portionRow{Name: name, Grams: f.w.rangeWords(a.Grams, "g"), Spoons: f.w.rangeWords(a.Tablespoons, "")}
	if a.Teaspoons.HasMean {
		r.Tea = f.w.rangeWords(a.Teaspoons, "")
	}
	return r
}

// needHows are the formulas of the species that are fed.
func (f *feeding) needHows(v *portionView) {
	var seen []*needs.Species
	for _, a := range f.Plan.Animals {
		if slices.Contains(seen, a.Species) {
			continue
		}
		seen = append(seen, a.Species)
		e := a.Species.Energy
		v.Needs = append(v.Needs, needHow{f.w.T("feed_need_formula", "Species", f.w.Species(a.Species), "Factor", f.w.rangeWords(serving.Range{Mean: e.Factor, HasMean: true, Low: e.Low, High: e.High}, "kcal")),
			e.Source, f.w.Evidence(e.How), e.Note})
	}
}

func (f *feeding) energyHow(v *portionView, p *serving.Portion) {
	m := analysis.EnergyMethods()[0]
	per := p.Energy.PerGram()
	v.Energy = append(v.Energy, f.w.T("feed_energy_gram", "Energy", f.w.rangeWords(per, "kcal"), "Method", m.Name+" ("+m.Source+")", "How", f.w.Evidence(p.Energy.Eaten.How)))
	if left := 1 - p.Energy.EatenShare; left > 0.0005 {
		v.Energy = append(v.Energy, f.w.T("feed_energy_husks", "Share", f.w.Num(100*left, 0), "Energy", f.w.Quantity(p.Energy.Offered.Mean, nutrient.KcalPerKg)))
	}
	if k := p.Energy.Eaten.KnownShare; k < 0.9995 {
		v.Energy = append(v.Energy, f.w.T("feed_energy_known", "Share", f.w.Num(100*k, 0)))
	}
}

func (f *feeding) bulkHow(v *portionView, p *serving.Portion, spoon serving.Spoon) {
	if spoon.Kind == serving.Own {
		v.Bulk = append(v.Bulk, f.w.T("feed_bulk_own", "Grams", f.w.Plain(spoon.Grams)))
		return
	}
	v.Bulk = append(v.Bulk, f.w.T("feed_bulk", "Volume", f.w.Num(spoon.Tablespoon, 1), "Grams", f.w.rangeWords(p.Spoon, "g"), "Density", f.w.rangeWords(p.Bulk.Range, "g/mL"), "How", f.w.Evidence(p.Bulk.How)))
	if p.Bulk.Packing > 0 {
		v.Bulk = append(v.Bulk, f.w.T("feed_bulk_packing", "Share", f.w.Num(100*p.Bulk.Packing, 0)))
	}
	var names []string
	for _, x := range p.Bulk.Unknown {
		names = append(names, f.w.Form(x))
	}
	if len(names) > 0 {
		v.Bulk = append(v.Bulk, f.w.T("feed_bulk_unknown", "Names", f.w.And(names)))
	}
	v.Bulk = append(v.Bulk, f.w.T("feed_bulk_level"))
}

// Shares of what is worked out within which common practice agrees with it:
// about what levelling a spoon changes.
const agreeLow, agreeHigh = 0.85, 1.15

// practice sets what keepers give beside what is worked out.
func (f *feeding) practice(v *portionView, total serving.Range, p *serving.Portion) {
	c := p.Practice
	if c == nil {
		return
	}
	w, n := f.w, float64(len(v.Rows))
	grams := serving.Range{Mean: c.Grams.Mean * n, HasMean: c.Grams.HasMean, Low: c.Grams.Low * n, High: c.Grams.High * n}
	v.Practice = append(v.Practice, w.N("feed_practice", len(v.Rows), "Spoons", w.Plain(n), "Grams", w.rangeWords(grams, "g")))
	if !grams.HasMean || !total.HasMean || total.Mean == 0 {
		return
	}
	share := grams.Mean / total.Mean
	of := w.Num(math.Round(100*share), 0)
	switch {
	case share < agreeLow:
		v.Practice = append(v.Practice, w.T("feed_practice_less", "Share", of))
		if 1-p.Energy.EatenShare > 0.0005 {
			v.Husks = w.T("feed_practice_husks")
		}
		v.Practice = append(v.Practice, w.T("feed_practice_rule"))
	case share > agreeHigh:
		v.Practice = append(v.Practice, w.T("feed_practice_more", "Share", of), w.T("feed_practice_rule"))
	default:
		v.Practice = append(v.Practice, w.T("feed_practice_same", "Share", of))
	}
}

// savePortion keeps the spoon and the number of feedings.
func (s *Server) savePortion(q *request) error {
	if err := q.form(); err != nil {
		return err
	}
	f, err := s.feedingOf(q)
	if err != nil {
		return err
	}
	p := f.page("portion")
	kind, own := serving.Kind(q.value("spoon")), ""
	if kind == serving.Own {
		g, err := q.words.parseNumber(q.value("own"))
		if err != nil || !(g > 0) || g > mostSpoon {
			p.Errors["own"] = q.words.T("feed_need_own")
			p.Typed["own"], p.Typed["own_name"] = q.value("own"), q.value("own_name")
			return f.showPortion(q, http.StatusUnprocessableEntity, p)
		}
		own = strconv.FormatFloat(g, 'f', -1, 64)
	}
	n, err := strconv.Atoi(q.value("feedings"))
	if err != nil || n < 1 || n > ration.MaxFeedings || f.Doc == nil {
		return badRequest("no such number of feedings")
	}
	d := f.copyDoc()
	if kind != serving.Own {
		d.Spoon = kind
	}
	f.keepSpoon(d, own, clip(q.value("own_name"), mostSpoonName))
	for i := range d.Foods {
		if x := &d.Foods[i]; x.Food == ration.MixName && x.Feedings() != n {
			x.Times, x.At = n, nil
		}
	}
	complaint, err := f.keepDoc(q, d)
	wrong, conflict, err := f.orWrong(q, complaint, err)
	if err != nil {
		return err
	}
	if wrong != "" {
		return f.again(q, "portion", wrong, conflict)
	}
	if err := s.Store.SetSetting(q.Context(), spoonSetting(f), own); err != nil {
		return err
	}
	return f.see(q, "portion", "")
}

// again shows a page anew, as it is kept, with why the change was not.
func (f *feeding) again(q *request, page string, wrong template.HTML, conflict bool) error {
	kept, err := f.s.feedingOf(q)
	if err != nil {
		return err
	}
	p := kept.page(page)
	p.Wrong, p.Conflict = wrong, conflict
	for k, v := range q.PostForm {
		if len(v) == 1 {
			p.Typed[k] = v[0]
		}
	}
	status := statusOf(conflict)
	switch page {
	case "portion":
		return kept.showPortion(q, status, p)
	case "week":
		return kept.showWeek(q, status, p)
	case "diet":
		return kept.showDiet(q, status, p)
	case "weights":
		return kept.showWeights(q, status, p)
	}
	return kept.showBowl(q, status, p)
}
