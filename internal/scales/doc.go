// Package scales reads what scales with a cable say: the data reports of USB
// scales and the lines of serial ones. It is never needed: a keeper can read
// the display and type. What it reads is offered, never poured by itself.
//
// Every frame comes to a Reading, whatever it holds: a weight in whole
// milligrams with a word for whether the scale stands still, or a word for why
// there is no weight. Nothing that is not understood becomes a weight.
//
// # USB
//
// HID reads the scale data report of usage page 8D hex: a status, a unit, a
// power of ten as a signed byte, and the weight as 16 bits, the low byte
// first. Page and usages: USB Implementers' Forum, "HID Point of Sale Usage
// Tables", version 1.02, section "Weighing Devices", also printed as "Scales
// Page (0x8D)" in the later "HID Usage Tables for USB"; there the statuses are
// usages 71 to 78 hex and the units 51 to 5C hex, in the order of the values
// here. The order of the status values 1 to 8, the units' values and the report
// number 3 are from memory of those tables; two worked examples of a maker's
// scales, found in print, are among the test's vectors and agree.
//
// # Serial
//
// Line reads three families of lines. The manuals that were found are named
// beside the vectors in testdata/readings.json.
//
//	ST,GS,+  123.4,g    status, gross or net, weight, unit; also without the
//	                    second field, and with two digits of an address before
//	S S     123.45 g    a stable weight as in MT-SICS; S D: not stable; S +, S -:
//	                    over, under; S I: not now
//	      123.45 g ?    a weight as it is shown; ? means that it moves
//
// A bare weight without ? may be still, or come from a scale that never says
// so: it is read as Shown, not as Stable.
//
// # Units
//
// Milligrams, grams and kilograms; ounces and pounds avoirdupois, by the
// international pound of 0.45359237 kg exactly and 16 ounces to it (agreement
// of 1959). Arithmetic is exact; the result is rounded to the nearest
// milligram, halves away from nought, and Rounded says that it was.
//
// The browser does the same in internal/web/static/scale-read.js. Both are
// held to testdata/readings.json, and to each other on random frames.
package scales
