package web

import (
	"encoding/xml"
	"fmt"
	"image"
	"image/color"
	"strings"
	"testing"

	"github.com/makiuchi-d/gozxing"
	"github.com/makiuchi-d/gozxing/qrcode"
	"pgregory.net/rapid"
)

// readQR reads a drawn QR code back with a second, independent decoder.
func readQR(svg string) (string, error) {
	var picture struct {
		ViewBox string `xml:"viewBox,attr"`
		Paths   []struct {
			D    string `xml:"d,attr"`
			Fill string `xml:"fill,attr"`
		} `xml:"path"`
	}
	if err := xml.Unmarshal([]byte(svg), &picture); err != nil {
		return "", err
	}
	var x0, y0, n, m int
	if _, err := fmt.Sscanf(picture.ViewBox, "%d %d %d %d", &x0, &y0, &n, &m); err != nil {
		return "", err
	}
	const scale = 4
	img := image.NewGray(image.Rect(0, 0, n*scale, m*scale))
	for i := range img.Pix {
		img.Pix[i] = 255
	}
	for _, run := range strings.Split(strings.TrimSuffix(picture.Paths[1].D, "z"), "z") {
		var x, y, w, back int
		if _, err := fmt.Sscanf(run, "M%d %dh%dv1h-%d", &x, &y, &w, &back); err != nil {
			return "", err
		}
		for py := y * scale; py < (y+1)*scale; py++ {
			for px := x * scale; px < (x+w)*scale; px++ {
				img.SetGray(px, py, color.Gray{})
			}
		}
	}
	bmp, err := gozxing.NewBinaryBitmapFromImage(img)
	if err != nil {
		return "", err
	}
	r, err := qrcode.NewQRCodeReader().Decode(bmp, map[gozxing.DecodeHintType]any{gozxing.DecodeHintType_CHARACTER_SET: "UTF-8"})
	if err != nil {
		return "", err
	}
	return r.GetText(), nil
}

func TestQRIsReadBack(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		text := rapid.StringMatching(`[A-Za-z0-9 áéñü·:/.-]{1,120}`).Draw(rt, "text")
		svg, err := qrPicture(text, `a "title" <b>`)
		if err != nil {
			rt.Fatal(err)
		}
		got, err := readQR(string(svg))
		if err != nil {
			rt.Fatalf("%q: %v", text, err)
		}
		if got != text {
			rt.Fatalf("%q was read as %q", text, got)
		}
	})
}
