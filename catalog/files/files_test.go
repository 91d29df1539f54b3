package files

import (
	"testing"

	"firlot/catalog"
	"firlot/catalog/data"
)

func builtin(t testing.TB) *catalog.Catalogue {
	t.Helper()
	c, err := Builtin()
	if err != nil {
		t.Fatal(err)
	}
	return c
}

// leastForms is how many ingredient-and-form entries the catalogue promises.
const leastForms = 130

func TestBuiltinLoads(t *testing.T) {
	c := builtin(t)
	t.Logf("%d ingredients, %d forms, %d unsafe", len(c.Ingredients), len(c.Forms()), len(c.Unsafe))
	if n := len(c.Forms()); n < leastForms {
		t.Errorf("%d forms, want %d or more", n, leastForms)
	}
}

func BenchmarkLoad(b *testing.B) {
	for b.Loop() {
		if _, err := Load(data.Files); err != nil {
			b.Fatal(err)
		}
	}
}
