package lp

import (
	"bytes"
	"context"
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"sync"
	"sync/atomic"
	"testing"
	"time"
)

// crossTol is the relative difference of objectives that is put down to the
// tolerances of the other solver: GLPK accepts points that break rows by 1e-7
// relative and whole numbers by 1e-5, which moves an objective with
// multipliers of size up to about 10 by no more than 1e-5 of its size.
const (
	crossTol      = 1e-6
	crossTolWhole = 1e-5
)

// family makes a program of one kind.
type family struct {
	name string
	make func(r *rand.Rand, seed uint64) *Model
}

var families = []family{
	{"linear-near", func(r *rand.Rand, s uint64) *Model {
		return mixing{n: 8 + r.IntN(30), k: 3 + r.IntN(14), tight: 0.05, shift: 0.1}.build(s)
	}},
	{"linear-cheap", func(r *rand.Rand, s uint64) *Model {
		return mixing{n: 8 + r.IntN(30), k: 3 + r.IntN(14), tight: 0.05, shift: 0.1, cheapest: true}.build(s)
	}},
	{"whole-near", func(r *rand.Rand, s uint64) *Model {
		return mixing{n: 5 + r.IntN(8), k: 2 + r.IntN(4), tight: 0.06, shift: 0.05, whole: true}.build(s)
	}},
	{"whole-cheap", func(r *rand.Rand, s uint64) *Model {
		return mixing{n: 5 + r.IntN(6), k: 2 + r.IntN(3), tight: 0.06, shift: 0.05, whole: true, cheapest: true}.build(s)
	}},
	{"degenerate", degenerate},
	{"hair", hair},
	{"unbounded", loose},
	{"equalities", equalities},
	{"count", func(r *rand.Rand, s uint64) *Model {
		return mixing{n: 6 + r.IntN(8), k: 2 + r.IntN(4), tight: 0.08, shift: 0.05, whole: r.IntN(2) == 0, most: 3 + r.IntN(4)}.build(s)
	}},
	{"at-least", func(r *rand.Rand, s uint64) *Model {
		return mixing{n: 6 + r.IntN(8), k: 2 + r.IntN(4), tight: 0.08, shift: 0.05, whole: r.IntN(2) == 0,
			minPart: float64(10 + r.IntN(60)), most: r.IntN(2) * (3 + r.IntN(4))}.build(s)
	}},
	{"scaled", badlyScaled},
	{"random", func(r *rand.Rand, s uint64) *Model { return randomProgram(r, 2+r.IntN(8), 1+r.IntN(8), 0) }},
	{"mixed", func(r *rand.Rand, s uint64) *Model { return randomProgram(r, 2+r.IntN(5), 1+r.IntN(5), 0.5) }},
}

// degenerate is a transport problem with equal supplies and many ties.
func degenerate(r *rand.Rand, _ uint64) *Model {
	m := NewModel()
	k := 2 + r.IntN(4)
	for i := 0; i < k*k; i++ {
		m.AddColumn(Column{Hi: inf, Cost: float64(1 + r.IntN(4))})
	}
	for i := 0; i < k; i++ {
		var a, b []Term
		for j := 0; j < k; j++ {
			a = append(a, Term{Var(i*k + j), 1})
			b = append(b, Term{Var(j*k + i), 1})
		}
		m.AddRow(Row{Lo: 1, Hi: 1, Terms: a})
		m.AddRow(Row{Lo: 1, Hi: 1, Terms: b})
	}
	return m
}

// hair is a mixing model with one window just out of reach (or, for odd
// seeds, just within reach) by 1e-4 of its size.
func hair(r *rand.Rand, s uint64) *Model {
	m := mixing{n: 6 + r.IntN(10), k: 3, tight: 0.3, cheapest: true}.build(s)
	top := 0.0
	row := Row{Terms: nil}
	for j := 0; j < m.Columns(); j++ {
		v := float64(100 + r.IntN(900))
		row.Terms = append(row.Terms, Term{Var(j), v})
		top = math.Max(top, v)
	}
	m.rows = m.rows[:1]
	row.Lo, row.Hi = top*batch*(1+1e-4), inf
	if s%2 == 1 {
		row.Lo = top * batch * (1 - 1e-4)
	}
	m.AddRow(row)
	return m
}

// loose has free columns and one-sided bounds, and is often unbounded.
func loose(r *rand.Rand, _ uint64) *Model {
	m := NewModel()
	n := 2 + r.IntN(6)
	for j := 0; j < n; j++ {
		c := Column{Lo: math.Inf(-1), Hi: inf, Cost: float64(r.IntN(9) - 4)}
		switch r.IntN(3) {
		case 0:
			c.Lo = float64(-r.IntN(5))
		case 1:
			c.Hi = float64(r.IntN(5))
		}
		m.AddColumn(c)
	}
	for i := 0; i < n+r.IntN(4); i++ {
		row := Row{Lo: math.Inf(-1), Hi: float64(r.IntN(20)), Terms: nil}
		for j := 0; j < n; j++ {
			if v := r.IntN(9) - 4; v != 0 {
				row.Terms = append(row.Terms, Term{Var(j), float64(v)})
			}
		}
		if r.IntN(3) == 0 {
			row.Lo = row.Hi - float64(r.IntN(4))
		}
		m.AddRow(row)
	}
	return m
}

// equalities has mostly equality rows through a known point, some redundant.
func equalities(r *rand.Rand, _ uint64) *Model {
	m := NewModel()
	n := 4 + r.IntN(10)
	x := make([]float64, n)
	for j := range x {
		x[j] = float64(r.IntN(10))
		m.AddColumn(Column{Lo: 0, Hi: 20, Cost: float64(r.IntN(21) - 5)})
	}
	var prev Row
	for i := 0; i < n-2; i++ {
		row := Row{}
		s := 0.0
		for j := 0; j < n; j++ {
			if v := float64(r.IntN(7) - 3); v != 0 {
				row.Terms = append(row.Terms, Term{Var(j), v})
				s += v * x[j]
			}
		}
		row.Lo, row.Hi = s, s
		m.AddRow(row)
		prev = row
	}
	m.AddRow(prev)
	return m
}

// badlyScaled mixes figures from 1e-6 to 1e6.
func badlyScaled(r *rand.Rand, _ uint64) *Model {
	m := NewModel()
	n, k := 3+r.IntN(8), 2+r.IntN(6)
	size := make([]float64, n)
	x := make([]float64, n)
	for j := range size {
		size[j] = math.Pow(10, float64(r.IntN(7)-3))
		x[j] = float64(r.IntN(50)) * size[j]
		m.AddColumn(Column{Lo: 0, Hi: 100 * size[j], Cost: float64(1+r.IntN(9)) / size[j]})
	}
	for i := 0; i < k; i++ {
		f := math.Pow(10, float64(r.IntN(7)-3))
		row := Row{}
		s := 0.0
		for j := 0; j < n; j++ {
			v := float64(1+r.IntN(99)) * f / size[j]
			row.Terms = append(row.Terms, Term{Var(j), v})
			s += v * x[j]
		}
		row.Lo, row.Hi = s*0.9, s*1.1
		m.AddRow(row)
	}
	return m
}

func randomProgram(r *rand.Rand, n, k int, whole float64) *Model {
	m := NewModel()
	for j := 0; j < n; j++ {
		lo := float64(-r.IntN(5))
		c := Column{Lo: lo, Hi: lo + float64(r.IntN(12)), Cost: float64(r.IntN(41) - 20), Integer: r.Float64() < whole}
		if c.Hi-c.Lo > 2 && r.IntN(3) == 0 {
			c.Breaks = []Break{{At: c.Lo + 1, Rise: float64(1 + r.IntN(9))}, {At: c.Lo + 2, Rise: float64(1 + r.IntN(9))}}
		}
		m.AddColumn(c)
	}
	for i := 0; i < k; i++ {
		row := Row{Lo: math.Inf(-1), Hi: inf, Terms: randomTerms(r, n, func() float64 { return float64(r.IntN(39)-19) / 4 })}
		a := float64(r.IntN(61) - 30)
		switch r.IntN(3) {
		case 0:
			row.Lo = a
		case 1:
			row.Hi = a
		default:
			row.Lo, row.Hi = a, a+float64(r.IntN(9))
		}
		m.AddRow(row)
	}
	return m
}

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

// runGLPK solves a program text. The status is "optimal", "infeasible",
// "unbounded", "either" (no finite optimum, reason unknown) or "limit".
func runGLPK(path string) (string, float64, error) {
	out := path + ".out"
	defer os.Remove(out)
	cmd := exec.Command("glpsol", "--lp", path, "--nopresol", "--tmlim", "10", "-w", out)
	log, err := cmd.CombinedOutput()
	if err != nil {
		return "", 0, fmt.Errorf("%v: %s", err, log)
	}
	for text, status := range map[string]string{
		"TIME LIMIT EXCEEDED":       "limit",
		"NO PRIMAL FEASIBLE":        "infeasible",
		"NO FEASIBLE SOLUTION":      "infeasible",
		"NO INTEGER FEASIBLE":       "infeasible",
		"UNBOUNDED PRIMAL SOLUTION": "unbounded",
		"HAS UNBOUNDED SOLUTION":    "unbounded",
		"LP HAS UNBOUNDED":          "unbounded",
	} {
		if bytes.Contains(log, []byte(text)) {
			return status, 0, nil
		}
	}
	data, err := os.ReadFile(out)
	if err != nil {
		return "", 0, err
	}
	for _, line := range strings.Split(string(data), "\n") {
		f := strings.Fields(line)
		if len(f) >= 6 && f[0] == "s" {
			return glpkStatus(f, string(log))
		}
	}
	return "", 0, fmt.Errorf("no solution line: %s", log)
}

func glpkStatus(f []string, log string) (string, float64, error) {
	v, err := strconv.ParseFloat(f[len(f)-1], 64)
	if err != nil {
		return "", 0, err
	}
	switch {
	case f[1] == "mip" && f[4] == "o", f[1] == "bas" && f[4] == "f" && f[5] == "f":
		return "optimal", v, nil
	case f[1] == "mip" && f[4] == "n", f[1] == "bas" && (f[4] == "n" || f[4] == "i"):
		return "infeasible", 0, nil
	case f[1] == "bas" && f[5] == "n":
		return "unbounded", 0, nil
	}
	return "", 0, fmt.Errorf("unclear answer %v: %s", f, log)
}

// crossOne compares the two solvers on one program.
func crossOne(dir string, fam family, seed uint64) error {
	m := fam.make(rand.New(rand.NewPCG(seed, 5)), seed)
	ctx, cancel := context.WithTimeout(context.Background(), 10*time.Second)
	defer cancel()
	res, err := Solve(ctx, m, Options{})
	if err != nil {
		return err
	}
	text := writeLP(m)
	path := filepath.Join(dir, fmt.Sprintf("%s-%d.lp", fam.name, seed))
	if err := os.WriteFile(path, []byte(text), 0o600); err != nil {
		return err
	}
	defer os.Remove(path)
	status, obj, err := runGLPK(path)
	if err != nil {
		return err
	}
	tally(fam.name + " " + status)
	if status == "limit" {
		return errLimit
	}
	if res.Status == Feasible || res.Status == Stopped {
		return fmt.Errorf("we stopped at the time limit, GLPK says %s %v", status, obj)
	}
	tol := crossTol
	for j := range m.cols {
		if m.cols[j].Integer || m.cols[j].NothingOr > 0 || len(m.counts) > 0 {
			tol = crossTolWhole
		}
	}
	if status != res.Status.String() {
		err = fmt.Errorf("status %v %v, GLPK says %s %v", res.Status, res.Objective, status, obj)
	} else if status == "optimal" && math.Abs(obj-res.Objective) > tol*math.Max(1, math.Abs(obj)) {
		err = fmt.Errorf("objective %v, GLPK says %v", res.Objective, obj)
	}
	if err != nil {
		keep := filepath.Join("testdata", "cross-"+filepath.Base(path))
		_ = os.MkdirAll("testdata", 0o755)
		_ = os.WriteFile(keep, []byte(fmt.Sprintf("\\ seed %d: %v\n%s", seed, err, text)), 0o644)
	}
	return err
}

var errLimit = fmt.Errorf("GLPK reached its time limit")

// G2: on every generated program the solver and GLPK agree on the status and
// on the objective.
func TestCrossGLPK(t *testing.T) {
	if _, err := exec.LookPath("glpsol"); err != nil {
		if os.Getenv("CI") == "true" {
			t.Fatal("glpsol is missing")
		}
		t.Skip("glpsol is missing")
	}
	total := 2000
	if s := os.Getenv("FIRLOT_CROSS"); s != "" {
		v, err := strconv.Atoi(s)
		if err != nil {
			t.Fatal(err)
		}
		total = v
	}
	if testing.Short() {
		total = min(total, 200)
	}
	dir := t.TempDir()
	var next, limits atomic.Int64
	var wg sync.WaitGroup
	for w := 0; w < 4; w++ {
		wg.Add(1)
		go func() {
			defer wg.Done()
			for i := next.Add(1) - 1; i < int64(total); i = next.Add(1) - 1 {
				fam := families[i%int64(len(families))]
				seed := uint64(i) / uint64(len(families))
				switch err := crossOne(dir, fam, seed); {
				case err == errLimit:
					limits.Add(1)
				case err != nil:
					t.Errorf("%s seed %d: %v", fam.name, seed, err)
				}
			}
		}()
	}
	wg.Wait()
	for _, f := range families {
		line := f.name + ":"
		for _, st := range []string{"optimal", "infeasible", "unbounded", "limit"} {
			if v, ok := tallies.Load(f.name + " " + st); ok {
				line += fmt.Sprintf(" %s %d", st, v.(*atomic.Int64).Load())
			}
		}
		t.Log(line)
	}
	t.Logf("%d programs, %d left out because GLPK ran out of time", total, limits.Load())
	if limits.Load() > int64(total)/100 {
		t.Errorf("GLPK ran out of time on %d of %d programs", limits.Load(), total)
	}
}

var tallies sync.Map

// tally counts how often each answer came up, so that a family that has
// drifted into one trivial answer shows.
func tally(key string) {
	v, _ := tallies.LoadOrStore(key, new(atomic.Int64))
	v.(*atomic.Int64).Add(1)
}
