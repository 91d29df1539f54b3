// Package raster paints the pictures of package chart, and those that a card
// makes of them, as images, without a browser: a file for a video or a post
// from the command line.
//
// It knows the SVG that those packages write and no more: svg (also within an
// svg), g, path with M L H V C Q T S Z in absolute and relative letters, rect,
// circle, ellipse, use, text, and a pattern as a fill; fills, strokes with
// round or plain joins, dashes, opacities, translate, rotate and scale. What
// it does not know is an error, not a gap in the picture.
//
// Text is set in the Go fonts, which come with golang.org/x/image; a browser
// uses the reader's own.
package raster
