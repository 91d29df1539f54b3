package formulate

import (
	"context"
	"fmt"
	"math"
	"strings"
	"testing"
)

// lab writes own ingredients with one measured figure each.
func lab(figure string, foods map[string]float64) string {
	var b strings.Builder
	for _, id := range sortedKeys(foods) {
		fmt.Fprintf(&b, "[[own]]\nid='%s'\nname='%s'\nkind='laboratory'\nfigures.moisture=12\nfigures.%s = { mean = %v, sd = 0.000001 }\n", id, id, figure, foods[id])
	}
	return b.String()
}

func sortedKeys(m map[string]float64) []string {
	var list []string
	for k := range m {
		list = append(list, k)
	}
	for i := range list {
		for j := i + 1; j < len(list); j++ {
			if list[j] < list[i] {
				list[i], list[j] = list[j], list[i]
			}
		}
	}
	return list
}

func solved(t *testing.T, text string) *Answer {
	t.Helper()
	a, err := Solve(context.Background(), planOf(t, text), Options{Gap: -1})
	if err != nil {
		t.Fatal(err)
	}
	return a
}

// Pearson's square, the feeder's rule for two feeds: parts are the distances
// of the target from each feed, crosswise. Published worked examples, solved
// here as mixes with protein at least the target at least cost, in steps of a
// milligram so that the shares show.
func TestPearsonSquaresOutside(t *testing.T) {
	for _, c := range []struct {
		source        string
		low, high     float64
		target, share float64 // share of the richer feed, %
	}{
		{"a lecture on rations: maize 8.9, soya 44.4 to 18 %", 8.9, 44.4, 18, 25.6},
		{"a lecture on Pearson squares: barley 8, cottonseed meal 54 to 26 %", 8, 54, 26, 39.1},
		{"Montana State University Extension, Pearson squares: silage 10.8, hay 12.25 to 11 %", 10.8, 12.25, 11, 13.8},
		{"Montana State University Extension: hay 8.95, supplement 40 to 9.8 %", 8.95, 40, 9.8, 2.7},
		{"Montana State University Extension, in two levels: grain 10.8, supplement 39 to 15 %", 10.8, 39, 15, 14.894},
		{"a course page: barley 12, cottonseed meal 41 to 14 %", 12, 41, 14, 6.897},
	} {
		text := fmt.Sprintf("batch='1 kg'\nstep='1 mg'\nprefer='cheap'\n[[window]]\nnutrient='crude_protein'\nmin=%v\n[[line]]\ningredient='poor'\nprice=1\n[[line]]\ningredient='rich'\nprice=2\n", c.target) +
			lab("crude_protein", map[string]float64{"poor": c.low, "rich": c.high})
		a := solved(t, text)
		if a.Status != Found {
			t.Fatalf("%s: %v", c.source, a.Status)
		}
		share := 100 * float64(a.Steps[1]) / 1e6
		if math.Abs(share-c.share) > 0.05+1e-9 {
			t.Errorf("%s: %.4f %% of the richer feed, printed %v", c.source, share, c.share)
		}
		exact := 100 * (c.target - c.low) / (c.high - c.low)
		if math.Abs(share-exact) > 2e-4 {
			t.Errorf("%s: %.5f %%, the square gives %.5f", c.source, share, exact)
		}
	}
}

// The square's own rule: a target outside the two feeds must be refused
// (Montana State University Extension, Pearson squares).
func TestPearsonOutOfReach(t *testing.T) {
	a := solved(t, "batch='1 kg'\n[[window]]\nnutrient='crude_protein'\nmin=45\n[[line]]\ningredient='poor'\n[[line]]\ningredient='rich'\n"+
		lab("crude_protein", map[string]float64{"poor": 8.9, "rich": 44.4}))
	if a.Status != Impossible || len(a.Clash) != 1 {
		t.Fatalf("got %v with %v, want impossible by one window", a.Status, a.Clash)
	}
	if want := "the most that this shelf allows is 44.4 %"; a.Clash[0].Reach != want {
		t.Errorf("got %q, want %q", a.Clash[0].Reach, want)
	}
}

// Chance-constrained cattle feed: C. van de Panne, W. Popp, Management Science
// 9 (1963) 405; problem 73 of W. Hock, K. Schittkowski, Test Examples for
// Nonlinear Programming Codes (1981): optimum 29.894378 at barley 0.635522,
// sesame 0.312702, groundnut meal 0.0517766 (feeds a, c and d here: by name
// they would be held to this catalogue's inclusion limits), for z = 1.645. Here the chance
// is asked for as 95 %, z = 1.644854, and amounts are whole milligrams of a
// kilogram; prices are for a kilogram.
func TestCattleFeedOutside(t *testing.T) {
	feeds := []struct {
		id                          string
		cost, fat, protein, protVar float64
	}{{"feed-a", 24.55, 2.3, 12, 0.28}, {"feed-b", 26.75, 5.6, 11.9, 0.19}, {"feed-c", 39, 11.1, 41.8, 20.5}, {"feed-d", 40.5, 1.3, 52.1, 0.62}}
	var b strings.Builder
	b.WriteString("batch='1 kg'\nstep='1 mg'\nprefer='cheap'\nsureness='95 %'\n")
	b.WriteString("[[window]]\nnutrient='crude_fat'\nmin=5\n[[window]]\nnutrient='crude_protein'\nmin=21\n")
	for _, f := range feeds {
		fmt.Fprintf(&b, "[[line]]\ningredient='%s'\nprice=%v\n", f.id, f.cost)
	}
	for _, f := range feeds {
		fmt.Fprintf(&b, "[[own]]\nid='%s'\nname='%s'\nkind='laboratory'\nfigures.moisture=10\nfigures.crude_fat={mean=%v, sd=0.000000001}\nfigures.crude_protein={mean=%v, sd=%v}\n",
			f.id, f.id, f.fat, f.protein, math.Sqrt(f.protVar))
	}
	a := solved(t, b.String())
	if a.Status != Found {
		t.Fatalf("got %v %v", a.Status, a.Notes)
	}
	// A deviation of 1.645 instead of 1.644854 is worth 0.0001 here.
	if math.Abs(a.Objective-29.894378) > 0.001 {
		t.Errorf("cost %.6f, published 29.894378", a.Objective)
	}
	for i, want := range []float64{0.635522, 0, 0.312702, 0.0517766} {
		if got := float64(a.Steps[i]) / 1e6; math.Abs(got-want) > 0.0005 {
			t.Errorf("%s: %.6f, published %.6f", feeds[i].id, got, want)
		}
	}
	if a.Joint < 0.95 || a.Joint > 0.9502 {
		t.Errorf("joint chance %.6f, want just over 0.95", a.Joint)
	}
}
