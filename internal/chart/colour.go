package chart

import (
	"fmt"
	"math"
	"strconv"
)

// rgb is a colour with parts from 0 to 1.
type rgb [3]float64

// parse reads "#rrggbb"; anything else is not a colour.
func parse(s string) (rgb, bool) {
	if len(s) != 7 || s[0] != '#' {
		return rgb{}, false
	}
	v, err := strconv.ParseUint(s[1:], 16, 32)
	if err != nil {
		return rgb{}, false
	}
	return rgb{float64(v>>16&255) / 255, float64(v>>8&255) / 255, float64(v&255) / 255}, true
}

func (c rgb) String() string {
	n := [3]int{}
	for i, v := range c {
		n[i] = int(math.Round(min(max(v, 0), 1) * 255))
	}
	return fmt.Sprintf("#%02x%02x%02x", n[0], n[1], n[2])
}

// to mixes a colour with another.
func (c rgb) to(d rgb, share float64) rgb {
	for i := range c {
		c[i] += (d[i] - c[i]) * share
	}
	return c
}

// light is how light a colour looks, 0 to 1 (ITU-R BT.709 luma).
func (c rgb) light() float64 { return 0.2126*c[0] + 0.7152*c[1] + 0.0722*c[2] }

var black, white = rgb{}, rgb{1, 1, 1}

// palette is what one food is drawn with.
type palette struct{ main, second, third, edge rgb }

// paletteOf reads a form's colours. Colours that do not parse are replaced by
// grey, or by a shade of the main one. The edge of a dark food is lighter than
// it and that of a light food darker, so that it stands out from its like and
// from paper, light or dark.
func paletteOf(colours []string) palette {
	p := palette{main: rgb{0.65, 0.65, 0.62}}
	get := func(i int, otherwise rgb) rgb {
		if i < len(colours) {
			if c, ok := parse(colours[i]); ok {
				return c
			}
		}
		return otherwise
	}
	p.main = get(0, p.main)
	p.second = get(1, p.main.to(black, 0.3))
	p.third = get(2, p.main.to(white, 0.4))
	if p.main.light() < 0.3 {
		p.edge = p.main.to(white, 0.38)
	} else {
		p.edge = p.main.to(black, 0.48)
	}
	return p
}
