// Package arch holds no code, only the test that keeps the rooms of Firlot in
// their order: each package may import what stands above it in the flow and
// nothing below, the engine touches neither files nor network nor clock nor
// global randomness, and libraries from elsewhere stay where they are listed.
//
// A new package must be entered in rooms_test.go before the test passes: that
// is the moment to decide where it belongs. docs/architecture.md has the
// reasons.
package arch
