package store

import (
	"context"
	"time"
)

// States of a making.
const (
	StateOpen     = "open"     // it takes events
	StateFinished = "finished" // a batch with its lot
	StateLeft     = "left"     // given up; what was poured stays poured
)

// Kinds of event that a store acts on. Every other kind (replan, note, …) is
// kept as it is and changes nothing on the shelf.
const (
	KindPour     = "pour"      // Mg of Ref went into a bowl
	KindTakeBack = "take-back" // the event Of was a mistake and never happened
	// KindEmpty says that the jar of Ref gives no more than Mg, whatever the
	// count says; mostly that is nothing.
	KindEmpty = "empty"
)

// Making is one batch on the scale: what it began from, and everything that
// happened since. The events are the truth; what is in the bowl is computed
// from them by package making and never kept.
type Making struct {
	ID  ID
	Rev int64 // goes up with every change, events included
	// Key is made by whoever starts the making, so that a start that is sent
	// twice makes one making. Empty: every start makes another.
	Key        string
	Mix        ID     // empty: not from a mix that is kept; emptied when that is deleted
	MixName    string // as it was at the start, and so for good
	MixVersion int    // of the mix at the start; 0 when none was kept
	Shelf      ID     // whose counts go down; empty: none; emptied when that is deleted
	Start      string // JSON of package making, fixed at the start
	State      string // StateOpen, StateFinished or StateLeft
	Lot        string // of the batch, as on its label; no two makings have the same as Fold has it
	Who        string
	Note       string
	BestBefore string // of the batch, YYYY-MM-DD, or empty
	Finish     string // JSON of the analysis at finishing
	Started    time.Time
	Finished   time.Time // when it was finished or left; zero while it is open
	Changed    time.Time
	Events     []Event // in the order of Seq
}

// Event is one thing that happened at a making. Events are only ever added.
type Event struct {
	// Key is made by the device and unique within the making, so that an event
	// that is sent twice is kept once.
	Key   string
	Seq   int64  // 1, 2, … in the order in which they were kept; the store sets it
	Kind  string // lower-case letters and hyphens
	Ref   string // ingredient/form, or an own ingredient's id
	Mg    int64  // mass, never negative
	Bowl  int    // as package making counts them
	Round int    // likewise
	Lot   ID     // of the ingredient; empty when not told
	Of    string // the Key of the event that is taken back
	Plan  string // JSON of package making
	Note  string
	// Device and By are who: the paired device (empty: the machine with the
	// store) and the name that was given.
	Device ID
	By     string
	At     time.Time // when it was kept
	// TookMg is what the event took from the shelf's count of Ref; negative is
	// what it gave back; 0 when nothing is counted there. ShortMg is how much
	// more a pour was than the count said there was. The store sets both.
	TookMg  int64
	ShortMg int64
}

// MakingSummary is a making in a list.
type MakingSummary struct {
	ID         ID
	Rev        int64
	Mix        ID
	MixName    string
	MixVersion int
	Shelf      ID
	State      string
	Lot        string
	Who        string
	Note       string
	BestBefore string
	PouredMg   int64 // sum of the pours that were not taken back
	Events     int
	Started    time.Time
	Finished   time.Time
	Changed    time.Time
}

// MakingFilter picks makings for a list.
type MakingFilter struct {
	// Text is part of the mix's name, the batch's lot or who made it, as Fold
	// has them.
	Text  string
	Mix   ID
	Shelf ID
	State string // empty: all
	Lot   string // the batch's, the whole of it, as Fold has it
	// Since and Until bound Started: from the first on, before the second. Zero
	// bounds nothing.
	Since, Until time.Time
	// After is for the next page: the last making of the page before. Makings
	// do not move in their list, so it is looked up.
	After ID
	Most  int // 1 to MostPage; 0 means UsualPage
}

// LotUse is one lot of an ingredient in one batch.
type LotUse struct {
	Lot    Lot
	Making MakingSummary
	Mg     int64 // poured and not taken back
	// BackMg was poured and taken back. Whoever recalls a lot wants to see that
	// as well: a spoon may have been in the bowl.
	BackMg int64
}

// Makings keeps what happens at the scale.
type Makings interface {
	Makings(ctx context.Context, f MakingFilter) ([]MakingSummary, error) // latest start first
	Making(ctx context.Context, id ID) (Making, error)
	// StartMaking adds a making. Of m it keeps Key, Mix, Shelf, MixName,
	// MixVersion, Start, Who, Note, Lot and BestBefore. The same Key again
	// returns what is kept and adds nothing; with another Start, ErrConflict.
	// A lot that another making has is an ErrTaken.
	StartMaking(ctx context.Context, m Making) (Making, error)
	// AppendEvent adds an event to an open making and returns the making with
	// it. It takes no Rev: events of several devices are kept in the order in
	// which they come.
	//
	// The same Key again returns the making as it is and adds nothing, also
	// when it is no longer open; the same Key with another content (Kind, Ref,
	// Mg, Bowl, Round, Lot, Of, Plan, Note) is an ErrConflict. Device and By are
	// those of the first time.
	//
	// In the same change the shelf's count of Ref, where there is one, goes down
	// by what is poured, never below nought: ShortMg says by how much it was
	// short. An empty jar takes what the count has above Mg. Taking an event
	// back gives back exactly what it took, as long as Ref is still counted
	// there. A changed count gives the shelf a new Rev.
	//
	// A take-back of a key that the making does not have, or of a take-back, is
	// an ErrInvalid; of what has been taken back before, ErrTakenBack. A making
	// that is finished or left takes no events: ErrNotOpen.
	AppendEvent(ctx context.Context, making ID, e Event) (Making, error)
	// AppendEventIf does the same if fits returns nil for the making as it would
	// be with the event; else it keeps nothing and returns what fits returned.
	// Nothing comes between the question and the keeping, so that a plan made
	// for one state of the bowl cannot be kept for another. It is not asked for
	// a Key that is kept already. fits must be quick and must not use the store.
	AppendEventIf(ctx context.Context, making ID, e Event, fits func(with Making) error) (Making, error)
	// SaveMaking changes Lot, Who, Note and BestBefore, in whatever state the
	// making is, by ID and Rev.
	SaveMaking(ctx context.Context, m Making) (Making, error)
	// FinishMaking does what SaveMaking does, keeps Finish and closes an open
	// making. An event that came meanwhile is an ErrConflict: the analysis does
	// not have it.
	FinishMaking(ctx context.Context, m Making) (Making, error)
	// LeaveMaking closes an open making that comes to no batch.
	LeaveMaking(ctx context.Context, id ID, rev int64) (Making, error)
	// ReopenMaking opens a making again that was finished or left, for a pour
	// that was forgotten; its Finish is emptied, its lot stays. An open one is
	// returned as it is.
	ReopenMaking(ctx context.Context, id ID, rev int64) (Making, error)
	// DeleteMaking deletes a making in which nothing stands as poured; else
	// ErrInUse.
	DeleteMaking(ctx context.Context, id ID, rev int64) error
	// MakingsOfLot tells every batch that a lot went into, latest start first;
	// LotsOfMaking every lot that went into a batch, by Ref.
	MakingsOfLot(ctx context.Context, lot ID) ([]LotUse, error)
	LotsOfMaking(ctx context.Context, making ID) ([]LotUse, error)
}
