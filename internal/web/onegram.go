package web

import (
	"math"
	"strings"

	"firlot/analysis"
)

// oneMoreGram is by how much a figure of a mix moves, in its own unit, when
// one gram more of a portion is taken and one gram less of all the others, in
// proportion, so that the batch stays as it is. It reports false where a
// figure of a portion in the mix is not known, and where there is nothing
// else in the mix to take the gram from.
func oneMoreGram(portions []analysis.Portion, at int, m analysis.Measure) (float64, bool) {
	var num, den, rest float64
	var ownNum, ownDen float64
	for i, p := range portions {
		x := p.Mass.Grams()
		t := analysis.TermsOf(p.Form, m)
		if i != at {
			rest += x
		}
		if x == 0 && i != at {
			continue
		}
		if !t.Num.Known || !t.Den.Known {
			return 0, false
		}
		num += t.Num.Mean * x
		den += t.Den.Mean * x
		if i == at {
			ownNum, ownDen = t.Num.Mean, t.Den.Mean
		}
	}
	if rest < 1 || den <= 0 {
		return 0, false
	}
	own := portions[at].Mass.Grams()
	nextNum := num + ownNum - (num-ownNum*own)/rest
	nextDen := den + ownDen - (den-ownDen*own)/rest
	if nextDen <= 0 {
		return 0, false
	}
	return nextNum/nextDen - num/den, true
}

// gramViews are what one gram more of a line changes in each figure that has
// a window, in the order of measureNames.
func (b *mixBuilder) gramViews(portions []analysis.Portion, at int) []string {
	var list []string
	for _, c := range b.a.Answer.Checks {
		m := analysis.MeasureOf(c.Window)
		change := b.w.T("not_known")
		if v, ok := oneMoreGram(portions, at, m); ok {
			change = strings.TrimRight(b.w.Signed(v)+"\u00a0"+string(m.Unit()), "\u00a0")
		}
		list = append(list, change)
	}
	return list
}

func (b *mixBuilder) measureNames() []string {
	var list []string
	for _, c := range b.a.Answer.Checks {
		list = append(list, b.w.measureOf(c.Window))
	}
	return list
}

// Signed prints a change with its sign, to two significant digits.
func (w *words) Signed(v float64) string {
	if v == 0 {
		return "±0"
	}
	places := max(0, 1-int(math.Floor(math.Log10(math.Abs(v)))))
	s := w.Num(v, places)
	if v > 0 {
		s = "+" + s
	}
	return s
}
