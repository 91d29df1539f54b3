package arch

import "strings"

// kind says what a room may do.
type kind int

const (
	engine  kind = iota // figures in, figures out; no I/O, no clock, no global randomness
	reader              // turns files into the engine's values; may open files, has no clock
	service             // keeping and showing, for programs; may do anything
	program             // what is run; may do anything, and nobody imports it
)

// room is one package, by its path under the module.
type room struct {
	path string
	kind kind
	// alone: imports the standard library only.
	alone bool
	// outside lists the modules from elsewhere that the room may import.
	outside []string
}

// rooms in the order of the flow: a room imports only rooms before it. An
// engine room imports no reader, so that the engine can be built without
// TOML and without files.
//
// internal/nearword is the one engine room with a library from elsewhere.
// mix resolves names by way of catalog and catalog/find, and finding a food by
// a name in six languages needs the nearest word to a misspelt one
// (agext/levenshtein: pure functions without I/O). Accents it folds by a table
// of its own, which its tests hold against golang.org/x/text: what that cost a
// program in the browser stands in
// docs/decisions/0001-toml-apart-from-the-engine.md.
//
// label is not built yet; its place is kept.
var rooms = []room{
	{path: "nutrient"},
	{path: "internal/nearword", outside: []string{"github.com/agext/levenshtein"}},
	{path: "internal/tomldoc", kind: reader, outside: []string{"github.com/pelletier/go-toml/v2"}},
	{path: "catalog"},
	{path: "catalog/data", kind: reader},
	{path: "catalog/files", kind: reader},
	{path: "catalog/find"},
	{path: "needs"},
	{path: "needs/data", kind: reader},
	{path: "needs/files", kind: reader},
	{path: "mix"},
	{path: "mix/files", kind: reader},
	{path: "analysis"},
	{path: "lp/verify", alone: true}, // before lp: it must not know the solver that it checks
	{path: "lp", alone: true},
	{path: "formulate"},
	{path: "making"},
	{path: "serving"},
	{path: "ration"},
	{path: "ration/files", kind: reader},
	{path: "report"},
	{path: "card"},
	{path: "label"},
}

// services are the folders of rooms below the engine, in the order of the
// flow; rooms of one folder may import each other.
var services = []string{"internal/words", "internal/chart", "internal/cardpage", "internal/store", "internal/scales", "internal/calendar", "internal/web"}

// programs are the folders whose packages are programs.
var programs = []string{"cmd", "bench"}

// tests are packages that hold only tests.
var tests = []string{"internal/arch"}

// standard is what an engine room may take from the standard library: pure
// functions on values. Whatever is not here fails, so that a new import is a
// decision. From context, fmt, time and math/rand/v2 the names in bannedNames
// are left out.
var standard = words(`
	bytes cmp container/heap context crypto/sha256 encoding/base64 encoding/binary encoding/hex
	encoding/json errors fmt hash/fnv io iter maps math math/big math/bits math/cmplx
	math/rand/v2 slices sort strconv strings sync sync/atomic time unicode unicode/utf8`)

// readerStandard is what a reader may take besides.
var readerStandard = words(`embed io/fs os path path/filepath reflect`)

// bannedNames are what neither the engine nor a reader may call: the clock,
// randomness that is not handed in, and the terminal.
var bannedNames = map[string]map[string]bool{
	"time": words(`Now Since Until After AfterFunc Tick Sleep NewTimer NewTicker`),
	"context": words(`WithTimeout WithDeadline WithTimeoutCause WithDeadlineCause
		`), // a deadline is a clock: the caller brings it
	"fmt": words(`Print Printf Println Scan Scanf Scanln`),
	"math/rand/v2": words(`Int IntN Int32 Int32N Int64 Int64N Uint Uint32 Uint32N Uint64 Uint64N UintN
		N Float32 Float64 ExpFloat64 NormFloat64 Perm Shuffle`),
	"os": words(`Exit Stdin Stdout Stderr Getenv LookupEnv Environ Args Setenv`),
}

func words(list string) map[string]bool {
	out := map[string]bool{}
	for _, w := range strings.Fields(list) {
		out[w] = true
	}
	return out
}

// order is the place of a room in the flow, or -1.
func order(path string) int {
	for i, r := range rooms {
		if r.path == path {
			return i
		}
	}
	for i, s := range services {
		if inside(path, s) {
			return len(rooms) + i
		}
	}
	return -1
}

// inside reports whether a path is a folder or lies in it.
func inside(path, folder string) bool {
	return path == folder || strings.HasPrefix(path, folder+"/")
}

// roomOf returns the room of a package path under the module. It reports
// false for a package that nobody has placed.
func roomOf(path string) (room, bool) {
	switch i := order(path); {
	case i >= len(rooms):
		return room{path: path, kind: service}, true
	case i >= 0:
		return rooms[i], true
	}
	for _, p := range programs {
		if inside(path, p) {
			return room{path: path, kind: program}, true
		}
	}
	for _, p := range tests {
		if path == p {
			return room{path: path, alone: true}, true
		}
	}
	return room{}, false
}
