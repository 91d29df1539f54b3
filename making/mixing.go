package making

import (
	"sort"

	"firlot/analysis"
	"firlot/catalog"
	"firlot/nutrient"
)

// Action is one thing to do with the hands when a mix is mixed.
type Action string

// The actions, in the order in which they come.
const (
	// Premix: stir Forms, in a cup, into Mass taken from the bowl.
	Premix Action = "premix"
	// Again: stir as much again from the bowl into the cup, Times times.
	Again Action = "again"
	// Scatter: scatter the cup over the bowl.
	Scatter Action = "scatter"
	// Turn: turn the closed tub, or fold with the hands from the bottom up,
	// Times times. Forms are what is in it then; all but leaves and flowers.
	Turn Action = "turn"
	// Fold: lay Forms, leaves and flowers, on top and fold them in, Times
	// times, so that they do not break.
	Fold Action = "fold"
)

// Step is a step of the mixing instruction.
type Step struct {
	Do    Action
	Forms []*catalog.Form
	Mass  nutrient.Mass // rounded to a whole gram or more; nothing where none is meant
	Times int
	// Why in a few words, How well it is known and where it comes from.
	Why    string
	How    catalog.Evidence
	Source string
}

// The figures of the instruction are common practice without a source.
const (
	// traceShare: a line of less than this share of the mix is premixed; by
	// itself it would not spread.
	traceShare = 0.02
	// tracePieces: a trace of more pieces than this spreads by being scattered
	// thinly; fewer cannot be spread evenly by any mixing.
	tracePieces = 20
	// cupShare: a premix is large enough to be scattered at this share of the
	// mix.
	cupShare = 0.1
	// turns of a tub at most two thirds full.
	turns = 30
	folds = 10
)

const practice = "common practice, no source"

// Instruction is how to mix what has been poured, step by step. Traces are
// first stirred into an equal mass from the bowl and the cup is then doubled
// until it is a tenth of the mix, so that no step asks hands to spread a
// little in a lot (the pharmacist's doubling up). Leaves and flowers come
// last, since they break.
//
// It says nothing of what sorts itself out again later: see package serving.
func Instruction(portions []analysis.Portion) []Step {
	var total nutrient.Mass
	var body, top, traces []analysis.Portion
	for _, p := range portions {
		total += p.Mass
	}
	for _, p := range portions {
		switch {
		case p.Mass == 0:
		case onTop(p.Form):
			top = append(top, p)
		default:
			body = append(body, p)
			if float64(p.Mass) < traceShare*float64(total) {
				traces = append(traces, p)
			}
		}
	}
	var steps []Step
	if len(traces) > 0 && len(body) > len(traces) {
		steps = premix(traces, total)
	}
	if len(body) > 1 {
		steps = append(steps, Step{Do: Turn, Forms: formsOf(body), Times: turns, Why: "every piece has to have been at the bottom and at the top", How: catalog.Assumed, Source: practice})
	}
	if len(top) > 0 && len(body) > 0 {
		steps = append(steps, Step{Do: Fold, Forms: formsOf(top), Times: folds, Why: "leaves and flowers break, and dust sinks", How: catalog.Assumed, Source: practice})
	}
	return steps
}

// premix stirs the traces, smallest first, into as much from the bowl, and
// doubles.
func premix(traces []analysis.Portion, total nutrient.Mass) []Step {
	sort.SliceStable(traces, func(a, b int) bool { return traces[a].Mass < traces[b].Mass })
	var cup nutrient.Mass
	for _, p := range traces {
		cup += p.Mass
	}
	take := max((cup+nutrient.Gram-1)/nutrient.Gram, 1) * nutrient.Gram
	list := []Step{{Do: Premix, Forms: formsOf(traces), Mass: take, Times: 1, Why: "a little spreads in as much again, not in a bowlful", How: catalog.Assumed, Source: practice}}
	cup += take
	again := 0
	for float64(cup) < cupShare*float64(total) {
		cup *= 2
		again++
	}
	if again > 0 {
		list = append(list, Step{Do: Again, Times: again, Why: "until the cup holds a tenth of the mix", How: catalog.Assumed, Source: practice})
	}
	return append(list, Step{Do: Scatter, Times: 1, Why: "so that it starts out spread", How: catalog.Assumed, Source: practice})
}

// Few lists what is so few pieces that no mixing spreads them evenly: fewer
// than twenty in the whole mix, by the mass of a thousand. What has no such
// figure in the catalogue is left out, for it is not known.
func Few(portions []analysis.Portion) []*catalog.Form {
	var list []*catalog.Form
	for _, p := range portions {
		if k := p.Form.ThousandKernels; p.Mass > 0 && k != nil && k.Mean > 0 && p.Mass.Grams()/k.Mean*1000 < tracePieces {
			list = append(list, p.Form)
		}
	}
	return list
}

func formsOf(list []analysis.Portion) []*catalog.Form {
	out := make([]*catalog.Form, len(list))
	for i, p := range list {
		out[i] = p.Form
	}
	return out
}
