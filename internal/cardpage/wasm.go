package cardpage

import (
	"context"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"runtime"
	"strings"

	"firlot/internal/cardpage/pack"
)

// ErrNoEngine says that there is no engine to put into a card.
var ErrNoEngine = errors.New("this program holds no engine for cards, and cannot build one")

// Engine returns the engine that a card carries, as the text that its page
// holds. A release holds it. A program built from a checkout builds it once,
// with the Go toolchain that is installed, keeps it in the user's cache under
// a name made of its sources and of the toolchain, and says so.
func Engine(ctx context.Context, say func(string)) ([]byte, error) {
	if embedded != "" {
		return []byte(embedded), nil
	}
	b, err := builder(ctx)
	if err != nil {
		return nil, err
	}
	file, err := b.file(ctx)
	if err != nil {
		return nil, err
	}
	if text, err := os.ReadFile(file); err == nil && len(text) > 0 {
		return text, nil
	}
	say("building the engine for cards with " + b.version + "; it is kept in " + filepath.Dir(file) + ", so this happens once")
	text, err := b.build(ctx)
	if err != nil {
		return nil, err
	}
	return []byte(text), keep(file, text)
}

// BuildEngine builds the engine from the sources in a folder, for a release.
func BuildEngine(ctx context.Context, root string) (string, error) {
	b := &building{root: root}
	if err := b.toolchain(ctx); err != nil {
		return "", err
	}
	return b.build(ctx)
}

const enginePackage = "firlot/cmd/firlot-wasm"

// building is a build of the engine from a checkout.
type building struct {
	root    string // of the checkout
	tool    string // the go command
	version string
}

func builder(ctx context.Context) (*building, error) {
	b := &building{}
	if b.root = checkout(); b.root == "" {
		return nil, fmt.Errorf("%w: its sources are not here; use a release, or build Firlot from a checkout", ErrNoEngine)
	}
	return b, b.toolchain(ctx)
}

// checkout is the folder of the sources that this program was built from, or
// one above the working folder that holds them.
func checkout() string {
	var from []string
	if _, file, _, ok := runtime.Caller(0); ok && filepath.IsAbs(file) {
		from = append(from, filepath.Dir(file))
	}
	if here, err := os.Getwd(); err == nil {
		from = append(from, here)
	}
	for _, dir := range from {
		for {
			text, err := os.ReadFile(filepath.Join(dir, "go.mod"))
			if err == nil && strings.HasPrefix(string(text), "module firlot\n") {
				return dir
			}
			up := filepath.Dir(dir)
			if up == dir {
				break
			}
			dir = up
		}
	}
	return ""
}

func (b *building) toolchain(ctx context.Context) error {
	tool, err := exec.LookPath("go")
	if err != nil {
		return fmt.Errorf("%w: the Go toolchain is not installed; install Go 1.26 or later, or use a release", ErrNoEngine)
	}
	b.tool = tool
	version, err := b.run(ctx, "env", "GOVERSION")
	b.version = strings.TrimSpace(version)
	return err
}

// run runs the go command for the engine's kind of program.
func (b *building) run(ctx context.Context, args ...string) (string, error) {
	cmd := exec.CommandContext(ctx, b.tool, args...)
	cmd.Dir = b.root
	cmd.Env = append(os.Environ(), "GOOS=wasip1", "GOARCH=wasm", "CGO_ENABLED=0", "GOFLAGS=", "GOWORK=off")
	var failed strings.Builder
	cmd.Stderr = &failed
	out, err := cmd.Output()
	if err != nil {
		return "", fmt.Errorf("%w: go %s: %w\n%s", ErrNoEngine, args[0], err, failed.String())
	}
	return string(out), nil
}

// file is where the engine is kept.
func (b *building) file(ctx context.Context) (string, error) {
	list, err := b.run(ctx, "list", "-deps", "-f",
		`{{if not .Standard}}{{$d := .Dir}}{{range .GoFiles}}{{$d}}/{{.}}{{"\n"}}{{end}}{{range .EmbedFiles}}{{$d}}/{{.}}{{"\n"}}{{end}}{{end}}`, enginePackage)
	if err != nil {
		return "", err
	}
	sum := sha256.New()
	fmt.Fprintln(sum, b.version, buildFlags)
	for name := range strings.Lines(list) {
		text, err := os.ReadFile(strings.TrimSpace(name))
		if err != nil {
			return "", err
		}
		fmt.Fprintf(sum, "%d\n%s", len(text), text)
	}
	for _, text := range pack.Sources() {
		fmt.Fprintf(sum, "%d\n%s", len(text), text)
	}
	cache, err := os.UserCacheDir()
	if err != nil {
		return "", fmt.Errorf("%w: there is no folder to keep it in: %w", ErrNoEngine, err)
	}
	return filepath.Join(cache, "firlot", "engine-"+hex.EncodeToString(sum.Sum(nil))[:16]+".txt"), nil
}

// buildFlags make the program small: without inlining it is a tenth smaller
// once squeezed. The runtime alone is inlined: that costs a thirtieth and makes
// it twice as fast.
var buildFlags = []string{"-buildmode=c-shared", "-trimpath", "-gcflags=all=-l", "-gcflags=runtime=", "-gcflags=internal/runtime/...=", "-ldflags=-s -w"}

func (b *building) build(ctx context.Context) (string, error) {
	dir, err := os.MkdirTemp("", "firlot-engine-")
	if err != nil {
		return "", err
	}
	defer os.RemoveAll(dir)
	out := filepath.Join(dir, "engine.wasm")
	args := append(append([]string{"build"}, buildFlags...), "-o", out, enginePackage)
	if _, err := b.run(ctx, args...); err != nil {
		return "", err
	}
	module, err := os.ReadFile(out)
	if err != nil {
		return "", err
	}
	if small, err := pack.Strip(module); err == nil {
		module = small // another toolchain's tables are left as they are
	}
	return pack.Pack(module), nil
}

// keep writes a file in one step.
func keep(file, text string) error {
	if err := os.MkdirAll(filepath.Dir(file), 0o700); err != nil {
		return err
	}
	f, err := os.CreateTemp(filepath.Dir(file), ".engine-")
	if err != nil {
		return err
	}
	defer os.Remove(f.Name())
	if _, err := f.WriteString(text); err != nil {
		f.Close()
		return err
	}
	if err := f.Close(); err != nil {
		return err
	}
	return os.Rename(f.Name(), file)
}
