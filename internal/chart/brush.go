package chart

import (
	"fmt"
	"hash/fnv"
	"math"
	"math/rand/v2"
	"strings"

	"firlot/catalog"
)

// stroke is one path of a glyph.
type stroke struct {
	d, fill, line  string
	width, opacity float64
}

// glyph is a food drawn around the origin, its length along x, within half
// a length and half a width of it.
type glyph struct {
	a, b    float64 // half length and half width in px
	pal     palette
	under   []stroke // behind the body
	outline string
	over    []stroke // on the body
}

// brush draws a glyph. Paths are given in a box from −1 to 1.
type brush struct {
	*glyph
	form  *catalog.Form
	looks string // what the catalogue says of its looks, lower case
	fine  bool   // all details; otherwise the few that show in a heap
	rng   *rand.Rand
}

// seedOf turns a text into a seed.
func seedOf(s string) uint64 {
	h := fnv.New64a()
	h.Write([]byte(s))
	return h.Sum64()
}

// refOf names a form; a form outside a catalogue has only its own id.
func refOf(f *catalog.Form) string {
	if f.Ingredient == nil {
		return "/" + f.ID
	}
	return f.Ref()
}

// draw makes a glyph of a form with half a length and half a width in px.
// Variants of a form differ as two seeds of a kind do.
func draw(f *catalog.Form, a, b float64, variant int, fine bool) *glyph {
	g := &glyph{a: a, b: b, pal: paletteOf(f.Colours)}
	br := &brush{glyph: g, form: f, looks: strings.ToLower(f.Looks), fine: fine,
		rng: rand.New(rand.NewPCG(seedOf(refOf(f)), uint64(variant)))}
	kind, ok := kinds[f.Shape]
	if !ok {
		kind = (*brush).plain
	}
	kind(br)
	return g
}

// kinds are the shapes of the catalogue.
var kinds = map[string]func(*brush){
	"grain": (*brush).grain, "ball": (*brush).ball, "spindle": (*brush).spindle, "lens": (*brush).lens,
	"three-cornered": (*brush).cornered, "drop": (*brush).drop, "kernel": (*brush).kernel,
	"flake": (*brush).flake, "popped": (*brush).popped, "leaf": (*brush).leaf, "petal": (*brush).petal,
	"root": (*brush).root, "larva": (*brush).larva, "crumb": (*brush).crumb, "stem": (*brush).stem,
	"slice": (*brush).slice,
}

func (br *brush) class() catalog.Class {
	if br.form.Ingredient == nil {
		return ""
	}
	return br.form.Ingredient.Class
}

// says reports whether the description of the looks has one of the words. It
// only ever adds a detail: a form described in another language is drawn
// plainer, not wrong.
func (br *brush) says(words ...string) bool {
	for _, w := range words {
		if strings.Contains(br.looks, w) {
			return true
		}
	}
	return false
}

// either is a number between two bounds.
func (br *brush) either(lo, hi float64) float64 { return lo + (hi-lo)*br.rng.Float64() }

func (br *brush) body(d string) { br.outline = unit(d, br.a, br.b) }

// thin is the width of a fine line on this glyph.
func (br *brush) thin() float64 { return min(max(br.b*0.13, 0.35), 1.3) }

// line draws a line on the body, in a colour, k times the thin width.
func (br *brush) line(d string, c rgb, k float64) {
	br.over = append(br.over, stroke{d: unit(d, br.a, br.b), line: c.String(), width: br.thin() * k})
}

// area fills a part of the body.
func (br *brush) area(d string, c rgb, opacity float64) {
	br.over = append(br.over, stroke{d: unit(d, br.a, br.b), fill: c.String(), opacity: opacity})
}

// behind draws a line behind the body.
func (br *brush) behind(d string, c rgb, k float64) {
	br.under = append(br.under, stroke{d: unit(d, br.a, br.b), line: c.String(), width: br.thin() * k})
}

// gloss and shade give a rounded body its light from the upper left.
func (br *brush) gloss(d string) { br.area(d, white, 0.42) }
func (br *brush) shade(d string) { br.area(d, black, 0.14) }

// ring returns points around an ellipse in unit coordinates, n of them, each
// at a share of the radius between lo and hi.
func (br *brush) ring(n int, lo, hi float64) []point {
	pts := make([]point, n)
	turn := br.either(0, 6.28)
	for i := range pts {
		t := turn + (float64(i)+br.either(-0.22, 0.22))*2*math.Pi/float64(n)
		r := br.either(lo, hi)
		pts[i] = point{r * math.Cos(t), r * math.Sin(t)}
	}
	return fit(pts)
}

// fit stretches points to fill the box from −1 to 1.
func fit(pts []point) []point {
	lo, hi := pts[0], pts[0]
	for _, p := range pts {
		lo = point{min(lo.x, p.x), min(lo.y, p.y)}
		hi = point{max(hi.x, p.x), max(hi.y, p.y)}
	}
	for i, p := range pts {
		pts[i] = point{(2*p.x - lo.x - hi.x) / (hi.x - lo.x), (2*p.y - lo.y - hi.y) / (hi.y - lo.y)}
	}
	return pts
}

// scaled brings unit points to px.
func (g *glyph) scaled(pts []point, k float64) []point {
	out := make([]point, len(pts))
	for i, p := range pts {
		out[i] = point{p.x * g.a * k, p.y * g.b * k}
	}
	return out
}

// write puts the glyph into a picture, in its own colours.
func (g *glyph) write(c *canvas) {
	c.WriteString(`<g stroke-linejoin="round" stroke-linecap="round">`)
	g.paths(c)
	c.WriteString(`</g>`)
}

// paths writes what the glyph is made of.
func (g *glyph) paths(c *canvas) {
	for _, s := range g.under {
		s.write(c)
	}
	c.put(`<path d="%s" fill="%s" stroke="%s" stroke-width="%s"/>`, g.outline, g.pal.main, g.pal.edge, num(min(max(g.b*0.1, 0.4), 1)))
	for _, s := range g.over {
		s.write(c)
	}
}

func (s stroke) write(c *canvas) {
	c.put(`<path d="%s" fill="%s"`, s.d, pick(s.fill == "", "none", s.fill))
	if s.line != "" {
		c.put(` stroke="%s" stroke-width="%s"`, s.line, num(s.width))
	}
	if s.opacity > 0 && s.opacity < 1 {
		c.put(` opacity="%s"`, num(s.opacity))
	}
	c.WriteString(`/>`)
}

// at writes a unit point for path data.
func at(x, y float64) string { return fmt.Sprintf("%.3f %.3f", x, y) }

// newRand is chance that is the same for the same text.
func newRand(s string) *rand.Rand { return rand.New(rand.NewPCG(seedOf(s), 0)) }

// shorten rounds all paths to tenths of a px.
func (g *glyph) shorten() {
	g.outline = rescale(g.outline, 1, 1, tenth)
	for _, list := range [][]stroke{g.under, g.over} {
		for i := range list {
			list[i].d = rescale(list[i].d, 1, 1, tenth)
		}
	}
}
