package cardpage

import (
	"bytes"
	"context"
	"fmt"
	"image/png"
	"slices"

	"firlot/card"
	"firlot/internal/cardpage/raster"
	"firlot/internal/cardpage/view"
)

// SVG draws one of a card's mixes as a picture of its own: wide, square or
// tall.
func SVG(ctx context.Context, c *card.Card, mix int, lang, shape string) (string, error) {
	if !slices.Contains(view.Shapes(), view.Shape(shape)) {
		return "", fmt.Errorf("%q is not a shape; use one of %v", shape, view.Shapes())
	}
	s, err := session(c)
	if err != nil {
		return "", err
	}
	return s.Picture(ctx, mix, lang, view.Shape(shape))
}

// pictureScale is how many pixels a painted picture has to a px of its
// drawing.
const pictureScale = 1

// PNG paints one of a card's mixes. whole is false where its text has letters
// that the painter's fonts lack, as Arabic ones; a browser's have them.
func PNG(ctx context.Context, c *card.Card, mix int, lang, shape string) (text []byte, whole bool, err error) {
	svg, err := SVG(ctx, c, mix, lang, shape)
	if err != nil {
		return nil, false, err
	}
	img, err := raster.Image(svg, pictureScale)
	if err != nil {
		return nil, false, err
	}
	var out bytes.Buffer
	err = png.Encode(&out, img)
	return out.Bytes(), !raster.Lacks(svg), err
}

// Caption says one of a card's mixes as plain text.
func Caption(ctx context.Context, c *card.Card, mix int, lang string) (string, error) {
	s, err := session(c)
	if err != nil {
		return "", err
	}
	return s.Caption(ctx, mix, lang)
}

func session(c *card.Card) (*view.Session, error) {
	s := &view.Session{Card: c, Texts: texts()}
	var err error
	s.QR, err = qr(c.Hosted)
	return s, err
}
