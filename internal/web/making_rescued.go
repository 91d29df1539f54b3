package web

import (
	"crypto/sha256"
	"encoding/json"

	"firlot/internal/store"
	"firlot/making"
)

// rescues remembers the ways on that were worked out last: what is pressed is
// then what was shown, also where the time was up, and is not worked out again.
type rescues = recent[[sha256.Size]byte, making.Rescued]

// mostRescues bounds the memory: a few phones at a few makings.
const mostRescues = 16

func newRescues() *rescues { return newRecent[[sha256.Size]byte, making.Rescued](mostRescues) }

// asked is all that a rescue is worked out from: how the making began, what
// happened since, and what the shelf has.
func (x *weighing) asked(slip making.Slip) ([sha256.Size]byte, error) {
	text, err := json.Marshal(struct {
		ID     store.ID
		Start  string
		Events []store.Event
		Own    string
		Items  []store.Item
		Slip   making.Slip
	}{x.ID, x.Start, x.Events, x.shelf.Own, x.shelf.Items, slip})
	return sha256.Sum256(text), err
}
