package verify_test

import (
	"context"
	"encoding/json"
	"fmt"
	"math/big"
	"math/rand/v2"
	"strconv"
	"strings"
	"testing"

	"firlot/lp"
	"firlot/lp/verify"
)

// small makes a random whole model and its certificate.
func small(seed uint64, o lp.Options) []byte {
	r := rand.New(rand.NewPCG(seed, 9))
	m := lp.NewModel()
	n := 1 + r.IntN(3)
	for j := 0; j < n; j++ {
		c := lp.Column{Hi: float64(1 + r.IntN(5)), Cost: float64(r.IntN(13)-6) / 2, Integer: true}
		if r.IntN(3) == 0 {
			c.NothingOr = 2
		}
		if c.Hi > 2 && r.IntN(2) == 0 {
			c.Breaks = []lp.Break{{At: 1, Rise: 1.5}}
		}
		m.AddColumn(c)
	}
	terms := func() (ts []lp.Term) {
		for j := 0; j < n; j++ {
			ts = append(ts, lp.Term{Var: lp.Var(j), Coef: float64(r.IntN(11)-5) / 2})
		}
		return ts
	}
	for i := r.IntN(3); i > 0; i-- {
		a := float64(r.IntN(9) - 4)
		m.AddRow(lp.Row{Lo: a, Hi: a + float64(r.IntN(3)), Terms: terms()})
	}
	if r.IntN(2) == 0 {
		c := lp.Count{Most: 1 + r.IntN(n), Least: r.IntN(2)}
		for j := 0; j < n; j++ {
			c.Vars = append(c.Vars, lp.Var(j))
		}
		m.AddCount(c)
	}
	if r.IntN(3) == 0 {
		m.AddCone(lp.Cone{Lo: float64(-r.IntN(4)), Terms: terms(), Z: 1.25, Spread: terms()})
	}
	o.Proof = true
	res, err := lp.Solve(context.Background(), m, o)
	if err != nil {
		panic(err)
	}
	return res.Proof.JSON()
}

// truth enumerates the model of a document with code of its own.
type truth struct {
	Claim struct{ Status, Objective, Bound string }
	Model struct {
		Columns []struct {
			Lo, Hi, Cost, Least string
			Breaks              [][2]string
		}
		Rows []struct {
			Lo, Hi string
			Terms  []struct {
				C int
				V string
			}
		}
		Counts []struct {
			Cols        []int
			Least, Most int
		}
		Cones []struct {
			Lo, Z         string
			Terms, Spread []struct {
				C int
				V string
			}
		}
	}
}

func num(s string) *big.Rat {
	e := 0
	if i := strings.IndexByte(s, 'p'); i >= 0 {
		e, _ = strconv.Atoi(s[i+1:])
		s = s[:i]
	}
	if s == "" {
		s = "0"
	}
	r, ok := new(big.Rat).SetString(s)
	if !ok {
		panic(s)
	}
	for ; e > 0; e-- {
		r.Mul(r, big.NewRat(2, 1))
	}
	for ; e < 0; e++ {
		r.Mul(r, big.NewRat(1, 2))
	}
	return r
}

// best is the least cost over all whole points, nil if there is none, and
// false if the box is too large to enumerate.
func (d *truth) best() (*big.Rat, bool) {
	n := len(d.Model.Columns)
	lo, hi := make([]int64, n), make([]int64, n)
	size := int64(1)
	for j, c := range d.Model.Columns {
		if c.Lo == "" || c.Hi == "" {
			return nil, false
		}
		l, h := num(c.Lo), num(c.Hi)
		lf, _ := l.Float64()
		hf, _ := h.Float64()
		if lf < -60 || hf > 60 {
			return nil, false
		}
		lo[j], hi[j] = int64(lf)-1, int64(hf)+1
		size *= hi[j] - lo[j] + 1
		if size > 4000 {
			return nil, false
		}
	}
	var best *big.Rat
	x := append([]int64(nil), lo...)
	for {
		if c := d.cost(x); c != nil && (best == nil || c.Cmp(best) < 0) {
			best = c
		}
		j := 0
		for ; j < n; j++ {
			if x[j]++; x[j] <= hi[j] {
				break
			}
			x[j] = lo[j]
		}
		if j == n {
			return best, true
		}
	}
}

func (d *truth) cost(x []int64) *big.Rat {
	sum := new(big.Rat)
	for j, c := range d.Model.Columns {
		v := big.NewRat(x[j], 1)
		if v.Cmp(num(c.Lo)) < 0 || v.Cmp(num(c.Hi)) > 0 {
			return nil
		}
		if c.Least != "" && x[j] != 0 && v.Cmp(num(c.Least)) < 0 {
			return nil
		}
		sum.Add(sum, new(big.Rat).Mul(v, num(c.Cost)))
		for _, b := range c.Breaks {
			if t := new(big.Rat).Sub(v, num(b[0])); t.Sign() > 0 {
				sum.Add(sum, t.Mul(t, num(b[1])))
			}
		}
	}
	for _, r := range d.Model.Rows {
		s := new(big.Rat)
		for _, t := range r.Terms {
			s.Add(s, new(big.Rat).Mul(num(t.V), big.NewRat(x[t.C], 1)))
		}
		if r.Lo != "" && s.Cmp(num(r.Lo)) < 0 || r.Hi != "" && s.Cmp(num(r.Hi)) > 0 {
			return nil
		}
	}
	for _, c := range d.Model.Counts {
		k := 0
		for _, j := range c.Cols {
			if x[j] != 0 {
				k++
			}
		}
		if k < c.Least || k > c.Most {
			return nil
		}
	}
	for _, k := range d.Model.Cones {
		t, q := new(big.Rat).Neg(num(k.Lo)), new(big.Rat)
		for _, e := range k.Terms {
			t.Add(t, new(big.Rat).Mul(num(e.V), big.NewRat(x[e.C], 1)))
		}
		for _, e := range k.Spread {
			v := new(big.Rat).Mul(num(e.V), big.NewRat(x[e.C], 1))
			q.Add(q, v.Mul(v, v))
		}
		z := num(k.Z)
		if t.Sign() < 0 || t.Mul(t, t).Cmp(q.Mul(q, z.Mul(z, z))) < 0 {
			return nil
		}
	}
	return sum
}

// falseClaim says in what way the claim of an accepted document is false, ""
// if it is true or too large to tell.
func falseClaim(data []byte) string {
	var d truth
	if err := json.Unmarshal(data, &d); err != nil {
		return "cannot be read: " + err.Error()
	}
	best, ok := d.best()
	if !ok {
		return ""
	}
	switch d.Claim.Status {
	case "infeasible":
		if best != nil {
			return "there is a point of cost " + best.String()
		}
	case "optimal", "feasible":
		if best == nil {
			return "there is no point"
		}
		if num(d.Claim.Objective).Cmp(best) < 0 {
			return "the objective is below the best " + best.String()
		}
		if d.Claim.Bound != "" && num(d.Claim.Bound).Cmp(best) > 0 {
			return "the bound is above the best " + best.String()
		}
	case "stopped":
		if best != nil && d.Claim.Bound != "" && num(d.Claim.Bound).Cmp(best) > 0 {
			return "the bound is above the best " + best.String()
		}
	}
	return ""
}

// mutate changes one place of a decoded document.
func mutate(r *rand.Rand, v any) any {
	switch t := v.(type) {
	case map[string]any:
		keys := make([]string, 0, len(t))
		for _, k := range []string{"claim", "status", "objective", "bound", "model", "columns", "rows", "counts", "cones",
			"lo", "hi", "cost", "breaks", "whole", "least", "most", "terms", "spread", "z", "c", "v", "cols", "grid", "row",
			"mult", "point", "cuts", "cone", "dir", "tree", "kind", "col", "at", "i", "y", "tree", "point"} {
			if _, ok := t[k]; ok {
				keys = append(keys, k)
			}
		}
		if len(keys) == 0 {
			return t
		}
		k := keys[r.IntN(len(keys))]
		if r.IntN(12) == 0 {
			delete(t, k)
		} else {
			t[k] = mutate(r, t[k])
		}
		return t
	case []any:
		if len(t) == 0 {
			return t
		}
		i := r.IntN(len(t))
		switch r.IntN(12) {
		case 0:
			return append(t[:i:i], t[i+1:]...)
		case 1:
			return append(t[:i:i], append([]any{t[i]}, t[i:]...)...)
		}
		t[i] = mutate(r, t[i])
		return t
	case string:
		return mutateText(r, t)
	case float64:
		return t + float64(r.IntN(5)-2)
	case bool:
		return !t
	}
	return v
}

func mutateText(r *rand.Rand, s string) string {
	words := []string{"optimal", "feasible", "stopped", "infeasible", "bound", "empty", "logic", "point", "open", "value", "off"}
	for _, w := range words {
		if s == w {
			return words[r.IntN(len(words))]
		}
	}
	alts := []string{"0", "1", "-1", "2", "1p-1", "-1p-1", "1/3", "-5/7", "3p2", s + "0", "-" + s, strings.TrimPrefix(s, "-"), ""}
	return alts[r.IntN(len(alts))]
}

// V1: untouched certificates pass and are true. V2: whatever is altered, a
// document that still passes makes a true claim about the model it holds.
func TestMutations(t *testing.T) {
	accepted, altered := 0, 0
	for seed := uint64(0); seed < 400; seed++ {
		o := lp.Options{}
		if seed%4 == 3 {
			o.Nodes = 1
		}
		data := small(seed, o)
		if _, err := verify.CheckBytes(data); err != nil {
			t.Fatalf("seed %d: %v\n%s", seed, err, data)
		}
		if why := falseClaim(data); why != "" {
			t.Fatalf("seed %d: false claim: %s\n%s", seed, why, data)
		}
		r := rand.New(rand.NewPCG(seed, 4))
		for k := 0; k < 120; k++ {
			var v any
			if err := json.Unmarshal(data, &v); err != nil {
				t.Fatal(err)
			}
			for i := 1 + r.IntN(3); i > 0; i-- {
				v = mutate(r, v)
			}
			out, err := json.Marshal(v)
			if err != nil {
				t.Fatal(err)
			}
			altered++
			if _, err := verify.CheckBytes(out); err != nil {
				continue
			}
			accepted++
			if why := falseClaim(out); why != "" {
				t.Fatalf("seed %d change %d: accepted although %s\nwas %s\nnow %s", seed, k, why, data, out)
			}
		}
	}
	t.Logf("%d of %d altered documents were accepted, all of them true", accepted, altered)
	if accepted == 0 || accepted == altered {
		t.Fatal("the test has lost its meaning")
	}
}

// V3: a bound raised by the least amount above what the tree proves, an
// objective off by a hair and an "infeasible" over a model with points fail.
func TestFalseClaimsAreRefused(t *testing.T) {
	refused := 0
	for seed := uint64(0); seed < 300; seed++ {
		data := small(seed, lp.Options{})
		rep, err := verify.CheckBytes(data)
		if err != nil {
			t.Fatal(err)
		}
		if rep.Status != "optimal" {
			continue
		}
		hair := new(big.Rat).SetFrac64(1, 1<<60)
		change := func(key string, v *big.Rat) []byte {
			var d map[string]any
			if err := json.Unmarshal(data, &d); err != nil {
				t.Fatal(err)
			}
			d["claim"].(map[string]any)[key] = v.RatString()
			out, _ := json.Marshal(d)
			return out
		}
		for _, out := range [][]byte{
			change("bound", new(big.Rat).Add(rep.Proved, hair)),
			change("objective", new(big.Rat).Add(rep.Objective, hair)),
			change("objective", new(big.Rat).Sub(rep.Objective, hair)),
			[]byte(strings.Replace(string(data), `"status":"optimal"`, `"status":"infeasible"`, 1)),
		} {
			if _, err := verify.CheckBytes(out); err == nil {
				t.Fatalf("seed %d: accepted %s", seed, out)
			}
			refused++
		}
	}
	if refused < 400 {
		t.Fatalf("only %d documents were tried", refused)
	}
}

// V4: hostile input is refused in bounded time and never panics, and fractions
// say the same of it.
func FuzzCheck(f *testing.F) {
	for seed := uint64(0); seed < 12; seed++ {
		f.Add(small(seed, lp.Options{}))
		if data := wide(seed, 10); data != nil {
			f.Add(data)
		}
	}
	f.Add([]byte(`{"format":"firlot-lp-certificate","version":1,"claim":{"status":"stopped"},"model":{"columns":[]},"tree":[{"kind":"open"}]}`))
	f.Fuzz(func(t *testing.T, data []byte) {
		_, err := verify.CheckBytes(data)
		if len(data) < 4000 && (err == nil || !strings.Contains(err.Error(), "grow too large")) {
			compare(t, data)
		}
		if err != nil {
			return
		}
		var d truth
		if json.Unmarshal(data, &d) != nil {
			return
		}
		for _, c := range d.Model.Columns {
			if strings.Contains(string(data), `"whole":false`) || c.Lo == "" || c.Hi == "" {
				return
			}
		}
		if strings.Count(string(data), `"whole":true`) != len(d.Model.Columns) {
			return
		}
		if why := falseClaim(data); why != "" {
			t.Fatalf("accepted although %s", why)
		}
	})
}

func TestRefusesOddDocuments(t *testing.T) {
	good := string(small(1, lp.Options{}))
	for _, bad := range []string{"", "{}", "[]", good + "x", strings.Replace(good, `"version":1`, `"version":2`, 1),
		strings.Replace(good, `"tree":[`, `"tree":[{"kind":"open"},`, 1),
		strings.Replace(good, `"format"`, `"fromat"`, 1),
		`{"format":"firlot-lp-certificate","version":1,"claim":{"status":"stopped","bound":"1p99999999"},"model":{"columns":[]},"tree":[{"kind":"open"}]}`,
		fmt.Sprintf(`{"format":"firlot-lp-certificate","version":1,"claim":{"status":"stopped","bound":"%s"},"model":{"columns":[]},"tree":[{"kind":"open"}]}`, strings.Repeat("9", 1<<17)),
	} {
		if _, err := verify.CheckBytes([]byte(bad)); err == nil {
			t.Errorf("accepted %.80s", bad)
		}
	}
}
