package web

import "sync"

// recent remembers so many values that were worked out last. What is
// remembered is not to be changed by whoever gets it.
type recent[K comparable, V any] struct {
	most  int
	mu    sync.Mutex
	known map[K]*V
	order []K
}

func newRecent[K comparable, V any](most int) *recent[K, V] {
	return &recent[K, V]{most: most, known: map[K]*V{}}
}

// get is a remembered value, or nil.
func (r *recent[K, V]) get(key K) *V {
	r.mu.Lock()
	defer r.mu.Unlock()
	return r.known[key]
}

// put remembers a value, and forgets the one that came first of too many.
func (r *recent[K, V]) put(key K, value *V) {
	r.mu.Lock()
	defer r.mu.Unlock()
	if r.known[key] == nil {
		r.order = append(r.order, key)
	}
	r.known[key] = value
	for len(r.order) > r.most {
		delete(r.known, r.order[0])
		r.order = r.order[1:]
	}
}
