package web

import (
	"cmp"
	"context"
	"crypto/sha256"
	"encoding/hex"
	"html/template"
	"net/http"
	"slices"
	"strconv"
	"strings"
	"sync"

	"firlot/analysis"
	"firlot/catalog"
	"firlot/formulate"
	"firlot/internal/chart"
	"firlot/internal/store"
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

// mapView is the picture of what a shelf can make.
type mapView struct {
	SVG     template.HTML
	Choices []choice // what may be left out
	Less    string   // what is left without it, in words
	Later   string   // the page that says so, while it is not known
}

// portrait shows one piece of a form for a list: decoration, since its name
// stands beside it. A form of the catalogue has its own file, which the
// browser keeps; a keeper's own food is drawn into the page.
func portrait(w *words, f *catalog.Form) template.HTML {
	ref := f.Ref()
	if w.portraits == nil || w.form(ref) != f {
		return template.HTML(drawPortrait(f))
	}
	src := template.HTMLEscapeString("/portrait/" + ref + "?v=" + w.portraits.of(f).version)
	return template.HTML(`<img class="portrait" src="` + src + `" width="44" height="32" alt="" decoding="sync">`)
}

func drawPortrait(f *catalog.Form) string {
	return chart.Portrait(f, chart.PortraitOptions{Most: 44, Width: 44, Height: 32})
}

// portraits are the drawn portraits of the catalogue's forms, each with a
// version that changes with the drawing.
type portraits struct {
	mu    sync.Mutex
	drawn map[*catalog.Form]drawing
}

type drawing struct{ svg, version string }

func newPortraits() *portraits { return &portraits{drawn: map[*catalog.Form]drawing{}} }

func (p *portraits) of(f *catalog.Form) drawing {
	p.mu.Lock()
	defer p.mu.Unlock()
	d, ok := p.drawn[f]
	if !ok {
		d.svg = drawPortrait(f)
		sum := sha256.Sum256([]byte(d.svg))
		d.version = hex.EncodeToString(sum[:4])
		p.drawn[f] = d
	}
	return d
}

// portrait sends a portrait as a file of its own, to be kept for good: one
// that is drawn otherwise has another address.
func (s *Server) portrait(q *request) error {
	f := s.Catalogue.Form(q.PathValue("ingredient") + "/" + q.PathValue("form"))
	if f == nil {
		return store.ErrNotFound
	}
	q.w.Header().Set("Content-Type", "image/svg+xml")
	q.w.Header().Set("Cache-Control", "private, max-age=31536000, immutable")
	return q.send(http.StatusOK, []byte(s.portraits.of(f).svg))
}

// both joins the narrow and the wide drawing of a picture; the style sheet
// shows one of them.
func both(draw func(width float64) string) template.HTML {
	return template.HTML(`<span class="narrow">` + draw(narrow) + `</span><span class="wide">` + draw(wide) + `</span>`)
}

func (b *mixBuilder) strip(c analysis.Check, v stripView) template.HTML {
	unit := string(c.Value.Measure.Unit())
	d := chart.StripData{Name: v.Name, Unit: unit, Window: chart.StripWindow{Min: c.Window.Min, Max: c.Window.Max, Label: v.Window + ", " + v.Basis},
		Mean: c.Value.Mean, HasMean: c.Value.HasMean, Low: c.Value.Low(), High: c.Value.High(), Verdict: c.Verdict, Format: b.w.Short}
	switch c.Verdict {
	case analysis.NotKnown:
		d.Unknown = b.w.T("not_known")
		d.VerdictWords = v.Why
	default:
		d.VerdictWords = b.w.T("in_sets", "Sets", v.Sets)
	}
	var seen [][2]string
	for _, x := range v.Published {
		if x.Basis != c.Window.Basis {
			continue // another scale: it stands in the list below
		}
		key := [2]string{b.w.typedPointer(x.Min), b.w.typedPointer(x.Max)}
		if slices.Contains(seen, key) || len(d.Others) >= 3 {
			continue
		}
		seen = append(seen, key)
		d.Others = append(d.Others, chart.StripWindow{Min: x.Min, Max: x.Max, Label: b.s.shortSource(x.Source) + ": " + b.w.WindowText(x)})
	}
	title := b.w.T("strip_title", "Name", v.Name, "Window", v.Window)
	return both(func(width float64) string {
		return chart.Strip(d, chart.StripOptions{Title: title, Desc: v.Mean + "; " + d.VerdictWords, Width: width})
	})
}

// pictures draws the heaps and the map. A map that cannot be computed is left
// out: the rest of the page says the same in words.
func (b *mixBuilder) pictures(ctx context.Context) {
	var items []chart.HeapItem
	var say []string
	for _, l := range b.v.Lines {
		if l.Form != nil && l.Mass > 0 {
			amount := l.Grams + "\u00a0g"
			items = append(items, chart.HeapItem{Form: l.Form, Mass: l.Mass, Label: b.w.Form(l.Form), Amount: amount})
			say = append(say, b.w.Form(l.Form)+" "+amount)
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
	b.v.Heaps = template.HTML(chart.Heaps(items, chart.HeapsOptions{ID: "heaps", Title: b.w.T("heaps_title"), Desc: b.w.And(say), Width: narrow, Assumed: b.w.T("heap_assumed")}))
	b.region(ctx)
}

// region draws what the shelf can make, with the mix if there is one, and
// what it can make without one ingredient.
func (b *mixBuilder) region(ctx context.Context) {
	region, err := b.s.regions.find(ctx, b.a.Plan, -1)
	if err != nil || len(region.Corners) < 3 {
		return
	}
	at, without, ready := b.leftOut(ctx, region)
	b.v.Map = &mapView{}
	m := chart.MapRegion{Region: without}
	switch {
	case !ready:
		b.v.Map.Later = mixPath(b.v.Mix.ID) + "?" + mapLess + "=" + mostCostly
	case at < 0:
		b.v.Map.Less = b.w.T("map_less_none")
	case without.Area() <= 0:
		b.v.Map.Less = b.w.T("map_less_nothing", "Name", b.w.Form(b.a.Plan.Lines[at].Form))
	default:
		m.Label = b.w.T("map_less", "Name", b.w.Form(b.a.Plan.Lines[at].Form))
		b.v.Map.Less = b.w.T("map_less_share", "Name", b.w.Form(b.a.Plan.Lines[at].Form), "Share", b.w.Num(100*without.Area()/region.Area(), 0))
	}
	b.v.Map.SVG = b.regionMap(chart.MapRegion{Region: region, Label: b.w.T("map_all")}, m)
	chosen := b.less
	b.v.Map.Choices = append(b.v.Map.Choices, choice{mostCostly, b.w.T("map_less_most"), chosen == "" || chosen == mostCostly})
	for _, l := range b.a.Plan.Lines {
		b.v.Map.Choices = append(b.v.Map.Choices, choice{l.Form.Ref(), b.w.Form(l.Form), chosen == l.Form.Ref()})
	}
	slices.SortStableFunc(b.v.Map.Choices[1:], func(x, y choice) int { return strings.Compare(x.Label, y.Label) })
}

// mapLess names the ingredient that the map leaves out, in forms and
// addresses, or asks for the one whose absence costs most. With none, that one
// is shown if it is known already: finding it can take seconds.
const (
	mapLess    = "less"
	mostCostly = "most"
)

// leftOut is the line that the keeper chose to see the shelf without, else
// the one without which the least of the region is left, with what is left.
//
// The corners that do without a line stay when it goes, so that their hull is
// a lower bound on what is left: the lines are tried in the order of that
// bound until it is no less than the least that was found.
func (b *mixBuilder) leftOut(ctx context.Context, all *formulate.Region) (line int, left *formulate.Region, ready bool) {
	if b.less != "" && b.less != mostCostly {
		at := slices.IndexFunc(b.a.Plan.Lines, func(l mix.PlanLine) bool { return l.Form.Ref() == b.less })
		if at < 0 {
			return -1, nil, true
		}
		r, err := b.s.regions.find(ctx, b.a.Plan, at)
		if err != nil {
			return -1, nil, true
		}
		return at, r, true
	}
	type candidate struct {
		line  int
		least float64
	}
	var list []candidate
	for i := range b.a.Plan.Lines {
		stay := formulate.Region{}
		for _, c := range all.Corners {
			if c.Shares[i] == 0 {
				stay.Corners = append(stay.Corners, c)
			}
		}
		if len(stay.Corners) < len(all.Corners) {
			list = append(list, candidate{i, stay.Area()})
		}
	}
	slices.SortStableFunc(list, func(x, y candidate) int { return cmp.Compare(x.least, y.least) })
	line, left = -1, all
	for _, x := range list {
		if x.least >= left.Area() {
			break
		}
		if b.less == "" && b.s.regions.get(regionKey(b.a.Plan, x.line)) == nil {
			return -1, nil, false
		}
		if r, err := b.s.regions.find(ctx, b.a.Plan, x.line); err == nil && r.Area() < left.Area() {
			line, left = x.line, r
		}
	}
	return line, left, true
}

func (b *mixBuilder) regionMap(all, without chart.MapRegion) template.HTML {
	axis := func(k nutrient.Key) string {
		return b.w.T("map_axis", "Name", b.w.Figure(k), "Basis", b.w.Basis(nutrient.AsFed, needs.Offered))
	}
	tick := func(v float64) string { return b.w.Plain(v) }
	d := chart.MapData{All: all, XName: axis(nutrient.CrudeFibre), YName: axis(nutrient.CrudeProtein), XFormat: tick, YFormat: tick, WindowLabel: b.w.T("map_window")}
	if without.Region != nil && len(without.Region.Corners) > 0 {
		d.Without = &without
	}
	for _, t := range b.a.Plan.Targets {
		if t.Basis != nutrient.AsFed || t.On != needs.Offered || t.Per != "" {
			continue
		}
		win := chart.StripWindow{Min: t.Min, Max: t.Max}
		switch t.Nutrient {
		case nutrient.CrudeFibre:
			d.X = win
		case nutrient.CrudeProtein:
			d.Y = win
		}
	}
	portions := b.a.Answer.Portions()
	x, y := analysis.Of(portions, mapX), analysis.Of(portions, mapY)
	desc := b.w.T("map_desc_none", "N", strconv.Itoa(len(all.Region.Corners)))
	if x.HasMean && y.HasMean {
		m := &chart.MapMix{X: x.Mean, Y: y.Mean, Label: b.w.T("map_mix")}
		if e, ok := chart.EllipseOf(portions, mapX, mapY); ok {
			m.Ellipse = &e
			m.Label = b.w.T("map_mix_ellipse")
		}
		d.Mix = m
		desc = b.w.T("map_desc", "X", b.w.Short(x.Mean), "Y", b.w.Short(y.Mean), "N", strconv.Itoa(len(all.Region.Corners)))
	}
	return both(func(width float64) string {
		return chart.Map(d, chart.MapOptions{Title: b.w.T("map_title"), Desc: desc, Width: width})
	})
}

// sample draws a few pieces of a form beside a scale bar.
func sample(w *words, f *catalog.Form) template.HTML {
	title := w.T("sample_title", "Name", w.Form(f))
	return template.HTML(chart.Sample(f, chart.SampleOptions{Title: title, Desc: w.Told(f.Looks), Width: narrow - 48, Bar: 10, BarLabel: w.T("scale_bar"), Count: 7}))
}
