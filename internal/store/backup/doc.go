// Package backup is the file that holds everything a keeper keeps. It is the
// same whichever store wrote it, so that a backup is also the way from one
// kind of store to another.
//
// # Format 1
//
// A gzip stream (RFC 1952) of lines, each one JSON object, in UTF-8 and ended
// by a line feed. "zcat" and any text editor read it without Firlot.
//
// The first line names the format and the time:
//
//	{"firlot_backup":1,"made":"2026-03-31T08:15:00Z"}
//
// Each line after it holds one thing under the name of its kind: all settings,
// then groups, shelves (with their items) and mixes. A mix is followed by its
// versions from 1 up, and says how many:
//
//	{"setting":{"name":"language","value":"en"}}
//	{"group":{"id":"…","name":"Pair of the long barn","species":"…","changed":"…"}}
//	{"shelf":{"id":"…","name":"Kitchen","items":[{"ref":"oat/groats","can_have":true}],"changed":"…"}}
//	{"mix":{"id":"…","name":"Winter","group":"…","document":"…","versions":1,"made":"…","changed":"…"}}
//	{"version":{"document":"…","note":"first","at":"…"}}
//
// Fields that are empty are left out, and a field that Firlot does not know is
// refused. Masses are whole milligrams, prices are for a kilogram, times are
// RFC 3339 with at most microseconds. Changes that could be taken back are not
// in the file, nor are revision numbers.
//
// The last line counts the lines before it, the first among them, and has the
// SHA-256 of their bytes, line feeds included:
//
//	{"end":{"lines":5,"sha256":"…"}}
//
// Nothing follows it. The sum finds damage and a file cut short; it is not a
// signature and does not say who wrote the file.
//
// A file is refused when it, or what it unpacks to, is larger than MostBytes.
package backup

// Format is the newest format, and the one that is written.
const Format = 1

// Bounds of what is read. A line holds at most one shelf: its own ingredients
// and the notes of its items, of which JSON can make six times as many bytes.
const (
	MostBytes = 256 << 20
	mostLine  = 32 << 20
)
