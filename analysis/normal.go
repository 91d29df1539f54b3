package analysis

import (
	"math"

	"firlot/nutrient"
)

// Phi is the distribution function of the standard normal law.
func Phi(z float64) float64 { return float64(math.Erfc(-z/math.Sqrt2) / 2) }

// Quantile is the inverse of [Phi].
func Quantile(p float64) float64 { return -math.Sqrt2 * math.Erfcinv(2*p) }

func keyIndex(k nutrient.Key) int { return nutrient.Order(k) }

// interval is a band lo ≤ Σ load·u ≤ hi in independent standard normal u.
type interval struct {
	lo, hi float64
	load   []float64 // of length one
}

// parallel is how near to 1 the cosine of two loadings must come for their
// bands to be one: a window's two edges as fed are exactly opposite, and
// float64 keeps their cosine within 10⁻¹⁵ of −1.
const parallel = 1 - 1e-12

// joint is the probability that every margin is not negative.
func joint(list []margin) float64 {
	var bands []interval
	for _, m := range list {
		norm := length(m.loads)
		if norm == 0 {
			if m.worst < 0 {
				return 0
			}
			continue
		}
		b := interval{lo: -m.worst / norm, hi: math.Inf(1), load: make([]float64, len(m.loads))}
		for i, v := range m.loads {
			b.load[i] = v / norm
		}
		bands = merge(bands, b)
	}
	return genz(bands)
}

func merge(bands []interval, b interval) []interval {
	for i := range bands {
		switch c := dot(bands[i].load, b.load); {
		case c >= parallel:
			bands[i].lo = max(bands[i].lo, b.lo)
			return bands
		case c <= -parallel:
			bands[i].hi = min(bands[i].hi, -b.lo)
			return bands
		}
	}
	return append(bands, b)
}

func length(v []float64) float64 { return math.Sqrt(dot(v, v)) }

func dot(a, b []float64) float64 {
	s := 0.0
	for i := range min(len(a), len(b)) {
		s += float64(a[i] * b[i])
	}
	return s
}

// genzPoints is the number of lattice points. The error of the lattice rule
// falls nearly as 1/points; with 4,093 it stays below 10⁻³ for the dozen
// windows of a mix, which a test holds against plain simulation.
const genzPoints = 4093

// genz computes the probability of a box under a correlated normal law by
// sequential conditioning over a Richtmyer lattice with tent-shaped points.
func genz(bands []interval) float64 {
	switch len(bands) {
	case 0:
		return 1
	case 1:
		return max(Phi(bands[0].hi)-Phi(bands[0].lo), 0)
	}
	chol := cholesky(bands)
	if diagonal(chol) {
		p := 1.0
		for _, b := range bands {
			p *= max(Phi(b.hi)-Phi(b.lo), 0)
		}
		return p
	}
	sum := 0.0
	y := make([]float64, len(bands))
	for n := 1; n <= genzPoints; n++ {
		sum += conditional(bands, chol, y, float64(n))
	}
	return sum / genzPoints
}

// flat is the residual deviation below which a band is taken as fixed by the
// earlier ones.
const flat = 1e-7

// conditional is the product of the conditional probabilities along one
// lattice point.
func conditional(bands []interval, chol [][]float64, y []float64, n float64) float64 {
	p := 1.0
	for i, b := range bands {
		shift := dot(chol[i][:i], y)
		d := chol[i][i]
		if d < flat {
			if shift < b.lo-flat || shift > b.hi+flat {
				return 0
			}
			y[i] = 0
			continue
		}
		lo, hi := Phi((b.lo-shift)/d), Phi((b.hi-shift)/d)
		if hi <= lo {
			return 0
		}
		p *= hi - lo
		u := math.Abs(float64(2*frac(float64(n*math.Sqrt(primes[i%maxBands])))) - 1)
		y[i] = Quantile(min(max(lo+float64(u*(hi-lo)), 1e-15), 1-1e-15))
	}
	return p
}

func frac(v float64) float64 { return v - math.Floor(v) }

// maxBands is more than twice the windows that a document may hold.
const maxBands = 512

var primes = firstPrimes(maxBands)

func firstPrimes(n int) []float64 {
	list := []float64{2}
	for c := 3; len(list) < n; c += 2 {
		if isPrime(c) {
			list = append(list, float64(c))
		}
	}
	return list
}

func isPrime(odd int) bool {
	for d := 3; d*d <= odd; d += 2 {
		if odd%d == 0 {
			return false
		}
	}
	return true
}

func diagonal(chol [][]float64) bool {
	for i, row := range chol {
		for _, v := range row[:i] {
			if math.Abs(v) > flat {
				return false
			}
		}
	}
	return true
}

// cholesky factors the correlations of the bands.
func cholesky(bands []interval) [][]float64 {
	l := make([][]float64, len(bands))
	for i := range bands {
		l[i] = make([]float64, i+1)
		for j := 0; j < i; j++ {
			s := dot(bands[i].load, bands[j].load) - dot(l[i][:j], l[j][:j])
			if l[j][j] >= flat {
				l[i][j] = s / l[j][j]
			}
		}
		l[i][i] = math.Sqrt(max(1-dot(l[i][:i], l[i][:i]), 0))
	}
	return l
}
