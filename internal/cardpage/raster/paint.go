package raster

import (
	"fmt"
	"image"

	"image/draw"
	"math"
	"strconv"
	"strings"

	"golang.org/x/image/vector"
)

// Image paints a picture, so many pixels to a px of it, on white.
func Image(svg string, scale float64) (*image.RGBA, error) {
	root, err := parse(svg)
	if err != nil {
		return nil, err
	}
	w, h, err := root.size()
	if err != nil {
		return nil, err
	}
	w, h = math.Ceil(w*scale), math.Ceil(h*scale)
	if !(w >= 1 && h >= 1 && w <= maxSide && h <= maxSide) {
		return nil, errTooLarge
	}
	p := &painter{img: image.NewRGBA(image.Rect(0, 0, int(w), int(h))), ids: map[string]*node{}}
	draw.Draw(p.img, p.img.Bounds(), image.White, image.Point{}, draw.Src)
	root.byID(p.ids)
	if err := p.nested(root, plain, matrix{scale, 0, 0, scale, 0, 0}); err != nil {
		return nil, err
	}
	return p.img, nil
}

// size is the width and height of an svg.
func (n *node) size() (w, h float64, err error) {
	if w, err = strconv.ParseFloat(n.attr["width"], 64); err == nil {
		h, err = strconv.ParseFloat(n.attr["height"], 64)
	}
	if err != nil {
		err = fmt.Errorf("the size of a picture: %w", err)
	}
	return w, h, err
}

// painter paints on an image.
type painter struct {
	img   *image.RGBA
	ids   map[string]*node
	depth int
	work  int // what has been painted, to bound it
	brush vector.Rasterizer
}

// maxWork bounds how many elements are painted, those used again included.
const maxWork = 500_000

// element paints one element and what is in it.
func (p *painter) element(n *node, s style, m matrix) error {
	if p.work++; p.work > maxWork || p.depth > maxDepth {
		return errTooLarge
	}
	p.depth++
	defer func() { p.depth-- }()
	s, err := s.with(n)
	if err != nil {
		return err
	}
	if t, ok := n.attr["transform"]; ok {
		own, err := transform(t)
		if err != nil {
			return err
		}
		m = m.then(own)
	}
	switch n.name {
	case "title", "desc", "defs", "pattern", "metadata":
		return nil
	case "svg":
		return p.nested(n, s, m)
	case "g":
		return p.each(n, s, m)
	case "use":
		return p.again(n, s, m)
	case "text":
		return p.text(n, s, m)
	}
	tracks, err := shape(n)
	if err != nil {
		return err
	}
	return p.paint(tracks, s, m)
}

func (p *painter) each(n *node, s style, m matrix) error {
	for _, c := range n.in {
		if err := p.element(c, s, m); err != nil {
			return err
		}
	}
	return nil
}

// nested paints an svg, its view box fitted into its place.
func (p *painter) nested(n *node, s style, m matrix) error {
	box, err := numbers(n.attr["viewBox"])
	if err != nil {
		return err
	}
	if len(box) != 4 {
		return p.each(n, s, m)
	}
	w, h, err := n.size()
	if err != nil {
		return err
	}
	place, err := n.numbers("x", "y")
	if err != nil || box[2] <= 0 || box[3] <= 0 {
		return fmt.Errorf("the view box %q is not known", n.attr["viewBox"])
	}
	k := min(w/box[2], h/box[3])
	m = m.then(matrix{k, 0, 0, k, place[0] + (w-k*box[2])/2 - k*box[0], place[1] + (h-k*box[3])/2 - k*box[1]})
	return p.each(n, s, m)
}

// numbers reads attributes; one that is missing is 0.
func (n *node) numbers(names ...string) ([]float64, error) {
	out := make([]float64, len(names))
	for i, name := range names {
		v, ok := n.attr[name]
		if !ok {
			continue
		}
		var err error
		if out[i], err = strconv.ParseFloat(v, 64); err != nil {
			return nil, fmt.Errorf("%s of %s: %w", name, n.name, err)
		}
	}
	return out, nil
}

func (p *painter) again(n *node, s style, m matrix) error {
	target := p.ids[strings.TrimPrefix(n.attr["href"], "#")]
	if target == nil {
		return fmt.Errorf("there is no %q to use", n.attr["href"])
	}
	at, err := n.numbers("x", "y")
	if err != nil {
		return err
	}
	return p.element(target, s, m.then(matrix{1, 0, 0, 1, at[0], at[1]}))
}

// shape is the outline of an element.
func shape(n *node) ([]track, error) {
	switch n.name {
	case "path":
		return flatten(n.attr["d"])
	case "rect":
		v, err := n.numbers("x", "y")
		if err != nil {
			return nil, err
		}
		w, h, err := n.size()
		x, y := v[0], v[1]
		return []track{{at: []point{{x, y}, {x + w, y}, {x + w, y + h}, {x, y + h}}, closed: true}}, err
	case "circle", "ellipse":
		v, err := n.numbers("cx", "cy", "rx", "ry", "r")
		if err != nil {
			return nil, err
		}
		rx, ry := max(v[2], v[4]), max(v[3], v[4])
		at := disc(point{}, 1, 48)
		for i, q := range at {
			at[i] = point{v[0] + float64(q.x*rx), v[1] + float64(q.y*ry)}
		}
		return []track{{at: at, closed: true}}, nil
	}
	return nil, fmt.Errorf("the element %s is not known", n.name)
}

// paint fills and strokes.
func (p *painter) paint(tracks []track, s style, m matrix) error {
	var areas [][]point
	for _, t := range tracks {
		if len(t.at) > 2 {
			areas = append(areas, t.at)
		}
	}
	if id, ok := strings.CutPrefix(s.fill, "url(#"); ok {
		if err := p.patterned(areas, strings.TrimSuffix(id, ")"), m); err != nil {
			return err
		}
	} else if c, some, err := colour(s.fill, s.fillOpacity*s.opacity); err != nil {
		return err
	} else if some {
		p.cover(areas, m, image.NewUniform(c))
	}
	c, some, err := colour(s.stroke, s.strokeOpacity*s.opacity)
	if some && s.width > 0 {
		p.cover(outline(tracks, s, m.scale()), m, image.NewUniform(c))
	}
	return err
}

// cover paints areas; the brush is only as large as they are.
func (p *painter) cover(areas [][]point, m matrix, with image.Image) {
	moved, r := p.moved(areas, m)
	if r.Empty() {
		return
	}
	p.brush.Reset(r.Dx(), r.Dy())
	for _, at := range moved {
		for i, q := range at {
			x, y := float32(q.x-float64(r.Min.X)), float32(q.y-float64(r.Min.Y))
			if i == 0 {
				p.brush.MoveTo(x, y)
			} else {
				p.brush.LineTo(x, y)
			}
		}
		p.brush.ClosePath()
	}
	p.brush.Draw(p.img, r, with, r.Min)
}

// moved brings areas to their places on the image, and says what part of it
// they touch.
func (p *painter) moved(areas [][]point, m matrix) ([][]point, image.Rectangle) {
	lo, hi := point{math.Inf(1), math.Inf(1)}, point{math.Inf(-1), math.Inf(-1)}
	out := make([][]point, len(areas))
	for i, at := range areas {
		out[i] = make([]point, len(at))
		for j, q := range at {
			q = m.of(q)
			out[i][j] = q
			lo, hi = point{min(lo.x, q.x), min(lo.y, q.y)}, point{max(hi.x, q.x), max(hi.y, q.y)}
		}
	}
	if !(lo.x <= hi.x) || hi.x < -maxSide || lo.x > 2*maxSide {
		return nil, image.Rectangle{}
	}
	clamp := func(v float64) int { return int(min(max(v, -1), maxSide+1)) }
	r := image.Rect(clamp(math.Floor(lo.x)), clamp(math.Floor(lo.y)), clamp(math.Ceil(hi.x))+1, clamp(math.Ceil(hi.y))+1)
	return out, r.Intersect(p.img.Bounds())
}

// patterned fills areas with a pattern: its tiles are painted on an image of
// their own, which shows through the areas.
func (p *painter) patterned(areas [][]point, id string, m matrix) error {
	pattern := p.ids[id]
	if pattern == nil || pattern.name != "pattern" {
		return fmt.Errorf("there is no pattern %q", id)
	}
	w, h, err := pattern.size()
	if err != nil || !(w > 0.05 && h > 0.05) {
		return fmt.Errorf("the size of the pattern %q is not known", id)
	}
	_, r := p.moved(areas, m)
	if r.Empty() {
		return nil
	}
	tiles := &painter{img: image.NewRGBA(r), ids: p.ids, depth: p.depth, work: p.work}
	x0, y0, x1, y1 := extent(areas)
	for y := math.Floor(y0 / h); y*h < y1; y++ {
		for x := math.Floor(x0 / w); x*w < x1; x++ {
			if err := tiles.each(pattern, plain, m.then(matrix{1, 0, 0, 1, x * w, y * h})); err != nil {
				return err
			}
		}
	}
	p.work = tiles.work
	p.cover(areas, m, tiles.img)
	return nil
}

func extent(areas [][]point) (x0, y0, x1, y1 float64) {
	x0, y0, x1, y1 = math.Inf(1), math.Inf(1), math.Inf(-1), math.Inf(-1)
	for _, at := range areas {
		for _, q := range at {
			x0, y0, x1, y1 = min(x0, q.x), min(y0, q.y), max(x1, q.x), max(y1, q.y)
		}
	}
	return x0, y0, x1, y1
}
