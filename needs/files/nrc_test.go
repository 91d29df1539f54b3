package files

import (
	"math"
	"os"
	"strings"
	"testing"

	"firlot/internal/tomldoc"
	"firlot/needs"
	"firlot/nutrient"
)

type printedRow struct {
	Figure string  `toml:"figure"`
	Value  float64 `toml:"value"`
	Unit   string  `toml:"unit"`
	Stage  string  `toml:"stage"`
}

// International units in a milligram. Source: reference units of the
// vitamins, 0.3 µg retinol and 0.025 µg cholecalciferol an IU; so 1 mg retinol
// is 3,333 IU and 0.025 mg D3 is 1,000 IU.
const (
	iuPerMgRetinol         = 3333
	iuPerMgCholecalciferol = 1000 / 0.025
)

// inCatalogueUnits brings a printed amount in a kilogram to the figure's unit.
func inCatalogueUnits(t *testing.T, r printedRow) float64 {
	t.Helper()
	info, ok := nutrient.Lookup(nutrient.Key(r.Figure))
	if !ok {
		t.Fatalf("%q is not a figure", r.Figure)
	}
	mg := r.Value * map[string]float64{"g": 1000, "mg": 1, "ug": 0.001}[r.Unit]
	switch {
	case info.Key == nutrient.VitaminA:
		return mg * iuPerMgRetinol
	case info.Key == nutrient.VitaminD:
		return mg * iuPerMgCholecalciferol
	case info.Unit == nutrient.Percent:
		return mg / 10000 // 10 g in a kilogram are 1 %
	}
	return mg
}

// asPrinted is by how much a window may differ from the printed figure: 0.72
// mg of retinol are 2,399.8 IU, kept as 2,400.
const asPrinted = 2e-4

// TestMouseTable: the windows of growing and breeding mice that cite table 3-3
// are its rows and no others.
// Source: Nutrient Requirements of Laboratory Animals, 1995, table 3-3.
func TestMouseTable(t *testing.T) {
	text, err := os.ReadFile("testdata/nrc-1995-table-3-3.toml")
	if err != nil {
		t.Fatal(err)
	}
	var f struct {
		Row []printedRow `toml:"row"`
	}
	if _, err := tomldoc.Decode("nrc-1995-table-3-3.toml", text, &f); err != nil {
		t.Fatal(err)
	}
	mouse := builtin(t).Find("mouse")
	for _, id := range []string{"growing", "breeding"} {
		windows := citing(mouse.Stage(id), "nrc-1995-laboratory-animals:table 3-3")
		rows := 0
		for _, r := range f.Row {
			if r.Stage != "" && r.Stage != id {
				continue
			}
			rows++
			w, ok := windows[nutrient.Key(r.Figure)]
			want := inCatalogueUnits(t, r)
			if !ok || w.Min == nil || math.Abs(*w.Min-want) > asPrinted*want || w.Basis != nutrient.AsFed || w.StandsIn != "" {
				t.Errorf("%s %s: %v %s a kilogram are %v; the window is %+v", id, r.Figure, r.Value, r.Unit, want, w)
			}
		}
		if rows != len(windows) || rows < 35 {
			t.Errorf("%s: %d rows in the table, %d windows that cite it", id, rows, len(windows))
		}
	}
}

func citing(st *needs.Stage, source string) map[nutrient.Key]needs.Window {
	out := map[nutrient.Key]needs.Window{}
	for _, w := range st.Windows {
		if strings.HasPrefix(w.Source, source) {
			out[w.Nutrient] = w
		}
	}
	return out
}

// TestRatLysineOnAnotherBasis: 9.2 g of lysine in a kilogram at 90 % dry
// matter are 10.222 g in a kilogram of dry matter and 8.996 g at 88 %.
// Source: arithmetic on NRC 1995, table 2-2 (growth), a figure recalled.
func TestRatLysineOnAnotherBasis(t *testing.T) {
	w, ok := citing(builtin(t).Find("rat").Stage("growing"), "nrc-1995-laboratory-animals:table 2-2")[nutrient.Lysine]
	if !ok || w.Min == nil {
		t.Fatal("growing rats have no lysine window from table 2-2")
	}
	const gramsPerKilo = 10 // 1 % is 10 g in a kilogram
	dry, ok := nutrient.ToDryMatter(*w.Min, 10)
	if !ok || math.Abs(dry*gramsPerKilo-10.222) > 0.0005 {
		t.Errorf("%v %% at 90 %% dry matter are %v g/kg on dry matter", *w.Min, dry*gramsPerKilo)
	}
	if fed := nutrient.ToAsFed(dry, 12) * gramsPerKilo; math.Abs(fed-8.996) > 0.0005 {
		t.Errorf("%v g/kg at 88 %% dry matter", fed)
	}
}
