package view

import (
	"slices"
	"strings"

	"firlot/analysis"
	"firlot/catalog"
	"firlot/internal/chart"
	"firlot/mix"
	"firlot/needs"
	"firlot/nutrient"
)

// The widths for which pictures are drawn, in px: a phone's, and a column of a
// wider screen.
const (
	narrow = 328
	wide   = 620
)

// both joins the narrow and the wide drawing of a picture; the style sheet
// shows one of them.
func both(draw func(width float64) string) html {
	return el("span", at{"class", "narrow"}, html(draw(narrow))) + el("span", at{"class", "wide"}, html(draw(wide)))
}

// portrait is one piece of a form: decoration, since its name stands beside
// it. It is drawn once on a page and used again.
func portrait(f *catalog.Form) html {
	return html(chart.Portrait(f, chart.PortraitOptions{Most: 44, Width: 44, Height: 32}))
}

// sample is a few pieces of a form beside a scale bar.
func (t *teller) sample(f *catalog.Form) html {
	return html(chart.Sample(f, chart.SampleOptions{Title: t.T("sample_title", "Name", t.form(f)), Desc: f.Looks, Width: 220, Bar: 10, BarLabel: t.T("scale_bar"), Count: 4}))
}

// heaps draws the ingredients by volume, the largest first.
func (t *teller) heaps(id string, p *mix.Plan, amounts []nutrient.Mass, width float64) html {
	items, say := t.heapItems(p, amounts)
	return html(chart.Heaps(items, chart.HeapsOptions{ID: id, Title: t.T("heaps_title"), Desc: t.And(say), Width: width, Assumed: t.T("heap_assumed")}))
}

func (t *teller) heapItems(p *mix.Plan, amounts []nutrient.Mass) (items []chart.HeapItem, say []string) {
	for i, m := range amounts {
		if m > 0 {
			f := p.Lines[i].Form
			items = append(items, chart.HeapItem{Form: f, Mass: m, Label: t.form(f), Amount: t.mass(m)})
		}
	}
	slices.SortStableFunc(items, func(x, y chart.HeapItem) int {
		vx, _ := chart.Volume(x.Form, x.Mass)
		vy, _ := chart.Volume(y.Form, y.Mass)
		switch {
		case vx > vy:
			return -1
		case vx < vy:
			return 1
		}
		return 0
	})
	for _, it := range items {
		say = append(say, it.Label+" "+it.Amount)
	}
	return items, say
}

// stripOf is a figure in its window. before is what the published mix has,
// nil where that is what is shown.
func (t *teller) stripOf(p *mix.Plan, c analysis.Check, before *analysis.Check) chart.StripData {
	unit := c.Value.Measure.Unit()
	d := chart.StripData{Name: upper(t.measure(c.Window.Nutrient, c.Window.Per)), Unit: string(unit),
		Window: chart.StripWindow{Min: c.Window.Min, Max: c.Window.Max, Label: t.T("strip_window", "Range", t.window(c.Window), "Basis", t.basisOf(c.Window))},
		Mean:   c.Value.Mean, HasMean: c.Value.HasMean, Low: c.Value.Low(), High: c.Value.High(), Verdict: c.Verdict, Format: t.Short}
	if c.Verdict == analysis.NotKnown {
		d.Unknown = t.T("not_known")
		d.VerdictWords = t.T("not_known_window", "A", t.Short(c.Value.Least), "B", t.quantity(c.Value.Most, unit))
	} else {
		d.VerdictWords = t.T("in_sets", "Sets", t.ofHundred(c.Chance))
	}
	if before != nil && before.Value.HasMean {
		d.VerdictWords += t.T("strip_before", "Mean", t.quantity(before.Value.Mean, unit))
	}
	d.Others = t.others(p, c.Window)
	return d
}

// basisOf says what a window's figure is a share of; a ratio is none.
func (t *teller) basisOf(w needs.Window) string {
	switch {
	case w.Per == "":
		return t.basis(w.Basis, w.On)
	case w.On == needs.Eaten:
		return t.T("basis_ratio_eaten")
	}
	return t.T("basis_ratio")
}

// mostOthers is how many other sources' windows a strip shows.
const mostOthers = 3

// others are other sources' windows on the same figure.
func (t *teller) others(p *mix.Plan, w needs.Window) []chart.StripWindow {
	if p.Stage == nil {
		return nil
	}
	var list []chart.StripWindow
	var seen []string
	for _, x := range p.Stage.Windows {
		if x.Nutrient != w.Nutrient || x.Per != w.Per || x.Basis != w.Basis || x.On != w.On || x.Source == w.Source {
			continue
		}
		label := t.window(x)
		if slices.Contains(seen, label) || len(list) == mostOthers {
			continue
		}
		seen = append(seen, label)
		list = append(list, chart.StripWindow{Min: x.Min, Max: x.Max, Label: t.short(x.Source) + ": " + label})
	}
	return list
}

// mostShort is the length of a short source, in letters.
const mostShort = 44

// short names a source in a few words.
func (t *teller) short(ref string) string {
	src, item, ok := t.lookUp(ref)
	if !ok {
		return ref
	}
	name := src.Title
	if strings.HasPrefix(ref, "recalled") && item != "" {
		name = item // the publication that it is recalled from
	}
	if r := []rune(name); len(r) > mostShort {
		name = strings.TrimRight(string(r[:mostShort]), " ,;") + "…"
	}
	return name
}

func (t *teller) strip(d chart.StripData) html {
	title := t.T("strip_title", "Name", d.Name, "Window", d.Window.Label)
	draw := func(width float64) string {
		return chart.Strip(d, chart.StripOptions{Title: title, Desc: d.VerdictWords, Width: width})
	}
	out := both(draw)
	d.Others = nil // on paper there is no room for them
	return out + el("span", at{"class", "paper"}, html(draw(narrow)))
}
