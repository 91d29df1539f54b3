package web

import (
	"net/http"
	"os"
	"strings"
	"testing"

	"golang.org/x/net/html"

	"firlot/internal/store"
)

// everyPage lists a path for each page of an app with the invented rescue.
func everyPage(a *app) []string {
	a.t.Helper()
	ctx := a.t.Context()
	paths := []string{"/animals", "/animals/new", "/shelf?all=1", "/mix", "/mix?archived=1", "/mix/new", "/mix/compare", "/catalogue",
		"/catalogue?q=alpiste", "/catalogue?q=avocado", "/catalogue/oats/groats", "/catalogue/linseed/whole", cardPath, "/settings", "/help"}
	groups, err := a.store.Groups(ctx)
	if err != nil {
		a.t.Fatal(err)
	}
	for _, g := range groups {
		paths = append(paths, "/animals/"+string(g.ID))
		paths = append(paths, feedingPages(g)...)
	}
	shelves, err := a.store.Shelves(ctx)
	if err != nil {
		a.t.Fatal(err)
	}
	for _, s := range shelves {
		paths = append(paths, shelfPath(s.ID), shelfPath(s.ID)+"?q=stripes", shelfPath(s.ID)+"/own")
	}
	mixes, err := a.store.Mixes(ctx, store.Filter{})
	if err != nil {
		a.t.Fatal(err)
	}
	for _, m := range mixes {
		paths = append(paths, mixPath(m.ID), mixPath(m.ID)+"?trade=1", mixPath(m.ID)+"/versions", mixPath(m.ID)+"/card", "/mix/compare?a="+string(m.ID)+"&b="+string(mixes[0].ID))
	}
	paths = append(paths, scalePages(a)...)
	return append(paths, withoutPath(mixes[0].ID, "whole-linseed-is-not-there"), a.demoMix("thirty")+"/without?line=wheat%2fwhole")
}

func TestEveryPage(t *testing.T) {
	a := start(t, true)
	for _, lang := range languages {
		for _, path := range everyPage(a) {
			a.lang = lang
			p := a.get(path)
			want := http.StatusOK
			if strings.Contains(path, "not-there") {
				want = http.StatusNotFound
			}
			if p.status != want {
				t.Errorf("%s in %s: status %d, want %d", path, lang, p.status, want)
			}
			checkMarkup(t, lang+" "+path, p)
			if got, _ := attr(p.find(func(n *html.Node) bool { return n.Data == "html" }), "lang"); got != lang {
				t.Errorf("%s: lang %q, want %q", path, got, lang)
			}
		}
	}
}

// checkMarkup holds a page to what every page must keep: no missing words, no
// inline script or style, unique ids, one main heading, labelled fields.
func checkMarkup(t *testing.T, where string, p *result) {
	t.Helper()
	ids := map[string]bool{}
	labels := map[string]bool{}
	headings := 0
	walk(p.doc, func(n *html.Node) bool {
		if id, ok := attr(n, "id"); ok {
			if ids[id] {
				t.Errorf("%s: the id %q stands twice", where, id)
			}
			ids[id] = true
		}
		if f, ok := attr(n, "for"); ok {
			labels[f] = true
		}
		for _, at := range n.Attr {
			if at.Key == "style" || strings.HasPrefix(at.Key, "on") {
				t.Errorf("%s: <%s> has an inline %s", where, n.Data, at.Key)
			}
		}
		switch n.Data {
		case "h1":
			headings++
		case "style":
			t.Errorf("%s: an inline style", where)
		case "script":
			if src, _ := attr(n, "src"); src == "" || n.FirstChild != nil {
				t.Errorf("%s: an inline script", where)
			}
		}
		return false
	})
	if headings != 1 {
		t.Errorf("%s: %d main headings", where, headings)
	}
	walk(p.doc, func(n *html.Node) bool {
		kind, _ := attr(n, "type")
		id, _ := attr(n, "id")
		_, named := attr(n, "aria-label")
		inLabel := n.Parent != nil && n.Parent.Data == "label"
		if (n.Data == "input" && kind != "hidden" || n.Data == "select" || n.Data == "textarea") && !labels[id] && !named && !inLabel {
			t.Errorf("%s: a field without a label: %v", where, n.Attr)
		}
		if ref, ok := attr(n, "aria-describedby"); ok && !ids[ref] {
			t.Errorf("%s: described by %q, which is not there", where, ref)
		}
		return false
	})
}

const hostile = `"><script>alert(1)</script><img src=x onerror=alert(2)>'{{.}}&amp;` + "\u202e"

func TestHostileWordsAreText(t *testing.T) {
	a := start(t, true)
	ctx := t.Context()
	g, err := a.store.SaveGroup(ctx, store.Group{Name: hostile, Species: "gerbil", Stage: "adult", Note: hostile})
	if err != nil {
		t.Fatal(err)
	}
	own := "[[own]]\nid = \"own-bad\"\nname = " + `"\"><script>alert(1)</script>"` + "\nkind = \"label\"\nsource = \"<b>x</b>\"\ncautions = [\"<script>alert(3)</script>\"]\n[own.figures]\ncrude_protein = 12.0\nmoisture = 9.0\n"
	sh, err := a.store.SaveShelf(ctx, store.Shelf{Name: hostile, Place: hostile, Own: own, Items: []store.Item{{Ref: "own-bad", CanHave: true, Note: hostile}, {Ref: hostile, CanHave: true}, {Ref: "oats/groats", CanHave: true}}})
	if err != nil {
		t.Fatal(err)
	}
	doc := "title = '" + strings.ReplaceAll(hostile, "'", "") + "'\nspecies = \"gerbil\"\nstage = \"adult\"\nbatch = \"500 g\"\ncurrency = \"<i>\"\n[[group]]\nname = \"<script>x</script>\"\nclass = \"cereal\"\nceiling = \"90 %\"\n[[line]]\ningredient = \"oats/groats\"\n[[line]]\ningredient = \"own-bad\"\n" + own
	m, err := a.store.SaveMix(ctx, store.Mix{Name: hostile, Group: g.ID, Shelf: sh.ID, Document: doc})
	if err != nil {
		t.Fatal(err)
	}
	if m, err = a.store.KeepVersion(ctx, m.ID, m.Rev, hostile); err != nil {
		t.Fatal(err)
	}
	broken, err := a.store.SaveMix(ctx, store.Mix{Name: hostile, Document: hostile})
	if err != nil {
		t.Fatal(err)
	}
	paths := append(everyPage(a), "/catalogue/own-bad/own", mixPath(broken.ID), "/mix?q="+strings.ReplaceAll(hostile, "&", ""), "/catalogue?q=%3Cscript%3Ealert(1)%3C/script%3E")
	for _, lang := range languages {
		a.lang = lang
		for _, path := range paths {
			p := a.get(strings.NewReplacer(`"`, "%22", " ", "%20", "<", "%3C", ">", "%3E", "'", "%27", "{", "%7B", "}", "%7D", "\u202e", "").Replace(path))
			checkMarkup(t, lang+" "+path, p)
			if img := p.find(func(n *html.Node) bool {
				src, _ := attr(n, "src")
				return n.Data == "img" && !strings.HasPrefix(src, "/portrait/") && !strings.HasPrefix(src, "/life/") || n.Data == "b" && textOf(n) == "x" || n.Data == "i" && n.FirstChild == nil
			}); img != nil {
				t.Errorf("%s: a hostile word became markup", path)
			}
			if p.status == http.StatusInternalServerError {
				t.Errorf("%s: status %d", path, p.status)
			}
		}
	}
}

func TestDemoIsTheExamples(t *testing.T) {
	for _, g := range demoGroups {
		if g.mix == "" {
			continue
		}
		want, err := os.ReadFile("../../examples/" + g.mix + ".toml")
		if err != nil {
			t.Fatal(err)
		}
		got, err := demoFiles.ReadFile("demo/" + g.mix + ".toml")
		if err != nil {
			t.Fatal(err)
		}
		if string(got) != string(want) {
			t.Errorf("demo/%s.toml is not the example any more: copy it", g.mix)
		}
	}
}

func TestDemoComesOnce(t *testing.T) {
	a := start(t, true)
	groups, err := a.store.Groups(t.Context())
	if err != nil || len(groups) != len(demoGroups) {
		t.Fatalf("%d groups, %v", len(groups), err)
	}
	for _, g := range groups {
		if err := a.store.DeleteGroup(t.Context(), g.ID, g.Rev); err != nil {
			t.Fatal(err)
		}
	}
	if err := a.server.LoadDemo(t.Context()); err != nil {
		t.Fatal(err)
	}
	if groups, _ = a.store.Groups(t.Context()); len(groups) != 0 {
		t.Errorf("the invented rescue came back: %d groups", len(groups))
	}
}

func TestFirstUsePagesExplainThemselves(t *testing.T) {
	a := start(t, false)
	a.open("/animals").says("Who do you feed?", "A group is animals")
	a.open("/shelf").says("What can you get?", "Make one")
	a.open("/").says("No mix yet", "Firlot works out the grams")
	a.lang = "es"
	a.open("/animals").says("¿A quién da de comer?")
}
