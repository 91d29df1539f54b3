package files

import (
	"fmt"
	"sort"
	"strconv"
	"strings"

	"firlot/catalog"
	"firlot/internal/tomldoc"
	"firlot/mix"
	"firlot/needs"
	"firlot/nutrient"
)

// Format writes a document as TOML. Reading it again gives the same document,
// but for comments, which a document does not hold.
func Format(d *mix.Document) []byte {
	w := &writer{}
	w.text("title", d.Title)
	w.text("note", d.Note)
	w.text("species", d.Species)
	w.text("stage", d.Stage)
	w.mass("batch", d.Batch)
	if d.StepOunces > 0 {
		w.text("step", strconv.FormatFloat(d.StepOunces, 'f', -1, 64)+" oz")
	} else {
		w.mass("step", d.Step)
	}
	if d.Sureness > 0 {
		w.figure("sureness", &d.Sureness)
	}
	w.text("prefer", string(d.Prefer))
	w.text("currency", d.Currency)
	w.count("least_ingredients", d.LeastIngredients)
	w.count("most_ingredients", d.MostIngredients)
	for _, x := range d.Windows {
		w.window(x)
	}
	for _, g := range d.Groups {
		w.group(g)
	}
	for _, l := range d.Lines {
		w.line(l)
	}
	for _, in := range d.Own {
		w.own(in)
	}
	return []byte(w.String())
}

type writer struct{ strings.Builder }

func (w *writer) text(key, value string) {
	if value != "" {
		fmt.Fprintf(w, "%s = %s\n", key, tomldoc.Quote(value))
	}
}

func (w *writer) mass(key string, m nutrient.Mass) {
	if m > 0 {
		w.text(key, m.String())
	}
}

func (w *writer) count(key string, n int) {
	if n > 0 {
		fmt.Fprintf(w, "%s = %d\n", key, n)
	}
}

func (w *writer) figure(key string, v *float64) {
	if v != nil {
		fmt.Fprintf(w, "%s = %s\n", key, tomldoc.Decimal(*v))
	}
}

func (w *writer) amount(key string, a mix.Amount) {
	switch {
	case !a.Set:
	case a.Share:
		w.text(key, strconv.FormatFloat(a.Percent, 'f', -1, 64)+" %")
	default:
		w.text(key, a.Mass.String())
	}
}

func (w *writer) list(key string, values []string) {
	if len(values) == 0 {
		return
	}
	quoted := make([]string, len(values))
	for i, s := range values {
		quoted[i] = tomldoc.Quote(s)
	}
	fmt.Fprintf(w, "%s = [%s]\n", key, strings.Join(quoted, ", "))
}

func (w *writer) window(x mix.Window) {
	w.WriteString("\n[[window]]\n")
	w.text("nutrient", string(x.Nutrient))
	w.text("per", string(x.Per))
	w.figure("min", x.Min)
	w.figure("max", x.Max)
	if x.Basis == nutrient.DryMatter {
		w.text("basis", string(x.Basis))
	}
	if x.On == needs.Eaten {
		w.text("on", string(x.On))
	}
	w.text("source", x.Source)
	if x.Off {
		w.WriteString("off = true\n")
	}
	w.text("note", x.Note)
}

func (w *writer) group(g mix.Group) {
	w.WriteString("\n[[group]]\n")
	w.text("name", g.Name)
	w.list("of", g.Of)
	w.text("class", string(g.Class))
	w.amount("floor", g.Floor)
	w.amount("ceiling", g.Ceiling)
	w.count("least_ingredients", g.LeastIngredients)
	w.count("most_ingredients", g.MostIngredients)
}

func (w *writer) line(l mix.Line) {
	w.WriteString("\n[[line]]\n")
	w.text("ingredient", l.Ingredient)
	w.amount("floor", l.Floor)
	w.amount("ceiling", l.Ceiling)
	w.amount("nothing_or", l.NothingOr)
	w.amount("on_hand", l.OnHand)
	w.figure("price", l.Price)
	w.amount("base", l.Base)
	w.amount("amount", l.Amount)
}

func (w *writer) own(in *catalog.Ingredient) {
	f := in.Forms[0]
	w.WriteString("\n[[own]]\n")
	w.text("id", in.ID)
	w.text("name", in.Names.First("en"))
	w.text("class", string(in.Class))
	kind, source := fromLabel, ""
	keys := make([]string, 0, len(f.Figures))
	for k, fig := range f.Figures {
		keys = append(keys, string(k))
		kind, source, _ = strings.Cut(fig.Source, ": ")
	}
	sort.Strings(keys)
	w.text("kind", kind)
	w.text("source", source)
	if f.BulkDensity != nil {
		w.figure("bulk_density", &f.BulkDensity.Mean)
	}
	w.list("cautions", f.Cautions)
	if len(keys) == 0 {
		return
	}
	w.WriteString("[own.figures]\n")
	for _, k := range keys {
		fig := f.Figures[nutrient.Key(k)]
		switch {
		case fig.SD == 0 && fig.N == 0:
			fmt.Fprintf(w, "%s = %s\n", k, tomldoc.Decimal(fig.Mean))
		default:
			fmt.Fprintf(w, "%s = { mean = %s, sd = %s, n = %d }\n", k, tomldoc.Decimal(fig.Mean), tomldoc.Decimal(fig.SD), fig.N)
		}
	}
}
