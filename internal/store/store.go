// Package store says what is kept, and the contract that a place to keep it
// must honour. Package sqlite keeps it in one file; the conformance suite in
// storetest holds every implementation to the same words.
//
// Times are UTC, in whole microseconds, and come from the store's own clock.
// Masses are whole milligrams, prices are for a kilogram. Documents are mix
// documents in TOML, the command line's own format; a store does not read
// them, so that a draft with a mistake in it can be kept. What a store returns
// is a copy: changing it changes nothing that is kept.
//
// A method that returns no error has put what it was given on disk. One that
// returns an error has kept nothing of it, but for one case: when the context
// ends or the disk fails in the very moment of saving, the change may or may
// not be kept; reading again tells.
package store

import (
	"context"
	"errors"
	"io"
	"time"
)

// Errors that callers tell apart.
var (
	ErrNotFound = errors.New("store: not found")
	// ErrConflict says that the thing has changed since the caller read it:
	// the Rev that it holds is no longer the newest.
	ErrConflict = errors.New("store: changed meanwhile")
	// ErrInvalid says that a thing cannot be kept as it is; Check says why.
	ErrInvalid = errors.New("store: cannot be kept")
	// ErrNoStep says that there is no change to take back, or to do again.
	ErrNoStep = errors.New("store: no change to take back")
	// ErrLocked says that another program holds the database.
	ErrLocked = errors.New("store: in use by another program")
	// ErrTooNew says that a newer Firlot has written the database or backup.
	ErrTooNew = errors.New("store: written by a newer Firlot")
	// ErrDamaged says that an integrity check failed, of the database or of a
	// backup.
	ErrDamaged = errors.New("store: damaged")
	// ErrForeign says that a database or a backup is not Firlot's.
	ErrForeign = errors.New("store: not Firlot's")
	// ErrTooLarge says that a backup is larger than may be restored.
	ErrTooLarge = errors.New("store: too large")
	// ErrFull says that there is no room left on the disk.
	ErrFull = errors.New("store: disk full")
	// ErrReadOnly says that the place does not let itself be written.
	ErrReadOnly = errors.New("store: cannot be written")
	// ErrTaken says that another thing has the name: a batch's lot, a hash.
	ErrTaken = errors.New("store: taken by another")
	// ErrInUse says that a thing cannot be deleted, for others name it.
	ErrInUse = errors.New("store: in use")
	// ErrNotOpen says that a making is finished or left and takes no events.
	ErrNotOpen = errors.New("store: making is not open")
	// ErrTakenBack says that an event has been taken back before.
	ErrTakenBack = errors.New("store: taken back before")
)

// ID names a kept thing. It is opaque and never used again.
type ID string

// Group is who is fed: animals of one species that eat the same mix.
type Group struct {
	ID      ID
	Rev     int64 // goes up with every change, by how much is not said
	Name    string
	Species string // of package needs
	Stage   string // chosen; empty when it follows from Born
	Born    string // date of birth, YYYY-MM-DD; empty when Stage is chosen
	Animals int    // how many; 0 when not told
	Note    string
	// Windows are the keeper's own windows in TOML, [[window]] tables as in a
	// mix document; empty when the published defaults hold.
	Windows string
	// Feeding is how the group is fed, a TOML document of package ration/files:
	// animals and their weights, the week, what was found in the bowl.
	Feeding  string
	Archived bool
	Changed  time.Time
}

// Shelf is a place where ingredients are to be had: here, or at a friend's.
type Shelf struct {
	ID      ID
	Rev     int64
	Name    string
	Place   string
	Note    string
	Items   []Item
	Own     string // own ingredients in TOML, [[own]] tables as in a mix document
	Changed time.Time
}

// Item is one form on a shelf.
type Item struct {
	Ref      string // ingredient/form, or an own ingredient's id
	CanHave  bool   // to be had there
	OnHand   *int64 // mg; nil: not counted
	Price    *float64
	PackMg   *int64 // size of a pack
	PackCost *float64
	Note     string
}

// Mix is a named recipe with its versions.
type Mix struct {
	ID       ID
	Rev      int64
	Name     string
	Group    ID // empty: not for a group that is kept; emptied when that is deleted
	Shelf    ID // empty: not tied to a shelf; emptied when that is deleted
	Document string
	// Version counts the versions kept; the document may be newer than the
	// last of them. It and what follows, but for Archived, the store sets.
	Version  int
	Archived bool
	Made     time.Time
	Changed  time.Time
	// CanUndo and CanRedo say whether there is a change to take back.
	CanUndo, CanRedo bool
}

// Version is a mix as it was when its keeper kept it.
type Version struct {
	Mix      ID
	Number   int // 1, 2, …
	Document string
	Note     string
	At       time.Time
}

// Summary is a mix in a list.
type Summary struct {
	ID       ID
	Name     string
	Group    ID
	Shelf    ID
	Version  int
	Archived bool
	Changed  time.Time
}

// Filter picks mixes for a list.
type Filter struct {
	Text     string // part of the name as Fold has it, so without regard to case and accents
	Group    ID
	Archived bool // the archived ones instead of the others
	// After is for the next page: the last mix of the page before, and AfterAt
	// its Changed as it was there. Without AfterAt it is looked up, and a mix
	// that has changed since begins the list anew.
	After   ID
	AfterAt time.Time
	Most    int // 1 to MostPage; 0 means 50
}

// Groups keeps who is fed.
type Groups interface {
	Groups(ctx context.Context) ([]Group, error) // by name as Fold has it
	Group(ctx context.Context, id ID) (Group, error)
	// SaveGroup adds a group with an empty ID, or changes the one with its ID
	// and Rev; it returns the group as kept.
	SaveGroup(ctx context.Context, g Group) (Group, error)
	// DeleteGroup deletes a group. Its mixes stay, with a new Rev and no group.
	DeleteGroup(ctx context.Context, id ID, rev int64) error
}

// Shelves keeps what can be had.
type Shelves interface {
	Shelves(ctx context.Context) ([]Shelf, error) // by name, with their items
	Shelf(ctx context.Context, id ID) (Shelf, error)
	SaveShelf(ctx context.Context, s Shelf) (Shelf, error)
	DeleteShelf(ctx context.Context, id ID, rev int64) error // as DeleteGroup
}

// Mixes keeps recipes.
type Mixes interface {
	Mixes(ctx context.Context, f Filter) ([]Summary, error) // latest change first
	Mix(ctx context.Context, id ID) (Mix, error)
	// SaveMix adds or changes a mix, as SaveGroup does. A changed document can
	// be taken back with UndoMix, one change at a time, up to MostUndo; what is
	// not the document (name, group, shelf, archived) is not. A new change
	// forgets what was taken back before.
	SaveMix(ctx context.Context, m Mix) (Mix, error)
	UndoMix(ctx context.Context, id ID, rev int64) (Mix, error)
	RedoMix(ctx context.Context, id ID, rev int64) (Mix, error)
	DeleteMix(ctx context.Context, id ID, rev int64) error
	// KeepVersion keeps the document as the next version.
	KeepVersion(ctx context.Context, id ID, rev int64, note string) (Mix, error)
	Versions(ctx context.Context, id ID) ([]Version, error) // newest first
}

// Settings keeps small choices by name, such as the language.
type Settings interface {
	Setting(ctx context.Context, name string) (string, error) // "" when never set
	SetSetting(ctx context.Context, name, value string) error
}

// Store keeps everything.
type Store interface {
	Groups
	Shelves
	Mixes
	Makings
	Lots
	Devices
	Settings
	// Backup writes everything, but for changes that could be taken back, as
	// one file in the format of package backup, whichever store wrote it.
	// Restore replaces everything with such a file, all or nothing. Things keep
	// their IDs and times and get a new Rev, so that what was read before
	// cannot be saved over what was restored. Devices are let in by the machine
	// and not by a file: those that are let in stay so, and those of the file
	// that are not known here become names only.
	Backup(ctx context.Context, w io.Writer) error
	Restore(ctx context.Context, r io.Reader) error
	Close() error
}
