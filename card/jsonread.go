package card

import (
	"bytes"
	"fmt"
	"math"
	"strconv"
	"strings"
	"unicode"
	"unicode/utf8"
)

// Refusal says why a card is refused, and where.
type Refusal struct {
	Path string // such as mixes[0].document.batch_mg
	Why  string
}

// Error names the place and the reason.
func (r *Refusal) Error() string {
	if r.Path == "" {
		return "the card is refused: " + r.Why
	}
	return "the card is refused at " + r.Path + ": " + r.Why
}

// reader reads JSON strictly: every member must be known and stand once, text
// is valid UTF-8 without control characters, lists and numbers are bounded.
// How deep it goes is fixed by its callers, who ask for what must come next.
// After the first fault every method does nothing.
type reader struct {
	b    []byte
	i    int
	path []string
	err  *Refusal
}

func (r *reader) refuse(format string, args ...any) {
	if r.err == nil {
		r.err = &Refusal{strings.TrimPrefix(strings.Join(r.path, ""), "."), fmt.Sprintf(format, args...)}
		r.i = len(r.b)
	}
}

// peek is the next byte that is not space, or 0.
func (r *reader) peek() byte {
	for r.i < len(r.b) {
		switch c := r.b[r.i]; c {
		case ' ', '\t', '\n', '\r':
			r.i++
		default:
			return c
		}
	}
	return 0
}

// take takes a byte when it is the next.
func (r *reader) take(c byte) bool {
	if r.peek() != c {
		return false
	}
	r.i++
	return true
}

func (r *reader) want(c byte, what string) bool {
	if r.err == nil && !r.take(c) {
		r.refuse("%s is expected", what)
	}
	return r.err == nil
}

// members are what an object may hold.
type members map[string]func()

// object reads an object of known members, each at most once.
func (r *reader) object(known members) {
	if !r.want('{', "an object") || r.take('}') {
		return
	}
	seen := make(map[string]bool, len(known))
	for r.err == nil {
		name := r.text(MaxTitle)
		if r.err != nil || !r.want(':', "a colon") {
			return
		}
		r.path = append(r.path, "."+name)
		read, ok := known[name]
		switch {
		case !ok:
			r.refuse("this member is not known")
		case seen[name]:
			r.refuse("this member stands twice")
		default:
			seen[name] = true
			read()
		}
		r.path = r.path[:len(r.path)-1]
		if r.take('}') {
			return
		}
		r.want(',', "a comma or the end of the object")
	}
}

// list reads an array of at most most elements.
func (r *reader) list(most int, each func(i int)) {
	if !r.want('[', "a list") || r.take(']') {
		return
	}
	for i := 0; r.err == nil; i++ {
		if i == most {
			r.refuse("the list is longer than %d", most)
			return
		}
		r.path = append(r.path, "["+strconv.Itoa(i)+"]")
		each(i)
		r.path = r.path[:len(r.path)-1]
		if r.take(']') {
			return
		}
		r.want(',', "a comma or the end of the list")
	}
}

// number reads a number within bounds.
func (r *reader) number(least, most float64) float64 {
	c := r.peek()
	if r.err != nil || c != '-' && (c < '0' || c > '9') {
		r.refuse("a number is expected")
		return 0
	}
	from := r.i
	for r.i < len(r.b) && r.i-from < 40 && strings.IndexByte("+-.eE0123456789", r.b[r.i]) >= 0 {
		r.i++
	}
	v, err := strconv.ParseFloat(string(r.b[from:r.i]), 64)
	switch {
	case err != nil || math.IsNaN(v) || math.IsInf(v, 0):
		r.refuse("%q is not a number", r.b[from:r.i])
		return 0
	case v < least || v > most:
		r.refuse("%v is out of range; it lies between %v and %v", v, least, most)
		return 0
	}
	return v
}

// whole reads a whole number within bounds, which lie within ±2⁵³.
func (r *reader) whole(least, most int64) int64 {
	v := r.number(float64(least), float64(most))
	if v != math.Trunc(v) {
		r.refuse("%v is not a whole number", v)
		return 0
	}
	return int64(v)
}

func (r *reader) truth() bool {
	r.peek()
	switch rest := r.b[r.i:]; {
	case r.err != nil:
	case bytes.HasPrefix(rest, []byte("true")):
		r.i += len("true")
		return true
	case bytes.HasPrefix(rest, []byte("false")):
		r.i += len("false")
	default:
		r.refuse("true or false is expected")
	}
	return false
}

// text reads a string of at most most characters on one line.
func (r *reader) text(most int) string { return r.string(most, false) }

// lines reads a string that may hold line breaks.
func (r *reader) lines(most int) string { return r.string(most, true) }

func (r *reader) string(most int, breaks bool) string {
	if !r.want('"', "a text") {
		return ""
	}
	var out []byte
	for n := 0; ; n++ {
		if n > most {
			r.refuse("the text is longer than %d characters", most)
			return ""
		}
		c, end, ok := r.char()
		switch {
		case !ok:
			return ""
		case end:
			return string(out)
		case c == '\n' && breaks:
		case unicode.IsControl(c) || turns(c):
			r.refuse("the text holds a control character, U+%04X", c)
			return ""
		}
		out = utf8.AppendRune(out, c)
	}
}

// turns reports whether a character turns the direction of writing, which can
// make a text read as another.
func turns(c rune) bool { return unicode.Is(unicode.Bidi_Control, c) }

// char reads one character of a string, or its end.
func (r *reader) char() (c rune, end, ok bool) {
	c, n := utf8.DecodeRune(r.b[r.i:])
	r.i += n
	switch {
	case n == 0:
		r.refuse("the text has no end")
		return 0, false, false
	case c == utf8.RuneError && n == 1:
		r.refuse("the text is not valid UTF-8")
		return 0, false, false
	case c < ' ':
		r.refuse("the text holds a control character, U+%04X", c)
		return 0, false, false
	case c == '"':
		return 0, true, true
	case c == '\\':
		return r.escape()
	}
	return c, false, true
}

func (r *reader) escape() (c rune, end, ok bool) {
	if r.i < len(r.b) {
		c := r.b[r.i]
		r.i++
		switch c {
		case '"', '\\', '/':
			return rune(c), false, true
		case 'n':
			return '\n', false, true
		case 't':
			return '\t', false, true
		case 'u':
			return r.unicode()
		}
	}
	r.refuse("the text holds an escape that is not known")
	return 0, false, false
}

// unicode reads the four digits of an escape. Surrogates are refused: what
// lies beyond them stands in a card as itself.
func (r *reader) unicode() (c rune, end, ok bool) {
	if r.i+4 <= len(r.b) {
		v, err := strconv.ParseUint(string(r.b[r.i:r.i+4]), 16, 16)
		r.i += 4
		if err == nil && (v < 0xd800 || v > 0xdfff) {
			return rune(v), false, true
		}
	}
	r.refuse("the text holds an escape that is no character")
	return 0, false, false
}

// rawDepth is how deep a value may go that is kept as it stands.
const rawDepth = 12

// raw reads any value of at most most bytes and keeps its text. Its strings
// are ASCII without what HTML could take for markup, as certificates are.
func (r *reader) raw(most int) []byte {
	r.peek()
	from := r.i
	r.skip(rawDepth, from+most)
	if r.err != nil {
		return nil
	}
	return append([]byte(nil), r.b[from:r.i]...)
}

func (r *reader) skip(depth, limit int) {
	if depth == 0 || r.i > limit {
		r.refuse("the value is too deep or too long")
		return
	}
	each := func() { r.skip(depth-1, limit) }
	switch r.peek() {
	case '{':
		r.i++
		r.skipAll('}', func() { r.plain(); r.want(':', "a colon"); each() })
	case '[':
		r.i++
		r.skipAll(']', each)
	case '"':
		r.plain()
	case 't', 'f':
		r.truth()
	default:
		r.number(-1e300, 1e300)
	}
}

func (r *reader) skipAll(end byte, each func()) {
	if r.take(end) {
		return
	}
	for r.err == nil {
		each()
		if r.take(end) {
			return
		}
		r.want(',', "a comma")
	}
}

// plain skips a string of printable ASCII without markup.
func (r *reader) plain() {
	if !r.want('"', "a text") {
		return
	}
	for r.i < len(r.b) {
		c := r.b[r.i]
		r.i++
		switch {
		case c == '"':
			return
		case c == '\\':
			r.i++
		case c < ' ' || c == '<' || c == '>' || c == '&' || c == 0x7f:
			r.refuse("a certificate holds a character that has no place there")
			return
		}
	}
	r.refuse("the text has no end")
}
