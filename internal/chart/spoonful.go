package chart

import (
	"cmp"
	"math"
	"math/rand/v2"
	"slices"
	"strconv"

	"firlot/catalog"
)

// SpoonItem is one kind of seed in a spoonful.
type SpoonItem struct {
	Form  *catalog.Form
	Count int
}

// SpoonOptions say how a spoonful is drawn.
type SpoonOptions struct {
	ID          string // prefix of identifiers, unique on the page; empty: from the contents
	Title, Desc string
	Width       float64 // px; 0 is 320
	Seed        uint64  // of where each seed lies
	BarLabel    string  // of the bar that is a centimetre long; empty: no bar
}

// MostSeeds is how many seeds a spoonful draws; of a larger one it draws an
// even part, and SpoonDrawn says which.
const MostSeeds = 2000

// SpoonDrawn is the part of a spoonful's seeds that its picture draws: 1 for
// all of them, 2 for every second one, and so on.
func SpoonDrawn(items []SpoonItem) int {
	n := 0
	for _, it := range items {
		n += max(it.Count, 0)
	}
	return max((n+MostSeeds-1)/MostSeeds, 1)
}

// The layer of seeds: what part of the tray they cover, and how large a piece
// of unknown size is taken to be, mm.
const (
	spoonCover   = 0.62
	unknownPiece = 4.0
	// spoonScale bounds px per mm: above the first a few seeds would look like
	// monsters.
	spoonScaleMost = 9.0
	spoonScale     = 3.4
	trayPad        = 10.0
)

// strewn is a seed on the tray.
type strewn struct {
	item, turn int
	point
	r float64
}

// Spoonful strews the seeds of a spoonful over a tray, all at one scale, the
// large ones first and the small ones between and on them. Kinds without a
// count are left out, and pieces of unknown size are pale outlines. The same
// items, width and seed give the same picture.
func Spoonful(items []SpoonItem, o SpoonOptions) string {
	width := pick(o.Width > 0, o.Width, 320.0)
	every := SpoonDrawn(items)
	scale, height := spoonSize(items, every, width)
	id := o.ID
	if id == "" {
		id = "s" + strconv.FormatUint(spoonIdentity(items, o.Seed)&0xffff, 36)
	}
	seeds := strew(items, every, scale, width, height, o.Seed)
	bar := pick(o.BarLabel != "", 24.0, 0)
	var c canvas
	c.begin("spoonful", width, height+bar, o.Title, o.Desc, "")
	c.put(`<rect class="tray" x="1" y="1" width="%s" height="%s" rx="18" fill="%s" stroke="%s" stroke-width="1.5"/>`, num(width-2), num(height-2), paper, soft)
	for i, it := range items {
		if it.Count > 0 {
			spoonDefs(&c, it.Form, id+strconv.Itoa(i), scale)
		}
	}
	for _, s := range seeds {
		c.put(`<use href="#%s%d%c" x="%s" y="%s"/>`, esc(id), s.item, 'a'+s.turn, tenth(s.x), tenth(s.y))
	}
	if bar > 0 {
		y := height + 14
		c.line("bar", "M4 "+num(y-4)+"L4 "+num(y)+"L"+num(4+10*scale)+" "+num(y)+"L"+num(4+10*scale)+" "+num(y-4), "currentColor", 1.5, "")
		c.text(label{x: 12 + 10*scale, y: y + 2, size: 12, colour: "currentColor", class: "bar", lines: []string{o.BarLabel}})
	}
	return c.end()
}

func spoonIdentity(items []SpoonItem, seed uint64) uint64 {
	s := strconv.FormatUint(seed, 36)
	for _, it := range items {
		s += "|" + refOf(it.Form) + "|" + strconv.Itoa(it.Count)
	}
	return seedOf(s)
}

// pieceSides are the drawn half sides of a piece in mm.
func pieceSides(f *catalog.Form) (a, b float64) {
	l, w := sidesOf(f)
	if l == 0 || math.IsNaN(l) || math.IsInf(l, 0) || math.IsNaN(w) || math.IsInf(w, 0) {
		aspect := aspects[f.Shape]
		if aspect == 0 {
			aspect = 0.75
		}
		l, w = unknownPiece, unknownPiece*aspect
	}
	return min(l, 60) / 2, min(w, 60) / 2
}

// spoonSize is px per mm, and the height of the tray.
func spoonSize(items []SpoonItem, every int, width float64) (scale, height float64) {
	area, longest := 0.0, 0.0
	for _, it := range items {
		if n := max(it.Count, 0) / every; n > 0 {
			a, b := pieceSides(it.Form)
			area += float64(n) * math.Pi * a * b
			longest = max(longest, 2*max(a, b))
		}
	}
	inner := width - 2*trayPad
	scale = spoonScale * width / 320
	if area > 0 { // a few seeds are drawn larger, so that they fill a third of the tray
		scale = min(max(scale, math.Sqrt(inner*inner/3*spoonCover/area)), spoonScaleMost*width/320)
	}
	if longest > 0 {
		scale = min(scale, inner/longest)
	}
	height = area*scale*scale/spoonCover/inner + 2*trayPad
	return scale, max(height, longest*scale+2*trayPad, 60)
}

const spoonTurns = 6

// spoonDefs defines a seed in each of its turns.
func spoonDefs(c *canvas, f *catalog.Form, id string, scale float64) {
	a, b := pieceSides(f)
	g := draw(f, a*scale, b*scale, 0, false)
	c.put(`<defs><g id="%s">`, esc(id))
	if Sized(f) {
		g.over = g.over[:min(len(g.over), pick(a*scale < 6, 1, 3))] // what shows at this size
		g.shorten()
		g.paths(c)
	} else {
		c.put(`<path d="%s" fill="%s" fill-opacity=".3" stroke="%s" stroke-width="1"/>`, g.outline, g.pal.main, soft)
	}
	c.WriteString(`</g>`)
	for i := range spoonTurns {
		c.put(`<use id="%s%c" href="#%s" transform="rotate(%d)"/>`, esc(id), 'a'+i, esc(id), (17+i*61)%360)
	}
	c.WriteString(`</defs>`)
}

// strew finds a place for every seed: where it meets no other, or after some
// tries where it meets others least.
func strew(items []SpoonItem, every int, scale, width, height float64, seed uint64) []strewn {
	var list []strewn
	for i, it := range items {
		a, b := pieceSides(it.Form)
		for range max(it.Count, 0) / every {
			list = append(list, strewn{item: i, r: math.Sqrt(a*b) * scale})
		}
	}
	slices.SortStableFunc(list, func(s, t strewn) int { return cmp.Compare(t.r, s.r) })
	rng := rand.New(rand.NewPCG(seed, 0x5eed))
	g := newTray(width, height, scale)
	for i := range list {
		s := &list[i]
		a, _ := pieceSides(items[s.item].Form)
		s.turn = rng.IntN(spoonTurns)
		s.point = g.place(rng, s.r, a*scale)
	}
	return list
}

// tray finds neighbours by squares as wide as the largest seed drawn so far.
type tray struct {
	w, h, cell float64
	cols       int
	at         [][]disc
}

type disc struct {
	point
	r float64
}

func newTray(w, h, scale float64) *tray {
	t := &tray{w: w, h: h, cell: 6 * scale}
	t.cols = int(w/t.cell) + 1
	t.at = make([][]disc, t.cols*(int(h/t.cell)+1))
	return t
}

func (t *tray) square(p point) (x, y int) { return int(p.x / t.cell), int(p.y / t.cell) }

const tries = 24

// place finds a place for a seed of a radius; reach keeps its tips on the
// tray.
func (t *tray) place(rng *rand.Rand, r, reach float64) point {
	best, least := point{}, math.Inf(1)
	edge := trayPad*0.5 + reach
	for range tries {
		p := point{t.within(rng, t.w, edge), t.within(rng, t.h, edge)}
		over := t.overlap(p, r)
		if over < least {
			best, least = p, over
		}
		if over == 0 {
			break
		}
	}
	x, y := t.square(best)
	i := y*t.cols + x
	t.at[i] = append(t.at[i], disc{best, r})
	return best
}

func (t *tray) within(rng *rand.Rand, side, edge float64) float64 {
	if side <= 2*edge {
		return side / 2
	}
	return edge + rng.Float64()*(side-2*edge)
}

// overlap is how far a seed would lie on its neighbours.
func (t *tray) overlap(p point, r float64) float64 {
	x, y := t.square(p)
	sum := 0.0
	for j := max(y-1, 0); j <= y+1; j++ {
		for i := max(x-1, 0); i <= min(x+1, t.cols-1); i++ {
			k := j*t.cols + i
			if k >= len(t.at) {
				continue
			}
			for _, d := range t.at[k] {
				if near := r + d.r - math.Hypot(p.x-d.x, p.y-d.y); near > 0 {
					sum += near
				}
			}
		}
	}
	return sum
}
