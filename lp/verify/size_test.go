package verify

import (
	"context"
	"errors"
	"fmt"
	"strings"
	"testing"
)

// primes are the first n odd primes.
func primes(n int) (ps []int) {
next:
	for v := 3; len(ps) < n; v += 2 {
		for _, p := range ps {
			if v%p == 0 {
				continue next
			}
		}
		ps = append(ps, v)
	}
	return ps
}

// V4: numbers that grow beyond measure are refused as such, wherever they
// stand: few characters of a document must not make much work.
func TestRefusesNumbersThatGrow(t *testing.T) {
	long := "1/" + strings.Repeat("7", 16000)
	var list [6]strings.Builder // what many figures with denominators of their own look like
	for i, p := range primes(9000) {
		sep := ","
		if i == 0 {
			sep = ""
		}
		fmt.Fprintf(&list[0], `%s{"hi":"1/%d"}`, sep, p)
		fmt.Fprintf(&list[1], `%s{"cost":"1/%d","hi":"1"}`, sep, p)
		fmt.Fprintf(&list[2], `%s{"c":%d,"v":"1/%d"}`, sep, i, p)
		fmt.Fprintf(&list[3], `%s"1/%d"`, sep, p)
		fmt.Fprintf(&list[4], `%s{"i":0,"y":"1/%d"}`, sep, p)
		fmt.Fprintf(&list[5], `%s{"kind":"value","col":0,"at":"1/%d"}`, sep, p)
	}
	columns := strings.TrimPrefix(strings.Repeat(`,{"lo":"0","hi":"1"}`, 9000), ",")
	for _, c := range []struct {
		name, columns, rows, cones, cuts, tree string
		claim                                  string
	}{
		{name: "places", columns: list[0].String()},
		{name: "costs", columns: list[1].String()},
		{name: "a row", columns: columns, rows: `{"terms":[` + list[2].String() + `]}`},
		{name: "rows that one figure makes long", columns: columns,
			rows: `{}` + strings.Repeat(`,{"hi":"`+long+`","terms":[`+ones(9000)+`]}`, 5)},
		{name: "weights", columns: columns, rows: `{"lo":"0","terms":[{"c":0,"v":"1"}]}`, tree: `{"kind":"bound","rows":[` + list[4].String() + `]}`},
		{name: "splits", columns: columns, tree: list[5].String()},
		{name: "a cone", columns: columns, cones: `{"lo":"0","z":"1","spread":[` + list[2].String() + `]}`},
		{name: "a direction", columns: columns, cones: `{"lo":"0","z":"1","spread":[` + ones(9000) + `]}`, cuts: `{"cone":0,"dir":[` + list[3].String() + `]}`},
	} {
		if c.tree == "" {
			c.tree = `{"kind":"open"}`
		}
		data := `{"format":"firlot-lp-certificate","version":1,"claim":{"status":"stopped"},"model":{"columns":[` + c.columns +
			`],"rows":[` + c.rows + `],"cones":[` + c.cones + `]},"cuts":[` + c.cuts + `],"tree":[` + c.tree + `]}`
		if _, err := CheckBytes([]byte(data)); !errors.Is(err, errLarge) {
			t.Errorf("%s: %v", c.name, err)
		}
	}
}

func ones(n int) string {
	var b strings.Builder
	for i := range n {
		if i > 0 {
			b.WriteByte(',')
		}
		fmt.Fprintf(&b, `{"c":%d,"v":"1"}`, i)
	}
	return b.String()
}

// V4: when a document has made as much work as it may, every part of the check
// refuses to go on.
func TestRefusesMoreWork(t *testing.T) {
	text := `{"format":"firlot-lp-certificate","version":1,"claim":{"status":"stopped"},"model":{"columns":[{"lo":"0","hi":"4","least":"2","whole":true}],
		"rows":[{"lo":"1","hi":"1","terms":[{"c":0,"v":"1"}]}],"counts":[{"cols":[0],"most":1}],"cones":[{"lo":"0","z":"1","spread":[{"c":0,"v":"1"}]}]},
		"grid":{"row":0},"cuts":[{"cone":0,"dir":["1"]}],"tree":[{"kind":"bound","rows":[{"i":0,"y":"1"}],"counts":[{"i":0,"y":"-1"}]}]}`
	for _, spent := range []int64{0, maxWork} {
		d, err := readDoc([]byte(text))
		if err != nil {
			t.Fatal(err)
		}
		m, err := build(context.Background(), d)
		if err != nil {
			t.Fatal(err)
		}
		x, p, err := m.list([]string{"2"})
		if err != nil {
			t.Fatal(err)
		}
		m.spent = spent
		w := &walker{m: m}
		_, _, err1 := m.holds(x, p)
		err2 := w.addCuts(d.Cuts)
		err3 := w.walk(d.Tree)
		w.least = &frac{n: m.one}
		err4 := w.raise(d.Grid)
		for i, err := range []error{err1, err2, err3, err4} {
			if (spent > 0) != errors.Is(err, errLarge) {
				t.Errorf("part %d with %d spent: %v", i, spent, err)
			}
		}
	}
}
