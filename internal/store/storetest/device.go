package storetest

import (
	"bytes"
	"fmt"
	"testing"
	"time"

	"firlot/internal/store"
)

// hash is a hash of a device's secret.
func hash(n byte) []byte { return bytes.Repeat([]byte{n}, 32) }

func devices(t *testing.T, s store.Store) {
	ctx := t.Context()
	mine := store.Device{ID: "mine", Name: "Phone", TokenHash: hash(1), Revoked: true, Paired: time.Unix(1, 0)}
	phone := must(s.PairDevice(ctx, mine))(t)
	stamped(t, phone.ID, 1, phone.Paired)
	same(t, "paired", phone, store.Device{ID: phone.ID, Name: "Phone", TokenHash: hash(1), Paired: phone.Paired, Seen: phone.Paired})
	mine.TokenHash[0] = 9 // is the caller's
	same(t, "read", must(s.Device(ctx, phone.ID))(t), phone)
	_, err := s.PairDevice(ctx, store.Device{Name: "Another", TokenHash: hash(1)})
	want(t, "a hash that is another's", err, store.ErrTaken)
	tablet := must(s.PairDevice(ctx, store.Device{Name: "Tablet", TokenHash: hash(2)}))(t)

	renamed := must(s.RenameDevice(ctx, phone.ID, "Ana's phone"))(t)
	phone.Name = "Ana's phone"
	same(t, "renamed", renamed, phone)
	want(t, "seen", s.SeenDevice(ctx, phone.ID), nil) // a moment after pairing: nothing to write
	same(t, "read", must(s.Device(ctx, phone.ID))(t), phone)

	for range 2 {
		want(t, "revoking", s.RevokeDevice(ctx, phone.ID), nil)
		phone.Revoked, phone.TokenHash = true, nil
		same(t, "revoked", must(s.Device(ctx, phone.ID))(t), phone)
	}
	want(t, "seen", s.SeenDevice(ctx, phone.ID), nil)
	same(t, "seen no more", must(s.Device(ctx, phone.ID))(t), phone)
	got := must(s.Devices(ctx))(t)
	same(t, "all", len(got), 2)
	for _, d := range got {
		same(t, "one of two", d, map[store.ID]store.Device{phone.ID: phone, tablet.ID: tablet}[d.ID])
	}
	for doing, do := range map[string]func() error{
		"reading":  func() error { _, err := s.Device(ctx, "x"); return err },
		"renaming": func() error { _, err := s.RenameDevice(ctx, "x", "a"); return err },
		"seeing":   func() error { return s.SeenDevice(ctx, "x") },
		"revoking": func() error { return s.RevokeDevice(ctx, "x") },
	} {
		want(t, doing+" who is not there", do(), store.ErrNotFound)
	}
	_, err = s.RenameDevice(ctx, tablet.ID, " ")
	want(t, "no name", err, store.ErrInvalid)
	for _, d := range []store.Device{{TokenHash: hash(3)}, {Name: "a"}, {Name: "a", TokenHash: hash(3)[:15]}, {Name: "a", TokenHash: bytes.Repeat(hash(3), 3)}} {
		_, err := s.PairDevice(ctx, d)
		want(t, "pairing", err, store.ErrInvalid)
	}
}

// manyDevices: only so many are let in; a revoked one makes room.
func manyDevices(t *testing.T, s store.Store) {
	ctx := t.Context()
	pair := func(i int) (store.Device, error) {
		return s.PairDevice(ctx, store.Device{Name: "a", TokenHash: []byte(fmt.Sprintf("%032d", i))})
	}
	first := must(pair(0))(t)
	for i := range store.MostDevices - 1 {
		must(pair(i + 1))(t)
	}
	_, err := pair(store.MostDevices)
	want(t, "one more", err, store.ErrInvalid)
	want(t, "revoking", s.RevokeDevice(ctx, first.ID), nil)
	must(pair(store.MostDevices))(t)
}

// devicesAfterRestore: a backup lets nobody in and throws nobody out.
func devicesAfterRestore(t *testing.T, s store.Store) {
	ctx := t.Context()
	c := set(t, s)
	lost := must(s.PairDevice(ctx, store.Device{Name: "Lost", TokenHash: hash(2)}))(t)
	var file bytes.Buffer
	for _, d := range []store.Device{c.phone, lost} {
		must(s.AppendEvent(ctx, c.making.ID, store.Event{Key: string(d.ID), Kind: "note", Device: d.ID}))(t)
	}
	want(t, "backup", s.Backup(ctx, &file), nil)
	if bytes.Contains(file.Bytes(), hash(1)) {
		t.Fatal("a hash is in the backup")
	}
	want(t, "revoking", s.RevokeDevice(ctx, lost.ID), nil)
	later := must(s.PairDevice(ctx, store.Device{Name: "Later", TokenHash: hash(3)}))(t)
	before := must(s.Devices(ctx))(t)
	want(t, "restore", s.Restore(ctx, bytes.NewReader(file.Bytes())), nil)
	same(t, "who is let in", must(s.Devices(ctx))(t), before)
	same(t, "the phone", must(s.Device(ctx, c.phone.ID))(t), c.phone)
	same(t, "paired since", must(s.Device(ctx, later.ID))(t), later)
}
