package verify

import (
	"math/big"
	"strconv"
	"strings"
)

// The reference checks a document as plainly as can be: in fractions that are
// brought to lowest terms after every step, with a box copied at every split,
// every end and break of a column tried in turn, and no bounds on sizes. What
// it does not accept it refuses by a panic.

type refColumn struct {
	lo, hi, cost, least *big.Rat // bounds and least: nil if missing
	breaks              [][2]*big.Rat
	whole, count        bool
}

type refTerm struct {
	col  int
	coef *big.Rat
}

type refRow struct {
	lo, hi *big.Rat
	terms  []refTerm
}

type refCone struct {
	lo, z         *big.Rat
	terms, spread []refTerm
}

type reference struct {
	cols   []refColumn
	rows   []refRow
	counts []rawCount
	cones  []refCone
	cuts   []refRow
	least  *big.Rat // nil = all leaves empty
	open   bool
}

type refused string

func must(ok bool, why string) {
	if !ok {
		panic(refused(why))
	}
}

// referenceCheck gives what the document proves (nil: nothing, or no point),
// and why it is refused, "" if it is not.
func referenceCheck(data []byte) (objective, proved *big.Rat, why string) {
	defer func() {
		if p := recover(); p != nil {
			why = string(p.(refused))
		}
	}()
	d, err := readDoc(data)
	must(err == nil, "no document")
	r := new(reference)
	r.build(&d.Model)
	if d.Claim.Status == "optimal" || d.Claim.Status == "feasible" {
		must(len(d.Point) == len(r.cols), "length of the point")
		var x []*big.Rat
		for _, s := range d.Point {
			x = append(x, refNumber(s))
		}
		objective = r.holds(x)
		must(objective != nil && objective.Cmp(refNumber(d.Claim.Objective)) == 0, "point")
	} else {
		must(len(d.Point) == 0 && d.Claim.Objective == "", "a point without a claim")
	}
	r.addCuts(d.Cuts)
	r.walk(d.Tree)
	if !r.open && r.least != nil && d.Grid != nil {
		r.raise(d.Grid)
	}
	bound := refOptional(d.Claim.Bound)
	switch d.Claim.Status {
	case "infeasible":
		must(!r.open && r.least == nil && bound == nil, "infeasible")
		return nil, nil, ""
	case "optimal":
		must(bound != nil, "optimal without a bound")
	default:
		must(d.Claim.Status == "feasible" || d.Claim.Status == "stopped", "claim")
	}
	if bound == nil {
		return objective, nil, ""
	}
	must(!r.open && (r.least == nil || r.least.Cmp(bound) >= 0), "bound")
	must(objective == nil || objective.Cmp(bound) >= 0, "bound above the objective")
	return objective, r.least, ""
}

func refNumber(s string) *big.Rat {
	whole := func(s string) *big.Int {
		must(strings.Trim(strings.TrimPrefix(s, "-"), "0123456789") == "", "number")
		z, ok := new(big.Int).SetString(s, 10)
		must(ok, "number")
		return z
	}
	if top, bottom, ok := strings.Cut(s, "/"); ok {
		must(whole(bottom).Sign() > 0, "number")
		return new(big.Rat).SetFrac(whole(top), whole(bottom))
	}
	m, p, ok := strings.Cut(s, "p")
	r := new(big.Rat).SetInt(whole(m))
	if ok {
		e, err := strconv.Atoi(p)
		must(err == nil && e <= maxPower && e >= -maxPower, "power")
		f := new(big.Rat).SetInt(new(big.Int).Lsh(big.NewInt(1), uint(max(e, -e))))
		if e < 0 {
			f.Inv(f)
		}
		r.Mul(r, f)
	}
	return r
}

func refOptional(s string) *big.Rat {
	if s == "" {
		return nil
	}
	return refNumber(s)
}

func refOrZero(s string) *big.Rat {
	if s == "" {
		return new(big.Rat)
	}
	return refNumber(s)
}

func rat(n int64) *big.Rat           { return big.NewRat(n, 1) }
func plus(a, b *big.Rat) *big.Rat    { return new(big.Rat).Add(a, b) }
func minus(a, b *big.Rat) *big.Rat   { return new(big.Rat).Sub(a, b) }
func product(a, b *big.Rat) *big.Rat { return new(big.Rat).Mul(a, b) }

func refFloor(r *big.Rat) *big.Rat {
	return new(big.Rat).SetInt(new(big.Int).Div(r.Num(), r.Denom()))
}

func refCeil(r *big.Rat) *big.Rat {
	f := refFloor(new(big.Rat).Neg(r))
	return f.Neg(f)
}

func (c *refColumn) switchable() bool { return c.lo != nil && c.lo.Sign() == 0 && c.hi != nil }

func (r *reference) terms(d []rawTerm) (out []refTerm) {
	seen := map[int]bool{}
	for _, t := range d {
		must(t.Col >= 0 && t.Col < len(r.cols) && !seen[t.Col], "column of a term")
		seen[t.Col] = true
		out = append(out, refTerm{t.Col, refNumber(t.Coef)})
	}
	return out
}

func (r *reference) build(d *rawModel) {
	for _, k := range d.Columns {
		c := refColumn{lo: refOptional(k.Lo), hi: refOptional(k.Hi), cost: refOrZero(k.Cost), least: refOptional(k.Least), whole: k.Whole}
		must(c.lo == nil || c.hi == nil || c.lo.Cmp(c.hi) <= 0, "bounds cross")
		must(c.least == nil || c.least.Sign() > 0 && c.switchable(), "least")
		last := c.lo
		for _, b := range k.Breaks {
			at, rise := refNumber(b[0]), refNumber(b[1])
			must(rise.Sign() > 0 && (last == nil || at.Cmp(last) > 0) && (c.hi == nil || at.Cmp(c.hi) < 0), "breaks")
			c.breaks = append(c.breaks, [2]*big.Rat{at, rise})
			last = at
		}
		r.cols = append(r.cols, c)
	}
	for _, k := range d.Rows {
		r.rows = append(r.rows, refRow{refOptional(k.Lo), refOptional(k.Hi), r.terms(k.Terms)})
	}
	for _, k := range d.Counts {
		must(k.Least >= 0 && k.Least <= k.Most, "count")
		seen := map[int]bool{}
		for _, j := range k.Cols {
			must(j >= 0 && j < len(r.cols) && !seen[j] && r.cols[j].switchable(), "column of a count")
			must(k.Least == 0 || r.cols[j].whole || r.cols[j].least != nil, "no least amount")
			seen[j], r.cols[j].count = true, true
		}
		r.counts = append(r.counts, k)
	}
	for _, k := range d.Cones {
		c := refCone{refNumber(k.Lo), refNumber(k.Z), r.terms(k.Terms), r.terms(k.Spread)}
		must(c.z.Sign() >= 0, "z")
		r.cones = append(r.cones, c)
	}
}

func refDot(ts []refTerm, x []*big.Rat) *big.Rat {
	s := new(big.Rat)
	for _, e := range ts {
		s.Add(s, product(e.coef, x[e.col]))
	}
	return s
}

func (c *refColumn) costAt(slope, x *big.Rat, breaks bool) *big.Rat {
	v := product(slope, x)
	for _, b := range c.breaks {
		if t := minus(x, b[0]); breaks && t.Sign() > 0 {
			v.Add(v, product(t, b[1]))
		}
	}
	return v
}

// holds gives the cost of a point, nil if it breaks a rule.
func (r *reference) holds(x []*big.Rat) *big.Rat {
	sum := new(big.Rat)
	for j := range r.cols {
		c := &r.cols[j]
		if c.lo != nil && x[j].Cmp(c.lo) < 0 || c.hi != nil && x[j].Cmp(c.hi) > 0 || c.whole && !x[j].IsInt() ||
			c.least != nil && x[j].Sign() != 0 && x[j].Cmp(c.least) < 0 {
			return nil
		}
		sum.Add(sum, c.costAt(c.cost, x[j], true))
	}
	for _, w := range r.rows {
		s := refDot(w.terms, x)
		if w.lo != nil && s.Cmp(w.lo) < 0 || w.hi != nil && s.Cmp(w.hi) > 0 {
			return nil
		}
	}
	for _, k := range r.counts {
		n := 0
		for _, j := range k.Cols {
			if x[j].Sign() != 0 {
				n++
			}
		}
		if n < k.Least || n > k.Most {
			return nil
		}
	}
	for _, k := range r.cones {
		t, q := minus(refDot(k.terms, x), k.lo), new(big.Rat)
		for _, e := range k.spread {
			s := product(e.coef, x[e.col])
			q.Add(q, product(s, s))
		}
		if t.Sign() < 0 || product(t, t).Cmp(product(q, product(k.z, k.z))) < 0 {
			return nil
		}
	}
	return sum
}

func (r *reference) addCuts(raw []rawCut) {
	for _, c := range raw {
		must(c.Cone >= 0 && c.Cone < len(r.cones) && len(c.Dir) == len(r.cones[c.Cone].spread), "cut")
		k := &r.cones[c.Cone]
		w := refRow{lo: k.lo, terms: append([]refTerm(nil), k.terms...)}
		sq := new(big.Rat)
		for n, e := range k.spread {
			v := refNumber(c.Dir[n])
			sq.Add(sq, product(v, v))
			// A column may now stand twice, which adds up.
			w.terms = append(w.terms, refTerm{e.col, product(product(k.z, v), new(big.Rat).Neg(e.coef))})
		}
		must(sq.Cmp(rat(1)) <= 0, "direction")
		r.cuts = append(r.cuts, w)
	}
}

func (r *reference) raise(g *rawGrid) {
	mult, off := refOrZero(g.Mult), new(big.Rat)
	var figures []*big.Rat
	for j := range r.cols {
		must(r.cols[j].whole, "grid of columns that are not whole")
		figures = append(figures, r.cols[j].cost)
	}
	if g.Row != nil {
		must(*g.Row >= 0 && *g.Row < len(r.rows), "row of the grid")
		w := &r.rows[*g.Row]
		must(w.lo != nil && w.hi != nil && w.lo.Cmp(w.hi) == 0, "no equality")
		for _, e := range w.terms {
			figures[e.col] = minus(figures[e.col], product(mult, e.coef))
		}
		off = product(mult, w.lo)
	}
	for j := range r.cols {
		for _, b := range r.cols[j].breaks {
			must(b[0].IsInt(), "grid of breaks that are not whole")
			figures = append(figures, b[1])
		}
	}
	step := new(big.Rat)
	for _, f := range figures { // Euclid on fractions
		for a := new(big.Rat).Abs(f); a.Sign() != 0; {
			step, a = a, minus(step, product(a, refFloor(new(big.Rat).Quo(step, a))))
		}
	}
	if step.Sign() != 0 {
		k := refCeil(new(big.Rat).Quo(minus(r.least, off), step))
		r.least = plus(off, product(k, step))
	}
}
