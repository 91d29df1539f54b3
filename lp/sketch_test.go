package lp

import (
	"math"
	"testing"
)

// A draft of a continuous model is what the proved answer says, within the
// tolerances of the float simplex.
func TestSketchAgreesWithSolve(t *testing.T) {
	cases := []mixing{
		{n: 14, k: 8, tight: 0.06, shift: 0.1},
		{n: 14, k: 8, tight: 0.06, shift: 0.1, cheapest: true},
		{n: 10, k: 5, tight: 0.08, shift: 0.08, cones: 2, z: 1.282},
	}
	found, none := 0, 0
	for i, c := range cases {
		for seed := uint64(0); seed < 60; seed++ {
			m := c.build(seed)
			d, err := Sketch(bg, m)
			if err != nil {
				t.Fatal(err)
			}
			r := mustSolve(t, m, Options{})
			if d.Status != r.Status {
				t.Fatalf("case %d seed %d: drafted %v, proved %v", i, seed, d.Status, r.Status)
			}
			if r.Status != Optimal {
				none++
				continue
			}
			found++
			if math.Abs(d.Objective-r.Objective) > 1e-6*math.Max(1, math.Abs(r.Objective)) {
				t.Fatalf("case %d seed %d: drafted %v, proved %v", i, seed, d.Objective, r.Objective)
			}
		}
	}
	if found < 60 || none < 3 {
		t.Fatalf("%d found, %d impossible", found, none)
	}
	if _, err := Sketch(bg, mixing{n: 5, k: 2, tight: 0.1, whole: true}.build(1)); err == nil {
		t.Fatal("a model with whole columns was drafted")
	}
}
