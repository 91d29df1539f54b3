package web

import (
	"context"
	"errors"

	"firlot/formulate"
	"firlot/making"
)

// settle brings amounts that the scales cannot show to their steps, where that
// stays inside the windows, and returns how sure the mix is then. Amounts that
// the scales show, and those that cannot be brought there, stay as they are.
func (d *startDraft) settle(joint float64) (float64, error) {
	_, err := making.Begin(d.plan, making.Setup{Document: d.text, Amounts: d.amounts, Scale: d.scale, Bowls: d.bowls})
	var no *making.Fault
	if !errors.As(err, &no) {
		return joint, err
	}
	ctx, cancel := context.WithTimeout(d.q.Context(), solveTime)
	defer cancel()
	p, err := d.plan.With(d.doc) // limits are tried out on the plan that is given
	if err != nil {
		return joint, err
	}
	m, err := making.Settle(ctx, p, d.amounts, d.scale, d.bowls, formulate.Options{})
	if errors.As(err, &no) || err == nil && m.Outcome != formulate.SameBatch {
		return joint, nil
	}
	if err != nil {
		return joint, err
	}
	d.amounts, d.view.Moved = m.Amounts, true
	return m.Joint, nil
}
