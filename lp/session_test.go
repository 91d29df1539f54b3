package lp

import (
	"context"
	"math"
	"math/rand/v2"
	"testing"

	"firlot/lp/verify"
)

// G9: after any sequence of changes a session gives the status and objective
// that a fresh solve gives, with a certificate that holds.
func TestSessionAgreesWithSolve(t *testing.T) {
	cases := []mixing{
		{n: 14, k: 8, tight: 0.06, shift: 0.05},
		{n: 14, k: 8, tight: 0.06, shift: 0.05, whole: true},
		{n: 12, k: 6, tight: 0.08, shift: 0.05, whole: true, minPart: 20, most: 6},
		{n: 12, k: 6, tight: 0.08, shift: 0.05, whole: true, cones: 1, z: 1.282},
		{n: 10, k: 6, tight: 0.08, shift: 0.05, cheapest: true},
	}
	for i, c := range cases {
		for seed := uint64(0); seed < 12; seed++ {
			r := rand.New(rand.NewPCG(seed, 31))
			m := c.build(seed)
			s, err := NewSession(m)
			if err != nil {
				t.Fatal(err)
			}
			for step := 0; step < 12; step++ {
				change(t, r, m, s)
				o := Options{Proof: step%4 == 0}
				got, err := s.Solve(context.Background(), o)
				if err != nil {
					t.Fatal(err)
				}
				want := mustSolve(t, m, Options{})
				if got.Status != want.Status || (got.Status == Optimal && got.Objective != want.Objective) {
					t.Fatalf("case %d seed %d step %d: %v %v, fresh %v %v", i, seed, step, got.Status, got.Objective, want.Status, want.Objective)
				}
				if o.Proof {
					if _, err := verify.CheckBytes(got.Proof.JSON()); err != nil {
						t.Fatalf("case %d seed %d step %d: %v", i, seed, step, err)
					}
				}
			}
		}
	}
}

// change makes the same random change to the model and to the session.
func change(t *testing.T, r *rand.Rand, m *Model, s *Session) {
	t.Helper()
	var err error
	switch r.IntN(4) {
	case 0:
		v := Var(r.IntN(m.Columns()))
		hi := float64(200 + r.IntN(500))
		if br := m.cols[v].Breaks; len(br) > 0 {
			hi = math.Max(hi, br[0].At+1)
		}
		m.cols[v].Hi = hi
		err = s.SetColumn(v, 0, hi)
	case 1:
		v := Var(r.IntN(m.Columns()))
		m.cols[v].Cost += float64(r.IntN(3)-1) / 2
		err = s.SetCost(v, m.cols[v].Cost)
	default:
		k := RowID(1 + r.IntN(m.Rows()-1))
		row := &m.rows[k]
		by := math.Round((row.Hi - row.Lo) * (r.Float64() - 0.5))
		row.Lo, row.Hi = row.Lo+by, row.Hi+by
		err = s.SetRow(k, row.Lo, row.Hi)
	}
	if err != nil {
		t.Fatal(err)
	}
}

func TestSessionRefusesBadChanges(t *testing.T) {
	m := mixing{n: 5, k: 2, tight: 0.1, whole: true, minPart: 20, most: 3}.build(1)
	s, err := NewSession(m)
	if err != nil {
		t.Fatal(err)
	}
	for i, err := range []error{
		s.SetRow(99, 0, 1), s.SetRow(0, 2, 1), s.SetColumn(99, 0, 1), s.SetColumn(0, 1, 5), s.SetColumn(0, 0, inf),
		s.SetCost(-1, 0), s.SetCost(0, inf), s.SetRow(0, math.NaN(), 1),
	} {
		if err == nil {
			t.Errorf("change %d was taken", i)
		}
	}
	got, err := s.Solve(context.Background(), Options{})
	want := mustSolve(t, m, Options{})
	if err != nil || got.Status != want.Status || got.Objective != want.Objective {
		t.Errorf("%v %v, want %v %v", got.Status, got.Objective, want.Status, want.Objective)
	}
}

// BenchmarkSession measures one re-solve after one window has moved.
func BenchmarkSession(b *testing.B) {
	m := mixing{n: 60, k: 40, tight: 0.06, shift: 0.02}.build(5)
	s, err := NewSession(m)
	if err != nil {
		b.Fatal(err)
	}
	b.ReportAllocs()
	for i := 0; i < b.N; i++ {
		row := m.rows[1+i%40]
		by := math.Round((row.Hi - row.Lo) * 0.1 * float64(i%3-1))
		if err := s.SetRow(RowID(1+i%40), row.Lo+by, row.Hi+by); err != nil {
			b.Fatal(err)
		}
		if _, err := s.Solve(context.Background(), Options{}); err != nil {
			b.Fatal(err)
		}
	}
}
