package chart

import (
	"math"
	"strconv"
	"testing"

	"firlot/analysis"
	"firlot/catalog"
	"firlot/catalog/files"
	"firlot/formulate"
	"firlot/nutrient"
)

func builtin(t testing.TB) *catalog.Catalogue {
	t.Helper()
	cat, err := files.Builtin()
	if err != nil {
		t.Fatal(err)
	}
	return cat
}

// The invented shelf of the rescue on Skerra, with grams.
var skerra = []struct {
	ref   string
	grams int64
}{
	{"oats/groats", 265}, {"proso-millet/in-hull", 230}, {"canary-seed/in-hull", 160}, {"buckwheat/in-hull", 110},
	{"wheat/whole", 90}, {"linseed/whole", 45}, {"sunflower/in-shell-striped", 40}, {"pumpkin-seed/kernel", 25},
	{"nettle/leaf-dried", 20}, {"dandelion/leaf-dried", 15}, {"oats/rolled", 120}, {"foxtail-millet/in-hull", 80},
	{"amaranth/popped", 12}, {"mealworm/dried", 18}, {"rose-petals/dried", 3}, {"carrot/dried", 22}, {"maize/flaked", 35},
	{"pea/flaked", 30}, {"house-cricket/dried", 9}, {"amaranth/whole", 26}, {"barley/in-hull", 70}, {"barley/pearled", 40},
	{"oats/in-hull", 60}, {"teff/whole", 10}, {"safflower/in-hull", 14}, {"hemp/whole", 16}, {"milk-thistle/whole", 6},
	{"evening-primrose/whole", 4}, {"wheat/puffed", 8}, {"ribwort-plantain-leaf/dried", 7}, {"timothy-hay/cut", 12},
	{"silkworm/pupa-dried", 5}, {"cuttlebone/whole", 10}, {"buffalo-worm/dried", 6}, {"willow-leaf/dried", 5}, {"niger/whole", 12},
	{"rye/whole", 44}, {"spelt/in-hull", 50}, {"quinoa/whole", 33}, {"poppy/whole", 2},
}

// shelf is the first n lines of the shelf, with Spanish names made longer.
func shelf(t testing.TB, n int, lang string) []HeapItem {
	t.Helper()
	cat := builtin(t)
	var items []HeapItem
	for i, l := range skerra[:n] {
		f := cat.Form(l.ref)
		if f == nil {
			t.Fatalf("the catalogue has no %s", l.ref)
		}
		name := f.Name(lang)
		switch i % 7 {
		case 3:
			name += " descascarillado y desmenuzado a mano"
		case 6:
			name += " extraordinariamenteinterminablementelargo"
		}
		m := nutrient.Mass(l.grams * 1000)
		items = append(items, HeapItem{Form: f, Mass: m, Label: name, Amount: m.String()})
	}
	return items
}

func num1(v float64) string { return strconv.FormatFloat(math.Round(v*100)/100, 'f', -1, 64) }

func p(v float64) *float64 { return &v }

type namedStrip struct {
	name string
	data StripData
}

func strips() []namedStrip {
	base := StripData{Name: "Proteína bruta", Unit: "%", Window: StripWindow{p(13), p(16), "ventana de 13 a 16 %, tal como se ofrece"},
		Mean: 14.4, HasMean: true, Low: 13.3, High: 15.4, Verdict: analysis.Inside, VerdictWords: "en 97 de cada 100 juegos de bolsas ordinarias", Format: num1, Unknown: "no se sabe"}
	with := func(name string, change func(*StripData)) namedStrip {
		d := base
		change(&d)
		return namedStrip{name, d}
	}
	return []namedStrip{
		with("inside", func(d *StripData) {}),
		with("others", func(d *StripData) {
			d.Others = []StripWindow{{p(12), p(14), "12 to 14 %: laboratory colonies, maintenance, an invented source with a long name"},
				{p(15), nil, "at least 15 %: growing young"}, {nil, p(40), "at most 40 %: another"}, {p(14), p(14), "exactly 14 %"}}
		}),
		with("outside", func(d *StripData) {
			d.Mean, d.Low, d.High, d.Verdict, d.VerdictWords = 11.6, 11, 12.3, analysis.Outside, "falta 1,4"
		}),
		with("far below", func(d *StripData) {
			d.Mean, d.Low, d.High, d.Verdict = 2, 1, 3, analysis.Outside
		}),
		with("far above", func(d *StripData) {
			d.Mean, d.Low, d.High, d.Verdict = 123.4, 14, 220, analysis.Outside
		}),
		with("open above", func(d *StripData) {
			d.Name, d.Window = "Calcium", StripWindow{Min: p(0.5), Label: "at least 0.5 %"}
			d.Mean, d.Low, d.High = 0.72, 0.6, 0.84
		}),
		with("open below", func(d *StripData) {
			d.Name, d.Window = "Crude fat", StripWindow{Max: p(8), Label: "at most 8 %"}
			d.Mean, d.Low, d.High = 6.6, 5.9, 7.4
		}),
		with("not known", func(d *StripData) {
			d.Name, d.Verdict, d.Low, d.High, d.HasMean, d.VerdictWords = "Vitamin E, a very long name of a figure that wraps", analysis.NotKnown, 13.5, 21, true, "a missing figure could turn it"
		}),
		with("wide bounds", func(d *StripData) {
			d.Name, d.Window = "Ca : P", StripWindow{Min: p(10000), Max: p(20000), Label: "10 000 to 20 000 IU/kg"}
			d.Mean, d.Low, d.High, d.Unit = 19500, 9000, 31000, "IU/kg"
		}),
	}
}

type namedMap struct {
	name string
	data MapData
}

func maps() []namedMap {
	region := func(xy ...float64) *formulate.Region {
		r := &formulate.Region{}
		for i := 0; i < len(xy); i += 2 {
			r.Corners = append(r.Corners, formulate.Corner{X: xy[i], Y: xy[i+1]})
		}
		return r
	}
	base := MapData{
		All:     MapRegion{region(3.4, 14.6, 4.2, 11.4, 6.4, 10.3, 10.6, 11.2, 13.2, 13.5, 12.4, 17.6, 8.3, 20.1, 4.6, 18.2), "every mix that the shelf can make"},
		Without: &MapRegion{region(3.6, 14.3, 4.4, 12, 6, 11.3, 7.2, 12.2, 7.6, 14, 7.3, 16.6, 6.3, 18.3, 4.5, 17.4), "without the buckwheat: the window is barely touched"},
		X:       StripWindow{Min: p(6), Max: p(12)}, Y: StripWindow{Min: p(13), Max: p(16)}, WindowLabel: "the window for an adult",
		Mix:   &MapMix{X: 8.6, Y: 14.4, Ellipse: &Ellipse{0.6, 0.4, 0.5}, Label: "this mix, and where nine of ten sets of bags put it"},
		XName: "crude fibre, % as fed", YName: "crude protein, % as fed", XFormat: num1, YFormat: num1,
	}
	open := base
	open.X, open.Without = StripWindow{Min: p(6)}, nil
	point := base
	point.All.Region, point.Without, point.Mix = region(7, 14), nil, nil
	segment := base
	segment.All.Region, segment.Without, segment.Mix = region(7, 14, 9, 15), nil, nil
	empty := base
	empty.All.Region, empty.Without, empty.Mix = region(), nil, nil
	big := base
	big.All.Region, big.Without, big.Mix = region(0, 0, 30000, 0, 20000, 0.02), nil, nil
	big.X, big.Y = StripWindow{Max: p(25000)}, StripWindow{}
	return []namedMap{{"full", base}, {"open", open}, {"point", point}, {"segment", segment}, {"empty", empty}, {"big", big}}
}
