package making

import "firlot/nutrient"

// fineBelow: a line of fewer steps of the first scale than this goes on the
// fine one, since a step would be more than 2 % of it. Common practice, no
// source.
const fineBelow = 50

// onFine reports whether the fine scale takes a mass into one bowl.
func (s Scale) onFine(m nutrient.Mass) bool {
	return s.Fine != nil && m < fineBelow*s.Step && m <= s.Fine.Ceiling
}

// stepFor is the step with which a mass into one bowl is weighed.
func (s Scale) stepFor(m nutrient.Mass) nutrient.Mass {
	if s.onFine(m) {
		return s.Fine.Step
	}
	return s.Step
}

// room is what the bowl on the scale may hold, in whole steps; 0 when there
// is no ceiling.
func (s Scale) room() nutrient.Mass {
	if s.Ceiling == 0 {
		return 0
	}
	return max((s.Ceiling-s.Vessel)/s.Step, 1) * s.Step
}

// splitter shares lines out over bowls: each bowl gets the whole steps of an
// even share, and the steps left over go one by one to the bowls in turn,
// across lines too, so that the bowls' sums stay within one step of each
// other. Fine steps take their own turn.
type splitter struct {
	bowls int
	turn  [2]int // whose turn it is for a coarse and for a fine step
}

// share splits a mass into whole steps; what is less than a step goes to the
// bowl whose turn it is.
func (s *splitter) share(m, step nutrient.Mass, fine bool) []nutrient.Mass {
	out := make([]nutrient.Mass, s.bowls)
	k := 0
	if fine {
		k = 1
	}
	n := nutrient.Mass(s.bowls)
	steps := m / step
	for b := range out {
		out[b] = steps / n * step
	}
	for range steps % n {
		out[s.turn[k]] += step
		s.turn[k] = (s.turn[k] + 1) % s.bowls
	}
	out[s.turn[k]] += m % step
	return out
}

// level shares a mass out evenly over bowls that hold some of it already,
// none getting less than it has. It needs m to be at least what they hold.
func (s *splitter) level(m, step nutrient.Mass, fine bool, have []nutrient.Mass) []nutrient.Mass {
	out := s.share(m, step, fine)
	for {
		var over nutrient.Mass
		for b := range out {
			if have[b] > out[b] {
				over += have[b] - out[b]
				out[b] = have[b]
			}
		}
		if over == 0 {
			return out
		}
		s.lower(out, have, over, step)
	}
}

// lower takes a mass out of the bowls whose share is above what they hold,
// step by step from the one with most to spare, the first among equals.
func (s *splitter) lower(out, have []nutrient.Mass, over, step nutrient.Mass) {
	for over > 0 {
		most := 0
		for b := range out {
			if out[b]-have[b] > out[most]-have[most] {
				most = b
			}
		}
		take := min(over, step, out[most]-have[most])
		if take <= 0 {
			return
		}
		out[most] -= take
		over -= take
	}
}
