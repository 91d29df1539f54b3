package card

import (
	"math"
	"strconv"
	"unicode/utf8"
)

// writer writes JSON without spaces, every member in its place, so that a
// value has one text only. What HTML or a direction of writing could take for
// more than text is written as an escape: the text can stand inside a script
// element as it is.
type writer struct {
	b     []byte
	comma bool
}

// key starts a member.
func (w *writer) key(name string) {
	w.sep()
	w.b = append(w.b, '"')
	w.b = append(append(w.b, name...), '"', ':')
	w.comma = false
}

func (w *writer) sep() {
	if w.comma {
		w.b = append(w.b, ',')
	}
	w.comma = true
}

// in writes what stands between two brackets.
func (w *writer) in(open, end byte, inside func()) {
	w.sep()
	w.b = append(w.b, open)
	w.comma = false
	inside()
	w.b = append(w.b, end)
	w.comma = true
}

func (w *writer) object(inside func()) { w.in('{', '}', inside) }
func (w *writer) array(inside func())  { w.in('[', ']', inside) }

func (w *writer) whole(v int64) {
	w.sep()
	w.b = strconv.AppendInt(w.b, v, 10)
}

// number writes the shortest text that reads back as the same number; what is
// no number, which no card holds, as 0.
func (w *writer) number(v float64) {
	w.sep()
	if math.IsNaN(v) || math.IsInf(v, 0) {
		v = 0
	}
	w.b = strconv.AppendFloat(w.b, v, 'g', -1, 64)
}

func (w *writer) truth(v bool) {
	w.sep()
	w.b = strconv.AppendBool(w.b, v)
}

// raw writes JSON that is known to be safe.
func (w *writer) raw(text []byte) {
	w.sep()
	w.b = append(w.b, text...)
}

const hexDigits = "0123456789abcdef"

func (w *writer) text(s string) {
	w.sep()
	w.b = append(w.b, '"')
	for i := 0; i < len(s); {
		r, n := utf8.DecodeRuneInString(s[i:])
		switch {
		case r == '\n':
			w.b = append(w.b, '\\', 'n')
		case r == '"' || r == '\\':
			w.b = append(w.b, '\\', byte(r))
		case escaped(r):
			w.b = append(w.b, '\\', 'u', hexDigits[r>>12&15], hexDigits[r>>8&15], hexDigits[r>>4&15], hexDigits[r&15])
		default:
			w.b = utf8.AppendRune(w.b, r)
		}
		i += n
	}
	w.b = append(w.b, '"')
}

func escaped(r rune) bool {
	return r < ' ' || r == '<' || r == '>' || r == '&' || r >= 0x7f && r < 0xa0 || r == 0x2028 || r == 0x2029
}

// The members below are left out when they are empty.

func (w *writer) textAt(name, s string) {
	if s != "" {
		w.key(name)
		w.text(s)
	}
}

func (w *writer) wholeAt(name string, v int64) {
	if v != 0 {
		w.key(name)
		w.whole(v)
	}
}

func (w *writer) numberAt(name string, v float64) {
	if v != 0 {
		w.key(name)
		w.number(v)
	}
}

func (w *writer) maybeAt(name string, v *float64) {
	if v != nil {
		w.key(name)
		w.number(*v)
	}
}

func (w *writer) truthAt(name string, v bool) {
	if v {
		w.key(name)
		w.truth(v)
	}
}

func (w *writer) textsAt(name string, list []string) {
	if len(list) > 0 {
		w.key(name)
		w.array(func() {
			for _, s := range list {
				w.text(s)
			}
		})
	}
}

// listAt writes a list of n elements.
func (w *writer) listAt(name string, n int, each func(i int)) {
	if n > 0 {
		w.key(name)
		w.array(func() {
			for i := range n {
				each(i)
			}
		})
	}
}
