package store

import (
	"context"
	"time"
)

// Device is another machine that was let in, such as a phone at the scale.
// One that is no longer let in stays as a name beside its events.
type Device struct {
	ID   ID
	Name string
	// TokenHash is a hash of the device's secret; the secret itself is never
	// kept. Empty: the device is not let in. The caller compares, in constant
	// time.
	TokenHash []byte
	Revoked   bool
	Paired    time.Time
	Seen      time.Time // last, to SeenEvery
}

// SeenEvery is how often it is written down that a device is there.
const SeenEvery = time.Minute

// Devices keeps who else is let in. Codes for pairing are not kept: they live
// two minutes in the program's memory.
type Devices interface {
	Devices(ctx context.Context) ([]Device, error) // latest paired first, the revoked among them
	Device(ctx context.Context, id ID) (Device, error)
	// PairDevice adds a device with a name and a hash of 16 to 64 bytes. A hash
	// that another device has is an ErrTaken, more than MostDevices an ErrInvalid.
	PairDevice(ctx context.Context, d Device) (Device, error)
	RenameDevice(ctx context.Context, id ID, name string) (Device, error)
	// SeenDevice says that a device is there. It writes only when Seen is older
	// than SeenEvery, and never for one that is revoked.
	SeenDevice(ctx context.Context, id ID) error
	// RevokeDevice lets a device in no more and forgets its hash; again does no
	// harm.
	RevokeDevice(ctx context.Context, id ID) error
}
