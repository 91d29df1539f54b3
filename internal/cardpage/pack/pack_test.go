package pack

import (
	"bytes"
	"encoding/binary"
	"encoding/json"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

// texts are bytes with what a squeezer looks for: runs, repetitions near and
// far, and noise.
var texts = rapid.Custom(func(t *rapid.T) []byte {
	var b []byte
	for range rapid.IntRange(0, 12).Draw(t, "parts") {
		switch rapid.IntRange(0, 2).Draw(t, "kind") {
		case 0:
			b = append(b, rapid.SliceOfN(rapid.Byte(), 0, 40).Draw(t, "noise")...)
		case 1:
			b = append(b, bytes.Repeat([]byte{rapid.Byte().Draw(t, "byte")}, rapid.IntRange(1, 700).Draw(t, "run"))...)
		default:
			if len(b) > 0 {
				from := rapid.IntRange(0, len(b)-1).Draw(t, "from")
				b = append(b, b[from:min(len(b), from+rapid.IntRange(1, 300).Draw(t, "length"))]...)
			}
		}
	}
	return b
})

// What was packed unpacks to what it was, and is text that can stand in a
// script element.
func TestPackAndUnpack(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		b := texts.Draw(t, "bytes")
		split := rapid.IntRange(0, len(b)).Draw(t, "split")
		back, err := unsqueeze(squeeze(b, split), len(b))
		if err != nil || !bytes.Equal(back, b) {
			t.Fatalf("%d bytes came back as %d: %v", len(b), len(back), err)
		}
		s := Pack(b)
		if strings.ContainsAny(s, "<&\\ \n\r") {
			t.Fatal("the text cannot stand in a page")
		}
		if back, err := Unpack(s, len(b)); err != nil || !bytes.Equal(back, b) {
			t.Fatalf("%d bytes came back as %d: %v", len(b), len(back), err)
		}
	})
}

// A text that claims more than may be is refused before room is made for it.
func TestTooMuchIsRefused(t *testing.T) {
	n := 1 << 20
	if testing.Short() {
		n = 1 << 14
	}
	s := Pack(make([]byte, n))
	if len(s) > 2000 {
		t.Errorf("%d zeros are %d letters", n, len(s))
	}
	if _, err := Unpack(s, n-1); err == nil {
		t.Error("more than may be was unpacked")
	}
	for _, bad := range []string{"", "!", "!!!!", "<<<<<<<<<<<<<<<<", strings.Repeat("~", 40), "no text of ours"} {
		if _, err := Unpack(bad, 1<<20); err == nil {
			t.Errorf("%q was unpacked", bad)
		}
	}
}

// FuzzUnpack: whatever text comes, unpacking it ends, within what it may take.
func FuzzUnpack(f *testing.F) {
	f.Add(Pack([]byte("oats, oats and more oats")))
	f.Fuzz(func(t *testing.T, s string) {
		if b, err := Unpack(s, 1<<16); err == nil && len(b) > 1<<16 {
			t.Fatalf("%d bytes came of it", len(b))
		}
	})
}

// inNode runs a script, which prints JSON.
func inNode(t *testing.T, script string, to any) {
	t.Helper()
	if _, err := exec.LookPath("node"); err != nil {
		if os.Getenv("CI") == "true" {
			t.Fatal("node is missing")
		}
		t.Skip("node is missing")
	}
	file := filepath.Join(t.TempDir(), "script.cjs")
	if err := os.WriteFile(file, []byte(script), 0o600); err != nil {
		t.Fatal(err)
	}
	out, err := exec.Command("node", file).CombinedOutput()
	if err != nil {
		t.Fatalf("%v\n%s", err, out)
	}
	if err := json.Unmarshal(out, to); err != nil {
		t.Fatalf("%v\n%.400s", err, out)
	}
}

// The page unpacks as the program does, data and code, and refuses what is
// damaged.
func TestThePageUnpacksAlike(t *testing.T) {
	var cases [][]byte
	for seed := range 30 {
		cases = append(cases, texts.Example(seed))
	}
	if !testing.Short() {
		cases = append(cases, trial(t))
	}
	var packed []string
	for i, b := range cases {
		split := len(b)
		if i%2 == 0 {
			split = len(b) / 3
		}
		packed = append(packed, encodeText(squeeze(b, split)))
	}
	ask, err := json.Marshal(packed)
	if err != nil {
		t.Fatal(err)
	}
	var got struct {
		Base64 []string
		Said   string
	}
	inNode(t, Script+`
const list = `+string(ask)+`;
let said = "nothing";
try { firlotUnpack("~~~~~~~~~~~~~~~~~~~~~~~~"); } catch (err) { said = err.message; }
console.log(JSON.stringify({ Base64: list.map((s) => Buffer.from(firlotUnpack(s)).toString("base64")), Said: said }));`, &got)
	for i, b := range cases {
		want, err := json.Marshal(b)
		if err != nil {
			t.Fatal(err)
		}
		if strings.Trim(string(want), `"`) != strings.ReplaceAll(got.Base64[i], "null", "") && len(b) > 0 {
			t.Errorf("case %d of %d bytes comes out otherwise in the page", i, len(b))
		}
	}
	if !strings.Contains(got.Said, "damaged") {
		t.Errorf("of a damaged text the page says %q", got.Said)
	}
}

// program is a small Go program, built for WASI with its tables of names.
const program = `package main
import "errors"
type point struct{ x, y int }
//go:noinline
func grow(n int) []*point { var l []*point; for i := range n { l = append(l, &point{i, -i}) }; return l }
//go:wasmexport work
func work(n int32) int32 { sum := 0; for range 20 { for _, p := range grow(int(n)) { sum += p.x + p.y + 1 } }; return int32(sum) }
//go:wasmexport fail
func fail() int32 { defer func() { recover() }(); panic(errors.New("on purpose")) }
func main() {}
`

// trial is the program above as a module.
func trial(t *testing.T) []byte {
	t.Helper()
	dir := t.TempDir()
	for name, text := range map[string]string{"main.go": program, "go.mod": "module trial\n\ngo 1.26\n"} {
		if err := os.WriteFile(filepath.Join(dir, name), []byte(text), 0o600); err != nil {
			t.Fatal(err)
		}
	}
	cmd := exec.Command("go", "build", "-buildmode=c-shared", "-trimpath", "-ldflags=-s -w", "-o", "trial.wasm", ".")
	cmd.Dir = dir
	cmd.Env = append(os.Environ(), "GOOS=wasip1", "GOARCH=wasm", "CGO_ENABLED=0", "GOFLAGS=", "GOWORK=off")
	if out, err := cmd.CombinedOutput(); err != nil {
		t.Fatalf("%v\n%s", err, out)
	}
	b, err := os.ReadFile(filepath.Join(dir, "trial.wasm"))
	if err != nil {
		t.Fatal(err)
	}
	return b
}

// A stripped module is smaller once squeezed and works as before: it allocates
// and collects garbage, unwinds from a panic, and answers the same.
func TestStrippedModuleWorks(t *testing.T) {
	if testing.Short() {
		t.Skip("packs two whole modules")
	}
	whole := trial(t)
	small, err := Strip(whole)
	if err != nil {
		t.Fatal(err)
	}
	if a, b := len(Pack(whole)), len(Pack(small)); b > a*95/100 {
		t.Errorf("stripping takes %d letters to %d", a, b)
	}
	again, err := Strip(small)
	if err != nil || !bytes.Equal(again, small) {
		t.Errorf("stripped again it is another module: %v", err)
	}
	var got []int
	inNode(t, `
const run = async (b) => {
  let memory;
  const wasi = new Proxy({}, { get: (_, name) => (...a) => {
    const v = new DataView(memory.buffer);
    if (name.endsWith("sizes_get")) { v.setUint32(a[0], 0, true); v.setUint32(a[1], 0, true); return 0; }
    if (name === "clock_time_get") { v.setBigUint64(a[2], BigInt(Date.now()) * 1000000n, true); return 0; }
    return name.startsWith("fd_") ? 8 : 0;
  } });
  const { instance } = await WebAssembly.instantiate(b, { wasi_snapshot_preview1: wasi });
  memory = instance.exports.memory;
  instance.exports._initialize();
  return [instance.exports.work(20000), instance.exports.fail()];
};
(async () => console.log(JSON.stringify([...await run(Buffer.from("`+b64(whole)+`", "base64")), ...await run(Buffer.from("`+b64(small)+`", "base64"))])))();`, &got)
	if len(got) != 4 || got[0] != 400_000 || got[0] != got[2] || got[1] != got[3] {
		t.Errorf("whole and stripped answer %v", got)
	}
}

func b64(b []byte) string {
	text, _ := json.Marshal(b) // bytes are base64 in JSON
	return strings.Trim(string(text), `"`)
}

// What is no module of Go's is refused and left alone.
func TestStrippingRefuses(t *testing.T) {
	whole := trial(t)
	other := bytes.Replace(whole, header, []byte{0xf2, 0xff, 0xff, 0xff, 0, 0, 1, 8}, 1)
	for name, b := range map[string][]byte{"nothing": nil, "text": []byte("no module at all"), "another toolchain's": other, "cut short": whole[:len(whole)/2],
		"empty": binary.LittleEndian.AppendUint32([]byte("\x00asm"), 1)} {
		if _, err := Strip(b); err == nil {
			t.Errorf("%s was stripped", name)
		}
	}
}
