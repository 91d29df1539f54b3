package web

import (
	"slices"
	"strings"

	"firlot/mix"
	"firlot/needs"
	"firlot/nutrient"
)

// mixWindow is a window of a mix with the fields to change it.
type mixWindow struct {
	windowView
	Is       string // tells it from the others of its mix
	Min, Max field
	Basis    []choice // none for a ratio, where the water cancels out
	On       []choice
	Open     bool
}

// isWindow names a window by what it is on.
func isWindow(k, per nutrient.Key, on needs.Side) string {
	return string(k) + "/" + string(per) + "/" + string(on)
}

func (v windowView) is() string { return isWindow(v.Nutrient, v.Per, v.On) }

func windowField(is, name string) string { return "window." + is + "." + name }

// windowsOf are the windows that a document is held to: its stage's, changed
// or dropped by the document, and the document's own.
func (s *Server) windowsOf(w *words, d *mix.Document) []windowView {
	st := &needs.Stage{}
	if sp := s.Needs.Find(d.Species); sp != nil && sp.Stage(d.Stage) != nil {
		st = sp.Stage(d.Stage)
	}
	list, _ := windowViews(w, st, d.Windows)
	for _, o := range d.Windows {
		if slices.ContainsFunc(list, func(v windowView) bool { return v.is() == isWindow(o.Nutrient, o.Per, o.On) }) {
			continue
		}
		v := windowView{Name: w.Measure(o.Nutrient, o.Per), Window: needs.Window{Nutrient: o.Nutrient, Per: o.Per, On: o.On, Basis: o.Basis}}
		v.change(o, st)
		v.publish(st)
		list = append(list, v)
	}
	return list
}

func (b *mixBuilder) windows() {
	var changed []string
	for _, x := range b.s.windowsOf(b.w, b.a.Doc) {
		v := mixWindow{windowView: x, Is: x.is()}
		least, most := b.w.typedPointer(x.Min), b.w.typedPointer(x.Max)
		if x.Off {
			least, most = "", ""
		}
		v.Min = b.field(windowField(v.Is, "min"), "label_min", least, "", "decimal")
		v.Max = b.field(windowField(v.Is, "max"), "label_max", most, "", "decimal")
		if x.Per == "" {
			v.Basis = b.basisChoices(b.typedOr(windowField(v.Is, "basis"), string(x.Window.Basis)))
		}
		v.On = b.sideChoices(b.typedOr(windowField(v.Is, "on"), string(x.Window.On)))
		v.Open = v.Min.Error+v.Max.Error != ""
		b.v.Windows = append(b.v.Windows, v)
		if x.Changed {
			changed = append(changed, x.Name)
		}
	}
	b.v.Changed = b.w.And(changed)
	b.v.NewWindow = newWindow{
		Nutrient: b.typedOr("newwindow.nutrient", ""), Error: b.v.Errors["newwindow"],
		Min:   b.field("newwindow.min", "label_min", "", "", "decimal"),
		Max:   b.field("newwindow.max", "label_max", "", "", "decimal"),
		Basis: b.basisChoices(b.typedOr("newwindow.basis", "")), On: b.sideChoices(b.typedOr("newwindow.on", "")),
		Figures: nutrient.All(),
	}
}

// newWindow is the form for one window more.
type newWindow struct {
	Nutrient, Error string
	Min, Max        field
	Basis, On       []choice
	Figures         []nutrient.Info
}

func (b *mixBuilder) typedOr(name, value string) string {
	if t, ok := b.v.Typed[name]; ok {
		return t
	}
	return value
}

func (b *mixBuilder) basisChoices(chosen string) []choice {
	return []choice{
		{string(nutrient.AsFed), b.w.T("basis_as_fed"), chosen != string(nutrient.DryMatter)},
		{string(nutrient.DryMatter), b.w.T("basis_dry_matter"), chosen == string(nutrient.DryMatter)},
	}
}

func (b *mixBuilder) sideChoices(chosen string) []choice {
	return []choice{
		{string(needs.Offered), b.w.T("side_offered"), chosen != string(needs.Eaten)},
		{string(needs.Eaten), b.w.T("side_eaten"), chosen == string(needs.Eaten)},
	}
}

// windows takes the fields of the windows over that say something else than
// what holds.
func (e *edit) windows() {
	for _, v := range e.q.s.windowsOf(e.q.words, e.d) {
		min, max := windowField(v.is(), "min"), windowField(v.is(), "max")
		if !e.q.sent(min) || !e.q.sent(max) {
			continue
		}
		if v.Off && e.q.value(min)+e.q.value(max) == "" {
			continue
		}
		o, ok := e.readWindow(v.Window, min, max, windowField(v.is(), "basis"), windowField(v.is(), "on"))
		if !ok || !v.Off && sameBound(o.Min, v.Min) && sameBound(o.Max, v.Max) && o.Basis == v.Window.Basis && o.On == v.Window.On {
			continue
		}
		e.setWindow(v, o)
	}
}

// readWindow reads a window's fields; it complains by field and reports false
// where they do not make a window.
func (e *edit) readWindow(on needs.Window, min, max, basis, side string) (mix.Window, bool) {
	o := mix.Window{Nutrient: on.Nutrient, Per: on.Per, Basis: on.Basis, On: on.On}
	if o.Basis == "" || e.q.sent(basis) {
		o.Basis = nutrient.AsFed
		if e.q.value(basis) == string(nutrient.DryMatter) && o.Per == "" {
			o.Basis = nutrient.DryMatter
		}
	}
	if o.On == "" || e.q.sent(side) {
		o.On = needs.Offered
		if e.q.value(side) == string(needs.Eaten) {
			o.On = needs.Eaten
		}
	}
	info, _ := nutrient.Lookup(o.Nutrient)
	most := info.Ceiling
	if o.Per != "" {
		most = mostRatio
	}
	bound := func(name string) *float64 {
		x, err := e.q.words.parsePointer(e.q.value(name))
		if err != nil || x != nil && *x > most {
			e.bad(name, "need_bound", "Most", e.q.words.Plain(most))
		}
		return x
	}
	o.Min, o.Max = bound(min), bound(max)
	switch {
	case e.errors[min]+e.errors[max] != "":
		return o, false
	case o.Min == nil && o.Max == nil:
		e.bad(min, "need_one_bound")
		return o, false
	case o.Min != nil && o.Max != nil && *o.Min > *o.Max:
		e.bad(min, "need_order")
		return o, false
	}
	return o, true
}

// mostRatio is the highest bound on a ratio that package mix takes.
const mostRatio = 1e6

// setWindow puts a window in another's place. One that moves to the other
// side of the hull leaves its place dropped, since the stage's own would hold
// there again.
func (e *edit) setWindow(v windowView, o mix.Window) {
	if o.On != v.Window.On {
		if slices.ContainsFunc(e.q.s.windowsOf(e.q.words, e.d), func(x windowView) bool { return x.is() == isWindow(o.Nutrient, o.Per, o.On) && !x.Off }) {
			e.bad(windowField(v.is(), "min"), "need_other_window")
			return
		}
		e.dropWindow(v)
	}
	e.forgetWindow(isWindow(o.Nutrient, o.Per, o.On))
	e.d.Windows = append(e.d.Windows, o)
}

// forgetWindow takes what the document says of a window out, so that the
// stage's holds again.
func (e *edit) forgetWindow(is string) {
	e.d.Windows = slices.DeleteFunc(e.d.Windows, func(w mix.Window) bool { return isWindow(w.Nutrient, w.Per, w.On) == is })
}

// dropWindow does without a window.
func (e *edit) dropWindow(v windowView) {
	e.forgetWindow(v.is())
	if e.usual(v.is()) {
		e.d.Windows = append(e.d.Windows, mix.Window{Nutrient: v.Nutrient, Per: v.Per, On: v.On, Off: true})
	}
}

// usual reports whether a window is one of the stage's.
func (e *edit) usual(is string) bool {
	for _, x := range e.q.s.windowsOf(e.q.words, &mix.Document{Species: e.d.Species, Stage: e.d.Stage}) {
		if x.is() == is {
			return true
		}
	}
	return false
}

// pressWindow resets, drops or chooses a window.
func (e *edit) pressWindow(what, is string) {
	is, source, _ := strings.Cut(is, "|")
	list := e.q.s.windowsOf(e.q.words, e.d)
	at := slices.IndexFunc(list, func(v windowView) bool { return v.is() == is })
	if at < 0 {
		return
	}
	v := list[at]
	switch what {
	case "unwindow":
		e.forgetWindow(is)
		if !e.usual(is) { // it stood in for the one on the other side, if that was dropped
			other := needs.Eaten
			if v.Window.On == needs.Eaten {
				other = needs.Offered
			}
			e.d.Windows = slices.DeleteFunc(e.d.Windows, func(w mix.Window) bool {
				return w.Off && w.Nutrient == v.Nutrient && w.Per == v.Per && w.On == other
			})
		}
	case "nowindow":
		e.dropWindow(v)
	case "usewindow":
		for _, x := range v.Published {
			if x.Source != source {
				continue
			}
			e.forgetWindow(is)
			if !x.Default || !e.usual(is) {
				e.d.Windows = append(e.d.Windows, mix.Window{Nutrient: x.Nutrient, Per: x.Per, On: x.On, Basis: nutrient.AsFed, Source: x.Source})
			}
			return
		}
	}
}

// addWindow asks for one window more.
func (e *edit) addWindow() {
	k := nutrient.Key(e.q.value("newwindow.nutrient"))
	if _, ok := nutrient.Lookup(k); !ok {
		e.bad("newwindow", "need_choice")
		return
	}
	o, ok := e.readWindow(needs.Window{Nutrient: k}, "newwindow.min", "newwindow.max", "newwindow.basis", "newwindow.on")
	if !ok {
		return
	}
	is := isWindow(o.Nutrient, o.Per, o.On)
	for _, v := range e.q.s.windowsOf(e.q.words, e.d) {
		if v.is() == is && !v.Off {
			e.bad("newwindow", "need_other_window")
			return
		}
	}
	if len(e.d.Windows) >= mix.MaxWindows {
		e.bad("newwindow", "need_fewer")
		return
	}
	e.forgetWindow(is)
	e.d.Windows = append(e.d.Windows, o)
}
