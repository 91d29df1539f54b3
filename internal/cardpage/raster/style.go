package raster

import (
	"fmt"
	"image/color"
	"strconv"
	"strings"
)

// style is what an element is painted with; most of it is handed down.
type style struct {
	fill, stroke   string
	fillOpacity    float64
	strokeOpacity  float64
	opacity        float64 // of this element alone, times those of its parents
	width          float64
	dash           []float64
	roundJoin, cap bool
	size           float64
	bold           bool
	anchor         string
}

var plain = style{fill: "#000000", stroke: "none", fillOpacity: 1, strokeOpacity: 1, opacity: 1, width: 1, size: 16, anchor: "start"}

// with is the style of an element within another.
func (s style) with(n *node) (style, error) {
	var err error
	number := func(name string, to *float64) {
		if v, ok := n.attr[name]; ok && err == nil {
			*to, err = strconv.ParseFloat(strings.TrimSuffix(v, "px"), 64)
		}
	}
	number("fill-opacity", &s.fillOpacity)
	number("stroke-opacity", &s.strokeOpacity)
	number("stroke-width", &s.width)
	number("font-size", &s.size)
	own := 1.0
	number("opacity", &own)
	s.opacity *= own
	if v, ok := n.attr["fill"]; ok {
		s.fill = v
	}
	if v, ok := n.attr["stroke"]; ok {
		s.stroke = v
	}
	if v, ok := n.attr["stroke-dasharray"]; ok && err == nil {
		s.dash, err = numbers(v)
	}
	if v, ok := n.attr["stroke-linejoin"]; ok {
		s.roundJoin = v == "round"
	}
	if v, ok := n.attr["stroke-linecap"]; ok {
		s.cap = v == "round"
	}
	if v, ok := n.attr["font-weight"]; ok {
		s.bold = v == "bold" || v >= "600"
	}
	if v, ok := n.attr["text-anchor"]; ok {
		s.anchor = v
	}
	if err != nil {
		return s, fmt.Errorf("an attribute of %s: %w", n.name, err)
	}
	return s, nil
}

// current is the current colour, as package chart has it in a file.
const current = "#1e2a2e"

// colour reads a colour: #rrggbb, the fallback of a variable, or the current
// one. It reports false for none.
func colour(s string, opacity float64) (color.NRGBA, bool, error) {
	if rest, ok := strings.CutPrefix(s, "var("); ok {
		_, fallback, _ := strings.Cut(strings.TrimSuffix(rest, ")"), ",")
		s = strings.TrimSpace(fallback)
	}
	switch s {
	case "none":
		return color.NRGBA{}, false, nil
	case "currentColor":
		s = current
	}
	if len(s) == 4 && s[0] == '#' {
		s = "#" + string([]byte{s[1], s[1], s[2], s[2], s[3], s[3]})
	}
	v, err := strconv.ParseUint(strings.TrimPrefix(s, "#"), 16, 32)
	if err != nil || len(s) != 7 || s[0] != '#' {
		return color.NRGBA{}, false, fmt.Errorf("the colour %q is not known", s)
	}
	alpha := min(max(opacity, 0), 1)
	return color.NRGBA{uint8(v >> 16), uint8(v >> 8), uint8(v), uint8(alpha*255 + 0.5)}, true, nil
}
