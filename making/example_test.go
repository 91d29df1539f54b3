package making_test

import (
	"context"
	"fmt"
	"log"
	"os"

	catfiles "firlot/catalog/files"
	"firlot/formulate"
	"firlot/making"
	"firlot/mix"
	mixfiles "firlot/mix/files"
	needfiles "firlot/needs/files"
	"firlot/nutrient"
)

// everyday resolves the everyday example and solves it.
func everyday() (*mix.Plan, []nutrient.Mass) {
	text, err := os.ReadFile("../examples/gerbil-adult.toml")
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
	f, err := mixfiles.Parse("gerbil-adult.toml", text)
	if err != nil {
		log.Fatal(err)
	}
	p, err := mix.Resolve(f.Document, c, n)
	if err != nil {
		log.Fatal(err)
	}
	a, err := formulate.Solve(context.Background(), p, formulate.Options{})
	if err != nil {
		log.Fatal(err)
	}
	return p, a.Amounts()
}

// A start and a log come to a state, which says what to pour next.
func ExampleOf() {
	plan, amounts := everyday()
	start, err := making.Begin(plan, making.Setup{Amounts: amounts, Scale: making.Scale{Step: nutrient.Gram, Ceiling: 500 * nutrient.Gram}})
	if err != nil {
		log.Fatal(err)
	}
	var events []making.Event
	for i := range 4 {
		state, err := making.Of(start, events)
		if err != nil {
			log.Fatal(err)
		}
		n := state.Next
		tip := ""
		if n.Tip {
			tip = "tip the bowl out; "
		}
		fmt.Printf("%s%v of %s; the scale then shows %v\n", tip, n.Mass, n.Ref, n.After)
		events = append(events, making.Event{Key: fmt.Sprint(i), Kind: making.Pour, Ref: n.Ref, Mass: n.Mass})
	}
	// Output:
	// 220 g of proso-millet/in-hull; the scale then shows 220 g
	// 208 g of oats/groats; the scale then shows 428 g
	// tip the bowl out; 140 g of canary-seed/in-hull; the scale then shows 140 g
	// 131 g of buckwheat/in-hull; the scale then shows 271 g
}

// A hand slips at the first line, and the lines still to come make up for it.
func ExampleRescue() {
	plan, amounts := everyday()
	start, err := making.Begin(plan, making.Setup{Amounts: amounts})
	if err != nil {
		log.Fatal(err)
	}
	events := []making.Event{{Key: "1", Kind: making.Pour, Ref: "proso-millet/in-hull", Mass: 260 * nutrient.Gram}}
	state, err := making.Of(start, events)
	if err != nil {
		log.Fatal(err)
	}
	slip := making.Slip{Kind: making.TooMuch, Ref: "proso-millet/in-hull"}
	r, err := making.Rescue(context.Background(), plan, state, slip, making.RescueOptions{})
	if err != nil {
		log.Fatal(err)
	}
	fmt.Printf("%s: %v, %v moved\n", r.Outcome, r.Batch, r.Mended.Moved)
	for _, c := range r.Changes {
		if c.Now != c.Planned {
			fmt.Printf("%s: %v instead of %v, %v still to pour\n", c.Ref, c.Now, c.Planned, c.More)
		}
	}
	events = append(events, making.Event{Key: "2", Kind: making.Replan, Plan: r.Plan})
	if state, err = making.Of(start, events); err != nil {
		log.Fatal(err)
	}
	fmt.Printf("next: %v of %s\n", state.Next.Mass, state.Next.Ref)
	// Output:
	// same batch: 1000 g, 42 g moved
	// oats/groats: 188 g instead of 208 g, 188 g still to pour
	// proso-millet/in-hull: 260 g instead of 220 g, 0 g still to pour
	// buckwheat/in-hull: 119 g instead of 131 g, 119 g still to pour
	// barley/in-hull: 40 g instead of 50 g, 40 g still to pour
	// linseed/whole: 14 g instead of 13 g, 14 g still to pour
	// pumpkin-seed/kernel: 9 g instead of 8 g, 9 g still to pour
	// next: 188 g of oats/groats
}

// A lot code that can be written on a jar and is checked when it is typed in.
func ExampleBatchCode() {
	code, err := making.BatchCode("2026-11-25", 1)
	if err != nil {
		log.Fatal(err)
	}
	fmt.Println(code)
	read, ok := making.ReadBatchCode("261125 01 1" /* mistyped */)
	fmt.Printf("%q %v\n", read, ok)
	// Output:
	// 261125-01-7
	// "" false
}
