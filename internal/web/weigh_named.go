package web

import (
	"net/http"
	"slices"
	"strings"
	"unicode"

	"firlot/catalog"
	"firlot/catalog/find"
	"firlot/internal/nearword"
	"firlot/internal/store"
	"firlot/making"
	"firlot/nutrient"
)

// What came out of a wrong jar need not stand on any list: a keeper types its
// name, and the catalogue's finder says what that is. A food that is never fed
// has no form; it goes by a reference of its own, see [catalog.Unsafe.Ref].

// never are the foods in the bowls that are never fed.
func (x *weighing) never() []*catalog.Unsafe {
	var list []*catalog.Unsafe
	for _, l := range x.Now.Lines {
		if u := x.Cat.Never(l.Ref); u != nil && l.Poured > 0 && x.form(l.Ref) == nil {
			list = append(list, u)
		}
	}
	return list
}

// neverNames are what they are called.
func (x *weighing) neverNames(w *words) []string {
	var names []string
	for _, u := range x.never() {
		names = append(names, u.Names.First(w.lang))
	}
	return names
}

// lines are those of the making but what was poured by mistake and taken back.
func (x *weighing) lines() []making.LineState {
	var list []making.LineState
	for _, l := range x.Now.Lines {
		if !l.Unplanned || l.Planned > 0 || l.Poured > 0 {
			list = append(list, l)
		}
	}
	return list
}

// Choices for a name that may be several things: the most forms, and the most
// foods that are never fed.
const (
	mostChoices = 12
	mostNever   = 4
)

// which is a typed name that does not say what was poured.
type which struct {
	typed string
	near  []addView // what it may be
}

func (which) Error() string { return codeWhich }

// named is the reference of what a keeper calls a food. The error is a which.
func (x *weighing) named(w *words, typed string) (string, error) {
	if f := x.Cat.Form(typed); f != nil {
		return f.Ref(), nil
	}
	u := find.Refused(x.Cat, typed)
	holding := formsHolding(x.Cat, typed)
	if u != nil && len(holding) == 0 && u.Instead == x.Cat.Never(u.ID).Instead { // else it was misspelt
		return u.Ref(), nil
	}
	if f, err := find.Resolve(x.Cat, typed); err == nil {
		return f.Ref(), nil
	}
	out := which{typed: typed}
	if u != nil {
		out.near = append(out.near, x.neverChoice(w, u))
	}
	forms := holding
	if exact := called(x.Cat, typed); len(exact) > 0 {
		forms = exact
	}
	if len(forms) == 0 {
		for _, m := range find.Search(x.Cat, typed) {
			forms = append(forms, m.Form)
		}
	}
	for _, f := range forms[:min(len(forms), mostChoices)] {
		out.near = append(out.near, addView{f.Ref(), formWithState(w, f, forms)})
	}
	more := 0
	for i := range x.Cat.Unsafe {
		if o := &x.Cat.Unsafe[i]; more < mostNever && (u == nil || o.ID != u.ID) && bears(o, typed) {
			out.near = append(out.near, x.neverChoice(w, o))
			more++
		}
	}
	return "", out
}

func (x *weighing) neverChoice(w *words, u *catalog.Unsafe) addView {
	return addView{u.Ref(), w.T("named_never", "Name", u.Names.First(w.lang))}
}

// formWithState is the name of a form, with its reference where another of the
// choices goes by the same name.
func formWithState(w *words, f *catalog.Form, among []*catalog.Form) string {
	name := w.Form(f)
	if slices.ContainsFunc(among, func(o *catalog.Form) bool { return o != f && w.Form(o) == name }) {
		name += " (" + f.Ref() + ")"
	}
	return name
}

// called are the forms with exactly that name, in any language.
func called(c *catalog.Catalogue, typed string) []*catalog.Form {
	keys := nearword.Spellings(typed)
	return formsWith(c, func(name string) bool { return slices.Contains(keys, name) })
}

// formsHolding are the forms in whose names all words of a name stand side by side.
func formsHolding(c *catalog.Catalogue, typed string) []*catalog.Form {
	words := stemmed(nearword.Key(typed))
	return formsWith(c, func(name string) bool { return words != "" && strings.Contains(" "+stemmed(name)+" ", " "+words+" ") })
}

func formsWith(c *catalog.Catalogue, fits func(name string) bool) []*catalog.Form {
	var list []*catalog.Form
	for _, f := range c.Forms() {
		if slices.ContainsFunc(c.Called(f), func(n catalog.Called) bool { return fits(n.Folded) }) {
			list = append(list, f)
		}
	}
	return list
}

func stemmed(key string) string {
	words := strings.Fields(key)
	for i, w := range words {
		words[i] = nearword.Stem(w)
	}
	return strings.Join(words, " ")
}

// bears reports whether all words of a name stand side by side in a name of a
// food that is never fed.
func bears(u *catalog.Unsafe, typed string) bool {
	words := stemmed(nearword.Key(typed))
	for _, names := range u.Names {
		for _, n := range names {
			if words != "" && strings.Contains(" "+stemmed(nearword.Key(n))+" ", " "+words+" ") {
				return true
			}
		}
	}
	return false
}

// mostTyped bounds a typed name.
const mostTyped = 100

// typedRef reads a typed name into the reference of an event. What was chosen
// from the list besides must be the same.
func (s *Server) typedRef(q *request, x *weighing, e *store.Event) error {
	typed := clip(oneLine(q.value("food")), mostTyped)
	if typed == "" || e.Kind != store.KindPour {
		return nil
	}
	if have := x.has(e.Key); have != nil && have.Kind == e.Kind {
		if !x.sentAgain(q.words, typed, have) {
			return refusal{http.StatusConflict, codeKey, "event_key"}
		}
		e.Ref, e.Note = have.Ref, have.Note
		return nil
	}
	ref, err := x.named(q.words, typed)
	if e.Ref != "" && e.Ref != ref {
		no, ok := err.(which)
		if !ok {
			no = which{typed, []addView{{ref, x.name(q.words, ref)}}}
		}
		chosen := addView{e.Ref, x.name(q.words, e.Ref)}
		no.near = append([]addView{chosen}, slices.DeleteFunc(no.near, func(a addView) bool { return a.Ref == e.Ref })...)
		return no
	}
	if err != nil {
		return err
	}
	e.Ref = ref
	if nearword.Fold(typed) != nearword.Fold(x.name(q.words, ref)) {
		e.Note = typed // the record says what the keeper called it
	}
	return nil
}

// oneLine is a name as a line of text holds it.
func oneLine(name string) string {
	name = strings.Map(func(r rune) rune {
		if unicode.IsControl(r) {
			return ' '
		}
		return r
	}, strings.ToValidUTF8(name, " "))
	return strings.Join(strings.Fields(name), " ")
}

// sentAgain reports whether a name is that of a pour which is kept already: as
// it was typed then, as the food is called, or one that can mean it. Another
// name under the same key is another pour.
func (x *weighing) sentAgain(w *words, typed string, have *store.Event) bool {
	if have.Note == typed || nearword.Fold(x.name(w, have.Ref)) == nearword.Fold(typed) {
		return true
	}
	ref, err := x.named(w, typed)
	if open, ok := err.(which); ok {
		return slices.ContainsFunc(open.near, func(a addView) bool { return x.stock(a.Ref) == have.Ref })
	}
	return err == nil && x.stock(ref) == have.Ref
}

// whichView asks what was poured.
type whichView struct {
	Making store.ID
	Text   string
	What   string
	Near   []addView
	Fields []addView // as they were sent
	Again  field
}

// askWhich answers a name that may be several things, or nothing known, with
// what it may be: nothing is kept yet, and nothing typed is lost.
func (s *Server) askWhich(q *request, id store.ID, no which) error {
	key := "which_none"
	if len(no.near) > 0 {
		key = "which_several"
	}
	text := q.words.T(key, "Name", no.typed)
	if q.wantsJSON() {
		type food struct {
			Ref  string `json:"ref"`
			Name string `json:"name"`
		}
		near := []food{}
		for _, n := range no.near {
			near = append(near, food(n))
		}
		return q.sendJSON(http.StatusUnprocessableEntity, map[string]any{"error": text, "code": codeWhich, "near": near})
	}
	v := whichView{Making: id, Text: text, Near: no.near, Fields: q.sentFields("ref", "food")}
	if m, err := q.poured(); err == nil {
		v.What = q.words.T("event_what", "Mass", q.words.Mass(m), "Name", no.typed)
	}
	v.Again = field{Name: "food", Label: q.words.T("which_again"), Value: no.typed}
	return q.show(http.StatusUnprocessableEntity, "which", "making", text, v)
}

// sentFields are the fields of an event as they were sent, but some.
func (q *request) sentFields(but ...string) []addView {
	var list []addView
	for _, name := range []string{"key", "kind", "ref", "food", "mg", "mass", "how", "before_mg", "bowl", "round", "lot", "lot_code", "of", "note", "by", "way"} {
		if x := q.value(name); x != "" && !slices.Contains(but, name) {
			list = append(list, addView{name, x})
		}
	}
	return list
}

// pouredWords says what somebody sent: how much of what.
func (s *Server) pouredWords(q *request, m nutrient.Mass) string {
	name := q.value("food")
	if ref := q.value("ref"); ref != "" {
		name = s.formName(q.words, ref, q.shelvesKept())
	}
	return q.words.T("event_what", "Mass", q.words.Mass(m), "Name", name)
}
