package store

import (
	"context"
	"time"
)

// Lot is a bag of one ingredient, so that what was in it can be found again.
type Lot struct {
	ID         ID
	Rev        int64
	Ref        string // ingredient/form, or an own ingredient's id
	Code       string // printed on the bag; two bags may have the same
	From       string // where it was bought
	Bought     string // date, YYYY-MM-DD, or empty
	BestBefore string // date, YYYY-MM-DD, or empty
	BoughtMg   *int64 // how much; nil: not told
	Gone       bool   // used up or thrown away
	Note       string
	// Made, Changed and PouredMg the store sets. PouredMg is the sum of the
	// pours from it that were not taken back; it may be more than BoughtMg,
	// which then was wrong.
	PouredMg int64
	Made     time.Time
	Changed  time.Time
}

// LotFilter picks lots for a list.
type LotFilter struct {
	Text string // part of the code, the reference or where it is from, as Fold has them
	Ref  string // the whole reference
	Code string // the whole code, as Fold has it
	Here bool   // without those that are gone
	// After is for the next page: the last lot of the page before.
	After ID
	Most  int // 1 to MostPage; 0 means UsualPage
}

// Lots keeps where ingredients came from.
type Lots interface {
	Lots(ctx context.Context, f LotFilter) ([]Lot, error) // latest made first
	Lot(ctx context.Context, id ID) (Lot, error)
	SaveLot(ctx context.Context, l Lot) (Lot, error) // as SaveGroup
	// DeleteLot deletes a lot that no event names; else ErrInUse.
	DeleteLot(ctx context.Context, id ID, rev int64) error
}
