package backup

import (
	"bufio"
	"bytes"
	"compress/flate"
	"compress/gzip"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"hash"
	"io"

	"firlot/internal/store"
)

// Read reads a backup and hands over each thing in turn. Things are checked
// one by one and against each other before they are handed over, but whether
// the file is whole is only known at its end: what do has done by then must be
// undone when Read returns an error. An error of do ends the reading.
func Read(r io.Reader, do func(Record) error) error {
	return read(r, MostBytes, do)
}

func read(r io.Reader, most int64, do func(Record) error) error {
	packed := bufio.NewReader(&bounded{r, min(most, MostPacked)})
	zip, err := gzip.NewReader(packed)
	switch {
	case errors.Is(err, gzip.ErrHeader), errors.Is(err, io.EOF), errors.Is(err, io.ErrUnexpectedEOF):
		return fmt.Errorf("%w: no backup begins like this", store.ErrForeign)
	case err != nil:
		return err
	}
	zip.Multistream(false)
	in := &reader{in: bufio.NewReader(&bounded{zip, most}), sum: sha256.New(), set: newSet()}
	if err := in.header(); err != nil {
		return err
	}
	if err := in.body(do); err != nil {
		return err
	}
	if _, err := in.in.ReadByte(); err != io.EOF {
		return orDamaged(err, "something follows its end")
	}
	if _, err := packed.ReadByte(); err != io.EOF {
		return orDamaged(err, "something follows its end")
	}
	return nil
}

type reader struct {
	in     *bufio.Reader
	sum    hash.Hash
	lines  int64
	set    *set
	format int
}

func (r *reader) header() error {
	text, err := r.line()
	if err != nil {
		return err
	}
	var h header
	if json.Unmarshal(text, &h) != nil || h.Format < 1 {
		return fmt.Errorf("%w: its first line names no format", store.ErrForeign)
	}
	if h.Format > Format {
		return fmt.Errorf("%w: backup of format %d; this Firlot reads up to %d", store.ErrTooNew, h.Format, Format)
	}
	r.format = h.Format
	r.count(text)
	return nil
}

func (r *reader) body(do func(Record) error) error {
	for {
		text, err := r.line()
		if err != nil {
			return err
		}
		var l line
		dec := json.NewDecoder(bytes.NewReader(text))
		dec.DisallowUnknownFields()
		if err := dec.Decode(&l); err != nil {
			return r.damaged("%v", err)
		}
		if _, err := dec.Token(); err != io.EOF || l.kinds() != 1 {
			return r.damaged("not one thing on a line")
		}
		if l.End != nil {
			return r.end(*l.End)
		}
		if l.since() > r.format {
			return r.damaged("format %d has no such line", r.format)
		}
		r.count(text)
		rec, err := r.set.take(l)
		if err != nil {
			return fmt.Errorf("line %d of the backup: %w", r.lines, err)
		}
		if err := do(rec); err != nil {
			return err
		}
	}
}

func (r *reader) end(e end) error {
	switch {
	case e.Lines != r.lines:
		return r.damaged("it has %d lines and says %d", r.lines, e.Lines)
	case e.SHA256 != hex.EncodeToString(r.sum.Sum(nil)):
		return r.damaged("its sum does not match")
	}
	return r.set.close()
}

func (r *reader) count(text []byte) {
	r.lines++
	r.sum.Write(text)
}

func (r *reader) damaged(format string, args ...any) error {
	return fmt.Errorf("%w: backup, after line %d: %s", store.ErrDamaged, r.lines, fmt.Sprintf(format, args...))
}

// line returns the next line with its line feed, of at most mostLine bytes.
func (r *reader) line() ([]byte, error) {
	var text []byte
	for {
		part, err := r.in.ReadSlice('\n')
		text = append(text, part...)
		switch {
		case len(text) > mostLine:
			return nil, fmt.Errorf("%w: a line of the backup", store.ErrTooLarge)
		case err == nil:
			return text, nil
		case err != bufio.ErrBufferFull:
			return nil, orDamaged(err, "it is cut short")
		}
	}
}

// orDamaged tells damage from a reader that failed: what is wrong with the
// bytes becomes an ErrDamaged, the rest stays as it is.
func orDamaged(err error, what string) error {
	var flaw flate.CorruptInputError
	switch {
	case err == nil, errors.Is(err, io.EOF), errors.Is(err, io.ErrUnexpectedEOF):
		return fmt.Errorf("%w: backup: %s", store.ErrDamaged, what)
	case errors.Is(err, gzip.ErrChecksum), errors.As(err, &flaw):
		return fmt.Errorf("%w: backup: %w", store.ErrDamaged, err)
	}
	return err
}

// bounded reads at most left bytes and fails on the next.
type bounded struct {
	r    io.Reader
	left int64
}

func (b *bounded) Read(p []byte) (int, error) {
	if int64(len(p)) > b.left+1 {
		p = p[:b.left+1]
	}
	n, err := b.r.Read(p)
	if int64(n) > b.left {
		return int(b.left), fmt.Errorf("%w: a backup has at most %d bytes, and %d unpacked", store.ErrTooLarge, MostPacked, MostBytes)
	}
	b.left -= int64(n)
	return n, err
}
