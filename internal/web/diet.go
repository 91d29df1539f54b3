package web

import (
	"context"
	"html/template"
	"math"
	"net/http"
	"slices"
	"strings"
	"time"

	"firlot/analysis"
	"firlot/catalog"
	"firlot/internal/chart"
	"firlot/nutrient"
	"firlot/ration"
)

// dietView is the whole diet beside what is needed.
type dietView struct {
	feedPage
	Lead      string
	Short     []shortView
	More      int // shortages beyond those that are shown
	Accounts  []accountView
	Notes     []dietNote
	HasFoods  bool
	NoMixFed  bool // the week has no mix, and no leaf stands for one
	Low, Open int
}

// shortView is a shortage with what would mend it.
type shortView struct {
	Name, Words string
	Target      string
	ID          string
	Low         bool
	Mend        *mendView
	None        string // why nothing is proposed
}

// mendView is a proposal to press.
type mendView struct {
	From    string // which foods were looked at
	Changes []string
	// Cautions are those of the foods that change.
	Cautions []cautionView
	Effect   string
	Proved   bool
}

// accountView is one kind of animal.
type accountView struct {
	Title  string
	Groups []rowGroup
	Limits []dietLimit
}

type rowGroup struct {
	ID, Name string
	Rows     []rowView
	Open     bool
	Count    string
}

type rowView struct {
	Name, Is  string
	Verdict   ration.Verdict
	Word      string
	Got, Need string
	Known     string
	Parts     []string
	SVG       template.HTML
	Source    string
	How       string
	Note      string
	StandsIn  string
	Because   string // why it is not known
}

type dietLimit struct {
	Name, Words, Word string
	High              bool
	Source, How       string
	Note              template.HTML
}

type dietNote struct {
	Text template.HTML
	Vet  bool
}

func (s *Server) diet(q *request) error {
	f, err := s.feedingOf(q)
	if err != nil {
		return err
	}
	return f.showDiet(q, http.StatusOK, f.page("diet"))
}

// shownShortages are the shortages for which help is looked for.
const shownShortages = 3

func (f *feeding) showDiet(q *request, status int, p feedPage) error {
	v := dietView{feedPage: p}
	if f.Plan != nil {
		v.HasFoods = len(f.Plan.Foods) > 0
	}
	if !v.HasFoods {
		return f.show(q, status, "diet", v)
	}
	l := f.Plan.Ledger()
	short := l.Shortages()
	for _, x := range short {
		if x.Verdict == ration.Low {
			v.Low++
		} else {
			v.Open++
		}
	}
	v.Lead = f.dietLead(v)
	if f.mixFood() == nil { // nearly all that is short is the mix
		v.NoMixFed, v.Lead = true, f.w.T("feed_diet_no_mix_lead")
		short = nil
	}
	if err := f.shortages(q.Context(), &v, short); err != nil {
		return err
	}
	for i, a := range l.Accounts {
		one := f.account(i, a)
		for j := range one.Groups {
			one.Groups[j].Open = one.Groups[j].Open && !v.NoMixFed
		}
		v.Accounts = append(v.Accounts, one)
	}
	for _, n := range l.Notes {
		if n.ID == "plan" {
			continue // the pages of portion and weights say it
		}
		v.Notes = append(v.Notes, dietNote{f.w.Engine(n.Text), n.Vet})
	}
	return f.show(q, status, "diet", v)
}

func (f *feeding) dietLead(v dietView) string {
	switch {
	case v.Low > 0:
		return f.w.N("feed_diet_low", v.Low)
	case v.Open > 0:
		return f.w.N("feed_diet_open", v.Open)
	}
	return f.w.T("feed_diet_inside")
}

// mendTime bounds the search for one shortage.
const mendTime = 2 * time.Second

// isTarget tells a figure from the others in a form.
func isTarget(t ration.Target) string { return string(t.Nutrient) + "|" + string(t.Per) }

func (f *feeding) shortages(ctx context.Context, v *dietView, list []ration.Shortage) error {
	for _, x := range list {
		if len(v.Short) == shownShortages {
			v.More = len(list) - shownShortages
			break
		}
		s := shortView{Name: upper(f.w.Measure(x.Target.Nutrient, x.Target.Per)), Words: f.rowWords(x.Row), Target: isTarget(x.Target),
			ID: "short-" + string(x.Target.Nutrient) + string(x.Target.Per), Low: x.Verdict == ration.Low}
		if x.Target.Nutrient == nutrient.Energy {
			s.None = f.w.T("feed_mend_energy")
			v.Short = append(v.Short, s)
			continue
		}
		m, from, err := f.mend(ctx, x.Target)
		if err != nil {
			return err
		}
		if m == nil || !m.Sensible() {
			s.None = f.w.T("feed_mend_none")
			if m != nil && !m.Found && m.Proved {
				s.None = f.w.T("feed_mend_proved_none")
			}
		} else {
			s.Mend = f.mendWords(m, from, x)
		}
		v.Short = append(v.Short, s)
	}
	return nil
}

// mend looks for the smallest change among the week's own foods and its shelf,
// then among what the keeper's shelves hold, then among leaves and vegetables.
func (f *feeding) mend(ctx context.Context, t ration.Target) (best *ration.Mend, from string, err error) {
	limited, cancel := context.WithTimeout(ctx, mendTime)
	defer cancel()
	sets, err := f.mendSets(ctx)
	if err != nil {
		return nil, "", err
	}
	for _, x := range sets {
		if x.forms != nil && len(x.forms) == 0 {
			continue
		}
		m, err := f.Plan.Mend(limited, ration.MendOptions{Targets: []ration.Target{t}, Candidates: x.forms})
		if limited.Err() != nil {
			return best, from, nil // time is up: what was found so far, or nothing
		}
		if err != nil {
			return nil, "", err
		}
		if best == nil || m.Sensible() {
			best, from = m, x.from
		}
		if m.Sensible() {
			break
		}
	}
	return best, from, nil
}

type mendSet struct {
	from  string
	forms []*catalog.Form // nil: the document's own
}

func (f *feeding) mendSets(ctx context.Context) ([]mendSet, error) {
	shelves, err := f.s.Store.Shelves(ctx)
	if err != nil {
		return nil, err
	}
	var have, all []*catalog.Form
	for _, sh := range shelves {
		for _, it := range sh.Items {
			if form := f.s.Catalogue.Form(it.Ref); form != nil && it.CanHave && mends(form) && !slices.Contains(have, form) {
				have = append(have, form)
			}
		}
	}
	for _, form := range f.s.Catalogue.Forms() {
		switch form.Ingredient.Class {
		case catalog.Leaf, catalog.Green, catalog.Vegetable:
			if mends(form) {
				all = append(all, form)
			}
		}
	}
	if have == nil {
		have = []*catalog.Form{}
	}
	return []mendSet{{"feed_mend_from_week", nil}, {"feed_mend_from_shelf", have}, {"feed_mend_from_catalogue", all}}, nil
}

// mends reports whether a form may be proposed beside a mix: a plant or an
// insect, and nothing that is a medicine or a mineral.
func mends(form *catalog.Form) bool {
	switch form.Ingredient.Class {
	case catalog.Leaf, catalog.Green, catalog.Vegetable, catalog.Flower, catalog.Root, catalog.Fruit, catalog.Insect, catalog.SmallSeed, catalog.Oilseed, catalog.Nut:
		return true
	}
	return false
}

func (f *feeding) mendWords(m *ration.Mend, from string, x ration.Shortage) *mendView {
	v := &mendView{From: f.w.T(from), Proved: m.Proved}
	for _, c := range m.Changes {
		var parts []string
		for _, line := range c.Lines {
			parts = append(parts, f.w.T("feed_mend_part", "Amount", f.w.FeedAmount(line.Amount), "When", f.when(line)))
		}
		name := upper(f.w.Form(c.Form))
		line := f.w.T("feed_mend_line", "Food", name, "What", f.w.And(parts), "Grams", f.w.two(c.Grams))
		if c.Uncommon {
			line += ". " + f.w.T("feed_mend_uncommon")
		}
		v.Changes = append(v.Changes, line)
		if len(c.Form.Cautions) > 0 {
			v.Cautions = append(v.Cautions, cautionView{name, c.Form.Cautions})
		}
	}
	for _, a := range m.After.Accounts {
		for _, r := range a.Rows {
			if r.Target() == x.Target && a.Stage == m.Before.Accounts[x.Accounts[0]].Stage && v.Effect == "" {
				v.Effect = f.w.T("feed_mend_effect", "Was", f.gotWords(x.Row), "Is", f.gotWords(r), "Word", f.verdict(r.Verdict))
			}
		}
	}
	return v
}

func (f *feeding) verdict(v ration.Verdict) string {
	return f.w.T("feed_verdict_" + strings.ReplaceAll(string(v), " ", "_"))
}

func (f *feeding) gotWords(r ration.Row) string {
	if !r.Got.HasMean || r.Known == 0 {
		return f.w.T("not_known")
	}
	s := f.w.Short(r.Got.Mean)
	if r.Unit != "" {
		s += "\u00a0" + f.w.dayUnit(r.Unit)
	}
	return s
}

func (w *words) dayUnit(unit string) string {
	if unit == "IU" {
		return w.T("feed_unit_iu")
	}
	return unit
}

func (f *feeding) needWords(r ration.Row) string {
	unit := r.Unit
	if unit != "" {
		unit = "\u00a0" + f.w.dayUnit(unit)
	}
	switch {
	case r.Least != nil && r.Most != nil:
		return f.w.T("feed_need_between", "A", f.w.Short(*r.Least), "B", f.w.Short(*r.Most)+unit)
	case r.Least != nil:
		return f.w.T("feed_need_least", "A", f.w.Short(*r.Least)+unit)
	case r.Most != nil:
		return f.w.T("feed_need_most", "B", f.w.Short(*r.Most)+unit)
	}
	return ""
}

// rowWords says where a figure stands.
func (f *feeding) rowWords(r ration.Row) string {
	if why := f.becauseRow(r); why != "" {
		return f.w.T("feed_row_open", "Got", f.gotWords(r), "Need", f.needWords(r)) + " " + why
	}
	return f.w.T("feed_row", "Got", f.gotWords(r), "Need", f.needWords(r), "Word", f.verdict(r.Verdict))
}

// rowGroups are the groups in which figures are shown, in their order.
var rowGroups = []nutrient.Group{nutrient.Proximate, nutrient.Mineral, nutrient.Vitamin, nutrient.AminoAcid, nutrient.FattyAcid}

func (f *feeding) account(n int, a ration.Account) accountView {
	v := accountView{}
	var names []string
	for _, i := range a.Animals {
		names = append(names, f.Plan.Animals[i].Animal.Name)
	}
	who := f.w.And(names)
	if len(names) > mostNamed {
		who = f.w.N("animals_count", len(names))
	}
	v.Title = f.w.T("feed_account", "Species", upper(f.w.Species(a.Species)), "Stage", f.w.Stage(a.Stage), "Names", who)
	for _, g := range rowGroups {
		group := rowGroup{ID: string(rune('a'+n)) + "-" + strings.ReplaceAll(string(g), " ", "-"), Name: f.w.T("feed_group_" + strings.ReplaceAll(string(g), " ", "_"))}
		counts := map[ration.Verdict]int{}
		for _, r := range a.Rows {
			if info, _ := nutrient.Lookup(r.Nutrient); info.Group == g {
				group.Rows = append(group.Rows, f.row(r, group.ID))
				counts[r.Verdict]++
			}
		}
		var said []string
		for _, x := range []ration.Verdict{ration.Low, ration.NotKnown, ration.High, ration.Inside} {
			if counts[x] > 0 {
				said = append(said, f.w.T("feed_count", "N", f.w.Plain(float64(counts[x])), "Word", f.verdict(x)))
			}
		}
		group.Count = strings.Join(said, ", ")
		if len(group.Rows) > 0 {
			group.Open = g == nutrient.Proximate
			v.Groups = append(v.Groups, group)
		}
	}
	for _, x := range a.Limits {
		v.Limits = append(v.Limits, f.limit(x))
	}
	return v
}

// mostNamed animals are named one by one.
const mostNamed = 6

func (f *feeding) row(r ration.Row, group string) rowView {
	v := rowView{Name: upper(f.w.Measure(r.Nutrient, r.Per)), Is: group + "-" + string(r.Nutrient) + string(r.Per), Verdict: r.Verdict, Word: f.verdict(r.Verdict),
		Got: f.gotWords(r), Need: f.needWords(r), Source: r.Window.Source, How: f.w.Evidence(r.How), Note: r.Window.Note, StandsIn: r.Window.StandsIn, Because: f.becauseRow(r)}
	if r.Known < 0.9995 {
		v.Known = f.w.T("feed_known_share", "Share", f.w.Num(math.Floor(100*r.Known), 0))
	}
	for _, p := range r.Parts {
		if !p.Fed {
			continue
		}
		words := f.w.T("not_known")
		if p.Known > 0 {
			words = f.w.Short(p.Amount)
			if r.Unit != "" {
				words += "\u00a0" + f.w.dayUnit(r.Unit)
			}
			if p.Known < 0.9995 {
				words += " " + f.w.T("feed_part_known", "Share", f.w.Num(math.Floor(100*p.Known), 0))
			}
		}
		v.Parts = append(v.Parts, f.w.T("feed_part", "Origin", f.w.T("feed_origin_"+string(p.Origin)), "Amount", words))
	}
	v.SVG = f.dietStrip(r, v)
	return v
}

// dietStrip draws a figure in its window.
func (f *feeding) dietStrip(r ration.Row, v rowView) template.HTML {
	d := chart.StripData{Name: v.Name, Unit: f.w.dayUnit(r.Unit), Window: chart.StripWindow{Min: r.Least, Max: r.Most, Label: v.Need},
		Mean: r.Got.Mean, HasMean: r.Got.HasMean && r.Known > 0, Low: r.Got.Low, High: r.Got.High, Format: f.w.Short}
	d.VerdictWords = v.Word
	if v.Known != "" {
		d.VerdictWords += "; " + v.Known
	}
	switch r.Verdict {
	case ration.Inside:
		d.Verdict = analysis.Inside
	case ration.NotKnown:
		d.Verdict = analysis.NotKnown
		d.Unknown = f.w.T("not_known")
		if r.Open == ration.OpenAmounts { // the figure is known, and how much is eaten is not
			d.Unknown, d.VerdictWords = f.openRange(r), f.w.T("feed_because_short")
		}
	default:
		d.Verdict = analysis.Outside
	}
	title := v.Name + ": " + f.rowWords(r)
	return both(func(width float64) string { return chart.Strip(d, chart.StripOptions{Title: title, Width: width}) })
}

func (f *feeding) limit(x ration.LimitRow) dietLimit {
	v := dietLimit{Name: string(f.w.Engine(x.Name)), Word: f.verdict(x.Verdict), High: x.Verdict == ration.High, Source: x.Source, How: f.w.Evidence(x.How)}
	if x.Note != "" {
		v.Note = f.w.Engine(x.Note)
	}
	if x.Open != ration.Settled {
		v.Word += ". " + strings.TrimSuffix(f.because(x.Open), ".")
	}
	v.Words = f.w.T("feed_limit", "Value", f.w.Short(x.Value), "Most", f.w.Short(x.Most), "Unit", x.Unit)
	return v
}

// mendDiet takes a proposal over, as it is found anew.
func (s *Server) mendDiet(q *request) error {
	if err := q.form(); err != nil {
		return err
	}
	f, err := s.feedingOf(q)
	if err != nil {
		return err
	}
	k, per, _ := strings.Cut(q.value("target"), "|")
	t := ration.Target{Nutrient: nutrient.Key(k), Per: nutrient.Key(per)}
	if _, known := nutrient.Lookup(t.Nutrient); !known || f.Plan == nil {
		return badRequest("no such figure")
	}
	m, _, err := f.mend(q.Context(), t)
	if err != nil {
		return err
	}
	if m == nil || !m.Sensible() {
		return f.again(q, "diet", f.complain("feed_mend_gone"), false)
	}
	complaint, err := f.keep(q, f.weekText(m.Document))
	wrong, conflict, err := f.orWrong(q, complaint, err)
	if err != nil {
		return err
	}
	if wrong != "" {
		return f.again(q, "diet", wrong, conflict)
	}
	return f.see(q, "diet", "")
}
