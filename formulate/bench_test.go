package formulate

import (
	"context"
	"os"
	"strings"
	"testing"

	catfiles "firlot/catalog/files"
	"firlot/mix"
	mixfiles "firlot/mix/files"
	needfiles "firlot/needs/files"
)

// planOf resolves a document given as text.
func planOf(t testing.TB, text string) *mix.Plan {
	t.Helper()
	p, err := resolveText(text)
	if err != nil {
		t.Fatal(err)
	}
	return p
}

func resolveText(text string) (*mix.Plan, error) {
	c, err := catfiles.Builtin()
	if err != nil {
		return nil, err
	}
	n, err := needfiles.Builtin()
	if err != nil {
		return nil, err
	}
	f, err := mixfiles.Parse("test.toml", []byte(text))
	if err != nil {
		return nil, err
	}
	p, err := mix.Resolve(f.Document, c, n)
	return p, f.Locate(err)
}

func example(t testing.TB, name string) string {
	t.Helper()
	text, err := os.ReadFile("../examples/" + name)
	if err != nil {
		t.Fatal(err)
	}
	return string(text)
}

// without takes the lines of a document that start with a word out.
func without(text string, words ...string) string {
	var keep []string
next:
	for _, l := range strings.Split(text, "\n") {
		for _, w := range words {
			if strings.HasPrefix(strings.TrimSpace(l), w) {
				continue next
			}
		}
		keep = append(keep, l)
	}
	return strings.Join(keep, "\n")
}

func BenchmarkAdult(b *testing.B) {
	plain := without(example(b, "gerbil-adult.toml"), "sureness", "prefer")
	for _, c := range []struct {
		name, head string
		o          Options
	}{
		{"linear", "prefer = 'near'\n", Options{Relaxed: true}},
		{"whole grams with counts", "prefer = 'near'\nmost_ingredients = 8\n", Options{}},
		{"varied", "prefer = 'varied'\n", Options{}},
		{"sureness 80", "prefer = 'near'\nsureness = '80 %'\n", Options{}},
		{"steady", "prefer = 'steady'\n", Options{}},
	} {
		p := planOf(b, c.head+plain)
		b.Run(c.name, func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				a, err := Solve(context.Background(), p, c.o)
				if err != nil || a.Status != Found {
					b.Fatal(err, a)
				}
			}
		})
	}
}
