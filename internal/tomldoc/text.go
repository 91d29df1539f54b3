package tomldoc

import (
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"strconv"
	"strings"
)

// ByteOrderMark is what some editors put at the start of a UTF-8 text. It
// means nothing: whoever reads a document skips it, and writes it back.
var ByteOrderMark = []byte("\xef\xbb\xbf")

// ReadFile reads the text of a document, but of a larger file no more than one
// byte beyond most. Complaints about the file are *Error values.
func ReadFile(path string, most int64) ([]byte, error) {
	info, err := os.Stat(path)
	switch {
	case errors.Is(err, fs.ErrNotExist):
		return nil, &Error{File: path, Message: "there is no such file"}
	case err != nil:
		return nil, err
	case info.IsDir():
		return nil, &Error{File: path, Message: "is a folder, not a document", Hint: "name a file in it"}
	}
	f, err := os.Open(path)
	if err != nil {
		return nil, err
	}
	defer f.Close()
	text, err := io.ReadAll(io.LimitReader(f, most+1))
	if err != nil {
		return nil, fmt.Errorf("%s: %w", path, err)
	}
	return text, nil
}

// Decimal prints a figure as TOML reads it back to the same value.
func Decimal(v float64) string {
	s := strconv.FormatFloat(v, 'f', -1, 64)
	if !strings.Contains(s, ".") {
		s += ".0"
	}
	return s
}

// Quote writes a TOML basic string.
func Quote(s string) string {
	var b strings.Builder
	b.WriteByte('"')
	for _, r := range s {
		switch {
		case r == '"' || r == '\\':
			b.WriteByte('\\')
			b.WriteRune(r)
		case r == '\n':
			b.WriteString(`\n`)
		case r == '\t':
			b.WriteString(`\t`)
		case r < 0x20 || r == 0x7f:
			fmt.Fprintf(&b, `\u%04X`, r)
		default:
			b.WriteRune(r)
		}
	}
	b.WriteByte('"')
	return b.String()
}
