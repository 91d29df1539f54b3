package main

import "runtime/debug"

// firstCollection is how much the engine takes before it collects garbage for
// the first time, in bytes. One mix worked out anew leaves a few megabytes
// behind, and on a single thread every collection is waited for.
const firstCollection = 64 << 20

func init() {
	debug.SetGCPercent(-1)
	debug.SetMemoryLimit(firstCollection)
}
