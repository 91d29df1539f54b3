package formulate

import (
	"context"
	"fmt"
	"sort"
	"strings"
	"testing"
	"time"

	"firlot/mix"
	"firlot/nutrient"
)

// twenty is a mix of twenty ingredients, invented, with limits of its own.
func twenty(sureness string) string {
	var b strings.Builder
	b.WriteString("species='gerbil'\nstage='adult'\nbatch='2 kg'\nprefer='near'\n" + sureness +
		"[[group]]\nname='oily seeds'\nclass='oilseed'\nceiling='14 %'\n[[group]]\nname='dried herbs'\nclass='leaf'\nfloor='4 %'\nceiling='12 %'\n")
	for _, l := range []struct {
		ref string
		g   int
	}{{"oats/groats", 260}, {"proso-millet/in-hull", 260}, {"canary-seed/in-hull", 200}, {"buckwheat/in-hull", 200}, {"wheat/whole", 180},
		{"barley/in-hull", 150}, {"foxtail-millet/in-hull", 150}, {"rye/whole", 100}, {"sorghum/whole", 80}, {"quinoa/whole", 60},
		{"linseed/whole", 40}, {"sunflower/in-shell-striped", 70}, {"pumpkin-seed/kernel", 20}, {"hemp/whole", 30}, {"sesame/whole", 10},
		{"lentil/whole", 40}, {"nettle/leaf-dried", 60}, {"dandelion/leaf-dried", 50}, {"parsley/dried", 30}, {"calendula/dried", 10}} {
		fmt.Fprintf(&b, "[[line]]\ningredient='%s'\nbase='%d g'\n", l.ref, l.g)
	}
	return b.String()
}

// slips are the bowls of a making in which, at each line in turn and after the
// lines before it, the hand slips: 5, 30, 150 and 300 % too much, a jar that gives
// a third, and an empty jar.
func slips(p *mix.Plan, amounts []nutrient.Mass) []Bowl {
	order := make([]int, 0, len(amounts))
	for i, a := range amounts {
		if a > 0 {
			order = append(order, i)
		}
	}
	sort.SliceStable(order, func(a, b int) bool { return amounts[order[a]] > amounts[order[b]] })
	var list []Bowl
	for k, i := range order {
		for _, part := range []float64{1.05, 1.3, 2.5, 4, 0.33, 0} {
			b := bowlOf(p, amounts)
			b.Shelf = p.Catalogue.Forms()
			for _, j := range order[:k] {
				b.Poured[j], b.Finished[j] = amounts[j], true
			}
			b.Poured[i] = nutrient.Mass(part*float64(amounts[i]/nutrient.Gram)) * nutrient.Gram
			if part < 1 {
				b.Most[i] = b.Poured[i]
			}
			list = append(list, b)
		}
	}
	return list
}

// BenchmarkAround reports how long a rescue of twenty ingredients takes, over
// a set of slips: the median and the 95th percentile. Where no larger batch is
// allowed, the bowls that cannot be brought inside have the whole catalogue
// searched for an ingredient.
func BenchmarkAround(b *testing.B) {
	for _, c := range []struct {
		name, sureness string
		tight          bool
	}{{"on the means", "", false}, {"sureness 80", "sureness='80 %'\n", false}, {"no larger batch", "", true}, {"no larger batch, sureness 80", "sureness='80 %'\n", true}} {
		p := planOf(b, twenty(c.sureness))
		a, err := Solve(context.Background(), p, Options{})
		if err != nil || a.Steps == nil {
			b.Fatal(err, a)
		}
		list := slips(p, a.Amounts())
		for i := range list {
			if c.tight {
				list[i].MostBatch = list[i].Batch
			}
		}
		b.Run(c.name, func(b *testing.B) {
			var took []float64
			outcomes := map[Outcome]int{}
			for b.Loop() {
				for _, bowl := range list {
					start := time.Now()
					m, err := Around(context.Background(), p, bowl, Options{})
					if err != nil {
						b.Fatal(err)
					}
					took = append(took, float64(time.Since(start).Microseconds())/1000)
					outcomes[m.Outcome]++
				}
			}
			sort.Float64s(took)
			b.ReportMetric(took[len(took)/2], "p50-ms")
			b.ReportMetric(took[len(took)*95/100], "p95-ms")
			b.ReportMetric(took[len(took)-1], "max-ms")
			for _, o := range []Outcome{SameBatch, LargerBatch, NearestMix, Discard, Unsettled} {
				b.ReportMetric(float64(outcomes[o])/float64(len(took))*float64(len(list)), strings.ReplaceAll(string(o), " ", "-"))
			}
		})
	}
}
