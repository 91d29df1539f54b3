// Package backup is the file that holds everything a keeper keeps. It is the
// same whichever store wrote it, so that a backup is also the way from one
// kind of store to another.
//
// # Format 2
//
// A gzip stream (RFC 1952) of lines, each one JSON object, in UTF-8 and ended
// by a line feed. "zcat" and any text editor read it without Firlot.
//
// The first line names the format and the time:
//
//	{"firlot_backup":2,"made":"2026-03-31T08:15:00Z"}
//
// Each line after it holds one thing under the name of its kind: all settings,
// then groups, shelves (with their items), mixes, devices, lots and makings. A
// mix is followed by its versions from 1 up, and says how many; a making by its
// events in their order, likewise:
//
//	{"setting":{"name":"language","value":"en"}}
//	{"group":{"id":"…","name":"Pair of the long barn","species":"…","changed":"…"}}
//	{"shelf":{"id":"…","name":"Kitchen","items":[{"ref":"oat/groats","can_have":true}],"changed":"…"}}
//	{"mix":{"id":"…","name":"Winter","group":"…","document":"…","versions":1,"made":"…","changed":"…"}}
//	{"version":{"document":"…","note":"first","at":"…"}}
//	{"device":{"id":"…","name":"Phone","paired":"…","seen":"…"}}
//	{"lot":{"id":"…","ref":"oat/groats","code":"L 2301","made":"…","changed":"…"}}
//	{"making":{"id":"…","mix":"…","start":"…","state":"open","started":"…","changed":"…","events":1}}
//	{"event":{"key":"…","kind":"pour","ref":"oat/groats","mg":500000,"lot":"…","at":"…","took_mg":500000}}
//
// Fields that are empty are left out, and a field that Firlot does not know is
// refused. Masses are whole milligrams, prices are for a kilogram, times are
// RFC 3339 with at most microseconds. Changes that could be taken back are not
// in the file, nor are revision numbers, nor what lets a device in: a device in
// the file is a name beside its events, and a revoked one does not come back.
//
// Format 1 had no devices, lots, makings and events, and no feeding of a group.
// It is still read.
//
// The last line counts the lines before it, the first among them, and has the
// SHA-256 of their bytes, line feeds included:
//
//	{"end":{"lines":5,"sha256":"…"}}
//
// Nothing follows it. The sum finds damage and a file cut short; it is not a
// signature and does not say who wrote the file.
//
// A file is refused when it is larger than MostPacked or what it unpacks to
// larger than MostBytes.
package backup

// Format is the newest format, and the one that is written.
const Format = 2

// Bounds of what is read. A line holds at most one shelf: its own ingredients
// and the notes of its items, of which JSON can make six times as many bytes.
// MostBytes has room for tens of thousands of makings.
const (
	MostPacked = 256 << 20
	MostBytes  = 1 << 30
	mostLine   = 32 << 20
)
