package scales

import (
	"bytes"
	"encoding/base64"
	"encoding/json"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"testing"

	"github.com/google/go-cmp/cmp"
)

// twin is the module that reads scales in the browser.
const twin = "../web/static/scale-read.js"

// asked is what the twin is asked to read: a report or a stream, in base64.
type asked struct {
	HID    string `json:"hid,omitempty"`
	Stream string `json:"stream,omitempty"`
	Line   string `json:"line,omitempty"`
}

const asking = `import { readFileSync } from "node:fs";
const { hid, line, Lines } = await import(process.argv[2]);
const bytes = (s) => Uint8Array.from(Buffer.from(s, "base64"));
const all = JSON.parse(readFileSync(0, "utf8")).map((a) => {
  if (a.hid) { const b = bytes(a.hid); return [hid(b[0], b.subarray(1))]; }
  if (a.line) return [line(Buffer.from(a.line, "base64").toString("latin1"))];
  return new Lines().add(bytes(a.stream || ""));
});
process.stdout.write(JSON.stringify(all));
`

// ask runs the twin under node.
func ask(t *testing.T, list []asked) [][]Reading {
	t.Helper()
	node, err := exec.LookPath("node")
	if err != nil {
		if os.Getenv("CI") == "true" {
			t.Fatal("there is no node")
		}
		t.Skip("there is no node")
	}
	// As a module of its own: the app's files need no package.json.
	dir := t.TempDir()
	text, err := os.ReadFile(twin)
	if err != nil {
		t.Fatal(err)
	}
	for name, b := range map[string][]byte{"read.mjs": text, "ask.mjs": []byte(asking)} {
		if err := os.WriteFile(filepath.Join(dir, name), b, 0o600); err != nil {
			t.Fatal(err)
		}
	}
	in, err := json.Marshal(list)
	if err != nil {
		t.Fatal(err)
	}
	cmd := exec.CommandContext(t.Context(), node, filepath.Join(dir, "ask.mjs"), "./read.mjs")
	cmd.Stdin = bytes.NewReader(in)
	var complaint bytes.Buffer
	cmd.Stderr = &complaint
	out, err := cmd.Output()
	if err != nil {
		t.Fatalf("%v: %s", err, complaint.String())
	}
	var got [][]struct {
		State   State
		Mg      int64
		Rounded bool
	}
	if err := json.Unmarshal(out, &got); err != nil {
		t.Fatal(err)
	}
	all := make([][]Reading, len(got))
	for i, rs := range got {
		for _, r := range rs {
			all[i] = append(all[i], Reading(r))
		}
	}
	return all
}

func b64(b []byte) string { return base64.StdEncoding.EncodeToString(b) }

func TestTheBrowserReadsTheSame(t *testing.T) {
	var list []asked
	var want [][]Reading
	for _, v := range vectors(t) {
		if v.HID != nil {
			list = append(list, asked{HID: b64(frame(t, *v.HID))})
		} else {
			list = append(list, asked{Line: b64([]byte(*v.Line))})
		}
		want = append(want, []Reading{v.want()})
	}
	got := ask(t, list)
	for i, v := range vectors(t) {
		if v.Line != nil && *v.Line == "" {
			continue // nothing to ask
		}
		if diff := cmp.Diff(want[i], got[i]); diff != "" {
			t.Errorf("%s:\n%s", v.name(), diff)
		}
	}
}

// noise is what breaks a line.
const noise = "0123456789+-., STUSGNkgozlb?\t\x02\x00\xff"

// Random reports and streams, most of them broken a little, mean the same to
// both.
func TestTheTwinsAgree(t *testing.T) {
	r := rand.New(rand.NewPCG(0x8d, 1))
	var lines []string
	for _, v := range vectors(t) {
		if v.Line != nil {
			lines = append(lines, *v.Line)
		}
	}
	var list []asked
	var want [][]Reading
	for range 20_000 {
		b := make([]byte, 1+r.IntN(8))
		for i := range b {
			b[i] = byte(r.Uint32())
		}
		if b[0] = DataReport; len(b) > 2 && r.IntN(4) > 0 {
			b[1], b[2] = byte(r.IntN(10)), byte(r.IntN(15))
		}
		if len(b) > 3 && r.IntN(4) > 0 {
			b[3] = byte(r.IntN(12) - 8)
		}
		list = append(list, asked{HID: b64(b)})
		want = append(want, []Reading{HID(b[0], b[1:])})
	}
	for range 20_000 {
		var b []byte
		for range 1 + r.IntN(4) {
			l := []byte(lines[r.IntN(len(lines))])
			for range r.IntN(3) {
				if len(l) > 0 {
					l[r.IntN(len(l))] = noise[r.IntN(len(noise))]
				}
			}
			b = append(append(b, l...), "\r\n"...)
		}
		var s Lines
		list = append(list, asked{Stream: b64(b)})
		want = append(want, s.Add(b))
	}
	got := ask(t, list)
	weights := 0
	for i := range list {
		if diff := cmp.Diff(want[i], got[i]); diff != "" {
			t.Fatalf("%+v:\n%s", list[i], diff)
		}
		for _, x := range want[i] {
			if x.State.Weighs() {
				weights++
			}
		}
	}
	if weights < 5000 {
		t.Errorf("only %d of them were weights", weights)
	}
}
