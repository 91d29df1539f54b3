package view

import (
	"cmp"
	"fmt"
	"slices"
	"strconv"
	"strings"

	"firlot/formulate"
	"firlot/internal/chart"
	"firlot/mix"
	"firlot/nutrient"
)

// Shape is the shape of a picture for a video or a post.
type Shape string

// The shapes.
const (
	Wide   Shape = "wide"   // 16:9
	Square Shape = "square" // 1:1
	Tall   Shape = "tall"   // 9:16
)

// Shapes lists them all.
func Shapes() []Shape { return []Shape{Wide, Square, Tall} }

// size is the size of a shape in px.
func (s Shape) size() (w, h float64) {
	switch s {
	case Square:
		return 1080, 1080
	case Tall:
		return 1080, 1920
	}
	return 1280, 720
}

// Sizes of text in a picture. A phone shows it at about a third of its size,
// at which the smallest is still read.
const (
	posterMargin = 48.0
	titleSize    = 58.0
	leadSize     = 34.0
	footSize     = 28.0
	largestRow   = 60.0 // of a line of the list
	smallestRow  = 38.0
	largestHeap  = 3.4 // how many times the size of the page's
	smallestHeap = 1.7
)

// poster is a picture being drawn.
type poster struct {
	strings.Builder
	t    *teller
	w, h float64
	y    float64 // how far down it is filled
}

// The colours of a picture: it has no dark and no paper of its own.
const (
	posterPaper = "#edf0f0"
	posterSheet = "#fbfcfb"
	posterInk   = "#1b2629"
	posterSoft  = "#4c5b60"
	posterLine  = "#c3cccd"
)

// Picture is what a picture shows.
type picture struct {
	title, by, url string
	qr             html // drawn by the publisher's program, or ""
	plan           *mix.Plan
	amounts        []nutrient.Mass
	answer         *formulate.Answer
}

// draw draws a picture as a file of its own.
func (t *teller) poster(x picture, shape Shape) string {
	w, h := shape.size()
	p := &poster{t: t, w: w, h: h}
	fmt.Fprintf(p, `<rect x="0" y="0" width="%g" height="%g" fill="%s"/>`, w, h, posterPaper)
	p.head(x)
	foot := p.foot(x)
	if shape == Wide {
		p.beside(x, foot)
	} else {
		p.above(x, foot)
	}
	name := x.title
	out := fmt.Sprintf(`<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 %g %g" width="%g" height="%g" role="img" aria-label="%s" font-family="system-ui, 'Segoe UI', Roboto, 'Helvetica Neue', 'DejaVu Sans', Arial, sans-serif"><title>%s</title>`,
		w, h, w, h, esc(name), esc(name)) + p.String() + "</svg>\n"
	return chart.Fixed(out)
}

// say writes lines of text and returns how high they stand.
func (p *poster) say(lines []string, x, y, size float64, colour string, bold bool, anchor string) float64 {
	weight := ""
	if bold {
		weight = ` font-weight="700"`
	}
	if anchor != "" {
		weight += ` text-anchor="` + anchor + `"`
	}
	for i, l := range lines {
		fmt.Fprintf(p, `<text x="%g" y="%g" font-size="%g" fill="%s"%s>%s</text>`, x, y+(float64(i)+0.8)*size*1.2, size, colour, weight, esc(l))
	}
	return float64(len(lines)) * size * 1.2
}

// most keeps the first lines of a text.
func most(lines []string, n int) []string {
	if len(lines) <= n {
		return lines
	}
	out := append([]string(nil), lines[:n]...)
	out[n-1] = strings.TrimRight(out[n-1], " ,.;") + "…"
	return out
}

func (p *poster) head(x picture) {
	room := p.w - 2*posterMargin
	p.y = posterMargin - 8
	p.y += p.say(most(chart.Wrap(x.title, titleSize, room, true), 2), posterMargin, p.y, titleSize, posterInk, true, "")
	lead := p.t.who(x.plan)
	if x.by != "" {
		lead = strings.TrimPrefix(lead+" · "+x.by, " · ")
	}
	p.y += p.say(most(chart.Wrap(lead, leadSize, room, false), 1), posterMargin, p.y+4, leadSize, posterSoft, false, "") + 22
}

// foot writes what the mix is proved to be, where it is to be had, and what it
// is not; it returns where it begins.
func (p *poster) foot(x picture) float64 {
	code := 0.0
	if x.qr != "" {
		code = 190
	}
	room := p.w - 2*posterMargin - code
	lines := most(chart.Wrap(p.t.sentence(x.answer), leadSize, room, true), 4)
	small := most(chart.Wrap(p.t.T("poster_beside"), footSize, room, false), 2)
	var where []string
	if web(x.url) != "" {
		where = most(chart.Wrap(strings.TrimPrefix(strings.TrimPrefix(x.url, "https://"), "http://"), footSize, room, true), 2)
	}
	high := 1.2 * (leadSize*float64(len(lines)) + footSize*float64(len(small)+len(where)))
	high = max(high+16, code)
	top := p.h - posterMargin - high + 14
	y := top
	y += p.say(lines, posterMargin, y, leadSize, posterInk, true, "") + 8
	y += p.say(small, posterMargin, y, footSize, posterSoft, false, "")
	p.say(where, posterMargin, y+4, footSize, posterInk, true, "")
	if code > 0 {
		fmt.Fprintf(p, `<svg x="%g" y="%g" width="%g" height="%g"%s`, p.w-posterMargin-code+14, top, code-14, code-14, strings.TrimPrefix(string(x.qr), "<svg"))
	}
	return top - 14
}

// above draws the heaps with their names and grams, as large as there is room.
func (p *poster) above(x picture, foot float64) {
	items, _ := p.t.heapItems(x.plan, x.amounts)
	room, high := p.w-2*posterMargin, foot-p.y
	svg, w, h, k := "", 0.0, 0.0, largestHeap
	for ; ; k -= 0.1 {
		svg = chart.Heaps(items, chart.HeapsOptions{ID: "poster", Width: room / k, Assumed: ""})
		w, h = sizeOf(svg)
		if h*k <= high || k <= smallestHeap {
			break
		}
	}
	k = min(k, high/h)
	p.place(svg, posterMargin+(room-w*k)/2, p.y+(high-h*k)/2, w*k, h*k)
}

// beside writes the list and draws the heaps beside it, without words.
func (p *poster) beside(x picture, foot float64) {
	items, _ := p.t.heapItems(x.plan, x.amounts)
	slices.SortStableFunc(items, func(a, b chart.HeapItem) int { return cmp.Compare(b.Mass, a.Mass) }) // a list goes by mass
	high := foot - p.y
	columns, row := 1, min(high/float64(max(len(items), 1)), largestRow)
	listWide := 0.56
	if row < smallestRow {
		columns, listWide = 2, 1.0
		row = min(high/float64((len(items)+1)/2), largestRow)
	}
	each := (len(items) + columns - 1) / columns
	list := (p.w - 2*posterMargin) * listWide
	for i, it := range items {
		column := list/float64(columns) - 14
		left := posterMargin + float64(i/each)*(column+28)
		p.row(it, left, p.y+float64(i%each)*row, column, row)
	}
	if columns == 1 {
		for i := range items {
			items[i].Label, items[i].Amount = "", ""
		}
		room := p.w - 2*posterMargin - list - 30
		svg := chart.Heaps(items, chart.HeapsOptions{ID: "poster", Width: 230})
		w, h := sizeOf(svg)
		k := min(room/w, high/h)
		p.place(svg, posterMargin+list+30+(room-w*k)/2, p.y+(high-h*k)/2, w*k, h*k)
	}
}

// row is one ingredient of the list.
func (p *poster) row(it chart.HeapItem, x, y, width, high float64) {
	size := min(high*0.62, 38)
	svg := chart.Portrait(it.Form, chart.PortraitOptions{Most: 44, Width: 44, Height: 32})
	w, h := sizeOf(svg)
	k := min(high*0.86/h, 78/w)
	p.place(svg, x+(78-w*k)/2, y+(high-h*k)/2, w*k, h*k)
	grams := chart.TextWidth(it.Amount, size*1.08, true)
	room := width - 92 - grams - 14
	name := size
	for chart.TextWidth(it.Label, name, false) > room && name > size*0.66 {
		name--
	}
	p.say(most(chart.Wrap(it.Label, name, room, false), 1), x+92, y+(high-name*1.2)/2, name, posterInk, false, "")
	p.say([]string{it.Amount}, x+width, y+(high-size*1.3)/2, size*1.08, posterInk, true, "end")
	fmt.Fprintf(p, `<path d="M%g %gH%g" stroke="%s" stroke-width="2" fill="none"/>`, x, y+high, x+width, posterLine)
}

// place puts a picture into this one.
func (p *poster) place(svg string, x, y, w, h float64) {
	rest := strings.TrimPrefix(strings.TrimSpace(svg), "<svg ")
	vw, vh := sizeOf(svg)
	rest = strings.Replace(rest, ` width="`+short(vw)+`" height="`+short(vh)+`"`, "", 1)
	fmt.Fprintf(p, `<svg x="%.1f" y="%.1f" width="%.1f" height="%.1f" %s`, x, y, w, h, rest)
}

func short(v float64) string { return strconv.FormatFloat(v, 'f', -1, 64) }

// sizeOf reads the size of a picture of package chart.
func sizeOf(svg string) (w, h float64) {
	_, box, _ := strings.Cut(svg, `viewBox="0 0 `)
	box, _, _ = strings.Cut(box, `"`)
	a, b, _ := strings.Cut(box, " ")
	w, _ = strconv.ParseFloat(a, 64)
	h, _ = strconv.ParseFloat(b, 64)
	return max(w, 1), max(h, 1)
}
