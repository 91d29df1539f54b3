package web

import (
	"fmt"
	"html/template"
	"strings"

	"github.com/piglig/go-qr"
)

// qrQuiet is the blank border that a reader needs around a QR code, in modules
// (ISO/IEC 18004 asks for four).
const qrQuiet = 4

// qrPicture draws a text as a QR code that scales to any size; title is its
// name for a screen reader. Level M survives about 15 % of damage, which a
// jar's label sees. Black on white in the dark too: many readers need it.
func qrPicture(text, title string) (template.HTML, error) {
	code, err := go_qr.EncodeText(text, go_qr.Medium)
	if err != nil {
		return "", err
	}
	n := code.Size()
	var d strings.Builder
	for y := range n {
		for x := 0; x < n; x++ {
			if !code.Module(x, y) {
				continue
			}
			from := x
			for x < n && code.Module(x, y) {
				x++
			}
			fmt.Fprintf(&d, "M%d %dh%dv1h-%dz", from+qrQuiet, y+qrQuiet, x-from, x-from)
		}
	}
	name := template.HTMLEscapeString(title)
	all := n + 2*qrQuiet
	return template.HTML(fmt.Sprintf(`<svg xmlns="http://www.w3.org/2000/svg" class="qr" viewBox="0 0 %d %d" role="img" aria-label="%s" shape-rendering="crispEdges"><path d="M0 0h%dv%dH0z" fill="#fff"/><path d="%s" fill="#000"/></svg>`, all, all, name, all, all, d.String())), nil
}
