// Package store says what is kept, and the contract that a place to keep it
// must honour. Package sqlite keeps it in one file; the conformance suite in
// storetest holds every implementation to the same words.
//
// Times are UTC. Masses are whole milligrams, prices are for a kilogram.
// Documents are mix documents in TOML, the command line's own format. What a
// store returns is a copy: changing it changes nothing that is kept.
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
	// ErrLocked says that another program holds the database.
	ErrLocked = errors.New("store: in use by another program")
	// ErrTooNew says that a newer Firlot has written the database or backup.
	ErrTooNew = errors.New("store: written by a newer Firlot")
	// ErrDamaged says that the integrity check failed.
	ErrDamaged = errors.New("store: damaged")
)

// ID names a kept thing. It is opaque and never used again.
type ID string

// Group is who is fed: animals of one species that eat the same mix.
type Group struct {
	ID      ID
	Rev     int64 // goes up with every change
	Name    string
	Species string // of package needs
	Stage   string // chosen; empty when it follows from Born
	Born    string // date of birth, YYYY-MM-DD; empty when Stage is chosen
	Animals int    // how many; 0 when not told
	Note    string
	// Windows are the keeper's own windows in TOML, [[window]] tables as in a
	// mix document; empty when the published defaults hold.
	Windows  string
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
	Group    ID // empty: not for a group that is kept
	Shelf    ID // empty: not tied to a shelf
	Document string
	// Version counts the versions kept; the document may be newer than the
	// last of them.
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

// Filter picks mixes for a list. Text matches names, without regard to case.
type Filter struct {
	Text     string
	Group    ID
	Archived bool // the archived ones instead of the others
	After    ID   // for the next page: the last one of the page before
	Most     int  // 1 to 200; 0 means 50
}

// Groups keeps who is fed.
type Groups interface {
	Groups(ctx context.Context) ([]Group, error) // by name
	Group(ctx context.Context, id ID) (Group, error)
	// SaveGroup adds a group with an empty ID, or changes the one with its ID
	// and Rev; it returns the group as kept.
	SaveGroup(ctx context.Context, g Group) (Group, error)
	DeleteGroup(ctx context.Context, id ID, rev int64) error // its mixes stay
}

// Shelves keeps what can be had.
type Shelves interface {
	Shelves(ctx context.Context) ([]Shelf, error) // by name, with their items
	Shelf(ctx context.Context, id ID) (Shelf, error)
	SaveShelf(ctx context.Context, s Shelf) (Shelf, error)
	DeleteShelf(ctx context.Context, id ID, rev int64) error
}

// Mixes keeps recipes.
type Mixes interface {
	Mixes(ctx context.Context, f Filter) ([]Summary, error) // latest change first
	Mix(ctx context.Context, id ID) (Mix, error)
	// SaveMix adds or changes a mix, as SaveGroup does. A changed document can
	// be taken back with UndoMix, one change at a time, up to a hundred.
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
	Settings
	// Backup writes everything as one file; Restore replaces everything with
	// such a file, all or nothing.
	Backup(ctx context.Context, w io.Writer) error
	Restore(ctx context.Context, r io.Reader) error
	Close() error
}
