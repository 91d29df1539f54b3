package chart

import (
	"strings"
	"unicode"
)

// softHyphen marks where a caller allows a word to be broken.
const softHyphen = '\u00ad'

// widths in ems of a wide sans (DejaVu Sans, from its metrics, rounded up); a
// narrower font leaves room to spare.
var widths = map[rune]float64{
	' ': 0.32, 'i': 0.28, 'j': 0.28, 'l': 0.28, 'I': 0.3, '.': 0.32, ',': 0.32, ':': 0.34, ';': 0.34,
	'\'': 0.28, '|': 0.34, '!': 0.4, 'f': 0.36, 't': 0.4, 'r': 0.42, '(': 0.4, ')': 0.4, '-': 0.37,
	's': 0.53, 'c': 0.56, 'z': 0.53, 'J': 0.3, 'm': 0.98, 'w': 0.82, 'M': 0.87, 'W': 0.99, '%': 0.96,
	'O': 0.79, 'Q': 0.79, 'N': 0.75, 'G': 0.78, 'H': 0.76, 'D': 0.77, '@': 1, '−': 0.84, '…': 1, '·': 0.32,
	'’': 0.32, '‘': 0.32, '–': 0.5, '—': 1, '\u00a0': 0.32, '\u202f': 0.2, softHyphen: 0,
}

// textWidth estimates how wide a text is at a font size, in px.
func textWidth(s string, size float64) float64 {
	ems := 0.0
	for _, r := range s {
		w, known := widths[r]
		switch {
		case known:
		case unicode.Is(unicode.Mn, r):
			w = 0
		case r >= 0x1100 && !(r >= 0x1e00 && r <= 0x2bff): // Hangul, kana, Han, emoji
			w = 1.05
		case unicode.IsUpper(r):
			w = 0.72
		default:
			w = 0.64
		}
		ems += w
	}
	return ems * size
}

// bold is how much wider a bold face runs.
const bold = 1.14

// wrap breaks a text into lines of at most a width in px. A word that is
// wider by itself is broken at its soft hyphens or, failing that, anywhere.
func wrap(s string, size, width float64) []string {
	var lines []string
	line := ""
	for _, word := range strings.Fields(s) {
		for _, part := range pieces(word, size, width) {
			joined := part
			if line != "" {
				joined = line + " " + part
			}
			if line != "" && textWidth(joined, size) > width {
				lines = append(lines, line)
				joined = part
			}
			line = joined
			if strings.HasSuffix(part, "-") && part != word { // a broken word goes on below
				lines = append(lines, line)
				line = ""
			}
		}
	}
	if line != "" {
		lines = append(lines, line)
	}
	return lines
}

// pieces breaks one word so that each piece fits.
func pieces(word string, size, width float64) []string {
	plain := strings.ReplaceAll(word, string(softHyphen), "")
	if textWidth(plain, size) <= width {
		return []string{plain}
	}
	var out []string
	piece, rest := "", []rune(word)
	soft := -1 // bytes of piece up to the last soft hyphen
	room := max(width-textWidth("-", size), size)
	for len(rest) > 0 {
		r := rest[0]
		if r == softHyphen {
			soft, rest = len(piece), rest[1:]
			continue
		}
		if piece != "" && textWidth(piece+string(r), size) > room {
			cut := len(piece)
			if soft > 0 {
				cut = soft
			}
			out = append(out, piece[:cut]+"-")
			piece, soft = piece[cut:], -1
			continue
		}
		piece, rest = piece+string(r), rest[1:]
	}
	if piece == "" {
		return out
	}
	return append(out, piece)
}

// label is a block of text in a picture.
type label struct {
	x, y   float64 // anchor and baseline of the first line
	size   float64
	bold   bool
	colour string
	anchor string // start, middle, end; empty is start
	class  string
	lines  []string
}

// lead is the distance of baselines, in font sizes.
const lead = 1.25

func (l label) height() float64 { return float64(len(l.lines)) * l.size * lead }

// text writes a block, one element a line.
func (c *canvas) text(l label) {
	for i, s := range l.lines {
		c.put(`<text class="%s" x="%s" y="%s" font-size="%s" fill="%s"`, l.class, num(l.x), num(l.y+float64(i)*l.size*lead), num(l.size), l.colour)
		if l.bold {
			c.WriteString(` font-weight="700"`)
		}
		if l.anchor != "" && l.anchor != "start" {
			c.put(` text-anchor="%s"`, l.anchor)
		}
		c.put(`>%s</text>`, esc(s))
	}
}

// wrapBold wraps for a bold face.
func wrapBold(s string, size, width float64) []string { return wrap(s, size, width/bold) }
