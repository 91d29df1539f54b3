package ration

import (
	"math"
	"slices"
	"sort"
)

// Trend is how an animal's weight runs.
type Trend struct {
	Animal   int // in Plan.Animals
	Weights  []Weighing
	From, To Day // of the weighings that the slope rests on
	N        int // how many
	// Slope is in grams a week: the median of the slopes between all pairs of
	// weighings (Theil 1950, Sen 1968), which one wrong weighing in four cannot
	// turn. Low and High hold it with 95 % (Sen's interval by Kendall's tau), of
	// four weighings with 92 %, the most that four allow (22 of the 24 orders);
	// they are meaningless without HasInterval.
	Slope, Low, High      float64
	HasSlope, HasInterval bool
	Runs                  Run
	// Lost is what is gone of the heaviest weight of the month before the last
	// weighing, as a share; Week that of the heaviest within eight days.
	Lost, Week float64
	Fast       bool // see a veterinarian
	Since      int  // days since the last weighing; -1: never weighed
}

// Run says where a weight goes.
type Run string

// The runs.
const (
	Falling Run = "falling"
	Steady  Run = "steady" // the interval holds nought
	Rising  Run = "rising"
	TooFew  Run = "too few weighings"
)

const (
	// trendDays is how far back the slope looks. Assumed: two months, so that a
	// fortnightly weighing gives it four or five weights.
	trendDays = 62
	// fewest is how many weighings an interval needs. With three the widest one
	// holds the slope with 67 % (4 of the 6 orders), which tells too little.
	fewest = 4
	// Fast loss: a tenth of the body weight within a month, or a twentieth
	// within eight days. Recalled, a clinical habit; in laboratories a fifth is
	// the end of a trial, which is far too late for an animal that is cared for.
	lostMonth, monthDays = 0.10, 31
	lostWeek, weekDays   = 0.05, 8
	// normal95 is Φ⁻¹(0.975).
	normal95 = 1.959963984540054
)

// Trends are the weights of all animals of the plan.
func (p *Plan) Trends() []Trend {
	list := make([]Trend, len(p.Animals))
	for i := range p.Animals {
		list[i] = p.trend(i)
	}
	return list
}

func (p *Plan) trend(i int) Trend {
	t := Trend{Animal: i, Since: -1, Runs: TooFew}
	for _, w := range p.Document.Weights {
		if w.Animal == p.Animals[i].Animal.Name && w.Day <= p.Day {
			t.Weights = append(t.Weights, w)
		}
	}
	sort.SliceStable(t.Weights, func(a, b int) bool { return t.Weights[a].Day < t.Weights[b].Day })
	if len(t.Weights) == 0 {
		return t
	}
	last := t.Weights[len(t.Weights)-1]
	t.Since = int(p.Day - last.Day)
	t.loss(last)
	var x, y []float64
	for _, w := range t.Weights {
		if w.Day > p.Day-trendDays {
			x, y = append(x, float64(w.Day)), append(y, w.Mass.Grams())
			if t.N++; t.From == 0 {
				t.From = w.Day
			}
			t.To = w.Day
		}
	}
	t.slope(x, y)
	return t
}

func (t *Trend) loss(last Weighing) {
	month, week := last.Mass, last.Mass
	for _, w := range t.Weights {
		if w.Day >= last.Day-monthDays {
			month = max(month, w.Mass)
		}
		if w.Day >= last.Day-weekDays {
			week = max(week, w.Mass)
		}
	}
	t.Lost = 1 - last.Mass.Grams()/month.Grams()
	t.Week = 1 - last.Mass.Grams()/week.Grams()
	t.Fast = t.Lost >= lostMonth-1e-12 || t.Week >= lostWeek-1e-12
}

func (t *Trend) slope(x, y []float64) {
	list := pairSlopes(x, y)
	if len(list) == 0 {
		return
	}
	t.Slope, t.HasSlope = 7*median(list), true
	n := len(x)
	if n < fewest {
		return
	}
	// Sen 1968: of N slopes those ranked (N−C)/2 and (N+C)/2+1, with
	// C = z·√(n(n−1)(2n+5)/18); weighings on one day are few and not corrected
	// for.
	c := float64(normal95 * math.Sqrt(float64(n*(n-1)*(2*n+5))/18))
	all := float64(len(list))
	low := int(math.Floor((all-c)/2)) - 1
	high := int(math.Ceil((all + c) / 2))
	if low < 0 || high >= len(list) {
		low, high = 0, len(list)-1 // with four or five weighings the ends themselves
	}
	t.Low, t.High, t.HasInterval = 7*list[low], 7*list[high], true
	switch {
	case t.High < 0:
		t.Runs = Falling
	case t.Low > 0:
		t.Runs = Rising
	default:
		t.Runs = Steady
	}
}

// pairSlopes are the sorted slopes between all pairs of points on different
// days.
func pairSlopes(x, y []float64) []float64 {
	var list []float64
	for i := range x {
		for j := i + 1; j < len(x); j++ {
			if x[j] != x[i] {
				list = append(list, (y[j]-y[i])/(x[j]-x[i]))
			}
		}
	}
	slices.Sort(list)
	return list
}

// median of a sorted list.
func median(list []float64) float64 {
	n := len(list)
	if n%2 == 1 {
		return list[n/2]
	}
	return (list[n/2-1] + list[n/2]) / 2
}
