package lp

import (
	"context"
	"fmt"
	"sort"
	"testing"
	"time"
)

var benchCases = []struct {
	name string
	c    mixing
	gap  float64
}{
	{"linear", mixing{tight: 0.06, shift: 0.1}, 0},
	{"whole", mixing{tight: 0.06, shift: 0.1, whole: true}, 1},
	{"switched", mixing{tight: 0.08, shift: 0.08, whole: true, minPart: 20, most: 8}, 1},
	{"cones", mixing{tight: 0.08, shift: 0.08, whole: true, cones: 2, z: 1.282}, 1},
}

// BenchmarkMixing solves realistic mixing models of several sizes. Beside the
// mean it reports the median and the 99th percentile over the instances.
func BenchmarkMixing(b *testing.B) {
	for _, bc := range benchCases {
		for _, size := range [][2]int{{15, 12}, {30, 12}, {60, 12}, {30, 40}, {60, 40}} {
			c := bc.c
			c.n, c.k = size[0], size[1]
			b.Run(fmt.Sprintf("%s/%dx%d", bc.name, c.n, c.k), func(b *testing.B) {
				benchOne(b, c, bc.gap)
			})
		}
	}
}

func benchOne(b *testing.B, c mixing, gap float64) {
	var ms []*Model
	for s := uint64(0); s < 100; s++ {
		ms = append(ms, c.build(s))
	}
	var times []time.Duration
	nodes, pivots, solved := 0, 0, 0
	b.ReportAllocs()
	b.ResetTimer()
	for i := 0; i < b.N; i++ {
		ctx, cancel := context.WithTimeout(context.Background(), 2*time.Second)
		t0 := time.Now()
		r, err := Solve(ctx, ms[i%len(ms)], Options{Gap: gap})
		times = append(times, time.Since(t0))
		cancel()
		if err != nil || r.Status == Trouble {
			b.Fatal(err, r)
		}
		nodes += r.Nodes
		pivots += r.Pivots
		if r.Status == Optimal || r.Status == Infeasible {
			solved++
		}
	}
	sort.Slice(times, func(i, j int) bool { return times[i] < times[j] })
	b.ReportMetric(float64(times[len(times)/2].Microseconds())/1000, "p50-ms")
	b.ReportMetric(float64(times[len(times)*99/100].Microseconds())/1000, "p99-ms")
	b.ReportMetric(float64(nodes)/float64(b.N), "nodes/op")
	b.ReportMetric(float64(pivots)/float64(b.N), "pivots/op")
	b.ReportMetric(float64(solved)/float64(b.N), "closed/op")
}
