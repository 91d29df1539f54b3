package web

import (
	"fmt"
	"go/ast"
	"go/parser"
	"go/token"
	"net/http"
	"os"
	"path"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"

	"github.com/rogpeppe/go-internal/txtar"

	said "firlot/internal/words"
)

// The verbs of a format, and where things are put into what is said for it.
var (
	verb  = regexp.MustCompile(`%(\.\d)?[a-z]|%%`)
	putIn = regexp.MustCompile(`\{(\d)(:en)?\}`)
)

// speakers are the packages whose sentences reach a page, and the functions
// in them that put a hint together.
var (
	speakers = []string{"mix", "mix/files", "internal/tomldoc", "catalog/find", "formulate", "internal/nearword", "nutrient", "ration", "ration/files"}
	hinters  = []string{"suggest", "nearUnit", "nearestFigure", "classesHint", "Instead", "Hint", "oneOf", "lineRoom", "plainWords", "hintFor",
		"vetAdvice", "leftAdvice", "pickyAdvice", "weighAdvice"}
)

// engineFormats reads the code of the engine for every sentence that it can
// say of a document: the messages and hints of problems, and notes. Where a
// sentence is put together, what is put in stands as %s.
func engineFormats(t *testing.T) []string {
	t.Helper()
	found := map[string]bool{}
	for _, dir := range speakers {
		files, err := filepath.Glob(filepath.Join("../..", dir, "*.go"))
		if err != nil || len(files) == 0 {
			t.Fatalf("%s: %d files, %v", dir, len(files), err)
		}
		for _, name := range files {
			if strings.HasSuffix(name, "_test.go") {
				continue
			}
			text, err := os.ReadFile(name)
			if err != nil {
				t.Fatal(err)
			}
			f, err := parser.ParseFile(token.NewFileSet(), name, text, 0)
			if err != nil {
				t.Skipf("%s does not parse now: %v", name, err)
			}
			for _, d := range f.Decls {
				gather(d, found)
			}
		}
	}
	var list []string
	for s := range found {
		if strings.Contains(s, " ") && strings.Trim(s, "%sdvq ") != "" {
			list = append(list, s)
		}
	}
	slices.Sort(list)
	return list
}

func gather(d ast.Decl, found map[string]bool) {
	fn, isFunc := d.(*ast.FuncDecl)
	hinter := isFunc && slices.Contains(hinters, fn.Name.Name)
	add := func(e ast.Expr) {
		if s, ok := sentenceOf(e); ok {
			found[s] = true
		}
	}
	ast.Inspect(d, func(n ast.Node) bool {
		switch n := n.(type) {
		case *ast.CompositeLit:
			if name := typeName(n.Type); name == "Note" || name == "Advice" || name == "LimitRow" {
				for i, e := range n.Elts { // what a ledger and the records say
					kv, ok := e.(*ast.KeyValueExpr)
					switch {
					case !ok && (i == 1 || i == 2 && name == "Advice"):
						add(e)
					case ok && slices.Contains([]string{"Text", "Why"}, kv.Key.(*ast.Ident).Name):
						add(kv.Value)
					case ok && name == "LimitRow" && slices.Contains([]string{"Name", "Note"}, kv.Key.(*ast.Ident).Name):
						add(kv.Value)
					}
				}
			}
			if name := typeName(n.Type); name == "Problem" || name == "Error" {
				for i, e := range n.Elts {
					if kv, ok := e.(*ast.KeyValueExpr); ok {
						if key := kv.Key.(*ast.Ident).Name; key == "Message" || key == "Hint" {
							add(kv.Value)
						}
					} else if i > 0 || name == "Error" {
						add(e)
					}
				}
			}
		case *ast.CallExpr:
			switch callName(n) {
			case "At", "fail":
				for _, e := range n.Args[1:] {
					add(e)
				}
			case "Errorf":
				if inNutrient(d) {
					add(n.Args[0])
				}
			case "append":
				if sel, ok := n.Args[0].(*ast.SelectorExpr); ok && sel.Sel.Name == "Notes" {
					add(n.Args[1])
				}
			}
		case *ast.ReturnStmt:
			for _, e := range n.Results {
				if hinter {
					add(e)
				}
			}
		case *ast.AssignStmt:
			for _, e := range n.Rhs {
				if hinter {
					add(e)
				}
			}
		}
		return true
	})
}

// inNutrient reports whether a function reads a mass or a basis, whose errors
// are said as they are.
func inNutrient(d ast.Decl) bool {
	fn, ok := d.(*ast.FuncDecl)
	return ok && slices.Contains([]string{"ParseAmount", "ParseMass", "MassOf", "ParseBasis"}, fn.Name.Name)
}

func typeName(e ast.Expr) string {
	switch e := e.(type) {
	case *ast.Ident:
		return e.Name
	case *ast.SelectorExpr:
		return e.Sel.Name
	}
	return ""
}

func callName(c *ast.CallExpr) string { return typeName(c.Fun) }

// sentenceOf is the format of an expression that makes a sentence.
func sentenceOf(e ast.Expr) (string, bool) {
	switch e := e.(type) {
	case *ast.BasicLit:
		s, err := strconv.Unquote(e.Value)
		return s, err == nil && e.Kind == token.STRING
	case *ast.BinaryExpr:
		a, ok1 := sentenceOf(e.X)
		b, ok2 := sentenceOf(e.Y)
		if !ok1 {
			a = "%s"
		}
		if !ok2 {
			b = "%s"
		}
		return a + b, e.Op == token.ADD && (ok1 || ok2)
	case *ast.CallExpr:
		switch callName(e) {
		case "Sprintf":
			return sentenceOf(e.Args[0])
		case "Hint":
			return sentenceOf(e.Args[2])
		}
	}
	return "", false
}

// samples are what is put into a format to try it out.
func samples(format string) (text string, args []any) {
	if strings.Count(format, "%") == 0 || !verb.MatchString(format) {
		return format, nil
	}
	for _, v := range verb.FindAllString(format, -1) {
		switch v {
		case "%%":
		case "%d":
			args = append(args, 7)
		case "%q":
			args = append(args, "oats/groats")
		case "%.0f", "%.1f":
			args = append(args, 104.5)
		default:
			args = append(args, "12.5 g")
		}
	}
	return fmt.Sprintf(format, args...), args
}

func TestEverySentenceOfTheEngineIsSaidInEveryLanguage(t *testing.T) {
	formats := engineFormats(t)
	if len(formats) < 100 {
		t.Fatalf("only %d sentences were found in the code", len(formats))
	}
	a := start(t, false)
	for _, lang := range languages[1:] {
		w := a.server.wordsIn(lang, "")
		for _, f := range formats {
			text, args := samples(f)
			at := slices.IndexFunc(w.engine, func(p said.Phrase) bool { return p.Format == f })
			if at < 0 {
				t.Errorf("%s: %q is not said", lang, f)
				continue
			}
			for i := range args {
				if !strings.Contains(w.engine[at].Said, "{"+strconv.Itoa(i+1)) {
					t.Errorf("%s: %q leaves out {%d}", lang, f, i+1)
				}
			}
			if html, ok := w.engineIn(text); !ok || putIn.MatchString(string(html)) {
				t.Errorf("%s: %q becomes %q", lang, text, html)
			}
		}
	}
}

// TestBadDocumentsAreRefusedInSpanish reads the bad documents of the command
// line's scripts in.
func TestBadDocumentsAreRefusedInSpanish(t *testing.T) {
	ar, err := txtar.ParseFile("../../cmd/firlot/testdata/script/bad.txtar")
	if err != nil {
		t.Fatal(err)
	}
	a := start(t, false)
	a.lang = "es"
	tried := 0
	for _, f := range ar.Files {
		if !strings.HasSuffix(f.Name, ".toml") {
			continue
		}
		p := a.upload("/mix/import", "document", path.Base(f.Name), f.Data)
		if p.status == http.StatusSeeOther {
			continue // its fault is not the document's
		}
		tried++
		said := p.byID("import-err")
		if said == nil {
			t.Errorf("%s: status %d and no complaint", f.Name, p.status)
			continue
		}
		if english := walk(said, with("lang", "en")); english != nil && !strings.Contains(textOf(said), "no se da nunca") {
			t.Errorf("%s: in English: %s", f.Name, textOf(said))
		}
	}
	if tried < 5 {
		t.Errorf("only %d bad documents were tried", tried)
	}
}

// TestThePageOfAnImpossibleMixIsSpanish looks for English that is not marked
// as such in what the engine says.
func TestThePageOfAnImpossibleMixIsSpanish(t *testing.T) {
	a := start(t, true)
	a.lang = "es"
	p := a.open(a.demoMix("after the storms"))
	said := textOf(p.byID("answer")) + textOf(p.find(with("class", "ways")))
	for _, english := range []string{"at least", "at most", "together", "allows", "on hand", "its ceiling", "limit"} {
		if strings.Contains(said, english) {
			t.Errorf("%q stands in: %s", english, said)
		}
	}
}
