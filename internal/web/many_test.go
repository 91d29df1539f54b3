package web

import (
	"bytes"
	"fmt"
	"net/http"
	"testing"
	"time"

	"firlot/internal/store"
	"firlot/internal/store/backup"
)

// manyMixes is how many mixes the pages are held against: far more than a
// keeper makes in a life.
const manyMixes = 10_000

// fillWithMany puts so many mixes into an app, by way of a backup: one change
// instead of ten thousand. They are copies of the invented ones; every tenth
// is put away, and the first has thirty versions.
func fillWithMany(a *app) {
	a.t.Helper()
	var file bytes.Buffer
	out, err := backup.NewWriter(&file, someDay)
	a.must(err)
	put := func(r backup.Record) { a.must(out.Put(r)) }
	groups, err := a.store.Groups(a.t.Context())
	a.must(err)
	for _, g := range groups {
		put(backup.Record{Group: &g})
	}
	shelves, err := a.store.Shelves(a.t.Context())
	a.must(err)
	for _, s := range shelves {
		put(backup.Record{Shelf: &s})
	}
	var docs []store.Mix
	for _, name := range []string{"adult gerbils", "thirty gerbils", "after the storms"} {
		list, err := a.store.Mixes(a.t.Context(), store.Filter{Text: name})
		a.must(err)
		m, err := a.store.Mix(a.t.Context(), list[0].ID)
		a.must(err)
		docs = append(docs, m)
	}
	for i := range manyMixes {
		m := docs[i%len(docs)]
		m.ID, m.Name, m.Archived = store.ID(fmt.Sprintf("many%022d", i)), fmt.Sprintf("%s, number %d", m.Name, i), i%10 == 9
		m.Changed = someDay.Add(time.Duration(-i) * time.Minute)
		m.Made = m.Changed
		if i == 0 {
			m.Version = 30
		}
		put(backup.Record{Mix: &m})
		for n := 1; i == 0 && n <= m.Version; n++ {
			put(backup.Record{Version: &store.Version{Mix: m.ID, Number: n, Document: m.Document, At: m.Made}})
		}
	}
	a.must(out.Close())
	a.must(a.store.Restore(a.t.Context(), &file))
}

func (a *app) must(err error) {
	a.t.Helper()
	if err != nil {
		a.t.Fatal(err)
	}
}

func manyPath(i int) string { return fmt.Sprintf("/mix/many%022d", i) }

// pagesOfMany are the pages that have to do with how many mixes there are,
// and one of each other kind.
func pagesOfMany(a *app) []string {
	groups, err := a.store.Groups(a.t.Context())
	a.must(err)
	shelves, err := a.store.Shelves(a.t.Context())
	a.must(err)
	return []string{"/mix", "/mix?q=number+77", "/mix?q=storms", "/mix?archived=1", "/mix?group=" + string(groups[0].ID), "/mix?after=" + fmt.Sprintf("many%022d", 8000),
		"/mix/new", "/mix/compare", "/mix/compare?a=" + manyPath(9000)[5:] + "&b=" + manyPath(2)[5:], manyPath(0), manyPath(0) + "?trade=1", manyPath(0) + "/versions", manyPath(1), manyPath(2),
		"/animals", "/animals/" + string(groups[0].ID), "/animals/new", "/shelf?all=1", shelfPath(shelves[0].ID), shelfPath(shelves[0].ID) + "?q=stripes", shelfPath(shelves[0].ID) + "/own",
		"/catalogue", "/catalogue?q=alpiste", "/catalogue/oats/groats", "/settings", "/help"}
}

func TestEveryPageAnswersAmongManyMixes(t *testing.T) {
	if testing.Short() {
		t.Skip("short")
	}
	a := start(t, true)
	fillWithMany(a)
	for _, path := range pagesOfMany(a) {
		if p := a.get(path); p.status != http.StatusOK {
			t.Errorf("%s: status %d", path, p.status)
		} else {
			checkMarkup(t, path, p)
		}
	}
	seen := map[string]bool{}
	for path := "/mix"; path != ""; {
		p := a.open(path)
		path = ""
		walk(p.doc, func(n node) bool {
			if class, _ := attr(n, "class"); class == "big" {
				seen[textOf(n)] = true
			}
			if href, _ := attr(n, "href"); textOf(n) == "Further" && n.Data == "a" {
				path = href
			}
			return false
		})
	}
	if want := manyMixes * 9 / 10; len(seen) != want {
		t.Errorf("leafing through the list shows %d mixes, want %d", len(seen), want)
	}
	p := a.open("/mix/compare?a=" + manyPath(9000)[5:])
	if got := chosen(p.byID("a")); got != manyPath(9000)[5:] {
		t.Errorf("an old mix is not among those to compare: %s is chosen", got)
	}
}

// BenchmarkPageAmongManyMixes takes the time of every page in a store of
// 10,000 mixes, once it has been opened.
func BenchmarkPageAmongManyMixes(b *testing.B) {
	a := start(b, true)
	fillWithMany(a)
	for _, path := range pagesOfMany(a) {
		a.open(path)
		b.Run(path, func(b *testing.B) {
			for b.Loop() {
				a.get(path)
			}
		})
	}
}
