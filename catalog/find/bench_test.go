package find_test

import (
	"testing"

	"firlot/catalog"
	"firlot/catalog/data"
	"firlot/catalog/files"
	"firlot/catalog/find"
)

func BenchmarkSearch(b *testing.B) {
	c := builtin(b)
	for _, q := range []struct{ name, query string }{
		{"exact", "oat groats"}, {"word inside", "millet"}, {"misspelt", "buckweat"}, {"nothing", "qqqqqqqq"},
	} {
		b.Run(q.name, func(b *testing.B) {
			for b.Loop() {
				find.Search(c, q.query)
			}
		})
	}
}

func BenchmarkResolve(b *testing.B) {
	c := builtin(b)
	for _, q := range []struct{ name, query string }{
		{"reference", "oats/groats"}, {"name", "gepofte amarant"}, {"refused", "kidney beans"},
	} {
		b.Run(q.name, func(b *testing.B) {
			for b.Loop() {
				if f, err := find.Resolve(c, q.query); f == nil && err == nil {
					b.Fatal("neither a form nor a reason")
				}
			}
		})
	}
}

// BenchmarkFirstName is what the first name that is looked up in a catalogue
// costs on top: the names are folded then.
func BenchmarkFirstName(b *testing.B) {
	for b.Loop() {
		b.StopTimer()
		c, err := files.Load(data.Files)
		if err != nil {
			b.Fatal(err)
		}
		b.StartTimer()
		c.Called(c.Forms()[0])
	}
}

// BenchmarkOwnNames is the same for a document that brings an ingredient of
// its own.
func BenchmarkOwnNames(b *testing.B) {
	c := builtin(b)
	c.Called(c.Forms()[0])
	own := &catalog.Ingredient{ID: "own", Names: catalog.Names{"en": {"own"}}}
	own.Forms = []*catalog.Form{{ID: "own", Ingredient: own}}
	for b.Loop() {
		c.With(own).Called(own.Forms[0])
	}
}
