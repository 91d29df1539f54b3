package chart

import (
	"flag"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"firlot/analysis"
	"firlot/catalog"
	"firlot/nutrient"
)

var update = flag.Bool("update", false, "write the golden pictures anew")

const hostile = "\"><script>alert('x')</script>&\x00\x1b]]>\ufffe-->"

// TestEveryForm draws all forms of the catalogue.
func TestEveryForm(t *testing.T) {
	cat := builtin(t)
	options := map[string]PortraitOptions{
		"plain": {Title: "t", Desc: "d"}, "bounded": {Least: 20, Most: 60, Width: 70, Height: 40},
		"life": {Title: "t", LifeSize: true, Calibration: 1.04}, "level": {Level: true, Scale: 9, Variant: 3},
	}
	for _, f := range cat.Forms() {
		if _, ok := kinds[f.Shape]; !ok {
			t.Errorf("%s: no drawing for the shape %q", f.Ref(), f.Shape)
		}
		for name, o := range options {
			svg := Portrait(f, o)
			sound(t, svg)
			if svg != Portrait(f, o) {
				t.Errorf("%s %s: drawn differently the second time", f.Ref(), name)
			}
			if len(svg) > 5500 {
				t.Errorf("%s %s: %d bytes", f.Ref(), name, len(svg))
			}
			marked := strings.Contains(svg, `class="not-to-scale"`)
			if !Sized(f) && !marked {
				t.Errorf("%s %s: size not known and not marked", f.Ref(), name)
			}
			if Sized(f) && o.LifeSize && marked {
				t.Errorf("%s: life size is marked as not to scale", f.Ref())
			}
		}
		els := sound(t, Sample(f, SampleOptions{Title: "t", Width: 300, Bar: 10, BarLabel: "1 cm"}))
		tidy(t, els)
	}
}

// TestTrueSize holds the drawn outlines against the catalogue's length and
// width: a seed of twice the length is drawn twice as long.
func TestTrueSize(t *testing.T) {
	const scale = 20
	for _, f := range builtin(t).Forms() {
		if !Sized(f) {
			continue
		}
		for variant := range 4 {
			d := size(f, PortraitOptions{Scale: scale, Most: 1e5, Variant: variant})
			all := d.outline
			for _, u := range d.under {
				all += u.d
			}
			b := bounds(t, all)
			l, w := (b.x1-b.x0)/scale, (b.y1-b.y0)/scale
			if math.Abs(l/f.Length.Mean-1) > 0.12 {
				t.Errorf("%s: %.2f mm long is drawn as %.2f", f.Ref(), f.Length.Mean, l)
			}
			if math.Abs(w/f.Width.Mean-1) > 0.16 {
				t.Errorf("%s: %.2f mm wide is drawn as %.2f", f.Ref(), f.Width.Mean, w)
			}
		}
	}
}

// TestLifeSize: the picture of a level seed is as many millimetres long as
// the seed, but for the edge.
func TestLifeSize(t *testing.T) {
	f := builtin(t).Form("oats/in-hull")
	e := sound(t, Portrait(f, PortraitOptions{LifeSize: true, Level: true}))[0]
	got := float(t, strings.TrimSuffix(e.attrs["width"], "mm"))
	if !strings.HasSuffix(e.attrs["width"], "mm") || math.Abs(got-f.Length.Mean) > 0.5 {
		t.Errorf("%v mm long is %s wide", f.Length.Mean, e.attrs["width"])
	}
	twice := sound(t, Portrait(f, PortraitOptions{LifeSize: true, Level: true, Calibration: 2}))[0]
	if g := float(t, strings.TrimSuffix(twice.attrs["width"], "mm")); math.Abs(g-2*got) > 0.2 {
		t.Errorf("calibrated by 2 it is %v, not twice %v", g, got)
	}
}

// TestEnlarged: a seed drawn larger than the scale shows its true size too.
func TestEnlarged(t *testing.T) {
	cat := builtin(t)
	small := Portrait(cat.Form("teff/whole"), PortraitOptions{Least: 20})
	if !strings.Contains(small, `class="true-size"`) || !strings.Contains(small, `data-scale="5.29"`) { // 20 px over 96/25.4
		t.Errorf("an enlarged seed does not say so: %.200s", small)
	}
	if s := Portrait(cat.Form("oats/in-hull"), PortraitOptions{Least: 20}); strings.Contains(s, "true-size") || strings.Contains(s, "data-scale") {
		t.Error("a seed at scale says that it is not")
	}
	if s := Portrait(cat.Form("foxtail-millet/spray"), PortraitOptions{Most: 100}); !strings.Contains(s, "not-to-scale") {
		t.Error("an ear drawn smaller is not marked")
	}
}

// TestHostile passes markup through every word and colour.
func TestHostile(t *testing.T) {
	f := &catalog.Form{Ingredient: &catalog.Ingredient{ID: hostile}, ID: hostile, Shape: hostile, State: hostile, Looks: hostile,
		Colours: []string{hostile, "#12345", "#gggggg"}, Length: &catalog.Figure{Mean: 5}, Width: &catalog.Figure{Mean: 3}}
	d := strips()[1].data
	d.Name, d.Unit, d.Window.Label, d.VerdictWords = hostile, hostile, hostile, hostile
	d.Others[0].Label = hostile
	d.Format = func(float64) string { return hostile }
	m := maps()[0].data
	m.All.Label, m.Without.Label, m.WindowLabel, m.Mix.Label, m.XName, m.YName = hostile, hostile, hostile, hostile, hostile, hostile
	m.XFormat, m.YFormat = d.Format, d.Format
	loose := &catalog.Form{ID: "own"}
	pictures := []string{
		Portrait(f, PortraitOptions{Title: hostile, Desc: hostile}),
		Portrait(loose, PortraitOptions{Title: hostile}),
		Sample(f, SampleOptions{Title: hostile, Bar: 10, BarLabel: hostile}),
		Heaps([]HeapItem{{f, 1000, hostile, hostile}, {loose, 1000, hostile, hostile}}, HeapsOptions{ID: hostile, Title: hostile, Desc: hostile, Assumed: hostile}),
		Strip(d, StripOptions{Title: hostile, Desc: hostile}),
		Map(m, MapOptions{Title: hostile, Desc: hostile}),
	}
	for _, svg := range pictures {
		for _, s := range []string{svg, Standalone(svg, StandaloneOptions{White: true, Fonts: hostile})} {
			sound(t, s)
			if strings.Contains(s, "<script") || strings.Contains(s, "\x00") {
				t.Errorf("markup passed through: %.300s", s)
			}
		}
	}
}

// TestNotNumbers: figures that are no numbers leave a sound picture.
func TestNotNumbers(t *testing.T) {
	nan, inf := math.NaN(), math.Inf(1)
	for _, v := range []float64{nan, inf, -inf, 0, 1e300} {
		d := strips()[0].data
		d.Mean, d.Low, d.High, d.Window.Min = v, v, inf, &v
		sound(t, Strip(d, StripOptions{}))
		m := maps()[0].data
		m.Mix.X, m.X.Min, m.Y.Max = v, &v, &v
		sound(t, Map(m, MapOptions{}))
	}
	f := &catalog.Form{ID: "own", Shape: "grain", Length: &catalog.Figure{Mean: nan}, Width: &catalog.Figure{Mean: inf}}
	if svg := Portrait(f, PortraitOptions{}); !strings.Contains(svg, "not-to-scale") {
		t.Error("a length that is no number was drawn as one")
	}
}

// TestHeapsTidy: labels neither meet nor leave the picture, whatever their
// number, and the file stays small.
func TestHeapsTidy(t *testing.T) {
	for _, n := range []int{0, 1, 3, 10, 20, 40} {
		for _, w := range []float64{320, 700, 1100} {
			for _, lang := range []string{"es", "de"} {
				items := shelf(t, n, lang)
				svg := Heaps(items, HeapsOptions{Width: w, Title: "t", Desc: "d", Assumed: "volumen supuesto: densidad no conocida"})
				els := sound(t, svg)
				tidy(t, els)
				if most := 16000 + 1200*n; len(svg) > max(most, 1900*n) || n == 20 && len(svg) > 40000 {
					t.Errorf("%d heaps at %v px: %d bytes", n, w, len(svg))
				}
				if svg != Heaps(items, HeapsOptions{Width: w, Title: "t", Desc: "d", Assumed: "volumen supuesto: densidad no conocida"}) {
					t.Errorf("%d heaps at %v px: drawn differently the second time", n, w)
				}
			}
		}
	}
}

// TestHeapsInside: no seed of a heap is drawn outside the picture or into its
// neighbour's cell.
func TestHeapsInside(t *testing.T) {
	for _, n := range []int{3, 10, 20, 40} {
		for _, w := range []float64{320, 1100} {
			piles := measure(shelf(t, n, "en"), HeapsOptions{Assumed: "assumed"}, w)
			place(piles, w)
			for i, p := range piles {
				if p.x-p.cell/2 < 0 || p.x+p.cell/2 > w {
					t.Errorf("%s: cell from %.1f to %.1f of %v", p.Label, p.x-p.cell/2, p.x+p.cell/2, w)
				}
				if i > 0 && piles[i-1].base == p.base && piles[i-1].x+piles[i-1].cell/2 > p.x-p.cell/2 {
					t.Errorf("%s runs into %s", piles[i-1].Label, p.Label)
				}
				if 2*p.r > p.cell {
					t.Errorf("%s: a heap %.1f wide in a cell of %.1f", p.Label, 2*p.r, p.cell)
				}
			}
		}
	}
}

// TestHeapsByVolume: drawn areas go by volume to the power of two thirds, and
// an unknown density is assumed, said and outlined.
func TestHeapsByVolume(t *testing.T) {
	cat := builtin(t)
	dense, light := cat.Form("wheat/whole"), cat.Form("wheat/puffed")
	items := []HeapItem{{Form: dense, Mass: 100_000}, {Form: light, Mass: 100_000}, {Form: dense, Mass: 800_000}}
	piles := measure(items, HeapsOptions{}, 1100)
	want := math.Pow(dense.BulkDensity.Mean/light.BulkDensity.Mean, 2.0/3)
	got := piles[1].r * piles[1].h / (piles[0].r * piles[0].h)
	if math.Abs(got/want-1) > 0.01 {
		t.Errorf("puffed over whole: areas as %v, volumes^(2/3) as %v", got, want)
	}
	if r := piles[2].r / piles[0].r; math.Abs(r-2) > 1e-9 {
		t.Errorf("eight times the mass is %v times as wide, not twice", r)
	}
	unknown := &catalog.Form{ID: "own", Shape: "grain"}
	if v, known := Volume(unknown, 600_000); known || v != 1000 { // 600 g at 0.6 g/mL
		t.Errorf("volume %v, known %v", v, known)
	}
	svg := Heaps([]HeapItem{{Form: unknown, Mass: 1000, Label: "own"}}, HeapsOptions{Assumed: "guessed"})
	if !strings.Contains(svg, `class="assumed"`) || !strings.Contains(svg, ">guessed<") {
		t.Error("an assumed density is not shown")
	}
	if s := Heaps(items[:1], HeapsOptions{Assumed: "guessed"}); strings.Contains(s, "guessed") || strings.Contains(s, `class="assumed"`) {
		t.Error("a known density is shown as assumed")
	}
}

func TestStripsTidy(t *testing.T) {
	for _, w := range []float64{280, 320, 500, 700, 1100} {
		for _, s := range strips() {
			svg := Strip(s.data, StripOptions{Title: s.name, Width: w})
			tidy(t, sound(t, svg))
			if len(svg) > 6000 || svg != Strip(s.data, StripOptions{Title: s.name, Width: w}) {
				t.Errorf("%s: %d bytes, or not the same twice", s.name, len(svg))
			}
		}
	}
}

// TestStripWindow: whatever its bounds, a window takes the same place.
func TestStripWindow(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		lo := rapid.Float64Range(0, 1e5).Draw(rt, "lo")
		wide := rapid.Float64Range(1e-3, 1e5).Draw(rt, "wide")
		s := &strip{x0: 16, x1: 316}
		s.lo, s.width = span(StripWindow{Min: p(lo), Max: p(lo + wide)})
		a, _ := s.px(lo)
		b, _ := s.px(lo + wide)
		if math.Abs(a-106) > 0.01 || math.Abs(b-226) > 0.01 {
			rt.Errorf("window from %v to %v", a, b)
		}
	})
}

// TestStripMarks: inside, outside and far outside have marks of unlike shape.
func TestStripMarks(t *testing.T) {
	want := map[string]string{"inside": "mean", "outside": "mean-outside", "far below": "mean-far", "far above": "mean-far", "not known": "unknown"}
	for _, s := range strips() {
		class, ok := want[s.name]
		if !ok {
			continue
		}
		svg := Strip(s.data, StripOptions{})
		for _, c := range []string{"mean-outside", "mean-far", "unknown"} {
			if has := strings.Contains(svg, `<path class="`+c+`"`); has != (c == class) {
				t.Errorf("%s: mark %s drawn: %v", s.name, c, has)
			}
		}
	}
}

func TestMapsTidy(t *testing.T) {
	for _, w := range []float64{300, 320, 500, 760, 1100} {
		for _, m := range maps() {
			svg := Map(m.data, MapOptions{Title: m.name, Width: w})
			tidy(t, sound(t, svg))
			if len(svg) > 9000 || svg != Map(m.data, MapOptions{Title: m.name, Width: w}) {
				t.Errorf("%s at %v: %d bytes, or not the same twice", m.name, w, len(svg))
			}
		}
	}
}

// TestTicks: round figures, in order, inside, a handful.
func TestTicks(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		lo := rapid.Float64Range(0, 1e4).Draw(rt, "lo")
		hi := lo + rapid.Float64Range(1e-3, 1e4).Draw(rt, "wide")
		got := ticks(lo, hi, 6)
		if len(got) < 2 || len(got) > 8 {
			rt.Fatalf("%d ticks from %v to %v", len(got), lo, hi)
		}
		step := got[1] - got[0]
		lead := step / math.Pow(10, math.Floor(math.Log10(step)*(1+1e-12)+1e-9))
		if r := math.Round(lead); math.Abs(lead-r) > 1e-3 || r != 1 && r != 2 && r != 5 && r != 10 {
			rt.Errorf("step %v", step)
		}
		for _, v := range got {
			if v < lo-step*1e-6 || v > hi+step*1e-6 {
				rt.Errorf("tick %v outside %v to %v", v, lo, hi)
			}
		}
	})
}

// TestEllipse: its deviations are those of package analysis, and a figure goes
// with itself entirely.
func TestEllipse(t *testing.T) {
	cat := builtin(t)
	var mix []analysis.Portion
	for _, l := range skerra[:6] {
		mix = append(mix, analysis.Portion{Form: cat.Form(l.ref), Mass: nutrient.Mass(l.grams * 1000)})
	}
	x := analysis.Measure{Nutrient: nutrient.CrudeFibre, Basis: nutrient.DryMatter}
	y := analysis.Measure{Nutrient: nutrient.CrudeProtein, Basis: nutrient.DryMatter}
	e, ok := EllipseOf(mix, x, y)
	if !ok {
		t.Fatal("not known")
	}
	for _, c := range []struct{ got, want float64 }{{e.SDX, analysis.Of(mix, x).SD}, {e.SDY, analysis.Of(mix, y).SD}} {
		if math.Abs(c.got-c.want) > 1e-12 || c.want == 0 {
			t.Errorf("deviation %v, analysis has %v", c.got, c.want)
		}
	}
	if e.Rho <= 0 || e.Rho >= 1 { // both rise when a bag is drier or moister
		t.Errorf("correlation %v on dry matter", e.Rho)
	}
	if self, _ := EllipseOf(mix, x, x); math.Abs(self.Rho-1) > 1e-12 {
		t.Errorf("a figure goes with itself by %v", self.Rho)
	}
	// Two squared standard normal deviates exceed r² with chance e^(−r²/2).
	if math.Abs(math.Exp(-nine*nine/2)-0.1) > 1e-12 {
		t.Errorf("radius %v", nine)
	}
}

func TestStandalone(t *testing.T) {
	for _, m := range maps() {
		plain := Standalone(Map(m.data, MapOptions{Title: m.name, Width: 700}), StandaloneOptions{})
		sound(t, plain)
		if !strings.HasPrefix(plain, `<?xml version="1.0" encoding="UTF-8"?>`) || strings.Contains(plain, "var(") || strings.Contains(plain, "currentColor") || strings.Contains(plain, "<rect") {
			t.Errorf("%s: not a file of its own", m.name)
		}
		if on := Standalone(Map(m.data, MapOptions{Width: 700}), StandaloneOptions{White: true}); strings.Count(on, "<rect") != 1 {
			t.Errorf("%s: not on white", m.name)
		}
	}
}

// TestWrap: no line is wider than the room, and no letter is lost.
func TestWrap(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		s := rapid.StringOfN(rapid.RuneFrom([]rune("abcdeW iñé \u00ad漢")), 0, 60, -1).Draw(rt, "s")
		room := rapid.Float64Range(30, 200).Draw(rt, "room")
		lines := wrap(s, 12, room)
		for _, l := range lines {
			if textWidth(l, 12) > room {
				rt.Errorf("%q is wider than %v", l, room)
			}
		}
		bare := strings.NewReplacer(" ", "", "-", "", "\u00ad", "")
		if got, want := bare.Replace(strings.Join(lines, "")), bare.Replace(s); got != want {
			rt.Errorf("%q became %q", want, got)
		}
	})
	if got := wrap("descascarillado", 12, 60); len(got) != 2 || got[0] == "descascarillado" {
		t.Errorf("a long word: %q", got)
	}
	if got := wrap("zonnebloem\u00adpitten", 12, 90); len(got) != 2 || got[0] != "zonnebloem-" {
		t.Errorf("a soft hyphen: %q", got)
	}
}

func TestGolden(t *testing.T) {
	cat := builtin(t)
	pictures := map[string]string{}
	for _, ref := range []string{"barley/pearled", "barley/hulled", "oats/groats", "oats/rolled", "oats/in-hull", "amaranth/whole", "amaranth/popped",
		"proso-millet/in-hull", "buckwheat/in-hull", "sunflower/in-shell-striped", "pumpkin-seed/kernel", "linseed/whole", "nettle/leaf-dried",
		"rose-petals/dried", "mealworm/dried", "carrot/dried", "carrot/fresh"} {
		f := cat.Form(ref)
		pictures["portrait-"+strings.ReplaceAll(ref, "/", "-")] = Portrait(f, PortraitOptions{Title: f.Name("en"), Scale: 9, Least: 24, Most: 120})
	}
	pictures["sample-buckwheat"] = Sample(cat.Form("buckwheat/in-hull"), SampleOptions{Title: "buckwheat", Bar: 10, BarLabel: "1 cm"})
	for _, w := range []float64{320, 1100} {
		pictures[fmt.Sprintf("heaps-10-%v", w)] = Heaps(shelf(t, 10, "es"), HeapsOptions{Width: w, Title: "montones", Desc: "por volumen", Assumed: "volumen supuesto"})
	}
	for _, s := range strips() {
		pictures["strip-"+strings.ReplaceAll(s.name, " ", "-")] = Strip(s.data, StripOptions{Title: s.name, Width: 320})
	}
	pictures["strip-wide"] = Strip(strips()[1].data, StripOptions{Title: "wide", Width: 700})
	for _, m := range maps() {
		pictures["map-"+m.name] = Map(m.data, MapOptions{Title: m.name, Width: 320})
	}
	pictures["map-standalone"] = Standalone(Map(maps()[0].data, MapOptions{Title: "map", Width: 760}), StandaloneOptions{White: true})
	for name, svg := range pictures {
		file := filepath.Join("testdata", name+".svg")
		if *update {
			if err := os.WriteFile(file, []byte(svg), 0o644); err != nil {
				t.Fatal(err)
			}
			continue
		}
		want, err := os.ReadFile(file)
		if err != nil {
			t.Fatal(err)
		}
		if svg != string(want) {
			t.Errorf("%s has changed; look at it, then -update", file)
		}
	}
}

func BenchmarkPortraits(b *testing.B) {
	forms := builtin(b).Forms()
	for b.Loop() {
		for _, f := range forms {
			Portrait(f, PortraitOptions{Title: "t"})
		}
	}
}

func BenchmarkHeaps(b *testing.B) {
	items := shelf(b, 20, "es")
	for b.Loop() {
		Heaps(items, HeapsOptions{Width: 1100, Title: "t"})
	}
}

func BenchmarkMap(b *testing.B) {
	d := maps()[0].data
	for b.Loop() {
		Map(d, MapOptions{Width: 760, Title: "t"})
	}
}
