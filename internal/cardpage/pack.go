package cardpage

import (
	"bytes"
	"compress/flate"
	"encoding/base64"
	"io"
)

// engine writes the packed engine into a page: deflated, which the browser
// undoes by itself, and as text.
func engine(w io.Writer, wasm []byte) error {
	var packed bytes.Buffer
	z, err := flate.NewWriter(&packed, flate.BestCompression)
	if err != nil {
		return err
	}
	if _, err := z.Write(wasm); err != nil {
		return err
	}
	if err := z.Close(); err != nil {
		return err
	}
	_, err = io.WriteString(w, "<script type=\"application/octet-stream\" id=\"engine\">"+base64.StdEncoding.EncodeToString(packed.Bytes())+"</script>\n")
	return err
}
