package lp

import "math/big"

// Limits on the pivots of one exact repair. Bland's rule ends on its own, but
// may take very long. A continuous model has nothing else and gets exactLimit;
// a node of a search can be divided instead and gets nodeLimit·(rows + columns).
const (
	exactLimit = 20000
	nodeLimit  = 10
)

// ztab is an exact tableau in exchange form with a common denominator:
// x_B = (N/den)·x_N, kept whole by integer pivoting (Edmonds, Bareiss): every
// N is a minor of the matrix. The cost row is kept apart.
//
// It starts with the rows of the model and the cuts that bind in the float
// basis; other cuts come in when the exact point breaks them.
type ztab struct {
	x     *exact
	n, m  int
	t     [][]*big.Int
	cost  []*big.Int
	rid   []int // row of the problem behind logical n+k
	den   *big.Int
	bs    []int
	nb    []int
	at    []int
	up    []bool
	lo    []*big.Int // by variable; nil = infinite
	hi    []*big.Int
	val   []*big.Int // basic values times den
	count int
	limit int
}

// repair solves the relaxation in exact arithmetic, from the float basis.
func (x *exact) repair(s *simplex, l, h []*big.Int) verified {
	z := x.newTable(s, l, h)
	z.limit = exactLimit
	if x.p.discrete {
		z.limit = nodeLimit * (s.m + s.n)
	}
	z.enterBasis(s)
	for {
		switch r, out := z.feasible(); out {
		case lpInfeasible:
			return verified{out: lpInfeasible, y: z.farkas(r)}
		case lpOptimal:
		default:
			return verified{out: out}
		}
		out := z.improve()
		if out == lpLimit {
			return verified{out: out}
		}
		if out == lpUnbounded && z.m < s.m {
			z.addMissing(s.m, nil) // a cut left out may stop the ray
			continue
		}
		if out != lpOptimal {
			return verified{out: out}
		}
		v := z.result()
		if !z.addMissing(s.m, v.x) {
			return v
		}
	}
}

// addMissing brings in rows of the problem that are not in the table: all of
// them if x is nil, else those that x breaks. It reports whether any came in.
func (z *ztab) addMissing(rows int, x []*big.Rat) bool {
	in := make([]bool, rows)
	for _, i := range z.rid {
		in[i] = true
	}
	added := false
	chk := checker{p: z.x.p}
	xf := floatsOf(x)
	for i := range in {
		if !in[i] && (x == nil || !chk.ratRow(i, x, xf)) {
			z.addRow(i)
			added = true
		}
	}
	return added
}

// addRow brings row i of the problem in with its logical basic.
func (z *ztab) addRow(i int) {
	row := make([]*big.Int, z.n)
	for j := range row {
		row[j] = new(big.Int)
	}
	t := new(big.Int)
	for v := 0; v < z.n; v++ {
		c := z.x.entry(i, z.x.seg[v])
		if c == nil {
			continue
		}
		if k := z.at[v]; k < 0 {
			row[^k].Add(row[^k], t.Mul(c, z.den))
		} else {
			for j, e := range z.t[k] {
				if e.Sign() != 0 {
					row[j].Add(row[j], t.Mul(c, e))
				}
			}
		}
	}
	z.t = append(z.t, row)
	z.bs = append(z.bs, z.n+z.m)
	z.at = append(z.at, z.m)
	z.up = append(z.up, false)
	z.rid = append(z.rid, i)
	z.lo = append(z.lo, z.x.sideOf(i, z.x.p.rowLo[i]))
	z.hi = append(z.hi, z.x.sideOf(i, z.x.p.rowHi[i]))
	z.val = append(z.val, new(big.Int))
	z.m++
}

func (x *exact) newTable(s *simplex, l, h []*big.Int) *ztab {
	z := &ztab{x: x, n: s.n, den: big.NewInt(1)}
	z.lo = append(z.lo, l...)
	z.hi = append(z.hi, h...)
	z.up = append(z.up, s.up[:s.n]...)
	for v := 0; v < z.n; v++ {
		z.nb = append(z.nb, v)
		z.at = append(z.at, ^v)
		z.cost = append(z.cost, new(big.Int).Set(x.cost[v]))
	}
	for i := 0; i < s.m; i++ {
		if i < x.p.firstCut || s.at[s.n+i] < 0 {
			z.addRow(i)
			z.up[z.n+z.m-1] = s.up[s.n+i]
		}
	}
	return z
}

// sideOf is a row bound in row units, nil if infinite.
func (x *exact) sideOf(i int, v float64) *big.Int {
	if isInf(v) {
		return nil
	}
	return x.rowBound(i, v)
}

// halted reports whether exact work is to end: each pivot costs a product of
// large numbers for every entry.
func (z *ztab) halted() bool {
	return z.count > z.limit || z.x.stop != nil && z.x.stop()
}

// enterBasis pivots the basic segments of the float tableau in.
func (z *ztab) enterBasis(s *simplex) {
	for v := 0; v < z.n && !z.halted(); v++ {
		if s.at[v] < 0 {
			continue
		}
		q := ^z.at[v]
		for r := 0; r < z.m; r++ {
			b := z.bs[r]
			if b >= z.n && s.at[z.n+z.rid[b-z.n]] < 0 && z.t[r][q].Sign() != 0 {
				z.pivot(r, q)
				break
			}
		}
	}
	for v := range z.up {
		z.rest(v)
	}
}

// rest makes the resting side of variable v one that exists.
func (z *ztab) rest(v int) {
	if z.up[v] && z.hi[v] == nil {
		z.up[v] = false
	}
	if !z.up[v] && z.lo[v] == nil && z.hi[v] != nil {
		z.up[v] = true
	}
}

// at rest: the value of a non-basic variable.
func (z *ztab) resting(v int) *big.Int {
	if z.up[v] {
		return z.hi[v]
	}
	if z.lo[v] != nil {
		return z.lo[v]
	}
	return new(big.Int)
}

// pivot exchanges row r with position q, keeping all entries whole.
func (z *ztab) pivot(r, q int) {
	p := new(big.Int).Set(z.t[r][q])
	prow := z.t[r]
	for i := range z.t {
		if i != r {
			exchange(z.t[i], prow, q, p, z.den)
		}
	}
	exchange(z.cost, prow, q, p, z.den)
	for j, e := range prow {
		if j != q {
			e.Neg(e)
		}
	}
	prow[q].Set(z.den)
	z.den = p
	if p.Sign() < 0 {
		p.Neg(p)
		for i := range z.t {
			negate(z.t[i])
		}
		negate(z.cost)
	}
	vb, vn := z.bs[r], z.nb[q]
	z.bs[r], z.nb[q] = vn, vb
	z.at[vn], z.at[vb] = r, ^q
	z.count++
}

// exchange updates a row for a pivot p in column q of prow.
func exchange(row, prow []*big.Int, q int, p, den *big.Int) {
	t, u := new(big.Int), new(big.Int)
	f := row[q]
	for j, e := range row {
		if j == q || (e.Sign() == 0 && (f.Sign() == 0 || prow[j].Sign() == 0)) {
			continue
		}
		t.Mul(e, p)
		t.Sub(t, u.Mul(f, prow[j]))
		e.Quo(t, den)
	}
}

func negate(row []*big.Int) {
	for _, e := range row {
		e.Neg(e)
	}
}

// values recomputes the basic values times den.
func (z *ztab) values() {
	t := new(big.Int)
	for i := 0; i < z.m; i++ {
		z.val[i].SetInt64(0)
	}
	for j, v := range z.nb {
		w := z.resting(v)
		if w.Sign() == 0 {
			continue
		}
		for i := 0; i < z.m; i++ {
			z.val[i].Add(z.val[i], t.Mul(z.t[i][j], w))
		}
	}
}

// out says on which side basic row i is outside: −1, 0 or +1.
func (z *ztab) out(i int) int {
	v := z.bs[i]
	t := new(big.Int)
	if z.lo[v] != nil && z.val[i].Cmp(t.Mul(z.lo[v], z.den)) < 0 {
		return -1
	}
	if z.hi[v] != nil && z.val[i].Cmp(t.Mul(z.hi[v], z.den)) > 0 {
		return 1
	}
	return 0
}

// fixed says whether the bounds of v are equal.
func (z *ztab) fixed(v int) bool {
	return z.lo[v] != nil && z.hi[v] != nil && z.lo[v].Cmp(z.hi[v]) == 0
}

// feasible finds a primal feasible basis with Bland's least-index rule
// (the general simplex of Dutertre and de Moura 2006, which ends for the same
// reason), or a row that proves there is none.
func (z *ztab) feasible() (int, outcome) {
	for {
		if z.halted() {
			return -1, lpLimit
		}
		z.values()
		r, side := -1, 0
		for i := 0; i < z.m; i++ {
			if o := z.out(i); o != 0 && (r < 0 || z.bs[i] < z.bs[r]) {
				r, side = i, o
			}
		}
		if r < 0 {
			return -1, lpOptimal
		}
		q := -1
		for j, v := range z.nb {
			if z.canMove(v, -side*z.t[r][j].Sign()) && (q < 0 || v < z.nb[q]) {
				q = j
			}
		}
		if q < 0 {
			return r, lpInfeasible
		}
		z.up[z.bs[r]] = side > 0
		z.pivot(r, q)
	}
}

// canMove says whether non-basic v can move in the given direction.
func (z *ztab) canMove(v, dir int) bool {
	if dir == 0 || z.fixed(v) {
		return false
	}
	if z.lo[v] == nil && z.hi[v] == nil {
		return true
	}
	return z.up[v] == (dir < 0)
}

// improve runs the primal simplex with Bland's rule on the true costs.
func (z *ztab) improve() outcome {
	for {
		if z.halted() {
			return lpLimit
		}
		q := -1
		for j, v := range z.nb {
			if z.canMove(v, -z.cost[j].Sign()) && (q < 0 || v < z.nb[q]) {
				q = j
			}
		}
		if q < 0 {
			return lpOptimal
		}
		z.values()
		if !z.step(q, -z.cost[q].Sign()) {
			return lpUnbounded
		}
	}
}

// step moves position q in direction dir as far as the bounds allow.
func (z *ztab) step(q, dir int) bool {
	v := z.nb[q]
	r, upper := -1, false
	var rn, rd *big.Int // least step so far as a fraction
	for i := 0; i < z.m; i++ {
		g := z.t[i][q].Sign() * dir
		if g == 0 {
			continue
		}
		b := z.bs[i]
		side := z.hi[b]
		if g < 0 {
			side = z.lo[b]
		}
		if side == nil {
			continue
		}
		num := new(big.Int).Mul(side, z.den)
		num.Sub(num, z.val[i]).Abs(num)
		den := new(big.Int).Abs(z.t[i][q])
		c := -1
		if r >= 0 {
			c = new(big.Int).Mul(num, rd).Cmp(new(big.Int).Mul(rn, den))
		}
		if c < 0 || (c == 0 && b < z.bs[r]) {
			r, upper, rn, rd = i, g > 0, num, den
		}
	}
	if z.lo[v] != nil && z.hi[v] != nil {
		own := new(big.Int).Sub(z.hi[v], z.lo[v])
		if r < 0 || own.Mul(own, rd).Cmp(rn) <= 0 {
			z.up[v] = !z.up[v]
			z.count++
			return true
		}
	}
	if r < 0 {
		return false
	}
	z.up[z.bs[r]] = upper
	z.pivot(r, q)
	return true
}

// farkas reads the multipliers of the infeasible row r; see keepRay.
func (z *ztab) farkas(r int) []*big.Rat {
	g := int64(-z.out(r))
	y := make([]*big.Rat, len(z.x.a))
	for j, v := range z.nb {
		if v >= z.n && z.t[r][j].Sign() != 0 {
			i := z.rid[v-z.n]
			t := new(big.Int).Mul(z.t[r][j], big.NewInt(-g))
			y[i] = ratio(t, z.den, z.x.ea[i])
		}
	}
	if v := z.bs[r]; v >= z.n {
		i := z.rid[v-z.n]
		y[i] = ratio(big.NewInt(g), big.NewInt(1), z.x.ea[i])
	}
	return y
}

// result reads the optimal point and multipliers.
func (z *ztab) result() verified {
	z.values()
	x, p := z.x, z.x.p
	v := verified{out: lpOptimal, x: make([]*big.Rat, p.n), y: make([]*big.Rat, len(x.a)), obj: new(big.Rat)}
	for j := range v.x {
		v.x[j] = new(big.Rat)
	}
	for s := 0; s < z.n; s++ {
		w := new(big.Rat)
		if k := z.at[s]; k >= 0 {
			w = ratio(z.val[k], z.den, -x.ex)
		} else {
			w = ratio(z.resting(s), big.NewInt(1), -x.ex)
		}
		v.x[x.seg[s]].Add(v.x[x.seg[s]], w)
		v.obj.Add(v.obj, w.Mul(w, ratio(x.cost[s], big.NewInt(1), -x.ec)))
	}
	for j, b := range z.nb {
		if b >= z.n && z.cost[j].Sign() != 0 {
			i := z.rid[b-z.n]
			v.y[i] = ratio(z.cost[j], z.den, x.ea[i]-x.ec)
		}
	}
	return v
}
