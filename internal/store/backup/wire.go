package backup

import (
	"time"

	"firlot/internal/store"
)

// Setting is a small choice by name.
type Setting struct {
	Name  string `json:"name"`
	Value string `json:"value"`
}

// Event is an event of a making.
type Event struct {
	Making store.ID
	store.Event
}

// Record is one thing in a backup: exactly one of its fields is set. A version
// belongs to the mix before it, an event to the making before it. A making is
// written with its events in it, so that it knows how many follow, and read
// without them. A device is read as one that is not let in.
type Record struct {
	Setting *Setting
	Group   *store.Group
	Shelf   *store.Shelf
	Mix     *store.Mix
	Version *store.Version
	Device  *store.Device
	Lot     *store.Lot
	Making  *store.Making
	Event   *Event
}

// The wire types are apart from package store's, so that a name there can
// change and the file stays as it is.

type header struct {
	Format int       `json:"firlot_backup"`
	Made   time.Time `json:"made"`
}

type line struct {
	Setting *Setting `json:"setting,omitempty"`
	Group   *group   `json:"group,omitempty"`
	Shelf   *shelf   `json:"shelf,omitempty"`
	Mix     *mix     `json:"mix,omitempty"`
	Version *version `json:"version,omitempty"`
	Device  *device  `json:"device,omitempty"`
	Lot     *lot     `json:"lot,omitempty"`
	Making  *making  `json:"making,omitempty"`
	Event   *event   `json:"event,omitempty"`
	End     *end     `json:"end,omitempty"`
}

type end struct {
	Lines  int64  `json:"lines"`
	SHA256 string `json:"sha256"`
}

type group struct {
	ID       store.ID  `json:"id"`
	Name     string    `json:"name"`
	Species  string    `json:"species,omitempty"`
	Stage    string    `json:"stage,omitempty"`
	Born     string    `json:"born,omitempty"`
	Animals  int       `json:"animals,omitempty"`
	Note     string    `json:"note,omitempty"`
	Windows  string    `json:"windows,omitempty"`
	Feeding  string    `json:"feeding,omitempty"`
	Archived bool      `json:"archived,omitempty"`
	Changed  time.Time `json:"changed"`
}

type shelf struct {
	ID      store.ID  `json:"id"`
	Name    string    `json:"name"`
	Place   string    `json:"place,omitempty"`
	Note    string    `json:"note,omitempty"`
	Items   []item    `json:"items,omitempty"`
	Own     string    `json:"own,omitempty"`
	Changed time.Time `json:"changed"`
}

type item struct {
	Ref      string   `json:"ref"`
	CanHave  bool     `json:"can_have,omitempty"`
	OnHand   *int64   `json:"on_hand_mg,omitempty"`
	Price    *float64 `json:"price_per_kg,omitempty"`
	PackMg   *int64   `json:"pack_mg,omitempty"`
	PackCost *float64 `json:"pack_cost,omitempty"`
	Note     string   `json:"note,omitempty"`
}

type mix struct {
	ID       store.ID  `json:"id"`
	Name     string    `json:"name"`
	Group    store.ID  `json:"group,omitempty"`
	Shelf    store.ID  `json:"shelf,omitempty"`
	Document string    `json:"document"`
	Versions int       `json:"versions,omitempty"`
	Archived bool      `json:"archived,omitempty"`
	Made     time.Time `json:"made"`
	Changed  time.Time `json:"changed"`
}

type version struct {
	Document string    `json:"document"`
	Note     string    `json:"note,omitempty"`
	At       time.Time `json:"at"`
}

func toLine(r Record) line {
	var l line
	switch {
	case r.Setting != nil:
		l.Setting = r.Setting
	case r.Group != nil:
		g := r.Group
		l.Group = &group{g.ID, g.Name, g.Species, g.Stage, g.Born, g.Animals, g.Note, g.Windows, g.Feeding, g.Archived, g.Changed}
	case r.Shelf != nil:
		s := r.Shelf
		l.Shelf = &shelf{ID: s.ID, Name: s.Name, Place: s.Place, Note: s.Note, Own: s.Own, Changed: s.Changed}
		for _, it := range s.Items {
			l.Shelf.Items = append(l.Shelf.Items, item(it))
		}
	case r.Mix != nil:
		m := r.Mix
		l.Mix = &mix{m.ID, m.Name, m.Group, m.Shelf, m.Document, m.Version, m.Archived, m.Made, m.Changed}
	case r.Version != nil:
		v := r.Version
		l.Version = &version{v.Document, v.Note, v.At}
	case r.Device != nil:
		l.Device = fromDevice(*r.Device)
	case r.Lot != nil:
		l.Lot = fromLot(*r.Lot)
	case r.Making != nil:
		l.Making = fromMaking(*r.Making)
	case r.Event != nil:
		l.Event = fromEvent(r.Event.Event)
	}
	return l
}

// kinds counts the things on a line; it must be one.
func (l line) kinds() int {
	n := 0
	for _, there := range []bool{l.Setting != nil, l.Group != nil, l.Shelf != nil, l.Mix != nil, l.Version != nil,
		l.Device != nil, l.Lot != nil, l.Making != nil, l.Event != nil, l.End != nil} {
		if there {
			n++
		}
	}
	return n
}

// since is the first format that has what stands on a line.
func (l line) since() int {
	if l.Device != nil || l.Lot != nil || l.Making != nil || l.Event != nil || l.Group != nil && l.Group.Feeding != "" {
		return 2
	}
	return 1
}

func (g group) record() Record {
	return Record{Group: &store.Group{ID: g.ID, Name: g.Name, Species: g.Species, Stage: g.Stage, Born: g.Born,
		Animals: g.Animals, Note: g.Note, Windows: g.Windows, Feeding: g.Feeding, Archived: g.Archived, Changed: g.Changed.UTC()}}
}

func (s shelf) record() Record {
	out := &store.Shelf{ID: s.ID, Name: s.Name, Place: s.Place, Note: s.Note, Own: s.Own, Changed: s.Changed.UTC()}
	for _, it := range s.Items {
		out.Items = append(out.Items, store.Item(it))
	}
	return Record{Shelf: out}
}

func (m mix) record() Record {
	return Record{Mix: &store.Mix{ID: m.ID, Name: m.Name, Group: m.Group, Shelf: m.Shelf, Document: m.Document,
		Version: m.Versions, Archived: m.Archived, Made: m.Made.UTC(), Changed: m.Changed.UTC()}}
}
