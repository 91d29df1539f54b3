package web

import (
	"context"
	"io"
	"log/slog"
	"mime/multipart"
	"net"
	"net/http"
	"net/url"
	"strings"
	"testing"
	"time"

	"golang.org/x/net/html"

	catfiles "firlot/catalog/files"
	"firlot/internal/store"
	"firlot/internal/store/sqlite"
	needfiles "firlot/needs/files"
)

// app is the whole program on a port of its own, with a store in a temporary
// folder and a clock that stands still.
type app struct {
	t      testing.TB
	server *Server
	store  store.Store
	base   string
	lang   string
	client *http.Client
	stop   func()
}

var someDay = time.Date(2026, 5, 17, 9, 30, 0, 0, time.UTC)

// start opens an app; with the invented rescue when demo is set.
func start(t testing.TB, demo bool) *app {
	t.Helper()
	return startIn(t, t.TempDir(), "127.0.0.1:0", demo)
}

func startIn(t testing.TB, dir, addr string, demo bool) *app {
	t.Helper()
	c, err := catfiles.Builtin()
	if err != nil {
		t.Fatal(err)
	}
	n, err := needfiles.Builtin()
	if err != nil {
		t.Fatal(err)
	}
	clock := func() time.Time { return someDay }
	kept, err := sqlite.Open(t.Context(), dir, sqlite.Options{Now: clock})
	if err != nil {
		t.Fatal(err)
	}
	l, err := net.Listen("tcp", addr)
	if err != nil {
		t.Fatal(err)
	}
	s, err := New(Config{Store: kept, Catalogue: c, Needs: n, Clock: clock, Addr: l.Addr().String(), Log: slog.New(slog.NewTextHandler(testLog{t}, nil))})
	if err != nil {
		t.Fatal(err)
	}
	if demo {
		if err := s.LoadDemo(t.Context()); err != nil {
			t.Fatal(err)
		}
	}
	ctx, cancel := context.WithCancel(context.Background())
	done := make(chan error, 1)
	go func() { done <- s.Serve(ctx, l) }()
	stopped := false
	a := &app{t: t, server: s, store: kept, base: "http://" + l.Addr().String(), lang: "en",
		client: &http.Client{CheckRedirect: func(*http.Request, []*http.Request) error { return http.ErrUseLastResponse }}}
	a.stop = func() {
		if stopped {
			return
		}
		stopped = true
		cancel()
		if err := <-done; err != nil {
			t.Errorf("stopping: %v", err)
		}
		if err := kept.Close(); err != nil {
			t.Errorf("closing: %v", err)
		}
	}
	t.Cleanup(a.stop)
	return a
}

// testLog fails a test in which the app logs an error.
type testLog struct{ t testing.TB }

func (l testLog) Write(p []byte) (int, error) {
	if strings.Contains(string(p), "level=ERROR") {
		l.t.Errorf("logged: %s", p)
	}
	return len(p), nil
}

// page is what a request brought.
type result struct {
	t      testing.TB
	status int
	header http.Header
	body   string
	doc    *html.Node
	path   string
}

func (a *app) do(r *http.Request) *result {
	a.t.Helper()
	r.Header.Set("Accept-Language", a.lang)
	resp, err := a.client.Do(r)
	if err != nil {
		a.t.Fatal(err)
	}
	defer resp.Body.Close()
	b, err := io.ReadAll(resp.Body)
	if err != nil {
		a.t.Fatal(err)
	}
	doc, err := html.Parse(strings.NewReader(string(b)))
	if err != nil {
		a.t.Fatal(err)
	}
	return &result{a.t, resp.StatusCode, resp.Header, string(b), doc, r.URL.RequestURI()}
}

func (a *app) get(path string) *result {
	a.t.Helper()
	r, err := http.NewRequest("GET", a.base+path, nil)
	if err != nil {
		a.t.Fatal(err)
	}
	return a.do(r)
}

// open gets a page that must be there, following redirects.
func (a *app) open(path string) *result {
	a.t.Helper()
	p := a.get(path)
	for range 5 {
		if p.status != http.StatusSeeOther {
			break
		}
		p = a.get(p.header.Get("Location"))
	}
	if p.status != http.StatusOK {
		a.t.Fatalf("%s: status %d\n%s", path, p.status, p.start())
	}
	return p
}

func (a *app) post(path string, form url.Values) *result {
	a.t.Helper()
	r, err := http.NewRequest("POST", a.base+path, strings.NewReader(form.Encode()))
	if err != nil {
		a.t.Fatal(err)
	}
	r.Header.Set("Content-Type", "application/x-www-form-urlencoded")
	return a.do(r)
}

// upload posts a file as a form's browser does.
// upload sends a file, with the boxes that are ticked beside it.
func (a *app) upload(path, field, name string, content []byte, ticked ...string) *result {
	a.t.Helper()
	var b strings.Builder
	w := multipart.NewWriter(&b)
	for _, box := range ticked {
		if err := w.WriteField(box, "1"); err != nil {
			a.t.Fatal(err)
		}
	}
	part, err := w.CreateFormFile(field, name)
	if err != nil {
		a.t.Fatal(err)
	}
	if _, err := part.Write(content); err != nil {
		a.t.Fatal(err)
	}
	if err := w.Close(); err != nil {
		a.t.Fatal(err)
	}
	r, err := http.NewRequest("POST", a.base+path, strings.NewReader(b.String()))
	if err != nil {
		a.t.Fatal(err)
	}
	r.Header.Set("Content-Type", w.FormDataContentType())
	return a.do(r)
}

// press sends the form that holds a button, with the fields that a browser
// without scripts would send, some of them typed over, and follows the
// redirect.
func (a *app) press(p *result, button func(*html.Node) bool, typed map[string]string) *result {
	a.t.Helper()
	b := p.find(func(n *html.Node) bool { return n.Data == "button" && button(n) })
	if b == nil {
		a.t.Fatalf("%s has no such button\n%s", p.path, p.start())
	}
	if _, disabled := attr(b, "disabled"); disabled {
		a.t.Fatalf("the button %q is disabled", textOf(b))
	}
	form := b
	for form != nil && form.Data != "form" {
		form = form.Parent
	}
	if form == nil {
		a.t.Fatal("the button stands in no form")
	}
	values := fields(form)
	for k, v := range typed {
		if _, ok := values[k]; !ok {
			a.t.Fatalf("the form has no field %q", k)
		}
		values.Set(k, v)
	}
	if name, ok := attr(b, "name"); ok {
		v, _ := attr(b, "value")
		values.Set(name, v)
	}
	to, _ := attr(form, "action")
	if f, ok := attr(b, "formaction"); ok {
		to = f
	}
	r := a.post(to, values)
	if r.status == http.StatusSeeOther {
		return a.open(r.header.Get("Location"))
	}
	return r
}

func saying(words string) func(*html.Node) bool {
	return func(n *html.Node) bool { return strings.Contains(strings.Join(strings.Fields(textOf(n)), " "), words) }
}

func with(name, value string) func(*html.Node) bool {
	return func(n *html.Node) bool {
		v, ok := attr(n, name)
		return ok && v == value
	}
}

// fields are what a browser sends of a form.
func fields(form *html.Node) url.Values {
	v := url.Values{}
	walk(form, func(n *html.Node) bool {
		name, ok := attr(n, "name")
		if _, off := attr(n, "disabled"); !ok || off {
			return false
		}
		value, _ := attr(n, "value")
		switch n.Data {
		case "input":
			kind, _ := attr(n, "type")
			if _, checked := attr(n, "checked"); (kind == "checkbox" || kind == "radio") && !checked {
				return false
			}
			v.Add(name, value)
		case "textarea":
			v.Add(name, textOf(n))
		case "select":
			v.Add(name, chosen(n))
		}
		return false
	})
	return v
}

func chosen(sel *html.Node) string {
	first, picked, any := "", "", false
	seen := false
	walk(sel, func(n *html.Node) bool {
		if n.Data == "option" {
			value, _ := attr(n, "value")
			if !seen {
				first, seen = value, true
			}
			if _, ok := attr(n, "selected"); ok {
				picked, any = value, true
			}
		}
		return false
	})
	if any {
		return picked
	}
	return first
}

func walk(n *html.Node, do func(*html.Node) bool) *html.Node {
	if n.Type == html.ElementNode && do(n) {
		return n
	}
	for c := n.FirstChild; c != nil; c = c.NextSibling {
		if f := walk(c, do); f != nil {
			return f
		}
	}
	return nil
}

func (p *result) find(match func(*html.Node) bool) *html.Node { return walk(p.doc, match) }

func (p *result) byID(id string) *html.Node { return p.find(with("id", id)) }

func attr(n *html.Node, name string) (string, bool) {
	for _, a := range n.Attr {
		if a.Key == name {
			return a.Val, true
		}
	}
	return "", false
}

func textOf(n *html.Node) string {
	if n == nil {
		return ""
	}
	if n.Type == html.TextNode {
		return n.Data
	}
	var b strings.Builder
	for c := n.FirstChild; c != nil; c = c.NextSibling {
		b.WriteString(textOf(c))
	}
	return b.String()
}

// text is the main part of a page, in words.
func (p *result) text() string {
	return strings.Join(strings.Fields(textOf(p.byID("main"))), " ")
}

// start is the beginning of a page's text, for complaints.
func (p *result) start() string {
	s := p.text()
	if len(s) > 600 {
		s = s[:600] + "…"
	}
	return s
}

func (p *result) says(words ...string) {
	p.t.Helper()
	for _, w := range words {
		if !strings.Contains(p.text(), w) {
			p.t.Fatalf("%s does not say %q:\n%s", p.path, w, p.start())
		}
	}
}

// grams are the amounts on the tag, by reference.
func (p *result) grams() map[string]string {
	m := map[string]string{}
	walk(p.doc, func(n *html.Node) bool {
		id, _ := attr(n, "id")
		if ref, ok := strings.CutPrefix(id, "l-"); ok && n.Data == "li" {
			m[ref] = strings.TrimSpace(textOf(walk(n, func(x *html.Node) bool { return x.Data == "b" })))
		}
		return false
	})
	return m
}

// demoMix is the path of one of the invented mixes.
func (a *app) demoMix(name string) string {
	a.t.Helper()
	list, err := a.store.Mixes(a.t.Context(), store.Filter{Text: name})
	if err != nil || len(list) == 0 {
		a.t.Fatalf("no mix %q: %v", name, err)
	}
	return mixPath(list[0].ID)
}
