package files

import (
	"fmt"
	"strconv"
	"strings"

	"firlot/internal/tomldoc"
	"firlot/nutrient"
	"firlot/ration"
	"firlot/serving"
)

// Format writes a document as TOML. Reading it again gives the same document,
// but for comments, which a document does not hold.
func Format(d *ration.Document) []byte {
	w := &writer{}
	w.text("title", d.Title)
	w.text("note", d.Note)
	w.text("species", d.Species)
	w.text("mix", d.Mix)
	if d.Spoon != serving.US {
		w.text("spoon", string(d.Spoon))
	}
	if o := d.OwnSpoon; o != nil {
		w.WriteString("\n[own_spoon]\n")
		w.text("name", o.Name)
		w.mass("holds", o.Holds)
		if o.ML > 0 {
			w.WriteString("ml = " + tomldoc.Decimal(o.ML) + "\n")
		}
	}
	for _, l := range d.Lines {
		w.head("line")
		w.text("ingredient", l.Ingredient)
		w.mass("amount", l.Mass)
	}
	for _, a := range d.Animals {
		w.animal(a)
	}
	for _, f := range d.Foods {
		w.food(f)
	}
	for _, a := range d.Away {
		w.head("away")
		w.day("from", a.From)
		w.day("to", a.To)
		w.text("who", a.Who)
		w.text("note", a.Note)
	}
	if c := d.Change; c != nil {
		w.WriteString("\n[change]\n")
		w.text("mix", c.Mix)
		w.day("from", c.From)
		w.count("days", c.Days)
	}
	w.records(Records{d.Weights, d.Bowls, d.Sightings})
	return []byte(w.String())
}

// Records are what a keeper writes down from day to day.
type Records struct {
	Weights   []ration.Weighing
	Bowls     []ration.Bowl
	Sightings []ration.Sighting
}

type writer struct{ strings.Builder }

func (w *writer) head(name string) { fmt.Fprintf(w, "\n[[%s]]\n", name) }

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

func (w *writer) day(key string, d ration.Day) {
	if d != 0 {
		fmt.Fprintf(w, "%s = %s\n", key, d)
	}
}

func (w *writer) count(key string, n int) {
	if n > 0 {
		fmt.Fprintf(w, "%s = %d\n", key, n)
	}
}

func (w *writer) truth(key string, v bool) {
	if v {
		fmt.Fprintf(w, "%s = true\n", key)
	}
}

func (w *writer) list(key string, values []string) {
	if len(values) > 0 {
		fmt.Fprintf(w, "%s = %s\n", key, quoted(values))
	}
}

func quoted(values []string) string {
	out := make([]string, len(values))
	for i, s := range values {
		out[i] = tomldoc.Quote(s)
	}
	return "[" + strings.Join(out, ", ") + "]"
}

func (w *writer) animal(a ration.Animal) {
	w.head("animal")
	w.text("name", a.Name)
	w.text("species", a.Species)
	w.text("sex", a.Sex)
	w.day("born", a.Born)
	w.text("stage", a.Stage)
	w.text("breeding", string(a.Breeding))
	w.day("since", a.Since)
	w.day("gone", a.Gone)
	w.text("note", a.Note)
}

func (w *writer) food(f ration.Food) {
	w.head("food")
	w.text("food", f.Food)
	w.text("amount", amountText(f.Amount))
	w.truth("each", f.Each)
	if f.Days != 0 {
		w.WriteString("days = " + daysText(f.Days) + "\n")
	}
	w.count("every", f.Every)
	w.day("from", f.From)
	w.day("until", f.Until)
	w.truth("at_will", f.AtWill)
	switch {
	case f.EatenHigh > 0 && f.EatenLow == f.EatenHigh:
		w.list("eaten", []string{f.EatenLow.String()})
	case f.EatenHigh > 0:
		w.list("eaten", []string{f.EatenLow.String(), f.EatenHigh.String()})
	}
	w.count("times", f.Times)
	w.list("at", f.At)
	w.text("way", string(f.Way))
	w.text("most", amountText(f.Most))
	w.mass("on_hand", f.OnHand)
	w.mass("pack", f.Pack)
	if f.Price != nil {
		w.WriteString("price = " + tomldoc.Decimal(*f.Price) + "\n")
	}
	w.text("note", f.Note)
}

// daysText writes days of the week as a document has them.
func daysText(d ration.Weekdays) string {
	if d == ration.EveryDay {
		return tomldoc.Quote("daily")
	}
	return quoted(d.Names())
}

// amountText writes an amount as a document has it; none is the empty text.
func amountText(a ration.Amount) string {
	switch {
	case !a.Set:
		return ""
	case a.Unit == ration.Grams:
		return a.Mass.String()
	case (a.Unit == ration.Pieces || a.Unit == ration.OwnSpoons) && a.Count != 1:
		return plain(a.Count) + " " + string(a.Unit) + "s"
	}
	return plain(a.Count) + " " + string(a.Unit)
}

func (w *writer) records(r Records) {
	for _, x := range r.Weights {
		w.head("weight")
		w.day("day", x.Day)
		w.text("animal", x.Animal)
		w.mass("mass", x.Mass)
		w.text("note", x.Note)
	}
	for _, x := range r.Bowls {
		w.head("bowl")
		w.day("day", x.Day)
		w.text("food", x.Food)
		w.mass("offered", x.Offered)
		if x.HasLeft {
			w.text("left", x.Left.String())
		}
		w.mass("husks", x.Husks)
		if len(x.Sorted) > 0 {
			parts := make([]string, len(x.Sorted))
			for i, s := range x.Sorted {
				parts[i] = tomldoc.Quote(s.Food) + " = " + tomldoc.Quote(s.Left.String())
			}
			w.WriteString("sorted = { " + strings.Join(parts, ", ") + " }\n")
		}
		w.text("note", x.Note)
	}
	for _, x := range r.Sightings {
		w.head("sign")
		w.day("day", x.Day)
		w.text("animal", x.Animal)
		w.text("what", string(x.What))
		w.text("note", x.Note)
	}
}

func plain(v float64) string { return strconv.FormatFloat(v, 'f', -1, 64) }
