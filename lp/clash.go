package lp

import (
	"math"
	"math/big"
)

// clashSet gathers the rules that take part in proofs of infeasibility. All
// weights sit in fixed arrays so that the order of the result is fixed too.
type clashSet struct {
	p      *prob
	row    [2][]float64 // lower, upper
	bound  [2][]float64
	count  []float64
	cone   []float64
	leaves int
}

func (c *clashSet) init(p *prob) {
	c.p = p
	for k := range c.row {
		c.row[k] = make([]float64, p.m0)
		c.bound[k] = make([]float64, p.n)
	}
	c.count = make([]float64, len(p.links))
	c.cone = make([]float64, len(p.m.cones))
}

// logic notes a node closed by plain conclusions: every count and switch may
// have played a part, so all counts are named.
func (c *clashSet) logic() {
	c.leaves++
	for i := range c.count {
		c.count[i] = math.Max(c.count[i], 1)
	}
}

// point notes a node that was a single point, which broke the given cone (or,
// if negative, some other rule).
func (c *clashSet) point(cone int) {
	c.leaves++
	if cone >= 0 {
		c.cone[cone] = math.Max(c.cone[cone], 1)
	}
}

// add notes the Farkas multipliers of a leaf.
func (c *clashSet) add(b *box, y []float64, r []*big.Rat) {
	c.leaves++
	if r != nil {
		y = floatsOf(r)
	}
	p := c.p
	d := make([]float64, p.n)
	for i, v := range y {
		if v == 0 {
			continue
		}
		for j, a := range p.a[i] {
			d[j] -= float64(v * a)
		}
		c.addRow(i, v)
	}
	big := 0.0
	for _, v := range d {
		big = math.Max(big, math.Abs(v))
	}
	for j, v := range d {
		if math.Abs(v) <= 1e-9*big {
			continue
		}
		if v > 0 && b.lo[j] == p.lo[j] {
			c.bound[0][j] = math.Max(c.bound[0][j], v)
		}
		if v < 0 && b.hi[j] == p.hi[j] {
			c.bound[1][j] = math.Max(c.bound[1][j], -v)
		}
	}
}

func (c *clashSet) addRow(i int, v float64) {
	p := c.p
	w := math.Abs(v)
	if i < p.m0 {
		k := 0
		if v < 0 {
			k = 1
		}
		c.row[k][i] = math.Max(c.row[k][i], w)
		return
	}
	for k, l := range p.links {
		if l.most == i || l.least == i {
			c.count[k] = math.Max(c.count[k], w)
		}
	}
	if i >= p.firstCut {
		k := p.cuts[i-p.firstCut].cone
		c.cone[k] = math.Max(c.cone[k], w)
	}
}

// list turns the set into the public form.
func (c *clashSet) list() []Clash {
	var out []Clash
	for i := range c.row[0] {
		for k := range c.row {
			if c.row[k][i] > 0 {
				out = append(out, Clash{ClashRow, i, k == 1, c.row[k][i]})
			}
		}
	}
	for j := range c.bound[0] {
		for k := range c.bound {
			if c.bound[k][j] > 0 {
				out = append(out, Clash{ClashBound, j, k == 1, c.bound[k][j]})
			}
		}
	}
	for i, v := range c.count {
		if v > 0 {
			out = append(out, Clash{ClashCount, i, false, v})
		}
	}
	for i, v := range c.cone {
		if v > 0 {
			out = append(out, Clash{ClashCone, i, false, v})
		}
	}
	return out
}
