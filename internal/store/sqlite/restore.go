package sqlite

import (
	"context"
	"errors"
	"fmt"
	"io"
	"os"

	"firlot/internal/store"
	"firlot/internal/store/backup"
)

// Restore replaces everything with a backup. The file is taken in and read to
// its end before anything is touched, and then put in place as one change.
func (s *Store) Restore(ctx context.Context, r io.Reader) (err error) {
	if s.closed.Load() {
		return errClosed
	}
	file, err := os.CreateTemp(s.dir, partName)
	if err != nil {
		return unwritable(err)
	}
	defer func() { err = errors.Join(err, file.Close(), os.Remove(file.Name())) }()
	if err := takeIn(ctx, file, r); err != nil {
		return err
	}
	if err := readAgain(file, func(backup.Record) error { return ctx.Err() }); err != nil {
		return err
	}
	return s.change(ctx, func(t tx) error {
		if err := t.clear(); err != nil {
			return err
		}
		if err := readAgain(file, t.putRecord); err != nil {
			return err
		}
		return t.addUp()
	})
}

// takeIn copies a stranger's file, as far as it may go.
func takeIn(ctx context.Context, file *os.File, r io.Reader) error {
	n, err := io.Copy(file, io.LimitReader(&patient{ctx, r}, backup.MostPacked+1))
	switch {
	case err != nil:
		return unwritable(err)
	case n > backup.MostPacked:
		return fmt.Errorf("%w: a backup has at most %d bytes", store.ErrTooLarge, backup.MostPacked)
	}
	return nil
}

// patient stops reading when its context ends.
type patient struct {
	ctx context.Context
	r   io.Reader
}

func (p *patient) Read(b []byte) (int, error) {
	if err := p.ctx.Err(); err != nil {
		return 0, err
	}
	return p.r.Read(b)
}

func readAgain(file *os.File, do func(backup.Record) error) error {
	if _, err := file.Seek(0, io.SeekStart); err != nil {
		return err
	}
	return backup.Read(file, do)
}

// clear empties every table but the counter, for revs go on, and the devices:
// who is let in is not a file's to say.
func (t tx) clear() error {
	for _, table := range []string{"making", "lot", "mix", "shelf", "feeding_group", "setting"} {
		if err := t.exec("DELETE FROM " + table); err != nil {
			return err
		}
	}
	return nil
}

func (t tx) putRecord(r backup.Record) error {
	switch {
	case r.Setting != nil:
		return t.putSetting(r.Setting.Name, r.Setting.Value)
	case r.Group != nil:
		_, err := t.putGroup(*r.Group)
		return err
	case r.Shelf != nil:
		_, err := t.putShelf(*r.Shelf)
		return err
	case r.Mix != nil:
		k := kept{Mix: *r.Mix}
		if err := t.putMix(&k); err != nil {
			return err
		}
		return t.putStep(k)
	case r.Version != nil:
		return t.putVersion(*r.Version)
	case r.Device != nil:
		return t.addDevice(*r.Device)
	case r.Lot != nil:
		return t.putLot(r.Lot)
	case r.Making != nil:
		return t.addMaking(&made{Making: *r.Making}, &r.Making.Rev)
	}
	return t.putEvent(r.Event.Making, r.Event.Event)
}

// addUp sets what the rows of makings know of their events.
func (t tx) addUp() error {
	return t.exec("UPDATE making SET events = (SELECT count(*) FROM making_event e WHERE e.making = making.id), poured_mg = " + pouredInto)
}
