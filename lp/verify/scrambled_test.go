package verify_test

import (
	"encoding/json"
	"math/rand/v2"
	"strconv"
	"testing"
)

type object = map[string]any

// scrambler writes trees that no solver would: any splits, any weights.
type scrambler struct {
	r     *rand.Rand
	model object
	cuts  []any
	nodes []any
}

func list(o object, key string) []any {
	l, _ := o[key].([]any)
	return l
}

// figure is a number in each of the forms that a document may use.
func (s *scrambler) figure() string {
	n := strconv.Itoa(1 + s.r.IntN(30))
	switch s.r.IntN(4) {
	case 0:
		return n + "p" + strconv.Itoa(s.r.IntN(9)-6)
	case 1:
		return n + "/" + strconv.Itoa(1+s.r.IntN(12))
	case 2:
		return strconv.FormatUint(s.r.Uint64()>>11, 10) + "p-" + strconv.Itoa(48+s.r.IntN(20))
	}
	return n
}

// weights are for about half of the rules, on sides that there are.
func (s *scrambler) weights(rules []any, hasLo, hasHi func(rule object) bool) (ws []any) {
	for i, e := range rules {
		rule := e.(object)
		lo, hi := hasLo(rule), hasHi(rule)
		if s.r.IntN(2) == 0 || !lo && !hi {
			continue
		}
		y := s.figure()
		if !lo || hi && s.r.IntN(2) == 0 {
			y = "-" + y
		}
		ws = append(ws, object{"i": i, "y": y})
	}
	return ws
}

func (s *scrambler) leaf() {
	has := func(key string) func(object) bool { return func(o object) bool { return o[key] != nil } }
	yes, no := func(object) bool { return true }, func(object) bool { return false }
	kind := "bound"
	switch s.r.IntN(40) {
	case 0:
		kind = "open"
	case 1:
		kind = "empty"
	case 2:
		kind = "point"
	case 3:
		kind = "logic"
	}
	n := object{"kind": kind}
	if kind == "bound" || kind == "empty" {
		n["rows"] = s.weights(list(s.model, "rows"), has("lo"), has("hi"))
		n["cuts"] = s.weights(s.cuts, yes, no)
		least := has("least")
		if s.r.IntN(30) == 0 {
			least = yes
		}
		n["counts"] = s.weights(list(s.model, "counts"), least, yes)
	}
	s.nodes = append(s.nodes, n)
}

// tree is a tree of some depth, or a chain that ends in a single point.
func (s *scrambler) tree(depth int) {
	cols := list(s.model, "columns")
	j := s.r.IntN(len(cols))
	c := cols[j].(object)
	switch k := s.r.IntN(5); {
	case depth == 0:
		s.leaf()
		return
	case k == 0:
		s.chain(0)
		return
	case k < 3 && c["lo"] == "0" && c["hi"] != nil && (c["least"] != nil || len(list(s.model, "counts")) > 0):
		s.nodes = append(s.nodes, object{"kind": "off", "col": j})
	default:
		at := strconv.Itoa(s.r.IntN(7) - 1)
		if c["whole"] == nil {
			at = s.figure()
		}
		s.nodes = append(s.nodes, object{"kind": "value", "col": j, "at": at})
	}
	s.tree(depth - 1)
	s.tree(depth - 1)
}

// chain fixes column after column.
func (s *scrambler) chain(j int) {
	cols := list(s.model, "columns")
	if j == len(cols) {
		s.nodes = append(s.nodes, object{"kind": "point"})
		return
	}
	v := s.r.IntN(3)
	high, low := strconv.Itoa(v), strconv.Itoa(v-1)
	if cols[j].(object)["whole"] == nil {
		if s.r.IntN(2) == 0 {
			high = strconv.Itoa(v) + "/3"
		}
		low = high
	}
	s.nodes = append(s.nodes, object{"kind": "value", "col": j, "at": high}, object{"kind": "value", "col": j, "at": low})
	s.leaf()
	s.chain(j + 1)
	s.leaf()
}

// direct replaces the cuts by others, most of them short enough.
func (s *scrambler) direct() {
	s.cuts = nil
	for i, e := range list(s.model, "cones") {
		for range s.r.IntN(4) {
			dir := []any{}
			for range list(e.(object), "spread") {
				dir = append(dir, []string{"0", "1/3", "-1/3", "1p-1", "-1p-3", "2/7", "3p-3"}[s.r.IntN(7)])
			}
			s.cuts = append(s.cuts, object{"cone": i, "dir": dir})
		}
	}
}

// point makes all costs zero and offers a point, which keeps the rules or not.
func (s *scrambler) point(d object) {
	var x []any
	for _, e := range list(s.model, "columns") {
		c := e.(object)
		delete(c, "cost")
		delete(c, "breaks")
		v := strconv.Itoa(s.r.IntN(4))
		if s.r.IntN(5) == 0 {
			v += []string{"p-1", "/3", "p-2"}[s.r.IntN(3)]
		}
		x = append(x, v)
	}
	for _, key := range []string{"rows", "counts", "cones"} {
		if s.r.IntN(2) == 0 {
			delete(s.model, key)
		}
	}
	delete(d, "cuts")
	delete(d, "grid")
	d["tree"] = []any{object{"kind": "open"}}
	d["claim"] = object{"status": "feasible", "objective": "0"}
	d["point"] = x
}

// bounded says whether all columns have two ends, so that every leaf proves
// something.
func bounded(model object) bool {
	for _, e := range list(model, "columns") {
		if c := e.(object); c["lo"] == nil || c["hi"] == nil {
			return false
		}
	}
	return true
}

// document puts a tree in the place of what was proved.
func (s *scrambler) document(d object) {
	if s.r.IntN(2) == 0 {
		s.direct()
		d["cuts"] = s.cuts
	}
	s.tree(s.r.IntN(4))
	d["tree"] = s.nodes
	d["claim"] = object{"status": "stopped", "bound": "-1p300"}
	delete(d, "point")
}

// V6, of FIRLOT_PROOFS models: of trees with any splits, tangents and weights,
// and of any points, the check says what fractions in lowest terms say, and
// that trees prove as much.
func TestAgreesOnAnyTree(t *testing.T) {
	accepted, refused := 0, 0
	for seed := uint64(0); seed < 3*proofs(t, 300); seed++ {
		data := wide(seed, 20)
		if data == nil {
			continue
		}
		r := rand.New(rand.NewPCG(seed, 31))
		for k := 0; k < 12; k++ {
			var d object
			if err := json.Unmarshal(data, &d); err != nil {
				t.Fatal(err)
			}
			s := &scrambler{r: r, model: d["model"].(object), cuts: list(d, "cuts")}
			if !bounded(s.model) && k > 3 {
				break
			}
			if k%4 == 3 {
				s.point(d)
			} else {
				s.document(d)
			}
			if compare(t, marshal(t, d)) {
				accepted++
			} else {
				refused++
			}
		}
	}
	t.Logf("both ways accept %d and refuse %d documents", accepted, refused)
	if accepted < refused/10 || refused < accepted/10 {
		t.Fatal("the test has lost its meaning")
	}
}
