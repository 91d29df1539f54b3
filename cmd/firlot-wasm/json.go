package main

import (
	"reflect"
	"strconv"
	"strings"
	"unicode/utf8"
)

// marshal writes a value as encoding/json does with its HTML escapes off, for
// the kinds of values that answers are made of: the library is a tenth of a
// program that has little room.
func marshal(v any, indent bool) []byte {
	w := &jsonWriter{indent: indent}
	w.value(reflect.ValueOf(v))
	if indent {
		w.b = append(w.b, '\n')
	}
	return w.b
}

type jsonWriter struct {
	b      []byte
	indent bool
	depth  int
}

// jsonMarshaler is encoding/json's Marshaler.
type jsonMarshaler interface{ MarshalJSON() ([]byte, error) }

func (w *jsonWriter) value(v reflect.Value) {
	switch v.Kind() {
	case reflect.Pointer, reflect.Interface:
		if v.IsNil() {
			w.b = append(w.b, "null"...)
			return
		}
		w.value(v.Elem())
		return
	}
	if m, ok := v.Interface().(jsonMarshaler); ok {
		text, err := m.MarshalJSON()
		if err != nil {
			text = []byte("null")
		}
		w.b = append(w.b, text...)
		return
	}
	switch v.Kind() {
	case reflect.Bool:
		w.b = strconv.AppendBool(w.b, v.Bool())
	case reflect.Int, reflect.Int8, reflect.Int16, reflect.Int32, reflect.Int64:
		w.b = strconv.AppendInt(w.b, v.Int(), 10)
	case reflect.String:
		w.text(v.String())
	case reflect.Slice:
		w.slice(v)
	case reflect.Struct:
		w.object(v)
	default:
		panic("an answer holds a " + v.Kind().String())
	}
}

func (w *jsonWriter) slice(v reflect.Value) {
	if v.IsNil() {
		w.b = append(w.b, "null"...)
		return
	}
	w.between('[', ']', v.Len(), func(i int) bool {
		w.next(i)
		w.value(v.Index(i))
		return true
	})
}

func (w *jsonWriter) object(v reflect.Value) {
	t := v.Type()
	written := 0
	w.between('{', '}', t.NumField(), func(i int) bool {
		name, options, _ := strings.Cut(t.Field(i).Tag.Get("json"), ",")
		if name == "-" || name == "" || options == "omitempty" && empty(v.Field(i)) {
			return false
		}
		w.next(written)
		written++
		w.text(name)
		w.b = append(w.b, ':')
		if w.indent {
			w.b = append(w.b, ' ')
		}
		w.value(v.Field(i))
		return true
	})
}

// between writes n parts between two brackets; each reports whether it wrote.
func (w *jsonWriter) between(open, end byte, n int, part func(i int) bool) {
	w.b = append(w.b, open)
	w.depth++
	any := false
	for i := range n {
		any = part(i) || any
	}
	w.depth--
	if any {
		w.line()
	}
	w.b = append(w.b, end)
}

// next starts the i-th part of those written.
func (w *jsonWriter) next(i int) {
	if i > 0 {
		w.b = append(w.b, ',')
	}
	w.line()
}

func (w *jsonWriter) line() {
	if w.indent {
		w.b = append(w.b, '\n')
		for range w.depth {
			w.b = append(w.b, "  "...)
		}
	}
}

func empty(v reflect.Value) bool {
	switch v.Kind() {
	case reflect.Slice, reflect.String:
		return v.Len() == 0
	case reflect.Pointer, reflect.Interface:
		return v.IsNil()
	case reflect.Bool:
		return !v.Bool()
	case reflect.Int, reflect.Int64:
		return v.Int() == 0
	case reflect.Float64:
		return v.Float() == 0
	}
	return false
}

const hexDigits = "0123456789abcdef"

// text writes a string with the escapes that encoding/json uses.
func (w *jsonWriter) text(s string) {
	w.b = append(w.b, '"')
	for i := 0; i < len(s); {
		r, n := utf8.DecodeRuneInString(s[i:])
		switch {
		case r == '"' || r == '\\':
			w.b = append(w.b, '\\', byte(r))
		case r == '\n':
			w.b = append(w.b, `\n`...)
		case r == '\r':
			w.b = append(w.b, `\r`...)
		case r == '\t':
			w.b = append(w.b, `\t`...)
		case r == '\b':
			w.b = append(w.b, `\b`...)
		case r == '\f':
			w.b = append(w.b, `\f`...)
		case r < ' ' || r == 0x2028 || r == 0x2029 || r == utf8.RuneError && n == 1:
			w.b = append(w.b, '\\', 'u', hexDigits[r>>12&15], hexDigits[r>>8&15], hexDigits[r>>4&15], hexDigits[r&15])
		default:
			w.b = append(w.b, s[i:i+n]...)
		}
		i += n
	}
	w.b = append(w.b, '"')
}
