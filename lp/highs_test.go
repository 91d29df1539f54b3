package lp

import (
	"bufio"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"sync"
	"testing"
	"time"
)

// highsPackage is HiGHS 1.15 compiled to WebAssembly, from the npm registry.
const highsPackage = "highs@1.15.3"

// highs is one node process that solves program texts one after another.
type highs struct {
	mu  sync.Mutex
	in  io.Writer
	out *bufio.Reader
}

// startHiGHS fetches the package, or takes it from the folder that
// FIRLOT_HIGHS names, and starts the process; it skips the test where node,
// npm or the registry is missing, and fails it in CI.
func startHiGHS(t *testing.T) *highs {
	t.Helper()
	for _, tool := range []string{"node", "npm"} {
		if _, err := exec.LookPath(tool); err != nil {
			missing(t)("%s is missing", tool)
		}
	}
	dir := os.Getenv("FIRLOT_HIGHS")
	if dir == "" {
		dir = t.TempDir()
		ctx, cancel := context.WithTimeout(context.Background(), time.Minute)
		defer cancel()
		cmd := exec.CommandContext(ctx, "npm", "install", "--no-save", "--ignore-scripts", "--no-audit", "--no-fund",
			"--prefer-offline", "--prefix", dir, highsPackage)
		if out, err := cmd.CombinedOutput(); err != nil {
			missing(t)("npm cannot install %s: %v\n%s", highsPackage, err, out)
		}
	}
	return launchHiGHS(t, filepath.Join(dir, "node_modules", "highs"))
}

func launchHiGHS(t *testing.T, folder string) *highs {
	t.Helper()
	cmd := exec.Command("node", filepath.Join("testdata", "highs.cjs"), folder)
	cmd.Stderr = os.Stderr
	in, err := cmd.StdinPipe()
	if err != nil {
		t.Fatal(err)
	}
	out, err := cmd.StdoutPipe()
	if err != nil {
		t.Fatal(err)
	}
	if err := cmd.Start(); err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		_ = in.Close()
		_ = cmd.Wait()
	})
	h := &highs{in: in, out: bufio.NewReader(out)}
	st, v, err := h.solve("Minimize\n obj: 2 x\nSubject To\n r: x >= 1.5\nBounds\n 0 <= x <= 9\nGenerals\n x\nEnd\n")
	if err != nil || st != "optimal" || v != 4 {
		t.Fatalf("HiGHS answers a plain question with %s %v, %v", st, v, err)
	}
	return h
}

// solve asks for one program. The words for the status are those of runGLPK.
func (h *highs) solve(text string) (string, float64, error) {
	h.mu.Lock()
	defer h.mu.Unlock()
	ask, err := json.Marshal(text)
	if err != nil {
		return "", 0, err
	}
	if _, err := h.in.Write(append(ask, '\n')); err != nil {
		return "", 0, err
	}
	line, err := h.out.ReadBytes('\n')
	if err != nil {
		return "", 0, err
	}
	var a struct {
		Status    string
		Objective float64
		Error     string
	}
	if err := json.Unmarshal(line, &a); err != nil {
		return "", 0, err
	}
	if a.Error != "" {
		return "", 0, errors.New(a.Error)
	}
	switch a.Status {
	case "Optimal":
		return "optimal", a.Objective, nil
	case "Infeasible":
		return "infeasible", 0, nil
	case "Unbounded":
		return "unbounded", 0, nil
	case "Time limit reached":
		return "limit", 0, nil
	}
	return "", 0, fmt.Errorf("unclear answer %q", a.Status)
}

// G2: on every generated program the solver and HiGHS agree on the status and
// on the objective.
func TestCrossHiGHS(t *testing.T) {
	crossAll(t, "HiGHS", startHiGHS(t).solve)
}
