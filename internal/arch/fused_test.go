package arch

import (
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"testing"
)

// fused matches an instruction that multiplies and adds with one rounding, in
// a listing of the compiler for arm64, with the place in the source.
var fused = regexp.MustCompile(`\(([^()]*\.go:\d+)\)\s+(FN?M(?:ADD|SUB)[SD])\s`)

// TestNoFusedArithmetic reads the compiler's listings of the engine for arm64,
// which fuses where it may: a product inside a sum must be written
// float64(a*b), or the last digit of an answer depends on the machine. Package
// lp has a stricter test of its own.
func TestNoFusedArithmetic(t *testing.T) {
	if testing.Short() {
		t.Skip("compiles for another architecture")
	}
	for _, r := range rooms {
		if _, err := os.Stat(filepath.Join(root, r.path)); err != nil || r.kind != engine {
			continue // a reader, or not built yet
		}
		for _, place := range listing(t, root, "./"+r.path) {
			t.Errorf("%s", place)
		}
	}
}

func TestFusedCheckBites(t *testing.T) {
	dir := t.TempDir()
	for name, text := range map[string]string{
		"go.mod": "module fused\n\ngo 1.26\n",
		"f.go":   "package fused\n\nfunc Sum(a, b, c float64) float64 { return a*b + c }\n\nfunc Apart(a, b, c float64) float64 { return float64(a*b) + c }\n",
	} {
		if err := os.WriteFile(filepath.Join(dir, name), []byte(text), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	if got := listing(t, dir, "."); len(got) != 1 {
		t.Errorf("found %q; want the one fused sum", got)
	}
}

// listing compiles a package for arm64 and returns the fused instructions.
func listing(t *testing.T, dir, pkg string) []string {
	t.Helper()
	cmd := exec.Command("go", "build", "-gcflags=-S", "-o", os.DevNull, pkg)
	cmd.Dir = dir
	cmd.Env = append(os.Environ(), "GOARCH=arm64", "GOOS=linux", "CGO_ENABLED=0", "GOWORK=off")
	out, err := cmd.CombinedOutput()
	if err != nil {
		t.Fatalf("%s: %v\n%.2000s", pkg, err, out)
	}
	if len(out) < 100 {
		t.Fatalf("%s: the compiler gave no listing", pkg)
	}
	var list []string
	for _, m := range fused.FindAllSubmatch(out, -1) {
		list = append(list, string(m[1])+": "+string(m[2]))
	}
	return list
}
