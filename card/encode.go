package card

import (
	"sort"

	"firlot/catalog"
	"firlot/mix"
	"firlot/needs"
	"firlot/nutrient"
)

// encoder writes a card. Sources and notes, which many figures share, stand
// once in a list of texts; the first of them is the empty one.
type encoder struct {
	writer
	texts []string
	at    map[string]int
}

// Encode returns the card's canonical text: the same card gives the same
// bytes. They are JSON that can stand inside a script element as it is.
func Encode(c *Card) []byte {
	e := &encoder{texts: []string{""}, at: map[string]int{"": 0}}
	e.tables(c)
	tables := e.b
	w := &writer{}
	w.object(func() {
		w.key("format")
		w.text(Format)
		w.key("version")
		w.whole(Version)
		head(w, c)
		w.textsAt("texts", e.texts[1:])
		w.b = append(append(w.b, ','), tables...)
	})
	return w.b
}

func head(w *writer, c *Card) {
	w.textAt("title", c.Title)
	w.textAt("publisher", c.Publisher)
	w.textAt("words", c.Words)
	w.textAt("licence", c.Licence)
	w.textAt("hosted", c.Hosted)
	w.textAt("date", c.Date)
	w.wholeAt("edition", int64(c.Edition))
	w.textsAt("languages", c.Languages)
	w.textsAt("may_change", c.Changes.words())
}

// The words for what a reader may change.
const (
	changeBatch    = "batch"
	changeStep     = "step"
	changeSureness = "sureness"
	changeStage    = "stage"
)

func (c Changes) words() []string {
	var list []string
	for _, x := range []struct {
		may  bool
		word string
	}{{c.Batch, changeBatch}, {c.Step, changeStep}, {c.Sureness, changeSureness}, {c.Stage, changeStage}} {
		if x.may {
			list = append(list, x.word)
		}
	}
	return list
}

// tables writes the members that hold figures or stand after them.
func (e *encoder) tables(c *Card) {
	e.listAt("ingredients", len(c.Ingredients), func(i int) { e.ingredient(c.Ingredients[i]) })
	e.listAt("species", len(c.Species), func(i int) { e.species(c.Species[i]) })
	keys := make([]string, 0, len(c.Sources))
	for k := range c.Sources {
		keys = append(keys, k)
	}
	sort.Strings(keys)
	e.listAt("sources", len(keys), func(i int) { e.source(c.Sources[keys[i]]) })
	e.textsAt("offered", c.Offered)
	e.listAt("mixes", len(c.Mixes), func(i int) { e.mix(c.Mixes[i]) })
	if c.Base != nil {
		e.key("base")
		e.base(c.Base)
	}
}

func (e *encoder) text1(s string) int64 {
	i, ok := e.at[s]
	if !ok {
		i = len(e.texts)
		e.at[s], e.texts = i, append(e.texts, s)
	}
	return int64(i)
}

func (e *encoder) source(s catalog.Source) {
	e.object(func() {
		e.textAt("key", s.Key)
		e.textAt("title", s.Title)
		e.textAt("publisher", s.Publisher)
		e.wholeAt("year", int64(s.Year))
		e.textAt("licence", s.Licence)
		e.textAt("link", s.Link)
	})
}

func (e *encoder) names(n catalog.Names) {
	langs := make([]string, 0, len(n))
	for l := range n {
		langs = append(langs, l)
	}
	if len(langs) == 0 {
		return
	}
	sort.Strings(langs)
	e.key("names")
	e.object(func() {
		for _, l := range langs {
			e.textsAt(l, n[l])
		}
	})
}

func (e *encoder) ingredient(in *catalog.Ingredient) {
	e.object(func() {
		e.textAt("id", in.ID)
		e.textAt("latin", in.Latin)
		e.textAt("class", string(in.Class))
		e.textAt("family", in.Family)
		e.textAt("note", in.Note)
		e.names(in.Names)
		e.listAt("forms", len(in.Forms), func(i int) { e.form(in.Forms[i]) })
	})
}

func (e *encoder) form(f *catalog.Form) {
	e.object(func() {
		e.textAt("id", f.ID)
		e.textAt("state", f.State)
		e.names(f.Names)
		e.textAt("looks", f.Looks)
		e.listAt("confused", len(f.Confused), func(i int) {
			e.object(func() {
				e.textAt("with", f.Confused[i].With)
				e.textAt("tell", f.Confused[i].Tell)
			})
		})
		e.textAt("shape", f.Shape)
		e.textsAt("colours", f.Colours)
		e.textAt("eaten_as", f.EatenAs)
		for _, q := range quantities(f) {
			if *q.at != nil {
				e.key(q.name)
				e.figure(**q.at)
			}
		}
		e.listAt("limits", len(f.Limits), func(i int) { e.limit(f.Limits[i]) })
		e.textsAt("cautions", f.Cautions)
		e.textAt("balance", f.Balance)
		e.figures(f.Figures)
	})
}

// quantity is a figure of a form that is not a share of the feed.
type quantity struct {
	name string
	at   **catalog.Figure
	most float64
}

func quantities(f *catalog.Form) []quantity {
	return []quantity{{"hull", &f.Hull, 100}, {"hull_left", &f.HullLeft, 100}, {"thousand_kernels", &f.ThousandKernels, 1e5},
		{"length", &f.Length, 1e3}, {"width", &f.Width, 1e3}, {"bulk_density", &f.BulkDensity, 3}, {"keeps_months", &f.KeepsMonths, 1200}}
}

func (e *encoder) figures(figures map[nutrient.Key]catalog.Figure) {
	if len(figures) == 0 {
		return
	}
	e.key("figures")
	e.object(func() {
		for _, info := range nutrient.All() {
			if fig, ok := figures[info.Key]; ok {
				e.key(string(info.Key))
				e.figure(fig)
			}
		}
	})
}

// figure writes mean, source, evidence, and as far as they are known spread,
// number of samples, note, lowest and highest.
func (e *encoder) figure(f catalog.Figure) {
	last := 3
	for i, set := range []bool{f.SD != 0, f.N != 0, f.Note != "", false, f.Ranged} {
		if set {
			last = 4 + i
		}
	}
	e.array(func() {
		e.number(f.Mean)
		e.whole(e.text1(f.Source))
		e.whole(int64(f.How.Rank()))
		for i, write := range []func(){func() { e.number(f.SD) }, func() { e.whole(int64(f.N)) }, func() { e.whole(e.text1(f.Note)) },
			func() { e.number(f.Low) }, func() { e.number(f.High) }} {
			if 3+i < last {
				write()
			}
		}
	})
}

func (e *encoder) limit(l catalog.Limit) {
	e.object(func() {
		e.key("most")
		e.number(l.Most)
		e.textAt("why", l.Why)
		e.textAt("source", l.Source)
		e.textAt("how", string(l.How))
		e.textsAt("species", l.Species)
		e.textAt("with", l.With)
	})
}

func (e *encoder) species(s *needs.Species) {
	e.object(func() {
		e.textAt("id", s.ID)
		e.textAt("latin", s.Latin)
		e.names(s.Names)
		e.textAt("note", s.Note)
		if s.AdultWeight != nil {
			e.key("adult_weight")
			e.figure(*s.AdultWeight)
		}
		if x := s.Energy; x != nil {
			e.key("energy")
			e.object(func() {
				e.numberAt("factor", x.Factor)
				e.numberAt("low", x.Low)
				e.numberAt("high", x.High)
				e.textAt("source", x.Source)
				e.textAt("how", string(x.How))
				e.textAt("note", x.Note)
				e.listAt("states", len(x.States), func(i int) { e.state(x.States[i]) })
			})
		}
		e.listAt("stages", len(s.Stages), func(i int) { e.stage(&s.Stages[i]) })
	})
}

func (e *encoder) state(s needs.EnergyState) {
	e.object(func() {
		e.textAt("state", s.State)
		e.numberAt("times", s.Times)
		e.numberAt("low", s.Low)
		e.numberAt("high", s.High)
		e.textAt("source", s.Source)
		e.textAt("how", string(s.How))
		e.textAt("note", s.Note)
	})
}

func (e *encoder) stage(s *needs.Stage) {
	e.object(func() {
		e.textAt("id", s.ID)
		e.names(s.Names)
		e.wholeAt("from_days", int64(s.FromDays))
		e.wholeAt("to_days", int64(s.ToDays))
		e.textAt("source", s.Source)
		e.textAt("how", string(s.How))
		e.textAt("note", s.Note)
		e.listAt("windows", len(s.Windows), func(i int) { e.window(s.Windows[i]) })
	})
}

func (e *encoder) window(x needs.Window) {
	e.object(func() {
		e.textAt("nutrient", string(x.Nutrient))
		e.textAt("per", string(x.Per))
		e.maybeAt("min", x.Min)
		e.maybeAt("max", x.Max)
		e.textAt("basis", string(x.Basis))
		e.textAt("on", string(x.On))
		e.textAt("source", x.Source)
		e.textAt("how", string(x.How))
		e.textAt("note", x.Note)
		e.textAt("stands_in", x.StandsIn)
		e.truthAt("default", x.Default)
		e.truthAt("enforce", x.Enforce)
	})
}

func (e *encoder) mix(m Mix) {
	e.object(func() {
		e.key("document")
		e.document(m.Document)
		e.listAt("amounts_mg", len(m.Amounts), func(i int) { e.whole(int64(m.Amounts[i])) })
		if len(m.Certificate) > 0 {
			e.key("certificate")
			e.raw(m.Certificate)
		}
	})
}

func (e *encoder) document(d *mix.Document) {
	e.object(func() {
		e.textAt("title", d.Title)
		e.textAt("note", d.Note)
		e.textAt("species", d.Species)
		e.textAt("stage", d.Stage)
		e.wholeAt("batch_mg", int64(d.Batch))
		e.wholeAt("step_mg", int64(d.Step))
		e.numberAt("step_ounces", d.StepOunces)
		e.numberAt("sureness", d.Sureness)
		e.textAt("prefer", string(d.Prefer))
		e.textAt("currency", d.Currency)
		e.wholeAt("least_ingredients", int64(d.LeastIngredients))
		e.wholeAt("most_ingredients", int64(d.MostIngredients))
		e.listAt("windows", len(d.Windows), func(i int) { e.asked(d.Windows[i]) })
		e.listAt("groups", len(d.Groups), func(i int) { e.group(d.Groups[i]) })
		e.listAt("lines", len(d.Lines), func(i int) { e.line(d.Lines[i]) })
		e.listAt("own", len(d.Own), func(i int) { e.ingredient(d.Own[i]) })
	})
}

func (e *encoder) asked(x mix.Window) {
	e.object(func() {
		e.textAt("nutrient", string(x.Nutrient))
		e.textAt("per", string(x.Per))
		e.maybeAt("min", x.Min)
		e.maybeAt("max", x.Max)
		e.textAt("basis", string(x.Basis))
		e.textAt("on", string(x.On))
		e.textAt("source", x.Source)
		e.truthAt("off", x.Off)
		e.textAt("note", x.Note)
	})
}

func (e *encoder) group(g mix.Group) {
	e.object(func() {
		e.textAt("name", g.Name)
		e.textsAt("of", g.Of)
		e.textAt("class", string(g.Class))
		e.amountAt("floor", g.Floor)
		e.amountAt("ceiling", g.Ceiling)
		e.wholeAt("least_ingredients", int64(g.LeastIngredients))
		e.wholeAt("most_ingredients", int64(g.MostIngredients))
	})
}

func (e *encoder) line(l mix.Line) {
	e.object(func() {
		e.textAt("ingredient", l.Ingredient)
		e.amountAt("floor", l.Floor)
		e.amountAt("ceiling", l.Ceiling)
		e.amountAt("nothing_or", l.NothingOr)
		e.maybeAt("price", l.Price)
		e.amountAt("base", l.Base)
		e.amountAt("amount", l.Amount)
	})
}

// amountAt writes a mass as a whole number of milligrams, a share of the batch
// as an object with its per cent.
func (e *encoder) amountAt(name string, a mix.Amount) {
	if !a.Set {
		return
	}
	e.key(name)
	if !a.Share {
		e.whole(int64(a.Mass))
		return
	}
	e.object(func() {
		e.key("percent")
		e.number(a.Percent)
	})
}

func (e *encoder) base(b *Base) {
	shares := func(name string, list []Share) {
		e.listAt(name, len(list), func(i int) {
			e.object(func() {
				e.textAt("form", list[i].Ref)
				e.wholeAt("mg", int64(list[i].Mass))
			})
		})
	}
	e.object(func() {
		e.textAt("title", b.Title)
		shares("amounts", b.Amounts)
		e.listAt("toppers", len(b.Toppers), func(i int) {
			e.object(func() {
				e.wholeAt("mix", int64(b.Toppers[i].Mix))
				e.wholeAt("base_mg", int64(b.Toppers[i].Base))
				shares("amounts", b.Toppers[i].Amounts)
			})
		})
	})
}
