package lp

import (
	"math"
	"math/rand/v2"
)

// family makes a program of one kind.
type family struct {
	name string
	make func(r *rand.Rand, seed uint64) *Model
}

var families = []family{
	{"linear-near", func(r *rand.Rand, s uint64) *Model {
		return mixing{n: 8 + r.IntN(30), k: 3 + r.IntN(14), tight: 0.05, shift: 0.1}.build(s)
	}},
	{"linear-cheap", func(r *rand.Rand, s uint64) *Model {
		return mixing{n: 8 + r.IntN(30), k: 3 + r.IntN(14), tight: 0.05, shift: 0.1, cheapest: true}.build(s)
	}},
	{"whole-near", func(r *rand.Rand, s uint64) *Model {
		return mixing{n: 5 + r.IntN(8), k: 2 + r.IntN(4), tight: 0.06, shift: 0.05, whole: true}.build(s)
	}},
	{"whole-cheap", func(r *rand.Rand, s uint64) *Model {
		return mixing{n: 5 + r.IntN(6), k: 2 + r.IntN(3), tight: 0.06, shift: 0.05, whole: true, cheapest: true}.build(s)
	}},
	{"whole-narrow", func(r *rand.Rand, s uint64) *Model {
		return mixing{n: 4 + r.IntN(3), k: 2 + r.IntN(2), tight: 0.0005, shift: 0.0006, whole: true, cheapest: r.IntN(2) == 0}.build(s)
	}},
	{"degenerate", degenerate},
	{"hair", hair},
	{"unbounded", loose},
	{"equalities", equalities},
	{"count", func(r *rand.Rand, s uint64) *Model {
		return mixing{n: 6 + r.IntN(8), k: 2 + r.IntN(4), tight: 0.08, shift: 0.05, whole: r.IntN(2) == 0, most: 3 + r.IntN(4)}.build(s)
	}},
	{"at-least", func(r *rand.Rand, s uint64) *Model {
		return mixing{n: 6 + r.IntN(8), k: 2 + r.IntN(4), tight: 0.08, shift: 0.05, whole: r.IntN(2) == 0,
			minPart: float64(10 + r.IntN(60)), most: r.IntN(2) * (3 + r.IntN(4))}.build(s)
	}},
	{"scaled", badlyScaled},
	{"random", func(r *rand.Rand, s uint64) *Model { return randomProgram(r, 2+r.IntN(8), 1+r.IntN(8), 0) }},
	{"mixed", func(r *rand.Rand, s uint64) *Model { return randomProgram(r, 2+r.IntN(5), 1+r.IntN(5), 0.5) }},
}

// degenerate is a transport problem with equal supplies and many ties.
func degenerate(r *rand.Rand, _ uint64) *Model {
	m := NewModel()
	k := 2 + r.IntN(4)
	for i := 0; i < k*k; i++ {
		m.AddColumn(Column{Hi: inf, Cost: float64(1 + r.IntN(4))})
	}
	for i := 0; i < k; i++ {
		var a, b []Term
		for j := 0; j < k; j++ {
			a = append(a, Term{Var(i*k + j), 1})
			b = append(b, Term{Var(j*k + i), 1})
		}
		m.AddRow(Row{Lo: 1, Hi: 1, Terms: a})
		m.AddRow(Row{Lo: 1, Hi: 1, Terms: b})
	}
	return m
}

// hair is a mixing model with one window just out of reach (or, for odd
// seeds, just within reach) by 1e-4 of its size.
func hair(r *rand.Rand, s uint64) *Model {
	m := mixing{n: 6 + r.IntN(10), k: 3, tight: 0.3, cheapest: true}.build(s)
	top := 0.0
	row := Row{Terms: nil}
	for j := 0; j < m.Columns(); j++ {
		v := float64(100 + r.IntN(900))
		row.Terms = append(row.Terms, Term{Var(j), v})
		top = math.Max(top, v)
	}
	m.rows = m.rows[:1]
	row.Lo, row.Hi = top*batch*(1+1e-4), inf
	if s%2 == 1 {
		row.Lo = top * batch * (1 - 1e-4)
	}
	m.AddRow(row)
	return m
}

// loose has free columns and one-sided bounds, and is often unbounded.
func loose(r *rand.Rand, _ uint64) *Model {
	m := NewModel()
	n := 2 + r.IntN(6)
	for j := 0; j < n; j++ {
		c := Column{Lo: math.Inf(-1), Hi: inf, Cost: float64(r.IntN(9) - 4)}
		switch r.IntN(3) {
		case 0:
			c.Lo = float64(-r.IntN(5))
		case 1:
			c.Hi = float64(r.IntN(5))
		}
		m.AddColumn(c)
	}
	for i := 0; i < n+r.IntN(4); i++ {
		row := Row{Lo: math.Inf(-1), Hi: float64(r.IntN(20)), Terms: nil}
		for j := 0; j < n; j++ {
			if v := r.IntN(9) - 4; v != 0 {
				row.Terms = append(row.Terms, Term{Var(j), float64(v)})
			}
		}
		if r.IntN(3) == 0 {
			row.Lo = row.Hi - float64(r.IntN(4))
		}
		m.AddRow(row)
	}
	return m
}

// equalities has mostly equality rows through a known point, some redundant.
func equalities(r *rand.Rand, _ uint64) *Model {
	m := NewModel()
	n := 4 + r.IntN(10)
	x := make([]float64, n)
	for j := range x {
		x[j] = float64(r.IntN(10))
		m.AddColumn(Column{Lo: 0, Hi: 20, Cost: float64(r.IntN(21) - 5)})
	}
	var prev Row
	for i := 0; i < n-2; i++ {
		row := Row{}
		s := 0.0
		for j := 0; j < n; j++ {
			if v := float64(r.IntN(7) - 3); v != 0 {
				row.Terms = append(row.Terms, Term{Var(j), v})
				s += v * x[j]
			}
		}
		row.Lo, row.Hi = s, s
		m.AddRow(row)
		prev = row
	}
	m.AddRow(prev)
	return m
}

// badlyScaled mixes figures from 1e-6 to 1e6.
func badlyScaled(r *rand.Rand, _ uint64) *Model {
	m := NewModel()
	n, k := 3+r.IntN(8), 2+r.IntN(6)
	size := make([]float64, n)
	x := make([]float64, n)
	for j := range size {
		size[j] = math.Pow(10, float64(r.IntN(7)-3))
		x[j] = float64(r.IntN(50)) * size[j]
		m.AddColumn(Column{Lo: 0, Hi: 100 * size[j], Cost: float64(1+r.IntN(9)) / size[j]})
	}
	for i := 0; i < k; i++ {
		f := math.Pow(10, float64(r.IntN(7)-3))
		row := Row{}
		s := 0.0
		for j := 0; j < n; j++ {
			v := float64(1+r.IntN(99)) * f / size[j]
			row.Terms = append(row.Terms, Term{Var(j), v})
			s += v * x[j]
		}
		row.Lo, row.Hi = s*0.9, s*1.1
		m.AddRow(row)
	}
	return m
}

func randomProgram(r *rand.Rand, n, k int, whole float64) *Model {
	m := NewModel()
	for j := 0; j < n; j++ {
		lo := float64(-r.IntN(5))
		c := Column{Lo: lo, Hi: lo + float64(r.IntN(12)), Cost: float64(r.IntN(41) - 20), Integer: r.Float64() < whole}
		if c.Hi-c.Lo > 2 && r.IntN(3) == 0 {
			c.Breaks = []Break{{At: c.Lo + 1, Rise: float64(1 + r.IntN(9))}, {At: c.Lo + 2, Rise: float64(1 + r.IntN(9))}}
		}
		m.AddColumn(c)
	}
	for i := 0; i < k; i++ {
		row := Row{Lo: math.Inf(-1), Hi: inf, Terms: randomTerms(r, n, func() float64 { return float64(r.IntN(39)-19) / 4 })}
		a := float64(r.IntN(61) - 30)
		switch r.IntN(3) {
		case 0:
			row.Lo = a
		case 1:
			row.Hi = a
		default:
			row.Lo, row.Hi = a, a+float64(r.IntN(9))
		}
		m.AddRow(row)
	}
	return m
}
