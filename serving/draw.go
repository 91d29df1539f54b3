package serving

import (
	"math"
	"math/bits"
	"math/rand/v2"

	"firlot/analysis"
	"firlot/nutrient"
)

// Drawn is how many pieces of a kind a drawn spoonful holds.
type Drawn struct {
	Piece
	Count int // meaningless unless Known
	Mass  nutrient.Mass
}

// endless stands in for the lot's mass where it is infinite: so many portions
// that taking one narrows spreads by a two-thousandth.
const endless = 1000

// Draw takes a spoonful from the lot as chance has it: each piece of the lot
// falls into it with the chance portion/lot, so that the count of a kind is
// binomial, and the spoonful's mass differs a little from what was asked. The
// same lot, portion and seed give the same spoonful on every platform, for
// only whole numbers are reckoned with. A kind of unknown piece comes without
// a count.
func (l Lot) Draw(portion float64, seed uint64) []Drawn {
	rng := rand.New(rand.NewPCG(seed, spoonStream))
	lot := l.Grams
	if math.IsInf(lot, 1) {
		lot = float64(portion * endless)
	}
	part := fraction(uint64(math.Round(portion*1000)), uint64(math.Round(lot*1000)))
	out := make([]Drawn, len(l.Pieces))
	for i, p := range l.Pieces {
		out[i] = Drawn{Piece: p}
		if !p.Known {
			continue
		}
		n := uint64(math.Round(float64(lot*p.Share) / p.Grams))
		out[i].Count = int(binomial(rng, n, part))
		out[i].Mass = nutrient.Mass(math.Round(float64(float64(out[i].Count)*p.Grams) * float64(nutrient.Gram)))
	}
	return out
}

// spoonStream is the second half of the generator's seed.
const spoonStream = 0x5f00

// Portions are a drawn spoonful's kinds as a mix to analyse. It reports false
// where the mass of a kind's pieces is not known.
func Portions(drawn []Drawn) ([]analysis.Portion, bool) {
	out := make([]analysis.Portion, len(drawn))
	all := true
	for i, d := range drawn {
		out[i] = analysis.Portion{Form: d.Form, Mass: d.Mass}
		all = all && d.Known
	}
	return out, all
}

// chance is a probability as binary digits after the point; one is a certain
// thing.
type chance struct {
	digits uint64
	one    bool
}

func fraction(a, b uint64) chance {
	if a >= b {
		return chance{one: true}
	}
	q, _ := bits.Div64(a, 0, b)
	return chance{digits: q}
}

// binomial counts the successes in n trials. Every trial draws a uniform
// number digit by digit and succeeds when that is less than p: as soon as a
// digit differs from p's it is settled. The trials that are not settled yet
// are taken together, and so need only one random bit each for every digit,
// two in all.
func binomial(rng *rand.Rand, n uint64, p chance) uint64 {
	if p.one {
		return n
	}
	won := uint64(0)
	for digit := 63; digit >= 0 && n > 0; digit-- {
		ones := heads(rng, n)
		if p.digits>>digit&1 == 1 {
			won += n - ones
			n = ones
		} else {
			n -= ones
		}
	}
	return won
}

// heads tosses n coins.
func heads(rng *rand.Rand, n uint64) uint64 {
	sum := 0
	for ; n >= 64; n -= 64 {
		sum += bits.OnesCount64(rng.Uint64())
	}
	if n > 0 {
		sum += bits.OnesCount64(rng.Uint64() >> (64 - n))
	}
	return uint64(sum)
}
