package arch

import (
	"io/fs"
	"net/url"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
)

var (
	// [words](target)
	link = regexp.MustCompile(`\]\(([^)\s]+)\)`)
	// `formulate.TestSolve`, a test by package and name
	testName = regexp.MustCompile("`([a-z][a-z/]*)\\.((?:Test|Fuzz|Benchmark|Example)[A-Z]\\w*)`")
	// `catalog/spread.go`, a file by its path
	fileName = regexp.MustCompile("`((?:[\\w.-]+/)+[\\w.-]+\\.(?:go|toml|md))`")
)

// pages lists README, CONTRIBUTING, CHANGELOG and what lies in docs.
func pages(t *testing.T) []string {
	t.Helper()
	list, err := filepath.Glob(filepath.Join(root, "*.md"))
	if err != nil {
		t.Fatal(err)
	}
	err = filepath.WalkDir(filepath.Join(root, "docs"), func(name string, d fs.DirEntry, err error) error {
		if err == nil && strings.HasSuffix(name, ".md") {
			list = append(list, name)
		}
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
	if len(list) < 5 {
		t.Fatalf("only %d pages were found", len(list))
	}
	return list
}

// TestDocsNameWhatExists follows every link, file and test that a page names.
func TestDocsNameWhatExists(t *testing.T) {
	for _, page := range pages(t) {
		text, err := os.ReadFile(page)
		if err != nil {
			t.Fatal(err)
		}
		for _, c := range missing(t, page, string(text)) {
			t.Errorf("%s: %s", filepath.ToSlash(page), c)
		}
	}
}

// missing lists what a page names and what is not there.
func missing(t *testing.T, page, text string) []string {
	t.Helper()
	var list []string
	for _, m := range link.FindAllStringSubmatch(text, -1) {
		u, err := url.Parse(m[1])
		if err != nil || u.Scheme == "" && u.Path != "" && !exists(filepath.Join(filepath.Dir(page), u.Path)) {
			list = append(list, "link to "+m[1])
		}
	}
	for _, m := range fileName.FindAllStringSubmatch(text, -1) {
		if !exists(filepath.Join(root, m[1])) {
			list = append(list, "file "+m[1])
		}
	}
	for _, m := range testName.FindAllStringSubmatch(text, -1) {
		if !hasFunc(t, filepath.Join(root, m[1]), m[2]) {
			list = append(list, "test "+m[1]+"."+m[2])
		}
	}
	return list
}

func exists(name string) bool {
	_, err := os.Stat(name)
	return err == nil
}

// hasFunc reports whether a folder's tests declare a function.
func hasFunc(t *testing.T, dir, name string) bool {
	t.Helper()
	files, err := filepath.Glob(filepath.Join(dir, "*_test.go"))
	if err != nil {
		t.Fatal(err)
	}
	for _, f := range files {
		text, err := os.ReadFile(f)
		if err != nil {
			t.Fatal(err)
		}
		if strings.Contains(string(text), "\nfunc "+name+"(") {
			return true
		}
	}
	return false
}

func TestDocsCheckBites(t *testing.T) {
	page := filepath.Join(root, "README.md")
	for text, want := range map[string]int{
		"[a](docs/architecture.md#flow) `nutrient/table.go` `internal/arch.TestDirection` [b](https://example.org)": 0,
		"[a](docs/nothing.md)":      1,
		"`nutrient/nothing.go`":     1,
		"`internal/arch.TestSoup`":  1,
		"`internal/soup.TestThing`": 1,
	} {
		if got := missing(t, page, text); len(got) != want {
			t.Errorf("%q: complaints %q, want %d", text, got, want)
		}
	}
}
