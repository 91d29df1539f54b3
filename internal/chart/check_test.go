package chart

import (
	"encoding/xml"
	"errors"
	"io"
	"math"
	"strconv"
	"strings"
	"testing"
	"unicode/utf8"
)

// element is one start tag with the text right inside it.
type element struct {
	name  string
	attrs map[string]string
	text  string
}

// inherited are the attributes that texts take from their groups.
var inherited = []string{"font-size", "font-weight", "text-anchor"}

// elements parses a picture with a strict XML parser.
func elements(t testing.TB, svg string) []element {
	t.Helper()
	dec := xml.NewDecoder(strings.NewReader(svg))
	var out []element
	open := []map[string]string{{}}
	for {
		tok, err := dec.Token()
		if errors.Is(err, io.EOF) {
			break
		}
		if err != nil {
			t.Fatalf("not well-formed: %v\n%.300s", err, svg)
		}
		switch tok := tok.(type) {
		case xml.StartElement:
			e := element{name: tok.Name.Local, attrs: map[string]string{}}
			for _, a := range tok.Attr {
				if _, twice := e.attrs[a.Name.Local]; twice {
					t.Fatalf("<%s> has %s twice", e.name, a.Name.Local)
				}
				e.attrs[a.Name.Local] = a.Value
			}
			for _, k := range inherited {
				if v, ok := open[len(open)-1][k]; ok && e.attrs[k] == "" {
					e.attrs[k] = v
				}
			}
			out, open = append(out, e), append(open, e.attrs)
		case xml.EndElement:
			open = open[:len(open)-1]
		case xml.CharData:
			if len(out) > 0 {
				out[len(out)-1].text += string(tok)
			}
		}
	}
	if len(out) == 0 || out[0].name != "svg" {
		t.Fatal("no svg element")
	}
	return out
}

// allowed are the only elements of our pictures: nothing that runs or loads.
var allowed = map[string]bool{"svg": true, "title": true, "desc": true, "g": true, "path": true, "text": true,
	"use": true, "defs": true, "circle": true, "ellipse": true, "rect": true, "pattern": true}

// sound checks that a picture is well-formed, self-contained and finite, that
// its identifiers are unique and that every use finds its own.
func sound(t testing.TB, svg string) []element {
	t.Helper()
	els := elements(t, svg)
	ids := map[string]bool{}
	for _, e := range els {
		if !allowed[e.name] {
			t.Errorf("element <%s>", e.name)
		}
		for k, v := range e.attrs {
			if strings.HasPrefix(k, "on") || k == "style" || strings.Contains(v, "url(") && !strings.HasPrefix(v, "url(#") {
				t.Errorf("<%s %s=%q>", e.name, k, v)
			}
			if k != "aria-label" && k != "font-family" && (strings.Contains(v, "NaN") || strings.Contains(v, "Inf")) {
				t.Errorf("<%s %s=%q> is not a number", e.name, k, v)
			}
		}
		if id := e.attrs["id"]; id != "" {
			if ids[id] {
				t.Errorf("id %q twice", id)
			}
			ids[id] = true
		}
	}
	for _, e := range els {
		if ref, ok := strings.CutPrefix(e.attrs["fill"], "url(#"); ok && !ids[strings.TrimSuffix(ref, ")")] {
			t.Errorf("fill with %q, which is not in the picture", ref)
		}
		if e.name == "use" && !ids[strings.TrimPrefix(e.attrs["href"], "#")] {
			t.Errorf("use of %q, which is not in the picture", e.attrs["href"])
		}
	}
	return els
}

// box is where something is drawn.
type box struct {
	x0, y0, x1, y1 float64
	what           string
}

func (b box) meets(c box) bool {
	return b.x0 < c.x1 && c.x0 < b.x1 && b.y0 < c.y1 && c.y0 < b.y1
}

func float(t testing.TB, s string) float64 {
	t.Helper()
	v, err := strconv.ParseFloat(s, 64)
	if err != nil {
		t.Fatal(err)
	}
	return v
}

// textBoxes estimates where the texts stand, by an estimate of its own: 0.6 em
// a rune (0.66 in bold), 0.75 em above the baseline and 0.2 below.
func textBoxes(t testing.TB, els []element) []box {
	t.Helper()
	var out []box
	for _, e := range els {
		if e.name != "text" {
			continue
		}
		size := float(t, e.attrs["font-size"])
		w := float64(utf8.RuneCountInString(e.text)) * size * pick(e.attrs["font-weight"] != "", 0.66, 0.6)
		w = min(w, textWidth(e.text, size)*pick(e.attrs["font-weight"] != "", bold, 1))
		x, y := float(t, e.attrs["x"]), float(t, e.attrs["y"])
		switch e.attrs["text-anchor"] {
		case "middle":
			x -= w / 2
		case "end":
			x -= w
		}
		out = append(out, box{x, y - 0.75*size, x + w, y + 0.2*size, e.text})
	}
	return out
}

// tidy checks that no two texts meet and that none leaves the picture.
func tidy(t testing.TB, els []element) {
	t.Helper()
	view := strings.Fields(els[0].attrs["viewBox"])
	w, h := float(t, view[2]), float(t, view[3])
	boxes := textBoxes(t, els)
	for i, b := range boxes {
		if b.x0 < -0.5 || b.y0 < -0.5 || b.x1 > w+0.5 || b.y1 > h+0.5 {
			t.Errorf("%q at %.1f,%.1f to %.1f,%.1f leaves the picture of %v × %v", b.what, b.x0, b.y0, b.x1, b.y1, w, h)
		}
		for _, c := range boxes[:i] {
			if b.meets(c) {
				t.Errorf("%q and %q meet", b.what, c.what)
			}
		}
	}
}

// bounds evaluates path data of absolute M, L, C, Q and Z.
func bounds(t testing.TB, d string) box {
	t.Helper()
	b := box{math.Inf(1), math.Inf(1), math.Inf(-1), math.Inf(-1), ""}
	see := func(p point) { b = box{min(b.x0, p.x), min(b.y0, p.y), max(b.x1, p.x), max(b.y1, p.y), ""} }
	var at point
	for len(d) > 0 {
		op := d[0]
		end := strings.IndexAny(d[1:], "MLCQZ") + 1
		if end == 0 {
			end = len(d)
		}
		pts := points(t, d[1:end])
		d = d[end:]
		n := map[byte]int{'M': 1, 'L': 1, 'C': 3, 'Q': 2, 'Z': 0}[op]
		for n > 0 && len(pts) >= n {
			curve := append([]point{at}, pts[:n]...)
			for i := range 33 {
				see(pick(op == 'M', pts[0], bezier(curve, float64(i)/32)))
			}
			at, pts = pts[n-1], pts[n:]
		}
		if len(pts) > 0 {
			t.Fatalf("%d points left over after %c", len(pts), op)
		}
	}
	return b
}

// bezier is de Casteljau's construction.
func bezier(pts []point, u float64) point {
	for len(pts) > 1 {
		next := make([]point, len(pts)-1)
		for i := range next {
			next[i] = point{pts[i].x*(1-u) + pts[i+1].x*u, pts[i].y*(1-u) + pts[i+1].y*u}
		}
		pts = next
	}
	return pts[0]
}

func points(t testing.TB, s string) []point {
	t.Helper()
	f := strings.Fields(strings.ReplaceAll(s, "-", " -"))
	if len(f)%2 != 0 {
		t.Fatalf("odd number of coordinates in %q", s)
	}
	var out []point
	for i := 0; i < len(f); i += 2 {
		out = append(out, point{float(t, f[i]), float(t, f[i+1])})
	}
	return out
}
