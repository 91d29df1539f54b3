package lp

import (
	"context"
	"math"
	"math/big"
	"math/rand/v2"
	"testing"
)

// The exact tableau alone, started from the slack basis, comes to the same
// answers as the float basis checked exactly.
func TestRepairFromSlackBasis(t *testing.T) {
	seen := map[outcome]int{}
	for seed := uint64(0); seed < 1500; seed++ {
		r := rand.New(rand.NewPCG(seed, 40))
		var m *Model
		switch seed % 3 {
		case 0:
			m = randomProgram(r, 2+r.IntN(5), 1+r.IntN(6), 0)
		case 1:
			m = loose(r, seed)
		default:
			m = equalities(r, seed)
		}
		p := newProb(m)
		if p.empty >= 0 {
			continue
		}
		s := newSimplex(p)
		x := newExact(p)
		x.sync(0)
		l, h := x.segBounds(p.lo, p.hi)
		v := x.repair(s, l, h)
		seen[v.out]++
		want := mustSolve(t, m, Options{})
		switch v.out {
		case lpOptimal:
			if got, _ := v.obj.Float64(); want.Status != Optimal || got != want.Objective {
				t.Fatalf("seed %d: %v, want %v %v", seed, got, want.Status, want.Objective)
			}
			if b, ok := p.exactBound(v.y, p.lo, p.hi, true); !ok || b.Cmp(v.obj) != 0 {
				t.Fatalf("seed %d: the multipliers prove %v, cost %v", seed, b, v.obj)
			}
		case lpInfeasible:
			if want.Status != Infeasible {
				t.Fatalf("seed %d: infeasible, want %v", seed, want.Status)
			}
			if b, ok := p.exactBound(v.y, p.lo, p.hi, false); !ok || b.Sign() <= 0 {
				t.Fatalf("seed %d: no contradiction: %v", seed, b)
			}
		case lpUnbounded:
			if want.Status != Unbounded {
				t.Fatalf("seed %d: unbounded, want %v", seed, want.Status)
			}
		default:
			t.Fatalf("seed %d: %v", seed, v.out)
		}
	}
	if seen[lpOptimal] < 100 || seen[lpInfeasible] < 100 || seen[lpUnbounded] < 20 {
		t.Fatalf("the cases are lopsided: %v", seen)
	}
}

// Exact multipliers read from the float basis of an infeasible relaxation are
// a contradiction in fractions too.
func TestExactRay(t *testing.T) {
	proved := 0
	for seed := uint64(0); seed < 800; seed++ {
		r := rand.New(rand.NewPCG(seed, 41))
		m := randomProgram(r, 2+r.IntN(5), 2+r.IntN(5), 0)
		p := newProb(m)
		if p.empty >= 0 {
			continue
		}
		s := newSimplex(p)
		if s.solve() != lpInfeasible {
			continue
		}
		x := newExact(p)
		x.sync(0)
		y, ok := x.exactRay(s, p.lo, p.hi)
		if !ok {
			t.Fatalf("seed %d: not proved", seed)
		}
		if b, ok := p.exactBound(y, p.lo, p.hi, false); !ok || b.Sign() <= 0 {
			t.Fatalf("seed %d: no contradiction: %v", seed, b)
		}
		proved++
	}
	if proved < 200 {
		t.Fatalf("only %d infeasible models", proved)
	}
}

// Bareiss against Cramer's rule on small systems.
func TestBareiss(t *testing.T) {
	r := rand.New(rand.NewPCG(1, 42))
	for k := 0; k < 500; k++ {
		n := 1 + r.IntN(5)
		mat := make([][]*big.Int, n)
		save := make([][]*big.Int, n)
		for i := range mat {
			for j := 0; j <= n; j++ {
				v := int64(r.IntN(19) - 9)
				mat[i] = append(mat[i], big.NewInt(v))
				save[i] = append(save[i], big.NewInt(v))
			}
		}
		num, den, ok := bareiss(mat, nil)
		if !ok {
			continue
		}
		for i := range save {
			s := new(big.Int)
			for j := 0; j < n; j++ {
				s.Add(s, new(big.Int).Mul(save[i][j], num[j]))
			}
			if s.Cmp(new(big.Int).Mul(save[i][n], den)) != 0 {
				t.Fatalf("system %v: row %d does not hold", save, i)
			}
		}
	}
}

// low and scaled against plain fractions, for figures of all sizes.
func TestFigures(t *testing.T) {
	r := rand.New(rand.NewPCG(3, 42))
	figures := []float64{1, -1, 0x1p52, 0x1p53, -0x1p60, 0x1.fffffffffffffp1023, 5e-324, -0x1p-1050, 0x1.8p-1022, 0.1}
	for range 2000 {
		figures = append(figures, math.Ldexp(float64(r.IntN(1<<20)-1<<19)+1, r.IntN(200)-100))
	}
	for _, v := range append(figures, 0) {
		e, ok := low(v)
		if ok != (v != 0) {
			t.Fatalf("low(%v) says %v", v, ok)
		}
		for _, extra := range []int{0, 1, 70} {
			unit := new(big.Rat).SetInt(new(big.Int).Lsh(big.NewInt(1), uint(max(e-extra, extra-e))))
			if e < extra {
				unit.Inv(unit)
			}
			want := new(big.Rat).SetFloat64(v)
			want.Quo(want, unit)
			if z := new(exact).scaled(v, extra-e); !want.IsInt() || z.Cmp(want.Num()) != 0 {
				t.Fatalf("scaled(%v, %d) is %v, want %v", v, extra-e, z, want)
			}
			if v != 0 && extra == 0 && want.Num().Bit(0) == 0 {
				t.Fatalf("%v has a lower bit than 2^%d", v, e)
			}
		}
	}
}

// The elimination of a matrix solves the transposed system as well: to the same
// numbers over the same denominator as an elimination of its own. Zeros and
// rows that must change places are frequent.
func TestTransposed(t *testing.T) {
	r := rand.New(rand.NewPCG(2, 42))
	solved := 0
	for k := 0; k < 3000; k++ {
		n := r.IntN(7)
		mat, other, rhs := newMatrix(n, n+1), newMatrix(n, n+1), make([]*big.Int, n)
		for i := range n {
			rhs[i] = big.NewInt(int64(r.IntN(2001) - 1000))
			other[i][n].Set(rhs[i])
			for j := range n {
				if v := int64(r.IntN(19) - 9); r.IntN(3) > 0 {
					mat[i][j].Lsh(big.NewInt(v), uint(r.IntN(80)))
					other[j][i].Set(mat[i][j])
				}
			}
		}
		want, wantDen, ok := bareiss(other, nil)
		perm, ok2 := eliminate(mat, nil)
		if ok != ok2 {
			t.Fatal("only one of the systems is singular")
		}
		if !ok {
			continue
		}
		solved++
		num, den := transposed(mat, perm, rhs)
		if den.Cmp(wantDen) != 0 {
			t.Fatalf("denominator %v, want %v", den, wantDen)
		}
		for i := range num {
			if num[i].Cmp(want[i]) != 0 {
				t.Fatalf("%v, want %v", num, want)
			}
		}
	}
	if solved < 1000 {
		t.Fatalf("only %d systems were solved", solved)
	}
}

// Exact work ends when it is told to: the basis is neither checked nor entered,
// and a search says that it was stopped, not that it is in trouble.
func TestExactStops(t *testing.T) {
	stopped, checked := func() bool { return true }, 0
	for seed := uint64(0); seed < 60; seed++ {
		r := rand.New(rand.NewPCG(seed, 41))
		p := newProb(randomProgram(r, 4+r.IntN(5), 3+r.IntN(6), 0))
		if p.empty >= 0 {
			continue
		}
		s := newSimplex(p)
		if s.solve() != lpOptimal {
			continue
		}
		x := newExact(p)
		x.sync(0)
		l, h := x.segBounds(p.lo, p.hi)
		going := x.newTable(s, l, h)
		going.limit = exactLimit
		going.enterBasis(s)
		if _, ok := x.checkBasis(s, l, h); !ok || going.count == 0 {
			continue
		}
		checked++
		x.stop = stopped
		if _, ok := x.checkBasis(s, l, h); ok {
			t.Errorf("seed %d: a basis is checked to the end", seed)
		}
		z := x.newTable(s, l, h)
		z.limit = exactLimit
		if z.enterBasis(s); z.count > 0 {
			t.Errorf("seed %d: %d pivots", seed, z.count)
		}
		if v := x.repair(s, l, h); v.out != lpLimit {
			t.Errorf("seed %d: ends with %v", seed, v.out)
		}
	}
	if checked < 10 {
		t.Errorf("only %d bases were checked", checked)
	}
}

// ends is a context that is at its end once it has been looked at so often.
type ends struct {
	context.Context
	looks int
}

func (c *ends) Err() error {
	if c.looks--; c.looks < 0 {
		return context.DeadlineExceeded
	}
	return nil
}

// A context that ends at any moment stops a search over cones and linked
// columns, whatever work is under way: it comes to no wrong answer and says
// that it was stopped.
func TestEndsAtAnyMoment(t *testing.T) {
	for seed := uint64(0); seed < 12; seed++ {
		m := linked(rand.New(rand.NewPCG(seed, 43)), seed%2 == 0)
		want := mustSolve(t, m, Options{})
		for looks := 0; ; looks++ {
			c := &ends{context.Background(), looks}
			r, err := Solve(c, m, Options{})
			if err != nil {
				t.Fatal(err)
			}
			if c.looks >= 0 {
				break // it came to its own end
			}
			switch r.Status {
			case Stopped, Feasible, want.Status:
			default:
				t.Fatalf("seed %d: after %d looks %v, else %v", seed, looks, r.Status, want.Status)
			}
		}
	}
}

// linked is a program over cones whose spreads stand on columns that follow
// whole ones, shifted off the grid.
func linked(r *rand.Rand, whole bool) *Model {
	m := NewModel()
	n := 4 + r.IntN(3)
	var all, spread, gain []Term
	for range n {
		k := m.AddColumn(Column{Hi: 40, Integer: whole, Cost: float64(1 + r.IntN(9))})
		v := m.AddColumn(Column{Hi: 200})
		base := r.Float64()
		m.AddRow(Row{Lo: base, Hi: base, Terms: []Term{{v, 1}, {k, -5}}})
		all = append(all, Term{v, 1})
		gain = append(gain, Term{v, float64(1+r.IntN(30)) / 10})
		spread = append(spread, Term{v, 0.05 + r.Float64()/5})
	}
	m.AddRow(Row{Lo: 90, Hi: 110, Terms: all})
	m.AddCone(Cone{Terms: gain, Lo: 100, Z: 1.5, Spread: spread})
	return m
}
