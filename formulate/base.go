package formulate

import (
	"math"
	"sort"

	"firlot/mix"
)

// baseSteps is the mix to be near to, brought to the batch: the lines' bases
// or, where none has one, their amounts. It is nil when there is neither.
func baseSteps(p *mix.Plan) []int {
	if b := scaled(p, func(l mix.Line) mix.Amount { return l.Base }); b != nil {
		return b
	}
	return scaled(p, func(l mix.Line) mix.Amount { return l.Amount })
}

func scaled(p *mix.Plan, of func(mix.Line) mix.Amount) []int {
	grams := make([]float64, len(p.Document.Lines))
	sum := 0.0
	for i, l := range p.Document.Lines {
		if a := of(l); a.Set {
			grams[i] = a.Of(p.Batch())
			sum += grams[i]
		}
	}
	if sum == 0 {
		return nil
	}
	for i := range grams {
		grams[i] = grams[i] / sum * float64(p.Steps)
	}
	return apportion(grams, p.Steps)
}

// apportion rounds shares to whole steps that add up to total: each is
// rounded down, and the steps left over go to the largest remainders, the
// earlier line first among equals (Hamilton's method).
func apportion(shares []float64, total int) []int {
	out := make([]int, len(shares))
	order := make([]int, len(shares))
	left := total
	for i, s := range shares {
		out[i] = int(math.Floor(s + wholeShare))
		left -= out[i]
		order[i] = i
	}
	rest := func(i int) float64 { return math.Round((shares[i] - float64(out[i])) / wholeShare) }
	sort.SliceStable(order, func(a, b int) bool { return rest(order[a]) > rest(order[b]) })
	for k := 0; left > 0 && k < len(order); k++ {
		out[order[k]]++
		left--
	}
	for k := len(order) - 1; left < 0 && k >= 0; k-- {
		if out[order[k]] > 0 {
			out[order[k]]--
			left++
		}
	}
	return out
}

// wholeShare is the error within which a share counts as whole: shares are
// sums and quotients of at most 200 terms of up to 10⁶ steps, each exact to
// 2⁻⁵², so they err by less than 10⁻⁷ steps.
const wholeShare = 1e-7
