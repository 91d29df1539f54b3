package web

import (
	"bytes"
	"compress/gzip"
	"embed"
	"html/template"
	"net/http"
	"strconv"
	"strings"
	"sync"

	"firlot/catalog"
	"firlot/internal/store"
)

//go:embed templates
var templateFiles embed.FS

// request is one request with what its page needs.
type request struct {
	*http.Request
	w     http.ResponseWriter
	s     *Server
	words *words
}

// page is what every template gets.
type page struct {
	Title string
	Nav   string // the part of the app that is marked in the navigation
	Lang  string
	Path  string
	Away  bool   // shown on another device, which may not open everything
	Said  string // what the last change did, if it is to be said
	Data  any
}

// show renders a page.
func (q *request) show(status int, name, nav, title string, data any) error {
	t, err := q.s.pages.get(name, q.words)
	if err != nil {
		return err
	}
	p := page{Title: title, Nav: nav, Lang: q.words.lang, Path: q.URL.Path, Away: q.fromOutside(), Data: data}
	if said := q.URL.Query().Get("said"); sayable[said] {
		p.Said = q.words.T("said_" + said)
	}
	var b bytes.Buffer
	layout := "base"
	if status == http.StatusOK && q.quick() {
		layout = "quick"
	}
	if err := t.ExecuteTemplate(&b, layout, p); err != nil {
		return err
	}
	q.w.Header().Set("Content-Type", "text/html; charset=utf-8")
	q.w.Header().Set("Content-Language", q.words.lang)
	return q.send(status, b.Bytes())
}

// send writes a page, compressed where the browser takes that: the figures of
// a mix repeat their words a great deal.
func (q *request) send(status int, body []byte) error {
	q.w.Header().Add("Vary", "Accept-Encoding")
	if !strings.Contains(q.Header.Get("Accept-Encoding"), "gzip") {
		q.w.WriteHeader(status)
		_, err := q.w.Write(body)
		return err
	}
	q.w.Header().Set("Content-Encoding", "gzip")
	q.w.WriteHeader(status)
	z, err := gzip.NewWriterLevel(q.w, gzip.BestSpeed)
	if err != nil {
		return err
	}
	if _, err := z.Write(body); err != nil {
		return err
	}
	return z.Close()
}

// sayable are the messages that a redirect may ask for.
var sayable = map[string]bool{"saved": true, "kept": true, "copied": true, "restored": true, "archived": true, "unarchived": true, "removed": true, "added": true, "imported": true, "both": true}

// see sends the browser to a page after a change.
func (q *request) see(to string) error {
	http.Redirect(q.w, q.Request, to, http.StatusSeeOther)
	return nil
}

func (q *request) id() store.ID { return store.ID(q.PathValue("id")) }

// form reads the request's form.
func (q *request) form() error {
	if strings.HasPrefix(q.Header.Get("Content-Type"), "multipart/") {
		return asBad(q.ParseMultipartForm(maxForm))
	}
	return asBad(q.ParseForm())
}

func asBad(err error) error {
	if err == nil {
		return nil
	}
	if _, ok := err.(*http.MaxBytesError); ok {
		return err
	}
	if strings.Contains(err.Error(), "too large") {
		return &http.MaxBytesError{}
	}
	return badRequest(err.Error())
}

func (q *request) value(name string) string {
	return strings.TrimSpace(strings.ToValidUTF8(q.PostFormValue(name), "�"))
}

// pages are the templates, bound to the words of each language and unit.
type pages struct {
	mu    sync.Mutex
	bound map[string]*template.Template
}

func newPages() *pages { return &pages{bound: map[string]*template.Template{}} }

// get returns the template of a page for a language.
func (p *pages) get(name string, w *words) (*template.Template, error) {
	key := name + "/" + w.lang + "/" + w.units
	p.mu.Lock()
	defer p.mu.Unlock()
	if t := p.bound[key]; t != nil {
		return t, nil
	}
	t := template.New(name).Funcs(funcs(w))
	t, err := t.ParseFS(templateFiles, "templates/base.html", "templates/parts.html", "templates/"+name+".html")
	if err != nil {
		return nil, err
	}
	p.bound[key] = t
	return t, nil
}

// funcs are what templates may call, in a language.
func funcs(w *words) template.FuncMap {
	return template.FuncMap{
		"t": w.T, "n": w.N, "eng": w.English, "told": w.Told, "name": w.Form, "num": w.Num, "short": w.Short, "plain": w.Plain, "mass": w.Mass,
		"figure": w.Figure, "class": w.Class, "evidence": w.Evidence, "species": w.Species, "stage": w.Stage,
		"day": w.Day, "chance": w.OfHundred, "windowText": w.WindowText, "basis": w.Basis,
		"source": func(ref string) template.HTML { return w.Source(ref) },
		"field":  fieldOf, "langs": func() []string { return languages }, "thing": thing,
		"portrait": func(f *catalog.Form) template.HTML { return portrait(w, f) },
		"sample":   func(f *catalog.Form) template.HTML { return sample(w, f) },
		"formOf":   func(ref string) *catalog.Form { return w.form(ref) },
		"bound":    w.typedPointer, "join": w.And, "itemFields": itemFields, "moreFields": moreFields,
		"usedLines": func(v *mixView) int { return v.used() },
	}
}

// thing makes a map for a template that takes more than one value.
func thing(pairs ...any) map[string]any {
	m := map[string]any{}
	for i := 0; i+1 < len(pairs); i += 2 {
		m[pairs[i].(string)] = pairs[i+1]
	}
	return m
}

// field is an input with its complaint.
type field struct {
	Name, Label, Value, Error, Hint string
	Mode                            string // inputmode
}

func fieldOf(name, label, value, err, hint, mode string) field {
	return field{name, label, value, err, hint, mode}
}

// mostShort is how long a source's name may be in the legend of a picture.
const mostShort = 46

// shortSource names a source in a few words: the start of its title, and the
// year.
func (s *Server) shortSource(ref string) string {
	name, year, ok := catalog.ShortTitle(s.findSource, ref, mostShort)
	if !ok {
		return ref
	}
	if year != 0 {
		name += ", " + strconv.Itoa(year)
	}
	return name
}

// findSource finds a source by its key among the catalogue's and the needs' own.
func (s *Server) findSource(key string) (catalog.Source, bool) {
	if src, ok := s.Catalogue.Sources[key]; ok {
		return src, true
	}
	src, ok := s.Needs.Sources[key]
	return src, ok
}
