package cardpage

import (
	"context"
	"encoding/json"
	"errors"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"firlot/internal/cardpage/pack"
)

// trialVariable tells TestHeldEngine that it runs in a release.
const trialVariable = "FIRLOT_ENGINE_TRIAL"

// From a checkout the engine is built once, which is said, and kept under a
// name that its sources and the toolchain make.
func TestEngineIsBuiltOnceAndKept(t *testing.T) {
	if testing.Short() {
		t.Skip("compiles the engine")
	}
	cache := t.TempDir()
	t.Setenv("XDG_CACHE_HOME", cache) // of Linux; elsewhere the user's cache is used
	var said []string
	say := func(text string) { said = append(said, text) }
	first, err := Engine(t.Context(), say)
	if err != nil {
		t.Fatal(err)
	}
	told := len(said)
	second, err := Engine(t.Context(), say)
	if err != nil || string(first) != string(second) {
		t.Fatalf("asked again it is another engine: %v", err)
	}
	if len(said) != told {
		t.Errorf("kept, it says %q", said[told:])
	}
	kept, err := filepath.Glob(filepath.Join(cache, "firlot", "engine-*.txt"))
	if err != nil {
		t.Fatal(err)
	}
	if len(kept) == 1 && (told != 1 || !strings.Contains(said[0], "building the engine")) {
		t.Errorf("it was built, and said %q", said)
	}
	module, err := pack.Unpack(string(first), 64<<20)
	if err != nil || !strings.HasPrefix(string(module), "\x00asm") {
		t.Errorf("the engine is no WebAssembly: %v", err)
	}
	t.Logf("%d letters, of a module of %d bytes", len(first), len(module))
}

// Without a toolchain it is said what is missing.
func TestNoToolchain(t *testing.T) {
	t.Setenv("PATH", t.TempDir())
	_, err := Engine(t.Context(), func(string) {})
	if !errors.Is(err, ErrNoEngine) || !strings.Contains(err.Error(), "toolchain") {
		t.Errorf("got %v", err)
	}
}

// A release holds its engine: it needs no toolchain, no cache and no sources.
func TestReleaseHoldsItsEngine(t *testing.T) {
	if testing.Short() {
		t.Skip("compiles this package")
	}
	dir := t.TempDir()
	engine := filepath.Join(dir, "engine.txt")
	if err := os.WriteFile(engine, []byte(pack.Pack([]byte("a trial"))), 0o600); err != nil {
		t.Fatal(err)
	}
	here, err := filepath.Abs("engine.txt")
	if err != nil {
		t.Fatal(err)
	}
	text, err := json.Marshal(map[string]any{"Replace": map[string]string{here: engine}})
	if err != nil {
		t.Fatal(err)
	}
	overlay := filepath.Join(dir, "overlay.json")
	if err := os.WriteFile(overlay, text, 0o600); err != nil {
		t.Fatal(err)
	}
	cmd := exec.Command("go", "test", "-tags", "firlotengine", "-overlay", overlay, "-count=1", "-run", "^TestHeldEngine$", "-v", ".")
	cmd.Env = append(os.Environ(), trialVariable+"=1")
	out, err := cmd.CombinedOutput()
	if err != nil || !strings.Contains(string(out), "--- PASS: TestHeldEngine") {
		t.Errorf("%v\n%s", err, out)
	}
}

// TestHeldEngine is the half of TestReleaseHoldsItsEngine that runs in a
// release.
func TestHeldEngine(t *testing.T) {
	if os.Getenv(trialVariable) == "" {
		t.Skip("started by TestReleaseHoldsItsEngine only")
	}
	t.Setenv("PATH", t.TempDir())
	e, err := Engine(context.Background(), func(text string) { t.Errorf("it says %q", text) })
	if err != nil {
		t.Fatal(err)
	}
	if b, err := pack.Unpack(string(e), 100); err != nil || string(b) != "a trial" {
		t.Errorf("it holds %q: %v", b, err)
	}
}
