package files

import (
	"bytes"
	"fmt"
	"reflect"
	"sort"
	"strings"

	"firlot/internal/tomldoc"
	"firlot/ration"
)

// WithRecords returns the document's text with records added at its end;
// nothing else changes.
func (f *File) WithRecords(r Records) ([]byte, error) {
	w := &writer{}
	w.records(r)
	want := *f.Document
	want.Weights = append(append([]ration.Weighing(nil), want.Weights...), r.Weights...)
	want.Bowls = append(append([]ration.Bowl(nil), want.Bowls...), r.Bowls...)
	want.Sightings = append(append([]ration.Sighting(nil), want.Sightings...), r.Sightings...)
	return f.rewritten(nil, w.String(), &want)
}

// WithFoods returns the document's text with the amounts and days of its foods
// as in a changed list: the document's own foods in their order, with only
// Amount, Each, Days and Every changed, and any new ones after them. Comments,
// order and everything else stay as they are.
func (f *File) WithFoods(foods []ration.Food) ([]byte, error) {
	was := f.Document.Foods
	if len(foods) < len(was) {
		return nil, fmt.Errorf("there are %d foods for %d", len(foods), len(was))
	}
	var edits []edit
	w := &writer{}
	for i, x := range foods {
		if i >= len(was) {
			w.food(x)
			continue
		}
		var err error
		if edits, err = f.foodEdits(edits, i, x); err != nil {
			return nil, err
		}
	}
	want := *f.Document
	want.Foods = foods
	return f.rewritten(edits, w.String(), &want)
}

type edit struct {
	start, end int
	text       string
}

// foodEdits sets what differs in food i. A key that is to go is set to what
// stands for nothing.
func (f *File) foodEdits(edits []edit, i int, x ration.Food) ([]edit, error) {
	was := f.Document.Foods[i]
	set := func(key, value string) error {
		e, err := f.set(i, key, value)
		if err == nil {
			edits = append(edits, e)
		}
		return err
	}
	if x.Amount != was.Amount {
		if err := set("amount", tomldoc.Quote(amountText(x.Amount))); err != nil {
			return nil, err
		}
	}
	if x.Each != was.Each {
		if err := set("each", fmt.Sprint(x.Each)); err != nil {
			return nil, err
		}
	}
	if x.Days != was.Days {
		if err := set("days", daysText(x.Days)); err != nil {
			return nil, err
		}
	}
	if x.Every != was.Every {
		return nil, fmt.Errorf("food %d: the rhythm cannot be changed in place", i+1)
	}
	return edits, nil
}

// set is the edit that gives a key of food i a value.
func (f *File) set(i int, key, value string) (edit, error) {
	path := fmt.Sprintf("food[%d].", i)
	if p, ok := f.places.Place(path + key); ok && p.Value.End > p.Value.Start {
		return edit{p.Value.Start, p.Value.End, value}, nil
	} else if ok {
		return f.array(path+key, p.Key.End, value)
	}
	p, ok := f.places.Place(path + "food")
	if !ok {
		return edit{}, fmt.Errorf("food %d has no place to write to", i+1)
	}
	text := f.Text()
	at := p.Value.End
	if before := text[:p.Key.Start]; len(bytes.TrimSpace(before[bytes.LastIndexByte(before, '\n')+1:])) > 0 {
		return edit{at, at, ", " + key + " = " + value}, nil // an inline table
	}
	newline := "\n"
	if j := bytes.IndexByte(text, '\n'); j > 0 && text[j-1] == '\r' {
		newline = "\r\n"
	}
	return edit{p.Key.Start, p.Key.Start, key + " = " + value + newline}, nil
}

// array is the edit that replaces a list, from its bracket to its bracket.
func (f *File) array(path string, after int, value string) (edit, error) {
	text, last := f.Text(), after
	for n := 0; ; n++ {
		p, ok := f.places.Place(fmt.Sprintf("%s[%d]", path, n))
		if !ok {
			break
		}
		last = max(last, p.Value.End)
	}
	from, to := bytes.IndexByte(text[after:], '['), bytes.IndexByte(text[last:], ']')
	if from < 0 || to < 0 {
		return edit{}, fmt.Errorf("%s has no place to write to", path)
	}
	return edit{after + from, last + to + 1, value}, nil
}

// rewritten applies edits, puts a tail at the end, and reads the text again:
// it must hold what is wanted and nothing else.
func (f *File) rewritten(edits []edit, tail string, want *ration.Document) ([]byte, error) {
	sort.SliceStable(edits, func(i, j int) bool { return edits[i].start < edits[j].start })
	text := f.Text()
	var out bytes.Buffer
	if f.marked {
		out.Write(tomldoc.ByteOrderMark)
	}
	from := 0
	for _, e := range edits {
		out.Write(text[from:e.start])
		out.WriteString(e.text)
		from = e.end
	}
	out.Write(text[from:])
	if tail != "" {
		if bytes.Contains(text, []byte("\r\n")) {
			tail = strings.ReplaceAll(tail, "\n", "\r\n")
		}
		if n := len(text); n > 0 && text[n-1] != '\n' {
			out.WriteString("\n")
		}
		out.WriteString(tail)
	}
	again, err := Parse(f.places.Name, out.Bytes())
	if err != nil {
		return nil, fmt.Errorf("the document could not be written back: %w", err)
	}
	if !reflect.DeepEqual(again.Document, want) {
		return nil, fmt.Errorf("the document could not be written back as it was")
	}
	return out.Bytes(), nil
}
