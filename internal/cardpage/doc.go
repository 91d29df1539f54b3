// Package cardpage makes the one HTML file of a card: the published mix, to be
// read and printed as it is, and beside it the engine as WebAssembly, which
// works the mix out anew on the reader's device.
//
// The file needs nothing else: no address is asked for anything, and a
// content security policy in the file sees to it. What a page shows is drawn
// by package view, once here for the published mix in both languages and again
// in the browser for what the reader asks for; so a page has one way of being
// drawn, and what comes from a card is escaped in one place.
package cardpage
