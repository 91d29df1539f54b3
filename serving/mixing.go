package serving

import (
	"fmt"
	"math"
)

// Scoop is one sample of a batch: what it weighs, and how much of the marker
// is in it.
type Scoop struct {
	Grams  float64
	Marker float64 // pieces, or g where the marker is weighed
}

// Sampling is a check of a mixing: a marker, one kind of piece of the lot,
// counted or weighed in several scoops.
type Sampling struct {
	Lot    Lot
	Marker int // its place in the lot's pieces
	Scoops []Scoop
	// Weighed: the marker of each scoop was weighed on a scale with steps of
	// Step g; otherwise its pieces were counted.
	Weighed bool
	Step    float64
	// Allowed is the spread of the mixing's own, beyond chance, that still
	// counts as well mixed: a relative standard deviation as a share.
	Allowed float64
}

// Bounds on what may be asked of a check.
const (
	MostScoops  = 10_000
	LeastScoops = 3
	// UsualAllowed is the spread of the mixing's own that counts as well mixed
	// where nothing else is asked: the feed trade's coefficient of variation of
	// 10 %. The trade sets that on all of the spread, for its samples hold many
	// thousand particles; see [Mixing.TradeRule].
	UsualAllowed = 0.10
)

// sure is the confidence with which a verdict is given, and power the chance
// that a check of the size proposed comes to one.
const (
	sure  = 0.95
	power = 0.80
)

// Verdict is what scoops say of a mixing.
type Verdict string

// The verdicts. Each of the first two holds with a confidence of 95 of 100 at
// least.
const (
	WellMixed    Verdict = "well-mixed"
	NotWellMixed Verdict = "not-well-mixed"
	CannotTell   Verdict = "cannot-tell"
)

// Mixing is what a check found. Spreads are relative standard deviations, as
// shares of the marker's mean.
//
// # How it is judged
//
// By chance alone the marker's share differs between scoops of M g by
// √(K/M) of it (Gy; see [Lot.OfShare]): the floor. What is seen, s, holds the
// floor, the mixing's own unevenness, and the scale's rounding where the
// marker is weighed. For n scoops (n−1)·s²/σ² is taken as chi-square with n−1
// degrees of freedom, σ² being the sum of the three. The mix is called well
// mixed when σ² can hardly (5 of 100) be as large as the floor, the rounding
// and the allowed spread together; not well mixed when it can hardly be as
// small. Where the marker is counted and scarce, D = (n−1)·s² over the floor
// is Fisher's index of dispersion (Fisher, Thornton and Mackenzie 1922:
// counts that chance alone makes differ have Σ(x − x̄)²/x̄ spread as
// chi-square); Gy's floor widens it to markers that are no rarity.
type Mixing struct {
	Mean  float64 // pieces or g of the marker, a scoop of the mean mass
	Grams float64 // mean mass of a scoop
	// Shown is the spread seen, Floor that of chance, Rounding that of the
	// scale. Own is what is left for the mixing, nought where chance explains
	// all; OwnLow and OwnHigh hold it with 90 of 100.
	Shown, Floor, Rounding float64
	Own, OwnLow, OwnHigh   float64
	ShownError             float64 // standard error of Shown: Shown/√(2(n−1))
	// Index is (n−1)·Shown² over the floor and the rounding squared, with n−1
	// degrees of freedom; Chance is that of one as large where the mixing is
	// perfect.
	Index, Chance float64
	Degrees       int
	// TooAlike: chance makes scoops as alike as these in fewer than one check
	// of a hundred, so they may have been chosen, or guessed.
	TooAlike bool
	// Rough: chance puts fewer than five pieces into a scoop, and chi-square
	// is only roughly right.
	Rough bool
	// AtLeast: the mass of some other kinds' pieces is not known, so that the
	// floor is a lower bound. Overturns is then the mass of such a piece, g,
	// from which the verdict that the mix is not well mixed would not stand;
	// nought elsewhere.
	AtLeast   bool
	Overturns float64

	Verdict    Verdict
	Confidence float64 // in the verdict; of the likelier side when it cannot tell
	Likely     Verdict // that side

	// Lacey is his index of mixing, 0 for separated and 1 for chance, with
	// Gy's floor as the limit of chance. Nearly all that is mixed at all lies
	// above 0.75, so it tells little.
	Lacey float64
	// TradeRule: the floor is so far below the trade's 10 % that its rule, a
	// coefficient of variation below that, could be put to Shown.
	TradeRule bool
	Enough    Enough
}

// Enough is how many scoops would tell, and how large they would have to be.
type Enough struct {
	// Good is the number of scoops of this size with which a perfect mixing is
	// called well mixed four times of five; Bad that with which one twice as
	// uneven as allowed is called not well mixed as often. Zero: more than
	// MostScoops.
	Good, Bad int
	// Grams are scoops with which as many as there are would do.
	Grams float64
}

// tooAlike is the chance below which scoops are more alike than can be.
const tooAlike = 0.01

// fewPieces is the count below which chi-square is only roughly right: a
// common rule for expected counts, recalled.
const fewPieces = 5

// tradeFloor is the floor up to which the trade's rule can be put to what is
// seen: a third of 10 %, so that with a mixing just at the limit the floor
// adds √(1 + 1/9) − 1, about 5 % of it.
const tradeFloor = UsualAllowed / 3

// Check judges a mixing.
func (s Sampling) Check() (*Mixing, error) {
	if err := s.valid(); err != nil {
		return nil, err
	}
	m := &Mixing{Degrees: len(s.Scoops) - 1}
	var grams, marker float64
	for _, x := range s.Scoops {
		grams += x.Grams
		marker += x.Marker
	}
	n := float64(len(s.Scoops))
	m.Grams, m.Mean = grams/n, marker/n
	if marker == 0 {
		return nil, fmt.Errorf("there is none of the marker in any scoop; take one of which a scoop holds some, or larger scoops")
	}
	var square float64
	for _, x := range s.Scoops {
		d := x.Marker/float64(marker*x.Grams/grams) - 1 // of what its mass should bring
		square += float64(float64(d*d) * x.Grams)
	}
	s2 := square / m.Grams / (n - 1) // scoops of other masses count by their mass
	m.Shown = math.Sqrt(s2)
	m.ShownError = m.Shown / math.Sqrt(float64(2*(n-1)))
	m.Floor = s.Floor(m.Grams)
	if s.Weighed && m.Mean > 0 {
		m.Rounding = s.Step / math.Sqrt(12) / m.Mean // even over a step
	}
	if count, ok := s.Lot.Count(s.Marker, m.Grams); ok {
		m.Rough = count < fewPieces
	}
	s.judge(m, s2)
	m.Lacey = s.lacey(m, s2)
	m.TradeRule = m.Floor <= tradeFloor
	m.Enough = s.Plan(m.Grams, len(s.Scoops))
	return m, nil
}

// Floor is the spread of the marker's share between scoops of some grams by
// chance alone, from a lot so large that scoops do not use it up: scoops are
// compared with each other, and their common total is as they show it.
func (s Sampling) Floor(grams float64) float64 {
	return math.Sqrt(s.Lot.OfShare(s.Marker).K / grams)
}

func (s Sampling) judge(m *Mixing, s2 float64) {
	df := float64(m.Degrees)
	chanceOnly := float64(m.Floor*m.Floor) + float64(m.Rounding*m.Rounding)
	m.Index = df * s2 / chanceOnly
	m.Chance = chiAbove(df, m.Index)
	m.TooAlike = chiBelow(df, m.Index) < tooAlike
	own := func(total float64) float64 { return math.Sqrt(max(total-chanceOnly, 0)) }
	m.Own = own(s2)
	m.OwnLow, m.OwnHigh = own(df*s2/chiQuantile(df, sure)), own(df*s2/chiQuantile(df, 1-sure))
	limit := df * s2 / (chanceOnly + float64(s.Allowed*s.Allowed))
	below, above := chiBelow(df, limit), chiAbove(df, limit)
	m.Likely, m.Confidence = WellMixed, above
	if below > above {
		m.Likely, m.Confidence = NotWellMixed, below
	}
	m.Verdict = CannotTell
	if m.Confidence >= sure {
		m.Verdict = m.Likely
	}
	s.doubt(m, s2)
}

// heaviestPiece is more than a piece of leaf, flake or root weighs in a dry
// mix, g: assumed.
const heaviestPiece = 0.5

// doubt takes a verdict back that pieces of unknown mass could overturn.
func (s Sampling) doubt(m *Mixing, s2 float64) {
	v := s.Lot.OfShare(s.Marker)
	m.AtLeast = len(v.Missing) > 0
	if !m.AtLeast || m.Likely != NotWellMixed {
		return
	}
	weight := 0.0
	for _, i := range v.Missing {
		weight += v.Causes[i].Weight
	}
	df := float64(m.Degrees)
	floor := df*s2/chiQuantile(df, sure) - float64(s.Allowed*s.Allowed) - float64(m.Rounding*m.Rounding)
	m.Overturns = max(float64(floor*m.Grams)-v.K, 0) / weight
	if m.Overturns < heaviestPiece {
		m.Verdict = CannotTell
	}
}

// lacey is Lacey's index for mass shares.
func (s Sampling) lacey(m *Mixing, s2 float64) float64 {
	w := s.Lot.Pieces[s.Marker].Share
	return Lacey(float64(w*(1-w)), float64(float64(m.Floor*w)*float64(m.Floor*w)), float64(s2*float64(w*w)))
}

// Lacey is the index of mixing of a two-part mix, from the variances of a
// share between samples: separated, of chance, and as seen. It is 0 for the
// first and 1 for the second. Source: P. M. C. Lacey, Developments in the
// theory of particle mixing, 1954 (recalled). For equal pieces with the share
// p and n of them in a sample the first two are p(1−p) and p(1−p)/n.
func Lacey(separated, chance, seen float64) float64 {
	if separated <= chance {
		return math.NaN()
	}
	return (separated - seen) / (separated - chance)
}

// Plan says how many scoops of some grams would tell, and with how large ones
// a number of them would.
func (s Sampling) Plan(grams float64, scoops int) Enough {
	floor := s.Floor(grams)
	f2, a2 := float64(floor*floor), float64(s.Allowed*s.Allowed)
	var e Enough
	if f2 == 0 {
		e.Good, e.Bad = LeastScoops, LeastScoops
		return e
	}
	e.Good = fewest(func(df float64) bool {
		return chiQuantile(df, power) <= float64(chiQuantile(df, 1-sure)*(1+a2/f2))
	})
	e.Bad = fewest(func(df float64) bool {
		return chiQuantile(df, sure)*(f2+a2) <= float64(chiQuantile(df, 1-power)*(f2+float64(4*a2)))
	})
	df := float64(max(scoops, LeastScoops) - 1)
	ratio := chiQuantile(df, power) / chiQuantile(df, 1-sure)
	e.Grams = float64(f2*grams) * (ratio - 1) / a2
	return e
}

// fewest is the least number of scoops that is enough, by halving, for more
// are never worse; 0 where MostScoops are not.
func fewest(enough func(df float64) bool) int {
	low, high := LeastScoops-1, MostScoops
	if !enough(float64(high - 1)) {
		return 0
	}
	for low+1 < high {
		mid := (low + high) / 2
		if enough(float64(mid - 1)) {
			high = mid
		} else {
			low = mid
		}
	}
	return high
}

// MostMarker is the most pieces, or grams, of a marker in a scoop.
const MostMarker = 1e7

func (s Sampling) valid() error {
	if s.Marker < 0 || s.Marker >= len(s.Lot.Pieces) {
		return fmt.Errorf("the marker is not in the mix")
	}
	if p := s.Lot.Pieces[s.Marker]; !p.Known {
		return fmt.Errorf("what a piece of the marker weighs is not known, so neither is what chance alone would do; take a seed as the marker")
	}
	if n := len(s.Scoops); n < LeastScoops || n > MostScoops {
		return fmt.Errorf("%d scoops are out of range; it is %d to %d", n, LeastScoops, MostScoops)
	}
	if !(s.Allowed > 0) || s.Allowed > 1 {
		return fmt.Errorf("the allowed spread is a share above 0 and at most 1, and not %v", s.Allowed)
	}
	if len(s.Lot.Pieces) < 2 {
		return fmt.Errorf("the mix has one ingredient, and nothing to be mixed with")
	}
	for i, x := range s.Scoops {
		switch {
		case !(x.Grams > 0) || x.Grams > s.Lot.Grams:
			return fmt.Errorf("scoop %d of %v g is out of range; it is more than 0 and at most the batch", i+1, x.Grams)
		case !(x.Marker >= 0) || x.Marker > MostMarker:
			return fmt.Errorf("scoop %d has %v of the marker, which is out of range", i+1, x.Marker)
		case s.Weighed && x.Marker > x.Grams:
			return fmt.Errorf("scoop %d of %v g cannot hold %v g of the marker", i+1, x.Grams, x.Marker)
		}
	}
	return nil
}
