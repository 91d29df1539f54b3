package web

import (
	"encoding/json"
	"fmt"
	"net/http"
	"net/url"
	"runtime"
	"slices"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/chromedp/chromedp"

	"firlot/catalog"
	"firlot/internal/store"
	"firlot/mix"
	mixfiles "firlot/mix/files"
	"firlot/nutrient"
)

// mixOfThirty keeps a mix of thirty ingredients with prices, for gerbils, and
// a shelf that holds them. The prices are invented.
func mixOfThirty(a *app) string {
	a.t.Helper()
	d := &mix.Document{Title: "Thirty ingredients (invented)", Species: "gerbil", Stage: "adult", Batch: 1000 * nutrient.Gram, Step: nutrient.Gram, Sureness: 0.8, Prefer: mix.Varied}
	sh := store.Shelf{Name: "Thirty foods (invented)"}
	left := map[catalog.Class]int{catalog.Millet: 4, catalog.Cereal: 7, catalog.SmallSeed: 4, catalog.Oilseed: 5, catalog.Pseudocereal: 2, catalog.Pulse: 3, catalog.Leaf: 3, catalog.Hay: 2}
	for _, f := range a.server.Catalogue.Forms() {
		_, fibre := f.Figure(nutrient.CrudeFibre)
		if left[f.Ingredient.Class] == 0 || !fibre || !fitsDry(f, "gerbil") {
			continue
		}
		left[f.Ingredient.Class]--
		price := 1.5 + 0.25*float64(len(d.Lines))
		d.Lines = append(d.Lines, mix.Line{Ingredient: f.Ref(), Price: &price})
		sh.Items = append(sh.Items, store.Item{Ref: f.Ref(), CanHave: true, Price: &price})
	}
	if len(d.Lines) != 30 {
		a.t.Fatalf("%d ingredients", len(d.Lines))
	}
	sh, err := a.store.SaveShelf(a.t.Context(), sh)
	if err != nil {
		a.t.Fatal(err)
	}
	solved, err := a.server.solveDoc(a.t.Context(), d)
	if err != nil {
		a.t.Fatal(err)
	}
	if solved.Answer == nil || solved.Answer.Steps == nil {
		a.t.Fatalf("no mix of thirty: %+v", solved.Problem)
	}
	for i, m := range solved.Answer.Amounts() {
		d.Lines[i].Base = mix.Amount{Set: true, Mass: m}
		d.Lines[i].Amount = d.Lines[i].Base
	}
	m, err := a.store.SaveMix(a.t.Context(), store.Mix{Name: d.Title, Shelf: sh.ID, Document: string(mixfiles.Format(d))})
	if err != nil {
		a.t.Fatal(err)
	}
	return mixPath(m.ID)
}

// change is one change that a keeper makes.
type change struct{ kind, field, value string }

// sixtyChanges are of several kinds, none the same as another, in an order
// that mixes them.
func sixtyChanges() []change {
	var list []change
	prefer := []string{"cheap", "near", "varied"}
	sure := []string{"50", "60", "70", "85", "90", "0", "80"}
	for i := range 12 {
		list = append(list,
			change{"ceiling", lineField(i, "ceiling"), strconv.Itoa(60+7*i) + " g"},
			change{"batch", "batch", strconv.Itoa(900+37*i) + " g"},
			change{"prefer", "prefer", prefer[i%len(prefer)]},
			change{"sureness", "sureness", sure[i%len(sure)]},
			change{"floor", lineField(29-i, "floor"), strconv.Itoa(2+i) + " g"})
	}
	return list
}

// percentile of sorted durations.
func percentile(d []time.Duration, p float64) time.Duration {
	return d[min(int(p*float64(len(d))), len(d)-1)]
}

// timings gathers durations by kind and reports them with a benchmark.
type timings map[string][]time.Duration

func (t timings) report(b *testing.B, what string) {
	var all []time.Duration
	for _, kind := range slices.Sorted(keysOf(t)) {
		d := slices.Sorted(slices.Values(t[kind]))
		all = append(all, d...)
		b.Logf("%s %-10s p50 %4d ms  p95 %4d ms  most %4d ms (%d)", what, kind, percentile(d, 0.5).Milliseconds(), percentile(d, 0.95).Milliseconds(), d[len(d)-1].Milliseconds(), len(d))
	}
	slices.Sort(all)
	b.ReportMetric(float64(percentile(all, 0.5).Microseconds())/1000, "ms-p50")
	b.ReportMetric(float64(percentile(all, 0.95).Microseconds())/1000, "ms-p95")
	b.ReportMetric(float64(all[len(all)-1].Microseconds())/1000, "ms-most")
}

func keysOf[V any](m map[string]V) func(func(string) bool) {
	return func(yield func(string) bool) {
		for k := range m {
			if !yield(k) {
				return
			}
		}
	}
}

// BenchmarkChangeAnswered takes the time from a change of a mix of thirty
// ingredients to its sentence and grams, and to the whole page, without a
// browser.
func BenchmarkChangeAnswered(b *testing.B) {
	for _, preview := range []string{previewAnswer, "page"} {
		b.Run(preview, func(b *testing.B) { answered(b, preview) })
	}
}

func answered(b *testing.B, preview string) {
	a := start(b, true)
	at := mixOfThirty(a)
	took := timings{}
	b.ResetTimer()
	for b.Loop() {
		form := fields(a.open(at).byID("mix"))
		for _, c := range sixtyChanges() {
			form.Set(c.field, c.value)
			from := time.Now()
			r, err := http.NewRequest("POST", a.base+at, strings.NewReader(form.Encode()))
			if err != nil {
				b.Fatal(err)
			}
			r.Header.Set("Content-Type", "application/x-www-form-urlencoded")
			r.Header.Set("Accept-Encoding", "gzip")
			r.Header.Set(previewHeader, preview)
			p := a.do(r)
			took[c.kind] = append(took[c.kind], time.Since(from))
			if p.status != http.StatusOK {
				b.Fatalf("%v: status %d", c, p.status)
			}
		}
		a.server.answers = newAnswers()
	}
	took.report(b, "answered:")
}

// seen is a script that makes a change as a keeper's hand does and tells how
// many milliseconds passed until its answer was painted.
const seen = `new Promise((done) => {
	const el = document.getElementById(%s), main = document.getElementById("main");
	const was = document.getElementById("answer");
	const shown = new MutationObserver(() => {
		if (document.getElementById("answer") === was) return;
		shown.disconnect();
		requestAnimationFrame(() => { const c = new MessageChannel(); c.port1.onmessage = () => done(performance.now() - from); c.port2.postMessage(0); });
	});
	shown.observe(main, { childList: true, subtree: true });
	const from = performance.now();
	el.value = %s;
	el.dispatchEvent(new Event("input", { bubbles: true }));
	el.dispatchEvent(new Event("change", { bubbles: true }));
})`

// BenchmarkChangeSeen takes the time from a change of a mix of thirty
// ingredients to its answer on the screen of a headless browser.
func BenchmarkChangeSeen(b *testing.B) {
	a := start(b, true)
	at := mixOfThirty(a)
	tab := browser(b, 1280)
	tab.goTo(a.base + at)
	tab.until(live)
	took := timings{}
	b.ResetTimer()
	for b.Loop() {
		for _, c := range sixtyChanges() {
			ms, err := chromedp.Run(tab.ctx, chromedp.Evaluate[float64](fmt.Sprintf(seen, asJS(c.field), asJS(c.value)), chromedp.EvalAwaitPromise))
			if err != nil {
				b.Fatalf("%v: %v", c, err)
			}
			took[c.kind] = append(took[c.kind], time.Duration(ms*float64(time.Millisecond)))
			tab.until(`!document.getElementById("mix").hasAttribute("data-unsaved")`) // it is saved, and the pictures are there
		}
		a.server.answers = newAnswers()
	}
	took.report(b, "seen:")
}

func asJS(s string) string {
	text, err := json.Marshal(s)
	if err != nil {
		panic(err) // a string always has a form in JSON
	}
	return string(text)
}

// BenchmarkPage weighs the page of a mix of thirty ingredients.
func BenchmarkPage(b *testing.B) {
	a := start(b, true)
	at := mixOfThirty(a)
	var packed, whole int
	for b.Loop() {
		r, err := http.NewRequest("GET", a.base+at, nil)
		if err != nil {
			b.Fatal(err)
		}
		r.Header.Set("Accept-Encoding", "gzip")
		packed = len(a.do(r).body)
		whole = len(a.get(at).body)
	}
	b.ReportMetric(float64(packed)/1000, "kB-sent")
	b.ReportMetric(float64(whole)/1000, "kB-unpacked")
}

// BenchmarkMemory tells what the app holds after changes of a mix of thirty
// ingredients, each with an answer that it remembers.
func BenchmarkMemory(b *testing.B) {
	a := start(b, true)
	at := mixOfThirty(a)
	for b.Loop() {
		form := fields(a.open(at).byID("mix"))
		for _, c := range sixtyChanges() {
			form.Set(c.field, c.value)
			a.post(at, url.Values(form))
		}
	}
	runtime.GC()
	var m runtime.MemStats
	runtime.ReadMemStats(&m)
	b.ReportMetric(float64(m.HeapAlloc)/1e6, "MB-live")
	b.ReportMetric(float64(m.Sys)/1e6, "MB-from-system")
}
