// Package lp finds the best point of a small program with linear rows, whole
// numbers, switches, count limits and second-order cones, and proves that it
// is the best. It knows nothing of what the numbers mean.
//
// # The problem
//
// For columns x_j with bounds lo_j ≤ x_j ≤ hi_j the package minimises
//
//	Σ_j cost_j(x_j),   cost(x) = Cost·x + Σ_k Rise_k · max(0, x − At_k),
//
// a sum of convex piecewise-linear costs ([Column], [Break]), over all x with
//
//	lo ≤ Σ Coef·x ≤ hi                                 for every [Row]
//	x whole                                            where Column.Integer
//	x = 0 or x ≥ NothingOr                             where Column.NothingOr > 0
//	Least ≤ #{x_j ≠ 0} ≤ Most                          for every [Count]
//	Σ Coef·x − Z·√(Σ (Coef·x)²) ≥ Lo                   for every [Cone]
//
// Every float64 in a [Model] means exactly the fraction that it is. Callers
// who want decimals to be exact pass whole numbers of a small unit.
//
// # What a result means
//
// [Solve] ends with one of these, see [Status]:
//
//   - Optimal: Result.X keeps every rule exactly, and Result.Bound, which no
//     point can beat, is within Options.Gap of Result.Objective. For models
//     with cones over columns that are not whole the best value is irrational
//     in general, and a gap of 1e-7 of the objective counts as none.
//   - Infeasible: there is no point. Result.Clash names the rules that carry
//     the proof; if Result.Whole is set their multipliers add up to a plain
//     contradiction (Farkas).
//   - Unbounded: there are points of ever lower cost.
//   - Feasible, Stopped: a limit or the context ended the search, with or
//     without a point. X keeps every rule and Bound is proved all the same.
//   - Trouble: neither float nor exact arithmetic reached a verified answer.
//
// An answer that has not been verified is never reported as Optimal or
// Infeasible. Options.Proof asks for a [Certificate] that package
// firlot/lp/verify checks without any code of this one.
//
// # How it works
//
// Rows become equations a·x − s = 0 with one logical s a row that carries the
// row's bounds; a column with breaks becomes a chain of segments. The
// simplex tableau expresses basic variables in the others,
// x_B = T·x_N, z = d·x_N, densely: with up to about a hundred rows and columns
// one pivot is a few microseconds and no factorisation pays. The dual simplex
// does the work: it needs signs of reduced costs only, which for variables
// with two bounds can always be had by choosing the bound, so any basis is a
// start, after a branching or a new row as well. Its ratio test is the long
// step with bound flipping (Fourer 1994; Koberstein 2005), relaxed by Harris'
// tolerance (1973); rows are chosen by reference weights (Forrest and
// Goldfarb 1992); stalls are met by a fixed perturbation of the costs and, at
// last, Bland's rule (1977). The primal simplex cleans up after perturbed or
// shifted costs and finds rays.
//
// Exact arithmetic decides. For a relaxation that must be exact, the final
// basis is solved in whole numbers by fraction-free elimination (Bareiss
// 1968), and primal and dual feasibility are checked; if they fail, an exact
// tableau with a common denominator (Edmonds 1967) pivots on with the least
// index rule until they hold. Inside the search, bounds of nodes come from
// weak duality: for any multipliers y at all,
//
//	cost(x) ≥ Σ_i y_i·(lo_i if y_i > 0 else hi_i) + Σ_j min_{l_j≤x≤u_j} (cost_j(x) − (yᵀA)_j·x)
//
// and a float64 value of the right side less a bound on its own rounding error
// is a proved bound, whatever the simplex did (Neumaier and Shcherbina 2004).
// With zero costs and a positive value it proves that a node is empty. Points
// are checked in float64 where all sums are exact or the error bound decides,
// else in fractions.
//
// Whole numbers and switches are found by branch and bound (Land and Doig
// 1960): best bound first, diving below each node, split by the penalties of
// Driebeek (1966) and Tomlin (1970). Switches and counts are split directly,
// x = 0 or x on, without binary columns: a column that is neither on nor off
// satisfies x/hi ≤ [x ≠ 0] ≤ x/least, and the rows Σ x/hi ≤ Most − on and
// Σ x/least ≥ Least − on are rewritten at every node, which is as strong as
// binaries. Reduced costs tighten bounds. Rounding with repair by unit swaps
// finds points. If all costs, less a multiple of an equality row, have a
// common divisor, bounds are rounded up to the grid of possible values.
//
// Cones are approximated from outside: for any vector v of length at most 1
// the tangent Σ Coef·x − Z·Σ v_i·Spread_i·x_i ≥ Lo is implied (Cauchy,
// Schwarz). Tangents are added at relaxation points that break the cone and
// at whole points that break it exactly.
//
// # The same answer everywhere
//
// The package uses no clock, no randomness, no map order and no fused
// multiply-add: products that are added to something are converted to float64
// first, which the language defines as rounding. The same model gives the same
// bytes on every platform, as long as no time limit strikes.
//
// # Guarantees
//
// The tests carry these numbers:
//
//	G1  agreement with enumeration, to the last bit, on small whole models
//	G2  agreement with GLPK and HiGHS on generated programs of fourteen families
//	G3  every certificate is accepted by the verifier, and says the same
//	G4  the same model gives the same bytes
//	G5  a clash that is Whole is a contradiction
//	G6  the multipliers of a continuous model prove its optimum
//	G7  a float bound less its error bound is never above the exact bound
//	G8  no fused arithmetic on any architecture
//	G9  a session answers as a fresh solve does
//
// # Sources
//
// G. B. Dantzig, Linear Programming and Extensions, 1963. A. Koberstein, The
// Dual Simplex Method, Techniques for a Fast and Stable Implementation, thesis,
// Paderborn 2005. P. M. J. Harris, Pivot Selection Methods of the Devex LP
// Code, 1973. R. Fourer, Notes on the Dual Simplex Method, 1994. R. G. Bland,
// New Finite Pivoting Rules, 1977. E. H. Bareiss, Sylvester's Identity and
// Multistep Integer-Preserving Gaussian Elimination, 1968. J. Edmonds, Systems
// of Distinct Representatives and Linear Algebra, 1967. B. Dutertre and L. de
// Moura, A Fast Linear-Arithmetic Solver for DPLL(T), 2006. J. Farkas, Theorie
// der einfachen Ungleichungen, 1902. A. Neumaier and O. Shcherbina, Safe
// Bounds in Linear and Mixed-Integer Programming, 2004. A. H. Land and A. G.
// Doig, An Automatic Method of Solving Discrete Programming Problems, 1960.
package lp
