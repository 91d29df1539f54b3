// Package files reads and writes mix documents as TOML. docs/mix-document.md
// describes the format.
package files

import (
	"bytes"
	"errors"
	"fmt"

	"firlot/internal/tomldoc"
	"firlot/mix"
)

// MaxBytes is the largest document that is read: a hundred times the largest
// that fits the other bounds would need.
const MaxBytes = 1 << 20

// File is a mix document together with its text.
type File struct {
	Document *mix.Document
	places   *tomldoc.Document
	marked   bool // the text starts with a byte order mark
}

// Read reads the document in a file. Complaints about its contents are
// *tomldoc.Error values.
func Read(path string) (*File, error) {
	text, err := tomldoc.ReadFile(path, MaxBytes)
	if err != nil {
		return nil, err
	}
	return Parse(path, text)
}

// Parse reads a document from memory; name is used in complaints.
func Parse(name string, text []byte) (*File, error) {
	if len(text) > MaxBytes {
		return nil, &tomldoc.Error{File: name, Message: fmt.Sprintf("the document is larger than %d kB, the most that is read", MaxBytes>>10), Hint: "is it a mix document?"}
	}
	bare, marked := bytes.CutPrefix(text, tomldoc.ByteOrderMark)
	var raw rawDocument
	doc, err := tomldoc.Decode(name, bare, &raw)
	if err != nil {
		return nil, err
	}
	if err := doc.Exact(raw); err != nil {
		return nil, err
	}
	d, err := raw.build(doc)
	if err != nil {
		return nil, err
	}
	return &File{Document: d, places: doc, marked: marked}, nil
}

// Locate gives a problem with the document its place in the text. Other
// errors pass through.
func (f *File) Locate(err error) error {
	var p *mix.Problem
	if errors.As(err, &p) {
		return f.places.At(p.Path, p.Message, p.Hint)
	}
	return err
}

// Text is the document as it was read, without its byte order mark.
func (f *File) Text() []byte { return f.places.Source }
