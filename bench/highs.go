package main

import (
	"bufio"
	"encoding/json"
	"io"
	"os"
	"os/exec"
	"time"
)

// highs calls HiGHS, compiled to WebAssembly, in one node process. The time is
// that of the call of run alone, measured inside node.
type highs struct {
	cmd     *exec.Cmd
	in      io.WriteCloser
	out     *bufio.Reader
	version string
}

func newHiGHS(script, folder string) (*highs, error) {
	cmd := exec.Command("node", script, folder)
	cmd.Stderr = os.Stderr
	in, err := cmd.StdinPipe()
	if err != nil {
		return nil, err
	}
	out, err := cmd.StdoutPipe()
	if err != nil {
		return nil, err
	}
	if err := cmd.Start(); err != nil {
		return nil, err
	}
	h := &highs{cmd: cmd, in: in, out: bufio.NewReader(out)}
	line, err := h.out.ReadString('\n')
	h.version = line
	if err != nil {
		return nil, err
	}
	// V8 compiles hot WebAssembly again while it runs; these solves are not
	// measured.
	for seed := range uint64(30) {
		for _, c := range []mixing{families()[4].mix, families()[6].mix} {
			m := c.build(seed)
			h.solve(&instance{m, flatten(m, c.most)}, time.Second)
		}
	}
	return h, nil
}

func (h *highs) close() {
	_ = h.in.Close()
	_ = h.cmd.Wait()
}

func (h *highs) name() string { return "HiGHS" }
func (h *highs) about() string {
	return h.version[:len(h.version)-1] + ", the npm package, WebAssembly in one node process; only the call of run is timed, no parsing; presolve off for linear models, where that is quicker; one thread"
}

func (h *highs) solve(in *instance, limit time.Duration) answer {
	gap := 0.0
	if in.flat.isWhole {
		gap = gapSteps
	}
	ask, err := json.Marshal(map[string]any{"model": in.flat, "whole": in.flat.isWhole, "gap": gap, "seconds": limit.Seconds()})
	if err != nil {
		return answer{status: err.Error()}
	}
	if _, err := h.in.Write(append(ask, '\n')); err != nil {
		return answer{status: err.Error()}
	}
	line, err := h.out.ReadBytes('\n')
	if err != nil {
		return answer{status: err.Error()}
	}
	var a struct {
		Status    string
		Objective float64
		Ms        float64
	}
	if err := json.Unmarshal(line, &a); err != nil {
		return answer{status: err.Error()}
	}
	return answer{a.Status, a.Objective, time.Duration(a.Ms * float64(time.Millisecond))}
}
