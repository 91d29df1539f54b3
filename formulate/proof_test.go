package formulate

import (
	"bytes"
	"context"
	"math"
	"testing"

	"firlot/lp/verify"
)

// Every kind of answer comes with a certificate that the verifier, which
// shares no code with the solver, accepts for the same claim; and a
// certificate whose amounts are altered is refused.
func TestCertificates(t *testing.T) {
	adult := without(example(t, "gerbil-adult.toml"), "sureness", "prefer")
	for _, c := range []struct{ name, text, status string }{
		{"near", "prefer='near'\n" + adult, "optimal"},
		{"near and sure", "prefer='near'\nsureness='80 %'\n" + adult, "optimal"},
		{"varied", "prefer='varied'\n" + adult, "optimal"},
		{"steady", "prefer='steady'\n" + adult, "optimal"},
		{"impossible", shortOfFibre, "infeasible"},
	} {
		a, err := Solve(context.Background(), planOf(t, c.text), Options{Gap: -1, Proof: true})
		if err != nil {
			t.Fatal(err)
		}
		if a.Proof == nil {
			t.Fatalf("%s: no certificate", c.name)
		}
		r, err := verify.CheckBytes(a.Proof.JSON())
		if err != nil {
			t.Fatalf("%s: %v", c.name, err)
		}
		if r.Status != c.status && r.Status != "feasible" {
			t.Errorf("%s: the certificate proves %q, want %q", c.name, r.Status, c.status)
		}
		for i, n := range a.Steps {
			if v, _ := r.Point[i].Float64(); v != float64(n) {
				t.Errorf("%s: line %d is certified as %v, the answer says %d", c.name, i, v, n)
			}
		}
		if c.name == "near" {
			if v, _ := r.Objective.Float64(); math.Abs(v-a.Objective) > 1e-9 {
				t.Errorf("certified %v g moved, the answer says %v", v, a.Objective)
			}
		}
		if a.Steps != nil {
			refusesOtherAmounts(t, c.name, a)
		}
	}
}

func refusesOtherAmounts(t *testing.T, name string, a *Answer) {
	t.Helper()
	text := a.Proof.JSON()
	i := bytes.Index(text, []byte(`"point":["`))
	if i < 0 {
		t.Fatalf("%s: no point in the certificate", name)
	}
	altered := append([]byte(nil), text...)
	at := i + len(`"point":["`)
	altered[at] = '1' + (altered[at]-'0')%9
	if bytes.Equal(altered, text) {
		t.Fatal("nothing was altered")
	}
	if _, err := verify.CheckBytes(altered); err == nil {
		t.Errorf("%s: a certificate with another amount passes", name)
	}
}
