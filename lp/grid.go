package lp

import (
	"math"
	"math/big"
)

// grid says that the objective of every point is off + k·step for some whole
// number k. step is nil if no such grid was found.
type grid struct {
	off, step *big.Rat
	size      float64  // step as a float64
	row       int      // the equality row that was used, −1 for none
	mult      *big.Rat // its multiplier
}

// findGrid looks for the coarsest grid of the objective of a pure whole model:
// plainly, the greatest common divisor of all slopes (with whole breaks); or
// after subtracting a multiple of an equality row from the costs, which
// changes the objective by a constant. For costs ±½ around a base and a fixed
// sum that gives whole steps instead of halves.
func (p *prob) findGrid() grid {
	best := grid{row: -1}
	if !p.pure {
		return best
	}
	for j := range p.cols {
		for _, b := range p.cols[j].Breaks {
			if b.At != math.Floor(b.At) {
				return best
			}
		}
	}
	best.take(p.gridWith(-1, nil))
	for i := 0; i < p.m0; i++ {
		if p.rowLo[i] != p.rowHi[i] {
			continue
		}
		for j, a := range p.a[i] {
			if a != 0 {
				c := new(big.Rat).SetFloat64(p.cols[j].Cost)
				best.take(p.gridWith(i, c.Quo(c, new(big.Rat).SetFloat64(a))))
				break
			}
		}
	}
	return best
}

// coarse says whether there is a grid with steps far above v.
func (g grid) coarse(v float64) bool {
	return g.step != nil && g.size > 1000*v
}

func (g *grid) take(o grid) {
	if o.step != nil && (g.step == nil || o.step.Cmp(g.step) > 0) {
		*g = o
	}
}

// gridWith is the grid after subtracting mult times row i from the costs.
func (p *prob) gridWith(i int, mult *big.Rat) grid {
	g := grid{off: new(big.Rat), row: i, mult: mult}
	var step *big.Rat
	t := new(big.Rat)
	for j := range p.cols {
		c := new(big.Rat).SetFloat64(p.cols[j].Cost)
		if i >= 0 && p.a[i][j] != 0 {
			c.Sub(c, t.Mul(mult, t.SetFloat64(p.a[i][j])))
		}
		step = commonStep(step, c)
		for _, b := range p.cols[j].Breaks {
			step = commonStep(step, new(big.Rat).SetFloat64(b.Rise))
		}
	}
	if i >= 0 {
		g.off.Mul(mult, t.SetFloat64(p.rowLo[i]))
	}
	g.step = step
	if step != nil {
		g.size, _ = step.Float64()
	}
	return g
}

// commonStep is the greatest common divisor of two fractions; nil is zero.
func commonStep(a, b *big.Rat) *big.Rat {
	if b.Sign() == 0 {
		return a
	}
	b = new(big.Rat).Abs(b)
	if a == nil {
		return b
	}
	den := new(big.Int).Mul(a.Denom(), b.Denom())
	x := new(big.Int).Mul(a.Num(), b.Denom())
	y := new(big.Int).Mul(b.Num(), a.Denom())
	return new(big.Rat).SetFrac(new(big.Int).GCD(nil, nil, x, y), den)
}

// line is the cutoff for an incumbent: with a grid, a bound strictly above
// objective − (⌊gap/step⌋+1)·step can be rounded up to a value within the gap;
// without one a bound must reach objective − gap.
func (g grid) line(pt *point, gap, slack float64) cutline {
	gap = math.Max(gap, slack)
	at := new(big.Rat).SetFloat64(gap)
	if g.step == nil {
		return cutline{at: roundUp(at.Sub(pt.obj, at))}
	}
	return cutline{at: roundUp(g.lineAt(pt, at)), strict: true}
}

// lineAt is objective − (⌊gap/step⌋+1)·step.
func (g grid) lineAt(pt *point, gap *big.Rat) *big.Rat {
	k := new(big.Rat).Quo(gap, g.step)
	n := new(big.Int).Quo(k.Num(), k.Denom())
	n.Add(n, big.NewInt(1))
	at := new(big.Rat).SetInt(n)
	at.Mul(at, g.step)
	return at.Sub(pt.obj, at)
}

// reaches says whether an exact bound closes a node.
func (g grid) reaches(bound *big.Rat, pt *point, gap, slack float64) bool {
	at := new(big.Rat).SetFloat64(math.Max(gap, slack))
	if g.step == nil {
		return bound.Cmp(at.Sub(pt.obj, at)) >= 0
	}
	return bound.Cmp(g.lineAt(pt, at)) > 0
}

// raise rounds a finite bound up to the grid.
func (g grid) raise(bound float64) *big.Rat {
	return g.raiseExact(new(big.Rat).SetFloat64(bound))
}

// raiseExact rounds an exact bound up to the grid.
func (g grid) raiseExact(bound *big.Rat) *big.Rat {
	k := new(big.Rat).Set(bound)
	if g.step == nil {
		return k
	}
	k.Sub(k, g.off)
	k.Quo(k, g.step)
	n, m := new(big.Int), new(big.Int)
	n.DivMod(k.Num(), k.Denom(), m)
	if m.Sign() != 0 {
		n.Add(n, big.NewInt(1))
	}
	k.SetInt(n)
	k.Mul(k, g.step)
	return k.Add(k, g.off)
}
