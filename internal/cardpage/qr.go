package cardpage

import (
	"fmt"
	"strings"

	"github.com/piglig/go-qr"
)

// quiet is the blank border that a reader needs around a QR code, in modules
// (ISO/IEC 18004 asks for four).
const quiet = 4

// qr draws an address as a QR code that scales to any size, or is "" without
// one. Level M survives about 15 % of damage. Black on white in the dark too:
// many readers need it. It is decoration: the address stands beside it.
func qr(link string) (string, error) {
	if link == "" {
		return "", nil
	}
	code, err := go_qr.EncodeText(link, go_qr.Medium)
	if err != nil {
		return "", fmt.Errorf("the address does not fit into a QR code: %w", err)
	}
	n := code.Size()
	var d strings.Builder
	for y := range n {
		for x := 0; x < n; x++ {
			from := x
			for x < n && code.Module(x, y) {
				x++
			}
			if x > from {
				fmt.Fprintf(&d, "M%d %dh%dv1h-%dz", from+quiet, y+quiet, x-from, x-from)
			}
		}
	}
	all := n + 2*quiet
	return fmt.Sprintf(`<svg viewBox="0 0 %d %d" aria-hidden="true" shape-rendering="crispEdges"><path d="M0 0h%dv%dH0z" fill="#ffffff"/><path d="%s" fill="#000000"/></svg>`, all, all, all, all, d.String()), nil
}
