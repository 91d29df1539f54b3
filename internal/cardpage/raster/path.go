package raster

import (
	"fmt"
	"math"
	"strconv"
	"strings"
)

// point is a place in a picture.
type point struct{ x, y float64 }

func (p point) plus(q point) point        { return point{p.x + q.x, p.y + q.y} }
func (p point) minus(q point) point       { return point{p.x - q.x, p.y - q.y} }
func (p point) times(k float64) point     { return point{p.x * k, p.y * k} }
func between(p, q point, t float64) point { return p.plus(q.minus(p).times(t)) }

// matrix maps a point to (a·x + c·y + e, b·x + d·y + f).
type matrix struct{ a, b, c, d, e, f float64 }

var same = matrix{a: 1, d: 1}

func (m matrix) of(p point) point {
	return point{float64(m.a*p.x) + float64(m.c*p.y) + m.e, float64(m.b*p.x) + float64(m.d*p.y) + m.f}
}

// then is n first, and m on what comes of it.
func (m matrix) then(n matrix) matrix {
	return matrix{
		m.a*n.a + m.c*n.b, m.b*n.a + m.d*n.b,
		m.a*n.c + m.c*n.d, m.b*n.c + m.d*n.d,
		m.a*n.e + m.c*n.f + m.e, m.b*n.e + m.d*n.f + m.f,
	}
}

// scale is by how much lengths grow, on average.
func (m matrix) scale() float64 { return math.Sqrt(math.Abs(m.a*m.d - m.b*m.c)) }

// transform reads a list of translate, rotate and scale.
func transform(s string) (matrix, error) {
	m := same
	for s = strings.TrimSpace(s); s != ""; s = strings.TrimLeft(s, " ,") {
		name, rest, ok := strings.Cut(s, "(")
		inside, after, closed := strings.Cut(rest, ")")
		v, err := numbers(inside)
		if !ok || !closed || err != nil {
			return m, fmt.Errorf("the transform %q is not known", s)
		}
		s = after
		switch {
		case name == "translate" && len(v) == 2:
			m = m.then(matrix{1, 0, 0, 1, v[0], v[1]})
		case name == "translate" && len(v) == 1:
			m = m.then(matrix{1, 0, 0, 1, v[0], 0})
		case name == "scale" && len(v) == 1:
			m = m.then(matrix{v[0], 0, 0, v[0], 0, 0})
		case name == "scale" && len(v) == 2:
			m = m.then(matrix{v[0], 0, 0, v[1], 0, 0})
		case name == "rotate" && len(v) == 1:
			sin, cos := math.Sincos(v[0] * math.Pi / 180)
			m = m.then(matrix{cos, sin, -sin, cos, 0, 0})
		default:
			return m, fmt.Errorf("the transform %s with %d numbers is not known", name, len(v))
		}
	}
	return m, nil
}

// numbers reads numbers as SVG writes them, with or without marks between.
func numbers(s string) ([]float64, error) {
	var list []float64
	for i := 0; i < len(s); {
		if strings.IndexByte(" ,\t\n\r", s[i]) >= 0 {
			i++
			continue
		}
		j := i
		if s[j] == '-' || s[j] == '+' {
			j++
		}
		for dot := false; j < len(s) && (s[j] >= '0' && s[j] <= '9' || s[j] == '.' && !dot); j++ {
			dot = dot || s[j] == '.'
		}
		v, err := strconv.ParseFloat(s[i:j], 64)
		if err != nil {
			return nil, fmt.Errorf("%q holds something that is no number", s)
		}
		list = append(list, v)
		i = j
	}
	return list, nil
}

// track is a line of points, closed or not.
type track struct {
	at     []point
	closed bool
}

// arguments is how many numbers each letter of path data takes.
var arguments = map[byte]int{'M': 2, 'L': 2, 'H': 1, 'V': 1, 'C': 6, 'S': 4, 'Q': 4, 'T': 2, 'Z': 0}

// pen follows path data.
type pen struct {
	tracks  []track
	at      point
	control point // of the last curve, for S and T
	last    byte
}

// flatten turns path data into lines.
func flatten(d string) ([]track, error) {
	var p pen
	for i := 0; i < len(d); {
		if d[i] == ' ' || d[i] == '\n' {
			i++
			continue
		}
		letter := d[i] &^ 0x20
		n, known := arguments[letter]
		if !known {
			return nil, fmt.Errorf("the letter %q of a path is not known", d[i])
		}
		j := i + 1
		for j < len(d) && (d[j] < 'A') {
			j++
		}
		v, err := numbers(d[i+1 : j])
		if err != nil {
			return nil, err
		}
		if n == 0 && len(v) != 0 || n > 0 && (len(v) == 0 || len(v)%n != 0) {
			return nil, fmt.Errorf("the letter %q of a path has %d numbers", d[i], len(v))
		}
		relative := d[i] != letter
		p.draw(letter, relative, v[:min(n, len(v))])
		for k := n; k < len(v); k += n {
			if letter == 'M' {
				p.draw('L', relative, v[k:k+n])
			} else {
				p.draw(letter, relative, v[k:k+n])
			}
		}
		i = j
	}
	return p.tracks, nil
}

// draw follows one letter.
func (p *pen) draw(letter byte, relative bool, v []float64) {
	var base point
	if relative {
		base = p.at
	}
	pt := func(i int) point { return base.plus(point{v[i], v[i+1]}) }
	mirror := p.at
	if p.last == 'C' && letter == 'S' || p.last == 'Q' && letter == 'T' {
		mirror = p.at.times(2).minus(p.control)
	}
	p.last = letter
	switch letter {
	case 'M':
		p.at = pt(0)
		p.tracks = append(p.tracks, track{at: []point{p.at}})
	case 'L':
		p.to(pt(0))
	case 'H':
		p.to(point{base.x + v[0], p.at.y})
	case 'V':
		p.to(point{p.at.x, base.y + v[0]})
	case 'C':
		p.cubic(pt(0), pt(2), pt(4))
	case 'S':
		p.cubic(mirror, pt(0), pt(2))
		p.last = 'C'
	case 'Q':
		p.quadratic(pt(0), pt(2))
	case 'T':
		p.quadratic(mirror, pt(0))
		p.last = 'Q'
	case 'Z':
		if n := len(p.tracks); n > 0 {
			p.tracks[n-1].closed = true
			p.at = p.tracks[n-1].at[0]
			p.tracks = append(p.tracks, track{at: []point{p.at}})
		}
	}
}

func (p *pen) to(q point) {
	if len(p.tracks) == 0 {
		p.tracks = append(p.tracks, track{at: []point{p.at}})
	}
	t := &p.tracks[len(p.tracks)-1]
	t.at = append(t.at, q)
	p.at = q
}

// pieces is how many lines stand for a curve; the pictures' curves are small.
const pieces = 12

func (p *pen) cubic(a, b, end point) {
	from := p.at
	for i := 1; i <= pieces; i++ {
		t := float64(i) / pieces
		ab, bc, cd := between(from, a, t), between(a, b, t), between(b, end, t)
		p.to(between(between(ab, bc, t), between(bc, cd, t), t))
	}
	p.at, p.control = end, b
}

func (p *pen) quadratic(a, end point) {
	from := p.at
	for i := 1; i <= pieces; i++ {
		t := float64(i) / pieces
		p.to(between(between(from, a, t), between(a, end, t), t))
	}
	p.at, p.control = end, a
}
