package scales

import "math/big"

// State is what a frame says of the scale.
type State string

const (
	Stable     State = "stable"
	Moving     State = "moving"
	Zero       State = "zero"       // stable, at the centre of zero
	Shown      State = "shown"      // a weight; whether it is still is not told
	Over       State = "over"       // more than the scale takes
	Under      State = "under"      // below zero, or less than the scale takes
	Fault      State = "fault"      // the scale says that something is wrong with it
	Calibrate  State = "calibrate"  // it wants to be calibrated
	Rezero     State = "rezero"     // it wants to be set to zero
	Busy       State = "busy"       // it cannot answer now
	OtherUnit  State = "unit"       // a weight in a unit that is not read, or a count
	Nothing    State = "nothing"    // an empty line
	Unreadable State = "unreadable" // none of the above
)

// States lists them all.
func States() []State {
	return []State{Stable, Moving, Zero, Shown, Over, Under, Fault, Calibrate, Rezero, Busy, OtherUnit, Nothing, Unreadable}
}

// Weighs reports whether a reading in the state has a weight.
func (s State) Weighs() bool { return s == Stable || s == Moving || s == Zero || s == Shown }

// Reading is what one frame says.
type Reading struct {
	State   State
	Mg      int64 // milligrams; 0 unless State.Weighs
	Rounded bool  // Mg is the nearest whole milligram, not the weight itself
}

// MaxMg bounds what is taken for a weight: a tonne, more than any scale that
// a mix is weighed on.
const MaxMg = 1_000_000_000

// unit is a unit as a fraction of milligrams.
type unit struct{ mg, of int64 }

var (
	milligram = unit{1, 1}
	gram      = unit{1000, 1}
	kilogram  = unit{1_000_000, 1}
	ounce     = unit{45_359_237, 1600} // a sixteenth of a pound
	pound     = unit{45_359_237, 100}
)

// maxPower bounds the power of ten that is worked out; with more digits than
// that no weight stays within MaxMg, or above half a milligram.
const maxPower = 40

// weigh is n·10^power of a unit in whole milligrams. It reports false for what
// is no weight: more than MaxMg.
func weigh(n *big.Int, power int, u unit) (mg int64, rounded, ok bool) {
	if n.Sign() == 0 {
		return 0, false, true
	}
	if power > maxPower {
		return 0, false, false
	}
	power = max(power, -maxPower)
	num := new(big.Int).Mul(n, big.NewInt(u.mg))
	den := big.NewInt(u.of)
	ten := new(big.Int).Exp(big.NewInt(10), big.NewInt(int64(max(power, -power))), nil)
	if power > 0 {
		num.Mul(num, ten)
	} else {
		den.Mul(den, ten)
	}
	q, rest := new(big.Int).QuoRem(num, den, new(big.Int)) // towards nought
	if rest.Sign() != 0 {
		rounded = true
		if rest.Abs(rest).Lsh(rest, 1).Cmp(den) >= 0 {
			q.Add(q, big.NewInt(int64(num.Sign())))
		}
	}
	if !q.IsInt64() || q.Int64() > MaxMg || q.Int64() < -MaxMg {
		return 0, false, false
	}
	return q.Int64(), rounded, true
}

// in is a reading of n·10^power of a unit.
func in(s State, n *big.Int, power int, u unit) Reading {
	mg, rounded, ok := weigh(n, power, u)
	if !ok {
		return Reading{State: Unreadable}
	}
	return Reading{s, mg, rounded}
}
