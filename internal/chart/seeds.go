package chart

import (
	"math"
	"strings"

	"firlot/catalog"
)

// Outlines in a box from −1 to 1, the germ end of a grain to the left.
const (
	oval     = "M-1 0C-1-.55-.55-1 0-1C.55-1 1-.55 1 0C1 .55.55 1 0 1C-.55 1-1 .55-1 0Z"
	grainy   = "M-1 .08C-.9-.7-.4-1 .05-1C.55-1 .88-.6 1 0C.86.65.5 1 .05 1C-.42 1-.9.75-1 .08Z"
	boat     = "M-1 .05C-.5-1.3.45-1.35 1-.05C.5 1.3-.45 1.35-1 .05Z"
	tear     = "M1 0C.55-.45.2-1-.4-1C-.8-1-1-.5-1 0C-1 .5-.8 1-.4 1C.2 1 .55.45 1 0Z"
	almondy  = "M1 0C.8-.6.3-1-.2-1C-.75-1-1-.55-1 0C-1 .55-.75 1-.2 1C.3 1 .8.6 1 0Z"
	kidney   = "M-.98.25C-1.1-.6-.55-1 0-1C.6-1 1.1-.6.98.25C.92.85.5 1.15.25.8C.1.55-.1.55-.25.8C-.5 1.15-.92.85-.98.25Z"
	lowShade = "M-.93.22C-.62.8-.3.95.05.95C.45.95.8.6.94.12C.7.45.4.6.05.6C-.35.6-.7.5-.93.22Z"
	upGloss  = "M-.6-.5C-.35-.85.1-.9.45-.68C.1-.72-.3-.68-.6-.5Z"
	dot      = "M-.62-.42C-.6-.68-.3-.74-.2-.56C-.24-.4-.5-.24-.62-.42Z"
)

// plain is a form without a known shape.
func (br *brush) plain() {
	br.body(oval)
	br.shade(lowShade)
}

// hulled reports whether the form still wears its husk.
func (br *brush) inHull() bool {
	return strings.Contains(br.form.State, "in hull") || br.says("husk", "chaff")
}

func (br *brush) grain() {
	if br.class() == catalog.Pulse {
		br.bean()
		return
	}
	br.body(grainy)
	br.shade(lowShade)
	switch {
	case br.inHull():
		br.line("M-.93.1C-.5-.5.4-.62.93-.03M-.93.15C-.5.6.4.66.92.06", br.pal.second, 1)
		br.line("M-.92.1C-.4-.02.4-.05.97 0", br.pal.second, 1.3)
	default:
		br.line("M-.78.2C-.3.34.35.28.84.02", br.pal.second, 1.8)
		br.area("M-.96.02C-.86-.42-.66-.44-.58-.1C-.6.22-.8.34-.95.2Z", br.pal.third, 0.75)
		br.line("M-.68-.42C-.55-.25-.55.05-.66.22", br.pal.second, 0.9)
	}
	if br.fine && !br.inHull() && br.says("brush", "hair", "furry") {
		br.line("M.93-.2L1-.3M.95-.05L1-.08M.93.15L1 .24M.84-.36L.93-.5", br.pal.second, 0.7)
	}
	if br.fine && br.says("wrinkle", "shrivel") {
		br.line("M-.3-.55Q-.2-.3-.28-.1M.1-.62Q.2-.4.1-.15M.45-.5Q.52-.3.45-.1", br.pal.second, 0.7)
	}
	br.gloss(upGloss)
}

func (br *brush) bean() {
	br.body("M-1 .1C-1-.6-.6-1 0-1C.6-1 1-.6 1 .1C.95.75.55 1 .3.96C.1.9-.1.9-.3.96C-.55 1-.95.75-1 .1Z")
	br.shade(lowShade)
	br.area("M-.34.62Q0 .4.34.62Q0 .8-.34.62Z", pick(br.says("pale scar", "white scar"), white, br.pal.second.to(white, 0.55)), 0.95)
	br.line("M-.26.61Q0 .52.26.61", br.pal.second.to(black, 0.3), 0.7)
	br.gloss(upGloss)
}

func (br *brush) ball() {
	switch {
	case br.says("bead", "berries of") && br.form.Ingredient != nil && br.form.Ingredient.Family == "Rosaceae":
		br.berry()
		return
	case br.class() == catalog.Nut:
		br.shell()
		return
	}
	br.body(oval)
	br.shade("M-.85.4C-.5.95.55 1.05.9.25C.98 0 .98-.2.92-.35C.85.25.3.65-.85.4Z")
	switch {
	case br.class() == catalog.Cereal && br.says("line along", "crease"):
		br.line("M-.9.16C-.5.36.4.4.93.1", br.pal.second.to(black, 0.35), 1.7)
	case br.inHull():
		br.area("M-.98 0C-.95-.35-.8-.35-.72 0C-.8.35-.95.35-.98 0Z", br.pal.second, 0.8)
		br.line("M-.72.1C-.3.5.4.5.97.05", br.pal.second, 1)
	case br.says("dot at the germ", "germ"):
		br.area("M-.9 .05C-.82-.35-.45-.3-.42.08C-.5.4-.8.4-.9.05Z", pick(br.says("dark dot"), br.pal.second, br.pal.third), 0.9)
	case br.class() == catalog.Pulse:
		br.area("M.5.25C.62.05.85.1.86.3C.8.48.58.48.5.25Z", br.pal.second, 0.85)
		if br.says("wrinkle", "dimple") {
			br.line("M-.5-.1Q-.2.15-.35.45M0-.3Q.2.05.02.4", br.pal.second, 1)
		}
	}
	br.skin()
	br.gloss(dot)
}

// skin draws what the looks say of a surface.
func (br *brush) skin() {
	if br.says("ribbed", "ribs") {
		br.line("M-.95-.1C-.5-.75.5-.75.95-.1M-.98 0C-.5-.3.5-.3.98 0M-.98.1C-.5.25.5.25.98.1M-.88.4C-.5.7.5.7.88.4", br.pal.second, 0.9)
	}
	if br.says("marbled", "speckled", "veins") {
		br.flecks(pick(br.fine, 9, 4), 0.75)
	}
	if br.fine && br.says("net", "honeycomb") {
		br.line("M-.7-.5L.5.75M-.9 0L0 .9M-.3-.85L.85.35M-.7.55L.5-.75M-.2.9L.9-.2M-.9.1L.1-.9", br.pal.second, 0.6)
	}
}

// flecks scatters n short marks over a body of a radius.
func (br *brush) flecks(n int, radius float64) {
	var dark, pale strings.Builder
	for i := range n {
		r, t := radius*math.Sqrt(br.rng.Float64()), br.either(0, 6.28)
		x, y, u := r*math.Cos(t), r*math.Sin(t), br.either(0, 3.1)
		d := "M" + at(x, y) + "L" + at(x+0.16*math.Cos(u), y+0.16*math.Sin(u))
		if i%3 == 2 {
			pale.WriteString(d)
		} else {
			dark.WriteString(d)
		}
	}
	br.line(dark.String(), br.pal.second, 1.6)
	br.line(pale.String(), br.pal.third, 1.6)
}

func (br *brush) berry() {
	br.body(oval)
	for _, p := range []point{{-.55, -.4}, {0, -.62}, {.52, -.42}, {-.62, .2}, {-.08, -.05}, {.5, .12}, {-.25, .58}, {.3, .6}} {
		d := "M" + at(p.x-.3, p.y) + "C" + at(p.x-.3, p.y-.38) + " " + at(p.x+.3, p.y-.38) + " " + at(p.x+.3, p.y) + "C" + at(p.x+.3, p.y+.38) + " " + at(p.x-.3, p.y+.38) + " " + at(p.x-.3, p.y) + "Z"
		br.area(d, br.pal.third, 0.35)
		br.line(d, br.pal.second, 0.7)
	}
}

// shell is a round nut in its shell, its scar to the left.
func (br *brush) shell() {
	br.body("M1 0C.85-.55.5-1-.1-1C-.75-1-1-.5-1 0C-1 .5-.75 1-.1 1C.5 1 .85.55 1 0Z")
	br.area("M-.98-.1C-.95-.55-.8-.7-.62-.75C-.45-.3-.45.3-.62.75C-.8.7-.95.55-.98.1Z", br.pal.second, 0.95)
	br.line("M-.5-.5C0-.65.5-.4.85-.05M-.45 0L.95.02M-.5.5C0 .65.5.4.85.08", br.pal.main.to(black, 0.3), 0.7)
	br.gloss("M-.3-.7C0-.85.35-.7.55-.45C.2-.6-.05-.66-.3-.7Z")
}

func (br *brush) lens() {
	br.body(oval)
	br.shade("M-.85.4C-.5.95.55 1.05.9.25C.98 0 .98-.2.92-.35C.85.3.3.7-.85.4Z")
	br.line("M-.74 0C-.74-.42-.42-.72 0-.72C.42-.72.74-.42.74 0C.74.42.42.72 0 .72C-.42.72-.74.42-.74 0Z", br.pal.second, 1)
	if br.says("rim", "thread", "wing") {
		pale := pick(br.pal.second.light() > br.pal.third.light(), br.pal.second, br.pal.third).to(white, 0.35)
		br.area("M-1 0C-1-.55-.55-1 0-1C.55-1 1-.55 1 0C.88-.45.5-.82 0-.82C-.5-.82-.88-.45-1 0Z", pale, 0.65)
	}
	if br.says("ribs") {
		br.line("M-.7-.1Q0-.4.7-.1M-.72.05L.72.05M-.68.22Q0 .5.68.22", br.pal.second, 0.8)
	}
	br.gloss("M-.5-.32C-.4-.58.05-.66.25-.5C.05-.46-.3-.4-.5-.32Z")
}

// cornered is a nut of three faces, two of which show, its tip to the right.
func (br *brush) cornered() {
	blunt := br.form.Hull == nil && br.says("blunt", "groats", "kernel")
	outline, upper, ridge := "M1 0C.6-.3 0-.75-.62-1C-.78-.6-.98-.35-1 0C-.98.35-.78.6-.62 1C0 .75.6.3 1 0Z",
		"M1 0C.6-.3 0-.75-.62-1C-.78-.6-.98-.35-1 0Q-.2.28 1 0Z", "M1 0Q-.1.26-.98.02"
	if blunt {
		outline, upper, ridge = "M.98 0C.9-.35.2-.85-.4-1C-.7-1.02-.72-.7-.95-.3C-1.02-.1-1.02.1-.95.3C-.72.7-.7 1.02-.4 1C.2.85.9.35.98 0Z",
			"M.98 0C.9-.35.2-.85-.4-1C-.7-1.02-.72-.7-.95-.3C-1-.15-1 0-.98.05Q-.1.3.98 0Z", "M.95.02Q-.1.3-.95.06"
	}
	br.body(outline)
	br.area(upper, br.pal.third, 0.5)
	br.shade("M1 0Q-.2.28-1 .02C-.98.35-.78.6-.62 1C0 .75.6.3 1 0Z")
	br.line(ridge, pick(br.pal.main.light() < 0.3, br.pal.third, br.pal.second), 1.2)
	if br.fine {
		br.line("M-.62-1C-.5-.6-.5-.3-.56 .12", br.pal.second, 0.8)
	}
	br.gloss("M-.35-.62Q.1-.5.5-.2Q.05-.36-.35-.62Z")
}

func (br *brush) drop() {
	br.body(tear)
	striped := br.says("stripe")
	switch {
	case striped:
		br.area("M.96 0C.5-.28.1-.74-.42-.76C-.66-.74-.8-.6-.86-.5C-.4-.66.1-.4.96 0Z", br.pal.second, 1)
		br.area("M.94.02C.3-.2-.4-.28-.95-.12C-.98 0-.98.06-.95.14C-.4.08.3 0 .94.02Z", br.pal.third, 1)
		br.area("M.96.02C.5.3.1.76-.42.78C-.66.76-.8.62-.88.46C-.4.52.1.42.96.02Z", br.pal.second, 1)
		br.line("M.9 0C.4-.38 0-.58-.6-.62M.9.03C.4.4 0 .56-.6.62", br.pal.main, 1)
	case br.says("rim"):
		br.line("M.74 0C.45-.3.1-.72-.38-.72C-.66-.72-.8-.4-.8 0C-.8.4-.66.72-.38.72C.1.72.45.3.74 0Z", br.pal.second, 1.6)
	case br.says("four-cornered", "domed"):
		br.line("M.9-.03C.4-.3-.2-.45-.9-.25M.9.05C.4.25-.2.4-.9.35", br.pal.second, 1)
	}
	if !striped {
		br.shade("M.9.08C.5.5.15.96-.4.96C-.75.96-.92.6-.97.2C-.8.55-.6.66-.35.64C.1.6.5.3.9.08Z")
	}
	if br.says("marbled", "dotted") {
		br.flecks(pick(br.fine, 10, 4), 0.6)
	}
	if br.says("shin", "gloss") {
		br.gloss("M-.75-.35C-.65-.75-.3-.85.05-.66C-.2-.68-.5-.6-.75-.35Z")
		br.gloss("M.2-.5L.45-.28L.4-.26L.16-.45Z")
	} else {
		br.gloss("M-.7-.4C-.55-.72-.25-.78.05-.62C-.2-.66-.5-.6-.7-.4Z")
	}
}

func (br *brush) spindle() {
	switch {
	case strings.Contains(br.form.State, "ear"):
		br.ear()
		return
	case br.class() == catalog.Nut:
		br.pod()
		return
	case br.says("crescent", "bent"):
		br.body("M-1 .6C-.5-1.44 .5-1.56 1 .54C.6 .12 .4 .9 0 .96C-.4 1.02-.7 .48-1 .6Z")
		br.line("M-.85 .36C-.4-.54 .4-.6 .85 .3M-.75 .504C-.3 .18 .3 .12 .75 .48", br.pal.second, 0.9)
		br.gloss("M-.3-.66Q.05-.9 .4-.6Q.05-.72-.3-.66Z")
		return
	}
	br.body(boat)
	br.shade("M-.9.2C-.4 1.12.45 1.08.94.08C.5.62-.3.75-.9.2Z")
	switch {
	case br.says("rib", "ridge") || br.says("spikelet"):
		br.line("M-.88-.1C-.4-.85.4-.88.9-.12M-.93 0C-.4-.32.4-.34.95-.04M-.9.15C-.4.35.4.36.92.06", br.pal.second, 1)
	case br.inHull():
		br.line("M-.92.02C-.4-.2.3-.3.98-.04", br.pal.second, 1.5)
		br.area("M-.92 0C-.4-.95.3-1 .8-.2C.2-.5-.4-.4-.92 0Z", br.pal.third, 0.55)
	default:
		br.line("M-.85.1C-.4.3.4.26.86 0", br.pal.second, 1.2)
	}
	br.gloss("M-.5-.42C-.2-.82.25-.82.5-.5C.2-.62-.2-.6-.5-.42Z")
}

// ear is a whole dried ear on its stalk.
func (br *brush) ear() {
	br.body("M-1-.06L-.72-.1C-.7-.7-.4-1 0-.96C.5-.9.85-.5 1 0C.85.55.5.95 0 .98C-.4 1-.7.7-.72.1L-1 .06Z")
	var beads strings.Builder
	for range pick(br.fine, 60, 16) {
		x := br.either(-0.66, 0.85)
		y := br.either(-0.8, 0.8) * (1 - 0.75*math.Pow(math.Max(x, 0), 1.5))
		beads.WriteString("M" + at(x, y) + "L" + at(x+0.012, y+0.05))
	}
	br.line(beads.String(), br.pal.second, 1.6)
	br.gloss("M-.5-.6C-.1-.85.3-.75.6-.45C.2-.6-.2-.6-.5-.6Z")
}

// pod is a peanut in its shell.
func (br *brush) pod() {
	br.body("M-1 .05C-1-.75-.65-1-.4-.98C-.15-.95-.1-.7.05-.72C.25-.75.3-1 .6-.96C.9-.9 1-.5.99 0C.98.6.85.95.55.97C.3.98.2.72.02.72C-.15.73-.25.98-.5.98C-.8.95-1 .7-1 .05Z")
	br.line("M-.9-.3C-.4-.55 0-.3.9-.35M-.95.05C-.4-.1.1.1.95 0M-.88.42C-.4.5 0 .3.88.4M-.7-.8Q-.6 0-.7.8M-.4-.9Q-.3 0-.4.9M.02-.68Q.08 0 .02.68M.35-.85Q.45 0 .35.82M.7-.88Q.78 0 .7.85", br.pal.second, 0.6)
	br.shade(lowShade)
}

func (br *brush) kernel() {
	switch {
	case br.says("kidney"):
		br.body(kidney)
		br.shade("M-.96.35C-.6-.1.6-.1.96.35C.9.85.5 1.1.25.78C.1.55-.1.55-.25.78C-.5 1.1-.9.85-.96.35Z")
		if br.class() == catalog.Pulse {
			br.area("M-.24.5C-.2.22.2.22.24.5C.1.42-.1.42-.24.5Z", br.pal.second, 1)
		}
	case br.says("wedge"):
		br.wedge()
	case br.says("lobed", "ridged"):
		br.half()
	case br.says("rows"):
		br.wedge()
	case br.class() == catalog.Pulse:
		br.bean()
		return
	case br.says("round kernel", "oblong"):
		br.body(almondy)
		br.line("M.95 0C.4-.15-.4-.1-.96.02", br.pal.second, 1)
		br.shade(lowShade)
	default:
		br.pointed()
	}
	br.gloss("M-.68-.38C-.5-.7-.15-.82.2-.66C-.1-.68-.42-.6-.68-.38Z")
}

// pointed is a hulled kernel with a point to the right.
func (br *brush) pointed() {
	br.body(almondy)
	br.shade("M.93.08C.7.55.3.96-.2.96C-.68.96-.92.6-.97.2C-.8.5-.55.62-.2.6C.2.58.6.4.93.08Z")
	if br.says("flat") {
		br.line("M.78 0C.55-.4.2-.72-.2-.72C-.6-.72-.82-.4-.82 0", br.pal.second, 1)
	} else {
		br.line("M.92 0C.4-.14-.4-.2-.92-.08", br.pal.second, 1)
	}
	br.area("M1 0C.95-.16.86-.34.76-.46C.7-.2.7.2.76.46C.86.34.95.16 1 0Z", br.pal.second, 0.55)
}

// wedge is a maize kernel, its pale tip to the left.
func (br *brush) wedge() {
	br.body("M-1 .12C-1-.25-.75-.32-.5-.5C-.1-.85.35-1 .65-.98C.95-.9 1-.4.96 0C1 .4.95.9.65.98C.3 1-.1.85-.5.52C-.75.4-1 .4-1 .12Z")
	br.area("M-.98.1C-.98-.22-.75-.28-.52-.44C-.42-.2-.42.25-.52.46C-.75.34-.98.34-.98.1Z", br.pal.third, 0.95)
	br.area("M-.45-.25C-.1-.5.25-.3.25 0C.25.35-.1.5-.45.28C-.4.1-.4-.1-.45-.25Z", br.pal.third, 0.6)
	br.line("M.9-.3C.76-.1.76.15.9.32", br.pal.second, 1.4)
	br.shade("M-.4.6C0 .9.4 1 .65.95C.9.85.96.5.95.15C.7.6.2.75-.4.6Z")
}

// half is a lobed half of a walnut or pecan: two rows of folds beside a furrow.
func (br *brush) half() {
	pts := make([]point, 16)
	for i := range pts {
		t := float64(i) * 2 * math.Pi / 16
		r := 1 - 0.08*float64(i%2)
		pts[i] = point{r * math.Cos(t), r * math.Sin(t)}
	}
	br.outline = smooth(br.scaled(fit(pts), 1))
	br.shade(lowShade)
	br.line("M-.92.02C-.5-.1.4.12.92 0", br.pal.second.to(black, 0.2), 1.8)
	br.line("M-.7-.1C-.85-.4-.55-.65-.45-.4C-.4-.2-.25-.25-.25-.45C-.25-.75.05-.8.08-.5C.1-.25.25-.25.3-.45C.35-.7.65-.6.6-.3C.58-.15.7-.1.78-.2", br.pal.second, 1.4)
	br.line("M-.72.18C-.8.5-.5.65-.42.42C-.35.22-.2.3-.2.5C-.18.8.12.75.12.5C.15.3.3.3.34.48C.4.72.68.55.62.32C.6.2.7.15.8.22", br.pal.second, 1.4)
}
