package main

import (
	"context"
	"fmt"

	"firlot/analysis"
	"firlot/formulate"
	"firlot/internal/chart"
	"firlot/mix"
	mixfiles "firlot/mix/files"
	"firlot/needs"
)

// pictureWidth leaves room for the legend beside the map.
const pictureWidth = 760

// saveRegion draws the map of a region into a file.
func saveRegion(ctx context.Context, path string, p *mix.Plan, r *formulate.Region, o formulate.RegionOptions) error {
	x, y := words(string(r.X.Nutrient)), words(string(r.Y.Nutrient))
	all := "every mix that the shelf can make"
	if !o.Free {
		all += ", other windows kept"
	}
	d := chart.MapData{All: chart.MapRegion{Region: r, Label: all},
		X: stripWindow(p, r.X), Y: stripWindow(p, r.Y), WindowLabel: "the window",
		XName: axisName(x, r.X), YName: axisName(y, r.Y)}
	if o.Leave >= 0 {
		gone := p.Lines[o.Leave].Form.Name("en")
		o.Leave = -1
		whole, err := formulate.FindRegion(ctx, p, r.X, r.Y, o)
		if err != nil {
			return fault{err}
		}
		d.All.Region, d.Without = whole, &chart.MapRegion{Region: r, Label: "without the " + gone}
	}
	if _, portions, err := standing(p); err == nil {
		d.Mix = &chart.MapMix{X: analysis.Of(portions, r.X).Mean, Y: analysis.Of(portions, r.Y).Mean,
			Label: "the mix as it stands, and where nine of ten sets of bags put it"}
		if e, ok := chart.EllipseOf(portions, r.X, r.Y); ok {
			d.Mix.Ellipse = &e
		}
	}
	title := fmt.Sprintf("What this shelf can make: %s by %s", x, y)
	svg := chart.Map(d, chart.MapOptions{Title: title, Width: pictureWidth})
	return mixfiles.Save(path, []byte(chart.Standalone(svg, chart.StandaloneOptions{White: true})))
}

// axisName says a figure with its unit, basis and side.
func axisName(name string, m analysis.Measure) string {
	s := fmt.Sprintf("%s, %s %s", name, m.Unit(), m.Basis)
	if m.On == needs.Eaten {
		s += ", as eaten"
	}
	return s
}

// stripWindow is the window that a plan has on a measure; open on both sides
// when there is none.
func stripWindow(p *mix.Plan, m analysis.Measure) chart.StripWindow {
	for _, t := range p.Targets {
		if analysis.MeasureOf(t.Window) == m {
			return chart.StripWindow{Min: t.Min, Max: t.Max}
		}
	}
	return chart.StripWindow{}
}
