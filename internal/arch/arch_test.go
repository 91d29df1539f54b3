package arch

import (
	"fmt"
	"go/ast"
	"go/parser"
	"go/token"
	"io/fs"
	"os"
	"path"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"
)

const module = "firlot"

// root is the module's folder, seen from this package.
const root = "../.."

// TestDirection reads every Go file of the module and holds its imports and
// calls against the table of rooms.
func TestDirection(t *testing.T) {
	files := 0
	seen := map[string]bool{}
	err := walk(root, func(name string) error {
		pkg := path.Dir(filepath.ToSlash(name))
		text, err := os.ReadFile(filepath.Join(root, name))
		if err != nil {
			return err
		}
		files++
		seen[pkg] = true
		for _, complaint := range inspect(pkg, name, text) {
			t.Error(complaint)
		}
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
	for _, must := range []string{"nutrient", "catalog", "mix", "lp", "formulate", "report", "cmd/firlot"} {
		if !seen[must] {
			t.Errorf("no file of %s was read (%d files in all): the walk is wrong, or the room is gone", must, files)
		}
	}
}

// walk calls do for the Go files of the module that are not tests, by their
// path under it. Folders that go build does not read, and other modules, are
// left out.
func walk(dir string, do func(name string) error) error {
	return filepath.WalkDir(dir, func(name string, d fs.DirEntry, err error) error {
		if err != nil {
			return err
		}
		rel, err := filepath.Rel(dir, name)
		if err != nil {
			return err
		}
		if d.IsDir() {
			if rel != "." && (strings.HasPrefix(d.Name(), ".") || strings.HasPrefix(d.Name(), "_") || d.Name() == "testdata" || d.Name() == "node_modules") {
				return fs.SkipDir
			}
			if _, err := os.Stat(filepath.Join(name, "go.mod")); err == nil && rel != "." {
				return fs.SkipDir
			}
			return nil
		}
		if !strings.HasSuffix(rel, ".go") || strings.HasSuffix(rel, "_test.go") {
			return nil
		}
		return do(rel)
	})
}

// inspect returns what is wrong with one file of a package.
func inspect(pkg, name string, text []byte) []string {
	r, ok := roomOf(pkg)
	if !ok {
		return []string{fmt.Sprintf("%s: package %s has no place in the flow; enter it in internal/arch/rooms_test.go", name, pkg)}
	}
	set := token.NewFileSet()
	file, err := parser.ParseFile(set, name, text, parser.ParseComments)
	if err != nil {
		return []string{err.Error()}
	}
	var list []string
	bound := map[string]string{} // name in the file → banned package
	for _, spec := range file.Imports {
		imported, err := strconv.Unquote(spec.Path.Value)
		if err != nil {
			return []string{err.Error()}
		}
		if why := importFault(r, imported); why != "" {
			list = append(list, fmt.Sprintf("%s: %s imports %s: %s", set.Position(spec.Pos()), pkg, imported, why))
		}
		if bannedNames[imported] == nil || r.kind == service || r.kind == program {
			continue
		}
		as := strings.TrimSuffix(imported, "/v2")
		as = path.Base(as)
		if spec.Name != nil {
			as = spec.Name.Name
		}
		if as == "." {
			list = append(list, fmt.Sprintf("%s: a dot import of %s hides what is called", set.Position(spec.Pos()), imported))
		}
		bound[as] = imported
	}
	return append(list, callFaults(set, file, bound)...)
}

// importFault says why a room may not import a path, or "".
func importFault(r room, imported string) string {
	under, own := strings.CutPrefix(imported, module+"/")
	switch {
	case r.kind == program:
		return ""
	case own:
		return roomFault(r, under)
	case r.kind == service:
		return ""
	case strings.Contains(strings.SplitN(imported, "/", 2)[0], "."):
		for _, o := range r.outside {
			if inside(imported, o) {
				return ""
			}
		}
		return "a library from elsewhere that is not listed for this room"
	case standard[imported] || r.kind == reader && readerStandard[imported]:
		return ""
	}
	return "not on the list of what this room may take from the standard library"
}

func roomFault(r room, under string) string {
	to, ok := roomOf(under)
	switch {
	case !ok:
		return "that package has no place in the flow"
	case r.alone:
		return "this room takes the standard library only"
	case to.kind == program:
		return "nobody imports a program"
	case r.kind == engine && to.kind == reader:
		return "the engine does not know files"
	case r.kind == service && order(to.path) == order(r.path):
		return "" // rooms of one folder
	case order(to.path) >= order(r.path):
		return "it stands below in the flow"
	}
	return ""
}

// callFaults lists uses of banned names of packages, bound by their names in
// the file.
func callFaults(set *token.FileSet, file *ast.File, bound map[string]string) []string {
	var list []string
	ast.Inspect(file, func(n ast.Node) bool {
		sel, ok := n.(*ast.SelectorExpr)
		if !ok {
			return true
		}
		id, ok := sel.X.(*ast.Ident)
		// An identifier that the parser resolved is a variable, not a package.
		if !ok || id.Obj != nil {
			return true
		}
		if from := bound[id.Name]; from != "" && bannedNames[from][sel.Sel.Name] {
			list = append(list, fmt.Sprintf("%s: %s.%s: clock, chance, environment and terminal are for programs", set.Position(sel.Pos()), from, sel.Sel.Name))
		}
		return true
	})
	return list
}

// TestRulesBite holds each rule against a file that breaks it, and against one
// that does not.
func TestRulesBite(t *testing.T) {
	const clean = ""
	for _, c := range []struct {
		name, pkg, text string
		want            string // part of the complaint
	}{
		{"upward is fine", "needs", `import "firlot/catalog"`, clean},
		{"downward", "catalog", `import "firlot/needs"`, "below in the flow"},
		{"itself", "mix", `import "firlot/mix"`, "below in the flow"},
		{"solver knows no seeds", "lp", `import "firlot/nutrient"`, "standard library only"},
		{"verifier knows no solver", "lp/verify", `import "firlot/lp"`, "standard library only"},
		{"engine and files", "mix", `import "firlot/catalog/files"`, "does not know files"},
		{"engine and data", "catalog", `import "firlot/catalog/data"`, "does not know files"},
		{"readers read readers", "needs/files", `import "firlot/catalog/files"`, clean},
		{"program imported", "report", `import "firlot/cmd/firlot"`, "nobody imports a program"},
		{"service imported", "report", `import "firlot/internal/store"`, "below in the flow"},
		{"service upward", "internal/web", `import ("firlot/internal/store/sqlite"; "firlot/mix/files"; "net/http"; "html/template"; "time"); var t = time.Now()`, clean},
		{"service downward", "internal/store/sqlite", `import "firlot/internal/web"`, "below in the flow"},
		{"service in one folder", "internal/store/sqlite", `import "firlot/internal/store"`, clean},
		{"program imported by a service", "internal/web", `import "firlot/cmd/firlot"`, "nobody imports a program"},
		{"program imports all", "cmd/firlot", `import ("firlot/report"; "net/http"; "time"); var t = time.Now()`, clean},
		{"no place", "soup", `import "fmt"`, "has no place"},
		{"import without a place", "report", `import "firlot/soup"`, "no place in the flow"},
		{"os in the engine", "analysis", `import "os"`, "standard library"},
		{"os in a reader", "mix/files", `import "os"`, clean},
		{"environment in a reader", "mix/files", `import "os"; var v = os.Getenv("HOME")`, "os.Getenv"},
		{"net", "catalog/files", `import "net/http"`, "standard library"},
		{"unsafe", "lp", `import "unsafe"`, "standard library"},
		{"cgo", "lp", `import "C"`, "standard library"},
		{"templates", "report", `import "html/template"`, "standard library"},
		{"TOML in the engine", "mix", `import "github.com/pelletier/go-toml/v2"`, "not listed"},
		{"TOML where it belongs", "internal/tomldoc", `import "github.com/pelletier/go-toml/v2/unstable"`, clean},
		{"a name that only begins alike", "internal/nearword", `import "golang.org/x/textual"`, "not listed"},
		{"clock", "formulate", `import "time"; var t = time.Now()`, "time.Now"},
		{"clock renamed", "formulate", `import c "time"; var t = c.Now()`, "time.Now"},
		{"clock hidden", "formulate", `import . "time"; var t = Now()`, "dot import"},
		{"durations are fine", "formulate", `import "time"; var d time.Duration`, clean},
		{"deadline", "lp", `import "context"; var _, _ = context.WithTimeout(nil, 0)`, "context.WithTimeout"},
		{"chance", "analysis", `import "math/rand/v2"; var v = rand.IntN(3)`, "math/rand/v2.IntN"},
		{"chance from a source", "analysis", `import "math/rand/v2"; var v = rand.New(rand.NewPCG(1, 2))`, clean},
		{"old chance", "analysis", `import "math/rand"`, "standard library"},
		{"terminal", "report", `import "fmt"; func f() { fmt.Println() }`, "fmt.Println"},
		{"a variable of that name", "report", `import "fmt"; func f() { var time struct{ Now int }; _ = fmt.Sprint(time.Now) }`, clean},
	} {
		t.Run(c.name, func(t *testing.T) {
			got := inspect(c.pkg, "file.go", []byte("package p\n"+c.text))
			switch {
			case c.want == clean && len(got) > 0:
				t.Errorf("complains without cause: %s", got)
			case c.want != clean && !slices.ContainsFunc(got, func(s string) bool { return strings.Contains(s, c.want) }):
				t.Errorf("complaints %q; want one about %q", got, c.want)
			}
		})
	}
}
