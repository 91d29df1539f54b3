package web

import (
	"html/template"
	"math"
	"net/http"
	"net/url"
	"slices"
	"strconv"
	"strings"

	"firlot/analysis"
	"firlot/internal/chart"
	"firlot/needs"
	"firlot/nutrient"
	"firlot/serving"
)

// spoonfulView is how alike two spoonfuls are.
type spoonfulView struct {
	feedPage
	Portion, Batch, RSD string
	Seed                uint64
	Lead                string
	SVG                 template.HTML
	Drawn               string // what the picture shows
	Another             string // the page with the next seed
	Figures             []spreadView
	Pieces              []pieceView
	Sorting             string
	Help                []string
	Check               *mixedView
	Markers             []choice
	Scoop, Counts       string
	ScoopWrong          string
	CheckWrong          string
}

// spreadView is how one figure differs between portions.
type spreadView struct {
	Name, Value, Spread, Range, Smallest, Drawn string
	Cause                                       string
}

// pieceView is one kind of seed in a portion.
type pieceView struct {
	Portrait                                   template.HTML
	Name, Share, Expected, Drawn, Spread, None string
	Top                                        bool
}

// spoonAsk is what the page was asked.
type spoonAsk struct {
	portion, batch, rsd float64
	seed                uint64
}

const (
	usualSpoon = 10.0 // g
	usualRSD   = 10.0 // %
	// mostDrawn bounds a portion that is drawn, g: a barn's day.
	mostDrawn = 1000.0
)

func (s *Server) spoonful(q *request) error {
	f, err := s.feedingOf(q)
	if err != nil {
		return err
	}
	v := spoonfulView{feedPage: f.page("spoonful")}
	if f.Portions == nil {
		return f.show(q, http.StatusOK, "spoonful", v)
	}
	ask := f.spoonAsk(q, &v)
	lot := serving.LotOf(f.Portions, ask.batch)
	drawn := lot.Draw(ask.portion, ask.seed)
	f.spreads(&v, lot, ask, drawn)
	f.pieces(&v, lot, ask, drawn)
	f.drawing(&v, ask, drawn)
	f.sorting(&v, lot)
	f.check(q, &v, ask)
	return f.show(q, http.StatusOK, "spoonful", v)
}

// spoonAsk reads what is asked from the address; what does not read is left at
// the usual, and said.
func (f *feeding) spoonAsk(q *request, v *spoonfulView) spoonAsk {
	get := q.URL.Query()
	batch := serving.MassOf(f.Portions).Grams()
	a := spoonAsk{portion: min(usualSpoon, batch), batch: batch, rsd: usualRSD, seed: 1}
	if f.Plan != nil {
		if m := f.mixFood(); m != nil && m.Dose.HasMean && m.Dose.Mean >= 1 {
			a.portion = min(math.Round(m.Dose.Mean/float64(m.Food.Feedings())), batch, mostDrawn)
		}
	}
	read := func(name string, to *float64, most float64) {
		text := strings.TrimSpace(get.Get(name))
		if text == "" {
			return
		}
		n, err := f.w.parseNumber(text)
		if err != nil || !(n >= 0.1) || n > most {
			v.Errors[name] = f.w.T("feed_need_between_two", "A", f.w.Plain(0.1), "B", f.w.Plain(most))
			return
		}
		*to = n
	}
	read("batch", &a.batch, 1_000_000)
	read("portion", &a.portion, min(mostDrawn, a.batch))
	read("rsd", &a.rsd, 100)
	a.portion = min(a.portion, a.batch)
	if n, err := strconv.ParseUint(get.Get("seed"), 10, 32); err == nil {
		a.seed = n
	}
	v.Portion, v.Batch, v.RSD, v.Seed = f.w.typed(a.portion), f.w.typed(a.batch), f.w.typed(a.rsd), a.seed
	next := url.Values{}
	for _, k := range []string{"portion", "batch", "rsd"} {
		if t := get.Get(k); t != "" {
			next.Set(k, t)
		}
	}
	next.Set("seed", strconv.FormatUint(a.seed+1, 10))
	v.Another = v.Path("spoonful") + "?" + next.Encode() + "#drawn"
	return a
}

// measures are the figures whose spread is told: those with a window.
func (f *feeding) measures() []analysis.Measure {
	var list []analysis.Measure
	if f.Solved != nil && f.Solved.Plan != nil && len(f.Doc.Lines) == 0 {
		for _, t := range f.Solved.Plan.Targets {
			if m := analysis.MeasureOf(t.Window); !slices.Contains(list, m) {
				list = append(list, m)
			}
		}
	}
	if list == nil {
		for _, k := range []nutrient.Key{nutrient.CrudeProtein, nutrient.CrudeFat, nutrient.CrudeFibre} {
			list = append(list, analysis.Measure{Nutrient: k, Basis: nutrient.AsFed, On: needs.Offered})
		}
	}
	return list
}

func (f *feeding) spreads(v *spoonfulView, lot serving.Lot, ask spoonAsk, drawn []serving.Drawn) {
	w := f.w
	portions, all := serving.Portions(drawn)
	worst := -1.0
	for _, m := range f.measures() {
		x := lot.OfFigure(m)
		row := spreadView{Name: upper(w.measureOf(needs.Window{Nutrient: m.Nutrient, Per: m.Per, Basis: m.Basis, On: m.On}))}
		if !x.Known {
			row.Value, row.Spread, row.Smallest = w.T("not_known"), w.T("not_known"), w.T("not_known")
			v.Figures = append(v.Figures, row)
			continue
		}
		r := lot.RSD(x.K, ask.portion)
		least := ""
		if len(x.Missing) > 0 {
			least = "≥\u00a0"
		}
		unit := m.Unit()
		row.Value, row.Spread = w.Quantity(x.Value, unit), least+w.two(100*r)+"\u00a0%"
		row.Range = w.T("range", "A", w.Short(max(x.Value*(1-analysis.Interval90*r), 0)), "B", w.Quantity(x.Value*(1+analysis.Interval90*r), unit))
		row.Smallest = least + w.two(math.Ceil(lot.Smallest(x.K, ask.rsd/100))) + "\u00a0g"
		if one := analysis.Of(portions, m); all && one.HasMean {
			row.Drawn = w.Quantity(one.Mean, unit)
		}
		row.Cause = f.cause(lot, x, ask, r)
		if r > worst {
			worst = r
			v.Lead = w.T("feed_spoon_lead", "Grams", w.Plain(ask.portion), "Figure", w.Measure(m.Nutrient, m.Per), "Spread", least+w.two(100*r))
		}
		v.Figures = append(v.Figures, row)
	}
	if v.Lead == "" {
		v.Lead = w.T("feed_spoon_unknown")
	}
}

// cause says which ingredient brings most of a spread, and what would help.
func (f *feeding) cause(lot serving.Lot, x serving.Variation, ask spoonAsk, r float64) string {
	w, i := f.w, x.Top()
	if i < 0 {
		return ""
	}
	c := x.Causes[i]
	s := w.T("feed_spoon_cause", "Share", w.Num(100*c.K/x.K, 0), "Name", w.Form(lot.Pieces[i].Form))
	if 100*r > ask.rsd {
		s += " " + w.T("feed_spoon_help", "Apart", w.two(100*lot.RSD(c.Apart, ask.portion)), "Halved", w.two(100*lot.RSD(c.Halved, ask.portion)),
			"Many", w.Num(math.Ceil(lot.Smallest(x.K, ask.rsd/100)/ask.portion-1e-9), 0), "RSD", w.Plain(ask.rsd))
	}
	if len(x.Missing) > 0 {
		var names []string
		for _, j := range x.Missing {
			names = append(names, w.Form(lot.Pieces[j].Form))
		}
		s += " " + w.T("feed_spoon_missing", "Names", w.And(names))
	}
	return s
}

func (f *feeding) pieces(v *spoonfulView, lot serving.Lot, ask spoonAsk, drawn []serving.Drawn) {
	w := f.w
	for i, p := range lot.Pieces {
		row := pieceView{Portrait: portrait(w, p.Form), Name: w.Form(p.Form), Share: w.Num(100*p.Share, 1) + "\u00a0%",
			Expected: w.T("not_known"), Drawn: w.T("not_known"), Spread: w.T("not_known"), None: w.T("not_known")}
		if n, ok := lot.Count(i, ask.portion); ok {
			none, _ := lot.None(i, ask.portion)
			row.Expected, row.Drawn = w.two(n), w.Plain(float64(drawn[i].Count))
			share := lot.OfShare(i)
			row.Spread = w.two(100*lot.RSD(share.K, ask.portion)) + "\u00a0%"
			if len(share.Missing) > 0 {
				row.Spread = "≥\u00a0" + row.Spread
			}
			row.None = w.T("feed_spoon_hardly")
			if none >= 0.0005 {
				row.None = w.T("feed_of_thousand", "N", w.Num(math.Round(1000*none), 0))
			}
		}
		v.Pieces = append(v.Pieces, row)
	}
}

// drawing is the spoonful as a picture.
func (f *feeding) drawing(v *spoonfulView, ask spoonAsk, drawn []serving.Drawn) {
	w := f.w
	var items []chart.SpoonItem
	var said, unknown []string
	grams := 0.0
	for _, d := range drawn {
		if !d.Known {
			unknown = append(unknown, w.Form(d.Form))
			continue
		}
		items = append(items, chart.SpoonItem{Form: d.Form, Count: d.Count})
		said = append(said, w.Plain(float64(d.Count))+" "+w.Form(d.Form))
		grams += d.Mass.Grams()
	}
	v.Drawn = w.T("feed_spoon_drawn", "Seed", strconv.FormatUint(ask.seed, 10), "Grams", w.Short(grams))
	if n := chart.SpoonDrawn(items); n > 1 {
		v.Drawn += " " + w.T("feed_spoon_every", "N", w.Plain(float64(n)))
	}
	if len(unknown) > 0 {
		v.Drawn += " " + w.T("feed_spoon_undrawn", "Names", w.And(unknown))
	}
	title := w.T("feed_spoon_title", "Grams", w.Plain(ask.portion))
	v.SVG = template.HTML(chart.Spoonful(items, chart.SpoonOptions{Title: title, Desc: w.And(said), Width: narrow, Seed: ask.seed, BarLabel: w.T("feed_one_cm")}))
}

// sorting says how readily the seeds sort themselves in the jar.
func (f *feeding) sorting(v *spoonfulView, lot serving.Lot) {
	s := lot.Sorting()
	if !s.Known {
		v.Sorting = f.w.T("feed_sorting_unknown")
		return
	}
	v.Sorting = f.w.T("feed_sorting_"+strings.ReplaceAll(string(s.Degree), "-", "_"), "Wide", f.w.Form(lot.Pieces[s.Wide].Form), "Narrow", f.w.Form(lot.Pieces[s.Narrow].Form), "Ratio", f.w.two(s.Ratio))
	v.Help = []string{f.w.T("feed_help_tumble"), f.w.T("feed_help_scoops")}
	if s.Degree == serving.SortsMuch || s.Degree == serving.FallsThrough {
		v.Help = append(v.Help, f.w.T("feed_help_hand", "Wide", f.w.Form(lot.Pieces[s.Wide].Form)))
	}
}
