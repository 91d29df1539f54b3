package files

import (
	"testing"

	"firlot/catalog/data"
)

func TestBuiltinLoads(t *testing.T) {
	c, err := Builtin()
	if err != nil {
		t.Fatal(err)
	}
	t.Logf("%d ingredients, %d forms, %d unsafe", len(c.Ingredients), len(c.Forms()), len(c.Unsafe))
}

func BenchmarkLoad(b *testing.B) {
	for b.Loop() {
		if _, err := Load(data.Files); err != nil {
			b.Fatal(err)
		}
	}
}
