package web

import (
	"fmt"
	"slices"
	"strconv"
	"strings"

	"firlot/catalog"
	"firlot/catalog/find"
	"firlot/internal/store"
	"firlot/mix"
	"firlot/nutrient"
)

// edit takes the form of a mix page over into a document: every field that
// was sent, then the button that was pressed. Complaints are by field.
type edit struct {
	q      *request
	d      *mix.Document
	plan   *mix.Plan // of the document before; nil when it has a problem
	shelf  store.ID  // the mix's
	errors map[string]string
}

func lineField(i int, name string) string  { return fmt.Sprintf("line.%d.%s", i, name) }
func groupField(i int, name string) string { return fmt.Sprintf("group.%d.%s", i, name) }

func (q *request) sent(name string) bool { _, ok := q.PostForm[name]; return ok }

// apply returns the changed document.
func (e *edit) apply() *mix.Document {
	e.head()
	e.lines()
	e.groups()
	e.windows()
	e.press()
	return e.d
}

func (e *edit) bad(name, key string, pairs ...any) { e.errors[name] = e.q.words.T(key, pairs...) }

func (e *edit) head() {
	q := e.q
	if p := mix.Preference(q.value("prefer")); p == "" || slices.Contains(mix.Preferences(), p) {
		if q.sent("prefer") {
			e.d.Prefer = p
		}
	}
	if q.sent("sureness") {
		v, err := strconv.ParseFloat(q.value("sureness"), 64)
		if err == nil && (v == 0 || v >= 50 && v <= 99.9) {
			e.d.Sureness = v / 100
		} else {
			e.bad("sureness", "need_number")
		}
	}
	if q.sent("currency") {
		e.d.Currency = clip(q.value("currency"), 12)
	}
	e.mass("batch", &e.d.Batch)
	e.step()
	e.count("most", &e.d.MostIngredients)
	e.count("least", &e.d.LeastIngredients)
	if e.d.MostIngredients > 0 && e.d.LeastIngredients > e.d.MostIngredients {
		e.bad("least", "need_order")
	}
	if e.d.Step > 0 && e.d.Batch/e.d.Step > mix.MaxSteps {
		e.bad("step", "need_coarser")
	}
	if e.d.Batch < e.d.Step {
		e.bad("batch", "need_batch")
	}
}

func (e *edit) mass(name string, to *nutrient.Mass) {
	if !e.q.sent(name) {
		return
	}
	m, err := e.q.words.parseMass(e.q.value(name))
	if err != nil || m <= 0 || m > nutrient.MaxMass {
		e.bad(name, "need_mass")
		return
	}
	*to = m
}

// step keeps a step in ounces as such, so that the document says it too.
func (e *edit) step() {
	if !e.q.sent("step") {
		return
	}
	was := e.d.Step
	e.mass("step", &e.d.Step)
	number, unit := split(e.q.value("step"))
	if v, err := e.q.words.parseNumber(number); err == nil && unit == "oz" {
		e.d.StepOunces = v
	} else if e.d.Step != was {
		e.d.StepOunces = 0
	}
}

func (e *edit) count(name string, to *int) {
	if !e.q.sent(name) {
		return
	}
	t := e.q.value(name)
	if t == "" {
		*to = 0
		return
	}
	v, err := e.q.words.parseNumber(t)
	if err != nil || v < 0 || v > mix.MaxLines || v != float64(int(v)) {
		e.bad(name, "need_whole")
		return
	}
	*to = int(v)
}

// lines matches the form's lines with the document's by their references, so
// that a line that went or came meanwhile is not mistaken for another.
func (e *edit) lines() {
	for i := 0; i < mix.MaxLines && e.q.sent(lineField(i, "ref")); i++ {
		ref := e.q.value(lineField(i, "ref"))
		at := slices.IndexFunc(e.d.Lines, func(l mix.Line) bool { return l.Ingredient == ref })
		if at < 0 {
			if formOf(e.catalogue(), ref) == nil {
				continue
			}
			e.d.Lines = append(e.d.Lines, mix.Line{Ingredient: ref})
			at = len(e.d.Lines) - 1
		}
		l := &e.d.Lines[at]
		e.amount(lineField(i, "floor"), &l.Floor)
		e.amount(lineField(i, "ceiling"), &l.Ceiling)
		e.amount(lineField(i, "nothing"), &l.NothingOr)
		e.amount(lineField(i, "on_hand"), &l.OnHand)
		if l.OnHand.Share {
			e.bad(lineField(i, "on_hand"), "need_mass")
		}
		if name := lineField(i, "price"); e.q.sent(name) {
			p, err := e.q.words.parsePointer(e.q.value(name))
			if err != nil || tooDear(p) {
				e.bad(name, "need_price")
			} else {
				l.Price = p
			}
		}
		if l.Floor.Set && l.Ceiling.Set && massOf(l.Floor, e.d.Batch) > massOf(l.Ceiling, e.d.Batch) {
			e.bad(lineField(i, "floor"), "need_order")
		}
	}
}

func (e *edit) amount(name string, to *mix.Amount) {
	if !e.q.sent(name) {
		return
	}
	a, err := e.q.words.parseAmount(e.q.value(name))
	if err != nil || a.Mass > nutrient.MaxMass {
		e.bad(name, "need_amount")
		return
	}
	*to = a
}

func (e *edit) catalogue() *catalog.Catalogue {
	if len(e.d.Own) > 0 {
		return e.q.s.Catalogue.With(e.d.Own...)
	}
	return e.q.s.Catalogue
}

func (e *edit) groups() {
	for i := range e.d.Groups {
		if e.q.value(groupField(i, "is")) != groupIs(e.d.Groups[i]) {
			continue
		}
		g := &e.d.Groups[i]
		e.amount(groupField(i, "floor"), &g.Floor)
		e.amount(groupField(i, "ceiling"), &g.Ceiling)
		if !g.Floor.Set && !g.Ceiling.Set && g.LeastIngredients == 0 && g.MostIngredients == 0 {
			e.bad(groupField(i, "floor"), "need_group_limit")
		}
		if g.Floor.Set && g.Ceiling.Set && massOf(g.Floor, e.d.Batch) > massOf(g.Ceiling, e.d.Batch) {
			e.bad(groupField(i, "floor"), "need_order")
		}
	}
}

// groupIs tells a group limit from the others of its mix.
func groupIs(g mix.Group) string {
	return clip(g.Name+"/"+string(g.Class)+"/"+strings.Join(g.Of, ","), 500)
}

// press does what the button that was pressed says.
func (e *edit) press() {
	what, arg, _ := strings.Cut(e.q.value("do"), ":")
	switch what {
	case "pin", "unpin", "remove":
		at := slices.IndexFunc(e.d.Lines, func(l mix.Line) bool { return l.Ingredient == arg })
		if at >= 0 {
			e.pressLine(what, at)
		}
	case "own":
		e.takeOwn(arg)
	case "base":
		for i := range e.d.Lines {
			l := &e.d.Lines[i]
			l.Base = mix.Amount{Set: true, Mass: massOf(l.Amount, e.d.Batch)}
		}
		e.d.Prefer = mix.Near
	case "add":
		e.add(e.q.value("add"))
	case "addgroup":
		e.addGroup()
	case "unwindow", "nowindow", "usewindow":
		e.pressWindow(what, arg)
	case "addwindow":
		e.addWindow()
	case "ungroup":
		e.d.Groups = slices.DeleteFunc(e.d.Groups, func(g mix.Group) bool { return groupIs(g) == arg })
	}
}

func (e *edit) pressLine(what string, at int) {
	l := &e.d.Lines[at]
	switch what {
	case "pin":
		if m := massOf(l.Amount, e.d.Batch); m > 0 {
			l.Floor, l.Ceiling, l.NothingOr = mix.Amount{Set: true, Mass: m}, mix.Amount{Set: true, Mass: m}, mix.Amount{}
		}
	case "unpin":
		l.Floor, l.Ceiling = mix.Amount{}, mix.Amount{}
	case "remove":
		if len(e.d.Lines) == 1 {
			e.bad("do", "need_line")
			return
		}
		e.d = removeLine(e.d, at, e.catalogue())
	}
}

// removeLine takes a line out, and out of the groups that name it. A group
// that then holds no line goes too.
func removeLine(d *mix.Document, at int, c *catalog.Catalogue) *mix.Document {
	next := d.Copy()
	gone := formOf(c, d.Lines[at].Ingredient)
	next.Lines = slices.Delete(next.Lines, at, at+1)
	for i := range next.Groups {
		next.Groups[i].Of = slices.DeleteFunc(next.Groups[i].Of, func(name string) bool {
			f, err := find.Resolve(c, name)
			return err == nil && f == gone || name == d.Lines[at].Ingredient
		})
	}
	next.Groups = slices.DeleteFunc(next.Groups, func(g mix.Group) bool {
		return len(g.Of) == 0 && !slices.ContainsFunc(next.Lines, func(l mix.Line) bool {
			f := formOf(c, l.Ingredient)
			return f != nil && f.Ingredient.Class == g.Class
		})
	})
	return next
}

// pinned reports whether a line's amount is kept as it is.
func pinned(l mix.Line) bool {
	return l.Floor.Set && l.Ceiling.Set && !l.Floor.Share && l.Floor == l.Ceiling && l.Floor.Mass > 0
}

// add puts an ingredient of the shelf, or of the catalogue, into the mix.
func (e *edit) add(ref string) {
	c := e.catalogue()
	f := formOf(c, ref)
	l := mix.Line{Ingredient: ref}
	if f == nil {
		for _, sh := range e.q.shelvesKept() {
			in := ownNamed(ownOf(sh), ref)
			if in != nil {
				e.d.Own = append(slices.Clone(e.d.Own), in)
				f = in.Forms[0]
			}
		}
	}
	switch {
	case f == nil:
		e.bad("add", "need_choice")
		return
	case slices.ContainsFunc(e.d.Lines, func(x mix.Line) bool { return formOf(c, x.Ingredient) == f }):
		e.bad("add", "need_other")
		return
	case len(e.d.Lines) >= mix.MaxLines:
		e.bad("add", "need_fewer")
		return
	}
	for _, sh := range e.q.shelvesKept() {
		for _, it := range sh.Items {
			if it.Ref == ref {
				l.Price = pricePerKg(it)
				if it.OnHand != nil {
					l.OnHand = mix.Amount{Set: true, Mass: nutrient.Mass(*it.OnHand)}
				}
			}
		}
	}
	e.d.Lines = append(e.d.Lines, l)
}

func ownNamed(list []*catalog.Ingredient, id string) *catalog.Ingredient {
	for _, in := range list {
		if in.ID == id {
			return in
		}
	}
	return nil
}

func (e *edit) addGroup() {
	class := catalog.Class(e.q.value("newgroup.class"))
	g := mix.Group{Class: class}
	e.amount("newgroup.floor", &g.Floor)
	e.amount("newgroup.ceiling", &g.Ceiling)
	c := e.catalogue()
	has := slices.ContainsFunc(e.d.Lines, func(l mix.Line) bool {
		f := formOf(c, l.Ingredient)
		return f != nil && f.Ingredient.Class == class
	})
	switch {
	case !has:
		e.bad("newgroup.class", "need_choice")
	case !g.Floor.Set && !g.Ceiling.Set:
		e.bad("newgroup.ceiling", "need_group_limit")
	case len(e.d.Groups) >= mix.MaxGroups:
		e.bad("newgroup.class", "need_fewer")
	default:
		e.d.Groups = append(e.d.Groups, g)
	}
}
