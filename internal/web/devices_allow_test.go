package web

import (
	"net/http"
	"net/url"
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"golang.org/x/net/html"
)

// What a paired device may open is the list of devices_allow.go and nothing
// else; and the list names only what there is.
func TestWhatADeviceMayOpen(t *testing.T) {
	a := startShared(t, SharePlain)
	p := a.pairs("phone")
	all := routePatterns(a.server)
	for pattern := range devicesMay {
		if !slices.Contains(all, pattern) {
			t.Errorf("the list names %q, and there is no such page", pattern)
		}
	}
	for _, pattern := range all {
		method, path := aPath(pattern)
		if devicesMay[pattern] || strangersMay[pattern] || path == "/" {
			continue
		}
		r, err := http.NewRequest(method, p.base+path, nil)
		if err != nil {
			t.Fatal(err)
		}
		got := p.do(r)
		if got.status != http.StatusForbidden {
			t.Errorf("%s: status %d", pattern, got.status)
		} else {
			got.says("That is done on the laptop only")
		}
	}
	cage := []string{"GET /animals/{id}/portion", "GET /animals/{id}/week", "GET /animals/{id}/week/{sheet}",
		"GET /animals/{id}/weights", "POST /animals/{id}/weights", "GET /animals/{id}/bowl", "POST /animals/{id}/bowl"}
	for _, never := range []string{"/settings", "/devices", "/animals/", "/shelf/", "/mix/"} {
		for pattern := range devicesMay {
			if _, path, _ := strings.Cut(pattern, " "); pattern != "GET /devices/certificate" && !slices.Contains(cage, pattern) && strings.HasPrefix(path, never) {
				t.Errorf("a device may open %s", pattern)
			}
		}
	}
	if r := p.get("/"); r.status != http.StatusSeeOther || r.header.Get("Location") != deviceHome {
		t.Errorf("/: status %d to %q", r.status, r.header.Get("Location"))
	}
}

// No page that a device may open leads it to one that it may not, by a link or
// by a form.
func TestADeviceIsLedToNoShutDoor(t *testing.T) {
	a := startShared(t, SharePlain)
	a.begin("adult gerbils")
	p := a.pairs("phone")
	pages := a.server.routes(lean{staticFiles})
	seen := map[string]bool{}
	times := map[string]int{} // that a page was seen: the weeks before and after have no end
	todo := []string{deviceHome, "/help"}
	follow := func(from, method, to string) {
		to, _, _ = strings.Cut(to, "#")
		r, err := http.NewRequest(method, p.base+to, nil)
		if err != nil || !strings.HasPrefix(to, "/") {
			return
		}
		if _, pattern := pages.Handler(r); to != "/" && !devicesMay[pattern] {
			t.Errorf("%s leads to %s %s", from, method, to)
		} else if method == "GET" && !strings.HasPrefix(to, "/static/") {
			todo = append(todo, to)
		}
	}
	for len(todo) > 0 {
		path := todo[0]
		if todo = todo[1:]; seen[path] {
			continue
		}
		seen[path] = true
		bare, _, _ := strings.Cut(path, "?")
		if times[bare]++; times[bare] > 5 {
			continue
		}
		page := p.get(path)
		if page.status == http.StatusSeeOther {
			follow(path, "GET", page.header.Get("Location"))
		} else if page.status != http.StatusOK {
			t.Errorf("%s: status %d", path, page.status)
		}
		if !strings.HasPrefix(page.header.Get("Content-Type"), "text/html") {
			continue
		}
		walk(page.doc, func(n *html.Node) bool {
			for name, method := range map[string]string{"href": "GET", "src": "GET", "action": "POST", "formaction": "POST"} {
				if way, _ := attr(n, "method"); way == "get" {
					method = "GET"
				}
				if to, ok := attr(n, name); ok {
					follow(path, method, to)
				}
			}
			return false
		})
	}
	if len(seen) < 20 {
		t.Errorf("only %d pages were seen", len(seen))
	}
}

// At the cage a device reads what is given and writes down what it sees; it
// changes no animal and no week, and is told neither when nobody is at home nor
// where the key hangs, nor what the shelf holds.
func TestADeviceAtTheCage(t *testing.T) {
	a := startShared(t, SharePlain)
	g := a.fed("window pair")
	n := len(a.kept(g.ID).Weights)
	p := a.pairs("phone")
	page := p.open(feedingPath(g.ID, "weights"))
	p.press(page, saying("Write down"), map[string]string{"weight": "84"}).says("6 weighings")
	p.press(p.open(feedingPath(g.ID, "bowl")), saying("Write down"), map[string]string{"offered": "10", "left": "2"})
	d := a.kept(g.ID)
	if len(d.Weights) != n+1 || len(d.Bowls) != 3 || len(d.Away) != 1 {
		t.Errorf("kept: %d weights, %d bowls, %d times away", len(d.Weights), len(d.Bowls), len(d.Away))
	}
	for _, x := range []string{"week", "week/fridge", "week/sitter", "week?from=2026-05-18", "portion", "weights", "bowl"} {
		r := p.get(feedingPath(g.ID, x))
		if r.status != http.StatusOK {
			t.Errorf("%s: status %d", x, r.status)
		}
		for _, secret := range []string{"ferrywoman", "key hangs", `name="on_hand"`, `value="remove:`, `name="away_from"`, `value="gone"`} {
			if strings.Contains(r.body, secret) {
				t.Errorf("%s shows a device %q", x, secret)
			}
		}
	}
	for _, x := range []string{"week/shopping", "week.ics", "diet", "spoonful", "feeding"} {
		if r := p.get(feedingPath(g.ID, x)); r.status != http.StatusForbidden {
			t.Errorf("%s: status %d", x, r.status)
		}
	}
	for _, do := range []string{"add", "save", "gone"} {
		r := p.post(feedingPath(g.ID, "weights"), url.Values{"do": {do}, "animal": {"0"}, "name": {"Nobody"}, "rev": {"1"}})
		if r.status != http.StatusForbidden {
			t.Errorf("%s: status %d", do, r.status)
		}
	}
	if d := a.kept(g.ID); len(d.Animals) != 2 || d.Animals[0].Name != "Whin" || d.Animals[0].Gone != 0 {
		t.Errorf("a device changed the animals: %+v", d.Animals)
	}
	a.open(feedingPath(g.ID, "week/sitter")).says("the ferrywoman", "The key hangs in the porch")
}

// routePatterns are the patterns of all pages, as they were given to the mux.
func routePatterns(s *Server) []string {
	list := slices.Clone(s.listed)
	slices.Sort(list)
	return list
}

// aPath fills a pattern's holes.
func aPath(pattern string) (method, path string) {
	method, path, ok := strings.Cut(pattern, " ")
	if !ok {
		method, path = "GET", pattern
	}
	path = strings.ReplaceAll(path, "{$}", "")
	for {
		from, rest, ok := strings.Cut(path, "{")
		if !ok {
			return method, path
		}
		_, after, _ := strings.Cut(rest, "}")
		path = from + "x" + after
	}
}

func TestTheTestSeesAllPages(t *testing.T) {
	a := start(t, false)
	all := routePatterns(a.server)
	for _, must := range []string{"GET /settings", "POST " + restorePath, "GET /static/", "/", "POST /devices/{id}/revoke"} {
		if !slices.Contains(all, must) {
			t.Errorf("%q is not seen", must)
		}
	}
	if diff := cmp.Diff(all, slices.Compact(slices.Clone(all))); diff != "" {
		t.Error(diff)
	}
}
