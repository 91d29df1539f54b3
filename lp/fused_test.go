package lp

import (
	"os"
	"os/exec"
	"regexp"
	"testing"
)

// G8: no product is fused with a sum, on any architecture whose compiler
// knows how to: fused code rounds differently, and the same model would not
// give the same bytes everywhere. The test reads the compiler's listings.
func TestNoFusedArithmetic(t *testing.T) {
	if testing.Short() {
		t.Skip("compiles for other architectures")
	}
	fused := regexp.MustCompile(`\(([^()]*\.go:\d+)\)\s+(FN?M(ADD|SUB)\S*|VFN?M(ADD|SUB)\S*|WFN?M(ADD|SUB)\S*)\s`)
	for _, arch := range []string{"arm64", "ppc64le", "s390x", "riscv64"} {
		cmd := exec.Command("go", "build", "-gcflags=-S", "-o", os.DevNull, ".")
		cmd.Env = append(os.Environ(), "GOARCH="+arch, "GOOS=linux", "CGO_ENABLED=0")
		out, err := cmd.CombinedOutput()
		if err != nil {
			t.Fatalf("%s: %v\n%.2000s", arch, err, out)
		}
		if len(out) < 100000 {
			t.Fatalf("%s: the compiler gave no listing", arch)
		}
		for _, m := range fused.FindAllSubmatch(out, -1) {
			t.Errorf("%s: %s at %s", arch, m[2], m[1])
		}
	}
}
