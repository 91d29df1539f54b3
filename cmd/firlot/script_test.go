package main

import (
	"bytes"
	"encoding/json"
	"flag"
	"os"
	"path/filepath"
	"testing"

	"github.com/rogpeppe/go-internal/testscript"
)

var update = flag.Bool("update", false, "write what the scripts' commands print into the scripts")

func TestMain(m *testing.M) {
	testscript.Main(m, map[string]func(){"firlot": main})
}

// TestScripts runs the scripts in testdata/script. $EXAMPLES is the folder of
// example documents.
func TestScripts(t *testing.T) {
	examples, err := filepath.Abs("../../examples")
	if err != nil {
		t.Fatal(err)
	}
	testscript.Run(t, testscript.Params{
		Dir: "testdata/script",
		Setup: func(e *testscript.Env) error {
			e.Setenv("EXAMPLES", examples)
			e.Setenv("NO_COLOR", "1")
			return nil
		},
		Cmds: map[string]func(*testscript.TestScript, bool, []string){
			"gist": gist, "crlf": crlf, "truncate": truncate, "writebytes": writeBytes, "narrow": narrow,
		},
		UpdateScripts: *update,
	})
}

// gist FROM TO keeps of a report what a script can hold: it masks the time
// that solving took, and leaves out figures without a window and the
// published windows that are only shown.
func gist(ts *testscript.TestScript, neg bool, args []string) {
	if neg || len(args) != 2 {
		ts.Fatalf("usage: gist FROM TO")
	}
	var r map[string]any
	ts.Check(json.Unmarshal([]byte(ts.ReadFile(args[0])), &r))
	if ms, ok := r["solve_ms"].(float64); ok && ms >= 0 {
		r["solve_ms"] = "masked"
	}
	kept := []any{}
	for _, f := range r["figures"].([]any) {
		if f.(map[string]any)["window"] != nil {
			kept = append(kept, f)
		}
	}
	r["figures"] = kept
	delete(r, "shown")
	out, err := json.MarshalIndent(r, "", "  ")
	ts.Check(err)
	ts.Check(os.WriteFile(ts.MkAbs(args[1]), append(out, '\n'), 0o644))
}

// crlf FILE gives a file Windows line ends; "! crlf FILE" takes them away and
// fails when a line has none.
func crlf(ts *testscript.TestScript, neg bool, args []string) {
	text := []byte(ts.ReadFile(args[0]))
	ends, plain := bytes.Count(text, []byte("\r\n")), bytes.Count(text, []byte("\n"))
	switch {
	case neg && ends != plain:
		ts.Fatalf("%d of %d lines end in the Windows way", ends, plain)
	case neg:
		text = bytes.ReplaceAll(text, []byte("\r\n"), []byte("\n"))
	default:
		text = bytes.ReplaceAll(text, []byte("\n"), []byte("\r\n"))
	}
	ts.Check(os.WriteFile(ts.MkAbs(args[0]), text, 0o644))
}

// truncate FILE makes a sparse file of 50 MB.
func truncate(ts *testscript.TestScript, neg bool, args []string) {
	f, err := os.Create(ts.MkAbs(args[0]))
	ts.Check(err)
	ts.Check(f.Truncate(50 << 20))
	ts.Check(f.Close())
}

// writebytes FILE TEXT [BEFORE] writes a Go-quoted text, before another
// file's contents when one is named.
func writeBytes(ts *testscript.TestScript, neg bool, args []string) {
	var text string
	ts.Check(json.Unmarshal([]byte(`"`+args[1]+`"`), &text))
	raw := make([]byte, 0, len(text))
	for _, r := range text { // code points up to 255 stand for bytes
		raw = append(raw, byte(r))
	}
	if len(args) > 2 {
		raw = append(raw, ts.ReadFile(args[2])...)
	}
	ts.Check(os.WriteFile(ts.MkAbs(args[0]), raw, 0o644))
}

// widest is the widest line that text output may have.
const widest = 100

// narrow FILE fails when a line is wider than widest.
func narrow(ts *testscript.TestScript, neg bool, args []string) {
	for _, line := range bytes.Split([]byte(ts.ReadFile(args[0])), []byte("\n")) {
		if n := len(bytes.Runes(line)); n > widest {
			ts.Fatalf("%d columns: %s", n, line)
		}
	}
}
