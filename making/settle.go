package making

import (
	"context"

	"firlot/formulate"
	"firlot/mix"
	"firlot/nutrient"
)

// Settle brings the amounts of a plan to the steps of the scales that will
// weigh them, inside every window and as near as can be to what they are: to
// whole steps of the first scale, and of the fine one where it takes the line.
// Amounts that are such already stay as they are. The answer's Amounts go into
// a [Setup].
func Settle(ctx context.Context, p *mix.Plan, amounts []nutrient.Mass, s Scale, bowls int, o formulate.Options) (*formulate.Mended, error) {
	if s.Step == 0 {
		s.Step = p.Document.Step
	}
	if err := s.check(); err != nil {
		return nil, err
	}
	if bowls < 1 || bowls > MaxBowls {
		return nil, fault("bowls", "is %d; it can be 1 to %d", bowls, MaxBowls)
	}
	step := make([]nutrient.Mass, len(amounts))
	for i, m := range amounts {
		// A line that may grow past what the fine scale takes is weighed in
		// steps that both scales show.
		if each := m / nutrient.Mass(bowls); s.onFine(each + each/growth) {
			step[i] = s.Fine.Step
		} else {
			step[i] = s.Step
		}
	}
	return formulate.Settle(ctx, p, amounts, step, o)
}

// growth: settling moves a line by steps, far less than an eighth of it.
const growth = 8
