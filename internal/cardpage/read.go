package cardpage

import (
	"bytes"
	"errors"

	"firlot/card"
)

// Where the card stands in its page.
const (
	cardOpens  = `<script type="application/json" id="card">`
	cardCloses = `</script>`
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
	_, after, ok := bytes.Cut(text, []byte(cardOpens))
	if !ok {
		return nil, errors.New("there is no card in this file")
	}
	if bytes.Contains(after, []byte(cardOpens)) {
		return nil, errors.New("the file holds more than one card")
	}
	inside, _, ok := bytes.Cut(after, []byte(cardCloses))
	if !ok {
		return nil, errors.New("the card in this file has no end")
	}
	return card.Decode(bytes.TrimSpace(inside))
}
