package formulate

import (
	"context"
	"testing"

	"firlot/nutrient"
)

func TestChanges(t *testing.T) {
	ctx := context.Background()
	priced := `
batch = "1 kg"
prefer = "cheap"
[[window]]
nutrient = "crude_protein"
min = 15
max = 16
[[line]]
ingredient = "oats/groats"
price = 2
[[line]]
ingredient = "wheat/whole"
price = 1
[[line]]
ingredient = "pea/whole"
price = 1.5
`
	p := planOf(t, priced)
	first := solved(t, priced)
	double, err := Resize(ctx, p, 2*nutrient.Kilogram, Options{Gap: -1})
	if err != nil || double.Status != Found || double.Plan.Steps != 2000 {
		t.Fatalf("%v %v", double, err)
	}
	if double.Objective > 2*first.Objective+1e-9 {
		t.Errorf("two kilograms cost %v, one costs %v", double.Objective, first.Objective)
	}
	fine, err := Restep(ctx, p, 100*nutrient.Milligram, Options{Gap: -1})
	if err != nil || fine.Plan.Steps != 10000 || fine.Objective > first.Objective+1e-9 {
		t.Errorf("a finer scale costs %v, the coarse one %v (%v)", fine.Objective, first.Objective, err)
	}
	dear, err := Reprice(ctx, p, "wheat/whole", 10, Options{Gap: -1})
	if err != nil || dear.Status != Found || dear.Steps[1] >= first.Steps[1] {
		t.Errorf("dear wheat is used as much: %v of %v (%v)", dear.Steps, first.Steps, err)
	}
	short, err := Restock(ctx, p, "wheat/whole", 50*nutrient.Gram, Options{Gap: -1})
	if err != nil || short.Status != Found || short.Steps[1] > 50 {
		t.Errorf("50 g of wheat on hand: %v (%v)", short.Steps, err)
	}
	if _, err := Reprice(ctx, p, "gravel", 1, Options{}); err == nil {
		t.Error("gravel has no price")
	}
	if p.Document.Lines[1].OnHand.Set || *p.Document.Lines[1].Price != 1 {
		t.Error("a change has reached the first document")
	}
}
