package verify_test

import (
	"context"
	"math"
	"math/rand/v2"
	"testing"

	"firlot/lp"
	"firlot/lp/verify"
)

// mixing is a mixing program as formulate writes them: n ingredients, k
// windows of two sides around a hidden mix of a third of them, figures of up
// to eight digits, amounts in steps that add up to 1000, and the steps moved
// from the hidden mix as costs. Windows that are to hold with 90 % are cones;
// counts allow five ingredients of at least 20 steps.
type mixing struct {
	n, k, cones  int
	whole, count bool
	narrow       float64 // half width of a window, relative
	shift        float64 // how far its middle may lie from the hidden mix, relative
	low          float64 // the low side of a cone, relative to that of a window
}

const steps = 1000

func (c mixing) build(seed uint64) *lp.Model {
	r := rand.New(rand.NewPCG(seed, 77))
	m := lp.NewModel()
	base := make([]float64, c.n)
	for left, i := float64(steps), c.n/3; left > 0; i-- {
		v := left
		if i > 1 {
			v = math.Round(left * (0.15 + 0.35*r.Float64()))
		}
		base[max(i, 1)*3-1] = v
		left -= v
	}
	sum := lp.Row{Name: "sum", Lo: steps, Hi: steps}
	count := lp.Count{Name: "ingredients", Most: 5}
	for _, b := range base {
		col := lp.Column{Hi: steps, Integer: c.whole, Cost: 0.5}
		if b > 0 {
			col.Cost, col.Breaks = -0.5, []lp.Break{{At: b, Rise: 1}}
		}
		if c.count {
			col.NothingOr = 20
		}
		v := m.AddColumn(col)
		sum.Terms = append(sum.Terms, lp.Term{Var: v, Coef: 1})
		count.Vars = append(count.Vars, v)
	}
	m.AddRow(sum)
	if c.count {
		m.AddCount(count)
	}
	for k := 0; k < c.k+c.cones; k++ {
		row, spread := c.window(r, base)
		if k < c.k {
			m.AddRow(row)
		} else {
			m.AddCone(lp.Cone{Lo: math.Round(row.Lo * c.low), Terms: row.Terms, Z: 1.2815515655446004, Spread: spread})
		}
	}
	return m
}

func (c mixing) window(r *rand.Rand, base []float64) (row lp.Row, spread []lp.Term) {
	middle := 0.0
	for j, b := range base {
		if r.IntN(6) == 0 {
			continue
		}
		v := math.Round(1e8 * math.Pow(50, r.Float64()-1))
		row.Terms = append(row.Terms, lp.Term{Var: lp.Var(j), Coef: v})
		spread = append(spread, lp.Term{Var: lp.Var(j), Coef: math.Round(v * (0.03 + 0.12*r.Float64()))})
		middle += float64(v * b)
	}
	middle *= 1 + c.shift*(2*r.Float64()-1)
	row.Lo, row.Hi = math.Round(middle*(1-c.narrow)), math.Round(middle*(1+c.narrow))
	return row, spread
}

// certificates are those of ten programs, to a gap of one step.
func (c mixing) certificates(tb testing.TB) (list [][]byte) {
	for seed := uint64(0); seed < 10; seed++ {
		res, err := lp.Solve(context.Background(), c.build(seed), lp.Options{Proof: true, Gap: 1, Nodes: 400})
		if err != nil {
			tb.Fatal(err)
		}
		if res.Proof != nil {
			list = append(list, res.Proof.JSON())
		}
	}
	return list
}

var mixes = []struct {
	name string
	mixing
}{
	{"linear", mixing{n: 20, k: 12, narrow: 0.06, shift: 0.05}},
	{"whole", mixing{n: 20, k: 12, narrow: 0.04, shift: 0.08, whole: true}},
	{"counts", mixing{n: 20, k: 6, narrow: 0.06, shift: 0.04, whole: true, count: true}},
	{"unwhole-counts", mixing{n: 20, k: 6, narrow: 0.06, shift: 0.04, count: true}},
	{"cones", mixing{n: 15, k: 2, cones: 6, narrow: 0.08, shift: 0.06, low: 1.03, whole: true}},
}

// BenchmarkCheck checks the certificates of realistic programs.
func BenchmarkCheck(b *testing.B) {
	for _, c := range mixes {
		list := c.certificates(b)
		b.Run(c.name, func(b *testing.B) {
			b.ReportAllocs()
			leaves, bytes := 0, 0
			for i := range b.N {
				data := list[i%len(list)]
				rep, err := verify.CheckBytes(data)
				if err != nil {
					b.Fatal(err)
				}
				leaves, bytes = leaves+rep.Leaves, bytes+len(data)
			}
			b.ReportMetric(float64(leaves)/float64(b.N), "leaves/op")
			b.SetBytes(int64(bytes / b.N))
		})
	}
}

// V5 for realistic programs.
func TestAgreesOnMixes(t *testing.T) {
	for _, c := range mixes {
		for _, data := range c.certificates(t) {
			if len(data) < 100_000 && !compare(t, data) {
				t.Fatalf("%s: a sound certificate is refused", c.name)
			}
		}
	}
}
