package sqlite

import (
	"context"
	"crypto/rand"
	"database/sql"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"sync/atomic"
	"syscall"
	"time"

	"github.com/gofrs/flock"

	"firlot/internal/store"
)

// Names in the folder of a store. SQLite keeps firlot.db-wal and firlot.db-shm
// beside the first while a program has it open.
const (
	fileName = "firlot.db"
	lockName = "firlot.lock"
	partName = "restore-*.part" // a backup while it is being restored
)

// readers is the number of connections for reading. A page asks two or three
// things; more connections only cost memory.
const readers = 4

// Options are for the program that opens a store.
type Options struct {
	Now func() time.Time // the clock; nil: the machine's

	extra string // of the address of the database, for tests
}

// Store keeps everything in one database. It is safe for many goroutines.
type Store struct {
	now   func() time.Time
	dir   string
	lock  *flock.Flock
	write *pool // one connection
	read  *pool

	closed atomic.Bool
}

var _ store.Store = (*Store)(nil)

// Open opens the store in a folder, and makes both when they are not there. A
// database of an older Firlot is brought up to date.
func Open(ctx context.Context, dir string, o Options) (*Store, error) {
	if o.Now == nil {
		o.Now = time.Now
	}
	if err := makeDir(dir); err != nil {
		return nil, err
	}
	lock, err := lockDir(dir)
	if err != nil {
		return nil, err
	}
	s := &Store{now: o.Now, dir: dir, lock: lock}
	s.sweep()
	if err := s.open(ctx, o); err != nil {
		return nil, errors.Join(fmt.Errorf("%s: %w", filepath.Join(dir, fileName), err), s.Close())
	}
	return s, nil
}

func (s *Store) open(ctx context.Context, o Options) error {
	name := filepath.Join(s.dir, fileName)
	fresh, err := prepareFile(name)
	if err != nil {
		return err
	}
	if !fresh {
		if err := inspect(ctx, name, o); err != nil {
			return plain(ctx, err)
		}
	}
	writer, err := sql.Open("sqlite", address(name, writing+o.extra))
	if err != nil {
		return err
	}
	writer.SetMaxOpenConns(1)
	if err = migrate(ctx, writer); err == nil {
		err = foldAnew(ctx, writer)
	}
	if err != nil {
		return plain(ctx, errors.Join(err, writer.Close()))
	}
	reader, err := sql.Open("sqlite", address(name, reading+o.extra))
	if err != nil {
		return errors.Join(err, writer.Close())
	}
	s.write, s.read = newPool(writer, 1), newPool(reader, readers)
	return nil
}

// Close waits for what is being done, ends the store and lets go of its lock.
// Closing twice does no harm.
func (s *Store) Close() error {
	if s.closed.Swap(true) {
		return nil
	}
	var errs []error
	// Readers first: the last connection to close writes the log back.
	for _, p := range []*pool{s.read, s.write} {
		if p != nil {
			errs = append(errs, p.close())
		}
	}
	return errors.Join(append(errs, s.lock.Close())...)
}

func makeDir(dir string) error {
	if err := os.MkdirAll(dir, 0o700); err != nil {
		return unwritable(fmt.Errorf("the folder for what is kept cannot be made: %w", err))
	}
	return nil
}

// sweep removes what a restore left behind when its program was stopped.
func (s *Store) sweep() {
	old, _ := filepath.Glob(filepath.Join(s.dir, partName)) // the pattern is sound
	for _, name := range old {
		_ = os.Remove(name) // in nobody's way if it stays
	}
}

// lockDir takes the lock of a folder, or says that another program has it.
func lockDir(dir string) (*flock.Flock, error) {
	lock := flock.New(filepath.Join(dir, lockName), flock.SetPermissions(0o600))
	switch got, err := lock.TryLock(); {
	case err != nil:
		return nil, unwritable(fmt.Errorf("the lock in the folder for what is kept: %w", err))
	case !got:
		return nil, errors.Join(fmt.Errorf("%w: another Firlot has %s open; close it first, or use another folder",
			store.ErrLocked, filepath.Join(dir, fileName)), lock.Close())
	}
	return lock, nil
}

// prepareFile makes the database's file, for its owner alone, or looks whether
// the one that is there can be a database. It reports whether it is new.
func prepareFile(name string) (fresh bool, err error) {
	f, err := os.OpenFile(name, os.O_RDWR|os.O_CREATE, 0o600)
	if err != nil {
		return false, unwritable(err)
	}
	defer f.Close()
	info, err := f.Stat()
	if err != nil {
		return false, err
	}
	if info.Size() == 0 {
		// SQLite would throw away the log of an empty database.
		if log, err := os.Stat(name + "-wal"); err == nil && log.Size() > 0 {
			return false, fmt.Errorf("%w: it is empty, and its log is not", store.ErrDamaged)
		}
		return true, nil
	}
	start := make([]byte, len(magic))
	if n, err := f.ReadAt(start, 0); n < len(magic) || string(start) != magic {
		return false, errors.Join(fmt.Errorf("%w: it does not begin as a database", store.ErrDamaged), err)
	}
	return false, nil
}

// unwritable marks what the operating system refuses as store.ErrReadOnly, and
// a folder that is a file as well.
func unwritable(err error) error {
	for _, refused := range []error{fs.ErrPermission, syscall.EROFS, syscall.ENOTDIR} {
		if errors.Is(err, refused) {
			return fmt.Errorf("%w: %w", store.ErrReadOnly, err)
		}
	}
	if errors.Is(err, syscall.ENOSPC) {
		return fmt.Errorf("%w: %w", store.ErrFull, err)
	}
	return err
}

// newID returns an ID that nothing else has: 130 random bits.
func newID() store.ID { return store.ID(strings.ToLower(rand.Text())) }

// moment is the time of a change.
func (s *Store) moment() time.Time { return s.now().UTC().Truncate(time.Microsecond) }
