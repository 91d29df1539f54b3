package pack

import (
	"bytes"
	"compress/flate"
	"embed"
	"encoding/base64"
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

// Pack squeezes bytes into text that can stand in a script element.
func Pack(b []byte) string {
	var out bytes.Buffer
	z, err := flate.NewWriter(&out, flate.BestCompression)
	if err != nil {
		panic(err) // the level is a constant
	}
	z.Write(b) // a buffer takes everything
	z.Close()
	return base64.StdEncoding.EncodeToString(out.Bytes())
}
