package ration

import (
	"math"
	"slices"
	"strings"

	"firlot/analysis"
	"firlot/catalog"
	"firlot/needs"
	"firlot/nutrient"
	"firlot/serving"
)

// Verdict says how a figure of the diet stands.
type Verdict string

// The verdicts.
const (
	Low      Verdict = "low"
	Inside   Verdict = "inside"
	High     Verdict = "high"
	NotKnown Verdict = "not known" // what is not known could turn it
)

// The diet that published needs are stated for: 90 % dry matter and 3,950 kcal
// of metabolisable energy in a kilogram. Source: NRC 1995, notes under tables
// 2-2 and 3-3: 3.8 to 4.1 kcal a gram at 10 % moisture.
const (
	StandardDry    = 0.90
	StandardEnergy = 3950.0
)

// By is how a need is brought to a day.
type By string

// The ways.
const (
	ByEnergy By = "energy"     // with the energy that is eaten
	ByDry    By = "dry matter" // with the dry matter that is eaten
	ByRatio  By = "ratio"      // against another figure
	ByNeed   By = "need"       // energy itself, against what the animal needs
)

// Ledger is the whole diet of a group.
type Ledger struct {
	Plan     *Plan
	Accounts []Account
	Notes    []Note
}

// Account is the diet beside the needs of one kind of animal: one species at
// one stage.
type Account struct {
	Species *needs.Species
	Stage   *needs.Stage
	Animals []int   // in Plan.Animals
	Share   float64 // of what the group eats, of one animal of the account
	Rows    []Row
	Limits  []LimitRow
}

// Row is one figure of the diet with a need. Amounts are for one animal and
// day, in Unit.
type Row struct {
	Nutrient nutrient.Key
	Per      nutrient.Key // of a ratio
	Unit     string
	By       By
	Window   needs.Window // the need as it is published
	// Least and Most are what the animal needs; nil where there is no such
	// side. They go with the energy or dry matter that it gets.
	Least, Most *float64
	// Got is what it gets: the mean is that of the known part, the ends hold
	// 90 of 100 sets of bags whatever the unknown part holds.
	// Without a known part there is no mean.
	Got     serving.Range
	Known   float64 // share of the dry matter eaten for which the figure is known
	Parts   []Part  // by origin; their amounts add up to Got.Mean
	Verdict Verdict
	Open    Open             // why it is not known
	How     catalog.Evidence // the worse of need and figures
	lacks   state            // whether the lower end holds
}

// MayLack reports whether the row is low or could be; a row that is not known
// and holds at its lower end could only be high.
func (r Row) MayLack() bool { return r.lacks != holds }

// Part is what one origin brings.
type Part struct {
	Origin Origin
	Amount float64 // of its known part
	Known  float64 // share of its dry matter for which the figure is known; 0 where nothing is fed
	Fed    bool
}

// Ratio is what is got as a share of the least that is needed, or 0.
func (r Row) Ratio() float64 {
	if r.Least == nil || *r.Least <= 0 {
		return 0
	}
	return r.Got.Mean / *r.Least
}

// Ledger works the diet out.
func (p *Plan) Ledger() *Ledger {
	d := p.diet()
	l := &Ledger{Plan: p}
	for _, a := range p.accounts() {
		for _, n := range needsOf(a.Stage) {
			a.Rows = append(a.Rows, p.row(d, a, n))
		}
		a.Rows = append([]Row{p.energyRow(d, a)}, a.Rows...)
		for _, lim := range p.limits(a) {
			a.Limits = append(a.Limits, p.limitRow(d, lim))
		}
		l.Accounts = append(l.Accounts, a)
	}
	l.Notes = p.notes(l)
	return l
}

// accounts groups the animals by species and stage, in the document's order.
func (p *Plan) accounts() []Account {
	var list []Account
next:
	for i, f := range p.Animals {
		for j := range list {
			if list[j].Species == f.Species && list[j].Stage == f.Stage {
				list[j].Animals = append(list[j].Animals, i)
				continue next
			}
		}
		list = append(list, Account{Species: f.Species, Stage: f.Stage, Animals: []int{i}})
	}
	for j := range list {
		for _, i := range list[j].Animals {
			list[j].Share += p.Animals[i].Share
		}
		list[j].Share /= float64(len(list[j].Animals))
	}
	return list
}

// published begins the sources whose figures are needs of a whole diet.
const published = "nrc-"

// needsOf picks the needs of a stage for a whole diet: the published least
// amounts of each figure, the species' own before those that stand in; for
// protein, fat and fibre the windows that a mix starts with; and the ratio of
// calcium to phosphorus.
func needsOf(st *needs.Stage) []needs.Window {
	best := map[[2]nutrient.Key]needs.Window{}
	var order [][2]nutrient.Key
	for _, w := range st.Windows {
		key := [2]nutrient.Key{w.Nutrient, w.Per}
		rank := needRank(w)
		if rank == 0 {
			continue
		}
		old, ok := best[key]
		if !ok {
			order = append(order, key)
		}
		if !ok || rank > needRank(old) {
			best[key] = w
		}
	}
	slices.SortStableFunc(order, func(a, b [2]nutrient.Key) int { return nutrient.Order(a[0]) - nutrient.Order(b[0]) })
	var list []needs.Window
	for _, k := range order {
		w := best[k]
		if w.Nutrient == nutrient.CrudeFibre {
			w.Max = nil // hay and leaf beside the mix may bring any amount
		}
		if w.Min == nil && w.Max == nil {
			continue
		}
		list = append(list, w)
	}
	return list
}

// needRank is 0 for a window that is no need of a whole diet.
func needRank(w needs.Window) int {
	proximate := w.Nutrient == nutrient.CrudeProtein || w.Nutrient == nutrient.CrudeFat || w.Nutrient == nutrient.CrudeFibre
	switch {
	case w.Per != "":
		return 1
	case proximate && w.Default:
		return 3
	case proximate || !strings.HasPrefix(w.Source, published):
		return 0
	case w.StandsIn == "":
		return 2
	}
	return 1
}

// byOf is how a window's figure is brought to a day.
func byOf(w needs.Window) By {
	switch {
	case w.Per != "":
		return ByRatio
	case w.Nutrient == nutrient.CrudeProtein || w.Nutrient == nutrient.CrudeFat || w.Nutrient == nutrient.CrudeFibre:
		return ByDry
	}
	return ByEnergy
}

// edgeOf is one side of a window on the whole diet.
func edgeOf(w needs.Window, bound float64, upper bool) edge {
	e := edge{num: fig(w.Nutrient), bound: bound, upper: upper}
	if w.Basis == nutrient.DryMatter {
		bound = float64(bound * StandardDry)
	}
	switch byOf(w) {
	case ByRatio:
		e.den = fig(w.Per)
	case ByDry:
		e.den, e.bound = dry, bound/StandardDry
	default:
		e.den, e.bound = fig(nutrient.Energy), bound/StandardEnergy
	}
	return e
}

// edges lists both sides of a window; the lower one first.
func edges(w needs.Window) (lower, upper *edge) {
	if w.Min != nil {
		e := edgeOf(w, *w.Min, false)
		lower = &e
	}
	if w.Max != nil {
		e := edgeOf(w, *w.Max, true)
		upper = &e
	}
	return lower, upper
}

func (p *Plan) row(d *diet, a Account, w needs.Window) Row {
	r := Row{Nutrient: w.Nutrient, Per: w.Per, By: byOf(w), Window: w, Verdict: Inside, How: w.How}
	lower, upper := edges(w)
	var total amounts
	scale := 1.0
	if r.By == ByRatio {
		total = d.ratio(w)
	} else {
		total = d.total(fig(w.Nutrient))
		var per float64
		r.Unit, per = DayUnit(w.Nutrient)
		scale = float64(per * a.Share)
	}
	r.Got, r.Known = times(total.Range, scale), total.known
	r.Got.HasMean = r.Got.HasMean && r.Known > 0 // a figure that no food has is not nought
	for i, o := range Origins() {
		r.Parts = append(r.Parts, Part{Origin: o, Amount: float64(total.parts[i] * scale), Known: total.partKnown(i), Fed: total.fed[i]})
	}
	side := func(e *edge) (*float64, state) {
		if e == nil {
			return nil, holds
		}
		v := e.bound
		if r.By != ByRatio {
			v = float64(e.bound * d.total(e.den).Mean * scale)
		}
		return &v, d.state(*e)
	}
	var low, high state
	r.Least, low = side(lower)
	r.Most, high = side(upper)
	if r.Verdict, r.lacks = verdict(low, high), low; r.Verdict == NotKnown {
		r.Open = d.open(lower, upper)
	}
	r.How = r.How.Worse(d.evidence(w.Nutrient))
	return r
}

func verdict(low, high state) Verdict {
	switch {
	case low == broken:
		return Low
	case high == broken:
		return High
	case low == unknown || high == unknown:
		return NotKnown
	}
	return Inside
}

// amounts is what the group gets of something in a day.
type amounts struct {
	serving.Range
	least, most float64 // bounds, without the spread of bags
	known       float64
	parts       [5]float64
	dryKnown    [5]float64
	dryAll      [5]float64
	fed         [5]bool
}

func (a *amounts) partKnown(i int) float64 {
	if a.dryAll[i] == 0 {
		return 0
	}
	return a.dryKnown[i] / a.dryAll[i]
}

// total sums up what a gram brings over a day's foods.
func (d *diet) total(num func(*Served, *brings) lin) amounts {
	a := amounts{Range: serving.Range{HasMean: true}}
	square := 0.0
	known, all := 0.0, 0.0
	for i := range d.served {
		s := &d.served[i]
		n, o := num(s, d.brings[i]), slices.Index(Origins(), s.Origin)
		x := s.PerDay
		a.Mean += float64(x.Mean * n.mean)
		a.parts[o] += float64(x.Mean * n.mean)
		square += float64(n.variance * float64(x.Mean*x.Mean))
		low, high := x.Mean, x.Mean
		if s.Loose {
			low, high = x.Low, x.High
		} else if x.High > x.Low && !s.ByNeed { // what is given by need goes with the need
			sd := float64(n.mean*(x.High-x.Low)) / (2 * analysis.Interval90)
			square += float64(sd * sd)
		}
		a.least += float64(low * n.least)
		a.most += float64(high * n.most)
		g := float64(x.Mean * d.brings[i].dry.middle())
		all += g
		known += float64(g * n.known)
		a.dryAll[o] += g
		a.dryKnown[o] += float64(g * n.known)
		a.fed[o] = a.fed[o] || x.High > 0
	}
	if all > 0 {
		a.known = known / all
	}
	spread := float64(analysis.Interval90 * math.Sqrt(square))
	a.Low, a.High = max(a.least-spread, 0), a.most+spread
	return a
}

// ratio is one total divided by another.
func (d *diet) ratio(w needs.Window) amounts {
	n, q := d.total(fig(w.Nutrient)), d.total(fig(w.Per))
	a := amounts{known: min(n.known, q.known), fed: n.fed}
	if q.Mean > 0 {
		a.Mean, a.HasMean = n.Mean/q.Mean, true
		for i, v := range n.parts {
			a.parts[i] = v / q.Mean
		}
	}
	a.Low, a.High = over(n.Low, q.High, 0), over(n.High, q.Low, math.Inf(1))
	a.dryAll, a.dryKnown = n.dryAll, n.dryKnown
	return a
}

func over(a, b, otherwise float64) float64 {
	if b <= 0 {
		return otherwise
	}
	return a / b
}

// evidence is the worst behind a figure of the diet's foods.
func (d *diet) evidence(k nutrient.Key) catalog.Evidence {
	how := catalog.Measured
	for i := range d.served {
		for _, p := range d.brings[i].of {
			if f, ok := p.Form.Kernel().Figure(k); ok {
				how = how.Worse(f.How)
			}
		}
	}
	return how
}

// DayUnit is the unit in which amounts of a figure for a day are counted, and
// the factor from grams fed times the figure to it.
func DayUnit(k nutrient.Key) (string, float64) {
	info, _ := nutrient.Lookup(k)
	switch {
	case info.Unit == nutrient.KcalPerKg:
		return "kcal", 1.0 / 1000
	case info.Unit == nutrient.IUPerKg:
		return "IU", 1.0 / 1000
	case info.Unit == nutrient.MgPerKg:
		return "µg", 1
	case info.Group == nutrient.Proximate:
		return "g", 1.0 / 100
	}
	return "mg", 10
}

// energyRow holds the energy that an animal gets against what it needs.
func (p *Plan) energyRow(d *diet, a Account) Row {
	t := d.total(fig(nutrient.Energy))
	unit, per := DayUnit(nutrient.Energy)
	scale := float64(per * a.Share)
	need := serving.Range{HasMean: true}
	how := catalog.Measured
	for _, i := range a.Animals {
		f := p.Animals[i]
		need.Mean, need.Low, need.High = need.Mean+f.Need.Mean, need.Low+f.Need.Low, need.High+f.Need.High
		how = how.Worse(f.evidence())
	}
	need = times(need, 1/float64(len(a.Animals)))
	e := a.Species.Energy
	r := Row{Nutrient: nutrient.Energy, Unit: unit, By: ByNeed, Got: times(t.Range, scale), Known: t.known, Least: &need.Low, Most: &need.High,
		Window: needs.Window{Nutrient: nutrient.Energy, Min: &need.Low, Max: &need.High, Source: e.Source, How: how, Note: e.Note},
		How:    how.Worse(d.evidence(nutrient.Energy))}
	for i, o := range Origins() {
		r.Parts = append(r.Parts, Part{Origin: o, Amount: float64(t.parts[i] * scale), Known: t.partKnown(i), Fed: t.fed[i]})
	}
	slack := float64(settled * need.Mean)
	if r.Verdict = energyVerdict(t, scale, need, slack); r.Verdict == NotKnown {
		r.Open = reason(t.known, true)
		if energyVerdict(d.atMeans().total(fig(nutrient.Energy)), scale, need, slack) == NotKnown {
			r.Open = OpenFigures
		}
	}
	switch {
	case r.Verdict == Low:
		r.lacks = broken
	case float64(t.least*scale) < need.Low-slack:
		r.lacks = unknown
	}
	return r
}

// Target names a row: a figure, or the ratio of two.
type Target struct{ Nutrient, Per nutrient.Key }

// Target is the row's name.
func (r Row) Target() Target { return Target{r.Nutrient, r.Per} }

// Shortage is a figure that is low, or could be, for some of the animals.
type Shortage struct {
	Target   Target
	Verdict  Verdict // low, or not known
	Accounts []int   // in Ledger.Accounts
	Row      Row     // of the account that is worst off
}

// Shortages lists the figures that are low, the worst first, and after them
// those that are not known to be enough.
func (l *Ledger) Shortages() []Shortage {
	var list []Shortage
	at := map[Target]int{}
	for i, a := range l.Accounts {
		for _, r := range a.Rows {
			if r.Verdict != Low && (r.Verdict != NotKnown || !r.MayLack()) {
				continue
			}
			j, ok := at[r.Target()]
			if !ok {
				at[r.Target()] = len(list)
				list = append(list, Shortage{r.Target(), r.Verdict, []int{i}, r})
				continue
			}
			list[j].Accounts = append(list[j].Accounts, i)
			if worse(r, list[j].Row) {
				list[j].Verdict, list[j].Row = r.Verdict, r
			}
		}
	}
	slices.SortStableFunc(list, func(a, b Shortage) int {
		switch {
		case worse(a.Row, b.Row):
			return -1
		case worse(b.Row, a.Row):
			return 1
		}
		return 0
	})
	return list
}

// worse orders rows: low ones first, then by the share of the need that is
// got.
func worse(a, b Row) bool {
	if (a.Verdict == Low) != (b.Verdict == Low) {
		return a.Verdict == Low
	}
	return a.Ratio() < b.Ratio()
}
