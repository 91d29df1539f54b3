package web

import (
	"crypto/sha256"
	"encoding/json"
	"sync"

	"firlot/internal/store"
	"firlot/making"
)

// rescues remembers the ways on that were worked out last: what is pressed is
// then what was shown, also where the time was up, and is not worked out again.
// What is remembered is not to be changed by whoever gets it.
type rescues struct {
	mu    sync.Mutex
	known map[[sha256.Size]byte]*making.Rescued
	order [][sha256.Size]byte
}

// mostRescues bounds the memory: a few phones at a few makings.
const mostRescues = 16

func newRescues() *rescues { return &rescues{known: map[[sha256.Size]byte]*making.Rescued{}} }

func (r *rescues) get(key [sha256.Size]byte) *making.Rescued {
	r.mu.Lock()
	defer r.mu.Unlock()
	return r.known[key]
}

func (r *rescues) put(key [sha256.Size]byte, found *making.Rescued) {
	r.mu.Lock()
	defer r.mu.Unlock()
	if r.known[key] == nil {
		r.order = append(r.order, key)
	}
	r.known[key] = found
	for len(r.order) > mostRescues {
		delete(r.known, r.order[0])
		r.order = r.order[1:]
	}
}

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
