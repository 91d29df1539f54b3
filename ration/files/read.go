// Package files reads and writes documents of a group and its week as TOML.
// docs/week-document.md describes the format.
package files

import (
	"bytes"
	"errors"
	"fmt"

	"firlot/internal/tomldoc"
	"firlot/ration"
)

// MaxBytes is the largest document that is read: years of weighings of a large
// group fit in.
const MaxBytes = 4 << 20

// File is a document of a week together with its text.
type File struct {
	Document *ration.Document
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
		return nil, &tomldoc.Error{File: name, Message: fmt.Sprintf("the document is larger than %d MB, the most that is read", MaxBytes>>20), Hint: "is it the document of a week?"}
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
	var p *ration.Problem
	if errors.As(err, &p) {
		return f.places.At(p.Path, p.Message, p.Hint)
	}
	return err
}

// Text is the document as it was read, without its byte order mark.
func (f *File) Text() []byte { return f.places.Source }

// Name is the file's name as it was given.
func (f *File) Name() string { return f.places.Name }
