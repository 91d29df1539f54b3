package lp

import (
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
		v := x.repair(s, l, h, nil)
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
		num, den, ok := bareiss(mat)
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
