package sqlite

import (
	"context"
	"database/sql"
	"database/sql/driver"
	"errors"
	"fmt"
	"net/url"
	"path/filepath"
	"strings"

	"modernc.org/sqlite"
	lib "modernc.org/sqlite/lib"

	"firlot/internal/store"
)

// What a connection is told when it opens. Waiting for others comes first, for
// changing to a write-ahead log may wait.
const (
	looking = "?_pragma=busy_timeout(5000)&_pragma=trusted_schema(0)&_pragma=foreign_keys(1)"
	reading = looking + "&_pragma=query_only(1)"
	writing = looking + "&_pragma=journal_mode(WAL)&_pragma=synchronous(FULL)" +
		// macOS: through the disk's own cache
		"&_pragma=fullfsync(1)&_pragma=checkpoint_fullfsync(1)"
)

// address is what the driver opens: a file and how to treat it.
func address(name, how string) string {
	path := filepath.ToSlash(name)
	if filepath.VolumeName(name) != "" && !strings.HasPrefix(path, "/") {
		path = "/" + path // file:///C:/…
	}
	return "file:" + (&url.URL{Path: path}).EscapedPath() + how
}

// pool holds connections with the statements prepared on them. A free place
// whose connection has not been needed yet is nil.
type pool struct {
	db   *sql.DB
	free chan *conn
}

type conn struct {
	sql   *sql.Conn
	ready map[string]*sql.Stmt
}

func newPool(db *sql.DB, size int) *pool {
	p := &pool{db: db, free: make(chan *conn, size)}
	for range size {
		p.free <- nil
	}
	return p
}

// take waits for a free connection. Whoever takes one gives it back.
func (p *pool) take(ctx context.Context) (*conn, error) {
	var c *conn
	select {
	case c = <-p.free:
	case <-ctx.Done():
		return nil, ctx.Err()
	}
	if c != nil {
		return c, nil
	}
	link, err := p.db.Conn(context.WithoutCancel(ctx))
	if err != nil {
		p.free <- nil
		return nil, err
	}
	return &conn{sql: link, ready: map[string]*sql.Stmt{}}, nil
}

// close waits for every connection to come back and closes it.
func (p *pool) close() error {
	var errs []error
	for range cap(p.free) {
		if c := <-p.free; c != nil {
			errs = append(errs, c.finish(), c.sql.Close())
		}
	}
	return errors.Join(append(errs, p.db.Close())...)
}

// tx is one change, or one look at what is kept.
type tx struct {
	ctx context.Context
	c   *conn
}

// change does one change, whole or not at all (promises 1 and 2). The change
// is begun as one that writes, so that it waits at its beginning or nowhere.
func (s *Store) change(ctx context.Context, do func(tx) error) error {
	return s.in(ctx, s.write, "BEGIN IMMEDIATE", "COMMIT", do)
}

// look reads as of one moment.
func (s *Store) look(ctx context.Context, do func(tx) error) error {
	return s.in(ctx, s.read, "BEGIN", "ROLLBACK", do)
}

func (s *Store) in(ctx context.Context, p *pool, begin, end string, do func(tx) error) (err error) {
	defer func() { err = plain(ctx, err) }()
	if s.closed.Load() {
		return errClosed
	}
	if err := ctx.Err(); err != nil {
		return err
	}
	c, err := p.take(ctx)
	if err != nil {
		return err
	}
	defer func() { p.free <- c }()
	// Statements do not listen to the context: they take milliseconds, stopped
	// halfway they would leave the connection in a transaction, and the driver's
	// way of stopping one can meet the statement's own end (a nil pointer in
	// it, seen once under the race detector). The context is asked before the
	// change and before it is made good.
	t := tx{context.WithoutCancel(ctx), c}
	if err := t.exec(begin); err != nil {
		c = c.drop()
		return err
	}
	if err = do(t); err == nil {
		err = ctx.Err()
	}
	if err == nil {
		err = t.exec(end)
	}
	if err != nil && t.exec("ROLLBACK") != nil {
		c = c.drop()
	}
	return err
}

// drop closes a connection of which one does not know whether it is still in a
// transaction; closing ends that. It returns nil, the place for a new one.
func (c *conn) drop() *conn {
	// What matters to the caller is the error that led here. The statements go
	// first; so told, database/sql then closes the connection.
	_ = c.finish()
	_ = c.sql.Raw(func(any) error { return driver.ErrBadConn })
	return nil
}

// finish closes the statements of a connection.
func (c *conn) finish() error {
	var errs []error
	for _, st := range c.ready {
		errs = append(errs, st.Close())
	}
	return errors.Join(errs...)
}

func (t tx) statement(text string) (*sql.Stmt, error) {
	if st := t.c.ready[text]; st != nil {
		return st, nil
	}
	st, err := t.c.sql.PrepareContext(t.ctx, text)
	if err == nil {
		t.c.ready[text] = st
	}
	return st, err
}

func (t tx) exec(text string, args ...any) error {
	_, err := t.count(text, args...)
	return err
}

// count does a change and returns how many rows it touched.
func (t tx) count(text string, args ...any) (int64, error) {
	st, err := t.statement(text)
	if err != nil {
		return 0, err
	}
	done, err := st.ExecContext(t.ctx, args...)
	if err != nil {
		return 0, err
	}
	return done.RowsAffected()
}

// one reads one row; sql.ErrNoRows becomes store.ErrNotFound in plain.
func (t tx) one(text string, args []any, into ...any) error {
	st, err := t.statement(text)
	if err != nil {
		return err
	}
	return st.QueryRowContext(t.ctx, args...).Scan(into...)
}

// each reads rows one after another.
func (t tx) each(text string, args []any, row func(scan func(...any) error) error) (err error) {
	st, err := t.statement(text)
	if err != nil {
		return err
	}
	rows, err := st.QueryContext(t.ctx, args...)
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, rows.Close()) }()
	for rows.Next() {
		if err := row(rows.Scan); err != nil {
			return err
		}
	}
	return rows.Err()
}

var errClosed = errors.New("store: closed")

// plain gives an error of SQLite the name that callers know it by.
func plain(ctx context.Context, err error) error {
	if err == nil {
		return nil
	}
	if errors.Is(err, sql.ErrNoRows) {
		return store.ErrNotFound
	}
	var from *sqlite.Error
	if !errors.As(err, &from) {
		return err
	}
	if ctx.Err() != nil {
		return fmt.Errorf("%w: %w", ctx.Err(), err)
	}
	switch from.Code() & 0xff { // the rest of the code is detail
	case lib.SQLITE_FULL:
		return fmt.Errorf("%w: %w", store.ErrFull, err)
	case lib.SQLITE_CORRUPT, lib.SQLITE_NOTADB:
		return fmt.Errorf("%w: %w", store.ErrDamaged, err)
	case lib.SQLITE_READONLY, lib.SQLITE_CANTOPEN, lib.SQLITE_PERM:
		return fmt.Errorf("%w: %w", store.ErrReadOnly, err)
	case lib.SQLITE_BUSY, lib.SQLITE_LOCKED:
		return fmt.Errorf("%w: %w", store.ErrLocked, err)
	}
	return err
}
