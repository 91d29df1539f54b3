package tomldoc

import (
	"reflect"
	"strings"
)

// knownKeys lists the keys that a struct and the structs inside it accept,
// for hints.
func knownKeys(v any) []string {
	seen := map[reflect.Type]bool{}
	keys := map[string]bool{}
	collect(reflect.TypeOf(v), seen, keys)
	list := make([]string, 0, len(keys))
	for k := range keys {
		list = append(list, k)
	}
	return list
}

// Exact complains about the first key that is known but for capitals: the
// decoder takes [[Line]] for [[line]], and whoever looks for the places of
// line then misses it.
func (d *Document) Exact(v any) error {
	known := map[string]bool{}
	for _, k := range knownKeys(v) {
		known[k] = true
	}
	d.Place("") // finds the places
	var first *Error
	for path, at := range d.places {
		for _, key := range strings.Split(path, ".") {
			key, _, _ = strings.Cut(key, "[")
			if known[key] || !known[strings.ToLower(key)] {
				continue
			}
			if first == nil || at.Line < first.Line || at.Line == first.Line && at.Column < first.Column {
				first = &Error{File: d.Name, Line: at.Line, Column: at.Column, Field: path,
					Message: "this key is not known", Hint: hintFor(strings.ToLower(key), []string{strings.ToLower(key)})}
			}
		}
	}
	if first == nil {
		return nil
	}
	return first
}

func collect(t reflect.Type, seen map[reflect.Type]bool, keys map[string]bool) {
	for t.Kind() == reflect.Pointer || t.Kind() == reflect.Slice || t.Kind() == reflect.Map {
		t = t.Elem()
	}
	if t.Kind() != reflect.Struct || seen[t] {
		return
	}
	seen[t] = true
	for i := range t.NumField() {
		f := t.Field(i)
		name, _, _ := strings.Cut(f.Tag.Get("toml"), ",")
		if name != "" && name != "-" {
			keys[name] = true
		}
		collect(f.Type, seen, keys)
	}
}
