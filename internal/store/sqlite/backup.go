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

// Backup writes everything as one file, as of one moment. What is written
// while it runs is not in it and does not wait for it.
func (s *Store) Backup(ctx context.Context, w io.Writer) error {
	return s.look(ctx, func(t tx) error {
		out, err := backup.NewWriter(w, s.moment())
		if err != nil {
			return err
		}
		for _, part := range []func(tx, *backup.Writer) error{writeSettings, writeGroups, writeShelves, writeMixes} {
			if err := part(t, out); err != nil {
				return err
			}
		}
		return out.Close()
	})
}

func writeSettings(t tx, out *backup.Writer) error {
	return t.each("SELECT name, value FROM setting ORDER BY name", nil, func(scan func(...any) error) error {
		var x backup.Setting
		if err := scan(&x.Name, &x.Value); err != nil {
			return err
		}
		return out.Put(backup.Record{Setting: &x})
	})
}

func writeGroups(t tx, out *backup.Writer) error {
	list, err := t.groups()
	if err != nil {
		return err
	}
	for _, g := range list {
		if err := out.Put(backup.Record{Group: &g}); err != nil {
			return err
		}
	}
	return nil
}

func writeShelves(t tx, out *backup.Writer) error {
	list, err := t.shelves()
	if err != nil {
		return err
	}
	for _, sh := range list {
		if err := out.Put(backup.Record{Shelf: &sh}); err != nil {
			return err
		}
	}
	return nil
}

func writeMixes(t tx, out *backup.Writer) error {
	var ids []store.ID
	err := t.each("SELECT id FROM mix ORDER BY made, id", nil, func(scan func(...any) error) error {
		var id store.ID
		err := scan(&id)
		ids = append(ids, id)
		return err
	})
	if err != nil {
		return err
	}
	for _, id := range ids {
		k, err := t.mix(id)
		if err != nil {
			return err
		}
		if err := out.Put(backup.Record{Mix: &k.Mix}); err != nil {
			return err
		}
		err = t.eachVersion(id, "ASC", func(v store.Version) error { return out.Put(backup.Record{Version: &v}) })
		if err != nil {
			return err
		}
	}
	return nil
}

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
		return readAgain(file, t.putRecord)
	})
}

// takeIn copies a stranger's file, as far as it may go.
func takeIn(ctx context.Context, file *os.File, r io.Reader) error {
	n, err := io.Copy(file, io.LimitReader(&patient{ctx, r}, backup.MostBytes+1))
	switch {
	case err != nil:
		return unwritable(err)
	case n > backup.MostBytes:
		return fmt.Errorf("%w: a backup has at most %d bytes", store.ErrTooLarge, backup.MostBytes)
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

// clear empties every table but the counter: revs go on.
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
	}
	return t.putVersion(*r.Version)
}
