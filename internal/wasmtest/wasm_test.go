// Package wasmtest holds one test: the engine answers the same in WebAssembly
// as natively, byte for byte.
package wasmtest

import (
	"bytes"
	"context"
	"encoding/json"
	"os"
	"os/exec"
	"path/filepath"
	"runtime"
	"strings"
	"testing"

	catfiles "firlot/catalog/files"
	"firlot/formulate"
	"firlot/mix"
	mixfiles "firlot/mix/files"
	needfiles "firlot/needs/files"
	"firlot/report"
)

// folder is where TestWriteReports reads documents, and outVariable names the
// folder that it writes to.
const (
	folder      = "../../examples"
	outVariable = "FIRLOT_WASM_OUT"
)

// solve answers a document as `firlot solve FILE --json` does, but without the
// time that it took. Nothing limits the time, so nothing depends on it.
func solve(path string) ([]byte, error) {
	file, err := mixfiles.Read(path)
	if err != nil {
		return nil, err
	}
	c, err := catfiles.Builtin()
	if err != nil {
		return nil, err
	}
	n, err := needfiles.Builtin()
	if err != nil {
		return nil, err
	}
	plan, err := mix.Resolve(file.Document, c, n)
	if err != nil {
		return nil, file.Locate(err)
	}
	a, err := formulate.Solve(context.Background(), plan, formulate.Options{})
	if err != nil {
		return nil, err
	}
	r := report.OfAnswer(a)
	if a.Status != formulate.Found {
		ways, err := formulate.FindWays(context.Background(), plan, formulate.Options{})
		if err != nil {
			return nil, err
		}
		r.Ways = report.WaysOf(ways)
	}
	var out bytes.Buffer
	enc := json.NewEncoder(&out)
	enc.SetIndent("", "  ")
	enc.SetEscapeHTML(false)
	err = enc.Encode(r)
	return out.Bytes(), err
}

func examples(t *testing.T) []string {
	t.Helper()
	list, err := filepath.Glob(filepath.Join(folder, "*.toml"))
	if err != nil || len(list) < 10 {
		t.Fatalf("%d examples were found in %s: %v", len(list), folder, err)
	}
	return list
}

// TestWriteReports is the half of TestSameReports that runs in WebAssembly: it
// writes the report of every example into the folder asked for.
func TestWriteReports(t *testing.T) {
	out := os.Getenv(outVariable)
	if out == "" {
		t.Skip("started by TestSameReports only")
	}
	for _, path := range examples(t) {
		text, err := solve(path)
		if err != nil {
			t.Fatalf("%s: %v", path, err)
		}
		if err := os.WriteFile(filepath.Join(out, filepath.Base(path)+".json"), text, 0o600); err != nil {
			t.Fatal(err)
		}
	}
}

// Every document in examples gets the same report, byte for byte, from the
// machine that runs the test and from WebAssembly under node.
func TestSameReports(t *testing.T) {
	if runtime.GOARCH == "wasm" {
		t.Skip("WebAssembly can start no processes")
	}
	if _, err := exec.LookPath("node"); err != nil {
		if os.Getenv("CI") == "true" {
			t.Fatal("node is missing")
		}
		t.Skip("node is missing")
	}
	out := t.TempDir()
	runInWasm(t, out)
	statuses := map[string]int{}
	for _, path := range examples(t) {
		want, err := solve(path)
		if err != nil {
			t.Fatalf("%s: %v", path, err)
		}
		got, err := os.ReadFile(filepath.Join(out, filepath.Base(path)+".json"))
		if err != nil {
			t.Fatal(err)
		}
		if !bytes.Equal(got, want) {
			t.Errorf("%s: %s", path, firstDifference(string(got), string(want)))
		}
		var r struct{ Status string }
		if err := json.Unmarshal(got, &r); err != nil {
			t.Fatal(err)
		}
		statuses[r.Status]++
	}
	t.Log(statuses)
	if len(statuses) < 2 {
		t.Errorf("statuses %v: the examples should hold a mix that is found and one that is impossible", statuses)
	}
}

// runInWasm runs this package's TestWriteReports for js/wasm under node.
func runInWasm(t *testing.T, out string) {
	t.Helper()
	root, err := exec.Command("go", "env", "GOROOT").Output()
	if err != nil {
		t.Fatal(err)
	}
	shell := filepath.Join(strings.TrimSpace(string(root)), "lib", "wasm", "go_js_wasm_exec")
	cmd := exec.Command("go", "test", "-exec", shell, "-count=1", "-run", "^TestWriteReports$", "-v", ".")
	cmd.Env = append(os.Environ(), "GOOS=js", "GOARCH=wasm", "CGO_ENABLED=0", outVariable+"="+out)
	text, err := cmd.CombinedOutput()
	if err != nil || !bytes.Contains(text, []byte("--- PASS: TestWriteReports")) {
		t.Fatalf("in WebAssembly: %v\n%s", err, text)
	}
}

func firstDifference(got, want string) string {
	g, w := strings.Split(got, "\n"), strings.Split(want, "\n")
	for i := range min(len(g), len(w)) {
		if g[i] != w[i] {
			return "line " + g[i] + " in WebAssembly, " + w[i] + " natively"
		}
	}
	return "one report is longer than the other"
}
