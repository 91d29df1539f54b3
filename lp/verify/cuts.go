package verify

import (
	"errors"
	"fmt"
	"math/big"
)

// addCuts derives the tangents from their directions.
func (w *walker) addCuts(raw []rawCut) error {
	for i, c := range raw {
		if c.Cone < 0 || c.Cone >= len(w.m.cones) || len(c.Dir) != len(w.m.cones[c.Cone].long.terms) {
			return fmt.Errorf("cut %d does not fit a cone", i)
		}
		r, err := w.m.tangent(&w.m.cones[c.Cone], c.Dir)
		if err != nil {
			return fmt.Errorf("cut %d: %w", i, err)
		}
		w.cuts = append(w.cuts, r)
	}
	return nil
}

// tangent is the row Σ Terms·x − Σ v·Z·Spread·x ≥ Lo of a direction v.
func (m *model) tangent(k *cone, dir []string) (r row, err error) {
	v, d, err := m.list(dir)
	if err != nil {
		return r, err
	}
	if err := m.atMostOne(v, d); err != nil {
		return r, err
	}
	step := d.times(k.long.d) // the denominator of v·Z·Spread
	if r.d, err = m.join(k.terms.d, step); err != nil {
		return r, err
	}
	n := int64(1 + len(k.terms.terms) + len(v))
	long := words(r.d.bits()) + k.terms.size + k.long.size
	if err := m.store(n * (1 + long)); err != nil {
		return r, err
	}
	if err := m.spend(n, long*long); err != nil {
		return r, err
	}
	up := r.d.over(k.terms.d)
	r.lo = up.of(k.terms.lo)
	r.terms = make([]term, 0, len(k.terms.terms))
	for i, e := range k.terms.terms {
		m.place[e.col] = i
		r.terms = append(r.terms, term{e.col, up.of(e.coef)})
	}
	up = r.d.over(step)
	for i, e := range k.long.terms {
		t := up.scale(new(big.Int).Mul(v[i], e.coef))
		at := m.place[e.col]
		if at < len(k.terms.terms) && k.terms.terms[at].col == e.col {
			r.terms[at].coef.Sub(r.terms[at].coef, t)
		} else {
			r.terms = append(r.terms, term{e.col, t.Neg(t)})
		}
	}
	r.measure()
	return r, nil
}

// atMostOne refuses a direction v/d that is longer than 1.
func (m *model) atMostOne(v []*big.Int, d den) error {
	sum, t := new(big.Int), new(big.Int)
	for _, e := range v {
		if err := m.spend(1, size(e)*size(e)); err != nil {
			return err
		}
		sum.Add(sum, t.Mul(e, e))
	}
	if sum.Cmp(d.scale(d.scale(t.SetInt64(1)))) > 0 {
		return errors.New("the direction is too long")
	}
	return nil
}
