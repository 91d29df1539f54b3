package chart

import (
	"flag"
	"fmt"
	"os"
	"strings"
	"testing"
)

var page = flag.String("page", "", "write a page with pictures of every kind to this file, to be looked at")

// TestOnePage puts pictures of every kind on one page and checks that their
// identifiers, taken from their contents, do not clash. With -page it also
// writes the page for the eye, in four parts.
func TestOnePage(t *testing.T) {
	cat := builtin(t)
	var b strings.Builder
	b.WriteString(`<!doctype html><meta charset="utf-8"><style>
body{font-family:"DejaVu Sans",sans-serif;margin:16px;color:#1e2a2e;background:#eef0ef}
.dark{background:#14191b;color:#e6ebe9;--ink:#e6ebe9;--ink-soft:#9fb0b4;--seed:#8fa8ee;--paper:#14191b;padding:8px}
.p{display:inline-block;width:128px;font-size:9px;text-align:center;vertical-align:top;margin:2px}
h2{font-size:14px;margin:10px 0 4px}</style>`)
	shape := ""
	scale := 9.0
	for _, kind := range []string{"grain", "ball", "spindle", "lens", "three-cornered", "drop", "kernel", "flake", "popped", "leaf", "petal", "root", "larva", "crumb", "stem", "slice"} {
		for _, f := range cat.Forms() {
			if f.Shape != kind {
				continue
			}
			if kind != shape {
				fmt.Fprintf(&b, "<h2>%s</h2>", kind)
				shape = kind
			}
			fmt.Fprintf(&b, `<div class="p">%s<br>%s</div>`, Portrait(f, PortraitOptions{Title: f.Name("en"), Scale: scale, Least: 26, Most: 110, Height: 50}), f.Ref())
		}
	}
	b.WriteString("\n<!--split-->\n")
	for _, class := range []string{"", "dark"} {
		fmt.Fprintf(&b, `<div class="%s">`, class)
		for _, w := range []float64{1100, 320} {
			for _, n := range []int{3, 10, 20, 40} {
				if class == "dark" && n != 10 || class == "" && n == 10 {
					continue // each once: the same picture twice needs an ID
				}
				fmt.Fprintf(&b, `<h2>%d heaps, %v px</h2>%s`, n, w, Heaps(shelf(t, n, "es"), HeapsOptions{Width: w, Title: "heaps", Assumed: "volumen supuesto"}))
			}
		}
		b.WriteString("</div>")
	}
	b.WriteString("\n<!--split-->\n")
	for _, class := range []string{"", "dark"} {
		fmt.Fprintf(&b, `<div class="%s">`, class)
		for _, w := range []float64{700, 320} {
			for _, s := range strips() {
				b.WriteString("<div>" + Strip(s.data, StripOptions{Title: s.name, Width: w}) + "</div>")
			}
		}
		b.WriteString("</div>")
	}
	b.WriteString("\n<!--split-->\n")
	for _, class := range []string{"", "dark"} {
		fmt.Fprintf(&b, `<div class="%s">`, class)
		for _, w := range []float64{760, 320} {
			for _, m := range maps() {
				b.WriteString("<div>" + Map(m.data, MapOptions{Title: m.name, Width: w}) + "</div>")
			}
		}
		for _, ref := range []string{"buckwheat/in-hull", "teff/whole", "mealworm/dried", "sunflower/in-shell-striped", "carrot/fresh"} {
			b.WriteString("<div>" + Sample(cat.Form(ref), SampleOptions{Title: "sample", Width: 420, Bar: 10, BarLabel: "1 cm", Scale: 5}) + "</div>")
		}
		b.WriteString("</div>")
	}
	seen := map[string]bool{}
	for _, part := range strings.Split(b.String(), ` id="`)[1:] {
		id, _, _ := strings.Cut(part, `"`)
		if seen[id] {
			t.Errorf("id %q stands twice on the page", id)
		}
		seen[id] = true
	}
	if len(seen) < 100 {
		t.Errorf("only %d identifiers were seen", len(seen))
	}
	if *page == "" {
		return
	}
	head, _, _ := strings.Cut(b.String(), "<h2>")
	for i, part := range strings.Split(b.String(), "\n<!--split-->\n") {
		if i > 0 {
			part = head + part
		}
		if err := os.WriteFile(fmt.Sprintf("%s-%d.html", *page, i), []byte(part), 0o644); err != nil {
			t.Fatal(err)
		}
	}
}
