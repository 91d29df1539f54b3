package verify

import (
	"errors"
	"fmt"
	"strconv"
	"strings"
	"unicode/utf8"
)

// text reads JSON: what a certificate may hold and nothing else. Members must
// be known and stand once; null stands for what is left out. How deep it goes
// is fixed by its callers. After the first fault every method does nothing.
type text struct {
	b    string
	i    int
	room int // words that lists may still take
	err  error
}

func (t *text) fail(format string, args ...any) {
	if t.err == nil {
		t.err = fmt.Errorf("byte %d: %w", t.i, fmt.Errorf(format, args...))
		t.i = len(t.b)
	}
}

// next is the next byte that is not space, or 0.
func (t *text) next() byte {
	for ; t.i < len(t.b); t.i++ {
		if c := t.b[t.i]; c != ' ' && c != '\t' && c != '\n' && c != '\r' {
			return c
		}
	}
	return 0
}

func (t *text) take(c byte) bool {
	if t.err != nil || t.next() != c {
		return false
	}
	t.i++
	return true
}

func (t *text) want(c byte) bool {
	if !t.take(c) {
		t.fail("%q is expected", string(c))
	}
	return t.err == nil
}

// word takes a word of JSON's.
func (t *text) word(w string) bool {
	if t.err != nil || t.next() == 0 || !strings.HasPrefix(t.b[t.i:], w) {
		return false
	}
	t.i += len(w)
	return true
}

// object reads an object; member reads the value of one it knows.
func (t *text) object(member func(name string) bool) {
	if t.word("null") || !t.want('{') || t.take('}') {
		return
	}
	seen := make([]string, 0, 8)
	for t.err == nil {
		name := t.string()
		for _, s := range seen {
			if s == name {
				t.fail("%.40q stands twice", name)
			}
		}
		seen = append(seen, name)
		if t.want(':') && !member(name) {
			t.fail("unknown field %.40q", name)
		}
		if t.take('}') {
			return
		}
		t.want(',')
	}
}

// list reads an array, each of whose elements takes so many words: "{}," is
// three characters and may be a hundred bytes.
func (t *text) list(words int, each func()) {
	if t.word("null") || !t.want('[') || t.take(']') {
		return
	}
	for t.err == nil {
		if t.room -= words; t.room < 0 {
			t.fail("the document is too large")
			return
		}
		each()
		if t.take(']') {
			return
		}
		t.want(',')
	}
}

// strings reads an array of strings.
func (t *text) strings(to *[]string) bool {
	t.list(2, func() { *to = append(*to, t.string()) })
	return true
}

// set reads a string into a member.
func (t *text) set(to *string) bool {
	if !t.word("null") {
		*to = t.string()
	}
	return true
}

// count reads a whole number into a member.
func (t *text) count(to *int) bool {
	if t.word("null") {
		return true
	}
	t.next()
	from := t.i
	for t.i < len(t.b) && (t.b[t.i] == '-' || t.b[t.i] >= '0' && t.b[t.i] <= '9') {
		t.i++
	}
	v, err := strconv.Atoi(t.b[from:t.i])
	if err != nil {
		t.fail("a whole number is expected")
	}
	*to = v
	return true
}

// maybe reads a whole number that may be missing.
func (t *text) maybe(to **int) bool {
	if t.word("null") {
		return true
	}
	*to = new(int)
	return t.count(*to)
}

func (t *text) truth(to *bool) bool {
	switch {
	case t.word("true"):
		*to = true
	case !t.word("false") && !t.word("null"):
		t.fail("true or false is expected")
	}
	return true
}

// string reads a string. Escapes of surrogates are not joined: a certificate's
// names have none, and what they are plays no part.
func (t *text) string() string {
	if !t.want('"') {
		return ""
	}
	from := t.i
	var out []byte // what was read, once there was an escape
	for t.i < len(t.b) {
		c := t.b[t.i]
		t.i++
		switch {
		case c == '"' && out == nil:
			return t.b[from : t.i-1]
		case c == '"':
			return string(out)
		case c < ' ':
			t.fail("a string holds a control character")
		case c == '\\':
			if out == nil {
				out = append(make([]byte, 0, 64), t.b[from:t.i-1]...)
			}
			out = t.escape(out)
		case out != nil:
			out = append(out, c)
		}
	}
	t.fail("a string has no end")
	return ""
}

func (t *text) escape(out []byte) []byte {
	if t.i >= len(t.b) {
		return out
	}
	c := t.b[t.i]
	t.i++
	switch c {
	case '"', '\\', '/':
		return append(out, c)
	case 'b', 'f', 'n', 'r', 't':
		return append(out, ' ')
	case 'u':
		if t.i+4 <= len(t.b) {
			if v, err := strconv.ParseUint(t.b[t.i:t.i+4], 16, 16); err == nil {
				t.i += 4
				return utf8.AppendRune(out, rune(v))
			}
		}
	}
	t.fail("a string holds an unknown escape")
	return out
}

// document reads a certificate.
func document(data []byte) (*doc, error) {
	t := &text{b: string(data), room: maxRead}
	return t.document()
}

func (t *text) document() (*doc, error) {
	d := new(doc)
	t.object(func(name string) bool {
		switch name {
		case "format":
			return t.set(&d.Format)
		case "version":
			return t.count(&d.Version)
		case "claim":
			return t.claim(&d.Claim)
		case "model":
			return t.model(&d.Model)
		case "grid":
			return t.grid(&d.Grid)
		case "point":
			return t.strings(&d.Point)
		case "cuts":
			t.list(perObject, func() { d.Cuts = append(d.Cuts, t.cut()) })
			return true
		case "tree":
			t.list(perObject, func() { d.Tree = append(d.Tree, t.node()) })
			return true
		}
		return false
	})
	if t.next(); t.err == nil && t.i < len(t.b) {
		return nil, errors.New("there is text after the document")
	}
	return d, t.err
}

func (t *text) claim(c *claim) bool {
	t.object(func(name string) bool {
		switch name {
		case "status":
			return t.set(&c.Status)
		case "objective":
			return t.set(&c.Objective)
		case "bound":
			return t.set(&c.Bound)
		}
		return false
	})
	return true
}

func (t *text) model(m *rawModel) bool {
	t.object(func(name string) bool {
		switch name {
		case "columns":
			t.list(perObject, func() { m.Columns = append(m.Columns, t.column()) })
		case "rows":
			t.list(perObject, func() { m.Rows = append(m.Rows, t.row()) })
		case "counts":
			t.list(perObject, func() { m.Counts = append(m.Counts, t.limit()) })
		case "cones":
			t.list(perObject, func() { m.Cones = append(m.Cones, t.cone()) })
		default:
			return false
		}
		return true
	})
	return true
}

func (t *text) column() (c rawColumn) {
	t.object(func(name string) bool {
		switch name {
		case "name":
			return t.set(&c.Name)
		case "lo":
			return t.set(&c.Lo)
		case "hi":
			return t.set(&c.Hi)
		case "cost":
			return t.set(&c.Cost)
		case "breaks":
			t.list(4, func() { c.Breaks = append(c.Breaks, t.pair()) })
			return true
		case "whole":
			return t.truth(&c.Whole)
		case "least":
			return t.set(&c.Least)
		}
		return false
	})
	return c
}

func (t *text) pair() (p [2]string) {
	n := 0
	t.list(0, func() {
		if n == len(p) {
			t.fail("a pair holds more than two")
			return
		}
		p[n] = t.string()
		n++
	})
	if n < len(p) {
		t.fail("a pair holds fewer than two")
	}
	return p
}

func (t *text) terms(to *[]rawTerm) bool {
	t.list(3, func() {
		var e rawTerm
		t.object(func(name string) bool {
			switch name {
			case "c":
				return t.count(&e.Col)
			case "v":
				return t.set(&e.Coef)
			}
			return false
		})
		*to = append(*to, e)
	})
	return true
}

func (t *text) row() (r rawRow) {
	t.object(func(name string) bool {
		switch name {
		case "name":
			return t.set(&r.Name)
		case "lo":
			return t.set(&r.Lo)
		case "hi":
			return t.set(&r.Hi)
		case "terms":
			return t.terms(&r.Terms)
		}
		return false
	})
	return r
}

func (t *text) limit() (c rawCount) {
	t.object(func(name string) bool {
		switch name {
		case "name":
			return t.set(&c.Name)
		case "cols":
			t.list(1, func() {
				var i int
				t.count(&i)
				c.Cols = append(c.Cols, i)
			})
			return true
		case "least":
			return t.count(&c.Least)
		case "most":
			return t.count(&c.Most)
		}
		return false
	})
	return c
}

func (t *text) cone() (k rawCone) {
	t.object(func(name string) bool {
		switch name {
		case "name":
			return t.set(&k.Name)
		case "lo":
			return t.set(&k.Lo)
		case "z":
			return t.set(&k.Z)
		case "terms":
			return t.terms(&k.Terms)
		case "spread":
			return t.terms(&k.Spread)
		}
		return false
	})
	return k
}

func (t *text) grid(to **rawGrid) bool {
	if t.word("null") {
		return true
	}
	g := new(rawGrid)
	t.object(func(name string) bool {
		switch name {
		case "row":
			return t.maybe(&g.Row)
		case "mult":
			return t.set(&g.Mult)
		}
		return false
	})
	*to = g
	return true
}

func (t *text) cut() (c rawCut) {
	t.object(func(name string) bool {
		switch name {
		case "cone":
			return t.count(&c.Cone)
		case "dir":
			return t.strings(&c.Dir)
		}
		return false
	})
	return c
}

func (t *text) weights(to *[]rawWeight) bool {
	t.list(3, func() {
		var w rawWeight
		t.object(func(name string) bool {
			switch name {
			case "i":
				return t.count(&w.Index)
			case "y":
				return t.set(&w.Value)
			}
			return false
		})
		*to = append(*to, w)
	})
	return true
}

func (t *text) node() (n rawNod) {
	t.object(func(name string) bool {
		switch name {
		case "kind":
			return t.set(&n.Kind)
		case "col":
			return t.maybe(&n.Col)
		case "at":
			return t.set(&n.At)
		case "rows":
			return t.weights(&n.Rows)
		case "counts":
			return t.weights(&n.Counts)
		case "cuts":
			return t.weights(&n.Cuts)
		}
		return false
	})
	return n
}
