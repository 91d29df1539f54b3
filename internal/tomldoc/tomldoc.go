// Package tomldoc reads TOML documents so that every complaint can name its
// place: it decodes strictly, and keeps for each key the line and column
// where it stands.
package tomldoc

import (
	"bytes"
	"errors"
	"fmt"
	"slices"
	"sort"
	"strconv"
	"strings"

	"github.com/pelletier/go-toml/v2"
	"github.com/pelletier/go-toml/v2/unstable"

	"firlot/internal/nearword"
)

// Position is a place in a document; lines and columns count from 1, columns
// in bytes.
type Position struct{ Line, Column int }

// Span is a run of bytes in a document.
type Span struct{ Start, End int }

// Place says where a key and its value stand.
type Place struct {
	Position
	Key   Span
	Value Span // empty for tables, arrays and inline tables
}

// Document is a decoded document that remembers its places.
type Document struct {
	Name   string // file name, for complaints
	Source []byte
	places map[string]Place // found when first asked for
}

// Error is a complaint about a document with its place.
type Error struct {
	File    string
	Line    int
	Column  int
	Field   string
	Message string // what is wrong
	Hint    string // what would be right
}

// Error prints file:line:column, the field, what is wrong and what would be
// right.
func (e *Error) Error() string {
	var b strings.Builder
	if e.File != "" {
		b.WriteString(e.File)
		b.WriteByte(':')
	}
	if e.Line > 0 {
		fmt.Fprintf(&b, "%d:%d:", e.Line, e.Column)
	}
	if b.Len() > 0 {
		b.WriteByte(' ')
	}
	if e.Field != "" {
		b.WriteString(e.Field + ": ")
	}
	b.WriteString(nearword.Hinted(e.Message, e.Hint))
	return b.String()
}

// Decode reads source strictly into v: an unknown key is an error that names
// the nearest known one.
func Decode(name string, source []byte, v any) (*Document, error) {
	d := &Document{Name: name, Source: source}
	dec := toml.NewDecoder(bytes.NewReader(source)).DisallowUnknownFields()
	if err := dec.Decode(v); err != nil {
		return nil, d.explain(err, v)
	}
	return d, nil
}

func (d *Document) explain(err error, v any) error {
	var strict *toml.StrictMissingError
	if errors.As(err, &strict) && len(strict.Errors) > 0 {
		first := strict.Errors[0]
		line, col := first.Position()
		key := strings.Join(first.Key(), ".")
		last := key[strings.LastIndexByte(key, '.')+1:]
		if slices.Contains(knownKeys(v), last) {
			return &Error{File: d.Name, Line: line, Column: col, Field: key,
				Message: "this key does not belong here", Hint: "it belongs in another table of the document; is this the right kind of document?"}
		}
		return &Error{File: d.Name, Line: line, Column: col, Field: key,
			Message: "this key is not known", Hint: hintFor(last, knownKeys(v))}
	}
	var decode *toml.DecodeError
	if errors.As(err, &decode) {
		line, col := decode.Position()
		message, hint := plainWords(strings.TrimPrefix(decode.Error(), "toml: "))
		return &Error{File: d.Name, Line: line, Column: col,
			Field: strings.Join(decode.Key(), "."), Message: message, Hint: hint}
	}
	return &Error{File: d.Name, Line: 1, Column: 1, Message: strings.TrimPrefix(err.Error(), "toml: ")}
}

// wrongKind takes the kind found and the Go type wanted out of what the
// decoder says of a value of the wrong kind.
func wrongKind(message string) (found, wanted string, ok bool) {
	rest, ok := strings.CutPrefix(message, "cannot decode TOML ")
	if !ok {
		return "", "", false
	}
	found, wanted, ok = strings.Cut(rest, " into ")
	if i := strings.LastIndex(wanted, " of type "); i >= 0 {
		wanted = wanted[i+len(" of type "):]
	}
	return found, strings.TrimPrefix(wanted, "a "), ok
}

// plainWords says the decoder's complaint about a value of the wrong kind in
// words for people; other complaints pass through.
func plainWords(message string) (plain, hint string) {
	found, kind, wrong := wrongKind(message)
	switch {
	case strings.Contains(message, "value out of range"):
		return "the number is too large", ""
	case strings.Contains(message, "at start of value"):
		return message, "text stands in quotation marks"
	case strings.HasPrefix(message, "invalid character at start of key"):
		return message, "a document is plain TOML text"
	case !wrong:
		return message, ""
	}
	is := map[string]string{"integer": "a whole number", "float": "a number", "string": "text", "boolean": "true or false",
		"array": "a list", "inline table": "a table", "table": "a table"}[found]
	if is == "" {
		is = "a value of another kind (" + found + ")"
	}
	wanted, hint := "text", `put it in quotation marks, with its unit where it has one, as in "30 g"`
	switch {
	case strings.HasPrefix(kind, "[]") && !strings.HasSuffix(kind, "string"):
		wanted, hint = "a table", "head each with its name in double square brackets, such as [[line]]"
	case strings.HasPrefix(kind, "[]"):
		wanted, hint = "a list of texts", `write for example ["linseed/whole", "hemp/whole"]`
	case strings.Contains(kind, "int"):
		wanted, hint = "a whole number", ""
	case strings.Contains(kind, "float"):
		wanted, hint = "a number", "write it without quotation marks and without a unit"
	case strings.Contains(kind, "bool"):
		wanted, hint = "true or false", "write it without quotation marks"
	case strings.HasPrefix(kind, "map"):
		wanted, hint = "a table", ""
	}
	return "is " + is + " where " + wanted + " belongs", hint
}

func hintFor(word string, known []string) string {
	if near := nearword.Nearest(word, known); near != "" {
		return fmt.Sprintf("did you mean %q?", near)
	}
	if len(known) == 0 {
		return ""
	}
	sort.Strings(known)
	return "known keys: " + strings.Join(known, ", ")
}

// At builds an error at the place of a path such as "line[2].floor". Where
// the path itself has no place, the nearest enclosing one is used, and at
// last the start of the document.
func (d *Document) At(path, message, hint string) *Error {
	e := &Error{File: d.Name, Line: 1, Column: 1, Field: path, Message: message, Hint: hint}
	for p := path; p != ""; p = parent(p) {
		if at, ok := d.Place(p); ok {
			e.Line, e.Column = at.Line, at.Column
			break
		}
	}
	return e
}

// Place returns where a path stands.
func (d *Document) Place(path string) (Place, bool) {
	if d.places == nil {
		d.places = locate(d.Source)
	}
	p, ok := d.places[path]
	return p, ok
}

func parent(path string) string {
	return path[:max(strings.LastIndexByte(path, '.'), strings.LastIndexByte(path, '['), 0)]
}

// locator walks the document's expressions and notes the places.
type locator struct {
	p      *unstable.Parser
	places map[string]Place
	counts map[string]int // elements seen of an array of tables
	prefix string
}

// locate walks a document that has decoded well, so it cannot fail.
func locate(source []byte) map[string]Place {
	l := &locator{p: &unstable.Parser{}, places: map[string]Place{}, counts: map[string]int{}}
	l.p.Reset(source)
	for l.p.NextExpression() {
		l.expression(l.p.Expression())
	}
	return l.places
}

func (l *locator) expression(n *unstable.Node) {
	switch n.Kind {
	case unstable.Table, unstable.ArrayTable:
		path, first := l.tablePath(n)
		l.prefix = path
		l.places[path] = l.place(first)
	case unstable.KeyValue:
		l.keyValue(l.prefix, n)
	}
}

// tablePath resolves a table header: each part that names an array of tables
// points at its latest element.
func (l *locator) tablePath(n *unstable.Node) (string, *unstable.Node) {
	path, it := "", n.Key()
	var first *unstable.Node
	for it.Next() {
		k := it.Node()
		if first == nil {
			first = k
		}
		path = join(path, string(k.Data))
		if it.IsLast() && n.Kind == unstable.ArrayTable {
			l.counts[path]++
		}
		if c := l.counts[path]; c > 0 {
			path += "[" + strconv.Itoa(c-1) + "]"
		}
	}
	return path, first
}

func (l *locator) keyValue(prefix string, n *unstable.Node) {
	path, it := prefix, n.Key()
	var first *unstable.Node
	for it.Next() {
		if first == nil {
			first = it.Node()
		}
		path = join(path, string(it.Node().Data))
	}
	at := l.place(first)
	l.value(path, n.Value(), at)
}

func (l *locator) value(path string, v *unstable.Node, at Place) {
	switch v.Kind {
	case unstable.InlineTable:
		for it := v.Children(); it.Next(); {
			l.keyValue(path, it.Node())
		}
	case unstable.Array:
		i := 0
		for it := v.Children(); it.Next(); i++ {
			child := at
			if r := it.Node().Raw; r.Length > 0 {
				s := l.p.Shape(r)
				child.Position = Position{s.Start.Line, s.Start.Column}
			}
			l.value(path+"["+strconv.Itoa(i)+"]", it.Node(), child)
		}
	default:
		at.Value = Span{int(v.Raw.Offset), int(v.Raw.Offset + v.Raw.Length)}
	}
	l.places[path] = at
}

func (l *locator) place(key *unstable.Node) Place {
	s := l.p.Shape(key.Raw)
	return Place{
		Position: Position{s.Start.Line, s.Start.Column},
		Key:      Span{int(key.Raw.Offset), int(key.Raw.Offset + key.Raw.Length)},
	}
}

func join(prefix, key string) string {
	if prefix == "" {
		return key
	}
	return prefix + "." + key
}
