package lp

import (
	"context"
	"math/rand/v2"
	"testing"

	"firlot/lp/verify"
)

// G3: every certificate of a small model is accepted, and what it proves is
// what enumeration finds.
func TestCertificatesOfSmallModels(t *testing.T) {
	for seed := uint64(0); seed < 4000; seed++ {
		m := smallModel(rand.New(rand.NewPCG(seed, 2)))
		o := Options{Proof: true}
		if seed%3 == 0 {
			o.Gap = float64(seed % 5)
		}
		r := mustSolve(t, m, o)
		if r.Proof == nil {
			t.Fatalf("seed %d: no proof for %v", seed, r.Status)
		}
		rep, err := verify.CheckBytes(r.Proof.JSON())
		if err != nil {
			t.Fatalf("seed %d: %v\n%s", seed, err, r.Proof.JSON())
		}
		best, found := bruteForce(m)
		if !found {
			if rep.Status != "infeasible" {
				t.Fatalf("seed %d: %v, want infeasible", seed, rep.Status)
			}
			continue
		}
		if rep.Status != "optimal" || rep.Bound.Cmp(best) > 0 || rep.Objective.Cmp(best) < 0 {
			t.Fatalf("seed %d: %v bound %v objective %v, best %v", seed, rep.Status, rep.Bound, rep.Objective, best)
		}
		if g, _ := rep.Gap.Float64(); g > o.Gap {
			t.Fatalf("seed %d: gap %v, asked for %v", seed, g, o.Gap)
		}
	}
}

// G3 for realistic models, whole and not, and for searches that were stopped.
func TestCertificatesOfMixing(t *testing.T) {
	cases := []mixing{
		{n: 20, k: 10, tight: 0.06, shift: 0.1},
		{n: 12, k: 20, tight: 0.05, shift: 0.2},
		{n: 15, k: 8, tight: 0.06, shift: 0.1, whole: true},
		{n: 15, k: 8, tight: 0.06, shift: 0.1, whole: true, minPart: 20, most: 7},
		{n: 12, k: 6, tight: 0.08, shift: 0.05, minPart: 20, most: 6},
		{n: 15, k: 6, tight: 0.08, shift: 0.08, whole: true, cones: 2, z: 1.282},
		{n: 10, k: 5, tight: 0.08, shift: 0.08, cones: 1, z: 1.282},
		{n: 10, k: 5, tight: 0.08, shift: 0.08, cones: 1, z: 1.282, minPart: 30},
	}
	for i, c := range cases {
		for seed := uint64(0); seed < 25; seed++ {
			o := Options{Proof: true, Gap: 1}
			if seed%5 == 4 {
				o.Nodes = 3
			}
			r := mustSolve(t, c.build(seed), o)
			if r.Status == Trouble {
				t.Fatalf("case %d seed %d: trouble", i, seed)
			}
			rep, err := verify.CheckBytes(r.Proof.JSON())
			if err != nil {
				t.Fatalf("case %d seed %d %v: %v", i, seed, r.Status, err)
			}
			if rep.Status != r.Status.String() {
				t.Fatalf("case %d seed %d: %v, not %v", i, seed, rep.Status, r.Status)
			}
			if rep.Gap != nil && r.Status == Optimal {
				if g, _ := rep.Gap.Float64(); g > 1 {
					t.Fatalf("case %d seed %d: gap %v", i, seed, g)
				}
			}
		}
	}
}

// G4: the same model gives the same bytes.
func TestDeterminism(t *testing.T) {
	c := mixing{n: 20, k: 10, tight: 0.06, shift: 0.1, whole: true, minPart: 20, most: 7}
	for seed := uint64(0); seed < 10; seed++ {
		a := mustSolve(t, c.build(seed), Options{Proof: true})
		b := mustSolve(t, c.build(seed), Options{Proof: true})
		if string(a.Proof.JSON()) != string(b.Proof.JSON()) || a.Nodes != b.Nodes || a.Pivots != b.Pivots {
			t.Fatalf("seed %d: two runs differ", seed)
		}
	}
}

// A context that has ended stops the search without a false claim.
func TestStoppedByContext(t *testing.T) {
	ctx, cancel := context.WithCancel(context.Background())
	cancel()
	r, err := Solve(ctx, mixing{n: 20, k: 10, tight: 0.06, shift: 0.1, whole: true}.build(1), Options{})
	if err != nil || (r.Status != Stopped && r.Status != Feasible) {
		t.Fatalf("%v %v", r.Status, err)
	}
}
