package lp

import "math"

// Tolerances of the float simplex. They steer the search only: nothing the
// solver claims rests on them, because every claim is checked exactly or with
// a rounding-error bound on the caller's own figures.
const (
	// feasTol: a basic variable counts as inside its bounds when it is out
	// by at most feasTol·max(1, |bound|) in scaled units. A tableau entry of
	// size about 1 that has been through some hundred pivots carries an
	// error near 100·2⁻⁵³ ≈ 1.1e-14 times growth; 1e-9 leaves a factor of
	// 1e5 for growth.
	feasTol = 1e-9
	// dualTol: a reduced cost of the wrong sign counts as zero up to this
	// size; costs are scaled to at most 1, so the same reasoning holds.
	dualTol = 1e-9
	// pivotTol: entries below it are never pivots. It is above the noise
	// (1e-14·growth) and below every entry that matters at feasTol: a step
	// of size at most 1e9·feasTol along a smaller entry moves the row by
	// less than feasTol.
	pivotTol = 1e-8
	// rebuildEvery: a tableau is built anew from the caller's figures after
	// this many pivots, so that noise cannot pile up.
	rebuildEvery = 150
	// stallLimit: after so many steps without progress in a row the costs
	// are perturbed; after blandAfter such steps Bland's rule takes over.
	stallLimit = 25
	blandAfter = 400
)

// outcome says how a float solve ended.
type outcome int

const (
	lpOptimal outcome = iota
	lpInfeasible
	lpUnbounded
	lpCutoff // the dual objective passed the cutoff
	lpLimit  // pivots, context
	lpLost   // numbers went astray; ask the exact solver
)

// simplex is a float tableau in exchange form: every basic variable is a
// linear form in the non-basic ones,
//
//	x_B = T·x_N,   z = d·x_N,
//
// over the structural segments 0…n−1 and one logical a row, n+i, that equals
// the activity of row i. Segments split a column with breaks:
// x = Σ segments, the first reaching from Lo to the first break (or to Hi),
// each further one from 0 to the length of its piece.
type simplex struct {
	p  *prob
	n  int // segments = number of non-basic variables
	m  int // rows = number of basic variables
	t  [][]float64
	d  []float64
	bs []int // basic variable of a row
	nb []int // non-basic variable of a position
	at []int // variable → row if ≥ 0, else ^position

	lo, hi []float64 // scaled bounds by variable
	up     []bool    // non-basic at its upper bound
	beta   []float64 // values of basic variables
	cost   []float64 // scaled cost by segment

	first []int // column → first segment, len p.n+1
	seg   []int // segment → column
	cs    []float64
	rs    []float64
	oscl  float64 // scaled cost = cost·oscl

	weight  []float64 // dual pricing weights by row
	dirty   bool      // d differs from the true costs
	since   int       // pivots since the last rebuild
	pivots  int
	limit   int
	stall   int
	cands   []cand
	col     []float64
	ray     []float64 // multipliers of the last infeasible row, unscaled
	rayRow  int       // that row
	raySign float64   // +1 if its basic value was too high
	stop    func() bool
	cutoff  float64 // scaled dual objective at which to stop
	zeroRun bool    // solving with all costs zero
}

type cand struct {
	j     int
	ratio float64
	mag   float64
}

// newSimplex builds the tableau of the slack basis.
func newSimplex(p *prob) *simplex {
	s := &simplex{p: p, cutoff: math.Inf(1), limit: DefaultPivots}
	s.first = make([]int, p.n+1)
	for j := 0; j < p.n; j++ {
		s.first[j] = s.n
		for k := 0; k <= len(p.cols[j].Breaks); k++ {
			s.seg = append(s.seg, j)
			s.n++
		}
	}
	s.first[p.n] = s.n
	s.scale()
	s.lo = make([]float64, s.n)
	s.hi = make([]float64, s.n)
	s.up = make([]bool, s.n)
	s.cost = make([]float64, s.n)
	s.d = make([]float64, s.n)
	s.nb = make([]int, s.n)
	s.at = make([]int, s.n)
	for v := 0; v < s.n; v++ {
		s.nb[v], s.at[v] = v, ^v
	}
	s.setCosts()
	s.setBounds(p.lo, p.hi)
	for i := range p.a {
		s.appendRow(i)
	}
	s.restoreCosts()
	s.placeAll()
	return s
}

// setCosts fills the scaled segment costs.
func (s *simplex) setCosts() {
	big := 0.0
	v := 0
	for j := 0; j < s.p.n; j++ {
		c := &s.p.cols[j]
		slope := c.Cost
		for k := 0; k <= len(c.Breaks); k++ {
			if k > 0 {
				slope += c.Breaks[k-1].Rise
			}
			s.cost[v] = slope * s.cs[j]
			big = math.Max(big, math.Abs(s.cost[v]))
			v++
		}
	}
	s.oscl = 1
	if big > 0 {
		s.oscl = powerNear(1 / big)
	}
	for v := range s.cost {
		s.cost[v] *= s.oscl
	}
}

// setBounds maps bounds of the columns to bounds of the segments.
func (s *simplex) setBounds(lo, hi []float64) {
	for j := 0; j < s.p.n; j++ {
		s.setColumnBounds(j, lo[j], hi[j])
	}
}

func (s *simplex) setColumnBounds(j int, lo, hi float64) {
	v := s.first[j]
	inv := 1 / s.cs[j]
	br := s.p.cols[j].Breaks
	if len(br) == 0 {
		s.lo[v], s.hi[v] = lo*inv, hi*inv
		return
	}
	s.lo[v] = math.Min(lo, br[0].At) * inv
	s.hi[v] = math.Min(hi, br[0].At) * inv
	for k := range br {
		length := math.Inf(1)
		if k+1 < len(br) {
			length = br[k+1].At - br[k].At
		}
		s.lo[v+k+1] = math.Min(math.Max(lo-br[k].At, 0), length) * inv
		s.hi[v+k+1] = math.Min(math.Max(hi-br[k].At, 0), length) * inv
	}
}

// setRowBounds maps the bounds of row i of the problem to its logical.
func (s *simplex) setRowBounds(i int) {
	s.lo[s.n+i] = s.p.rowLo[i] * s.rs[i]
	s.hi[s.n+i] = s.p.rowHi[i] * s.rs[i]
}

// appendRow adds row i of the problem with its logical basic.
func (s *simplex) appendRow(i int) {
	if i >= len(s.rs) {
		s.rs = append(s.rs, rowScale(s.p.a[i], s.cs))
	}
	s.lo = append(s.lo, 0)
	s.hi = append(s.hi, 0)
	s.up = append(s.up, false)
	s.setRowBounds(i)
	s.t = append(s.t, make([]float64, s.n))
	s.bs = append(s.bs, s.n+i)
	s.at = append(s.at, s.m)
	s.beta = append(s.beta, 0)
	s.weight = append(s.weight, 1)
	s.col = append(s.col, 0)
	s.m++
	s.fillRow(s.m-1, i)
}

// fillRow expresses row i of the problem in the non-basic variables and
// writes it to tableau row r, whose basic variable is the logical of i.
func (s *simplex) fillRow(r, i int) {
	row := s.t[r]
	clear(row)
	a := s.p.a[i]
	for v := 0; v < s.n; v++ {
		c := a[s.seg[v]]
		if c == 0 {
			continue
		}
		c = float64(c * s.cs[s.seg[v]] * s.rs[i])
		if k := s.at[v]; k < 0 {
			row[^k] += c
		} else {
			for j, e := range s.t[k] {
				row[j] += float64(c * e)
			}
		}
	}
}

// refreshRow rewrites row i after its coefficients changed. If its logical
// is not basic it is made so first.
func (s *simplex) refreshRow(i int) {
	v := s.n + i
	if s.at[v] < 0 {
		q := ^s.at[v]
		best, r := 0.0, -1
		for k := 0; k < s.m; k++ {
			if e := math.Abs(s.t[k][q]); e > best {
				best, r = e, k
			}
		}
		if r < 0 || best < pivotTol {
			s.slackBasis()
		} else {
			s.pivot(r, q)
		}
	}
	s.setRowBounds(i)
	s.fillRow(s.at[v], i)
	s.weight[s.at[v]] = 1
}

// value is the value of the non-basic variable at position j.
func (s *simplex) value(j int) float64 {
	v := s.nb[j]
	if s.up[v] {
		return s.hi[v]
	}
	if l := s.lo[v]; !math.IsInf(l, -1) {
		return l
	}
	return 0
}

// place chooses the bound at which non-basic position j rests from the sign
// of its reduced cost. It reports whether that is dual feasible.
func (s *simplex) place(j int) bool {
	v := s.nb[j]
	l, h := s.lo[v], s.hi[v]
	noLo, noHi := math.IsInf(l, -1), math.IsInf(h, 1)
	dj := s.d[j]
	switch {
	case noLo && noHi:
		s.up[v] = false
		return math.Abs(dj) <= dualTol
	case noLo:
		s.up[v] = true
		return dj <= dualTol
	case noHi:
		s.up[v] = false
		return dj >= -dualTol
	}
	if dj < -dualTol {
		s.up[v] = true
	} else if dj > dualTol {
		s.up[v] = false
	}
	return true
}

// placeAll places every non-basic variable, shifts the costs of those that
// cannot be made dual feasible, and computes the basic values.
func (s *simplex) placeAll() {
	for j := range s.nb {
		if !s.place(j) {
			s.d[j] = 0
			s.dirty = true
		}
	}
	s.computeBeta()
}

// computeBeta evaluates x_B = T·x_N.
func (s *simplex) computeBeta() {
	for i := 0; i < s.m; i++ {
		s.beta[i] = 0
	}
	for j := range s.nb {
		x := s.value(j)
		if x == 0 {
			continue
		}
		for i := 0; i < s.m; i++ {
			s.beta[i] += float64(s.t[i][j] * x)
		}
	}
}

// restoreCosts recomputes d from the true costs (or from zero costs).
func (s *simplex) restoreCosts() {
	s.dirty = false
	if s.zeroRun {
		clear(s.d)
		return
	}
	for j, v := range s.nb {
		s.d[j] = 0
		if v < s.n {
			s.d[j] = s.cost[v]
		}
	}
	for i, v := range s.bs {
		if v >= s.n || s.cost[v] == 0 {
			continue
		}
		c := s.cost[v]
		for j, e := range s.t[i] {
			s.d[j] += float64(c * e)
		}
	}
}

// pivot exchanges the basic variable of row r with the non-basic variable of
// position q.
func (s *simplex) pivot(r, q int) {
	prow := s.t[r]
	inv := 1 / prow[q]
	for j := range prow {
		prow[j] = -(prow[j] * inv)
	}
	prow[q] = inv
	for i := 0; i < s.m; i++ {
		if i == r {
			continue
		}
		addMultiple(s.t[i], prow, q)
	}
	addMultiple(s.d, prow, q)
	vb, vn := s.bs[r], s.nb[q]
	s.bs[r], s.nb[q] = vn, vb
	s.at[vn], s.at[vb] = r, ^q
	s.pivots++
	s.since++
}

// addMultiple replaces row by row + f·prow with f = row[q], where position q
// itself becomes f·prow[q].
func addMultiple(row, prow []float64, q int) {
	f := row[q]
	if f == 0 {
		return
	}
	row[q] = 0
	row = row[:len(prow)]
	for j, e := range prow {
		row[j] += float64(f * e)
	}
}

// wake readies a tableau of an earlier solve: true costs, no memory of stalls.
func (s *simplex) wake() {
	s.setCosts()
	s.restoreCosts()
	for i := range s.weight {
		s.weight[i] = 1
	}
	for i := 0; i < s.m; i++ {
		s.setRowBounds(i)
	}
}

// slackBasis makes every logical basic again.
func (s *simplex) slackBasis() {
	for v := 0; v < s.n; v++ {
		s.nb[v], s.at[v] = v, ^v
	}
	for i := 0; i < s.m; i++ {
		s.bs[i], s.at[s.n+i] = s.n+i, i
		s.weight[i] = 1
	}
	for i := 0; i < s.m; i++ {
		s.fillRow(i, i)
	}
	s.since = 0
	s.restoreCosts()
}

// rebuild computes the tableau of the current basis from the caller's
// figures by Gauss–Jordan exchange with complete pivoting over the rows still
// to leave and the segments still to enter. A segment without a usable pivot
// stays out, which changes the basis but never breaks the tableau.
func (s *simplex) rebuild() {
	enter := s.cands[:0]
	for v := 0; v < s.n; v++ {
		if s.at[v] >= 0 {
			enter = append(enter, cand{j: v})
		}
	}
	leave := make([]bool, s.m)
	for i := 0; i < s.m; i++ {
		leave[i] = s.at[s.n+i] < 0
	}
	pv := s.pivots
	s.slackBasis()
	for len(enter) > 0 {
		best, br, bk := pivotTol, -1, -1
		for r := 0; r < s.m; r++ {
			if v := s.bs[r]; v < s.n || !leave[v-s.n] {
				continue
			}
			row := s.t[r]
			for k := range enter {
				if e := math.Abs(row[^s.at[enter[k].j]]); e > best {
					best, br, bk = e, r, k
				}
			}
		}
		if br < 0 {
			break
		}
		q := ^s.at[enter[bk].j]
		s.pivot(br, q)
		enter = append(enter[:bk], enter[bk+1:]...)
	}
	s.pivots = pv
	s.since = 0
	s.restoreCosts()
}
