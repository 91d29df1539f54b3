// Package report turns an answer into the document that programs read: the
// same bytes from the command line, a page or a card. docs/schema holds its
// JSON Schema.
//
// Numbers are rounded to six significant digits, so that the last bits of a
// platform's arithmetic do not show. A figure that is not known is null, never
// zero.
package report
