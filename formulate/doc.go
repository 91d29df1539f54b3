// Package formulate turns a resolved mix into an answer: the amounts of a mix
// that lies inside every window, or a proof that there is none.
//
// # The program
//
// The amounts are whole scale steps x_i that add up to the batch. Each edge
// of a window is one linear row (see package analysis); floors, ceilings,
// nothing-or-at-least and group limits are bounds and rows; limits on the
// number of ingredients are counts. Coefficients are scaled to whole numbers,
// rounded against the mix where a figure has more digits than that, so that
// the solver's exact arithmetic speaks about the window itself.
//
// A figure that is not known counts with the worst that it could be, on each
// edge anew: a mix that is found keeps its windows whatever the truth is.
//
// # Sureness
//
// With sureness p, each edge becomes mean − z·spread ≥ 0 with its own z. The
// allowed risk 1 − p is shared equally over the edges at first (Bonferroni);
// edges with room to spare then hand theirs on to those that bind. By the
// union bound the joint chance is at least p whatever the correlations; the
// joint chance in the answer is computed. "Impossible" is answered only when
// no mix exists even if every edge alone is to hold with chance p, which is
// necessary; between the two the answer is "stopped".
// Sources: A. Charnes, W. W. Cooper, Chance-constrained programming,
// Management Science 6 (1959) 73; C. van de Panne, W. Popp, Minimum-cost
// cattle feed under probabilistic protein constraints, Management Science 9
// (1963) 405.
//
// # Preferences
//
// near: least mass moved from the base mix, Σ|x_i − b_i|/2. cheap: least
// cost. varied: smallest largest share. steady: the largest z for which every
// edge keeps mean − z·spread ≥ 0, found by halving on the relaxation and then
// in whole steps.
//
// # Around a bowl
//
// [Around] goes on when something is poured already: what is in the bowl is a
// floor, an empty jar a ceiling. A window's rows are homogeneous in the
// masses, so the batch may be a sum of variables, and the smallest batch that
// gets back inside is found, and proved, in one program. [Settle] is the same
// with nothing poured: it brings amounts to the steps of several scales.
//
// # One base, several toppers
//
// [FindBase] looks for one mix from which those of several plans are made by
// adding something to each: the smallest additions, or the proof that there is
// no such base.
//
// # Equally good
//
// Where several mixes are equally good, the answer is the one that the
// solver's fixed order of work reaches first; that order depends on nothing
// but the order of the document's lines and windows.
package formulate
