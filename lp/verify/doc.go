// Package verify checks the certificates written by package lp. It shares no
// code with the solver: it imports only the standard library, computes in
// exact fractions throughout, and derives everything it uses, such as the
// tangents of cones and the rows of count limits, from the document itself.
//
// # What a certificate claims
//
// A document holds a model and one of these claims about it:
//
//   - optimal: the point keeps every rule and costs exactly "objective", and
//     no point costs less than "bound";
//   - feasible: the same, said of a search that was stopped early;
//   - stopped: no point costs less than "bound" (none was found);
//   - infeasible: no point keeps every rule.
//
// The caller decides whether objective − bound is small enough: Report has
// both as exact fractions.
//
// # How it is checked
//
// The tree divides the box of the columns: a split "value" of a whole column
// divides it into x ≤ at and x ≥ at+1 (of another column into x ≤ at and x ≥ at, which
// overlap), a split "off" of a switched or counted column into
// x = 0 and x > 0. Every point that keeps the rules lies in some leaf. A leaf
// is closed by
//
//   - bound: weights y on rows, counts and cuts. By weak duality every point
//     of the leaf costs at least Σ y_i·(lo_i or hi_i) + Σ_j min over the box
//     of cost_j(x) − (yᵀA)_j·x, which is evaluated exactly;
//   - empty: the same with all costs zero; a positive value is a
//     contradiction (Farkas 1902);
//   - logic: the box is empty after the plain conclusions of
//     nothing-or-at-least and counts;
//   - point: the box is one point, which is checked itself;
//   - open: nothing is claimed; the bound is −∞.
//
// A cut is given by a direction v only. The checker tests Σ v² ≤ 1, which by
// Cauchy and Schwarz makes Σ Terms − Z·Σ v·Spread·x ≥ Lo true wherever the
// cone holds, and builds the row itself.
//
// A "grid" lets bounds be rounded up: when all costs, less a multiple of an
// equality row, and all rises are whole multiples of a step, and all columns
// and breaks are whole, the cost of every point is a multiple of that step
// plus a constant. The checker finds the step itself.
//
// # How it is computed
//
// Every number of a document is brought over a common denominator once: all
// places of columns over one, all costs over one, each row over its own. The
// weights of a leaf and their rows then add up in whole numbers over the least
// common denominator of that leaf, and only what is reported is brought to
// lowest terms. A meter counts the words that are read and kept and the
// products that are formed, every loop that a document can make long among
// them, and a document that needs more than maxStored or maxWork is refused: a
// few characters cannot make a check last for hours or fill the memory. The
// tests hold this against a plain reference that computes in fractions in
// lowest terms throughout.
package verify
