package lp

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"runtime"
	"strconv"
	"strings"
	"sync"
	"sync/atomic"
	"testing"
	"time"
)

// crossTol and crossTolWhole are the relative differences of objectives that
// are put down to the tolerances of the other solver; ours are exact. GLPK
// accepts points that break rows by 1e-7 relative and whole numbers by 1e-5,
// HiGHS is asked for 1e-9 of each; with multipliers of size up to about 10 this
// moves an objective by at most 1e-6 of its size, and 1e-5 with whole numbers.
// A program that is infeasible by a hair here misses by 1e-4, far more.
const (
	crossTol      = 1e-6
	crossTolWhole = 1e-5
)

// runGLPK solves a program text with glpsol in a folder of its own. The status
// is "optimal", "infeasible", "unbounded" or "limit".
func runGLPK(dir, text string) (string, float64, error) {
	dir, err := os.MkdirTemp(dir, "glpk")
	if err != nil {
		return "", 0, err
	}
	defer os.RemoveAll(dir)
	path, out := filepath.Join(dir, "in.lp"), filepath.Join(dir, "out")
	if err := os.WriteFile(path, []byte(text), 0o600); err != nil {
		return "", 0, err
	}
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

// ask has another solver answer a program text.
type ask func(text string) (status string, objective float64, err error)

var errLimit = errors.New("the other solver reached its time limit")

// wholeModel says whether whole numbers or switches take part.
func wholeModel(m *Model) bool {
	for j := range m.cols {
		if m.cols[j].Integer || m.cols[j].NothingOr > 0 {
			return true
		}
	}
	return len(m.counts) > 0
}

// agrees holds a result against what another solver says.
func agrees(m *Model, res *Result, status string, obj float64) error {
	tol := crossTol
	if wholeModel(m) {
		tol = crossTolWhole
	}
	if status != res.Status.String() {
		return fmt.Errorf("status %v %v, want %s %v", res.Status, res.Objective, status, obj)
	}
	if status == "optimal" && math.Abs(obj-res.Objective) > tol*math.Max(1, math.Abs(obj)) {
		return fmt.Errorf("objective %v, want %v", res.Objective, obj)
	}
	return nil
}

// crossOne compares two solvers on one program, and keeps a program on which
// they differ.
func crossOne(name string, other ask, fam family, seed uint64) (string, error) {
	m := fam.make(rand.New(rand.NewPCG(seed, 5)), seed)
	ctx, cancel := context.WithTimeout(context.Background(), 10*time.Second)
	defer cancel()
	res, err := Solve(ctx, m, Options{})
	if err != nil {
		return "", err
	}
	status, obj, err := other(writeLP(m))
	if err != nil {
		return "", err
	}
	if status == "limit" {
		return status, errLimit
	}
	if err := agrees(m, res, status, obj); err != nil {
		file, saveErr := saveVector(m, vector{Family: fam.name, Seed: seed, Status: status, Objective: exactNum(obj),
			Why: fmt.Sprintf("%s and ours differ: %v", name, err)})
		return status, errors.Join(fmt.Errorf("%w by %s; kept as %s", err, name, file), saveErr)
	}
	return status, nil
}

// crossNumber gives a whole number from the environment.
func crossNumber(t *testing.T, name string, otherwise int) int {
	t.Helper()
	s := os.Getenv(name)
	if s == "" {
		return otherwise
	}
	v, err := strconv.Atoi(s)
	if err != nil || v < 0 {
		t.Fatalf("%s is %q, want a whole number", name, s)
	}
	return v
}

// crossAll compares two solvers on FIRLOT_CROSS programs of all families by
// turns. Seeds count from FIRLOT_CROSS_FROM up in each family.
func crossAll(t *testing.T, name string, other ask) {
	t.Helper()
	total, from := crossNumber(t, "FIRLOT_CROSS", 2000), crossNumber(t, "FIRLOT_CROSS_FROM", 0)
	if testing.Short() {
		total = min(total, 200)
	}
	var next, limits, differ atomic.Int64
	var tallies sync.Map
	var wg sync.WaitGroup
	for range 4 {
		wg.Go(func() {
			for i := next.Add(1) - 1; i < int64(total); i = next.Add(1) - 1 {
				fam := families[i%int64(len(families))]
				seed := uint64(from) + uint64(i)/uint64(len(families))
				status, err := crossOne(name, other, fam, seed)
				n, _ := tallies.LoadOrStore(fam.name+" "+status, new(atomic.Int64))
				n.(*atomic.Int64).Add(1)
				switch {
				case err == errLimit:
					limits.Add(1)
				case err != nil:
					differ.Add(1)
					t.Errorf("%s seed %d: %v", fam.name, seed, err)
				}
			}
		})
	}
	wg.Wait()
	logTallies(t, &tallies)
	t.Logf("%d programs against %s, seeds %d to %d of each family: %d disagreements, %d left out because %s ran out of time",
		total, name, from, from+max(0, total-1)/len(families), differ.Load(), limits.Load(), name)
	if limits.Load() > int64(total)/100 {
		t.Errorf("%s ran out of time on %d of %d programs", name, limits.Load(), total)
	}
}

// logTallies says how often each answer came up, so that a family that has
// drifted into one trivial answer shows.
func logTallies(t *testing.T, tallies *sync.Map) {
	t.Helper()
	for _, f := range families {
		line := f.name + ":"
		for _, st := range []string{"optimal", "infeasible", "unbounded", "limit"} {
			if v, ok := tallies.Load(f.name + " " + st); ok {
				line += fmt.Sprintf(" %s %d", st, v.(*atomic.Int64).Load())
			}
		}
		t.Log(line)
	}
}

// missing returns what to call when another solver cannot be had: in CI that is
// a failure. WebAssembly can start no processes.
func missing(t *testing.T) func(format string, args ...any) {
	if os.Getenv("CI") == "true" && runtime.GOARCH != "wasm" {
		return t.Fatalf
	}
	return t.Skipf
}

// G2: on every generated program the solver and GLPK agree on the status and
// on the objective.
func TestCrossGLPK(t *testing.T) {
	if _, err := exec.LookPath("glpsol"); err != nil {
		missing(t)("glpsol is missing")
	}
	dir := t.TempDir()
	crossAll(t, "GLPK", func(text string) (string, float64, error) { return runGLPK(dir, text) })
}
