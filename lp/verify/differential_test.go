package verify_test

import (
	"context"
	"encoding/json"
	"math"
	"math/big"
	"math/rand/v2"
	"os"
	"strconv"
	"testing"

	"firlot/lp"
	"firlot/lp/verify"
)

// wide makes a random model with everything that a model may have: columns
// that are whole or not, free, bounded on one side or switched, decimals that
// are no short fractions, counts and cones; and its certificate, nil if there
// is none.
func wide(seed uint64, nodes int) []byte {
	r := rand.New(rand.NewPCG(seed, 21))
	m := lp.NewModel()
	n := 1 + r.IntN(6)
	share := r.Float64()    // of whole columns
	loose := r.IntN(4) == 0 // counts speak of columns without a least amount too
	var switches []lp.Var
	for j := 0; j < n; j++ {
		c := lp.Column{Hi: float64(1+r.IntN(40)) / 4, Cost: odd(r), Integer: r.Float64() < share}
		switch r.IntN(6) {
		case 0:
			c.Lo = -odd(r) * odd(r)
			c.Lo, c.Hi = min(c.Lo, 0), max(-c.Lo, 0)
		case 1:
			c.Lo, c.Hi = math.Inf(-1), math.Inf(1)
		case 2:
			c.Hi = math.Inf(1)
		case 3:
			c.NothingOr = math.Min(c.Hi, float64(1+r.IntN(9))/4)
		}
		if r.IntN(3) > 0 {
			at := max(c.Lo, -8)
			for k := r.IntN(4); k > 0; k-- {
				if at += float64(1+r.IntN(8)) / 4; at < c.Hi {
					c.Breaks = append(c.Breaks, lp.Break{At: at, Rise: 0.1 + r.Float64()})
				}
			}
		}
		v := m.AddColumn(c)
		if c.Lo == 0 && !math.IsInf(c.Hi, 1) && (loose || c.Integer || c.NothingOr > 0) {
			switches = append(switches, v)
		}
	}
	terms := func() (ts []lp.Term) {
		for j := 0; j < n; j++ {
			if r.IntN(4) > 0 {
				ts = append(ts, lp.Term{Var: lp.Var(j), Coef: odd(r)})
			}
		}
		return ts
	}
	for i := r.IntN(5); i > 0; i-- {
		a := 4 * odd(r)
		m.AddRow(lp.Row{Lo: a, Hi: a + float64(r.IntN(5)), Terms: terms()})
	}
	for i := r.IntN(3); i > 0 && len(switches) > 0; i-- {
		c := lp.Count{Vars: switches, Most: 1 + r.IntN(len(switches))}
		if !loose {
			c.Least = r.IntN(c.Most + 1)
		}
		m.AddCount(c)
	}
	for i := r.IntN(3); i > 0; i-- {
		m.AddCone(lp.Cone{Lo: -float64(r.IntN(9)), Terms: terms(), Z: r.Float64() * 2, Spread: terms()})
	}
	res, err := lp.Solve(context.Background(), m, lp.Options{Proof: true, Nodes: nodes})
	if err != nil || res.Proof == nil {
		return nil
	}
	return res.Proof.JSON()
}

// odd is a figure near zero: a whole number, a quarter or a decimal.
func odd(r *rand.Rand) float64 {
	switch v := float64(r.IntN(41) - 20); r.IntN(3) {
	case 0:
		return v / 4
	case 1:
		return v / 10
	default:
		return math.Round(v / 4)
	}
}

// compare checks one document in both ways. It reports whether it is accepted.
func compare(t *testing.T, data []byte) bool {
	t.Helper()
	rep, err := verify.CheckBytes(data)
	objective, proved, why := verify.ReferenceCheck(data)
	if (err == nil) != (why == "") {
		t.Fatalf("the check says %v, the reference %q\n%s", err, why, data)
	}
	if err != nil {
		return false
	}
	same := func(a, b *big.Rat) bool { return a == b || a != nil && b != nil && a.Cmp(b) == 0 }
	if !same(rep.Objective, objective) || !same(rep.Proved, proved) {
		t.Fatalf("objective %v, %v in the reference; proved %v, %v\n%s", rep.Objective, objective, rep.Proved, proved, data)
	}
	return true
}

// modest turns a claim into one that says little, so that what a tree proves
// is compared and not only whether it is enough.
func modest(doc any) {
	d, ok := doc.(map[string]any)
	if !ok {
		return
	}
	if c, ok := d["claim"].(map[string]any); ok && c["status"] == "optimal" {
		c["status"] = "feasible"
	}
	if c, ok := d["claim"].(map[string]any); ok && c["bound"] != nil {
		c["bound"] = "-1p300"
	}
}

// proofs is FIRLOT_PROOFS, or else n.
func proofs(t *testing.T, n uint64) uint64 {
	s := os.Getenv("FIRLOT_PROOFS")
	if s == "" {
		return n
	}
	v, err := strconv.ParseUint(s, 10, 32)
	if err != nil {
		t.Fatalf("FIRLOT_PROOFS=%q is no number", s)
	}
	return v
}

func marshal(t *testing.T, v any) []byte {
	t.Helper()
	out, err := json.Marshal(v)
	if err != nil {
		t.Fatal(err)
	}
	return out
}

// V5, of FIRLOT_PROOFS certificates of each kind: whole numbers over common denominators say of every document, sound or
// altered, what fractions in lowest terms say.
func TestAgreesWithFractions(t *testing.T) {
	sources := []func(seed uint64) []byte{
		func(s uint64) []byte { return small(s, lp.Options{}) },
		func(s uint64) []byte { return wide(s, 60) },
		func(s uint64) []byte { return wide(s, 3) },
	}
	accepted, refused := 0, 0
	for k, source := range sources {
		for seed := uint64(0); seed < proofs(t, 60); seed++ {
			data := source(seed)
			if data == nil {
				continue
			}
			if !compare(t, data) {
				t.Fatalf("source %d seed %d: a sound certificate is refused\n%s", k, seed, data)
			}
			r := rand.New(rand.NewPCG(seed, uint64(k)))
			for i := 0; i < 40; i++ {
				var v any
				if err := json.Unmarshal(data, &v); err != nil {
					t.Fatal(err)
				}
				for n := r.IntN(4); n > 0; n-- {
					v = mutate(r, v)
				}
				if r.IntN(3) > 0 {
					modest(v)
				}
				if compare(t, marshal(t, v)) {
					accepted++
				} else {
					refused++
				}
			}
		}
	}
	t.Logf("both ways accept %d and refuse %d of the altered documents", accepted, refused)
	if accepted < refused/10 || refused < accepted/10 {
		t.Fatal("the test has lost its meaning")
	}
}
