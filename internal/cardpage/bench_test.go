package cardpage_test

import (
	"bytes"
	"context"
	"fmt"
	"slices"
	"strings"
	"testing"

	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/chromedp"

	"firlot/card"
	"firlot/formulate"
	"firlot/internal/cardpage"
	"firlot/mix"
)

// slowly is by how much the page's own thread is slowed down, with the
// browser's own means; they do not reach the worker, whose times are reported
// as they are.
const slowly = 4

// BenchmarkOpening opens a card in Chromium, its page slowed down: the first
// paint, the time until it can work a mix out anew, and until its proof is
// checked; and what the page holds in memory.
func BenchmarkOpening(b *testing.B) {
	at := saved(b, rendered(b, adult(b)))
	var paint, ready, proof, heap []float64
	for b.Loop() {
		p := browser(b, 360)
		p.slow()
		p.open(at)
		p.until(checked + ` === "sound"`)
		paint = append(paint, js[float64](p, `performance.getEntriesByName("first-contentful-paint")[0].startTime`))
		ready = append(ready, js[float64](p, `performance.getEntriesByName("firlot-ready")[0].startTime`))
		proof = append(proof, js[float64](p, `performance.now()`))
		heap = append(heap, js[float64](p, `performance.memory.usedJSHeapSize / 1e6`))
		chromedp.Cancel(p.ctx)
	}
	b.ReportMetric(middle(paint), "paint-ms")
	b.ReportMetric(middle(ready), "ready-ms")
	b.ReportMetric(middle(proof), "proof-ms")
	b.ReportMetric(middle(heap), "pageheap-MB")
}

func (b *tab) slow() {
	b.t.Helper()
	_, err := chromedp.Call(b.ctx, emulation.SetCPUThrottlingRate, emulation.SetCPUThrottlingRateParams{Rate: slowly})
	b.must(err)
}

func middle(list []float64) float64 {
	slices.Sort(list)
	return list[len(list)/2]
}

// twenty is a card of twenty ingredients: those of the rats' mix and as many
// more of their replacements as are missing.
func twenty(t testing.TB) *card.Card {
	t.Helper()
	p := planOf(t, "rat")
	d := p.Document.Copy()
	for _, ref := range []string{"canary-seed/in-hull", "linseed/whole", "sesame/whole", "quinoa/whole", "amaranth/whole", "millet-foxtail/in-hull", "foxtail-millet/in-hull", "barley/in-hull", "rye/whole", "teff/whole", "hemp/whole", "chia/whole", "oats/in-hull"} {
		f := p.Catalogue.Form(ref)
		if f == nil || len(d.Lines) == 20 || slices.ContainsFunc(p.Lines, func(l mix.PlanLine) bool { return l.Form == f }) {
			continue
		}
		d = d.Add(mix.Line{Ingredient: ref})
	}
	if len(d.Lines) != 20 {
		t.Fatalf("it has %d ingredients", len(d.Lines))
	}
	d.Prefer = mix.Varied
	for i := range d.Lines {
		d.Lines[i].Price = nil
	}
	c, err := card.Make(context.Background(), []*mix.Plan{resolved(t, d)}, skerra)
	if err != nil {
		t.Fatal(err)
	}
	return c
}

// BenchmarkWorkingOut leaves out one ingredient after another of a card of
// twenty, in Chromium with its page slowed down: from the press to the new
// page, all of it.
func BenchmarkWorkingOut(b *testing.B) {
	c := twenty(b)
	p := browser(b, 360)
	p.open(saved(b, rendered(b, c)))
	p.until(checked + ` !== undefined`)
	p.slow()
	refs := strings.Fields(js[string](p, `[...`+shown+`.querySelectorAll(".cannot input")].map((i) => i.value).join(" ")`))
	for b.Loop() {
		for _, ref := range refs {
			for range 2 { // out, and in again
				seen := js[string](p, `document.documentElement.dataset.seen || ""`)
				js[bool](p, fmt.Sprintf(`document.querySelector('%s').click() === undefined`, cannot("en", ref)))
				p.until(`(document.documentElement.dataset.seen || "") !== ` + quoted(seen))
			}
		}
	}
	for name, unit := range map[string]string{"answer": "", "whole": "whole-"} {
		times := js[[]float64](p, `performance.getEntriesByName("firlot-`+name+`").map((e) => e.duration)`)
		slices.Sort(times)
		b.ReportMetric(times[len(times)/2], unit+"middle-ms")
		b.ReportMetric(times[len(times)*95/100], unit+"p95-ms")
	}
}

// BenchmarkSolving is the engine's part of BenchmarkWorkingOut, natively.
func BenchmarkSolving(b *testing.B) {
	c := twenty(b)
	i := 0
	for b.Loop() {
		l := c.Mixes[0].Document.Lines[i%len(c.Mixes[0].Document.Lines)]
		i++
		if _, err := c.Solve(b.Context(), card.Choices{Missing: []string{l.Ingredient}}, formulate.Options{}); err != nil {
			b.Fatal(err)
		}
	}
}

// BenchmarkRender makes a card's page.
func BenchmarkRender(b *testing.B) {
	c, text := adult(b), engineText(b)
	var out bytes.Buffer
	for b.Loop() {
		out.Reset()
		if err := cardpage.Render(&out, c, text, cardpage.Options{}); err != nil {
			b.Fatal(err)
		}
	}
	b.ReportMetric(float64(out.Len()), "bytes")
}
