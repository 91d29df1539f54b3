// Package export writes what happened at the scale as a table of
// comma-separated values (RFC 4180), for spreadsheets and other programs.
//
// # Columns
//
// The first line names the columns. Each line after it is one pour, standing or
// taken back; one ingredient that was planned and of which nothing was poured;
// or one note. Makings come in the order in which they are handed over, what
// belongs to one making together: ingredients in the order of pouring, the
// pours of each in the order in which they were kept, then the notes. A making
// of which there is nothing of all this has one line.
//
//	making          its id
//	batch_lot       lot of the batch, as on its label
//	state           open, finished or left
//	mix             name of the mix at the start
//	mix_version     its version at the start; empty when none was kept
//	started         date and time
//	ended           date and time of finishing or leaving
//	best_before     of the batch, a date
//	ingredient      name or id
//	form            name or id; empty for an own ingredient
//	ingredient_lot  code printed on the bag
//	lot_from        where that was bought
//	planned_g       grams planned at the start, all bowls together
//	replanned_g     grams planned by the last plan, where that is another mass
//	poured_g        grams poured and not taken back
//	taken_back_g    grams poured and taken back
//	short_g         how many grams more than the shelf counted
//	bowl            number of the bowl
//	round           number of the filling of the scale
//	at              date and time at which the pour was kept
//	who             name that was given
//	device          name of the device; empty for the machine with the store
//	note            of the event
//	made_by         who made the batch
//	making_note     of the making
//
// planned_g, replanned_g and making_note stand on the first line of their
// ingredient or making only, so that a column can be added up. A cell is empty
// when there is nothing to say: an unknown mass is never written as 0. Masses
// are exact to the milligram. Dates are written 2026-03-31, times 2026-03-31
// 08:15:00 in the zone that the caller asks for.
//
// # Text that a spreadsheet would calculate
//
// Spreadsheets take a cell that begins with = + - @ for a formula, whoever
// wrote it. Text that begins so, with the wide forms of these, or with a tab or
// a line break, gets an apostrophe before it, which spreadsheets read as "this
// is text" and do not show. Numbers and dates never begin so.
package export
