package verify

import (
	"context"
	"errors"
	"fmt"
	"io"
	"math/big"
)

// Report is what a sound certificate proves.
type Report struct {
	// Status is the claim: "optimal", "feasible", "stopped" or "infeasible".
	Status string
	// Objective is the exact cost of the point, nil without a point.
	Objective *big.Rat
	// Bound is the claimed lower bound, which the tree proves, nil if there
	// is none or the model is infeasible.
	Bound *big.Rat
	// Proved is what the tree proves in fact, at least Bound; nil as above.
	Proved *big.Rat
	// Gap is Objective − Bound, nil if either is missing.
	Gap *big.Rat
	// Point is the exact point, nil without one.
	Point []*big.Rat
	// Leaves and Cuts count what was checked.
	Leaves, Cuts int
}

// Check reads one certificate and checks every claim in it exactly.
func Check(r io.Reader) (*Report, error) {
	data, err := io.ReadAll(io.LimitReader(r, MaxBytes+1))
	if err != nil {
		return nil, fmt.Errorf("verify: %w", err)
	}
	return CheckBytes(data)
}

// CheckBytes is Check for a document in memory.
func CheckBytes(data []byte) (*Report, error) { return CheckContext(context.Background(), data) }

// CheckContext is CheckBytes until the context ends: what the largest document
// asks for that is not refused takes a minute. Its error then wraps the
// context's, and says nothing about the certificate.
func CheckContext(ctx context.Context, data []byte) (*Report, error) {
	d, err := readDoc(data)
	if err != nil {
		return nil, fmt.Errorf("verify: %w", err)
	}
	rep, err := checkDoc(ctx, d)
	if err != nil {
		return nil, fmt.Errorf("verify: %w", err)
	}
	return rep, nil
}

func checkDoc(ctx context.Context, d *doc) (*Report, error) {
	m, err := build(ctx, d)
	if err != nil {
		return nil, err
	}
	rep := &Report{Status: d.Claim.Status, Cuts: len(d.Cuts)}
	if err := rep.checkPoint(m, d); err != nil {
		return nil, err
	}
	w := &walker{m: m}
	if err := w.addCuts(d.Cuts); err != nil {
		return nil, err
	}
	if err := w.walk(d.Tree); err != nil {
		return nil, err
	}
	rep.Leaves = w.leaves
	if !w.open && w.least != nil && d.Grid != nil {
		if err := w.raise(d.Grid); err != nil {
			return nil, err
		}
	}
	return rep, rep.compare(w, d)
}

// checkPoint checks the point and its cost against the claim.
func (rep *Report) checkPoint(m *model, d *doc) error {
	needs := rep.Status == "optimal" || rep.Status == "feasible"
	if !needs {
		if len(d.Point) > 0 || d.Claim.Objective != "" {
			return errors.New("this claim has no point")
		}
		return nil
	}
	if len(d.Point) != len(m.cols) {
		return errors.New("the point has the wrong length")
	}
	x, p, err := m.list(d.Point)
	if err != nil {
		return err
	}
	cost, broken, err := m.holds(x, p)
	if err != nil {
		return err
	}
	if broken != "" {
		return errors.New(broken)
	}
	said, err := number(d.Claim.Objective)
	if err != nil {
		return err
	}
	if said.cmp(cost) != 0 {
		return errors.New("the cost of the point is not the claimed objective")
	}
	rep.Objective = said.rat()
	rep.Point = make([]*big.Rat, 0, len(x))
	for _, v := range x {
		if err := m.spend(1, 4*size(v)*words(p.bits())); err != nil { // bringing it to lowest terms
			return err
		}
		rep.Point = append(rep.Point, frac{v, p}.rat())
	}
	return nil
}

// compare sets what the tree proved against the claim.
func (rep *Report) compare(w *walker, d *doc) error {
	bound, err := optional(d.Claim.Bound)
	if err != nil {
		return err
	}
	switch rep.Status {
	case "infeasible":
		if w.open || w.least != nil || bound.n != nil {
			return errors.New("the tree does not prove that there is no point")
		}
		return nil
	case "optimal":
		if bound.n == nil {
			return errors.New("an optimal point needs a bound")
		}
	case "feasible", "stopped":
	default:
		return fmt.Errorf("unknown claim %.40q", rep.Status)
	}
	if bound.n == nil {
		return nil
	}
	if w.open || (w.least != nil && w.least.cmp(bound) < 0) {
		return errors.New("the tree does not prove the bound")
	}
	rep.Bound = bound.rat()
	if w.least != nil {
		rep.Proved = w.least.rat()
	}
	if rep.Objective != nil {
		rep.Gap = new(big.Rat).Sub(rep.Objective, rep.Bound)
		if rep.Gap.Sign() < 0 {
			return errors.New("the bound is above the objective")
		}
	}
	return nil
}
