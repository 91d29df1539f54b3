// Package nutrient says what is measured in a feed: the figures, their keys,
// names, units and bases, and masses in whole milligrams.
//
// # Figures
//
// A figure is an amount in a mass of feed: per cent (grams in 100 g), mg/kg
// or IU/kg. The figure of a mix is therefore the mean of its ingredients'
// figures weighted by their masses. Figures stand as fed unless a [Basis]
// says otherwise.
//
// Crude protein is nitrogen × 6.25, the convention of feed labels; food
// tables often use a lower factor for a seed, and a figure taken from one is
// brought to 6.25 before it enters a table here. Crude fibre and dietary
// fibre are two different measurements and never stand in for each other.
//
// Three kinds of figures are derived and never typed in: nitrogen-free
// extract, energy, and sums of amino acids. A derived figure is unknown as
// soon as one of its parts is.
//
// # Masses
//
// A [Mass] is a whole number of milligrams, so that the amounts of a recipe
// add up exactly.
package nutrient
