package raster

import (
	"strings"
	"sync"

	"golang.org/x/image/font"
	"golang.org/x/image/font/gofont/gobold"
	"golang.org/x/image/font/gofont/goregular"
	"golang.org/x/image/font/sfnt"
	"golang.org/x/image/math/fixed"
)

// face is a font, read once.
type face struct {
	font *sfnt.Font
	err  error
}

func faceOf(ttf []byte) func() face {
	return sync.OnceValue(func() face {
		f, err := sfnt.Parse(ttf)
		return face{f, err}
	})
}

var regular, bold = faceOf(goregular.TTF), faceOf(gobold.TTF)

// em is the size at which outlines are taken from a font; it is far above what
// is painted, so that their rounding to 1/64 does not show.
const em = 1024

// text paints a line of text.
func (p *painter) text(n *node, s style, m matrix) error {
	at, err := n.numbers("x", "y")
	if err != nil {
		return err
	}
	f := regular()
	if s.bold {
		f = bold()
	}
	if f.err != nil {
		return f.err
	}
	letters, width, err := set(f.font, n.text)
	if err != nil {
		return err
	}
	k, start := s.size/em, at[0]
	switch s.anchor {
	case "middle":
		start -= width * k / 2
	case "end":
		start -= width * k
	}
	var tracks []track
	for _, l := range letters {
		tracks = append(tracks, track{at: l, closed: true})
	}
	return p.paint(tracks, s, m.then(matrix{k, 0, 0, k, start, at[1]}))
}

// set sets a text at the size of an em: its letters' outlines, and how wide it
// is.
func set(f *sfnt.Font, text string) (letters [][]point, width float64, err error) {
	var buf sfnt.Buffer
	for _, r := range strings.TrimSpace(text) {
		if r == '\u202f' { // a narrow space, which the fonts lack
			width += em / 5
			continue
		}
		g, err := f.GlyphIndex(&buf, r)
		if err != nil {
			return nil, 0, err
		}
		segments, err := f.LoadGlyph(&buf, g, fixed.I(em), nil)
		if err != nil {
			return nil, 0, err
		}
		letters = append(letters, letter(segments, width)...)
		advance, err := f.GlyphAdvance(&buf, g, fixed.I(em), font.HintingNone)
		if err != nil {
			return nil, 0, err
		}
		width += float64(advance) / 64
	}
	return letters, width, nil
}

// Lacks reports whether a text has a letter that the fonts have not, which is
// painted as an empty box.
func Lacks(text string) bool {
	f := regular()
	if f.err != nil {
		return true
	}
	var buf sfnt.Buffer
	for _, r := range text {
		if r < ' ' || r == '\u202f' {
			continue
		}
		if g, err := f.font.GlyphIndex(&buf, r); err != nil || g == 0 {
			return true
		}
	}
	return false
}

// letter is the outline of a glyph, moved to the right.
func letter(segments sfnt.Segments, x float64) [][]point {
	var q pen
	pt := func(f fixed.Point26_6) point { return point{x + float64(f.X)/64, float64(f.Y) / 64} }
	for _, s := range segments {
		switch a := s.Args; s.Op {
		case sfnt.SegmentOpMoveTo:
			q.at = pt(a[0])
			q.tracks = append(q.tracks, track{at: []point{q.at}})
		case sfnt.SegmentOpLineTo:
			q.to(pt(a[0]))
		case sfnt.SegmentOpQuadTo:
			q.quadratic(pt(a[0]), pt(a[1]))
		case sfnt.SegmentOpCubeTo:
			q.cubic(pt(a[0]), pt(a[1]), pt(a[2]))
		}
	}
	var out [][]point
	for _, t := range q.tracks {
		out = append(out, t.at)
	}
	return out
}
