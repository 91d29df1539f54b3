// Package card is the shareable page of a mix, as a document: one or several
// mixes with their amounts, the catalogue entries and the needs that they may
// need, the publisher's own words, and the certificates of the answers.
//
// [Make] builds a card from plans, [Encode] gives its one canonical text,
// [Decode] reads a stranger's: bounded, strict, and never run. A card holds its
// own catalogue, so [Card.Open] and [Card.Solve] need nothing else: the same
// engine gives the same answer wherever it runs, in the publisher's program or
// in a follower's browser.
//
// What makes the answers the same to the byte: a card's document is an
// ordinary mix document ([Card.Document]), and everything that a report says
// of a solved mix comes from the document, from the forms that it names (with
// the kernels that they are eaten as and the limits that they share) and from
// the stage; all of these are in the card as they are in the catalogue. What
// looks further than that differs by design: replacements and ways out are
// sought among the card's ingredients only.
package card
