package lp

import (
	"fmt"
	"math"
	"strconv"
	"strings"
)

// writeLP writes a model without cones in the CPLEX-LP text format, breaks as
// extra columns and switches as binaries.
func writeLP(m *Model) string {
	var obj, rows, bounds, gen, bin strings.Builder
	for j := range m.cols {
		c := &m.cols[j]
		fmt.Fprintf(&obj, " %+.17g x%d", c.Cost, j)
		fmt.Fprintf(&bounds, " %s <= x%d <= %s\n", lpNum(c.Lo), j, lpNum(c.Hi))
		if c.Integer {
			fmt.Fprintf(&gen, " x%d\n", j)
		}
		for k, b := range c.Breaks {
			fmt.Fprintf(&obj, " %+.17g s%d_%d", b.Rise, j, k)
			fmt.Fprintf(&rows, " k%d_%d: s%d_%d - x%d >= %.17g\n", j, k, j, k, j, -b.At)
		}
		if c.NothingOr > 0 || counted(m, j) {
			fmt.Fprintf(&bin, " b%d\n", j)
			fmt.Fprintf(&rows, " u%d: x%d - %.17g b%d <= 0\n", j, j, c.Hi, j)
			fmt.Fprintf(&rows, " l%d: x%d - %.17g b%d >= 0\n", j, j, c.NothingOr, j)
		}
	}
	for i := range m.rows {
		r := &m.rows[i]
		var body strings.Builder
		for _, t := range r.Terms {
			fmt.Fprintf(&body, " %+.17g x%d", t.Coef, t.Var)
		}
		if len(r.Terms) == 0 {
			body.WriteString(" 0 x0")
		}
		if r.Lo == r.Hi {
			fmt.Fprintf(&rows, " r%d:%s = %.17g\n", i, body.String(), r.Lo)
			continue
		}
		if !math.IsInf(r.Lo, -1) {
			fmt.Fprintf(&rows, " r%dl:%s >= %.17g\n", i, body.String(), r.Lo)
		}
		if !math.IsInf(r.Hi, 1) {
			fmt.Fprintf(&rows, " r%dh:%s <= %.17g\n", i, body.String(), r.Hi)
		}
	}
	for i := range m.counts {
		c := &m.counts[i]
		for _, side := range []string{fmt.Sprintf("<= %d", c.Most), fmt.Sprintf(">= %d", c.Least)} {
			fmt.Fprintf(&rows, " c%d%c:", i, side[0]/2+66)
			for _, v := range c.Vars {
				fmt.Fprintf(&rows, " + b%d", v)
			}
			fmt.Fprintf(&rows, " %s\n", side)
		}
	}
	if rows.Len() == 0 {
		rows.WriteString(" none: 0 x0 >= 0\n")
	}
	return "Minimize\n obj:" + obj.String() + "\nSubject To\n" + rows.String() + "Bounds\n" + bounds.String() +
		"Generals\n" + gen.String() + "Binaries\n" + bin.String() + "End\n"
}

func counted(m *Model, j int) bool {
	for i := range m.counts {
		for _, v := range m.counts[i].Vars {
			if int(v) == j {
				return true
			}
		}
	}
	return false
}

func lpNum(v float64) string {
	if math.IsInf(v, -1) {
		return "-inf"
	}
	if math.IsInf(v, 1) {
		return "+inf"
	}
	return strconv.FormatFloat(v, 'g', 17, 64)
}
