package report

import (
	"math"
	"strconv"

	"firlot/analysis"
	"firlot/catalog"
	"firlot/formulate"
	"firlot/mix"
	"firlot/needs"
	"firlot/nutrient"
)

// Report is a solved or checked mix.
type Report struct {
	Title   string   `json:"title,omitempty"`
	Status  string   `json:"status"`
	Species string   `json:"species,omitempty"`
	Stage   string   `json:"stage,omitempty"`
	BatchG  Number   `json:"batch_g"`
	StepG   Number   `json:"step_g"`
	Prefer  string   `json:"prefer,omitempty"`
	Amounts []Amount `json:"amounts"`
	Figures []Figure `json:"figures"`
	// Sureness is the joint chance of lying inside all windows; null without
	// a mix or where it is not known.
	Sureness      *Number `json:"sureness"`
	SurenessAsked Number  `json:"sureness_asked"`
	Objective     *Number `json:"objective"`
	Bound         *Number `json:"bound"`
	Gap           *Number `json:"gap"`
	Unit          string  `json:"objective_unit,omitempty"`
	// Clash are limits that cannot hold together, of which none can be left out; Broken are
	// the limits that a checked mix does not keep.
	Clash  []Clash `json:"clash,omitempty"`
	Broken []Clash `json:"broken,omitempty"`
	// Ways are the smallest changes that make an impossible mix possible.
	Ways  *Ways   `json:"ways,omitempty"`
	Shown []Shown `json:"shown,omitempty"`
	// Cautions are said of single ingredients, General of every mix.
	Cautions  []Caution `json:"cautions,omitempty"`
	General   []string  `json:"general_cautions,omitempty"`
	Notes     []string  `json:"notes,omitempty"`
	CostPerKg *Number   `json:"cost_per_kg,omitempty"`
	Currency  string    `json:"currency,omitempty"`
	SolveMs   *Number   `json:"solve_ms,omitempty"`
}

// Amount is one line of the mix.
type Amount struct {
	Ingredient string `json:"ingredient"`
	Form       string `json:"form"`
	Name       string `json:"name"`
	Grams      Number `json:"grams"`
	Percent    Number `json:"percent"`
	// Ounces are given when the scale's step is in ounces or pounds.
	Ounces *Number `json:"ounces,omitempty"`
}

// Figure is one measure of the mix, with the window on it if there is one.
type Figure struct {
	Nutrient   string  `json:"nutrient"`
	Per        string  `json:"per,omitempty"`
	Name       string  `json:"name"`
	Unit       string  `json:"unit"`
	Basis      string  `json:"basis"`
	On         string  `json:"on"`
	Mean       *Number `json:"mean"`
	SD         *Number `json:"sd"`
	Low        *Number `json:"low"`
	High       *Number `json:"high"`
	Least      *Number `json:"least"`
	Most       *Number `json:"most"`
	Evidence   string  `json:"evidence,omitempty"`
	KnownShare Number  `json:"known_share"`
	Window     *Window `json:"window"`
	Verdict    string  `json:"verdict,omitempty"`
	Chance     *Number `json:"chance"`
}

// Window is the range that a figure must or should lie in.
type Window struct {
	Min      *Number `json:"min"`
	Max      *Number `json:"max"`
	Source   string  `json:"source"`
	Evidence string  `json:"evidence,omitempty"`
	Note     string  `json:"note,omitempty"`
}

// Shown is a published window that the mix need not meet by itself.
type Shown struct {
	Nutrient string  `json:"nutrient"`
	Per      string  `json:"per,omitempty"`
	Name     string  `json:"name"`
	Unit     string  `json:"unit"`
	Basis    string  `json:"basis"`
	On       string  `json:"on"`
	Mean     *Number `json:"mean"`
	Window   Window  `json:"window"`
	StandsIn string  `json:"stands_in,omitempty"`
	Verdict  string  `json:"verdict"`
	Known    Number  `json:"known_share"`
}

// Clash is one of a set of limits that cannot hold together, of which none can be
// left out.
type Clash struct {
	Field string `json:"field,omitempty"`
	What  string `json:"what"`
	Reach string `json:"reach,omitempty"`
}

// Caution is what must be said of one ingredient of the mix.
type Caution struct {
	Ingredient string   `json:"ingredient"`
	Form       string   `json:"form"`
	Name       string   `json:"name"`
	Texts      []string `json:"texts"`
}

// Number prints with six significant digits.
type Number float64

// MarshalJSON implements json.Marshaler.
func (n Number) MarshalJSON() ([]byte, error) {
	v := float64(n)
	if math.IsNaN(v) || math.IsInf(v, 0) {
		return []byte("null"), nil
	}
	return strconv.AppendFloat(nil, round6(v), 'f', -1, 64), nil
}

func round6(v float64) float64 {
	if v == 0 {
		return 0
	}
	out, err := strconv.ParseFloat(strconv.FormatFloat(v, 'e', 5, 64), 64)
	if err != nil {
		return v
	}
	return out
}

func num(v float64) *Number {
	n := Number(v)
	return &n
}

// OfAnswer reports a solved mix.
func OfAnswer(a *formulate.Answer) *Report {
	r := head(a.Plan)
	r.Status, r.Prefer, r.Unit = string(a.Status), string(a.Prefer), a.Unit
	r.Notes = a.Notes
	for _, c := range a.Clash {
		r.Clash = append(r.Clash, Clash{c.Path, c.What, c.Reach})
	}
	if a.Steps == nil {
		return r
	}
	r.Objective, r.Bound, r.Gap = num(a.Objective), num(a.Bound), num(a.Gap)
	r.fill(a.Plan, a.Portions(), a.Checks)
	r.Sureness = num(a.Joint)
	return r
}

// The statuses of a checked mix.
const (
	StatusInside   = "inside"
	StatusOutside  = "outside" // of a window, or past a limit of the document or an inclusion limit
	StatusNotKnown = "not known"
)

// OfAmounts reports a mix as it stands.
func OfAmounts(p *mix.Plan, portions []analysis.Portion) *Report {
	r := head(p)
	r.Notes = p.Notes
	r.Status = StatusInside
	if r.Broken = broken(p, portions); len(r.Broken) > 0 {
		r.Status = StatusOutside
	}
	checks := make([]analysis.Check, len(p.Targets))
	var windows []needs.Window
	known := true
	for i, t := range p.Targets {
		checks[i] = analysis.CheckWindow(portions, t.Window)
		windows = append(windows, t.Window)
		switch checks[i].Verdict {
		case analysis.Outside:
			r.Status = StatusOutside
		case analysis.NotKnown:
			known = false
		}
	}
	if !known && r.Status == StatusInside {
		r.Status = StatusNotKnown
	}
	r.fill(p, portions, checks)
	if known {
		r.Sureness = num(analysis.Joint(portions, windows))
	}
	return r
}

func head(p *mix.Plan) *Report {
	r := &Report{Title: p.Document.Title, BatchG: Number(p.Batch().Grams()), StepG: Number(p.Document.Step.Grams()),
		SurenessAsked: Number(p.Document.Sureness), Amounts: []Amount{}, Figures: []Figure{}}
	if p.Species != nil {
		r.Species, r.Stage = p.Species.ID, p.Stage.ID
	}
	return r
}

func (r *Report) fill(p *mix.Plan, portions []analysis.Portion, checks []analysis.Check) {
	total := nutrient.Mass(0)
	for _, q := range portions {
		total += q.Mass
	}
	for _, q := range portions {
		a := Amount{Ingredient: q.Form.Ingredient.ID, Form: q.Form.ID, Name: q.Form.Name("en"),
			Grams: Number(q.Mass.Grams()), Percent: Number(share(q.Mass, total))}
		if oz := p.Document.StepOunces; oz > 0 {
			a.Ounces = num(math.Round(float64(q.Mass)/float64(p.Document.Step)) * oz)
		}
		r.Amounts = append(r.Amounts, a)
	}
	r.BatchG = Number(total.Grams())
	r.Figures = figures(portions, checks)
	if p.Stage != nil {
		r.Shown = shown(p.Stage, portions)
	}
	r.Cautions, r.General = cautions(p, portions), catalog.GeneralCautions()
	r.cost(p, portions, total)
}

func share(m, total nutrient.Mass) float64 {
	if total == 0 {
		return 0
	}
	return 100 * float64(m) / float64(total)
}

// cost is known only when every line that is used has a price.
func (r *Report) cost(p *mix.Plan, portions []analysis.Portion, total nutrient.Mass) {
	sum := 0.0
	for i, q := range portions {
		if q.Mass == 0 {
			continue
		}
		price := p.Document.Lines[i].Price
		if price == nil {
			return
		}
		sum += float64(*price * q.Mass.Grams())
	}
	if total > 0 {
		r.CostPerKg, r.Currency = num(sum/total.Grams()), p.Document.Currency
	}
}

// variants are the ways in which every figure is reported.
var variants = []struct {
	on    needs.Side
	basis nutrient.Basis
}{
	{needs.Offered, nutrient.AsFed}, {needs.Offered, nutrient.DryMatter},
	{needs.Eaten, nutrient.AsFed}, {needs.Eaten, nutrient.DryMatter},
}

// figures lists every measure, those with a window carrying it.
func figures(portions []analysis.Portion, checks []analysis.Check) []Figure {
	byMeasure := map[analysis.Measure]analysis.Check{}
	var list []Figure
	seen := map[analysis.Measure]bool{}
	add := func(m analysis.Measure) {
		if seen[m] {
			return
		}
		seen[m] = true
		f := figureOf(analysis.Of(portions, m))
		if c, ok := byMeasure[m]; ok {
			w := WindowOf(c.Window)
			f.Window, f.Verdict = &w, string(c.Verdict)
			if c.HasChance {
				f.Chance = num(c.Chance)
			}
		}
		list = append(list, f)
	}
	for _, c := range checks {
		byMeasure[analysis.MeasureOf(c.Window)] = c
	}
	for _, c := range checks {
		add(analysis.MeasureOf(c.Window))
	}
	for _, v := range variants {
		for _, info := range nutrient.All() {
			if v.basis == nutrient.DryMatter && info.Key == nutrient.Moisture {
				continue
			}
			add(analysis.Measure{Nutrient: info.Key, Basis: v.basis, On: v.on})
		}
		if v.basis == nutrient.AsFed {
			add(analysis.Measure{Nutrient: nutrient.Calcium, Per: nutrient.Phosphorus, Basis: nutrient.AsFed, On: v.on})
		}
	}
	return list
}

func figureOf(v analysis.Value) Figure {
	m := v.Measure
	info, _ := nutrient.Lookup(m.Nutrient)
	f := Figure{Nutrient: string(m.Nutrient), Per: string(m.Per), Name: info.Name, Unit: string(m.Unit()),
		Basis: string(m.Basis), On: string(m.On), KnownShare: Number(v.KnownShare)}
	if m.Per != "" {
		per, _ := nutrient.Lookup(m.Per)
		f.Name += " to " + per.Name
	}
	f.Least, f.Most = num(v.Least), num(v.Most)
	if v.HasMean {
		f.Mean, f.SD, f.Low, f.High = num(v.Mean), num(v.SD), num(v.Low()), num(v.High())
		f.Evidence = string(v.How)
	}
	return f
}

// WindowOf reports a window.
func WindowOf(w needs.Window) Window {
	out := Window{Source: w.Source, Evidence: string(w.How), Note: w.Note}
	if w.Min != nil {
		out.Min = num(*w.Min)
	}
	if w.Max != nil {
		out.Max = num(*w.Max)
	}
	return out
}

// shown lists the stage's published windows that are not enforced, with what
// the mix alone makes of them.
func shown(s *needs.Stage, portions []analysis.Portion) []Shown {
	var list []Shown
	for _, w := range s.Windows {
		if w.Enforce {
			continue
		}
		c := analysis.CheckWindow(portions, w)
		f := figureOf(c.Value)
		list = append(list, Shown{Nutrient: f.Nutrient, Per: f.Per, Name: f.Name, Unit: f.Unit, Basis: f.Basis, On: f.On,
			Mean: f.Mean, Window: WindowOf(w), StandsIn: w.StandsIn, Verdict: string(c.Verdict), Known: f.KnownShare})
	}
	return list
}

// cautions gathers what must be said about the ingredients in the mix.
func cautions(p *mix.Plan, portions []analysis.Portion) []Caution {
	var list []Caution
	for i, q := range portions {
		if q.Mass == 0 {
			continue
		}
		texts := append([]string(nil), q.Form.Cautions...)
		if l := p.Lines[i]; l.CeilingSafety && q.Mass >= nutrient.Mass(l.Ceiling)*p.Document.Step {
			texts = append(texts, "At "+l.CeilingWhy+": the mix would take more of it.")
		}
		if len(texts) > 0 {
			list = append(list, Caution{q.Form.Ingredient.ID, q.Form.ID, q.Form.Name("en"), texts})
		}
	}
	return list
}
