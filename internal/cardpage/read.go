package cardpage

import (
	"bytes"
	"errors"
	"fmt"

	"firlot/card"
	"firlot/internal/cardpage/pack"
)

// Where the card stands in its page: packed beside an engine, which unpacks
// it, or as it is.
const (
	packedOpens = `<script type="text/plain" id="card">`
	cardOpens   = `<script type="application/json" id="card">`
	cardCloses  = `</script>`
)

// MaxFile is the size up to which a card's page is read: its engine and its
// pictures are passed over, not looked at.
const MaxFile = 16 << 20

// Read finds the card in a page, or takes the text as the card itself. Nothing
// in the page is run or believed but the one element that holds the card, and
// a page that holds two is refused.
func Read(text []byte) (*card.Card, error) {
	if len(text) > MaxFile {
		return nil, errors.New("the file is larger than a card can be")
	}
	body := bytes.TrimSpace(bytes.TrimPrefix(text, []byte("\xef\xbb\xbf")))
	if bytes.HasPrefix(body, []byte("{")) {
		return card.Decode(body)
	}
	packed, err := inside(text, packedOpens)
	if err != nil {
		return nil, err
	}
	plain, err := inside(text, cardOpens)
	switch {
	case err != nil:
		return nil, err
	case packed == nil && plain == nil:
		return nil, errors.New("there is no card in this file")
	case packed != nil && plain != nil:
		return nil, errMore
	case packed != nil:
		if plain, err = pack.Unpack(string(bytes.TrimSpace(packed)), card.MaxBytes); err != nil {
			return nil, fmt.Errorf("the card in this file cannot be unpacked: %w", err)
		}
	}
	return card.Decode(bytes.TrimSpace(plain))
}

var errMore = errors.New("the file holds more than one card")

// inside is what stands in the one element that opens so; nil when there is
// none.
func inside(text []byte, opens string) ([]byte, error) {
	_, after, ok := bytes.Cut(text, []byte(opens))
	if !ok {
		return nil, nil
	}
	if bytes.Contains(after, []byte(opens)) {
		return nil, errMore
	}
	body, _, ok := bytes.Cut(after, []byte(cardCloses))
	if !ok || len(body) == 0 {
		return nil, errors.New("the card in this file has no end")
	}
	return body, nil
}
