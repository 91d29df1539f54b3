package web

import (
	"html/template"
	"slices"
	"strings"

	"firlot/analysis"
	"firlot/catalog"
	"firlot/mix"
	"firlot/needs"
	"firlot/nutrient"
)

// stripView is a window with where the mix lies in it.
type stripView struct {
	Key       string
	Name      string
	Basis     string
	Window    string
	Mean      string
	Sets      string // how many sets of bags lie inside
	Known     bool
	Why       string // said when the verdict is not known
	SVG       template.HTML
	Source    string
	How       catalog.Evidence
	Note      string
	StandsIn  string
	Own       bool   // set by the document
	Is        string // tells the window from the others of its mix
	Published []needs.Window
	Parts     []partView
	Spread    string
}

// partView is what one ingredient brings to a figure.
type partView struct {
	Name  string
	Gives string // its part of the mix's figure
	Holds string // the figure in the ingredient itself
	N     int    // of its source in the page's list
	Item  string // of the source
	How   catalog.Evidence
	Known bool
}

func (b *mixBuilder) strips() {
	a := b.a.Answer
	for i, c := range a.Checks {
		t := a.Plan.Targets[i]
		m := analysis.MeasureOf(c.Window)
		sv := stripView{Key: string(c.Window.Nutrient), Name: b.w.Measure(c.Window.Nutrient, c.Window.Per),
			Basis: b.w.Basis(c.Window.Basis, c.Window.On), Window: b.w.WindowText(c.Window),
			Source: c.Window.Source, How: c.Window.How, Note: c.Window.Note, StandsIn: c.Window.StandsIn, Own: t.Path != "" && a.Plan.Stage != nil,
			Is: isWindow(c.Window.Nutrient, c.Window.Per, c.Window.On)}
		if c.Value.HasMean {
			sv.Mean = b.w.Quantity(c.Value.Mean, m.Unit())
			sv.Spread = b.w.T("spread_90", "A", b.w.Short(c.Value.Low()), "B", b.w.Quantity(c.Value.High(), m.Unit()))
		}
		if sv.Known = c.HasChance; sv.Known {
			sv.Sets = b.w.OfHundred(c.Chance)
		} else {
			sv.Why = b.w.T("not_known_window", "A", b.w.Short(c.Value.Least), "B", b.w.Quantity(c.Value.Most, m.Unit()))
		}
		if a.Plan.Stage != nil {
			for _, x := range a.Plan.Stage.Windows {
				if x.Nutrient == c.Window.Nutrient && x.Per == c.Window.Per && x.On == c.Window.On && (x.Source != c.Window.Source || t.Path != "") {
					sv.Published = append(sv.Published, x)
				}
			}
		}
		if c.Window.Per == "" {
			sv.Parts = b.parts(c.Window.Nutrient)
		}
		sv.SVG = b.strip(c, sv)
		b.v.Strips = append(b.v.Strips, sv)
	}
}

// parts are the ingredients' shares of a figure as offered and as fed, the
// largest first.
func (b *mixBuilder) parts(k nutrient.Key) []partView {
	type part struct {
		partView
		gives float64
	}
	info, _ := nutrient.Lookup(k)
	var list []part
	portions := b.a.Answer.Portions()
	total := float64(b.v.Total)
	for _, p := range portions {
		if p.Mass == 0 || total == 0 {
			continue
		}
		x := part{partView: partView{Name: b.w.Form(p.Form)}}
		if f, ok := p.Form.Figure(k); ok {
			x.gives = f.Mean * float64(p.Mass) / total
			x.Known, x.How = true, f.How
			x.N, x.Item = b.cite(f.Source)
			x.Gives, x.Holds = b.w.Short(x.gives), b.w.Quantity(f.Mean, info.Unit)
		}
		list = append(list, x)
	}
	slices.SortStableFunc(list, func(a, c part) int {
		switch {
		case a.gives > c.gives:
			return -1
		case a.gives < c.gives:
			return 1
		}
		return 0
	})
	out := make([]partView, len(list))
	for i, x := range list {
		out[i] = x.partView
	}
	return out
}

// sourceView is a source in the page's list.
type sourceView struct {
	N    int
	Text template.HTML
}

// cite numbers a source for the page's list, and returns its item apart.
func (b *mixBuilder) cite(ref string) (n int, item string) {
	if ref == "" || ref == "derived" { // worked out here, as the evidence says
		return 0, ""
	}
	key := ref
	if _, _, known := b.w.cited(ref); known {
		key, item, _ = strings.Cut(ref, ":")
		if key == "recalled" { // the item is the publication
			key, item = ref, ""
		}
	}
	for _, s := range b.cited {
		if s == key {
			return slices.Index(b.cited, s) + 1, item
		}
	}
	b.cited = append(b.cited, key)
	b.v.Sources = append(b.v.Sources, sourceView{len(b.cited), b.w.Source(key)})
	return len(b.cited), item
}

// tradeView is what a professional looks for.
type tradeView struct {
	Lines    []tradeLine
	Measures []string // that have a window, for what one gram more changes
	Groups   []string
	Figures  []figureView
	Cost     string
	Short    string // published minima that the mix alone does not reach
	Likely   string
	Open     string
	Energy   []energyView
	Prefer   string
	Proof    string
}

type tradeLine struct {
	Name, Grams, Percent, Limits string
	Gram                         []string // what one gram more of it changes
}

type figureView struct {
	Key     string
	Name    string
	Values  []basisValue
	How     catalog.Evidence
	Share   string // the part of the mix for which it is known, when not all
	Bounds  string
	Parts   []partView
	Derived bool
}

type basisValue struct{ Basis, Value, Spread string }

type energyView struct {
	Name, Value string
	Source      string
}

// tradeFigures are those that a feed formulator asks for first.
var tradeFigures = []struct{ k, per nutrient.Key }{
	{nutrient.CrudeProtein, ""}, {nutrient.CrudeFat, ""}, {nutrient.CrudeFibre, ""}, {nutrient.Moisture, ""}, {nutrient.Ash, ""},
	{nutrient.NFE, ""}, {nutrient.Starch, ""}, {nutrient.Energy, ""}, {nutrient.Calcium, ""}, {nutrient.Phosphorus, ""},
	{nutrient.Calcium, nutrient.Phosphorus}, {nutrient.Lysine, ""}, {nutrient.Methionine, ""}, {nutrient.MethionineCystine, ""},
}

// bases in which a figure is told.
var bases = []struct {
	basis nutrient.Basis
	on    needs.Side
}{{nutrient.AsFed, needs.Offered}, {nutrient.DryMatter, needs.Offered}, {nutrient.AsFed, needs.Eaten}}

func (b *mixBuilder) trade() {
	t := &tradeView{Measures: b.measureNames()}
	portions := b.a.Answer.Portions()
	for i, l := range b.a.Doc.Lines {
		lv := b.line(i, l, b.a.Plan.Lines[i].Form, b.a.Answer.Amounts()[i], b.v.Total)
		t.Lines = append(t.Lines, tradeLine{b.w.Form(lv.Form), lv.Grams, lv.Percent, b.bounds(i, lv.Limits), b.gramViews(portions, i)})
	}
	t.Groups = b.groupSums()
	for _, x := range tradeFigures {
		t.Figures = append(t.Figures, b.figure(portions, x.k, x.per))
	}
	if c := b.r.CostPerKg; c != nil {
		t.Cost = b.w.T("cost_per_kg", "Cost", b.w.Num(float64(*c), 2), "Currency", b.r.Currency)
	}
	if p, ok := analysis.ProximatesOf(portions); ok {
		for _, m := range analysis.EnergyMethods() {
			t.Energy = append(t.Energy, energyView{m.Name, b.w.Quantity(m.Of(p), nutrient.KcalPerKg), m.Source})
		}
	}
	t.Short, t.Likely, t.Open = b.shortages()
	t.Prefer = b.w.T("prefer_" + string(b.a.Answer.Prefer))
	t.Proof = b.proof()
	b.v.Trade = t
}

// bounds says a line's floor and ceiling and which of them binds.
func (b *mixBuilder) bounds(i int, binds string) string {
	p, step := b.a.Plan.Lines[i], b.a.Doc.Step
	lo, hi := nutrient.Mass(p.Floor)*step, nutrient.Mass(p.Ceiling)*step
	text := ""
	switch {
	case p.Floor > 0 && p.Ceiling < b.a.Plan.Steps:
		text = b.w.T("range", "A", b.w.Grams(lo), "B", b.w.Grams(hi)+"\u00a0g")
	case p.Floor > 0:
		text = b.w.T("range_least", "A", b.w.Grams(lo)+"\u00a0g")
	case p.Ceiling < b.a.Plan.Steps:
		text = b.w.T("range_most", "B", b.w.Grams(hi)+"\u00a0g")
	default:
		text = b.w.T("no_limit")
	}
	if binds != "" {
		text += "; " + binds
	}
	return text
}

func (b *mixBuilder) groupSums() []string {
	var list []string
	for i, g := range b.a.Plan.Groups {
		n := 0
		for _, k := range g.Lines {
			n += b.a.Answer.Steps[k]
		}
		m := nutrient.Mass(n) * b.a.Doc.Step
		list = append(list, b.w.T("group_sum", "Name", b.groupName(b.a.Doc.Groups[i]), "Mass", b.w.Grams(m)))
	}
	return list
}

func (b *mixBuilder) figure(portions []analysis.Portion, k, per nutrient.Key) figureView {
	fv := figureView{Key: string(k), Name: b.w.Measure(k, per)}
	if per != "" {
		fv.Key += "-" + string(per)
	}
	info, _ := nutrient.Lookup(k)
	fv.Derived = info.Derived
	for _, x := range bases {
		if per != "" && x.basis == nutrient.DryMatter || k == nutrient.Moisture && x.basis == nutrient.DryMatter {
			continue
		}
		v := analysis.Of(portions, analysis.Measure{Nutrient: k, Per: per, Basis: x.basis, On: x.on})
		bv := basisValue{Basis: b.w.Basis(x.basis, x.on), Value: b.w.T("not_known")}
		if per != "" {
			bv.Basis = b.w.T("basis_ratio")
			if x.on == needs.Eaten {
				bv.Basis = b.w.T("basis_ratio_eaten")
			}
		}
		if v.HasMean {
			bv.Value = b.w.Quantity(v.Mean, v.Measure.Unit())
			bv.Spread = b.w.T("range", "A", b.w.Short(v.Low()), "B", b.w.Short(v.High()))
		}
		fv.Values = append(fv.Values, bv)
		if x.basis == nutrient.AsFed && x.on == needs.Offered {
			fv.How = v.How
			if v.KnownShare < 0.9995 {
				fv.Share = b.w.Num(100*v.KnownShare, 0)
				fv.Bounds = b.w.T("range", "A", b.w.Short(v.Least), "B", b.w.Quantity(v.Most, v.Measure.Unit()))
			}
		}
	}
	if per == "" {
		fv.Parts = b.parts(k)
	}
	return fv
}

// shortages names the published minima of minerals, vitamins, amino acids and
// fatty acids that the mix alone does not reach, likely does not, or might
// not.
func (b *mixBuilder) shortages() (short, likely, open string) {
	var lists [3][]string
	seen := map[string]bool{}
	for _, x := range b.r.Shown {
		info, _ := nutrient.Lookup(nutrient.Key(x.Nutrient))
		if seen[x.Nutrient] || x.Per != "" || x.Window.Min == nil || info.Group == nutrient.Proximate {
			continue
		}
		below := x.Mean != nil && *x.Mean < *x.Window.Min
		at := -1
		switch {
		case x.Verdict == string(analysis.Outside) && below:
			at = 0
		case x.Verdict == string(analysis.NotKnown) && below:
			at = 1
		case x.Verdict == string(analysis.NotKnown):
			at = 2
		default:
			continue
		}
		seen[x.Nutrient] = true
		lists[at] = append(lists[at], b.w.Figure(nutrient.Key(x.Nutrient)))
	}
	return b.w.And(lists[0]), b.w.And(lists[1]), b.w.And(lists[2])
}

// proof says how good the mix is by its preference.
func (b *mixBuilder) proof() string {
	a := b.a.Answer
	key := "proof_" + string(a.Prefer)
	if a.Plan.Document.Sureness > 0 && a.Prefer != mix.Steady {
		key += "_sure" // the bound holds for the risk as it was shared out
	}
	return b.w.T(key, "Has", b.w.Short(a.Objective), "Bound", b.w.Short(a.Bound), "Currency", a.Plan.Document.Currency)
}
