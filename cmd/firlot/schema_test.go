package main

import (
	"bytes"
	"encoding/json"
	"fmt"
	"os"
	"path/filepath"
	"reflect"
	"slices"
	"strings"
	"testing"

	"github.com/santhosh-tekuri/jsonschema/v6"

	"firlot/report"
)

const schemaFolder = "../../docs/schema"

// schemas are the published schemas with the Go types that they describe.
var schemas = map[string]reflect.Type{
	"report":         reflect.TypeFor[report.Report](),
	"catalog-list":   reflect.TypeFor[[]listed](),
	"catalog-search": reflect.TypeFor[searched](),
	"catalog-show":   reflect.TypeFor[[]shownForm](),
	"needs-list":     reflect.TypeFor[[]listedSpecies](),
	"needs-show":     reflect.TypeFor[[]shownStage](),
	"without":        reflect.TypeFor[[]report.Swap](),
	"portion":        reflect.TypeFor[report.Portion](),
	"spoonful":       reflect.TypeFor[report.Spoonful](),
	"mixing":         reflect.TypeFor[report.Mixing](),
	"region":         reflect.TypeFor[report.Region](),
	"base":           reflect.TypeFor[report.Base](),
	"rescue":         reflect.TypeFor[report.Rescue](),
	"making":         reflect.TypeFor[report.Making](),
	"week":           reflect.TypeFor[report.Week](),
}

func compiled(t *testing.T, name string) *jsonschema.Schema {
	t.Helper()
	c := jsonschema.NewCompiler()
	c.DefaultDraft(jsonschema.Draft2020)
	s, err := c.Compile(filepath.Join(schemaFolder, name+".json"))
	if err != nil {
		t.Fatal(err)
	}
	return s
}

func decoded(t *testing.T, text []byte) any {
	t.Helper()
	v, err := jsonschema.UnmarshalJSON(bytes.NewReader(text))
	if err != nil {
		t.Fatalf("%v: %.200s", err, text)
	}
	return v
}

// outputs runs every command that prints JSON; the keys are schemas.
func outputs(t *testing.T) map[string][]any {
	out := map[string][]any{}
	add := func(schema string, args []string, status ...int) {
		out[schema] = append(out[schema], decoded(t, mustRun(t, append(args, "--json"), status...)))
	}
	add("catalog-list", []string{"catalog", "list"}, 0)
	for _, words := range []string{"oat", "hafer", "avena sativa", "no such food at all", "chocolate", "kidney beans"} {
		add("catalog-search", []string{"catalog", "search", words}, 0)
	}
	var list []listed
	if err := json.Unmarshal(mustRun(t, []string{"catalog", "list", "--json"}, 0), &list); err != nil {
		t.Fatal(err)
	}
	for _, in := range list {
		add("catalog-show", []string{"catalog", "show", in.Ingredient}, 0)
	}
	add("needs-list", []string{"needs", "list"}, 0)
	for _, s := range []string{"gerbil", "syrian-hamster", "dwarf-hamster", "mouse", "rat"} {
		add("needs-show", []string{"needs", "show", s}, 0)
	}
	for _, file := range exampleFiles(t) {
		add("report", []string{"solve", file}, 0, 3)
		copied := filepath.Join(t.TempDir(), "mix.toml")
		text, err := os.ReadFile(file)
		if err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(copied, text, 0o644); err != nil {
			t.Fatal(err)
		}
		if _, _, status := runFirlot(t, "solve", copied, "--write"); status == 0 {
			add("report", []string{"check", copied}, 0)
		}
	}
	one := "../../examples/gerbil-adult.toml"
	add("without", []string{"without", one, "linseed/whole", "--use", "hemp/whole"}, 0)
	add("region", []string{"region", one}, 0)
	for _, file := range []string{one, "../../examples/mouse.toml", "../../examples/own-ingredient.toml"} {
		add("portion", []string{"portion", file, "--weight", "40"}, 0)
		add("spoonful", []string{"spoonful", file}, 0)
	}
	add("base", []string{"base", "../../examples/gerbil-growing.toml", one, "../../examples/gerbil-senior.toml"}, 0)
	add("base", []string{"base", "../../examples/gerbil-growing.toml", "../../examples/gerbil-senior.toml", "--most", "20 g"}, 3)
	for name, docs := range makingDocuments(t) {
		out[name] = append(out[name], docs...)
	}
	add("portion", []string{"portion", one, "--weight", "80", "--spoon", "7.5", "--state", "pregnant"}, 0)
	for _, file := range weekFiles(t) {
		add("week", []string{"week", file, "--day", "2026-11-25", "--mend", "--shopping", "2"}, 0)
		add("week", []string{"week", file, "--day", "2027-01-20"}, 0)
	}
	add("spoonful", []string{"spoonful", one, "--draw", "3"}, 0)
	add("mixing", []string{"scoops", one, "--marker", "linseed/whole"}, 0)
	add("mixing", []string{"scoops", one, "--marker", "linseed/whole", "--scoop", "20g", "--counts", "40,61,48,70,55", "--large-scoop", "100", "--large", "260,281,270,265"}, 0)
	return out
}

// weekFiles are the examples of weeks.
func weekFiles(t *testing.T) []string {
	t.Helper()
	list, err := filepath.Glob("../../examples/weeks/*.toml")
	if err != nil || len(list) == 0 {
		t.Fatal("no weeks", err)
	}
	return list
}

// TestOutputsFitSchemas validates every command's JSON, then the same JSON
// with a key too many in each kind of object.
func TestOutputsFitSchemas(t *testing.T) {
	for name, docs := range outputs(t) {
		schema := compiled(t, name)
		tried := map[string]bool{}
		for i, doc := range docs {
			if err := schema.Validate(doc); err != nil {
				t.Errorf("%s, document %d: %v", name, i, err)
				continue
			}
			walkObjects(doc, "", func(at string, o map[string]any) {
				if tried[at] {
					return
				}
				tried[at] = true
				o["key-that-nobody-knows"] = true
				if schema.Validate(doc) == nil {
					t.Errorf("%s%s: takes a key that nobody knows", name, at)
				}
				delete(o, "key-that-nobody-knows")
			})
		}
		if len(tried) == 0 {
			t.Errorf("%s: no object was tried", name)
		}
	}
}

// walkObjects visits every object in a JSON document; elements of an array
// share one place.
func walkObjects(v any, at string, visit func(at string, o map[string]any)) {
	switch t := v.(type) {
	case map[string]any:
		visit(at, t)
		for k, x := range t {
			walkObjects(x, at+"."+k, visit)
		}
	case []any:
		for _, x := range t {
			walkObjects(x, at+"[]", visit)
		}
	}
}

// TestSchemasFitTypes holds the schemas against the Go types that are
// printed: the same keys, and required exactly those that are always there.
func TestSchemasFitTypes(t *testing.T) {
	files, err := filepath.Glob(schemaFolder + "/*.json")
	if err != nil || len(files) != len(schemas) {
		t.Errorf("there are %d schemas (%v) for %d kinds of output", len(files), err, len(schemas))
	}
	for name, typ := range schemas {
		text, err := os.ReadFile(filepath.Join(schemaFolder, name+".json"))
		if err != nil {
			t.Error(err)
			continue
		}
		var root map[string]any
		if err := json.Unmarshal(text, &root); err != nil {
			t.Fatal(err)
		}
		compareType(t, name, root, root, typ)
	}
}

func compareType(t *testing.T, at string, root, s map[string]any, typ reflect.Type) {
	if ref, ok := s["$ref"].(string); ok {
		s = root["$defs"].(map[string]any)[strings.TrimPrefix(ref, "#/$defs/")].(map[string]any)
	}
	if either, ok := s["anyOf"].([]any); ok {
		compareType(t, at, root, either[0].(map[string]any), typ)
		return
	}
	for typ.Kind() == reflect.Pointer {
		typ = typ.Elem()
	}
	switch typ.Kind() {
	case reflect.Slice:
		compareType(t, at+"[]", root, s["items"].(map[string]any), typ.Elem())
	case reflect.Map:
		compareType(t, at+"{}", root, s["additionalProperties"].(map[string]any), typ.Elem())
	case reflect.Struct:
		compareKeys(t, at, root, s, typ)
	}
}

func compareKeys(t *testing.T, at string, root, s map[string]any, typ reflect.Type) {
	if s["additionalProperties"] != false {
		t.Errorf("%s: takes unknown keys", at)
	}
	props, _ := s["properties"].(map[string]any)
	var always []string
	for i := range typ.NumField() {
		key, options, _ := strings.Cut(typ.Field(i).Tag.Get("json"), ",")
		sub, ok := props[key].(map[string]any)
		if !ok {
			t.Errorf("%s: the schema lacks %s", at, key)
			continue
		}
		if !strings.Contains(options, "omitempty") {
			always = append(always, key)
		}
		compareType(t, at+"."+key, root, sub, typ.Field(i).Type)
	}
	if len(props) != typ.NumField() {
		t.Errorf("%s: the schema has %d keys, the output %d", at, len(props), typ.NumField())
	}
	var required []string
	for _, k := range s["required"].([]any) {
		required = append(required, fmt.Sprint(k))
	}
	slices.Sort(required)
	slices.Sort(always)
	if !slices.Equal(required, always) {
		t.Errorf("%s: required are %v, always there are %v", at, required, always)
	}
}
