package main

import (
	"math"
	"math/rand/v2"

	"firlot/lp"
)

// family is one kind of model: the models of lp's own benchmarks.
type family struct {
	name string
	mix  mixing
}

// gapSteps is the proved gap asked for, in steps of 1/1000 of the batch: the
// objective of every model counts steps moved from the base mix.
const gapSteps = 1

// families are all kinds at the sizes asked for.
func families() []family {
	var list []family
	for _, size := range []struct {
		name string
		n, k int
	}{{"15 × 12", 15, 12}, {"30 × 12", 30, 12}, {"60 × 12", 60, 12}} {
		list = append(list,
			family{"linear, " + size.name, mixing{n: size.n, k: size.k, tight: 0.06, shift: 0.1}},
			family{"whole, " + size.name, mixing{n: size.n, k: size.k, tight: 0.06, shift: 0.1, whole: true}},
			family{"whole with counts, " + size.name, mixing{n: size.n, k: size.k, tight: 0.08, shift: 0.08, whole: true, least: 20, most: 8}},
			family{"whole with sureness, " + size.name, mixing{n: size.n, k: size.k, tight: 0.08, shift: 0.08, whole: true, cones: 2, z: 1.282}},
		)
	}
	return append(list,
		family{"linear, 60 × 40", mixing{n: 60, k: 40, tight: 0.06, shift: 0.1}},
		family{"whole with counts, 30 × 40", mixing{n: 30, k: 40, tight: 0.08, shift: 0.08, whole: true, least: 20, most: 8}})
}

// mixing describes a mixing model: n ingredients with figures in the ranges of
// common feeds, k two-sided windows around a hidden base mix, amounts in steps
// that add up to 1000, and the steps moved from the base as cost.
type mixing struct {
	n, k  int
	whole bool
	least float64 // nothing-or-at-least, in steps; 0 = none
	most  int     // most ingredients; 0 = no limit
	cones int     // windows that are to hold with sureness
	z     float64 // 1.282: 90 % of a normal distribution, one side
	tight float64 // half width of a window relative to its middle
	shift float64 // how far windows are moved off the base, relative
}

const batch = 1000

// ranges are of nutrient figures, in tenths of a per mille.
var ranges = [...][2]float64{{800, 3500}, {100, 5000}, {50, 2500}, {20, 900}, {10, 400}, {50, 1200}, {5, 250}, {200, 6000}}

func figure(r *rand.Rand, k int) float64 {
	g := ranges[k%len(ranges)]
	return math.Round(g[0] * math.Pow(g[1]/g[0], r.Float64()))
}

// build makes the model of a seed.
func (c mixing) build(seed uint64) *lp.Model {
	r := rand.New(rand.NewPCG(seed, 77))
	m := lp.NewModel()
	base := c.base(r)
	sum := lp.Row{Lo: batch, Hi: batch}
	vars := make([]lp.Var, c.n)
	for j := range vars {
		vars[j] = m.AddColumn(c.column(base[j]))
		sum.Terms = append(sum.Terms, lp.Term{Var: vars[j], Coef: 1})
	}
	m.AddRow(sum)
	for k := range c.k {
		m.AddRow(c.window(r, k, base))
	}
	for k := range c.cones {
		w := c.window(r, k, base)
		cone := lp.Cone{Lo: math.Round(w.Lo * 0.97), Terms: w.Terms, Z: c.z}
		for _, t := range w.Terms {
			cone.Spread = append(cone.Spread, lp.Term{Var: t.Var, Coef: math.Round(t.Coef * (0.03 + 0.12*r.Float64()))})
		}
		m.AddCone(cone)
	}
	if c.most > 0 {
		m.AddCount(lp.Count{Vars: vars, Most: c.most})
	}
	return m
}

func (c mixing) column(base float64) lp.Column {
	col := lp.Column{Hi: batch, Integer: c.whole, NothingOr: c.least, Cost: 0.5}
	if c.most > 0 {
		col.Hi = 600
	}
	if base > 0 {
		col.Cost = -0.5
		col.Breaks = []lp.Break{{At: base, Rise: 1}}
	}
	return col
}

// base is a hidden mix over about a third of the shelf.
func (c mixing) base(r *rand.Rand) []float64 {
	b := make([]float64, c.n)
	use := max(4, c.n/3)
	if c.most > 0 {
		use = min(use, c.most+1)
	}
	left := float64(batch)
	perm := r.Perm(c.n)
	for i := range use {
		v := math.Round(left * (0.15 + 0.35*r.Float64()))
		if i == use-1 {
			v = left
		}
		b[perm[i]] = v
		left -= v
	}
	return b
}

func (c mixing) window(r *rand.Rand, k int, base []float64) lp.Row {
	row := lp.Row{}
	mid := 0.0
	for j := range c.n {
		v := figure(r, k)
		if r.IntN(6) == 0 {
			v = 0
		}
		if v != 0 {
			row.Terms = append(row.Terms, lp.Term{Var: lp.Var(j), Coef: v})
		}
		mid += v * base[j]
	}
	mid *= 1 + c.shift*(2*r.Float64()-1)
	row.Lo = math.Round(mid * (1 - c.tight))
	row.Hi = math.Round(mid * (1 + c.tight))
	return row
}
