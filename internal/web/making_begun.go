package web

import (
	"sync"

	"firlot/internal/store"
	"firlot/making"
	"firlot/mix"
)

// beginning is what a making began from, read. It never changes, and is not
// to be changed by whoever gets it.
type beginning struct {
	start *making.Start
	doc   *mix.Document // nil when it does not read any more
	plan  *mix.Plan     // nil when it does not resolve any more
}

// begun remembers the beginnings of the makings looked at last, so that a pour
// does not read its mix again.
type begun struct {
	mu    sync.Mutex
	known map[store.ID]*remembered
	order []store.ID
}

type remembered struct {
	text string
	*beginning
}

// mostBegun bounds the memory: a plan is some tens of kilobytes.
const mostBegun = 16

func newBegun() *begun { return &begun{known: map[store.ID]*remembered{}} }

// of is the beginning of a making, read once. A backup that was brought back
// may have another making by the same name, so that the text is compared.
func (b *begun) of(m store.Making, read func(store.Making) (*beginning, error)) (*beginning, error) {
	b.mu.Lock()
	have := b.known[m.ID]
	b.mu.Unlock()
	if have != nil && have.text == m.Start {
		return have.beginning, nil
	}
	x, err := read(m)
	if err != nil {
		return nil, err
	}
	b.mu.Lock()
	defer b.mu.Unlock()
	if b.known[m.ID] == nil {
		b.order = append(b.order, m.ID)
	}
	b.known[m.ID] = &remembered{m.Start, x}
	for len(b.order) > mostBegun {
		delete(b.known, b.order[0])
		b.order = b.order[1:]
	}
	return x, nil
}
