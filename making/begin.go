package making

import (
	"sort"

	"firlot/catalog"
	"firlot/mix"
	"firlot/nutrient"
)

// Setup is what a keeper chooses when a making starts.
type Setup struct {
	// Document is the text of the mix document with its amounts.
	Document string
	// Amounts are the masses of the plan's lines, one a line; nothing for a
	// line that is not used.
	Amounts []nutrient.Mass
	// Scale is what the keeper weighs with; a step of nothing is the plan's.
	Scale Scale
	Bowls int               // nothing is one
	Lots  map[string]string // ids of lots by reference; may be nil
	Order []string          // references in the order of pouring; nil: see [Order]
}

// Begin makes a start from a plan. The error is a *[Fault]: of amounts that
// the scale cannot show, use [Settle] to bring them to its steps.
func Begin(p *mix.Plan, s Setup) (*Start, error) {
	if s.Scale.Step == 0 {
		s.Scale.Step = p.Document.Step
	}
	out := &Start{Version: Version, Document: s.Document, Scale: s.Scale, Bowls: max(s.Bowls, 1)}
	if len(s.Amounts) != len(p.Lines) {
		return nil, fault("lines", "there are %d amounts for %d lines", len(s.Amounts), len(p.Lines))
	}
	order := s.Order
	if order == nil {
		order = Order(p, s.Amounts)
	}
	at := map[string]int{}
	for i, l := range p.Lines {
		at[l.Form.Ref()] = i
	}
	used := map[string]bool{}
	for _, ref := range order {
		i, ok := at[ref]
		switch { // an order may name lines of nothing
		case !ok:
			return nil, fault("lines", "%s is not in the mix", ref)
		case used[ref]:
			return nil, fault("lines", "%s stands twice", ref)
		case s.Amounts[i] == 0:
			continue
		}
		used[ref] = true
		out.Lines = append(out.Lines, Line{Ref: ref, Mass: s.Amounts[i], Lot: s.Lots[ref]})
		out.Batch += s.Amounts[i]
	}
	for i, l := range p.Lines {
		if ref := l.Form.Ref(); s.Amounts[i] > 0 && !used[ref] {
			return nil, fault("lines", "%s is in the mix, and the order leaves it out", ref)
		}
	}
	if err := out.Check(); err != nil {
		return nil, err
	}
	return out, out.weighable()
}

// weighable checks that the scales can show every line.
func (s *Start) weighable() error {
	for _, l := range s.Lines {
		each := (l.Mass + nutrient.Mass(s.Bowls) - 1) / nutrient.Mass(s.Bowls)
		if step := s.Scale.stepFor(each); l.Mass%step != 0 {
			return fault("lines", "%s: %v is not a whole number of steps of %v, which is what the scale shows", l.Ref, l.Mass, step)
		}
	}
	return nil
}

// Order is the order of pouring unless the keeper wants another: largest
// first, then in the plan's order; leaves and flowers after everything else.
// Lines of nothing are left out.
func Order(p *mix.Plan, amounts []nutrient.Mass) []string {
	var list []int
	for i := range p.Lines {
		if amounts[i] > 0 {
			list = append(list, i)
		}
	}
	sort.SliceStable(list, func(a, b int) bool {
		i, k := list[a], list[b]
		if x, y := onTop(p.Lines[i].Form), onTop(p.Lines[k].Form); x != y {
			return y
		}
		return amounts[i] > amounts[k]
	})
	out := make([]string, len(list))
	for k, i := range list {
		out[k] = p.Lines[i].Form.Ref()
	}
	return out
}

// onTop reports whether a form lies on top of the rest: dried leaves and
// flowers are light, and what is poured after them falls out of sight.
func onTop(f *catalog.Form) bool {
	c := f.Ingredient.Class
	return c == catalog.Leaf || c == catalog.Flower || c == catalog.Green || c == catalog.Hay
}
