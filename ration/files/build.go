package files

import (
	"fmt"
	"math"
	"slices"

	"firlot/internal/tomldoc"
	"firlot/ration"
)

func (r *rawDocument) build(doc *tomldoc.Document) (*ration.Document, error) {
	b := &builder{doc: doc}
	d := &ration.Document{Title: r.Title, Note: r.Note, Species: r.Species, Mix: r.Mix, Spoon: b.spoon("spoon", r.Spoon), OwnSpoon: b.ownSpoon(r.Own)}
	for _, s := range []struct {
		at      string
		n, most int
	}{{"line", len(r.Line), ration.MaxLines}, {"animal", len(r.Animal), ration.MaxAnimals}, {"food", len(r.Food), ration.MaxFoods},
		{"away", len(r.Away), ration.MaxFoods}, {"weight", len(r.Weight) + len(r.Bowl) + len(r.Sign), ration.MaxRecords}} {
		if s.n > s.most {
			b.fail(s.at, fmt.Sprintf("there are %d; %d is the most", s.n, s.most), "")
		}
	}
	if b.err != nil {
		return nil, b.err
	}
	for i, l := range r.Line {
		at := fmt.Sprintf("line[%d]", i)
		d.Lines = append(d.Lines, ration.Line{Ingredient: l.Ingredient, Mass: b.mass(at+".amount", l.Amount)})
	}
	if len(d.Lines) > 0 && d.Mix != "" {
		b.fail("mix", "the mix is named, and stands in the document too", "keep one: mix, or [[line]]")
	}
	b.animals(r, d)
	b.foods(r, d)
	b.times(r, d)
	b.records(r, d)
	if b.err != nil {
		return nil, b.err
	}
	return d, nil
}

var sexes = []string{"female", "male"}

func (b *builder) animals(r *rawDocument, d *ration.Document) {
	for i, a := range r.Animal {
		at := fmt.Sprintf("animal[%d]", i)
		b.word(at+".sex", a.Sex, sexes)
		b.word(at+".breeding", a.Breeding, []string{string(ration.Pregnant), string(ration.Nursing)})
		d.Animals = append(d.Animals, ration.Animal{Name: a.Name, Species: a.Species, Sex: a.Sex, Born: b.day(at+".born", a.Born),
			Stage: a.Stage, Breeding: ration.Breeding(a.Breeding), Since: b.day(at+".since", a.Since), Gone: b.day(at+".gone", a.Gone), Note: a.Note})
	}
}

func (b *builder) foods(r *rawDocument, d *ration.Document) {
	var ways []string
	for _, w := range ration.Ways() {
		ways = append(ways, string(w))
	}
	for i, f := range r.Food {
		at := fmt.Sprintf("food[%d]", i)
		b.word(at+".way", f.Way, ways)
		out := ration.Food{Food: f.Food, Amount: b.amount(at+".amount", f.Amount), Each: f.Each, Days: b.days(at+".days", f.Days),
			From: b.day(at+".from", f.From), Until: b.day(at+".until", f.Until), AtWill: f.AtWill, At: f.At, Way: ration.Way(f.Way), Note: f.Note,
			Most: b.amount(at+".most", f.Most), OnHand: b.mass(at+".on_hand", f.OnHand), Pack: b.mass(at+".pack", f.Pack), Price: f.Price}
		out.Every = b.count(at+".every", f.Every, ration.MaxEvery)
		out.Times = b.count(at+".times", f.Times, ration.MaxFeedings)
		b.eaten(at+".eaten", f.Eaten, &out)
		for j, t := range f.At {
			if !clock(t) {
				b.fail(fmt.Sprintf("%s.at[%d]", at, j), fmt.Sprintf("%q is not a time of day", t), "write hours and minutes, as in 08:00")
			}
		}
		if f.Price != nil && !(*f.Price >= 0 && *f.Price <= mostPrice) {
			b.fail(at+".price", fmt.Sprintf("%v is not a price", *f.Price), "write what a pack costs, such as 4.20")
		}
		d.Foods = append(d.Foods, out)
	}
}

const mostPrice = 1e9

// count reads a whole number from 1 up; what is left out is 0.
func (b *builder) count(at string, v *int, most int) int {
	switch {
	case v == nil:
		return 0
	case *v < 1 || *v > most:
		b.fail(at, fmt.Sprintf("%d is out of range", *v), fmt.Sprintf("it is 1 to %d", most))
	}
	return *v
}

// eaten reads what an animal is taken to eat in a day: one mass, or the least
// and the most.
func (b *builder) eaten(at string, list []string, f *ration.Food) {
	switch {
	case len(list) == 0:
		return
	case len(list) > 2:
		b.fail(at, fmt.Sprintf("there are %d masses", len(list)), `write the least and the most, as in ["0.5 g", "2 g"]`)
		return
	}
	f.EatenLow = b.mass(at+"[0]", list[0])
	f.EatenHigh = b.mass(fmt.Sprintf("%s[%d]", at, len(list)-1), list[len(list)-1])
	if f.EatenLow > f.EatenHigh {
		b.fail(at, "the least is more than the most", "turn them round")
	}
	if f.EatenHigh == 0 {
		b.fail(at, "is nothing", "leave it out, and a range is assumed")
	}
}

// clock reports whether a text is hours and minutes of a day.
func clock(s string) bool {
	if len(s) != 5 || s[2] != ':' {
		return false
	}
	for _, i := range []int{0, 1, 3, 4} {
		if s[i] < '0' || s[i] > '9' {
			return false
		}
	}
	return s[:2] < "24" && s[3:] < "60"
}

func (b *builder) times(r *rawDocument, d *ration.Document) {
	for i, a := range r.Away {
		at := fmt.Sprintf("away[%d]", i)
		d.Away = append(d.Away, ration.Away{From: b.day(at+".from", a.From), To: b.day(at+".to", a.To), Who: a.Who, Note: a.Note})
	}
	if c := r.Change; c != nil {
		d.Change = &ration.Change{Mix: c.Mix, From: b.day("change.from", c.From), Days: c.Days}
		if c.Days < 0 || c.Days > ration.MaxEvery {
			b.fail("change.days", fmt.Sprintf("%d is out of range", c.Days), fmt.Sprintf("it is 1 to %d; ten are common", ration.MaxEvery))
		}
	}
}

func (b *builder) records(r *rawDocument, d *ration.Document) {
	for i, w := range r.Weight {
		at := fmt.Sprintf("weight[%d]", i)
		d.Weights = append(d.Weights, ration.Weighing{Day: b.day(at+".day", w.Day), Animal: w.Animal, Mass: b.mass(at+".mass", w.Mass), Note: w.Note})
	}
	for i, o := range r.Bowl {
		at := fmt.Sprintf("bowl[%d]", i)
		out := ration.Bowl{Day: b.day(at+".day", o.Day), Food: o.Food, Offered: b.mass(at+".offered", o.Offered), Left: b.mass(at+".left", o.Left),
			HasLeft: o.Left != "", Husks: b.mass(at+".husks", o.Husks), Note: o.Note}
		kinds := make([]string, 0, len(o.Sorted))
		for k := range o.Sorted {
			kinds = append(kinds, k)
		}
		slices.Sort(kinds)
		for _, k := range kinds {
			out.Sorted = append(out.Sorted, ration.Sorted{Food: k, Left: b.mass(at+".sorted."+k, o.Sorted[k])})
		}
		slices.SortStableFunc(out.Sorted, func(x, y ration.Sorted) int {
			return b.start(at+".sorted."+x.Food) - b.start(at+".sorted."+y.Food)
		})
		d.Bowls = append(d.Bowls, out)
	}
	var known []string
	for _, s := range ration.Signs() {
		known = append(known, string(s.Sign))
	}
	for i, s := range r.Sign {
		at := fmt.Sprintf("sign[%d]", i)
		b.word(at+".what", s.What, known)
		d.Sightings = append(d.Sightings, ration.Sighting{Day: b.day(at+".day", s.Day), Animal: s.Animal, What: ration.Sign(s.What), Note: s.Note})
	}
}

// start is where a value stands in the text.
func (b *builder) start(at string) int {
	if p, ok := b.doc.Place(at); ok {
		return p.Key.Start
	}
	return math.MaxInt
}
