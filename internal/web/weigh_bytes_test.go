package web

import (
	"io/fs"
	"regexp"
	"strings"
	"testing"

	"golang.org/x/net/html"

	"firlot/internal/store"
	"firlot/mix"
	mixfiles "firlot/mix/files"
	"firlot/needs"
	"firlot/nutrient"
)

// mostWeighBytes is what the weighing page may come to: its text, its styles
// and its modules, unpacked.
const mostWeighBytes = 60_000

// mixOfTwenty keeps a mix of twenty ingredients, each with an amount.
func mixOfTwenty(a *app) string {
	a.t.Helper()
	d := &mix.Document{Title: "Twenty ingredients (invented)", Batch: 1000 * nutrient.Gram, Step: nutrient.Gram, Prefer: mix.Varied}
	most := 90.0
	d.Windows = []mix.Window{{Nutrient: nutrient.Moisture, Max: &most, Basis: nutrient.AsFed, On: needs.Offered}}
	sh := store.Shelf{Name: "Twenty foods (invented)"}
	for _, f := range a.server.Catalogue.Forms() {
		if len(d.Lines) == 20 {
			break
		}
		if len(f.Confused) == 0 || len(f.Limits) > 0 || !fitsDry(f, "") {
			continue
		}
		d.Lines = append(d.Lines, mix.Line{Ingredient: f.Ref(), Floor: mix.Amount{Set: true, Mass: 20 * nutrient.Gram}})
		sh.Items = append(sh.Items, store.Item{Ref: f.Ref(), CanHave: true})
	}
	sh, err := a.store.SaveShelf(a.t.Context(), sh)
	if err != nil {
		a.t.Fatal(err)
	}
	m, err := a.store.SaveMix(a.t.Context(), store.Mix{Name: d.Title, Shelf: sh.ID, Document: string(mixfiles.Format(d))})
	if err != nil {
		a.t.Fatal(err)
	}
	return mixPath(m.ID)
}

var imports = regexp.MustCompile(`(?m)^import .* from "(/static/[^"]+)"|import\("(/static/[^"]+)"\)`)

// TestTheWeighingPageIsLight weighs the page of a mix of twenty ingredients
// with all that it is made of but the pictures of seeds. What it fetches only
// when a keeper asks for it, a scale with a cable, is left out.
func TestTheWeighingPageIsLight(t *testing.T) {
	a := start(t, true)
	at := strings.TrimPrefix(mixOfTwenty(a), "/mix/")
	for _, lang := range languages {
		a.lang = lang
		p := a.press(a.open("/making/new?mix="+at), with("value", "start"), nil)
		if n := len(a.state(where(p)).Lines); n != 20 {
			t.Fatalf("%d lines", n)
		}
		parts := map[string]int{"": len(p.body)}
		var take func(path string)
		take = func(path string) {
			if parts[path] > 0 || path == "/static/scale-talk.js" || path == "/static/live.js" {
				return
			}
			text := a.get(path).body
			parts[path] = len(text)
			for _, m := range imports.FindAllStringSubmatch(text, -1) {
				take(m[1] + m[2])
			}
		}
		walk(p.doc, func(n *html.Node) bool {
			rel, _ := attr(n, "rel")
			href, _ := attr(n, "href")
			src, _ := attr(n, "src")
			switch {
			case n.Data == "link" && rel == "stylesheet":
				take(href)
			case n.Data == "script":
				take(src)
			}
			return false
		})
		sum := 0
		for path, n := range parts {
			t.Logf("%s %-28s %6d", lang, path, n)
			sum += n
		}
		t.Logf("%s in all %d", lang, sum)
		if sum > mostWeighBytes {
			t.Errorf("%s: the page is %d bytes, more than %d", lang, sum, mostWeighBytes)
		}
	}
}

// TestModulesCanBeServedLean holds the modules to what leanText knows: no
// block comments, and no text that runs over lines.
func TestModulesCanBeServedLean(t *testing.T) {
	names, err := fs.Glob(staticFiles, "static/*.js")
	if err != nil || len(names) < 5 {
		t.Fatalf("%d modules, %v", len(names), err)
	}
	for _, name := range names {
		text, err := staticFiles.ReadFile(name)
		if err != nil {
			t.Fatal(err)
		}
		for n, line := range strings.Split(string(text), "\n") {
			if strings.Count(line, "`")%2 != 0 {
				t.Errorf("%s:%d: a text that runs over lines", name, n+1)
			}
			if trimmed := strings.TrimSpace(line); strings.HasPrefix(trimmed, "/*") || strings.HasPrefix(trimmed, "*/") {
				t.Errorf("%s:%d: a block comment", name, n+1)
			}
		}
		got := string(leanText(text, "//"))
		if strings.Contains("\n"+got, "\n//") || len(got) >= len(text) {
			t.Errorf("%s: %d bytes of %d", name, len(got), len(text))
		}
	}
}

// TestStylesCanBeServedLean holds the styles to what leanText knows: a comment
// has its line to itself, and ends with it.
func TestStylesCanBeServedLean(t *testing.T) {
	names, err := fs.Glob(staticFiles, "static/*.css")
	if err != nil || len(names) < 5 {
		t.Fatalf("%d styles, %v", len(names), err)
	}
	for _, name := range names {
		text, err := staticFiles.ReadFile(name)
		if err != nil {
			t.Fatal(err)
		}
		for n, line := range strings.Split(string(text), "\n") {
			line = strings.TrimSpace(line)
			opens, ends := strings.Index(line, "/*"), strings.Index(line, "*/")
			if opens >= 0 && (opens > 0 || ends != len(line)-2) || opens < 0 && ends >= 0 {
				t.Errorf("%s:%d: a comment that does not have the line to itself", name, n+1)
			}
		}
		served, err := fs.ReadFile(lean{staticFiles}, name)
		if err != nil || strings.Contains(string(served), "/*") || len(served) == 0 {
			t.Errorf("%s: %d bytes, %v", name, len(served), err)
		}
	}
}
