// Package analysis turns a mix into figures.
//
// # Measures
//
// A [Measure] is a nutrient on a basis and a side: as fed or on dry matter,
// of the mix as offered or of what is eaten of it once hulls are discarded;
// or the ratio of two nutrients. For masses x every measure is
//
//	value = Σ num_i·x_i / Σ den_i·x_i,
//
// with den_i = 1 as fed and offered, the dry-matter share on dry matter, the
// eaten share for what is eaten, the second nutrient for a ratio. A window
// from L to U therefore holds exactly when the two linear rows
//
//	Σ (num_i − L·den_i)·x_i ≥ 0   and   Σ (U·den_i − num_i)·x_i ≥ 0
//
// do. Analysing and solving use the same rows.
//
// # Spread
//
// Bags are independent of each other, and within a bag the typed-in figures
// are taken as independent too (derived ones, such as energy, follow from
// their parts). A row's standard deviation is √Σ d_i²·x_i² summed over bags
// and figures, and the chance that a row holds follows from the normal law.
// The joint chance over several windows is the multivariate normal
// probability, computed by Genz's method on a fixed lattice of points, so
// that it is the same every time. Source: A. Genz, Numerical computation of
// multivariate normal probabilities, J. Comput. Graph. Stat. 1 (1992) 141.
//
// # What is not known
//
// A missing figure never counts as zero. A [Value] has the share of the mix
// for which the figure is known and the bounds between which the mix lies
// whatever the rest holds; a window that those bounds could push either way
// is "not known".
package analysis
