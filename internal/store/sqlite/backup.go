package sqlite

import (
	"context"
	"io"
	"slices"

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
		for _, part := range []func(tx, *backup.Writer) error{writeSettings, writeGroups, writeShelves, writeMixes,
			writeDevices, writeLots, writeMakings} {
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
	ids, err := t.ids("SELECT id FROM mix ORDER BY made, id")
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

func writeDevices(t tx, out *backup.Writer) error {
	list, err := t.devices()
	if err != nil {
		return err
	}
	for _, d := range slices.Backward(list) {
		if err := out.Put(backup.Record{Device: &d}); err != nil {
			return err
		}
	}
	return nil
}

func writeLots(t tx, out *backup.Writer) error {
	return t.each(selectLot+" ORDER BY made, id", nil, func(scan func(...any) error) error {
		l, err := scanLot(scan)
		if err != nil {
			return err
		}
		return out.Put(backup.Record{Lot: &l})
	})
}

func writeMakings(t tx, out *backup.Writer) error {
	ids, err := t.ids("SELECT id FROM making ORDER BY started, id")
	if err != nil {
		return err
	}
	for _, id := range ids {
		m, err := t.making(id)
		if err != nil {
			return err
		}
		if err := out.Put(backup.Record{Making: &m}); err != nil {
			return err
		}
		for _, e := range m.Events {
			if err := out.Put(backup.Record{Event: &backup.Event{Making: id, Event: e}}); err != nil {
				return err
			}
		}
	}
	return nil
}

// ids returns the IDs that a query selects.
func (t tx) ids(query string) ([]store.ID, error) {
	var ids []store.ID
	err := t.each(query, nil, func(scan func(...any) error) error {
		var id store.ID
		err := scan(&id)
		ids = append(ids, id)
		return err
	})
	return ids, err
}
