package lp

import "math"

// scale chooses powers of two that bring the matrix entries near 1.
func (s *simplex) scale() {
	p := s.p
	s.cs = make([]float64, p.n)
	s.rs = make([]float64, 0, len(p.a)+16)
	for j := range s.cs {
		s.cs[j] = 1
	}
	for i := range p.a {
		s.rs = append(s.rs, rowScale(p.a[i], s.cs))
	}
	ends := make([]spread, p.n)
	for pass := 0; pass < 3; pass++ {
		for j := range ends {
			ends[j] = spread{math.Inf(1), 0}
		}
		for i := 0; i < p.m0; i++ {
			for j, v := range p.a[i] {
				ends[j].take(math.Abs(v) * s.rs[i])
			}
		}
		same := true
		for j := range ends {
			if ends[j].big > 0 {
				c := ends[j].scale()
				same = same && c == s.cs[j]
				s.cs[j] = c
			}
		}
		if same {
			break // and so would be all that follows
		}
		for i := range p.a {
			s.rs[i] = rowScale(p.a[i], s.cs)
		}
	}
}

// spread is the least and the largest of some sizes above zero.
type spread struct{ small, big float64 }

func (e *spread) take(v float64) {
	if v <= 0 {
		return
	}
	if v < e.small {
		e.small = v
	}
	if v > e.big {
		e.big = v
	}
}

// scale is the power of two that centres the sizes around 1.
func (e *spread) scale() float64 { return powerNear(1 / (math.Sqrt(e.small) * math.Sqrt(e.big))) }

// rowScale is the power of two that centres the scaled entries of a row.
func rowScale(a, cs []float64) float64 {
	e := spread{math.Inf(1), 0}
	for j, v := range a {
		e.take(math.Abs(v) * cs[j])
	}
	if e.big == 0 {
		return 1
	}
	return e.scale()
}

// powerNear is a power of two within a factor of two of v > 0.
func powerNear(v float64) float64 {
	_, e := math.Frexp(v)
	return math.Ldexp(1, e-1)
}
