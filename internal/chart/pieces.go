package chart

import (
	"math"
	"strings"

	"firlot/catalog"
)

// flake is a rolled or flaked grain: flat, with a ragged edge.
func (br *brush) flake() {
	n := pick(br.fine, 11, 7)
	pts := br.ring(n, 0.8, 1)
	br.outline = smooth(br.scaled(pts, 1))
	br.area(smoothUnit(pts, 0.72), br.pal.third, 0.35)
	br.line("M-.78.05C-.4-.12-.1.12.25 0C.5-.08.65.05.8 0", br.pal.second, 1.5)
	if br.fine {
		br.line("M"+edgeCrack(pts[0])+"M"+edgeCrack(pts[n/2])+"M"+edgeCrack(pts[n/3]), br.pal.edge, 0.9)
		br.line("M-.4-.5Q-.1-.35.1-.5M.2.5Q.4.35.6.4", br.pal.second, 0.7)
	}
	br.shade("M-.7.5C-.3.9.4.95.75.4C.45.65-.2.72-.7.5Z")
}

// edgeCrack is a short crack from an edge point inwards.
func edgeCrack(p point) string {
	return at(p.x*0.97, p.y*0.97) + "L" + at(p.x*0.66+0.06, p.y*0.66-0.05)
}

// smoothUnit is a smooth outline in unit coordinates, shrunk.
func smoothUnit(pts []point, k float64) string {
	var d strings.Builder
	n := len(pts)
	mid := func(i int) point {
		p, q := pts[i%n], pts[(i+1)%n]
		return point{(p.x + q.x) / 2 * k, (p.y + q.y) / 2 * k}
	}
	m := mid(n - 1)
	d.WriteString("M" + at(m.x, m.y))
	for i, p := range pts {
		q := mid(i)
		d.WriteString("Q" + at(p.x*k, p.y*k) + " " + at(q.x, q.y))
	}
	d.WriteByte('Z')
	return d.String()
}

// popped is irregular foam: bumps of unlike size around a core.
func (br *brush) popped() {
	n := pick(br.fine, 9, 6)
	if br.a > 1.5*br.b { // puffed lengthwise: fewer, flatter bumps
		n++
	}
	pts := br.ring(n, 0.5, 0.95)
	for i := range pts {
		pts[i] = point{pts[i].x * 0.78, pts[i].y * 0.78}
	}
	var d strings.Builder
	var tops []point
	for i, p := range pts {
		q := pts[(i+1)%n]
		if i == 0 {
			d.WriteString("M" + at(p.x, p.y))
		}
		m := point{(p.x + q.x) / 2, (p.y + q.y) / 2}
		r := math.Hypot(m.x, m.y)
		grow := br.either(1.25, 1.85) * min(1, 0.62/r+0.25)
		out := func(c point) point {
			x, y := m.x*grow+(c.x-m.x)*1.05, m.y*grow+(c.y-m.y)*1.05
			return point{min(max(x, -1), 1), min(max(y, -1), 1)}
		}
		c1, c2 := out(p), out(q)
		tops = append(tops, m)
		d.WriteString("C" + at(c1.x, c1.y) + " " + at(c2.x, c2.y) + " " + at(q.x, q.y))
	}
	br.body(d.String() + "Z")
	br.foam(pts, tops)
	if br.says("crease") {
		br.line("M-.6.05C-.2.18.3.15.62 0", br.pal.second, 1.4)
	}
	if br.says("skin") {
		br.area("M-.15.15C-.05-.1.25-.05.28.12C.2.3-.08.34-.15.15Z", br.pal.third, 0.95)
	}
}

// foam draws where bumps meet, and bumps that face the eye.
func (br *brush) foam(pts, tops []point) {
	var d strings.Builder
	for i, p := range pts {
		t := tops[i]
		d.WriteString("M" + at(p.x*0.98, p.y*0.98) + "Q" + at(p.x*0.75, p.y*0.8) + " " + at((p.x*2+t.x)*0.24, (p.y*2+t.y)*0.24))
	}
	if br.fine {
		for i, t := range tops {
			if i%2 == 0 {
				x, y, r := t.x*br.either(0.2, 0.6), t.y*br.either(0.2, 0.6), br.either(0.14, 0.24)
				d.WriteString("M" + at(x-r, y+r*0.4) + "C" + at(x-r, y-r) + " " + at(x+r, y-r*1.2) + " " + at(x+r, y+r*0.2))
			}
		}
	}
	br.line(d.String(), br.pal.second, 1)
	br.shade("M-.6.38C-.3.75.3.8.62.3C.35.5-.25.55-.6.38Z")
}

// leaf is a whole leaf, a thread, or a piece with cut edges.
func (br *brush) leaf() {
	l, w := br.sides()
	fresh := l == 0
	switch {
	case !fresh && w <= 1.2:
		br.thread()
	case fresh || l >= 20 || br.says("leaflets", "round, ", "tiny, rolled"):
		br.wholeLeaf()
	default:
		br.cutLeaf()
	}
}

// sides are the catalogue's length and width in mm, 0 when not known.
func (br *brush) sides() (l, w float64) { return sidesOf(br.form) }

func sidesOf(f *catalog.Form) (l, w float64) {
	if f.Length == nil || f.Width == nil || f.Length.Mean <= 0 || f.Width.Mean <= 0 {
		return 0, 0
	}
	return f.Length.Mean, f.Width.Mean
}

func (br *brush) thread() {
	br.body("M-1 .8C-.6-1.1 0-1.3 .35-.45C.6.25.8.05 1-.75C.95.95.6 1.5.2.7C-.2-.1-.6.1-1 .8Z")
	br.line("M-.8.2C-.4-.4 0-.5.3.1C.6.6.8.3.95-.2", br.pal.third, 0.8)
}

func (br *brush) wholeLeaf() {
	br.body("M-1 .03L-.74.02C-.7-.6-.3-1 .1-.95C.55-.88.85-.35 1 0C.85.4.55.9.1.97C-.3 1-.7.6-.74.08L-1 .09Z")
	if br.says("tooth", "teeth", "lobed", "cut into") {
		br.outline = unit(toothed(), br.a, br.b)
	}
	br.shade("M-.72.06C-.66.6-.3.95.1.93C.5.86.82.4.97.02Z")
	br.line("M-.98.06C-.4 0 .4.04.95 0", br.pal.third, 1.5)
	veins := "M-.45.04L-.2-.55M-.1.03L.2-.62M.25.03L.52-.45M-.45.05L-.2.58M-.1.04L.2.66M.25.03L.52.48"
	if br.says("parallel rib") {
		veins = "M-.65-.1C-.2-.6.4-.55.9-.05M-.65.15C-.2.6.4.6.9.06"
	}
	br.line(veins, br.pal.third, 0.8)
}

// toothed is a leaf with a toothed edge.
func toothed() string {
	var d strings.Builder
	d.WriteString("M-1 .03L-.74.02")
	side := func(sign float64) {
		const n = 6
		for i := range n {
			t := pick(sign < 0, float64(i), float64(n-1-i))
			x := -0.7 + 1.5*(t+0.5)/n
			r := math.Pow(math.Sin(math.Pi*math.Pow((x+0.8)/1.8, 0.8)), 0.8)
			tip, notch := at(x+0.1, sign*r), at(x+0.06, sign*r*0.74)
			if sign < 0 {
				d.WriteString("L" + tip + "L" + notch)
			} else {
				d.WriteString("L" + notch + "L" + tip)
			}
		}
	}
	side(-1)
	d.WriteString("L1 0")
	side(1)
	d.WriteString("L-.74.08L-1 .09Z")
	return d.String()
}

// cutLeaf is a piece of a dried leaf: straight cuts on two sides, its own
// edge on the others, a rib, and a corner that curled over.
func (br *brush) cutLeaf() {
	j := func(v float64) float64 { return v + br.either(-0.09, 0.09) }
	pts := []point{{-1, j(.35)}, {j(-.72), -.85}, {j(-.3), j(-.62)}, {j(-.12), -1}, {j(.25), j(-.66)}, {j(.5), -.92}, {1, j(-.3)}, {j(.62), j(.1)}, {j(.78), .8}, {j(.3), j(.62)}, {j(.1), 1}, {j(-.35), j(.7)}}
	if br.rng.IntN(2) == 0 {
		for i := range pts {
			pts[i].x = -pts[i].x
		}
	}
	br.outline = polygon(br.scaled(pts, 1), true)
	br.area("M"+at(pts[0].x, pts[0].y)+"L"+at(pts[1].x, pts[1].y)+"L"+at(pts[2].x*0.9, pts[2].y*0.6)+"Z", br.pal.second, 0.9)
	br.area("M"+at(pts[8].x, pts[8].y)+"L"+at(pts[7].x, pts[7].y)+"L"+at(pts[9].x*0.9, pts[9].y*0.3)+"L"+at(pts[9].x, pts[9].y)+"Z", br.pal.third, 0.7)
	br.line("M"+at(pts[0].x*0.9, pts[0].y*0.8)+"Q"+at(0, br.either(-.1, .2))+" "+at(pts[6].x*0.9, pts[6].y*0.8), br.pal.third, 1.5)
	if br.fine {
		br.line("M-.3.15L-.2-.42M.08.08L.22-.48M.1.1L.02.6M.38 0L.5.5", br.pal.third, 0.8)
	}
}

// petal is a strap with a toothed tip, or a broad crinkled petal on its claw.
func (br *brush) petal() {
	if br.says("heads with") {
		br.head()
		return
	}
	if br.a >= 2.5*br.b {
		br.body("M-1 .1C-.5-.5.2-1 .8-.9L.96-.7L.9-.38L1-.02L.9.32L.97.66L.8.9C.2 1-.5.6-1 .25Z")
		br.line("M-.85.15C-.3-.2.3-.4.85-.4M-.85.18L.92 0M-.85.22C-.3.45.3.55.85.42", br.pal.second, 0.9)
		return
	}
	br.body("M-1 .02C-.9-.25-.6-.35-.4-.7C-.1-1.02.3-1 .55-.85C.75-.75.85-.5.98-.42C.88-.2.86-.1.92.05C1 .3.9.5.75.62C.5.98.1 1.02-.15.9C-.5.75-.7.3-1 .14Z")
	br.area("M-1 .05C-.85-.15-.7-.15-.62-.02C-.65.15-.85.2-1 .14Z", br.pal.third, 0.9)
	br.line("M-.7 0C-.3-.35.1-.6.6-.7M-.65.03C-.2-.12.3-.2.85-.3M-.65.06C-.2.12.3.12.85.1M-.65.1C-.25.35.1.55.55.65", br.pal.second, 0.9)
	br.area("M.55-.85C.75-.75.85-.5.98-.42C.8-.35.6-.45.55-.85Z", br.pal.third, 0.75)
	br.shade("M-.8.2C-.5.6-.3.9 0 .93C.4.98.7.7.85.45C.4.7-.3.6-.8.2Z")
	br.gloss("M-.1-.72C.1-.86.35-.84.48-.74C.3-.74.1-.72-.1-.72Z")
}

// head is a domed flower head with a few petals hanging from it, to the left.
func (br *brush) head() {
	for _, p := range []string{"M-.1-.5C-.5-1-.8-1.05-.86-.9C-.8-.7-.5-.4-.1-.2Z", "M-.1-.25C-.5-.55-.9-.6-1-.42C-.95-.2-.5-.05-.1.05Z", "M-.1.05C-.5-.1-.9.0-.98.2C-.9.38-.5.3-.1.3Z", "M-.1.25C-.5.3-.9.6-.86.82C-.75 1-.4.75-.05.55Z"} {
		br.under = append(br.under, stroke{d: unit(p, br.a, br.b), fill: br.pal.third.String(), line: br.pal.third.to(black, 0.4).String(), width: br.thin() * 0.7})
	}
	br.body("M-.25-.55C-.1-.95.3-.98.6-.7C.9-.45 1-.2 1 0C1 .25.9.5.6.75C.3 1-.1.95-.25.6C-.38.3-.38-.3-.25-.55Z")
	br.shade("M-.3.2C0 .7.6.5.95.15C.95.4.8.6.6.75C.3 1-.1.95-.25.6Z")
	var dots strings.Builder
	for range pick(br.fine, 22, 8) {
		r, t := 0.55*math.Sqrt(br.rng.Float64()), br.either(0, 6.28)
		dots.WriteString("M" + at(0.35+r*math.Cos(t), r*1.3*math.Sin(t)) + "L" + at(0.37+r*math.Cos(t), 0.03+r*1.3*math.Sin(t)))
	}
	br.line(dots.String(), br.pal.second, 1.8)
}

// root is a tapering root; dried, a chip with its bark on one side.
func (br *brush) root() {
	if strings.Contains(br.form.State, "dried") {
		br.chip()
		return
	}
	if br.says("knobbly", "round", "tuber") {
		pts := br.ring(8, 0.82, 1)
		br.outline = smooth(br.scaled(pts, 1))
		br.line("M-.6-.3Q-.4-.1-.55.15M-.1-.6Q.05-.4-.05-.2M.4-.1Q.6.1.45.35M-.1.35Q.1.5 0 .7", br.pal.second, 1)
		br.shade("M-.7.5C-.3.9.4.95.75.4C.45.65-.2.72-.7.5Z")
		return
	}
	br.behind("M-.7 0L-1-.6M-.72 0L-1-.1M-.7 0L-1 .5", rgb{0.37, 0.5, 0.25}, 1.8)
	br.body("M-.78 0C-.8-.6-.72-.95-.5-.98C0-.85.5-.3 1 .06C.5.35 0 .9-.5 1C-.72.95-.8.6-.78 0Z")
	br.line("M-.5-.9Q-.42-.7-.48-.5M-.2-.68Q-.14-.5-.18-.35M.1.2Q.16.32.12.48M-.45.45Q-.38.6-.42.8M.35-.28Q.38-.15.36-.05", br.pal.second, 1)
	br.gloss("M-.6-.55C-.2-.6.2-.35.5-.1C.1-.3-.3-.42-.6-.55Z")
}

// chip is an irregular block: a top face and a darker side.
func (br *brush) chip() {
	j := func(v float64) float64 { return v + br.either(-0.07, 0.07) }
	a, b, c, d, e, f := point{-1, j(-.25)}, point{j(-.35), -1}, point{j(.7), j(-.8)}, point{1, j(.1)}, point{j(.5), 1}, point{j(-.6), j(.8)}
	br.outline = polygon(br.scaled([]point{a, b, c, d, e, f}, 1), true)
	k := point{j(.25), j(.25)}
	br.area("M"+at(f.x, f.y)+"L"+at(a.x, a.y)+"L"+at(k.x, k.y)+"L"+at(d.x, d.y)+"L"+at(e.x, e.y)+"Z", br.pal.second, 0.75)
	br.area("M"+at(a.x*.9, a.y)+"L"+at(b.x, b.y*.9)+"L"+at(c.x*.95, c.y*.92)+"L"+at(k.x, k.y*.8)+"Z", br.pal.third, 0.4)
	br.line("M"+at(-.5, -.2)+"L"+at(.05, -.55)+"M"+at(.1, -.1)+"L"+at(.55, -.45), br.pal.second, 0.8)
}

// slice is a cut across: a disc with its rim, rings and core.
func (br *brush) slice() {
	switch {
	case br.class() == catalog.Pulse:
		br.body("M-1 .5C-1-.6-.55-1 0-1C.55-1 1-.6 1 .5C1 .8.6 1 0 1C-.6 1-1 .8-1 .5Z")
		br.area("M-1 .5C-1 .2-.6.05 0 .05C.6.05 1 .2 1 .5C1 .8.6 1 0 1C-.6 1-1 .8-1 .5Z", br.pal.main.to(white, 0.45), 1)
		br.line("M-1 .5C-1 .2-.6.05 0 .05C.6.05 1 .2 1 .5", br.pal.edge, 0.8)
		br.gloss("M-.65-.2C-.5-.65-.1-.85.25-.72C-.05-.65-.4-.5-.65-.2Z")
		return
	case br.says("shred", "thin, glossy", "boat-shaped", "pods", "shells or"):
		br.curl()
		return
	}
	br.disc()
}

// curl is a curved shaving.
func (br *brush) curl() {
	br.body("M-1 .378C-.8-.756-.1-1.26 .45-1.008C.8-.832 1-.378 .98 .315C.9 .756 .75 1.008 .6 .882C.4 .126-.1-.126-.45 .567C-.6 1.008-.9 1.008-1 .378Z")
	br.area("M-.45 .567C-.1-.126 .4 .126 .6 .882C.7 .92 .79 .882 .85 .693C.6-.189 0-.567-.72 .529C-.66 .731-.55 .756-.45 .567Z", br.pal.second, 0.6)
	br.gloss("M-.75-.126C-.5-.693 0-1.008 .45-.819C.05-.756-.4-.504-.75-.126Z")
}

func (br *brush) disc() {
	br.body("M-1-.1C-.98-.6-.55-1 0-1C.55-1 .98-.6 1-.1L1 .12C.95.65.55 1 0 1C-.55 1-.95.65-1 .12Z")
	br.area("M-1-.1C-.9.45-.5.72 0 .72C.5.72.9.45 1-.1L1 .12C.95.65.55 1 0 1C-.55 1-.95.65-1 .12Z", br.pal.second, 0.85)
	br.line("M-.62-.14C-.62-.45-.35-.66 0-.66C.35-.66.62-.45.62-.14C.62.18.35.38 0 .38C-.35.38-.62.18-.62-.14Z", br.pal.second, 0.8)
	br.area("M-.4-.14C-.4-.34-.22-.46 0-.46C.22-.46.4-.34.4-.14C.4.06.22.18 0 .18C-.22.18-.4.06-.4-.14Z", br.pal.third, 0.85)
	if br.fine {
		br.line("M0-.66L0-.9M.44-.58L.6-.76M-.44-.58L-.6-.76M.62-.14L.86-.12M-.62-.14L-.86-.12M.44.26L.58.42M-.44.26L-.58.42M0 .38L0 .6", br.pal.second, 0.7)
	}
}

// larva is a segmented body, its head to the right.
func (br *brush) larva() {
	switch {
	case br.says("jumping", "cricket"):
		br.hopper()
	case br.says("shrimp"):
		br.shrimp()
	case br.says("pupa"):
		br.body("M-1 .1C-.7-.7-.2-1 .3-1C.75-.95 1-.5 1 0C1 .5.75.95.3 1C-.2 1-.7.75-1 .1Z")
		br.rings(-0.75, 0.25, 6, 0.2)
		br.line("M.45-.95C.3-.3.35.3.5.92M.4 0C.6.1.8.1.98 0", br.pal.second, 1.2)
		br.gloss("M-.2-.7C.1-.88.5-.84.75-.6C.4-.72.1-.7-.2-.7Z")
	default:
		br.grub()
	}
}

// rings draws n rings across a body from x to x, narrowing to the left.
func (br *brush) rings(from, to float64, n int, narrow float64) {
	var d strings.Builder
	for i := range n {
		t := float64(i) / float64(n-1)
		x, r := from+(to-from)*t, 0.94-narrow*(1-t)*(1-t)*3
		d.WriteString("M" + at(x+0.03, -r) + "Q" + at(x-0.05, 0) + " " + at(x+0.03, r))
	}
	br.line(d.String(), br.pal.second, 1)
}

// grub is a mealworm's build: a slightly bent tube of rings with a dark head
// and three pairs of legs.
func (br *brush) grub() {
	const up, low = -0.85, 0.62 // the legs take the rest of the width
	upper := func(x float64) float64 { return up*width(x) + 0.22*x*x }
	lower := func(x float64) float64 { return low*width(x) + 0.22*x*x }
	var pts []point
	for i := range 7 {
		x := -1 + float64(i)/3
		pts = append(pts, point{x, upper(x)})
	}
	for i := 6; i >= 0; i-- {
		x := -1 + float64(i)/3
		pts = append(pts, point{x, lower(x)})
	}
	br.behind("M.52.5L.48.98M.64.5L.62 1M.76.5L.77.98", br.pal.second, 1)
	br.outline = smooth(br.scaled(pts, 1))
	var d strings.Builder
	n := pick(br.fine, 9, 5)
	for i := range n {
		x := -0.82 + 1.42*float64(i)/float64(n-1)
		d.WriteString("M" + at(x, upper(x)*0.96) + "Q" + at(x+0.06, (upper(x)+lower(x))/2) + " " + at(x, lower(x)*0.96))
	}
	br.line(d.String(), br.pal.second, pick(br.says("clear rings", "dark"), 1.8, 1.3))
	head := br.pal.second
	if br.says("dark head", "brown head") {
		head = br.pal.third
	}
	br.area("M.76-.5C.9-.4 1-.1.99.2C.97.45.88.55.78.6C.72.2.72-.2.76-.5Z", head, 0.9)
	br.gloss("M-.7-.3C-.3-.68.3-.68.65-.42C.3-.5-.3-.48-.7-.3Z")
}

// width is the half width of a grub along its length.
func width(x float64) float64 { return math.Pow(max(1-math.Pow(math.Abs(x), 3.2), 0.12), 0.5) }

// shrimp is curled over itself.
func (br *brush) shrimp() {
	br.behind("M-.1.35L-.3.85M.15.4L.05.95M.4.35L.4.9M.75-.55L1-.95M.8-.5L1-.7", br.pal.second, 1)
	br.body("M-1 .5C-1-.4-.5-1 .1-1C.6-1 .95-.7.98-.3C.9 0 .7.15.5.4C.2.5 0 .2-.2.3C-.45.4-.5.7-.62 1C-.8.9-.95.75-1 .5Z")
	br.line("M-.92.05Q-.65.2-.5.4M-.72-.45Q-.5-.15-.32.3M-.4-.8Q-.25-.4-.1.24M.02-.98Q.1-.5.14.3M.45-.94Q.45-.5.42.36", br.pal.second, 1.2)
	br.area("M.74-.5C.76-.62.9-.6.88-.46C.84-.38.74-.4.74-.5Z", black, 0.8)
	br.gloss("M-.75-.2C-.5-.7 0-.9.4-.85C0-.75-.5-.5-.75-.2Z")
}

// hopper is a cricket or locust.
func (br *brush) hopper() {
	br.behind("M.75-.35Q.9-.8 1-1M.8-.3Q.95-.5 1-.7M.5.25L.55.95M.25.3L.15.95", br.pal.second, 1)
	br.body("M-1-.02C-.6-.55 0-.62.5-.55C.75-.55 1-.4.98.02C.95.4.7.45.45.38C0 .5-.6.35-1-.02Z")
	br.area("M-.95-.06C-.5-.5 0-.58.4-.5C.1-.2-.4-.1-.95-.06Z", br.pal.third, 0.6)
	br.line("M-.6.14L-.65-.05M-.35.25L-.4-.05M-.1.32L-.12 0M.2.36L.2-.1M.52-.54Q.45 0 .5.38", br.pal.second, 1)
	br.over = append(br.over, stroke{d: unit("M.12.1C-.2-.4-.45-.85-.6-.98C-.66-.9-.5-.3.02.2ZM-.6-.95L-.85.95", br.a, br.b), fill: br.pal.main.String(), line: br.pal.second.String(), width: br.thin()})
}

// crumb is broken, ground or powdered: one angular piece, or a few.
func (br *brush) crumb() {
	l, _ := br.sides()
	if l > 0 || br.says("pieces", "lumps", "fragments") {
		pts := br.ring(pick(br.fine, 7, 5), 0.72, 1)
		br.outline = polygon(br.scaled(pts, 1), true)
		c := point{br.either(-.2, .1), br.either(-.2, .1)}
		n := len(pts)
		br.area(facet(c, pts[0], pts[1], pts[2%n]), br.pal.second, 0.55)
		br.area(facet(c, pts[n/2], pts[n/2+1]), br.pal.third, 0.7)
		br.line("M"+at(c.x, c.y)+"L"+at(pts[0].x, pts[0].y)+"M"+at(c.x, c.y)+"L"+at(pts[n/2].x, pts[n/2].y), br.pal.second, 0.8)
		return
	}
	br.body("M-1 .95C-.7.7-.45-.2-.2-.75C-.05-1.05.15-1.02.3-.7C.55-.1.7.65 1 .95C.5 1.02-.5 1.02-1 .95Z")
	var dark, pale strings.Builder
	for i := range 26 {
		y := br.either(-0.6, 0.9)
		x := br.either(-0.8, 0.8) * (y + 1.05) / 2
		d := "M" + at(x, y) + "L" + at(x+0.02, y+0.03)
		if i%2 == 0 {
			dark.WriteString(d)
		} else {
			pale.WriteString(d)
		}
	}
	br.line(dark.String(), br.pal.second, 1.8)
	br.line(pale.String(), br.pal.third, 1.8)
}

func facet(pts ...point) string {
	var d strings.Builder
	for i, p := range pts {
		d.WriteString(pick(i == 0, "M", "L") + at(p.x, p.y))
	}
	return d.String() + "Z"
}

// stem is a cut stalk with a leaf; of dough, a tube.
func (br *brush) stem() {
	if br.class() == catalog.Cereal {
		br.body("M-1 0C-1-.6-.9-1-.8-1L.8-1C.9-1 1-.6 1 0C1 .6.9 1 .8 1L-.8 1C-.9 1-1 .6-1 0Z")
		br.area("M.8-1C.9-1 1-.6 1 0C1 .6.9 1 .8 1C.68 1 .62.6.62 0C.62-.6.68-1 .8-1Z", br.pal.second, 1)
		br.area("M.8-.6C.86-.6.9-.3.9 0C.9.35.86.6.8.6C.74.6.7.35.7 0C.7-.3.74-.6.8-.6Z", br.pal.second.to(black, 0.4), 1)
		br.gloss("M-.8-.6L.6-.6L.6-.3L-.8-.3Z")
		return
	}
	br.behind("M-.45.5Q-.2-.9.35-.95M.25.55Q.4.95.8 1", br.pal.second, 3)
	br.body("M-1 .2L-.99.62L-.4.58L-.38.68L-.32.56L.36.5L.4.6L.46.48L1 .5L.99.1L.45.12L.4.02L.36.14L-.32.16L-.38.04L-.4.18Z")
	br.line("M-.97.4L-.4.38M-.3.36L.36.32M.46.3L.97.3", br.pal.third, 1)
	br.line("M-.36.06L-.36.66M.41.04L.41.58", br.pal.second, 1.5)
}
