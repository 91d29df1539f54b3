package pack

import (
	"embed"
)

//go:embed *.go
var own embed.FS

// Sources are the texts of this package, which have a say in what it makes.
func Sources() []string {
	var list []string
	files, err := own.ReadDir(".")
	if err != nil {
		return nil
	}
	for _, f := range files {
		if text, err := own.ReadFile(f.Name()); err == nil {
			list = append(list, string(text))
		}
	}
	return list
}

// Script is the function firlotUnpack(text), which a page unpacks with.
//
//go:embed unpack.js
var Script string

// Pack squeezes bytes into text that can stand in a script element.
func Pack(b []byte) string {
	split := len(b)
	if m, err := parse(b); err == nil {
		split = len(m.before)
	}
	return encodeText(squeeze(b, split))
}

// Unpack undoes Pack. What would come to more than most bytes is refused
// before it is unpacked.
func Unpack(text string, most int) ([]byte, error) {
	b, err := decodeText(text)
	if err != nil {
		return nil, err
	}
	return unsqueeze(b, most)
}
