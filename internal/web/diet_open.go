package web

import (
	"slices"
	"strings"

	"firlot/ration"
)

// because says why there is no verdict: what the tables lack, or how much is
// eaten of which foods. It is empty where there is one.
func (f *feeding) because(why ration.Open) string {
	var names []string
	for _, x := range f.Plan.Foods {
		if name := f.foodName(x.Food.Food); x.Loose && !x.Rests && !slices.Contains(names, name) {
			names = append(names, name)
		}
	}
	switch why {
	case ration.Settled:
		return ""
	case ration.OpenAmounts, ration.OpenBoth:
		return f.w.T("feed_because_"+strings.ReplaceAll(string(why), " ", "_"), "Names", f.w.And(names))
	}
	return f.w.T("feed_because_" + string(why))
}

// becauseRow is because of a row, with what it lies between where only the
// amounts are open.
func (f *feeding) becauseRow(r ration.Row) string {
	s := f.because(r.Open)
	if r.Open == ration.OpenAmounts {
		s += " " + f.w.T("feed_because_between", "Range", f.openRange(r))
	}
	return s
}

func (f *feeding) openRange(r ration.Row) string {
	unit := ""
	if r.Unit != "" {
		unit = "\u00a0" + f.w.dayUnit(r.Unit)
	}
	return f.w.T("range", "A", f.w.Short(r.Got.Low), "B", f.w.Short(r.Got.High)+unit)
}
