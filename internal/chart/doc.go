// Package chart draws the few pictures that help a keeper: what a food looks
// like, how much of it there will be, how a mix lies in its windows, and what
// a shelf can be mixed to. Every picture is one self-contained SVG element.
//
// # Words and numbers
//
// The package has no words of its own. Names, titles and descriptions come
// from the caller, in the reader's language and not yet escaped; numbers are
// written by the caller's Number. A picture without a title is decoration and
// hidden from screen readers.
//
// # Colours
//
// Colours are presentation attributes with a variable and a fallback, so that
// no inline style is needed and a page can set them for the dark and for
// paper: --ink, --ink-soft, --seed, --paper. Text is the current colour. The
// colours of foods are the catalogue's. No meaning rests on colour alone:
// bars are capped or hatched, outlines dashed, marks differ in shape.
//
// # Sameness
//
// The same data draw the same bytes. What looks like chance (the lie of
// a seed, the edge of a leaf) is seeded by the form's reference.
//
// # Identifiers
//
// Only heaps need identifiers inside the picture. They come from the ID
// option, which must be unique on its page.
package chart
