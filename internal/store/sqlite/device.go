package sqlite

import (
	"bytes"
	"context"
	"fmt"

	"firlot/internal/store"
)

const deviceColumns = "id, name, token, revoked, paired, seen"

// Devices lists the devices, latest paired first.
func (s *Store) Devices(ctx context.Context) ([]store.Device, error) {
	var list []store.Device
	err := s.look(ctx, func(t tx) (err error) {
		list, err = t.devices()
		return err
	})
	return list, err
}

func (t tx) devices() ([]store.Device, error) {
	var list []store.Device
	err := t.each("SELECT "+deviceColumns+" FROM device ORDER BY paired DESC, id DESC", nil, func(scan func(...any) error) error {
		d, err := scanDevice(scan)
		list = append(list, d)
		return err
	})
	return list, err
}

// Device returns one device.
func (s *Store) Device(ctx context.Context, id store.ID) (store.Device, error) {
	var d store.Device
	err := s.look(ctx, func(t tx) (err error) {
		d, err = t.device(id)
		return err
	})
	return d, err
}

func (t tx) device(id store.ID) (store.Device, error) {
	return scanDevice(func(into ...any) error {
		return t.one("SELECT "+deviceColumns+" FROM device WHERE id = ?", []any{id}, into...)
	})
}

func scanDevice(scan func(...any) error) (store.Device, error) {
	var d store.Device
	var paired, seen int64
	if err := scan(&d.ID, &d.Name, &d.TokenHash, &d.Revoked, &paired, &seen); err != nil {
		return store.Device{}, err
	}
	d.Paired, d.Seen = fromMicro(paired), fromMicro(seen)
	return d, nil
}

// PairDevice lets a device in.
func (s *Store) PairDevice(ctx context.Context, d store.Device) (store.Device, error) {
	if err := d.Check(); err != nil {
		return store.Device{}, err
	}
	now := s.moment()
	d = store.Device{ID: newID(), Name: d.Name, TokenHash: bytes.Clone(d.TokenHash), Paired: now, Seen: now}
	err := s.change(ctx, func(t tx) error {
		var there bool
		var in int
		err := t.one("SELECT EXISTS (SELECT 1 FROM device WHERE token = ?), (SELECT count(*) FROM device WHERE token IS NOT NULL)",
			[]any{d.TokenHash}, &there, &in)
		switch {
		case err != nil:
			return err
		case there:
			return fmt.Errorf("%w: a device's hash", store.ErrTaken)
		case in >= store.MostDevices:
			return fmt.Errorf("%w: device: %d are let in already", store.ErrInvalid, in)
		}
		return t.putDevice(d)
	})
	if err != nil {
		return store.Device{}, err
	}
	return d, nil
}

// putDevice writes a device over what was there.
func (t tx) putDevice(d store.Device) error {
	var token any // NULL when there is none
	if len(d.TokenHash) > 0 {
		token = d.TokenHash
	}
	return t.exec(`INSERT INTO device (`+deviceColumns+`) VALUES (?, ?, ?, ?, ?, ?)
		ON CONFLICT (id) DO UPDATE SET name = excluded.name, token = excluded.token, revoked = excluded.revoked, seen = excluded.seen`,
		d.ID, d.Name, token, d.Revoked, toMicro(d.Paired), toMicro(d.Seen))
}

// alterDevice changes one device and returns it.
func (s *Store) alterDevice(ctx context.Context, id store.ID, do func(*store.Device)) (store.Device, error) {
	var d store.Device
	err := s.change(ctx, func(t tx) (err error) {
		if d, err = t.device(id); err != nil {
			return err
		}
		do(&d)
		return t.putDevice(d)
	})
	if err != nil {
		return store.Device{}, err
	}
	return d, nil
}

// RenameDevice gives a device another name.
func (s *Store) RenameDevice(ctx context.Context, id store.ID, name string) (store.Device, error) {
	if err := store.CheckDeviceName(name); err != nil {
		return store.Device{}, err
	}
	return s.alterDevice(ctx, id, func(d *store.Device) { d.Name = name })
}

// SeenDevice says that a device is there.
func (s *Store) SeenDevice(ctx context.Context, id store.ID) error {
	d, err := s.Device(ctx, id)
	if err != nil {
		return err
	}
	now := s.moment()
	if d.Revoked || now.Sub(d.Seen) < store.SeenEvery {
		return nil
	}
	_, err = s.alterDevice(ctx, id, func(d *store.Device) {
		if !d.Revoked {
			d.Seen = now
		}
	})
	return err
}

// RevokeDevice lets a device in no more.
func (s *Store) RevokeDevice(ctx context.Context, id store.ID) error {
	_, err := s.alterDevice(ctx, id, func(d *store.Device) { d.Revoked, d.TokenHash = true, nil })
	return err
}

// addDevice adds a device that a backup names, unless it is known here: then
// it stays as it is.
func (t tx) addDevice(d store.Device) error {
	return t.exec("INSERT INTO device ("+deviceColumns+") VALUES (?, ?, NULL, 1, ?, ?) ON CONFLICT (id) DO NOTHING",
		d.ID, d.Name, toMicro(d.Paired), toMicro(d.Seen))
}
