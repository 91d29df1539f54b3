package files

import (
	"bytes"
	"fmt"
	"os"
	"path/filepath"
	"sort"

	"firlot/internal/tomldoc"
	"firlot/nutrient"
)

// WithAmounts returns the document's text with the amounts of its lines set,
// in document order; comments, order and everything else stay as they are.
func (f *File) WithAmounts(amounts []nutrient.Mass) ([]byte, error) {
	if len(amounts) != len(f.Document.Lines) {
		return nil, fmt.Errorf("there are %d amounts for %d lines", len(amounts), len(f.Document.Lines))
	}
	type edit struct {
		start, end int
		text       string
	}
	var edits []edit
	for i, m := range amounts {
		value := fmt.Sprintf("%q", m.String())
		if p, ok := f.places.Place(fmt.Sprintf("line[%d].amount", i)); ok {
			edits = append(edits, edit{p.Value.Start, p.Value.End, value})
			continue
		}
		at, inline, ok := f.lastValue(i)
		if !ok {
			return nil, fmt.Errorf("line %d has no place to write to", i+1)
		}
		if inline {
			edits = append(edits, edit{at, at, ", amount = " + value})
		} else {
			end, newline := f.endOfLine(at)
			edits = append(edits, edit{end, end, newline + "amount = " + value})
		}
	}
	sort.SliceStable(edits, func(i, j int) bool { return edits[i].start < edits[j].start })
	var out bytes.Buffer
	if f.marked {
		out.Write(tomldoc.ByteOrderMark)
	}
	from := 0
	for _, e := range edits {
		out.Write(f.Text()[from:e.start])
		out.WriteString(e.text)
		from = e.end
	}
	out.Write(f.Text()[from:])
	return out.Bytes(), f.sameBut(out.Bytes(), amounts)
}

// lastValue finds the end of the last value of a line, and whether the line
// is an inline table.
func (f *File) lastValue(i int) (end int, inline, ok bool) {
	for _, key := range lineKeys {
		if p, found := f.places.Place(fmt.Sprintf("line[%d].%s", i, key)); found && p.Value.End > end {
			end, ok = p.Value.End, true
			inline = !f.startsLine(p.Key.Start)
		}
	}
	return end, inline, ok
}

var lineKeys = []string{"ingredient", "floor", "ceiling", "nothing_or", "on_hand", "price", "base"}

// startsLine reports whether only white space stands before an offset on its
// line.
func (f *File) startsLine(at int) bool {
	text := f.Text()[:at]
	return len(bytes.TrimSpace(text[bytes.LastIndexByte(text, '\n')+1:])) == 0
}

// endOfLine returns where the line that an offset stands on ends, and the
// newline in use there.
func (f *File) endOfLine(at int) (end int, newline string) {
	text := f.Text()
	i := bytes.IndexByte(text[at:], '\n')
	switch {
	case i < 0:
		// The last line has no newline of its own: take the text's first.
		if j := bytes.IndexByte(text, '\n'); j > 0 && text[j-1] == '\r' {
			return len(text), "\r\n"
		}
		return len(text), "\n"
	case i > 0 && text[at+i-1] == '\r':
		return at + i - 1, "\r\n"
	}
	return at + i, "\n"
}

// sameBut reads the new text again: only the amounts may have changed.
func (f *File) sameBut(text []byte, amounts []nutrient.Mass) error {
	again, err := Parse(f.places.Name, text)
	if err != nil {
		return fmt.Errorf("the amounts could not be written: %w", err)
	}
	if len(again.Document.Lines) != len(amounts) {
		return fmt.Errorf("the amounts could not be written: the lines changed")
	}
	for i, l := range again.Document.Lines {
		was := f.Document.Lines[i]
		if l.Ingredient != was.Ingredient || l.Amount.Mass != amounts[i] || l.Floor != was.Floor || l.Ceiling != was.Ceiling || l.Base != was.Base {
			return fmt.Errorf("the amounts could not be written: line %d changed", i+1)
		}
	}
	return nil
}

// Save writes text to a file in one step: whoever reads the file sees the old
// text or the new, never a part.
func Save(path string, text []byte) error {
	mode := os.FileMode(0o644)
	if info, err := os.Stat(path); err == nil {
		mode = info.Mode().Perm()
	}
	tmp, err := os.CreateTemp(filepath.Dir(path), ".firlot-*")
	if err != nil {
		return err
	}
	defer os.Remove(tmp.Name())
	if err := tmp.Chmod(mode); err != nil {
		tmp.Close()
		return err
	}
	if _, err := tmp.Write(text); err != nil {
		tmp.Close()
		return err
	}
	if err := tmp.Sync(); err != nil {
		tmp.Close()
		return err
	}
	if err := tmp.Close(); err != nil {
		return err
	}
	return os.Rename(tmp.Name(), path)
}
