package formulate

import (
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"runtime"
	"strconv"
	"strings"
	"testing"

	"firlot/analysis"
	"firlot/nutrient"
)

// smallestByGLPK writes "the smallest batch around a bowl" as a program of its
// own, from the rows of package analysis and the document's shares, and has
// GLPK solve it. Masses are whole grams.
func smallestByGLPK(t *testing.T, b Bowl, rows [][]float64, shares []share) (float64, bool) {
	t.Helper()
	var w strings.Builder
	w.WriteString("Minimize\n obj:")
	for i := range b.Poured {
		fmt.Fprintf(&w, " + x%d", i)
	}
	w.WriteString("\nSubject To\n")
	put := func(coef []float64, sense string, right float64) {
		for i, c := range coef {
			if c != 0 {
				fmt.Fprintf(&w, " %+.12f x%d", c, i)
			}
		}
		fmt.Fprintf(&w, " %s %v\n", sense, right)
	}
	for _, r := range rows {
		put(r, ">=", 0)
	}
	for _, s := range shares {
		coef := make([]float64, len(b.Poured))
		for i := range coef {
			coef[i] = -s.percent / 100
		}
		for _, i := range s.lines {
			coef[i]++
		}
		put(coef, s.sense, 0)
	}
	one := make([]float64, len(b.Poured))
	for i := range one {
		one[i] = 1
	}
	put(one, ">=", b.Batch.Grams())
	w.WriteString("Bounds\n")
	for i, m := range b.Poured {
		most := "10000"
		if b.Most[i] >= 0 {
			most = fmt.Sprint(b.Most[i].Grams())
		}
		fmt.Fprintf(&w, " %v <= x%d <= %s\n", m.Grams(), i, most)
	}
	w.WriteString("Generals\n")
	for i := range b.Poured {
		fmt.Fprintf(&w, " x%d", i)
	}
	w.WriteString("\nEnd\n")
	dir := t.TempDir()
	in, out := filepath.Join(dir, "in.lp"), filepath.Join(dir, "out")
	if err := os.WriteFile(in, []byte(w.String()), 0o600); err != nil {
		t.Fatal(err)
	}
	log, err := exec.Command("glpsol", "--lp", in, "--tmlim", "20", "-o", out).CombinedOutput()
	if err != nil {
		t.Fatalf("%v: %s", err, log)
	}
	text, err := os.ReadFile(out)
	if err != nil {
		t.Fatal(err)
	}
	for _, l := range strings.Split(string(text), "\n") {
		f := strings.Fields(l)
		if len(f) > 3 && f[0] == "Objective:" {
			v, err := strconv.ParseFloat(f[3], 64)
			if err != nil {
				t.Fatal(err)
			}
			return v, strings.Contains(string(text), "INTEGER OPTIMAL")
		}
	}
	t.Fatalf("no objective in %s", text)
	return 0, false
}

type share struct {
	lines   []int
	sense   string
	percent float64
}

// The smallest batch around a slip, against GLPK on a program that is written
// from scratch.
func TestSmallestBatchAgainstGLPK(t *testing.T) {
	if _, err := exec.LookPath("glpsol"); err != nil {
		if os.Getenv("CI") == "true" && runtime.GOARCH != "wasm" {
			t.Fatal("glpsol is missing")
		}
		t.Skip("glpsol is missing")
	}
	larger := 0
	for _, slip := range []struct {
		ref string
		g   nutrient.Mass
	}{{"linseed/whole", 73}, {"linseed/whole", 60}, {"sunflower/in-shell-striped", 200}, {"sunflower/in-shell-striped", 260},
		{"nettle/leaf-dried", 150}, {"dandelion/leaf-dried", 170}, {"pumpkin-seed/kernel", 90}, {"oats/groats", 700}, {"oats/groats", 219}} {
		p, b := bowlIn(t, "prefer='near'\n")
		for i := range b.Poured {
			b.Poured[i] = b.Near[i] / 2000 * 1000
		}
		b.pour(p, slip.ref, slip.g*nutrient.Gram)
		m := around(t, p, b, Options{})
		if m.Outcome == LargerBatch {
			larger++
		}
		want, ok := smallestByGLPK(t, b, rowsOf(m), sharesOf(t, p.Document.Lines[0].Ingredient, b, m))
		if !ok || m.Batch.Grams() != want || m.NoneBelow != m.Batch {
			t.Errorf("%v g more of %s: %v of %v, none below %v; GLPK says %v (%v)", slip.g, slip.ref, m.Outcome, m.Batch, m.NoneBelow, want, ok)
		}
	}
	if larger < 5 {
		t.Errorf("only %d of the slips need a larger batch", larger)
	}
}

// rowsOf are the edges of all windows, by the worst that figures could be.
func rowsOf(m *Mended) [][]float64 {
	var rows [][]float64
	for _, t := range m.Plan.Targets {
		for _, e := range analysis.Edges(t.Window) {
			row := make([]float64, len(m.Plan.Lines))
			for i, l := range m.Plan.Lines {
				row[i] = analysis.RowOf(l.Form, analysis.MeasureOf(t.Window), e).Worst
			}
			rows = append(rows, row)
		}
	}
	return rows
}

// sharesOf are the limits of examples/gerbil-adult.toml, typed in again, and
// the catalogue's inclusion limits, without those that the bowl breaks in the
// planned batch and the answer says so.
func sharesOf(t *testing.T, first string, b Bowl, m *Mended) []share {
	t.Helper()
	if first != "oats/groats" {
		t.Fatal("the example has changed; type its limits in again here")
	}
	at := map[string]int{}
	for i, l := range m.Plan.Lines {
		at[l.Form.Ref()] = i
	}
	own := []share{
		{[]int{at["oats/groats"]}, "<=", 35}, {[]int{at["linseed/whole"]}, "<=", 5}, {[]int{at["pumpkin-seed/kernel"]}, "<=", 3},
		{[]int{at["linseed/whole"], at["sunflower/in-shell-striped"], at["pumpkin-seed/kernel"]}, "<=", 12},
		{[]int{at["nettle/leaf-dried"], at["dandelion/leaf-dried"]}, ">=", 4}, {[]int{at["nettle/leaf-dried"], at["dandelion/leaf-dried"]}, "<=", 10},
	}
	var list []share
	for _, s := range own {
		var have nutrient.Mass
		for _, i := range s.lines {
			have += b.Poured[i]
		}
		if s.sense == ">=" || have.Grams() <= s.percent/100*b.Batch.Grams() {
			list = append(list, s)
		}
	}
	for i, l := range m.Plan.Lines {
		for _, lim := range l.Form.Limits {
			if lim.For("gerbil") {
				list = append(list, share{[]int{i}, "<=", lim.Most})
			}
		}
	}
	return list
}
