package web

import (
	"io"
	"net/http"
	"net/url"
	"slices"
	"strconv"
	"strings"
	"testing"
	"time"

	"firlot/internal/store"
)

// BenchmarkPourAcknowledged takes the time from sending a pour over HTTP to
// its answer, which comes once the pour is on disk; by turns a pour and its
// take-back, on a making of eleven lines whose log grows to mostPours.
func BenchmarkPourAcknowledged(b *testing.B) {
	a := start(b, true)
	var took []time.Duration
	n := 0
	at := where(begin(a, nil))
	send := func(v url.Values) {
		r, err := http.NewRequest("POST", a.base+at+"/event", strings.NewReader(v.Encode()))
		if err != nil {
			b.Fatal(err)
		}
		r.Header.Set("Content-Type", "application/x-www-form-urlencoded")
		r.Header.Set("Accept", "application/json")
		from := time.Now()
		resp, err := a.client.Do(r)
		if err != nil {
			b.Fatal(err)
		}
		if _, err := io.Copy(io.Discard, resp.Body); err != nil {
			b.Fatal(err)
		}
		resp.Body.Close()
		took = append(took, time.Since(from))
		if resp.StatusCode != http.StatusOK {
			b.Fatalf("status %d", resp.StatusCode)
		}
	}
	b.ResetTimer()
	for b.Loop() {
		if n%mostPours == 0 {
			at = where(begin(a, nil))
		}
		n++
		key := "bench-" + strconv.Itoa(n)
		send(url.Values{"key": {key}, "kind": {"pour"}, "ref": {"oats/groats"}, "mg": {"1000"}, "bowl": {"1"}})
		if n%2 == 0 {
			send(url.Values{"key": {key + "-back"}, "kind": {store.KindTakeBack}, "of": {key}})
		}
	}
	b.StopTimer()
	slices.Sort(took)
	b.ReportMetric(float64(percentile(took, 0.5).Microseconds())/1000, "ms-p50")
	b.ReportMetric(float64(percentile(took, 0.95).Microseconds())/1000, "ms-p95")
	b.ReportMetric(float64(len(took)), "events")
}

// mostPours is how long the log of a benchmark's making grows, in pours.
const mostPours = 60

// BenchmarkRescuePage takes the time from asking for the way on after a slip
// to the page with it, on the invented mix of eleven lines.
func BenchmarkRescuePage(b *testing.B) {
	a := start(b, true)
	p := begin(a, nil)
	at := where(p)
	p = a.press(p, with("id", "poured"), nil)
	a.pressIn(p, "different", map[string]string{"mass": "338"})
	var took []time.Duration
	b.ResetTimer()
	for b.Loop() {
		a.server.rescues = newRescues() // else it is worked out once
		from := time.Now()
		if p := a.get(at + "/rescue"); p.status != http.StatusOK {
			b.Fatalf("status %d", p.status)
		}
		took = append(took, time.Since(from))
	}
	slices.Sort(took)
	b.ReportMetric(float64(percentile(took, 0.5).Microseconds())/1000, "ms-p50")
	b.ReportMetric(float64(percentile(took, 0.95).Microseconds())/1000, "ms-p95")
}

// BenchmarkWeighingPage takes the time to draw the page at the scale.
func BenchmarkWeighingPage(b *testing.B) {
	a := start(b, true)
	at := where(begin(a, nil))
	b.ResetTimer()
	for b.Loop() {
		if p := a.get(at); p.status != http.StatusOK {
			b.Fatalf("status %d", p.status)
		}
	}
}
