package files

import (
	"fmt"
	"math"
	"os"
	"regexp"
	"slices"
	"strings"
	"testing"

	"firlot/catalog"
	"firlot/internal/tomldoc"
	"firlot/nutrient"
)

// printed is one item of a published table, per 100 g as is.
type printed struct {
	Name         string   `toml:"name"`
	Factor       float64  `toml:"factor"`
	Water        *float64 `toml:"water"`
	Protein      *float64 `toml:"protein"`
	Fat          *float64 `toml:"fat"`
	Ash          *float64 `toml:"ash"`
	DietaryFibre *float64 `toml:"dietary_fibre"`
	Calcium      *float64 `toml:"calcium"`
	Phosphorus   *float64 `toml:"phosphorus"`
	Magnesium    *float64 `toml:"magnesium"`
	Iron         *float64 `toml:"iron"`
	Zinc         *float64 `toml:"zinc"`
	Lysine       *float64 `toml:"lysine"`
}

// Conversions from a table's units per 100 g to the catalogue's.
const (
	gramsToPercent      = 1
	milligramsToPercent = 1e-3
	milligramsToPerKilo = 10
)

// compared lists the figures that are compared, in the order of the report.
var compared = []nutrient.Key{nutrient.Moisture, nutrient.CrudeProtein, nutrient.CrudeFat, nutrient.Ash,
	nutrient.DietaryFibre, nutrient.Calcium, nutrient.Phosphorus, nutrient.Magnesium,
	nutrient.Iron, nutrient.Zinc, nutrient.Lysine}

// figure returns a printed value in the catalogue's unit, protein as N × 6.25.
func (p printed) figure(k nutrient.Key) (float64, bool) {
	protein := 1.0
	if p.Factor > 0 {
		protein = nutrient.ProteinFactor / p.Factor
	}
	v, times := map[nutrient.Key]*float64{
		nutrient.Moisture: p.Water, nutrient.CrudeProtein: p.Protein, nutrient.CrudeFat: p.Fat,
		nutrient.Ash: p.Ash, nutrient.DietaryFibre: p.DietaryFibre, nutrient.Calcium: p.Calcium,
		nutrient.Phosphorus: p.Phosphorus, nutrient.Magnesium: p.Magnesium,
		nutrient.Iron: p.Iron, nutrient.Zinc: p.Zinc, nutrient.Lysine: p.Lysine,
	}[k], map[nutrient.Key]float64{
		nutrient.CrudeProtein: protein,
		nutrient.Calcium:      milligramsToPercent, nutrient.Phosphorus: milligramsToPercent,
		nutrient.Magnesium: milligramsToPercent, nutrient.Iron: milligramsToPerKilo,
		nutrient.Zinc: milligramsToPerKilo,
	}[k]
	if v == nil {
		return 0, false
	}
	if times == 0 {
		times = gramsToPercent
	}
	return *v * times, true
}

type pair struct {
	Form string `toml:"form"`
	USDA string `toml:"usda"`
	IFCT string `toml:"ifct"`
}

func readTestdata(t *testing.T, name string, v any) {
	t.Helper()
	text, err := os.ReadFile("testdata/" + name)
	if err != nil {
		t.Fatal(err)
	}
	if _, err := tomldoc.Decode(name, text, v); err != nil {
		t.Fatal(err)
	}
}

func readTable(t *testing.T, name string) map[string]printed {
	t.Helper()
	var f struct {
		Item map[string]printed `toml:"item"`
	}
	readTestdata(t, name, &f)
	if len(f.Item) < 40 {
		t.Fatalf("%s holds %d items; the checks want 40 or more", name, len(f.Item))
	}
	return f.Item
}

// lastDigit is half a unit in the fourth significant figure, to which the
// catalogue rounds what it computes: 5 parts in 10,000 of a figure that
// starts with 1.
const lastDigit = 5.0001e-4

// TestFiguresMatchTheirTable: a figure that cites an item of one of the two
// tables and is marked measured is the printed value, but for its unit. One
// marked derived is the printed value at N × 6.25, or one that the table
// calculated or borrowed, or says in its note how it was got.
// Sources: USDA SR28 and IFCT 2017, see testdata.
func TestFiguresMatchTheirTable(t *testing.T) {
	c := builtin(t)
	tables := map[string]map[string]printed{
		"usda-sr28": readTable(t, "usda-sr28.toml"), "ifct2017": readTable(t, "ifct2017.toml")}
	same, converted, noted := 0, 0, 0
	for _, f := range c.Forms() {
		for _, k := range compared {
			fig, ok := f.Figures[k]
			source, item, _ := strings.Cut(fig.Source, ":")
			p, listed := tables[source][item]
			if !ok || !listed {
				continue
			}
			want, has := p.figure(k)
			switch {
			case fig.How == catalog.Measured || fig.Note == borrowed || atFactor.MatchString(fig.Note):
				if !has || math.Abs(fig.Mean-want) > lastDigit*want {
					t.Errorf("%s %s: %v, but %s prints %v (%v)", f.Ref(), k, fig.Mean, fig.Source, want, has)
				}
				if fig.How == catalog.Measured {
					same++
				} else {
					converted++
				}
			case fig.Note == "":
				t.Errorf("%s %s: derived from %s without a word on how", f.Ref(), k, fig.Source)
			default:
				noted++
			}
		}
	}
	t.Logf("%d figures as printed, %d brought to N × 6.25 or borrowed within the table, %d with a note of their own", same, converted, noted)
	if same < 500 {
		t.Errorf("only %d figures were compared with their table", same)
	}
}

const borrowed = "the table calculated or borrowed it"

// atFactor is the note of a figure that differs from print by its factor only.
var atFactor = regexp.MustCompile(`^[0-9.]+ in the table at N × [0-9.]+$`)

// normal90 is half the width of the middle 90 per cent of a normal law, in
// standard deviations.
const normal90 = 1.645

// leastWithin is the floor under the share of pairs, in per cent, whose other
// table lies within the catalogue figure's own 90 % interval. If two tables
// differed by no more than two bags do, 75.5 % of them would; they differ by
// more, since each carries its own land, cultivar and laboratory, and
// docs/catalogue-checks.md says for which figures. Each floor is the share
// found when the check was written, less one standard error of such a share
// over 55 pairs (6 to 7 points) and rounded down to a multiple of five: it
// trips when spreads shrink or a unit slips, and not when one entry is mended.
var leastWithin = map[nutrient.Key]float64{
	nutrient.CrudeProtein: 55, nutrient.CrudeFat: 60, nutrient.Ash: 60, nutrient.DietaryFibre: 50,
	nutrient.Calcium: 65, nutrient.Phosphorus: 55, nutrient.Magnesium: 40,
	nutrient.Iron: 65, nutrient.Zinc: 65, nutrient.Lysine: 80,
}

// TestOtherTableLiesWithinSpread prints, for each figure, how many catalogue
// means have the other table's value within mean ± 1.645 spread on dry matter.
func TestOtherTableLiesWithinSpread(t *testing.T) {
	c := builtin(t)
	usda, ifct := readTable(t, "usda-sr28.toml"), readTable(t, "ifct2017.toml")
	var list struct {
		Pairs []pair `toml:"pairs"`
	}
	readTestdata(t, "pairs.toml", &list)
	t.Logf("%-16s %5s %7s %6s %6s %11s %9s %7s %6s", "figure", "pairs", "within", "dry", "moist", "median |z|", "recorded", "factor", "(dry)")
	for _, k := range compared[1:] {
		var all, dry, moist, recorded []float64
		for _, p := range list.Pairs {
			f := c.Form(p.Form)
			if f == nil {
				t.Fatalf("%s is not in the catalogue", p.Form)
			}
			v, ok := deviation(f, k, p, usda, ifct)
			if !ok {
				continue
			}
			all = append(all, v)
			if f.Figures[nutrient.Moisture].Mean < dryFood {
				dry = append(dry, v)
			} else {
				moist = append(moist, v)
			}
			if _, has, _ := f.Spread(k); has {
				recorded = append(recorded, v)
			}
		}
		share := within(all)
		t.Logf("%-16s %5d %6.0f%% %5.0f%% %5.0f%% %11.2f %9s %7.2f %6.2f", k, len(all), share, within(dry), within(moist),
			quantile(all, 0.5), percentOf(recorded), quantile(all, twoBags)/normal90, quantile(dry, twoBags)/normal90)
		if share < leastWithin[k] || leastWithin[k] == 0 {
			t.Errorf("%s: %.0f %% within, the floor is %v %%", k, share, leastWithin[k])
		}
	}
}

// dryFood is the moisture, in per cent, below which a food counts as dry:
// seeds, pulses, nuts and spices lie under 15, fresh foods over 60.
const dryFood = 20

// twoBags is the share of differences between two bags that lie within 1.645
// standard deviations of one: 2Φ(1.645/√2) − 1.
const twoBags = 0.755

// within is the share of deviations under normal90, in per cent.
func within(z []float64) float64 {
	n := 0
	for _, v := range z {
		if v <= normal90 {
			n++
		}
	}
	return 100 * float64(n) / float64(len(z))
}

func percentOf(z []float64) string {
	if len(z) == 0 {
		return "none"
	}
	return fmt.Sprintf("%.0f%%", within(z))
}

// quantile interpolates between the two values on either side.
func quantile(z []float64, q float64) float64 {
	z = slices.Sorted(slices.Values(z))
	at := q * float64(len(z)-1)
	i := int(at)
	if i+1 == len(z) {
		return z[i]
	}
	return z[i] + (at-float64(i))*(z[i+1]-z[i])
}

// deviation is how many spreads lie between a catalogue figure that cites one
// table of a pair and the value of the other, both on dry matter.
func deviation(f *catalog.Form, k nutrient.Key, p pair, usda, ifct map[string]printed) (float64, bool) {
	fig, ok := f.Figures[k]
	var other printed
	switch fig.Source {
	case "usda-sr28:" + p.USDA:
		other = ifct[p.IFCT]
	case "ifct2017:" + p.IFCT:
		other = usda[p.USDA]
	default:
		return 0, false
	}
	v, has := other.figure(k)
	water, wet := other.figure(nutrient.Moisture)
	sd, _, known := f.Spread(k)
	if !ok || !has || !wet || !known || sd == 0 || v == 0 {
		return 0, false
	}
	dry := 100 / (100 - f.Figures[nutrient.Moisture].Mean)
	return math.Abs(fig.Mean*dry-v*100/(100-water)) / (sd * dry), true
}

// TestPairsNameTheirItems: every pair names a form and an item of each
// table, and no form twice.
func TestPairsNameTheirItems(t *testing.T) {
	usda, ifct := readTable(t, "usda-sr28.toml"), readTable(t, "ifct2017.toml")
	var list struct {
		Pairs []pair `toml:"pairs"`
	}
	readTestdata(t, "pairs.toml", &list)
	seen := map[string]bool{}
	for _, p := range list.Pairs {
		if usda[p.USDA].Name == "" || ifct[p.IFCT].Name == "" || seen[p.Form] {
			t.Error(fmt.Sprint("pair ", p, " misses an item or stands twice"))
		}
		seen[p.Form] = true
	}
}
