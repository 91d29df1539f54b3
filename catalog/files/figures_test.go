package files

import (
	"strings"
	"testing"

	"firlot/catalog"
	"firlot/nutrient"
)

// eachFigure calls do for every figure of every form: composition by its key,
// and the figures that describe the seed by their field's name.
func eachFigure(c *catalog.Catalogue, do func(f *catalog.Form, what string, fig catalog.Figure)) {
	for _, f := range c.Forms() {
		for _, d := range described(f) {
			if d.fig != nil {
				do(f, d.name, *d.fig)
			}
		}
		for k, fig := range f.Figures {
			do(f, string(k), fig)
		}
	}
}

type describing struct {
	name       string
	fig        *catalog.Figure
	above, top float64 // the range that its mean may lie in
}

// described lists what describes a seed, with the range of what it can be:
// the smallest and largest of the trade's goods, hay and whole roots left out.
func described(f *catalog.Form) []describing {
	return []describing{
		{"hull", f.Hull, 1, 75},                           // %; hazelnut shell is the most
		{"hull_left", f.HullLeft, 0, 100},                 // %
		{"thousand_kernels", f.ThousandKernels, 0.1, 2e5}, // g; evening primrose to a whole egg
		{"length", f.Length, 0.4, 400},                    // mm
		{"width", f.Width, 0.3, 250},                      // mm
		{"bulk_density", f.BulkDensity, 0.02, 1.6},        // g/mL; rubbed petals to ground shell
		{"keeps_months", f.KeepsMonths, 0, 600},
	}
}

// TestSourcesResolve: every figure, limit and unsafe food names a source that
// sources.toml holds; what is recalled names its publication there too, unless
// it is general knowledge; and the evidence is one of the four kinds.
func TestSourcesResolve(t *testing.T) {
	c := builtin(t)
	n := 0
	eachFigure(c, func(f *catalog.Form, what string, fig catalog.Figure) {
		n++
		checkSource(t, c, f.Ref()+" "+what, fig.Source, fig.How)
		if key, _, _ := strings.Cut(fig.Source, ":"); key == "assumption" && fig.How != catalog.Assumed {
			t.Errorf("%s %s: %q is marked %s", f.Ref(), what, fig.Source, fig.How)
		}
		if strings.HasPrefix(fig.Source, "recalled:") && fig.How.Rank() < catalog.Recalled.Rank() && fig.How != catalog.Derived {
			t.Errorf("%s %s: %q is marked %s", f.Ref(), what, fig.Source, fig.How)
		}
	})
	for _, f := range c.Forms() {
		for _, l := range f.Limits {
			n++
			checkSource(t, c, f.Ref()+" limit", l.Source, l.How)
			if l.Most < 0 || l.Most > 100 {
				t.Errorf("%s: a limit of %v %%", f.Ref(), l.Most)
			}
		}
	}
	for _, u := range c.Unsafe {
		n++
		checkSource(t, c, u.ID, u.Source, u.How)
	}
	t.Logf("%d figures, limits and unsafe foods with a source", n)
}

func checkSource(t *testing.T, c *catalog.Catalogue, what, ref string, how catalog.Evidence) {
	t.Helper()
	key, item, _ := strings.Cut(ref, ":")
	src, ok := c.Sources[key]
	if !ok || src.Title == "" {
		t.Errorf("%s: the source %q is not in sources.toml", what, ref)
	}
	if src.Key == "recalled" {
		publication, _, _ := strings.Cut(item, " ")
		if _, known := c.Sources[publication]; !known && publication != "general" {
			t.Errorf("%s: %q recalls a publication that is not in sources.toml", what, ref)
		}
	}
	if src.Key == "assumption" && item == "" {
		t.Errorf("%s: %q does not say what was assumed", what, ref)
	}
	if !how.Known() {
		t.Errorf("%s: evidence %q", what, how)
	}
}

// TestEverySourceIsUsed: sources.toml holds no source that nothing cites.
func TestEverySourceIsUsed(t *testing.T) {
	c := builtin(t)
	used := map[string]bool{}
	use := func(ref string) {
		key, item, _ := strings.Cut(ref, ":")
		used[key] = true
		item, _, _ = strings.Cut(item, " ")
		used[item] = used[item] || key == "recalled"
	}
	eachFigure(c, func(_ *catalog.Form, _ string, fig catalog.Figure) { use(fig.Source) })
	for _, f := range c.Forms() {
		for _, l := range f.Limits {
			use(l.Source)
		}
	}
	for _, u := range c.Unsafe {
		use(u.Source)
	}
	for key := range c.Sources {
		if !used[key] {
			t.Errorf("nothing cites %q", key)
		}
	}
}

// TestFiguresAreInRange: no figure is above its nutrient's ceiling, printed
// ranges hold their mean, and what describes a seed is what a seed can be.
func TestFiguresAreInRange(t *testing.T) {
	c := builtin(t)
	eachFigure(c, func(f *catalog.Form, what string, fig catalog.Figure) {
		if info, ok := nutrient.Lookup(nutrient.Key(what)); ok && (fig.Mean > info.Ceiling || fig.Ranged && fig.High > info.Ceiling) {
			t.Errorf("%s %s: %v, %v at the most, but no food exceeds %v", f.Ref(), what, fig.Mean, fig.High, info.Ceiling)
		}
		if fig.Ranged && (fig.Low > fig.Mean || fig.Mean > fig.High) {
			t.Errorf("%s %s: mean %v outside %v to %v", f.Ref(), what, fig.Mean, fig.Low, fig.High)
		}
	})
	for _, f := range c.Forms() {
		for _, d := range described(f) {
			if d.fig != nil && (d.fig.Mean < d.above || d.fig.Mean > d.top) {
				t.Errorf("%s %s: %v is not between %v and %v", f.Ref(), d.name, d.fig.Mean, d.above, d.top)
			}
		}
		if f.Length != nil && f.Width != nil && f.Length.Mean < f.Width.Mean {
			t.Errorf("%s: wider (%v mm) than long (%v mm)", f.Ref(), f.Width.Mean, f.Length.Mean)
		}
	}
}

// mostUneven is the most that a recorded spread of a proximate may be, as a
// part of its mean, before the entry has to be looked at: at one half, one bag
// in forty would hold none of it.
const mostUneven = 0.5

// uneven lists the proximates whose source records more, with the reason.
var uneven = map[string]string{
	"proso-millet/hulled dietary_fibre": tableSaysSo,
	"poppy/whole moisture":              tableSaysSo,
	"black-gram/whole crude_fibre":      "printed so by Feedipedia",
	"lentil/whole ndf":                  "printed so by Feedipedia",
	"broccoli/fresh crude_protein":      tableSaysSo,
	"apple/fresh dietary_fibre":         tableSaysSo,
	"apple/dried dietary_fibre":         tableSaysSo,
	"apple/fresh ash":                   tableSaysSo,
	"apple/dried ash":                   tableSaysSo,
	"strawberry/fresh starch":           tableSaysSo,
}

// leanFood is the fat, in per cent, under which laboratories differ among
// themselves by as much as bags do: 0.2 to 0.7 points at any level, by the
// collaborative studies of the ether and hexane methods.
const leanFood = 2

const tableSaysSo = "standard error × √n of the American table, which does not say why"

// TestSpreadsAreBelowTheirMean: recorded spreads of proximates are well under
// their means. Trace figures (a vitamin, sodium in a nut) may scatter more
// than their mean is large and are only counted.
func TestSpreadsAreBelowTheirMean(t *testing.T) {
	c := builtin(t)
	traces, met := 0, map[string]bool{}
	eachFigure(c, func(f *catalog.Form, what string, fig catalog.Figure) {
		info, ok := nutrient.Lookup(nutrient.Key(what))
		switch {
		case !ok || fig.SD <= mostUneven*fig.Mean:
		case what == string(nutrient.CrudeFat) && fig.Mean < leanFood:
		case info.Group != nutrient.Proximate:
			traces++
		case uneven[f.Ref()+" "+what] == "":
			t.Errorf("%s %s: %v ± %v", f.Ref(), what, fig.Mean, fig.SD)
		default:
			met[f.Ref()+" "+what] = true
		}
	})
	for what := range uneven {
		if !met[what] {
			t.Errorf("%s is listed as uneven but is not", what)
		}
	}
	t.Logf("%d minerals, vitamins and fatty acids scatter by more than half of their mean", traces)
}

// TestEvidenceForProximates: every form knows the five proximates, so that
// protein, fat, fibre and energy of any mix are known.
func TestEvidenceForProximates(t *testing.T) {
	c := builtin(t)
	for _, f := range c.Forms() {
		for _, k := range []nutrient.Key{nutrient.Moisture, nutrient.CrudeProtein, nutrient.CrudeFat, nutrient.CrudeFibre, nutrient.Ash} {
			if fig, ok := f.Figures[k]; !ok || !fig.How.Known() {
				t.Errorf("%s does not know its %s", f.Ref(), k)
			}
		}
	}
}
