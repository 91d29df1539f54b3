package chart

import (
	"fmt"
	"math"
	"strconv"
	"strings"
	"unicode/utf8"
)

// Number writes a figure for reading, in the reader's language.
type Number func(v float64) string

func (n Number) of(v float64) string {
	if n == nil {
		return strconv.FormatFloat(v, 'g', 4, 64)
	}
	return n(v)
}

// The colours that a page can set.
const (
	ink   = "var(--ink, #1e2a2e)"
	soft  = "var(--ink-soft, #54666b)"
	flax  = "var(--seed, #3b5ba5)"
	paper = "var(--paper, #fcfcfa)"
)

// canvas collects the markup of one picture.
type canvas struct{ strings.Builder }

func (c *canvas) put(format string, args ...any) { fmt.Fprintf(c, format, args...) }

// begin opens the root element. extra is trusted markup: attributes.
func (c *canvas) begin(class string, w, h float64, title, desc, extra string) {
	c.put(`<svg xmlns="http://www.w3.org/2000/svg" class="firlot %s" viewBox="0 0 %s %s"`, class, num(w), num(h))
	if extra == "" {
		extra = fmt.Sprintf(` width="%s" height="%s"`, num(w), num(h))
	}
	c.WriteString(extra)
	if title == "" {
		c.WriteString(` aria-hidden="true">`)
		return
	}
	c.put(` role="img" aria-label="%s"><title>%s</title>`, esc(title), esc(title))
	if desc != "" {
		c.put(`<desc>%s</desc>`, esc(desc))
	}
}

func (c *canvas) end() string {
	c.WriteString("</svg>\n")
	return c.String()
}

// line draws a path without a fill; dash may be empty.
func (c *canvas) line(class, d, colour string, width float64, dash string) {
	c.put(`<path class="%s" d="%s" fill="none" stroke="%s" stroke-width="%s"`, class, d, colour, num(width))
	if dash != "" {
		c.put(` stroke-dasharray="%s"`, dash)
	}
	c.WriteString(`/>`)
}

// num writes a coordinate in hundredths at most; what is not a number is 0.
func num(v float64) string {
	if math.IsNaN(v) || math.IsInf(v, 0) {
		return "0"
	}
	if math.Abs(v) >= 10 {
		v = math.Round(v*10) / 10
	} else {
		v = math.Round(v*100) / 100
	}
	if v == 0 {
		return "0" // never −0
	}
	s := strconv.FormatFloat(v, 'f', -1, 64)
	if strings.HasPrefix(s, "0.") {
		return s[1:]
	}
	if strings.HasPrefix(s, "-0.") {
		return "-" + s[2:]
	}
	return s
}

var escapes = strings.NewReplacer("&", "&amp;", "<", "&lt;", ">", "&gt;", `"`, "&#34;", "'", "&#39;")

// esc escapes text for content and for attribute values, and replaces what
// XML cannot hold.
func esc(s string) string {
	clean := strings.Map(func(r rune) rune {
		switch {
		case r == '\t' || r == '\n' || r == '\r':
			return ' '
		case r < 0x20 || r == 0xFFFE || r == 0xFFFF || r == utf8.RuneError:
			return utf8.RuneError
		}
		return r
	}, s)
	return escapes.Replace(clean)
}

// unit scales path data drawn in a box from −1 to 1 by half a length and half
// a width. The data hold absolute M, L, C, Q, T, S and Z only.
func unit(d string, a, b float64) string { return rescale(d, a, b, num) }

// tenth writes a coordinate in tenths.
func tenth(v float64) string { return num(math.Round(v*10) / 10) }

// rescale is unit with a way to write coordinates.
func rescale(d string, a, b float64, write func(float64) string) string {
	var out strings.Builder
	x, first := true, true
	for i := 0; i < len(d); {
		switch ch := d[i]; {
		case ch == ' ' || ch == ',':
			i++
		case ch >= 'A' && ch <= 'Z':
			out.WriteByte(ch)
			i++
			x, first = true, true
		default:
			j := i + 1
			for dot := ch == '.'; j < len(d) && (d[j] >= '0' && d[j] <= '9' || d[j] == '.' && !dot); j++ {
				dot = dot || d[j] == '.'
			}
			v, _ := strconv.ParseFloat(d[i:j], 64)
			s := write(v * pick(x, a, b))
			if !first && s[0] != '-' {
				out.WriteByte(' ')
			}
			out.WriteString(s)
			x, first, i = !x, false, j
		}
	}
	return out.String()
}

func pick[T any](yes bool, a, b T) T {
	if yes {
		return a
	}
	return b
}

// point is a place in a picture, in px.
type point struct{ x, y float64 }

// polygon joins points by straight lines.
func polygon(pts []point, closed bool) string {
	var d strings.Builder
	for i, p := range pts {
		d.WriteString(pick(i == 0, "M", "L") + pair(p))
	}
	if closed && len(pts) > 0 {
		d.WriteByte('Z')
	}
	return d.String()
}

// smooth joins points by a closed curve through them (Catmull and Rom).
func smooth(pts []point) string {
	n := len(pts)
	var d strings.Builder
	d.WriteString("M" + pair(pts[0]))
	for i := range pts {
		p0, p1, p2, p3 := pts[(i+n-1)%n], pts[i], pts[(i+1)%n], pts[(i+2)%n]
		c1 := point{p1.x + (p2.x-p0.x)/6, p1.y + (p2.y-p0.y)/6}
		c2 := point{p2.x - (p3.x-p1.x)/6, p2.y - (p3.y-p1.y)/6}
		d.WriteString("C" + pair(c1) + sep(c2) + sep(p2))
	}
	d.WriteByte('Z')
	return d.String()
}

func pair(p point) string {
	y := num(p.y)
	if y[0] == '-' {
		return num(p.x) + y
	}
	return num(p.x) + " " + y
}

func sep(p point) string {
	s := pair(p)
	if s[0] == '-' {
		return s
	}
	return " " + s
}

// hatch returns slanted lines inside a convex polygon, as path data. Drawn
// lines need no identifier, unlike a pattern.
func hatch(pts []point, step float64, rising bool) string {
	if len(pts) < 3 {
		return ""
	}
	slope := pick(rising, 1.0, -1.0)
	at := func(p point) float64 { return p.y + slope*p.x } // constant along a line
	lo, hi := math.Inf(1), math.Inf(-1)
	for _, p := range pts {
		lo, hi = min(lo, at(p)), max(hi, at(p))
	}
	var d strings.Builder
	for v := math.Ceil(lo/step)*step + step/2; v < hi; v += step {
		var cut []point
		for i, p := range pts {
			q := pts[(i+1)%len(pts)]
			u, w := at(p)-v, at(q)-v
			if u*w < 0 {
				t := u / (u - w)
				cut = append(cut, point{p.x + t*(q.x-p.x), p.y + t*(q.y-p.y)})
			}
		}
		if len(cut) == 2 {
			d.WriteString("M" + pair(cut[0]) + "L" + pair(cut[1]))
		}
	}
	return d.String()
}
