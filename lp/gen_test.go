package lp

import (
	"math"
	"math/rand/v2"
)

// mixing builds a realistic mixing model: n ingredients with nutrient figures
// in the ranges of common feeds, k two-sided windows around a hidden base mix,
// amounts in steps that add up to 1000, and the cost "steps moved from the
// base" (half a point for each step up and each step down).
type mixing struct {
	n, k     int
	whole    bool
	minPart  float64 // nothing-or-at-least, 0 = none
	most     int     // count limit, 0 = none
	cones    int
	z        float64
	tight    float64 // half width of a window relative to its middle
	shift    float64 // how far windows are moved off the base
	cheapest bool    // price instead of nearness
}

const batch = 1000

// figure is a nutrient figure in tenths of a per mille.
func figure(r *rand.Rand, k int) float64 {
	ranges := [...][2]float64{{800, 3500}, {100, 5000}, {50, 2500}, {20, 900}, {10, 400},
		{50, 1200}, {5, 250}, {200, 6000}}
	g := ranges[k%len(ranges)]
	v := g[0] * math.Pow(g[1]/g[0], r.Float64())
	return math.Round(v)
}

func (c mixing) build(seed uint64) *Model {
	r := rand.New(rand.NewPCG(seed, 77))
	m := NewModel()
	base := c.base(r)
	for j := 0; j < c.n; j++ {
		col := Column{Lo: 0, Hi: batch, Integer: c.whole, NothingOr: c.minPart}
		if c.minPart > 0 || c.most > 0 {
			col.Hi = 600
		}
		if c.cheapest {
			col.Cost = math.Round(20 + 400*r.Float64()*r.Float64())
		} else if base[j] > 0 {
			col.Cost = -0.5
			col.Breaks = []Break{{At: base[j], Rise: 1}}
		} else {
			col.Cost = 0.5
		}
		m.AddColumn(col)
	}
	sum := Row{Name: "sum", Lo: batch, Hi: batch}
	for j := 0; j < c.n; j++ {
		sum.Terms = append(sum.Terms, Term{Var(j), 1})
	}
	m.AddRow(sum)
	for k := 0; k < c.k; k++ {
		m.AddRow(c.window(r, k, base))
	}
	for k := 0; k < c.cones; k++ {
		w := c.window(r, k, base)
		cone := Cone{Lo: math.Round(w.Lo * 0.97), Terms: w.Terms, Z: c.z}
		for _, t := range w.Terms {
			cone.Spread = append(cone.Spread, Term{t.Var, math.Round(t.Coef * (0.03 + 0.12*r.Float64()))})
		}
		m.AddCone(cone)
	}
	if c.most > 0 {
		vs := make([]Var, c.n)
		for j := range vs {
			vs[j] = Var(j)
		}
		m.AddCount(Count{Vars: vs, Most: c.most})
	}
	return m
}

// base is a hidden recipe over about a third of the shelf that sums to batch.
func (c mixing) base(r *rand.Rand) []float64 {
	b := make([]float64, c.n)
	use := max(4, c.n/3)
	if c.most > 0 {
		use = min(use, c.most+1)
	}
	left := float64(batch)
	perm := r.Perm(c.n)
	for i := 0; i < use; i++ {
		v := math.Round(left * (0.15 + 0.35*r.Float64()))
		if i == use-1 {
			v = left
		}
		b[perm[i]] = v
		left -= v
	}
	return b
}

func (c mixing) window(r *rand.Rand, k int, base []float64) Row {
	row := Row{}
	mid := 0.0
	for j := 0; j < c.n; j++ {
		v := figure(r, k)
		if r.IntN(6) == 0 {
			v = 0
		}
		if v != 0 {
			row.Terms = append(row.Terms, Term{Var(j), v})
		}
		mid += v * base[j]
	}
	mid *= 1 + c.shift*(2*r.Float64()-1)
	row.Lo = math.Round(mid * (1 - c.tight))
	row.Hi = math.Round(mid * (1 + c.tight))
	return row
}
