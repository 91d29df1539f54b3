package main

import (
	"flag"
	"fmt"
	"math"
	"os"
	"slices"
	"strings"
	"time"
)

// quick is the time below which a solve is repeated; the least of repeats
// counts, for every solver alike, so that an interruption by other work on the
// machine is not taken for the solver's own.
const (
	quick   = 50 * time.Millisecond
	repeats = 3
)

func main() {
	n := flag.Int("n", 100, "instances of each family")
	limit := flag.Duration("limit", 10*time.Second, "time limit of a solve")
	folder := flag.String("highs", "", "folder of the npm package highs; empty leaves HiGHS out")
	script := flag.String("script", "bench/highs.cjs", "the script that node runs for HiGHS")
	only := flag.String("only", "", "families whose name contains this; empty means all")
	flag.Parse()
	if *n < 1 || *limit <= 0 {
		fmt.Fprintln(os.Stderr, "bench: -n and -limit must be above zero")
		os.Exit(1)
	}
	all := []solver{own{}, draft{}}
	if *folder != "" {
		h, err := newHiGHS(*script, *folder)
		if err != nil {
			fmt.Fprintln(os.Stderr, "bench: HiGHS:", err)
			os.Exit(1)
		}
		defer h.close()
		all = append(all, h)
	}
	all = append(all, others...)
	bad := 0
	for _, s := range all {
		fmt.Printf("- %s: %s\n", s.name(), s.about())
	}
	fmt.Printf("\n%d instances a family, seeds 0 to %d; limit %v. Milliseconds; × is the ratio to Firlot's, median and 99th.\n", *n, *n-1, *limit)
	head(all)
	for _, f := range families() {
		if strings.Contains(f.name, *only) {
			bad += run(f, all, *n, *limit)
		}
	}
	if bad > 0 {
		fmt.Printf("\n%d answers differ\n", bad)
		os.Exit(1)
	}
	fmt.Println("\nEvery two answers agree in status, and in the objective within the gap.")
}

// run measures one family, prints its line and returns how many answers of
// others differ from ours.
func run(f family, all []solver, n int, limit time.Duration) int {
	times := make([][]time.Duration, len(all))
	limits := make([]int, len(all))
	bad := 0
	for seed := range n {
		in := &instance{model: f.mix.build(uint64(seed))}
		if f.mix.cones == 0 {
			in.flat = flatten(in.model, f.mix.most)
		}
		var ours answer
		for i, s := range all {
			if !fits(s, in) {
				continue
			}
			if seed == 0 {
				s.solve(in, limit) // warm up
			}
			a := measure(s, in, limit)
			times[i] = append(times[i], a.took)
			if a.status == "limit" {
				limits[i]++
			}
			if i == 0 {
				ours = a
			}
			if why := differ(ours, a, in); why != "" {
				fmt.Fprintf(os.Stderr, "%s, seed %d, %s: %s\n", f.name, seed, s.name(), why)
				bad++
			}
		}
	}
	line(f.name, times, limits)
	return bad
}

func measure(s solver, in *instance, limit time.Duration) answer {
	a := s.solve(in, limit)
	for range repeats - 1 {
		if a.took > quick {
			break
		}
		if b := s.solve(in, limit); b.status == a.status {
			a.took = min(a.took, b.took)
		}
	}
	return a
}

// differ compares two answers. Both objectives are within the gap of the best,
// so they are within the gap of each other, but for tolerances of the others.
func differ(ours, a answer, in *instance) string {
	if a.status == "limit" || ours.status == "limit" {
		return ""
	}
	if a.status != "optimal" && a.status != "infeasible" || a.status != ours.status {
		return fmt.Sprintf("%s %v, ours %s %v", a.status, a.objective, ours.status, ours.objective)
	}
	gap := 1e-6 * math.Max(1, math.Abs(ours.objective))
	if in.flat != nil && in.flat.isWhole {
		gap = gapSteps + 1e-3
	}
	if a.status == "optimal" && math.Abs(a.objective-ours.objective) > gap {
		return fmt.Sprintf("objective %v, ours %v", a.objective, ours.objective)
	}
	return ""
}

func head(all []solver) {
	fmt.Printf("\n| family, ingredients × windows |")
	rule := "|---|"
	for i, s := range all {
		fmt.Printf(" %s median | 99th |", s.name())
		rule += "---|---|"
		if i > 0 {
			fmt.Printf(" × |")
			rule += "---|"
		}
	}
	fmt.Printf("\n%s\n", rule)
}

// line prints median and 99th percentile (nearest rank) of each solver and the
// ratios to ours.
func line(name string, times [][]time.Duration, limits []int) {
	fmt.Printf("| %s |", name)
	var ours [2]time.Duration
	for i, ts := range times {
		if len(ts) == 0 {
			fmt.Printf(" – | – | – |")
			continue
		}
		slices.Sort(ts)
		p := [2]time.Duration{rank(ts, 50), rank(ts, 99)}
		mark := ""
		if limits[i] > 0 {
			mark = fmt.Sprintf(" (%d at the limit)", limits[i])
		}
		fmt.Printf(" %s | %s%s |", ms(p[0]), ms(p[1]), mark)
		if i == 0 {
			ours = p
			continue
		}
		fmt.Printf(" %s, %s |", ratio(p[0], ours[0]), ratio(p[1], ours[1]))
	}
	fmt.Println()
}

// rank is the nearest-rank percentile of sorted times.
func rank(ts []time.Duration, percent int) time.Duration {
	i := (len(ts)*percent + 99) / 100
	return ts[max(1, i)-1]
}

func ms(d time.Duration) string {
	v := float64(d.Nanoseconds()) / 1e6
	switch {
	case v < 1:
		return fmt.Sprintf("%.2f", v)
	case v < 100:
		return fmt.Sprintf("%.1f", v)
	}
	return fmt.Sprintf("%.0f", v)
}

func ratio(a, b time.Duration) string {
	r := float64(a) / float64(b)
	if r < 10 {
		return fmt.Sprintf("%.1f", r)
	}
	return fmt.Sprintf("%.0f", r)
}
