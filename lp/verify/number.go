package verify

import (
	"context"
	"errors"
	"fmt"
	"math/big"
	"strconv"
	"strings"
)

// den is a denominator, 2^two·odd; an odd of nil is 1. Nearly all of them are
// powers of two, which cost a shift where others cost a division. They share
// their odd parts, which are therefore never changed in place.
type den struct {
	two uint
	odd *big.Int
}

// denOf is a whole number above zero as a denominator.
func denOf(z *big.Int) den {
	k := z.TrailingZeroBits()
	if z.BitLen() == int(k)+1 {
		return den{two: k}
	}
	return den{k, new(big.Int).Rsh(z, k)}
}

func (d den) isOne() bool { return d.two == 0 && d.odd == nil }

func (d den) bits() int {
	if d.odd == nil {
		return int(d.two)
	}
	return int(d.two) + d.odd.BitLen()
}

// times is d·e.
func (d den) times(e den) den {
	d.two += e.two
	switch {
	case d.odd == nil:
		d.odd = e.odd
	case e.odd != nil:
		d.odd = new(big.Int).Mul(d.odd, e.odd)
	}
	return d
}

// over is d/e, where e divides d.
func (d den) over(e den) den {
	d.two -= e.two
	switch {
	case e.odd == nil:
	case d.odd == e.odd || d.odd.Cmp(e.odd) == 0:
		d.odd = nil
	default:
		d.odd = new(big.Int).Quo(d.odd, e.odd)
	}
	return d
}

// scale multiplies z by d in place.
func (d den) scale(z *big.Int) *big.Int {
	if d.two > 0 {
		z.Lsh(z, d.two)
	}
	if d.odd != nil {
		z.Mul(z, d.odd)
	}
	return z
}

// of is z·d.
func (d den) of(z *big.Int) *big.Int { return d.scale(new(big.Int).Set(z)) }

func (d den) whole() *big.Int { return d.scale(big.NewInt(1)) }

// divides says whether z/d is whole.
func (d den) divides(z *big.Int) bool {
	if z.Sign() == 0 || d.isOne() {
		return true
	}
	return z.TrailingZeroBits() >= d.two && (d.odd == nil || new(big.Int).Rem(z, d.odd).Sign() == 0)
}

// frac is the fraction n/d, missing if n is nil. Fractions that are read are in
// lowest terms, those that are computed need not be.
type frac struct {
	n *big.Int
	d den
}

func (f frac) rat() *big.Rat {
	if f.d.isOne() {
		return new(big.Rat).SetInt(f.n)
	}
	return new(big.Rat).SetFrac(f.n, f.d.whole())
}

// cmp compares two fractions.
func (f frac) cmp(g frac) int {
	return g.d.of(f.n).Cmp(f.d.of(g.n))
}

// meter bounds what a document may cost. Figures are kept as whole numbers
// over common denominators, so one odd denominator makes many of them long;
// what is stored is counted in words of 64 bits, and what is computed in
// products of two words, and either ends in a refusal. Once in a while it looks
// whether the answer is still wanted.
type meter struct {
	stored, spent int64
	look          int64 // at how much work it looks again
	ctx           context.Context
}

// often is the work between two looks: some 25 ms.
const often = 1 << 24

var errLarge = errors.New("the numbers grow too large")

func words(bits int) int64 { return int64(bits+63) / 64 }

func size(z *big.Int) int64 { return words(z.BitLen()) }

// longest is the size of the longest number, or n if that is more; nil has none.
func longest(n int64, zs ...*big.Int) int64 {
	for _, z := range zs {
		if z != nil {
			n = max(n, size(z))
		}
	}
	return n
}

func (m *meter) store(words int64) error {
	if m.stored += words; m.stored > maxStored {
		return errLarge
	}
	return nil
}

// spend counts a piece of work on some numbers, with so many products for each.
func (m *meter) spend(numbers, products int64) error {
	if m.spent += numbers * (each + products); m.spent > maxWork {
		return errLarge
	}
	if m.spent >= m.look && m.ctx != nil {
		m.look = m.spent + often
		return m.ctx.Err()
	}
	return nil
}

// number reads a number that is kept with as many others as the document likes.
// Few characters make a long one ("1p4096" has 64 words), so it counts at once,
// not only when it is brought over a common denominator. The work of reading
// one grows with the square of its length.
func (m *meter) number(s string) (frac, error) {
	k := words(4 * min(len(s), maxDigits)) // a digit has less than four bits
	if err := m.spend(1, k*k); err != nil {
		return frac{}, err
	}
	f, err := number(s)
	if err != nil {
		return f, err
	}
	return f, m.store(1 + size(f.n) + words(f.d.bits()))
}

// optional reads such a number that may be missing (n is nil).
func (m *meter) optional(s string) (frac, error) {
	if s == "" {
		return frac{}, nil
	}
	return m.number(s)
}

// join is the least common multiple of two denominators.
func (m *meter) join(d, e den) (den, error) {
	d.two = max(d.two, e.two)
	switch {
	case e.odd == nil || d.odd == e.odd:
	case d.odd == nil:
		d.odd = e.odd
	case d.odd.Cmp(e.odd) != 0:
		if err := m.spend(1, 4*size(d.odd)*size(e.odd)); err != nil {
			return d, err
		}
		g := new(big.Int).GCD(nil, nil, d.odd, e.odd)
		d.odd = g.Mul(g.Quo(d.odd, g), e.odd)
	}
	if d.bits() > maxBits {
		return d, errLarge
	}
	return d, nil
}

// over gives the whole number n with f = n/d, where d is a multiple of f's
// denominator.
func (m *meter) over(f frac, d den) (*big.Int, error) {
	if f.n.Sign() == 0 {
		return f.n, m.store(1)
	}
	k := words(d.bits())
	if err := m.store(1 + size(f.n) + k); err != nil {
		return nil, err
	}
	if err := m.spend(1, k*(words(f.d.bits())+size(f.n))); err != nil {
		return nil, err
	}
	if f.d.two == d.two && f.d.odd == d.odd {
		return f.n, nil
	}
	return d.over(f.d).of(f.n), nil
}

// joinAll raises a common denominator to cover fractions. After the first fault
// it does nothing.
func (m *meter) joinAll(d *den, err *error, fs ...frac) {
	for _, f := range fs {
		if f.n != nil && *err == nil {
			*d, *err = m.join(*d, f.d)
		}
	}
}

// set brings a fraction over a denominator; a missing one stays nil. After the
// first fault it does nothing.
func (m *meter) set(to **big.Int, f frac, d den, err *error) {
	if f.n != nil && *err == nil {
		*to, *err = m.over(f, d)
	}
}

// list reads numbers and brings them over their common denominator.
func (m *meter) list(texts []string) (list []*big.Int, d den, err error) {
	fs := make([]frac, len(texts))
	for i, s := range texts {
		if fs[i], err = number(s); err != nil {
			return nil, d, err
		}
	}
	m.joinAll(&d, &err, fs...)
	list = make([]*big.Int, len(fs))
	for i, f := range fs {
		m.set(&list[i], f, d, &err)
	}
	return list, d, err
}

// number reads "12", "-5p-3" (−5·2⁻³) or "7/3".
func number(s string) (frac, error) {
	f, ok := read(s)
	if !ok {
		return frac{}, fmt.Errorf("%.40q is not a number", s)
	}
	return f, nil
}

func read(s string) (f frac, ok bool) {
	if len(s) > maxDigits {
		return f, false
	}
	if top, bottom, ok := strings.Cut(s, "/"); ok {
		n, ok1 := whole(top)
		d, ok2 := whole(bottom)
		if !ok1 || !ok2 || d.Sign() <= 0 {
			return f, false
		}
		r := new(big.Rat).SetFrac(n, d)
		return frac{r.Num(), denOf(r.Denom())}, true
	}
	power := 0
	if m, p, ok := strings.Cut(s, "p"); ok {
		v, err := strconv.Atoi(p)
		if err != nil || v > maxPower || v < -maxPower {
			return f, false
		}
		power, s = v, m
	}
	if f.n, ok = whole(s); !ok {
		return f, false
	}
	if power >= 0 {
		f.n.Lsh(f.n, uint(power))
	} else if f.n.Sign() != 0 {
		k := min(f.n.TrailingZeroBits(), uint(-power))
		f.n.Rsh(f.n, k)
		f.d.two = uint(-power) - k
	}
	return f, true
}

// whole reads an optional minus sign and decimal digits.
func whole(s string) (*big.Int, bool) {
	t := strings.TrimPrefix(s, "-")
	if t == "" {
		return nil, false
	}
	small := int64(0) // t, unless it is too long
	for i := 0; i < len(t); i++ {
		if t[i] < '0' || t[i] > '9' {
			return nil, false
		}
		small = 10*small + int64(t[i]-'0')
	}
	if len(t) > 18 {
		return new(big.Int).SetString(s, 10)
	}
	if len(t) < len(s) {
		small = -small
	}
	return big.NewInt(small), true
}

// optional reads a number that may be missing (n is nil).
func optional(s string) (frac, error) {
	if s == "" {
		return frac{}, nil
	}
	return number(s)
}

// orZero reads a number that may be missing (zero).
func orZero(s string) (frac, error) {
	if s == "" {
		return frac{n: new(big.Int)}, nil
	}
	return number(s)
}
