package lp

import (
	"math"
	"testing"

	"firlot/lp/verify"
)

// Whole and other columns without upper bounds get them from the rows, so
// that a stopped search still has a finite bound and its proof passes.
func TestBoundsFromRows(t *testing.T) {
	m := NewModel()
	sum := Row{Lo: 100, Hi: 100}
	fat := Row{Lo: math.Inf(-1), Hi: 450.5}
	for j := 0; j < 8; j++ {
		v := m.AddColumn(Column{Hi: inf, Cost: float64(3+j*j%7) / 3, Integer: j%2 == 0})
		sum.Terms = append(sum.Terms, Term{v, 1})
		fat.Terms = append(fat.Terms, Term{v, float64(9 - j)})
	}
	m.AddRow(sum)
	m.AddRow(fat)
	p := newProb(m)
	tr := newTree(t.Context(), p, Options{})
	n := &node{box: p.rootBox()}
	if !tr.narrow(n) {
		t.Fatal("narrowed to nothing")
	}
	for j := range n.box.hi {
		if want := math.Min(100, 450.5/float64(9-j)); n.box.hi[j] > want*1.001 || n.box.hi[j] < math.Floor(want) {
			t.Errorf("column %d: %v, want about %v", j, n.box.hi[j], want)
		}
	}
	for _, nodes := range []int{0, 1} {
		r := mustSolve(t, m, Options{Proof: true, Nodes: nodes})
		if math.IsInf(r.Bound, 0) {
			t.Fatalf("no bound: %+v", r)
		}
		if rep, err := verify.CheckBytes(r.Proof.JSON()); err != nil || rep.Status != r.Status.String() {
			t.Fatal(err, r.Status)
		}
	}
}
