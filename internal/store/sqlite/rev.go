package sqlite

import (
	"database/sql"
	"errors"
	"time"

	"firlot/internal/store"
)

// nextRev gives out a rev that nothing has had. One counter serves all tables,
// so that a thing deleted and restored cannot meet an old rev again.
func (t tx) nextRev() (int64, error) {
	var rev int64
	err := t.one("UPDATE counter SET rev = rev + 1 RETURNING rev", nil, &rev)
	return rev, err
}

// holds says whether a row is there and still has the rev that its caller
// read. query selects the rev by ID.
func (t tx) holds(query string, id store.ID, rev int64) error {
	var has int64
	switch err := t.one(query, []any{id}, &has); {
	case errors.Is(err, sql.ErrNoRows):
		return store.ErrNotFound
	case err != nil:
		return err
	case has != rev:
		return store.ErrConflict
	}
	return nil
}

// Times are kept as whole microseconds. For times that one can meet this is
// exact both ways.
func toMicro(t time.Time) int64    { return t.UnixMicro() }
func fromMicro(us int64) time.Time { return time.UnixMicro(us).UTC() }
