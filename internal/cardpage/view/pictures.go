package view

import (
	"slices"
	"strings"

	"firlot/analysis"
	"firlot/card"
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

// portrait is one piece of a form: decoration, since its name stands beside it.
// It is drawn once for a page, among [Session.Defs], and used again.
func portrait(f *catalog.Form) html {
	return el("svg", at{"class", "portrait", "width", portraitWide, "height", portraitHigh, "aria-hidden", "true"}, el("use", at{"href", "#p-" + f.Ref()}))
}

// The size of a portrait in a list, px.
const (
	portraitWide = 44
	portraitHigh = 32
)

// sample is a few pieces of a form beside a scale bar. Those of the published
// mixes are drawn once for a page.
func (p *page) sample(f *catalog.Form) html {
	d := p.drawnSample(f)
	w, h, shown := d.w, d.h, d.inside
	if published(p.card, f.Ref()) {
		shown = el("use", at{"href", "#s-" + f.Ref()})
	}
	return el("svg", at{"class", "sample", "viewBox", "0 0 " + short(w) + " " + short(h), "width", w, "height", h, "role", "img",
		"aria-label", p.t.T("sample_title", "Name", p.t.form(f))}, shown)
}

// drawn is a picture, and its size in px.
type drawn struct {
	w, h   float64
	inside html
}

func (p *page) drawnSample(f *catalog.Form) drawn {
	own := p.card.Form(f.Ref()) == f // else it is one of a mix's own, made anew with each plan
	if d, known := p.kept.samples[f.Ref()]; known && own {
		return d
	}
	text := drawSample(f)
	d := drawn{}
	d.w, d.h = sizeOf(text)
	_, inside, _ := strings.Cut(strings.TrimSuffix(strings.TrimSpace(text), "</svg>"), ">")
	if d.inside = html(inside); own {
		p.kept.samples[f.Ref()] = d
	}
	return d
}

func drawSample(f *catalog.Form) string {
	return chart.Sample(f, chart.SampleOptions{Width: 220, Bar: 10, BarLabel: "1 cm", Count: 4})
}

// Defs are the pictures of all foods of a card, which its pages use.
func (s *Session) Defs() string {
	var out html
	seen := map[string]bool{}
	add := func(ref string) {
		f := s.Card.Form(ref)
		if f == nil || seen[ref] {
			return
		}
		seen[ref] = true
		out += symbol("p-"+ref, chart.Portrait(f, chart.PortraitOptions{Most: portraitWide, Width: portraitWide, Height: portraitHigh}))
		if published(s.Card, ref) {
			out += symbol("s-"+ref, drawSample(f))
		}
	}
	for _, m := range s.Card.Mixes {
		for _, l := range m.Document.Lines {
			add(l.Ingredient)
		}
	}
	for _, ref := range s.Card.Offered {
		add(ref)
	}
	return string(el("svg", at{"class", "defs", "width", 0, "height", 0, "aria-hidden", "true"}, out))
}

// published reports whether a form is in one of a card's mixes.
func published(c *card.Card, ref string) bool {
	for _, m := range c.Mixes {
		for k, l := range m.Document.Lines {
			if l.Ingredient == ref && m.Amounts[k] > 0 {
				return true
			}
		}
	}
	return false
}

// symbol makes a picture one that is drawn where it is used.
func symbol(id, svg string) html {
	w, h := sizeOf(svg)
	_, inside, _ := strings.Cut(strings.TrimSuffix(strings.TrimSpace(svg), "</svg>"), ">")
	return el("symbol", at{"id", id, "viewBox", "0 0 " + short(w) + " " + short(h)}, html(inside))
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
	name, _, ok := catalog.ShortTitle(t.findSource, ref, mostShort)
	if !ok {
		return ref
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
