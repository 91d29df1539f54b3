package scales

import (
	"encoding/hex"
	"encoding/json"
	"math/big"
	"os"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"
)

// vector is one line of testdata/readings.json: what comes through the cable,
// what it means, and where that is said.
type vector struct {
	HID     *string `json:"hid,omitempty"`
	Line    *string `json:"line,omitempty"`
	State   State   `json:"state"`
	Mg      int64   `json:"mg"`
	Rounded bool    `json:"rounded"`
	Source  string  `json:"source"`
}

func (v *vector) want() Reading { return Reading{v.State, v.Mg, v.Rounded} }

func (v *vector) name() string {
	if v.HID != nil {
		return "hid " + *v.HID
	}
	return "line " + *v.Line
}

func vectors(t testing.TB) []vector {
	t.Helper()
	text, err := os.ReadFile("testdata/readings.json")
	if err != nil {
		t.Fatal(err)
	}
	var list []vector
	dec := json.NewDecoder(strings.NewReader(string(text)))
	dec.DisallowUnknownFields()
	if err := dec.Decode(&list); err != nil {
		t.Fatal(err)
	}
	if len(list) < 80 {
		t.Fatalf("%d readings", len(list))
	}
	return list
}

func frame(t testing.TB, text string) []byte {
	t.Helper()
	b, err := hex.DecodeString(strings.ReplaceAll(text, " ", ""))
	if err != nil || len(b) == 0 {
		t.Fatalf("%q: %v", text, err)
	}
	return b
}

func TestReadings(t *testing.T) {
	seen := map[State]bool{}
	for _, v := range vectors(t) {
		var got Reading
		if v.HID != nil {
			b := frame(t, *v.HID)
			got = HID(b[0], b[1:])
		} else {
			got = Line(*v.Line)
		}
		seen[got.State] = true
		if diff := cmp.Diff(v.want(), got); diff != "" {
			t.Errorf("%s (%s):\n%s", v.name(), v.Source, diff)
		}
		if v.Source == "" {
			t.Errorf("%s names no source", v.name())
		}
	}
	for _, s := range States() {
		if !seen[s] {
			t.Errorf("no reading is %q", s)
		}
	}
}

// sound are the promises that hold for any frame.
func sound(t interface{ Errorf(string, ...any) }, what string, r Reading) {
	if !r.State.Weighs() && (r.Mg != 0 || r.Rounded) {
		t.Errorf("%q: a weight without a state for it: %+v", what, r)
	}
	if r.Mg > MaxMg || r.Mg < -MaxMg {
		t.Errorf("%q: %d mg", what, r.Mg)
	}
	for _, s := range States() {
		if r.State == s {
			return
		}
	}
	t.Errorf("%q: no such state: %q", what, r.State)
}

// A weight is the nearest milligram to the number times the unit, by fractions.
func TestUnitsAreExact(t *testing.T) {
	// The international yard and pound agreement of 1959: 1 lb = 0.45359237 kg.
	exact := map[byte]*big.Rat{0x02: big.NewRat(1000, 1), 0x03: big.NewRat(1_000_000, 1), 0x0b: big.NewRat(45359237, 1600), 0x0c: big.NewRat(45359237, 100)}
	half := big.NewRat(1, 2)
	rapid.Check(t, func(t *rapid.T) {
		u := rapid.SampledFrom([]byte{0x02, 0x03, 0x0b, 0x0c}).Draw(t, "unit")
		n := rapid.Uint16().Draw(t, "weight")
		power := rapid.IntRange(-6, 3).Draw(t, "power")
		r := HID(DataReport, []byte{4, u, byte(power), byte(n), byte(n >> 8)})
		want := new(big.Rat).Mul(exact[u], big.NewRat(int64(n), 1))
		ten := new(big.Rat).SetInt(new(big.Int).Exp(big.NewInt(10), big.NewInt(int64(max(power, -power))), nil))
		if power < 0 {
			ten.Inv(ten)
		}
		want.Mul(want, ten)
		if r.State == Unreadable {
			if want.Cmp(big.NewRat(MaxMg, 1)) <= 0 {
				t.Fatalf("%v mg are not read", want)
			}
			return
		}
		off := new(big.Rat).Sub(want, big.NewRat(r.Mg, 1))
		if off.Abs(off).Cmp(half) > 0 || r.Rounded != (off.Sign() != 0) {
			t.Fatalf("%v mg were read as %d (rounded %v)", want, r.Mg, r.Rounded)
		}
	})
}

// However a stream is cut into pieces, the same lines come out.
func TestLinesHoweverCut(t *testing.T) {
	piece := rapid.SampledFrom([]string{"ST,GS,+  123.4,g", "S D     129.07 g", "\r\n", "\n", "\r", "12 g", "\x00", "xyz", strings.Repeat("9", 70), " "})
	rapid.Check(t, func(t *rapid.T) {
		all := []byte(strings.Join(rapid.SliceOf(piece).Draw(t, "stream"), ""))
		var whole, cut Lines
		want := whole.Add(all)
		var got []Reading
		for rest := all; len(rest) > 0; {
			n := rapid.IntRange(1, len(rest)).Draw(t, "piece")
			got = append(got, cut.Add(rest[:n])...)
			rest = rest[n:]
		}
		if diff := cmp.Diff(want, got); diff != "" {
			t.Fatal(diff)
		}
		if len(cut.held) > maxLine {
			t.Fatalf("%d bytes are held", len(cut.held))
		}
	})
}

func TestALineThatNeverEndsIsSaidOnce(t *testing.T) {
	var l Lines
	if got := l.Add([]byte(strings.Repeat("1", 10*maxLine))); len(got) != 1 || got[0].State != Unreadable {
		t.Errorf("it came to %+v", got)
	}
	if got := l.Add([]byte("12 g\r\nS S 5 g\r\n")); len(got) != 1 || got[0].Mg != 5000 {
		t.Errorf("after it: %+v", got)
	}
}

func FuzzHID(f *testing.F) {
	for _, v := range vectors(f) {
		if v.HID != nil {
			f.Add(frame(f, *v.HID))
		}
	}
	f.Fuzz(func(t *testing.T, b []byte) {
		if len(b) > 0 {
			sound(t, hex.EncodeToString(b), HID(b[0], b[1:]))
		}
	})
}

func FuzzLine(f *testing.F) {
	for _, v := range vectors(f) {
		if v.Line != nil {
			f.Add(*v.Line)
		}
	}
	f.Fuzz(func(t *testing.T, text string) {
		r := Line(text)
		sound(t, text, r)
		// A line comes out of the stream as it is read by itself.
		if !strings.ContainsAny(text, "\r\n") && len(text) <= maxLine && r.State != Nothing {
			var l Lines
			if got := l.Add([]byte(text + "\n")); len(got) != 1 || got[0] != r {
				t.Errorf("%q is %+v alone and %+v in a stream", text, r, got)
			}
		}
	})
}
