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
