// Package ration counts the whole diet of a group of animals: the mix and what
// is fed beside it, by the week.
//
// A [Document] says who is fed and what: animals with birth dates, weights and
// breeding states; foods with the weekdays or the rhythm on which they are
// given; what was left in the bowl; what was seen. [Resolve] turns it, for one
// day that is handed in, into a [Plan] in which every name is a form of the
// catalogue and every animal has its life stage. The rest reads a plan:
//
//	Week        what is given on which day, and the sitter's instruction
//	Ledger      every figure with a need, per animal and day, by where it
//	            comes from, with a verdict
//	Mend        the smallest change of the week that mends a shortage, proved
//	Portions    how much of the mix, from the need for energy
//	Trend       how a weight runs, and when it falls fast
//	Changeover  the days from one mix to the next
//	Leftovers   what was really eaten, and how choosy the animals are
//	Shopping    what to buy for the next weeks
//
// # What is compared
//
// Published requirements are concentrations in a diet that an animal eats
// until its need for energy is met. So a need per animal and day is the
// concentration times the grams of such a diet that hold the energy which the
// animal gets. The energy itself is held against what animals of the species
// need. Protein, fat and fibre go by dry matter.
//
// # What is not known
//
// A figure that the catalogue lacks counts as nothing where it should reach a
// least and as the most that it could be where it should stay below one. Only
// if both lead to the same verdict there is one; otherwise it is [NotKnown].
// How much hay is eaten is not known either: the range that is assumed counts
// in the same way.
//
// Nothing here replaces an exotics veterinarian, and no week is called
// complete.
package ration
