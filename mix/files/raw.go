package files

import (
	"fmt"
	"maps"
	"math"
	"slices"
	"strconv"
	"strings"

	"firlot/catalog"
	catfiles "firlot/catalog/files"
	"firlot/internal/nearword"
	"firlot/internal/tomldoc"
	"firlot/mix"
	"firlot/needs"
	"firlot/nutrient"
)

type rawDocument struct {
	Title            string         `toml:"title"`
	Note             string         `toml:"note"`
	Species          string         `toml:"species"`
	Stage            string         `toml:"stage"`
	Batch            string         `toml:"batch"`
	Step             string         `toml:"step"`
	Sureness         any            `toml:"sureness"`
	Prefer           mix.Preference `toml:"prefer"`
	Currency         string         `toml:"currency"`
	LeastIngredients int            `toml:"least_ingredients"`
	MostIngredients  int            `toml:"most_ingredients"`
	Window           []rawWindow    `toml:"window"`
	Group            []rawGroup     `toml:"group"`
	Line             []rawLine      `toml:"line"`
	Own              []rawOwn       `toml:"own"`
}

type rawWindow struct {
	Nutrient nutrient.Key `toml:"nutrient"`
	Per      nutrient.Key `toml:"per"`
	Min      *float64     `toml:"min"`
	Max      *float64     `toml:"max"`
	Basis    string       `toml:"basis"`
	On       needs.Side   `toml:"on"`
	Source   string       `toml:"source"`
	Off      bool         `toml:"off"`
	Note     string       `toml:"note"`
}

type rawGroup struct {
	Name             string        `toml:"name"`
	Of               []string      `toml:"of"`
	Class            catalog.Class `toml:"class"`
	Floor            string        `toml:"floor"`
	Ceiling          string        `toml:"ceiling"`
	LeastIngredients int           `toml:"least_ingredients"`
	MostIngredients  int           `toml:"most_ingredients"`
}

type rawLine struct {
	Ingredient string `toml:"ingredient"`
	Floor      string `toml:"floor"`
	Ceiling    string `toml:"ceiling"`
	NothingOr  string `toml:"nothing_or"`
	OnHand     string `toml:"on_hand"`
	Price      any    `toml:"price"`
	Base       string `toml:"base"`
	Amount     string `toml:"amount"`
}

type rawOwn struct {
	ID          string         `toml:"id"`
	Name        string         `toml:"name"`
	Class       catalog.Class  `toml:"class"`
	Kind        string         `toml:"kind"`
	Source      string         `toml:"source"`
	BulkDensity float64        `toml:"bulk_density"`
	Cautions    []string       `toml:"cautions"`
	Figures     map[string]any `toml:"figures"`
}

func (r *rawDocument) build(doc *tomldoc.Document) (*mix.Document, error) {
	d := &mix.Document{Title: r.Title, Note: r.Note, Species: r.Species, Stage: r.Stage, Currency: r.Currency,
		LeastIngredients: r.LeastIngredients, MostIngredients: r.MostIngredients, Prefer: r.Prefer, Step: mix.DefaultStep}
	if len(strings.TrimSpace(string(doc.Source))) == 0 {
		return nil, doc.At("", "the document is empty", "start with title, species, stage, batch and a [[line]]; examples/ holds some")
	}
	var err error
	if d.Batch, err = r.mass(doc, "batch", r.Batch, 0); err != nil {
		return nil, err
	}
	if d.Step, err = r.mass(doc, "step", r.Step, mix.DefaultStep); err != nil {
		return nil, err
	}
	d.StepOunces = ounces(r.Step)
	if d.Sureness, err = sureness(doc, r.Sureness); err != nil {
		return nil, err
	}
	if d.Prefer != "" && !slices.Contains(mix.Preferences(), d.Prefer) {
		return nil, doc.At("prefer", fmt.Sprintf("%q is not a preference", d.Prefer), "use near, cheap, steady or varied")
	}
	for _, n := range []struct {
		path string
		v    int
	}{{"least_ingredients", r.LeastIngredients}, {"most_ingredients", r.MostIngredients}} {
		if n.v < 0 || n.v > mix.MaxLines {
			return nil, doc.At(n.path, fmt.Sprintf("%d is out of range", n.v), fmt.Sprintf("it lies between 0 and %d", mix.MaxLines))
		}
	}
	for _, part := range []func(*tomldoc.Document, *mix.Document) error{r.windows, r.groups, r.lines, r.own} {
		if err := part(doc, d); err != nil {
			return nil, err
		}
	}
	return d, nil
}

func (r *rawDocument) mass(doc *tomldoc.Document, path, text string, unset nutrient.Mass) (nutrient.Mass, error) {
	if text == "" {
		return unset, nil
	}
	m, err := nutrient.ParseMass(text)
	if err != nil {
		_, unit, _ := nutrient.ParseAmount(text)
		return 0, doc.At(path, err.Error(), nearUnit(unit))
	}
	if m == 0 {
		return 0, doc.At(path, fmt.Sprintf("%q is less than a milligram", text), `write for example "1 g"`)
	}
	return m, nil
}

// ounces is a mass in ounces when its text has it in ounces or pounds, else 0.
func ounces(text string) float64 {
	v, unit, err := nutrient.ParseAmount(text)
	switch {
	case err != nil:
		return 0
	case unit == "oz":
		return v
	case unit == "lb":
		return 16 * v
	}
	return 0
}

func sureness(doc *tomldoc.Document, v any) (float64, error) {
	var p float64
	switch t := v.(type) {
	case nil:
		return 0, nil
	case float64:
		p = t
	case int64:
		p = float64(t)
	case string:
		n, unit, err := nutrient.ParseAmount(t)
		if err != nil || unit != "%" {
			return 0, doc.At("sureness", fmt.Sprintf("%q is not a share", t), `write for example sureness = "90 %"`)
		}
		p = n / 100
	default:
		return 0, doc.At("sureness", "is not a number", `write for example sureness = "90 %"`)
	}
	if !(p >= 0.5 && p <= mostSure) {
		return 0, doc.At("sureness", fmt.Sprintf("%v is out of range", v), `it lies between "50 %" and "99.9 %" of sets of bags, or is left out to hold on the means`)
	}
	return p, nil
}

// mostSure is the highest sureness that may be asked for: beyond it the normal
// law says nothing that the figures could bear out.
const mostSure = 0.999

func (r *rawDocument) windows(doc *tomldoc.Document, d *mix.Document) error {
	for i, w := range r.Window {
		at := fmt.Sprintf("window[%d]", i)
		basis, err := nutrient.ParseBasis(w.Basis)
		if err != nil {
			return doc.At(at+".basis", err.Error(), "")
		}
		on := w.On
		if on == "" {
			on = needs.Offered
		}
		if on != needs.Offered && on != needs.Eaten {
			return doc.At(at+".on", fmt.Sprintf("%q is not a side", on), "use offered or eaten")
		}
		if w.Nutrient == "" {
			return doc.At(at, "the window names no nutrient", `write for example nutrient = "crude_protein"`)
		}
		d.Windows = append(d.Windows, mix.Window{Nutrient: w.Nutrient, Per: w.Per, Min: w.Min, Max: w.Max,
			Basis: basis, On: on, Source: w.Source, Off: w.Off, Note: w.Note})
	}
	return nil
}

func (r *rawDocument) groups(doc *tomldoc.Document, d *mix.Document) error {
	if len(r.Group) > mix.MaxGroups {
		return doc.At("group", fmt.Sprintf("there are %d groups; %d is the most", len(r.Group), mix.MaxGroups), "")
	}
	for i, g := range r.Group {
		at := fmt.Sprintf("group[%d]", i)
		out := mix.Group{Name: g.Name, Of: g.Of, Class: g.Class, LeastIngredients: g.LeastIngredients, MostIngredients: g.MostIngredients}
		if g.Class != "" && !slices.Contains(catalog.Classes(), g.Class) {
			return doc.At(at+".class", fmt.Sprintf("%q is not a class", g.Class), classesHint())
		}
		if g.LeastIngredients < 0 || g.MostIngredients < 0 {
			return doc.At(at, "a number of ingredients is below nought", "write 0 or more, or leave it out")
		}
		for _, a := range []struct {
			path, text string
			to         *mix.Amount
		}{{"floor", g.Floor, &out.Floor}, {"ceiling", g.Ceiling, &out.Ceiling}} {
			if err := amount(doc, at+"."+a.path, a.text, a.to); err != nil {
				return err
			}
		}
		d.Groups = append(d.Groups, out)
	}
	return nil
}

func (r *rawDocument) lines(doc *tomldoc.Document, d *mix.Document) error {
	for i, l := range r.Line {
		at := fmt.Sprintf("line[%d]", i)
		out := mix.Line{Ingredient: l.Ingredient}
		for _, a := range []struct {
			path, text string
			to         *mix.Amount
		}{{"floor", l.Floor, &out.Floor}, {"ceiling", l.Ceiling, &out.Ceiling}, {"nothing_or", l.NothingOr, &out.NothingOr},
			{"on_hand", l.OnHand, &out.OnHand}, {"base", l.Base, &out.Base}, {"amount", l.Amount, &out.Amount}} {
			if err := amount(doc, at+"."+a.path, a.text, a.to); err != nil {
				return err
			}
		}
		if out.OnHand.Share {
			return doc.At(at+".on_hand", "what is on hand is a mass, not a share of the batch", `write for example "2 kg"`)
		}
		var err error
		if out.Price, err = price(doc, at+".price", l.Price); err != nil {
			return err
		}
		d.Lines = append(d.Lines, out)
	}
	return nil
}

// amount reads a mass or a share of the batch.
func amount(doc *tomldoc.Document, at, text string, to *mix.Amount) error {
	if text == "" {
		if p, ok := doc.Place(at); ok && p.Value.End > p.Value.Start {
			return doc.At(at, "is empty", `write for example "30 g", or leave it out`)
		}
		return nil
	}
	v, unit, err := nutrient.ParseAmount(text)
	if err != nil {
		return doc.At(at, err.Error(), "")
	}
	if unit == "%" {
		if v < 0 || v > 100 {
			return doc.At(at, fmt.Sprintf("%v %% is out of range", v), "a share of the batch lies between 0 and 100 %")
		}
		*to = mix.Amount{Set: true, Share: true, Percent: v}
		return nil
	}
	m, err := nutrient.MassOf(v, unit)
	if err != nil {
		return doc.At(at, err.Error(), nearUnit(unit))
	}
	*to = mix.Amount{Set: true, Mass: m}
	return nil
}

// nearUnit is a hint for a unit that is nearly one of those in use.
func nearUnit(unit string) string {
	units := []string{"g", "kg", "mg", "oz", "lb", "%"}
	if slices.Contains(units, unit) {
		return ""
	}
	known, meant := append(units, "gram", "gr", "kilo", "kilogram", "ounce", "pound", "percent", "per cent"),
		append(units, "g", "g", "kg", "kg", "oz", "lb", "%", "%")
	if near := nearword.Nearest(unit, known); near != "" {
		return fmt.Sprintf("did you mean %q?", meant[slices.Index(known, near)])
	}
	return ""
}

// price reads a price: a number is for a kilogram, "2.40 per 500 g" for a
// pack.
func price(doc *tomldoc.Document, at string, v any) (*float64, error) {
	var p float64
	switch t := v.(type) {
	case nil:
		return nil, nil
	case float64:
		p = t
	case int64:
		p = float64(t)
	case string:
		sum, pack, ok := strings.Cut(t, "per")
		if !ok {
			return nil, doc.At(at, fmt.Sprintf("%q is not a price", t), `write 3.20 for a kilogram, or "2.40 per 500 g"`)
		}
		var err error
		if p, err = strconv.ParseFloat(strings.TrimSpace(sum), 64); err != nil {
			return nil, doc.At(at, fmt.Sprintf("%q does not start with a plain number", t), `write for example "2.40 per 500 g", with a point for decimals and no currency`)
		}
		m, err := nutrient.ParseMass(pack)
		if err != nil || m == 0 {
			return nil, doc.At(at, fmt.Sprintf("%q names no pack size", t), `write for example "2.40 per 500 g"`)
		}
		p = p / m.Grams() * 1000
	default:
		return nil, doc.At(at, "is not a price", `write 3.20 for a kilogram, or "2.40 per 500 g"`)
	}
	if math.IsNaN(p) || p < 0 || p > 1e9 {
		return nil, doc.At(at, fmt.Sprintf("%v is not a price", v), `write 3.20 for a kilogram, or "2.40 per 500 g"`)
	}
	return &p, nil
}

func (r *rawDocument) own(doc *tomldoc.Document, d *mix.Document) error {
	if len(r.Own) > mix.MaxOwn {
		return doc.At("own", fmt.Sprintf("there are %d own ingredients; %d is the most", len(r.Own), mix.MaxOwn), "")
	}
	for i := range r.Own {
		in, err := r.Own[i].build(doc, fmt.Sprintf("own[%d]", i))
		if err != nil {
			return err
		}
		d.Own = append(d.Own, in)
	}
	return nil
}

// figure is one figure of an own ingredient: a plain number, or a table like
// the catalogue's.
func figure(doc *tomldoc.Document, at string, v any, own *rawOwn) (catalog.Figure, error) {
	raw := catfiles.RawFigure{From: own.from(), How: own.how()}
	switch t := v.(type) {
	case float64:
		raw.Mean = &t
	case int64:
		f := float64(t)
		raw.Mean = &f
	case map[string]any:
		for _, key := range slices.Sorted(maps.Keys(t)) {
			x := t[key]
			n, ok := number(x)
			if !ok || math.IsNaN(n) || math.IsInf(n, 0) {
				return catalog.Figure{}, doc.At(at+"."+key, "is not a number", "write for example { mean = 14.5, sd = 0.8, n = 3 }")
			}
			switch key {
			case "mean":
				raw.Mean = &n
			case "sd":
				raw.SD = n
			case "n":
				if !(n >= 0 && n <= mostSamples && n == math.Trunc(n)) {
					return catalog.Figure{}, doc.At(at+".n", fmt.Sprintf("%v is not a number of samples", n), fmt.Sprintf("write a whole number up to %d", mostSamples))
				}
				raw.N = int(n)
			default:
				return catalog.Figure{}, doc.At(at+"."+key, "this key is not known", "known keys: mean, sd, n")
			}
		}
	default:
		return catalog.Figure{}, doc.At(at, "is not a number", "write for example crude_protein = 14.5")
	}
	return raw.Build(doc, at)
}

// mostSamples bounds the number of samples behind an own figure.
const mostSamples = 1_000_000

func number(v any) (float64, bool) {
	switch t := v.(type) {
	case float64:
		return t, true
	case int64:
		return float64(t), true
	}
	return 0, false
}
