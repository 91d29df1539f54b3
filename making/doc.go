// Package making keeps the books of one making at the scale: what was planned,
// what has been poured, what to pour next, and how to still land inside the
// windows when a hand slips.
//
// # The log is the truth
//
// A making is a [Start] and a log of [Event]s that is only added to. [Of]
// computes the [State] from them, and from nothing else: the same log gives
// the same state on every device. An event whose key the log holds already
// counts once, so that a device may send it again. A take-back names the pour
// that it undoes; what is in a bowl is the sum of its pours that are not taken
// back.
//
// # At the scale
//
// Lines are poured largest first, so that a slip in one of the first can be
// made good by those to come; leaves and flowers come last, for they lie on
// top and would hide what is poured on them. Any other order is a replan.
//
// A scale that bears less than the batch is filled in rounds, line by line:
// pour after pour goes into the bowl on the scale, and when the next would be
// more than the scale bears the bowl is tipped out into the tub. A line that
// is more than the scale bears comes in several pours. The other way, every
// round a small mix of the same shape, would weigh every line in every round:
// four times the weighings for a batch of four rounds, and half a gram of a
// trace that the scale cannot show. Whoever wants parts of the same mix, for
// want of a tub, asks for several bowls: then each line is poured into each
// bowl, in whole steps that add up exactly, and no two bowls differ by more
// than a step of the scale in any line.
//
// A fine scale takes the lines that the first scale cannot weigh well.
package making
