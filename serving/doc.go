// Package serving turns a mix into portions: how much of it an animal's need
// for energy comes to, in grams and in spoons, how alike two portions of it
// are, and whether a batch is mixed through.
//
// # Portions
//
// An animal of W kg needs factor·W^0.75 kcal a day (see [needs.Energy]). A
// gram of the mix gives what is in the part of it that is eaten, by the
// analysis as eaten; husks that are left give nothing. Grams a day are the
// one divided by the other, and spoons are grams divided by what a level
// spoon holds: its volume times the mix's bulk density (see [Bulk]).
//
// # Spoonfuls
//
// Two portions of one mix differ, because a portion is a number of whole
// seeds. The least that it can be is the fundamental sampling error of
// P. Gy, for picks of random independent seeds: with w the mass share of each
// kind of piece, m the mass of one piece, c the concentration of the figure
// in it, M_S the mass of a portion and M_L that of the lot,
//
//	RSD² = (1/M_S − 1/M_L) · K,   K = Σ w·m·(c/c_L − 1)²,   c_L = Σ w·c.
//
// Source: the heterogeneity h = (c − c_L)·m / (c_L·m̄) of a particle, summed
// by kinds of particle. It is of first order, takes all pieces of a kind as
// alike, and knows nothing of segregation, which only adds to it: [Lot.Sorting]
// says by width how readily a mix's seeds sort themselves.
//
// [Lot.Draw] takes a portion as chance deals it, by a stated number, in whole
// numbers alone, so that the number gives the same portion everywhere.
//
// # Mixings
//
// A [Sampling] holds counts or weights of one kind of seed in several scoops
// against what chance alone would do, and comes to a [Verdict] with its
// confidence; see [Mixing] for how. [Sampling.Plan] says how many scoops, or
// how large ones, would tell.
package serving
