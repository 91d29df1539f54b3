package formulate

import (
	"context"
	"fmt"

	"firlot/mix"
	"firlot/nutrient"
)

// Resize solves a mix anew for another batch. The amounts that the document
// has, scaled, are the mix to stay near to, so that the recipe keeps its
// shape; limits given in grams keep their grams, limits in per cent follow
// the batch.
func Resize(ctx context.Context, p *mix.Plan, batch nutrient.Mass, o Options) (*Answer, error) {
	return changed(ctx, p, o, func(d *mix.Document) error {
		d.Batch = batch
		return nil
	})
}

// Restep solves a mix anew for another scale.
func Restep(ctx context.Context, p *mix.Plan, step nutrient.Mass, o Options) (*Answer, error) {
	return changed(ctx, p, o, func(d *mix.Document) error {
		d.Step, d.StepOunces = step, 0
		return nil
	})
}

// Reprice solves a mix anew after the price of a kilogram of one line, named
// as in the document or by its form's reference, has changed.
func Reprice(ctx context.Context, p *mix.Plan, ingredient string, perKg float64, o Options) (*Answer, error) {
	return onLine(ctx, p, ingredient, o, func(l *mix.Line) { l.Price = &perKg })
}

// Restock solves a mix anew after the mass on hand of one line has changed.
func Restock(ctx context.Context, p *mix.Plan, ingredient string, onHand nutrient.Mass, o Options) (*Answer, error) {
	return onLine(ctx, p, ingredient, o, func(l *mix.Line) { l.OnHand = mix.Amount{Set: true, Mass: onHand} })
}

func onLine(ctx context.Context, p *mix.Plan, ingredient string, o Options, change func(*mix.Line)) (*Answer, error) {
	return changed(ctx, p, o, func(d *mix.Document) error {
		for i := range d.Lines {
			if d.Lines[i].Ingredient == ingredient || p.Lines[i].Form.Ref() == ingredient {
				change(&d.Lines[i])
				return nil
			}
		}
		return &mix.Problem{Path: "line", Message: fmt.Sprintf("%q is not among the lines", ingredient)}
	})
}

func changed(ctx context.Context, p *mix.Plan, o Options, change func(*mix.Document) error) (*Answer, error) {
	d := p.Document.Copy()
	if err := change(d); err != nil {
		return nil, err
	}
	q, err := p.With(d)
	if err != nil {
		return nil, err
	}
	return Solve(ctx, q, o)
}
