package web

import (
	"bytes"
	"io"
	"io/fs"
	"strings"
)

// lean serves modules and styles without their comments and indentation, which
// are for those who read the source: a phone in a barn loads less. Only whole
// lines are left out, so that comments of one line are all that it needs to
// know; a test holds the files to that.
type lean struct{ fs.FS }

func (l lean) Open(name string) (fs.File, error) {
	f, err := l.FS.Open(name)
	style := strings.HasSuffix(name, ".css")
	if err != nil || !style && !strings.HasSuffix(name, ".js") {
		return f, err
	}
	defer f.Close()
	text, err := io.ReadAll(f)
	if err != nil {
		return nil, err
	}
	info, err := f.Stat()
	if err != nil {
		return nil, err
	}
	mark := "//"
	if style {
		mark = "/*"
	}
	text = leanText(text, mark)
	return &leanFile{bytes.NewReader(text), leanInfo{info, int64(len(text))}}, nil
}

// leanText leaves out blank lines, lines that begin with the mark of a comment,
// and what lines are indented by.
func leanText(text []byte, mark string) []byte {
	var out bytes.Buffer
	for line := range bytes.Lines(text) {
		line = bytes.TrimSpace(line)
		if len(line) == 0 || bytes.HasPrefix(line, []byte(mark)) {
			continue
		}
		out.Write(line)
		out.WriteByte('\n')
	}
	return out.Bytes()
}

type leanFile struct {
	*bytes.Reader
	info leanInfo
}

func (f *leanFile) Stat() (fs.FileInfo, error) { return f.info, nil }
func (f *leanFile) Close() error               { return nil }

type leanInfo struct {
	fs.FileInfo
	size int64
}

func (i leanInfo) Size() int64 { return i.size }
