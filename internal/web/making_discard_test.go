package web

import (
	"net/http"
	"strings"
	"testing"
)

// Nothing makes a bowl safe that holds what is never fed or too moist. A bowl
// that a limit rules out is another matter: no batch up to the largest that was
// looked at keeps it, and that is what is said.
func TestTheWordsOfADiscardedBowl(t *testing.T) {
	a := start(t, true)
	for _, c := range []struct {
		lang, ref, mass string
		says, not       []string
	}{
		{"en", "avocado", "5", []string{"Nothing poured on top makes it safe"}, []string{"no batch up to"}},
		{"en", "apple/fresh", "50", []string{"Nothing poured on top makes it safe"}, []string{"no batch up to"}},
		{"en", "poppy/whole", "400", []string{"no batch up to 10,000 g keeps that limit"}, []string{"Nothing poured on top"}},
		{"es", "avocado", "5", []string{"Nada que se vierta encima lo hace seguro"}, []string{"ninguna tanda de hasta"}},
		{"es", "poppy/whole", "400", []string{"ninguna tanda de hasta 10 000 g cumple ese límite"}, []string{"Nada que se vierta"}},
	} {
		a.lang = c.lang
		at := makingOf(begin(a, nil))
		if status, _ := a.ask(at, map[string]string{"key": "slip", "kind": "pour", "ref": c.ref, "mass": c.mass}); status != http.StatusOK {
			t.Fatalf("%s: status %d", c.ref, status)
		}
		text := strings.NewReplacer("\u202f", " ", "\u00a0", " ").Replace(a.open(at + "/rescue").text())
		for _, s := range c.says {
			if !strings.Contains(text, s) {
				t.Errorf("%s %s does not say %q: %s", c.lang, c.ref, s, text)
			}
		}
		for _, s := range c.not {
			if strings.Contains(text, s) {
				t.Errorf("%s %s says %q", c.lang, c.ref, s)
			}
		}
	}
}
