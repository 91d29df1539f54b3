package chart

import (
	"fmt"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"firlot/catalog"
)

func spoonItems(t testing.TB) []SpoonItem {
	cat := builtin(t)
	var list []SpoonItem
	for _, x := range []struct {
		ref string
		n   int
	}{{"proso-millet/in-hull", 350}, {"canary-seed/in-hull", 180}, {"oats/groats", 40}, {"sunflower/in-shell-striped", 9}, {"linseed/whole", 30}, {"nettle/leaf-dried", 0}} {
		f := cat.Form(x.ref)
		if f == nil {
			t.Fatalf("the catalogue has no %s", x.ref)
		}
		list = append(list, SpoonItem{f, x.n})
	}
	return list
}

func spoonWith(n int) []SpoonItem { return []SpoonItem{{&catalog.Form{ID: "own", Shape: "grain"}, n}} }

// weekOf is an invented week in Spanish, whose words are long.
func weekOf() ([]RibbonDay, []Strand) {
	days := []RibbonDay{{Label: "lun", Under: "23/11"}, {Label: "mar", Under: "24/11", Now: true}, {Label: "mié", Under: "25/11"}, {Label: "jue", Under: "26/11"},
		{Label: "vie", Under: "27/11"}, {Label: "sáb", Under: "28/11", Away: true}, {Label: "dom", Under: "29/11", Away: true}}
	on := func(s string) []bool {
		var list []bool
		for _, r := range s {
			list = append(list, r == 'x')
		}
		return list
	}
	return days, []Strand{
		{Name: "la mezcla", Words: "10 g, esparcida", Band: true, On: on("xxxx.xx"), Knot: KnotStrewn},
		{Name: "heno de fleo cortado", Words: "siempre a disposición", AtWill: true, Knot: KnotRack},
		{Name: "lechuga romana", Words: "6 g para todos, en un platillo, y el resto se retira por la noche", On: on("x...x.."), Knot: KnotDish},
		{Name: "gusano de la harina seco", Words: "2 piezas, de la mano", On: on("......x"), Knot: KnotHand},
		{Name: "heno de pradera", On: on(".x.x..."), Knot: KnotRack},
	}
}

func weightLines() map[string]WeightLine {
	ticks := []WeightTick{{0, "4 oct"}, {14, "18 oct"}, {28, "1 nov"}, {42, "15 nov"}}
	even := WeightLine{Points: []WeightPoint{{0, 78}, {14, 78.5}, {28, 77.5}, {42, 78}}, Trend: &[2]WeightPoint{{0, 78.2}, {42, 77.8}},
		Low: p(70), High: p(90), Band: "adulto: 70 a 90", Ticks: ticks, Unit: "g", Format: num1}
	fast := even
	fast.Points = []WeightPoint{{0, 76}, {20, 75}, {35, 70}, {42, 66}}
	fast.Trend, fast.Fast = &[2]WeightPoint{{20, 75.5}, {42, 66.2}}, true
	one := even
	one.Points, one.Trend = even.Points[:1], nil
	return map[string]WeightLine{"even": even, "fast": fast, "one": one, "none": {Unit: "g", Ticks: ticks, Format: num1}}
}

func TestFeedingPicturesTidy(t *testing.T) {
	for _, w := range []float64{280, 320, 700} {
		days, strands := weekOf()
		r := Ribbon(days, strands, RibbonOptions{Title: "semana", Desc: "d", Width: w, Away: "fuera: la barquera"})
		tidy(t, sound(t, r))
		for name, d := range weightLines() {
			svg := Weights(d, WeightOptions{Title: name, Width: w})
			tidy(t, sound(t, svg))
			if svg != Weights(d, WeightOptions{Title: name, Width: w}) {
				t.Errorf("%s: not the same twice", name)
			}
		}
		for _, n := range []int{0, 1, 7, 5000} {
			items := spoonItems(t)
			for i := range items {
				items[i].Count *= n
			}
			svg := Spoonful(items, SpoonOptions{Title: "s", Width: w, Seed: 3, BarLabel: "1 cm"})
			tidy(t, sound(t, svg))
			if len(svg) > 130_000 {
				t.Errorf("%d times: %d bytes", n, len(svg))
			}
		}
	}
}

// Every seed that was counted is drawn, on the tray; of too many, an even
// part.
func TestSpoonfulDrawsWhatWasCounted(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		items := spoonItems(t)
		n := 0
		for i := range items {
			items[i].Count = rapid.IntRange(0, 400).Draw(rt, "count")
			n += items[i].Count
		}
		width := rapid.Float64Range(200, 900).Draw(rt, "width")
		scale, height := spoonSize(items, 1, width)
		seeds := strew(items, SpoonDrawn(items), scale, width, height, rapid.Uint64().Draw(rt, "seed"))
		if SpoonDrawn(items) == 1 && len(seeds) != n {
			rt.Fatalf("%d seeds of %d", len(seeds), n)
		}
		for _, s := range seeds {
			a, b := pieceSides(items[s.item].Form)
			if r := max(a, b) * scale; s.x-r < -0.5 || s.y-r < -0.5 || s.x+r > width+0.5 || s.y+r > height+0.5 {
				rt.Fatalf("a seed of %s at %v lies off the tray of %v × %v", items[s.item].Form.Ref(), s.point, width, height)
			}
		}
	})
	if k := SpoonDrawn([]SpoonItem{{nil, MostSeeds}}); k != 1 {
		t.Errorf("one in %d", k)
	}
	if k := SpoonDrawn([]SpoonItem{{nil, 2*MostSeeds + 1}}); k != 3 {
		t.Errorf("one in %d", k)
	}
}

// Another seed, another spoonful; the same seed, the same.
func TestSpoonfulSeed(t *testing.T) {
	items := spoonItems(t)
	one := Spoonful(items, SpoonOptions{ID: "x", Seed: 1})
	if one != Spoonful(items, SpoonOptions{ID: "x", Seed: 1}) {
		t.Error("not the same twice")
	}
	if one == Spoonful(items, SpoonOptions{ID: "x", Seed: 2}) {
		t.Error("another seed lies the same")
	}
}

func TestFeedingPicturesHostile(t *testing.T) {
	days, strands := weekOf()
	for i := range days {
		days[i].Label, days[i].Under, days[i].Away = hostile, hostile, true
	}
	for i := range strands {
		strands[i].Name, strands[i].Words, strands[i].Knot = hostile, hostile, hostile
	}
	line := weightLines()["fast"]
	line.Band, line.Unit, line.Format = hostile, hostile, func(float64) string { return hostile }
	line.Ticks[0].Label = hostile
	f := &catalog.Form{Ingredient: &catalog.Ingredient{ID: hostile}, ID: hostile, Shape: hostile, Colours: []string{hostile},
		Length: &catalog.Figure{Mean: math.NaN()}, Width: &catalog.Figure{Mean: math.Inf(1)}}
	for _, svg := range []string{
		Ribbon(days, strands, RibbonOptions{Title: hostile, Desc: hostile, Away: hostile}),
		Weights(line, WeightOptions{Title: hostile, Desc: hostile}),
		Spoonful([]SpoonItem{{f, 30}}, SpoonOptions{ID: hostile, Title: hostile, Desc: hostile, BarLabel: hostile}),
		KnotMark(hostile),
	} {
		sound(t, svg)
		if strings.Contains(svg, "<script") {
			t.Errorf("markup passed through: %.300s", svg)
		}
	}
	sound(t, Weights(WeightLine{Points: []WeightPoint{{math.NaN(), 1}, {1, math.Inf(1)}}, Low: p(math.NaN()), High: p(1)}, WeightOptions{}))
	sound(t, Ribbon(nil, nil, RibbonOptions{}))
}

// The knots differ in shape, not in colour alone.
func TestKnots(t *testing.T) {
	seen := map[string]Knot{}
	for _, k := range []Knot{KnotStrewn, KnotDish, KnotHand, KnotRack} {
		svg := KnotMark(k)
		if other, ok := seen[svg]; ok {
			t.Errorf("%s looks as %s", k, other)
		}
		seen[svg] = k
		if !strings.Contains(svg, `class="knot-`+string(k)+`"`) {
			t.Errorf("%s is not drawn: %s", k, svg)
		}
	}
}

// A cut band has as many pieces as there are runs of days.
func TestBandIsCut(t *testing.T) {
	days, strands := weekOf()
	svg := Ribbon(days, strands[:1], RibbonOptions{})
	if n := strings.Count(svg, `class="band"`); n != 2 {
		t.Errorf("%d pieces", n)
	}
	if n := strings.Count(svg, `class="gap"`); n != 1 {
		t.Errorf("%d gaps", n)
	}
}

func TestFeedingGolden(t *testing.T) {
	pictures := map[string]string{}
	days, strands := weekOf()
	for _, w := range []float64{320, 700} {
		pictures[fmt.Sprintf("ribbon-%v", w)] = Ribbon(days, strands, RibbonOptions{Title: "semana", Desc: "d", Width: w, Away: "fuera: la barquera"})
	}
	for name, d := range weightLines() {
		pictures["weights-"+name] = Weights(d, WeightOptions{Title: name, Width: 320})
	}
	pictures["spoonful"] = Spoonful(spoonItems(t), SpoonOptions{ID: "s", Title: "cucharada", Seed: 7, BarLabel: "1 cm"})
	pictures["spoonful-few"] = Spoonful(spoonWith(5), SpoonOptions{ID: "s", Title: "cucharada", Seed: 7})
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

func BenchmarkSpoonful(b *testing.B) {
	items := spoonItems(b)
	for b.Loop() {
		Spoonful(items, SpoonOptions{Width: 700, Title: "t"})
	}
}
