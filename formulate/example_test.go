package formulate_test

import (
	"context"
	"fmt"
	"log"
	"os"

	catfiles "firlot/catalog/files"
	"firlot/formulate"
	"firlot/mix"
	mixfiles "firlot/mix/files"
	needfiles "firlot/needs/files"
	"firlot/nutrient"
)

func resolved(name string) *mix.Plan {
	text, err := os.ReadFile("../examples/" + name)
	if err != nil {
		log.Fatal(err)
	}
	c, err := catfiles.Builtin()
	if err != nil {
		log.Fatal(err)
	}
	n, err := needfiles.Builtin()
	if err != nil {
		log.Fatal(err)
	}
	f, err := mixfiles.Parse(name, text)
	if err != nil {
		log.Fatal(err)
	}
	p, err := mix.Resolve(f.Document, c, n)
	if err != nil {
		log.Fatal(err)
	}
	return p
}

// 120 g of sunflower are in the bowl instead of 56 g, and three other lines
// are poured and put away.
func ExampleAround() {
	p := resolved("gerbil-adult.toml")
	a, err := formulate.Solve(context.Background(), p, formulate.Options{})
	if err != nil {
		log.Fatal(err)
	}
	b := formulate.Bowl{Batch: p.Batch(), Near: a.Amounts(), Poured: make([]nutrient.Mass, len(p.Lines)), Finished: make([]bool, len(p.Lines))}
	for i, l := range p.Lines {
		switch l.Form.Ref() {
		case "oats/groats", "proso-millet/in-hull", "canary-seed/in-hull":
			b.Poured[i], b.Finished[i] = b.Near[i], true
		case "sunflower/in-shell-striped":
			b.Poured[i] = 120 * nutrient.Gram
		}
	}
	m, err := formulate.Around(context.Background(), p, b, formulate.Options{})
	if err != nil {
		log.Fatal(err)
	}
	fmt.Printf("%s of %v, %d finished lines opened anew; none below %v is inside\n", m.Outcome, m.Batch, len(m.Reopened), m.NoneBelow)
	fmt.Printf("%.0f of 100 sets of bags inside; %v would be inside too, in %.0f of 100\n", 100*m.Joint, m.Other.Batch, 100*m.Other.Joint)
	// Output:
	// larger batch of 1115 g, 0 finished lines opened anew; none below 1000 g is inside
	// 80 of 100 sets of bags inside; 1000 g would be inside too, in 66 of 100
}

// One base for the young and for the grown, and what the young get besides.
func ExampleFindBase() {
	plans := []*mix.Plan{resolved("gerbil-growing.toml"), resolved("gerbil-adult.toml")}
	for _, p := range plans {
		p.Document.Sureness = 0 // windows on the means only
	}
	m, err := formulate.FindBase(context.Background(), plans, formulate.BaseOptions{})
	if err != nil {
		log.Fatal(err)
	}
	fmt.Printf("%s: largest topper %v to %v of base, proved least: %v\n", m.Status, m.Largest, m.BaseMass, m.Largest == m.LargestBound)
	for _, g := range m.Stages {
		for i, x := range g.Topper {
			if x > 0 {
				fmt.Printf("%s: %v of %s\n", g.Plan.Document.Title, x, g.Plan.Lines[i].Form.Ref())
			}
		}
	}
	// Output:
	// found: largest topper 31 g to 1000 g of base, proved least: true
	// Skerra Rescue: young gerbils: 31 g of mealworm/dried
}
