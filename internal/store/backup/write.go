package backup

import (
	"bytes"
	"compress/gzip"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"fmt"
	"hash"
	"io"
	"time"

	"firlot/internal/store"
)

// Writer writes a backup, one thing after another in the order of the format.
type Writer struct {
	zip   *gzip.Writer
	sum   hash.Hash
	lines int64
	bytes int64
	most  int64
}

// NewWriter begins a backup made at a time. The caller closes it, else the
// file is not one.
func NewWriter(w io.Writer, made time.Time) (*Writer, error) {
	out := &Writer{zip: gzip.NewWriter(w), sum: sha256.New(), most: MostBytes}
	return out, out.put(header{Format, made.UTC().Truncate(time.Microsecond)})
}

// Put writes one thing.
func (w *Writer) Put(r Record) error { return w.put(toLine(r)) }

// Close writes the end of the file. It does not close what it writes to.
func (w *Writer) Close() error {
	last := line{End: &end{Lines: w.lines, SHA256: hex.EncodeToString(w.sum.Sum(nil))}}
	if err := w.put(last); err != nil {
		return err
	}
	return w.zip.Close()
}

func (w *Writer) put(v any) error {
	var text bytes.Buffer
	enc := json.NewEncoder(&text)
	enc.SetEscapeHTML(false)
	if err := enc.Encode(v); err != nil {
		return err
	}
	w.lines++
	w.bytes += int64(text.Len())
	if w.bytes > w.most {
		return fmt.Errorf("%w: more than %d bytes are kept, so the backup could not be restored", store.ErrTooLarge, w.most)
	}
	w.sum.Write(text.Bytes())
	_, err := w.zip.Write(text.Bytes())
	return err
}
