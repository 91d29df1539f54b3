package raster

import (
	"image"
	"image/color"
	"strings"
	"testing"

	"firlot/catalog"
	catfiles "firlot/catalog/files"
	"firlot/internal/chart"
	"firlot/nutrient"
)

func shelf(t testing.TB) *catalog.Catalogue {
	t.Helper()
	c, err := catfiles.Builtin()
	if err != nil {
		t.Fatal(err)
	}
	return c
}

// TestEveryFormCanBePainted paints the heap and the portrait of every form of
// the catalogue: whatever they are drawn with is known here.
func TestEveryFormCanBePainted(t *testing.T) {
	var items []chart.HeapItem
	for i, f := range shelf(t).Forms() {
		if testing.Short() && i%8 != 0 {
			continue
		}
		items = append(items, chart.HeapItem{Form: f, Mass: nutrient.Mass(1+i%7) * 40 * nutrient.Gram, Label: f.Name("es"), Amount: "40 g"})
		if _, err := Image(chart.Standalone(chart.Portrait(f, chart.PortraitOptions{}), chart.StandaloneOptions{}), 1); err != nil {
			t.Errorf("%s: %v", f.Ref(), err)
		}
	}
	img, err := Image(chart.Standalone(chart.Heaps(items, chart.HeapsOptions{Width: 1200}), chart.StandaloneOptions{}), 1)
	if err != nil {
		t.Fatal(err)
	}
	if got := ink(img); got < 0.02 || got > 0.5 {
		t.Errorf("%.3f of the picture is inked", got)
	}
}

// ink is how much of an image differs from white, 0 to 1.
func ink(img *image.RGBA) float64 {
	sum := 0.0
	for y := img.Rect.Min.Y; y < img.Rect.Max.Y; y++ {
		for x := img.Rect.Min.X; x < img.Rect.Max.X; x++ {
			g := color.GrayModel.Convert(img.At(x, y)).(color.Gray)
			sum += float64(255-g.Y) / 255
		}
	}
	return sum / float64(img.Rect.Dx()*img.Rect.Dy())
}

// picture wraps elements in an svg of 100 by 100.
func picture(in string) string {
	return `<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 100 100" width="100" height="100">` + in + `</svg>`
}

// TestAreas holds painted areas against arithmetic.
func TestAreas(t *testing.T) {
	for _, c := range []struct {
		name, in   string
		want, give float64
	}{
		{"a square", `<rect x="10" y="10" width="50" height="40" fill="#000000"/>`, 0.2, 0.001},
		{"a square, half seen", `<rect x="10" y="10" width="50" height="40" fill="#000000" fill-opacity=".5"/>`, 0.1, 0.002},
		{"relative letters", `<path d="M10 10h50v40h-50z" fill="#000"/>`, 0.2, 0.001},
		{"numbers that stick together", `<path d="M10-0L60 0L60 40L10.0.5Z" fill="#000"/>`, 50 * (40 + 0.5) / 2 / 1e4, 0.001},
		{"a circle", `<circle cx="50" cy="50" r="30" fill="#000000"/>`, 0.2827, 0.002},
		{"an ellipse by curves", `<path d="M20 50C20 33.43 33.43 20 50 20C66.57 20 80 33.43 80 50C80 66.57 66.57 80 50 80S20 66.57 20 50Z" fill="#000000"/>`, 0.2827, 0.002},
		{"a parabola", `<path d="M0 0Q50 100 100 0Z" fill="#000000"/>`, 2.0 / 3 * 50 / 100, 0.003},
		{"a stroke", `<path d="M10 50L90 50" fill="none" stroke="#000000" stroke-width="10"/>`, 0.08, 0.001},
		{"a stroke with round ends", `<path d="M10 50L90 50" fill="none" stroke="#000000" stroke-width="10" stroke-linecap="round"/>`, 0.08 + 0.00785, 0.001},
		{"dashes", `<path d="M10 50L90 50" fill="none" stroke="#000000" stroke-width="10" stroke-dasharray="6 2"/>`, 0.06, 0.001},
		{"turned, moved, larger", `<g transform="translate(50 50)rotate(45)scale(2)"><rect x="-10" y="-10" width="20" height="20" fill="#000000"/></g>`, 0.16, 0.001},
		{"used twice", `<defs><g id="a"><rect x="0" y="0" width="10" height="10" fill="#000000"/></g></defs><use href="#a" x="10" y="10"/><use href="#a" x="50" y="50"/>`, 0.02, 0.0005},
		{"a pattern", `<defs><pattern id="p" width="10" height="10"><rect x="0" y="0" width="5" height="10" fill="#000000"/></pattern></defs><rect x="0" y="0" width="100" height="50" fill="url(#p)"/>`, 0.25, 0.002},
		{"an svg within", `<svg x="50" y="0" width="50" height="50" viewBox="0 0 10 10"><rect x="0" y="0" width="10" height="5" fill="#000000"/></svg>`, 0.125, 0.001},
		{"handed down", `<g fill="var(--ink, #000000)"><rect x="0" y="0" width="50" height="50"/></g>`, 0.25, 0.001},
		{"nothing", `<rect x="0" y="0" width="50" height="50" fill="none"/><title>x</title>`, 0, 0},
	} {
		img, err := Image(picture(c.in), 1)
		if err != nil {
			t.Errorf("%s: %v", c.name, err)
			continue
		}
		if got := ink(img); got < c.want-c.give || got > c.want+c.give {
			t.Errorf("%s: %.4f of the picture is inked, want %.4f", c.name, got, c.want)
		}
	}
}

// TestText looks where text lies: a line of it ends, begins or is centred at
// its place.
func TestText(t *testing.T) {
	for anchor, left := range map[string]bool{"start": false, "end": true} {
		img, err := Image(picture(`<text x="50" y="60" font-size="20" text-anchor="`+anchor+`" fill="#000000">Ñandú</text>`), 1)
		if err != nil {
			t.Fatal(err)
		}
		half := img.SubImage(image.Rect(0, 0, 49, 100)).(*image.RGBA)
		other := img.SubImage(image.Rect(51, 0, 100, 100)).(*image.RGBA)
		if a, b := ink(half), ink(other); (a > b) != left || min(a, b) > 0.002 {
			t.Errorf("%s: %.4f left, %.4f right", anchor, a, b)
		}
	}
}

func TestWhatIsNotKnownIsAnError(t *testing.T) {
	for _, bad := range []string{
		`<foreignObject/>`, `<image href="x"/>`, `<path d="M0 0A1 1 0 0 0 5 5" fill="#000000"/>`, `<rect x="0" y="0" width="9" height="9" fill="red"/>`,
		`<g transform="matrix(1 0 0 1 0 0)"><rect x="0" y="0" width="9" height="9"/></g>`, `<use href="#nobody"/>`, `<rect x="0" y="0" width="9" height="9" fill="url(#nobody)"/>`,
		`<path d="L" fill="#000000"/>`, `<g id="a"><use href="#a"/></g>`, strings.Repeat(`<g>`, 40) + strings.Repeat(`</g>`, 40),
	} {
		if _, err := Image(picture(bad), 1); err == nil {
			t.Errorf("%.60s is painted", bad)
		}
	}
	for _, bad := range []string{``, `<svg`, `<html/>`, `<svg width="9"/>`, `<svg width="99999" height="99999"/>`, `<svg width="NaN" height="5"/>`} {
		if _, err := Image(bad, 1); err == nil {
			t.Errorf("%q is painted", bad)
		}
	}
}

func FuzzImage(f *testing.F) {
	f.Add(picture(`<path d="M10 10h50v40h-50z" fill="#000"/>`))
	f.Add(picture(`<g id="a"><use href="#a"/></g>`))
	f.Fuzz(func(t *testing.T, svg string) {
		if img, err := Image(svg, 0.1); err == nil && img.Rect.Empty() {
			t.Error("an empty image without an error")
		}
	})
}
