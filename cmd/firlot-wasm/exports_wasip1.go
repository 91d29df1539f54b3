package main

import "unsafe"

var (
	here   engine
	buffer []byte // what the page writes into
	said   []byte // the last answer, kept until the next
)

// mostRoom is the most that a page may hand over, in bytes.
const mostRoom = 8 << 20

// room gives the page a place for n bytes, or nothing.
//
//go:wasmexport room
func room(n int32) int32 {
	if n < 1 || n > mostRoom {
		return 0
	}
	buffer = make([]byte, n)
	return int32(uintptr(unsafe.Pointer(&buffer[0])))
}

//go:wasmexport open
func open() int64 { return place(here.open(buffer)) }

//go:wasmexport answer
func answer() int64 { return place(here.answer(buffer)) }

func place(b []byte) int64 {
	said, buffer = b, nil
	if len(b) == 0 {
		return 0
	}
	return int64(uintptr(unsafe.Pointer(&b[0])))<<32 | int64(len(b))
}
