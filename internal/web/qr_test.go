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

// readQR reads a drawn QR code back with a second, independent decoder. The
// modules lie where they are drawn; the decoder need not find them in a photo.
func readQR(svg string) (string, error) {
	bmp, err := qrBitmap(svg)
	if err != nil {
		return "", err
	}
	return decodeQR(bmp, map[gozxing.DecodeHintType]any{gozxing.DecodeHintType_PURE_BARCODE: true})
}

func decodeQR(bmp *gozxing.BinaryBitmap, hints map[gozxing.DecodeHintType]any) (string, error) {
	hints[gozxing.DecodeHintType_CHARACTER_SET] = "UTF-8"
	r, err := qrcode.NewQRCodeReader().Decode(bmp, hints)
	if err != nil {
		return "", err
	}
	return r.GetText(), nil
}

// qrBitmap is a drawn QR code as a camera would hold it, four pixels a module.
func qrBitmap(svg string) (*gozxing.BinaryBitmap, error) {
	var picture struct {
		ViewBox string `xml:"viewBox,attr"`
		Paths   []struct {
			D    string `xml:"d,attr"`
			Fill string `xml:"fill,attr"`
		} `xml:"path"`
	}
	if err := xml.Unmarshal([]byte(svg), &picture); err != nil {
		return nil, err
	}
	var x0, y0, n, m int
	if _, err := fmt.Sscanf(picture.ViewBox, "%d %d %d %d", &x0, &y0, &n, &m); err != nil {
		return nil, err
	}
	const scale = 4
	img := image.NewGray(image.Rect(0, 0, n*scale, m*scale))
	for i := range img.Pix {
		img.Pix[i] = 255
	}
	for _, run := range strings.Split(strings.TrimSuffix(picture.Paths[1].D, "z"), "z") {
		var x, y, w, back int
		if _, err := fmt.Sscanf(run, "M%d %dh%dv1h-%d", &x, &y, &w, &back); err != nil {
			return nil, err
		}
		for py := y * scale; py < (y+1)*scale; py++ {
			for px := x * scale; px < (x+w)*scale; px++ {
				img.SetGray(px, py, color.Gray{})
			}
		}
	}
	return gozxing.NewBinaryBitmapFromImage(img)
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

// TestQRIsFoundInAPicture has the decoder look for the code, as a phone does.
// The texts are fixed: the decoder's own search takes a few codes' insides for
// a corner (of all single letters, that of "s"), which is no fault of the code.
func TestQRIsFoundInAPicture(t *testing.T) {
	for _, text := range []string{
		"http://192.168.1.23:4681/pair#K7QM-24XD",
		"https://kitchen.local:4681/pair#ABCD-EFGH",
		"FIR-261125-01",
		"Husky mix · FIR-261125-01 · 2027-02-25",
	} {
		svg, err := qrPicture(text, "x")
		if err != nil {
			t.Fatal(err)
		}
		bmp, err := qrBitmap(string(svg))
		if err != nil {
			t.Fatal(err)
		}
		got, err := decodeQR(bmp, map[gozxing.DecodeHintType]any{})
		if err != nil || got != text {
			t.Errorf("%q was found as %q: %v", text, got, err)
		}
	}
}
