package lp

import "math/big"

// newMatrix is a matrix of zeros with room for long numbers.
func newMatrix(rows, cols int) [][]*big.Int {
	const room = 8 // words; longer numbers find room of their own
	ints := make([]big.Int, rows*cols)
	words := make([]big.Word, room*rows*cols)
	mat := make([][]*big.Int, rows)
	for r := range mat {
		mat[r] = make([]*big.Int, cols)
		for c := range mat[r] {
			i := r*cols + c
			mat[r][c] = ints[i].SetBits(words[i*room : i*room : (i+1)*room])
		}
	}
	return mat
}

// bareiss solves the square system mat = [M | rhs] over the whole numbers by
// fraction-free elimination (Bareiss 1968). The solution is num/den with
// den > 0. It reports false if M is singular, or stop ends the work. mat is
// overwritten.
func bareiss(mat [][]*big.Int, stop func() bool) (num []*big.Int, den *big.Int, ok bool) {
	if _, ok := eliminate(mat, stop); !ok {
		return nil, nil, false
	}
	num, den = backward(mat)
	return num, den, true
}

// eliminate brings [M | rhs] to echelon form. After step k every entry is a
// minor of the original matrix, so the division by the pivot before last is
// exact. What stands below the diagonal are the minors with which the rows
// were eliminated. Row r of the result is row perm[r] of M.
func eliminate(mat [][]*big.Int, stop func() bool) (perm []int, ok bool) {
	perm = make([]int, len(mat))
	for r := range perm {
		perm[r] = r
	}
	prev := big.NewInt(1)
	t, u, rest := new(big.Int), new(big.Int), new(big.Int)
	for c := range mat {
		if stop != nil && stop() || !pickPivot(mat, perm, c) {
			return nil, false
		}
		for r := c + 1; r < len(mat); r++ {
			reduce(mat[r], mat[c], c, prev, t, u, rest)
		}
		prev = mat[c][c]
	}
	return perm, true
}

// reduce is one step of elimination: row becomes (row·piv − row[c]·by)/prev
// to the right of column c. Divisions by the first prev, 1, are left out.
func reduce(row, by []*big.Int, c int, prev, t, u, rest *big.Int) {
	piv, f := by[c], row[c]
	for j := c + 1; j < len(row); j++ {
		e := row[j]
		cross := f.Sign() != 0 && by[j].Sign() != 0
		if !cross && e.Sign() == 0 {
			continue
		}
		t.Mul(e, piv)
		if cross {
			t.Sub(t, u.Mul(f, by[j]))
		}
		if c > 0 {
			e.QuoRem(t, prev, rest)
		} else {
			e.Set(t)
		}
	}
}

// backward solves an eliminated system. By Cramer's rule the values times the
// determinant are whole, so each division is exact. It leaves mat as it is.
func backward(mat [][]*big.Int) (num []*big.Int, den *big.Int) {
	k := len(mat)
	num = make([]*big.Int, k)
	den = lastPivot(mat)
	u := new(big.Int)
	for i := k - 1; i >= 0; i-- {
		t := new(big.Int).Mul(den, mat[i][k])
		for j := i + 1; j < k; j++ {
			if mat[i][j].Sign() != 0 && num[j].Sign() != 0 {
				t.Sub(t, u.Mul(mat[i][j], num[j]))
			}
		}
		num[i] = t.Quo(t, mat[i][i])
	}
	return positive(num, den)
}

// transposed solves yᵀM = rhsᵀ with the elimination of M. The right side,
// eliminated as one more row of M, leaves in each column c the minor
// f_c = Σ y_r·L_rc over the rows r ≥ c, where L is the lower part of mat,
// because a minor is linear in its last row and zero if that row is among the
// others. The divisions are exact as in backward. rhs is overwritten, mat is
// left as it is.
func transposed(mat [][]*big.Int, perm []int, rhs []*big.Int) (num []*big.Int, den *big.Int) {
	k := len(mat)
	prev := big.NewInt(1)
	t, u, rest := new(big.Int), new(big.Int), new(big.Int)
	for c := range mat {
		reduce(rhs, mat[c], c, prev, t, u, rest)
		prev = mat[c][c]
	}
	num = make([]*big.Int, k)
	den = lastPivot(mat)
	for i := k - 1; i >= 0; i-- {
		t := new(big.Int).Mul(den, rhs[i])
		for r := i + 1; r < k; r++ {
			if y := num[perm[r]]; y.Sign() != 0 && mat[r][i].Sign() != 0 {
				t.Sub(t, u.Mul(mat[r][i], y))
			}
		}
		num[perm[i]] = t.Quo(t, mat[i][i])
	}
	return positive(num, den)
}

// lastPivot is the determinant up to its sign.
func lastPivot(mat [][]*big.Int) *big.Int {
	if len(mat) == 0 {
		return big.NewInt(1)
	}
	return new(big.Int).Set(mat[len(mat)-1][len(mat)-1])
}

// positive makes a common denominator positive.
func positive(num []*big.Int, den *big.Int) ([]*big.Int, *big.Int) {
	if den.Sign() < 0 {
		den.Neg(den)
		for _, v := range num {
			v.Neg(v)
		}
	}
	return num, den
}

// pickPivot swaps a row with a non-zero entry of least size into place c.
func pickPivot(mat [][]*big.Int, perm []int, c int) bool {
	best, bits := -1, 0
	for r := c; r < len(mat); r++ {
		if mat[r][c].Sign() != 0 {
			if n := mat[r][c].BitLen(); best < 0 || n < bits {
				best, bits = r, n
			}
		}
	}
	if best < 0 {
		return false
	}
	mat[c], mat[best] = mat[best], mat[c]
	perm[c], perm[best] = perm[best], perm[c]
	return true
}
