package verify_test

import (
	"encoding/json"
	"math/big"
	"math/rand/v2"
	"testing"

	"firlot/lp/verify"
)

// altered changes what stands under some keys of a document, and nothing else.
func altered(r *rand.Rand, d object, keys ...string) {
	part := object{}
	for _, k := range keys {
		if d[k] != nil {
			part[k] = d[k]
		}
	}
	for n := 1 + r.IntN(4); n > 0; n-- {
		mutate(r, part)
	}
	for _, k := range keys {
		delete(d, k)
		if part[k] != nil {
			d[k] = part[k]
		}
	}
}

// V7, of FIRLOT_PROOFS models of every kind of rule, whole or not: where there
// is a point, no tree, tangents and grid, altered or made up, prove a bound
// above its cost, nor that there is none. The reference draws the same
// conclusions as the check, this test draws none.
func TestNoTreeProvesMoreThanAPointCosts(t *testing.T) {
	proved, tight := 0, 0
	for seed := uint64(0); seed < proofs(t, 400); seed++ {
		data := wide(seed, 60)
		if data == nil {
			continue
		}
		sound, err := verify.CheckBytes(data)
		if err != nil {
			t.Fatal(err)
		}
		if sound.Objective == nil {
			continue
		}
		r := rand.New(rand.NewPCG(seed, 47))
		for k := range 40 {
			var d object
			if err := json.Unmarshal(data, &d); err != nil {
				t.Fatal(err)
			}
			if s := (&scrambler{r: r, model: d["model"].(object), cuts: list(d, "cuts")}); k%4 == 3 {
				s.document(d)
			} else {
				altered(r, d, "tree", "cuts", "grid")
				delete(d, "point")
			}
			d["claim"] = object{"status": "infeasible"}
			if _, err := verify.CheckBytes(marshal(t, d)); err == nil {
				t.Fatalf("seed %d: there is a point, but it is accepted that there is none\n%s", seed, marshal(t, d))
			}
			d["claim"] = object{"status": "stopped", "bound": "-1p300"}
			rep, err := verify.CheckBytes(marshal(t, d))
			if err != nil {
				continue
			}
			gap := new(big.Rat)
			if rep.Proved == nil || gap.Sub(sound.Objective, rep.Proved).Sign() < 0 {
				t.Fatalf("seed %d: %v is proved, but a point costs %v\n%s", seed, rep.Proved, sound.Objective, marshal(t, d))
			}
			if proved++; gap.Sign() == 0 {
				tight++
			}
		}
	}
	t.Logf("%d trees prove a bound, %d of them the best", proved, tight)
	if tight == 0 || tight == proved {
		t.Fatal("the test has lost its meaning")
	}
}
