package mix

import (
	"fmt"

	"firlot/needs"
	"firlot/nutrient"
)

// targets joins the stage's default windows with the document's. A document
// window replaces the stage's default for the same figure on the same side;
// off = true takes that default away; source = "…" chooses another published
// window instead.
func (p *Plan) targets() error {
	d := p.Document
	if len(d.Windows) > MaxWindows {
		return &Problem{"window", fmt.Sprintf("there are %d windows; %d is the most", len(d.Windows), MaxWindows), ""}
	}
	if p.Stage != nil {
		for _, w := range p.Stage.Enforced() {
			p.Targets = append(p.Targets, Target{Window: w})
		}
	}
	for i, w := range d.Windows {
		at := fmt.Sprintf("window[%d]", i)
		if err := checkWindow(at, w); err != nil {
			return err
		}
		if err := p.window(at, w); err != nil {
			return err
		}
	}
	if len(p.Targets) == 0 {
		return &Problem{"window", "there is no window to meet", "name a species and a stage, or add a [[window]]"}
	}
	return nil
}

func (p *Plan) window(at string, w Window) error {
	t := Target{Path: at, Window: needs.Window{Nutrient: w.Nutrient, Per: w.Per, Min: w.Min, Max: w.Max,
		Basis: w.Basis, On: w.On, Source: "document", Note: w.Note, Default: true, Enforce: true}}
	if w.Per != "" {
		t.Basis = nutrient.AsFed // the water cancels out
	}
	if w.Source != "" {
		chosen, err := p.published(at, w)
		if err != nil {
			return err
		}
		t.Window = chosen
	}
	at0 := p.same(t)
	switch {
	case w.Off && at0 < 0:
		return &Problem{at + ".off", fmt.Sprintf("the stage has no default window on %s to do without", w.Nutrient), "take the window away, or write min or max"}
	case w.Off:
		p.Targets = append(p.Targets[:at0], p.Targets[at0+1:]...)
	case at0 >= 0 && p.Targets[at0].Path != "":
		return &Problem{at, fmt.Sprintf("a window on %s stands twice", w.Nutrient), "join the two; one window on a figure and side is enough, on one basis"}
	case at0 >= 0:
		p.Targets[at0] = t
	default:
		p.Targets = append(p.Targets, t)
	}
	return nil
}

func (p *Plan) same(t Target) int {
	for i, o := range p.Targets {
		if o.Nutrient == t.Nutrient && o.Per == t.Per && o.On == t.On {
			return i
		}
	}
	return -1
}

func (p *Plan) published(at string, w Window) (needs.Window, error) {
	var known []string
	if p.Stage != nil {
		for _, s := range p.Stage.Windows {
			if s.Nutrient != w.Nutrient || s.Per != w.Per || s.On != w.On {
				continue
			}
			if s.Source == w.Source {
				s.Enforce = true
				return s, nil
			}
			known = append(known, s.Source)
		}
	}
	hint := "firlot needs show lists the published windows"
	if len(known) > 0 {
		hint = oneOf(w.Source, known)
	}
	return needs.Window{}, &Problem{at + ".source", fmt.Sprintf("the stage has no window on %s from %q", w.Nutrient, w.Source), hint}
}

func checkWindow(at string, w Window) error {
	for _, k := range []struct {
		path string
		key  nutrient.Key
	}{{"nutrient", w.Nutrient}, {"per", w.Per}} {
		if k.path == "per" && k.key == "" {
			continue
		}
		if _, ok := nutrient.Lookup(k.key); !ok {
			return &Problem{at + "." + k.path, fmt.Sprintf("%q is not a figure that Firlot knows", k.key), oneOf(string(k.key), keys())}
		}
	}
	switch {
	case w.Off || w.Source != "":
		if w.Min != nil || w.Max != nil {
			return &Problem{at, "off or source stands beside min or max", "use one or the other"}
		}
	case w.Min == nil && w.Max == nil:
		return &Problem{at, "the window has neither min nor max", "write one, or both, or a source, or off = true"}
	}
	info, _ := nutrient.Lookup(w.Nutrient)
	for _, v := range []struct {
		path  string
		value *float64
	}{{"min", w.Min}, {"max", w.Max}} {
		if v.value == nil {
			continue
		}
		most := info.Ceiling
		if w.Per != "" {
			most = 1e6
		}
		if !(*v.value >= 0 && *v.value <= most) {
			return &Problem{at + "." + v.path, fmt.Sprintf("%v is out of range", *v.value), fmt.Sprintf("it lies between 0 and %v %s", most, info.Unit)}
		}
	}
	if w.Min != nil && w.Max != nil && *w.Min > *w.Max {
		return &Problem{at + ".min", fmt.Sprintf("min %v is above max %v", *w.Min, *w.Max), "swap them"}
	}
	return nil
}

func keys() []string {
	var list []string
	for _, i := range nutrient.All() {
		list = append(list, string(i.Key))
	}
	return list
}
