// Package files reads the catalogue from TOML files.
package files

import (
	"fmt"
	"io/fs"
	"path"
	"sort"
	"strings"
	"sync"

	"firlot/catalog"
	"firlot/catalog/data"
	"firlot/internal/tomldoc"
	"firlot/nutrient"
)

// Names of the two files that do not hold an ingredient.
const (
	unsafeFile  = "unsafe.toml"
	sourcesFile = "sources.toml"
)

// Builtin returns the embedded catalogue. It is read once.
var Builtin = sync.OnceValues(func() (*catalog.Catalogue, error) { return Load(data.Files) })

// Load reads every TOML file at the top of a file system: sources.toml,
// unsafe.toml, and one file per ingredient named after its id. Errors are
// *tomldoc.Error values with file, line and field.
func Load(fsys fs.FS) (*catalog.Catalogue, error) {
	names, err := fs.Glob(fsys, "*.toml")
	if err != nil {
		return nil, err
	}
	sort.Strings(names)
	sources, err := loadSources(fsys)
	if err != nil {
		return nil, err
	}
	unsafe, err := loadUnsafe(fsys)
	if err != nil {
		return nil, err
	}
	var list []*catalog.Ingredient
	for _, name := range names {
		if name == unsafeFile || name == sourcesFile {
			continue
		}
		text, err := fs.ReadFile(fsys, name)
		if err != nil {
			return nil, err
		}
		in, err := Ingredient(name, text)
		if err != nil {
			return nil, err
		}
		list = append(list, in)
	}
	return catalog.New(list, unsafe, sources), nil
}

// Ingredient reads one ingredient file and checks what can be checked in it
// alone.
func Ingredient(name string, text []byte) (*catalog.Ingredient, error) {
	var raw rawIngredient
	doc, err := tomldoc.Decode(name, text, &raw)
	if err != nil {
		return nil, err
	}
	return raw.build(doc)
}

func loadSources(fsys fs.FS) (map[string]catalog.Source, error) {
	text, err := fs.ReadFile(fsys, sourcesFile)
	if err != nil {
		return nil, err
	}
	return Sources(sourcesFile, text)
}

// Sources reads a list of sources: a table each, by key.
func Sources(name string, text []byte) (map[string]catalog.Source, error) {
	raw := map[string]rawSource{}
	if _, err := tomldoc.Decode(name, text, &raw); err != nil {
		return nil, err
	}
	out := make(map[string]catalog.Source, len(raw))
	for key, s := range raw {
		out[key] = catalog.Source{Key: key, Title: s.Title, Publisher: s.Publisher,
			Year: s.Year, Licence: s.Licence, Link: s.Link}
	}
	return out, nil
}

func loadUnsafe(fsys fs.FS) ([]catalog.Unsafe, error) {
	text, err := fs.ReadFile(fsys, unsafeFile)
	if err != nil {
		return nil, err
	}
	var raw rawUnsafeFile
	doc, err := tomldoc.Decode(unsafeFile, text, &raw)
	if err != nil {
		return nil, err
	}
	var out []catalog.Unsafe
	for i, u := range raw.Unsafe {
		if len(u.Names["en"]) == 0 || u.Reason == "" || u.From == "" || !u.How.Known() {
			return nil, doc.At(fmt.Sprintf("unsafe[%d]", i), "an entry needs English names, a reason, from and how", "")
		}
		out = append(out, catalog.Unsafe{ID: u.ID, Names: u.Names, Reason: u.Reason, Instead: u.Instead,
			Source: u.From, How: u.How, SafeWords: u.SafeWords, Whole: u.Whole})
	}
	return out, nil
}

func idOf(file string) string { return strings.TrimSuffix(path.Base(file), ".toml") }

func checkKey(doc *tomldoc.Document, at string, key string) error {
	info, ok := nutrient.Lookup(nutrient.Key(key))
	switch {
	case !ok:
		return doc.At(at, fmt.Sprintf("%q is not a figure that Firlot knows", key), nearestKey(key))
	case info.Derived:
		return doc.At(at, fmt.Sprintf("%q is computed and cannot be typed in", key), "")
	}
	return nil
}
