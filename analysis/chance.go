package analysis

import (
	"math"

	"firlot/needs"
)

// Verdict says whether a mix meets a window.
type Verdict string

// The verdicts.
const (
	Inside   Verdict = "inside"
	Outside  Verdict = "outside"
	NotKnown Verdict = "not known" // a missing figure could turn it
)

// Check is what a mix makes of a window.
type Check struct {
	Window  needs.Window
	Value   Value
	Verdict Verdict
	// Chance that a mix made from a fresh set of ordinary bags lies inside;
	// for the worst that an unknown part could hold. It is meaningless unless
	// HasChance: when the verdict is NotKnown, or nothing of the figure is
	// known and the verdict rests on bounds alone.
	Chance    float64
	HasChance bool
}

// Edges lists the sides of a window, the lower first.
func Edges(w needs.Window) []Edge {
	var list []Edge
	if w.Min != nil {
		list = append(list, Edge{Bound: *w.Min})
	}
	if w.Max != nil {
		list = append(list, Edge{Bound: *w.Max, Upper: true})
	}
	return list
}

// margin is an edge of a mix: mean margins and the loadings of its spread on
// each figure of each bag.
type margin struct {
	worst, best float64
	loads       []float64 // on the (bag, figure) pairs that a loading numbers
}

// loading numbers the (bag, figure) pairs that bring spread.
type loading struct {
	index map[[2]int]int
}

func (l *loading) at(bag, figure int) int {
	k := [2]int{bag, figure}
	i, ok := l.index[k]
	if !ok {
		i = len(l.index)
		l.index[k] = i
	}
	return i
}

func marginOf(portions []Portion, m Measure, e Edge, l *loading) margin {
	var out margin
	scale := 0.0
	for bag, p := range portions {
		x := p.Mass.Grams()
		if x == 0 {
			continue
		}
		scale += x
		r := RowOf(p.Form, m, e)
		out.worst += float64(r.Worst * x)
		out.best += float64(r.Best * x)
		for _, part := range r.Parts {
			i := l.at(bag, keyIndex(part.Key))
			for len(out.loads) <= i {
				out.loads = append(out.loads, 0)
			}
			out.loads[i] += float64(part.Sigma * x)
		}
	}
	if scale > 0 {
		// edgeSlack of a unit is far below any figure's worth: it keeps the rounding of the sums from failing a mix that stands
		// exactly on an edge.
		out.worst, out.best = settle(out.worst, scale), settle(out.best, scale)
	}
	return out
}

// edgeSlack is the part of a figure's unit within which a mix counts as
// standing on an edge: sums of up to 200 products, each rounded to 2⁻⁵³ of at
// most 10⁶ units, err by less than 10⁻⁷ units.
const edgeSlack = 1e-7

func settle(margin, mass float64) float64 {
	if math.Abs(margin) <= float64(edgeSlack*mass) {
		return 0
	}
	return margin
}

// CheckWindow measures a mix against a window.
func CheckWindow(portions []Portion, w needs.Window) Check {
	m := MeasureOf(w)
	c := Check{Window: w, Value: Of(portions, m), Verdict: Inside}
	l := &loading{index: map[[2]int]int{}}
	var list []margin
	for _, e := range Edges(w) {
		mg := marginOf(portions, m, e, l)
		list = append(list, mg)
		switch {
		case mg.best < 0:
			c.Verdict = Outside
		case mg.worst < 0 && c.Verdict == Inside:
			c.Verdict = NotKnown
		}
	}
	if c.HasChance = c.Verdict != NotKnown && c.Value.KnownShare > 0; c.HasChance {
		c.Chance = roundChance(joint(list))
	}
	return c
}

// Joint is the chance that a mix made from a fresh set of ordinary bags lies
// inside all the windows together, for the worst that unknown parts could
// hold.
func Joint(portions []Portion, windows []needs.Window) float64 {
	l := &loading{index: map[[2]int]int{}}
	var list []margin
	for _, w := range windows {
		for _, e := range Edges(w) {
			list = append(list, marginOf(portions, MeasureOf(w), e, l))
		}
	}
	return roundChance(joint(list))
}

// roundChance keeps six decimals: more than any figure bears out, and few
// enough that the last bits of a platform's exponential do not show.
func roundChance(p float64) float64 {
	return math.Round(min(max(p, 0), 1)*1e6) / 1e6
}
