package web

import (
	"net/netip"
	"strconv"
	"strings"
	"testing"
	"time"

	"pgregory.net/rapid"
)

// handClock is a clock that a test moves.
type handClock struct{ t time.Time }

func (c *handClock) now() time.Time       { return c.t }
func (c *handClock) pass(d time.Duration) { c.t = c.t.Add(d) }
func newHand() *handClock                 { return &handClock{someDay} }
func addr(n int) netip.Addr               { return netip.AddrFrom4([4]byte{192, 0, 2, byte(n)}) } // RFC 5737: nobody's
func mustCode(t *testing.T, p *pairing) string {
	t.Helper()
	code, _, err := p.make()
	if err != nil {
		t.Fatal(err)
	}
	return code
}

// other is a code that is not the one given.
func other(code string) string {
	n, _ := strconv.Atoi(code)
	return strings.Repeat("0", 7) + strconv.Itoa((n+1)%10)
}

func wantTry(t *testing.T, p *pairing, from netip.Addr, code string, want answerToTry) time.Duration {
	t.Helper()
	got, wait := p.try(from, code)
	if got != want {
		t.Fatalf("the try %q came to %d, want %d", code, got, want)
	}
	return wait
}

func TestACodeIsGoodOnce(t *testing.T) {
	p := newPairing(newHand().now)
	code := mustCode(t, p)
	if len(code) != codeDigits || strings.Trim(code, "0123456789") != "" {
		t.Fatalf("the code is %q", code)
	}
	wantTry(t, p, addr(1), " "+grouped(code)+" ", codeRight)
	wantTry(t, p, addr(2), code, codeWrong)
	if _, _, end := p.current(); end != codeUsed {
		t.Errorf("it ended as %d", end)
	}
}

func TestACodeIsGoodForTwoMinutes(t *testing.T) {
	clock := newHand()
	p := newPairing(clock.now)
	code := mustCode(t, p)
	clock.pass(codeLife - time.Nanosecond)
	if digits, _, _ := p.current(); digits != code {
		t.Fatal("it is gone too early")
	}
	clock.pass(time.Nanosecond)
	wantTry(t, p, addr(1), code, codeWrong)
	if _, _, end := p.current(); end != codeTooOld {
		t.Errorf("it ended as %d", end)
	}

	code = mustCode(t, p)
	clock.pass(-time.Hour) // the clock is set back
	wantTry(t, p, addr(3), code, codeWrong)
}

func TestANewCodeEndsTheOldOne(t *testing.T) {
	p := newPairing(newHand().now)
	old := mustCode(t, p)
	code := mustCode(t, p)
	if old == code {
		t.Skip("one chance in 100 million")
	}
	wantTry(t, p, addr(1), old, codeWrong)
	wantTry(t, p, addr(2), code, codeRight)
}

func TestWithoutACodeNothingIsRight(t *testing.T) {
	p := newPairing(newHand().now)
	for i, c := range []string{"", "00000000", "\x00"} {
		wantTry(t, p, addr(i+1), c, codeWrong)
	}
}

func TestACodeDiesOfWrongTries(t *testing.T) {
	p := newPairing(newHand().now)
	code := mustCode(t, p)
	for i := range mostWrong { // each from an address of its own: no waiting
		wantTry(t, p, addr(i+1), other(code), codeWrong)
	}
	wantTry(t, p, addr(100), code, codeWrong)
	if _, _, end := p.current(); end != codeTriedOut {
		t.Errorf("it ended as %d", end)
	}
}

func TestAnAddressWaitsTwiceAsLongEachTime(t *testing.T) {
	clock := newHand()
	p := newPairing(clock.now)
	want := firstWait
	for range 6 {
		code := mustCode(t, p)
		if wait := wantTry(t, p, addr(1), other(code), codeWrong); wait != want {
			t.Fatalf("it waits %v, want %v", wait, want)
		}
		// Not even the right code is looked at before, and asking costs nothing.
		for range 3 {
			if wait := wantTry(t, p, addr(1), code, codeWait); wait != want {
				t.Fatalf("asking again makes it wait %v", wait)
			}
		}
		clock.pass(want)
		want *= 2
	}
	code := mustCode(t, p)
	wantTry(t, p, addr(1), code, codeRight)
	code = mustCode(t, p)
	if wait := wantTry(t, p, addr(1), other(code), codeWrong); wait != firstWait {
		t.Errorf("after a right code it waits %v", wait)
	}
}

func TestOneMachineIsOneNeighbourhood(t *testing.T) {
	p := newPairing(newHand().now)
	code := mustCode(t, p)
	wantTry(t, p, netip.MustParseAddr("2001:db8::1"), other(code), codeWrong)
	wantTry(t, p, netip.MustParseAddr("2001:db8::ffff:2"), code, codeWait)
	wantTry(t, p, netip.MustParseAddr("::ffff:192.0.2.9"), other(code), codeWrong)
	wantTry(t, p, netip.MustParseAddr("192.0.2.9"), code, codeWait)
	wantTry(t, p, netip.MustParseAddr("2001:db8:0:1::1"), code, codeRight)
}

func TestEverybodyTogetherIsHeldBack(t *testing.T) {
	clock := newHand()
	p := newPairing(clock.now)
	for i := range mostWrongInAll {
		if i%4 == 0 {
			mustCode(t, p)
		}
		wantTry(t, p, addr(i+1), "x", codeWrong)
	}
	code := mustCode(t, p)
	if wait := wantTry(t, p, addr(200), code, codeWait); wait != wrongWindow {
		t.Errorf("everybody waits %v", wait)
	}
	clock.pass(wrongWindow)
	code = mustCode(t, p)
	wantTry(t, p, addr(200), code, codeRight)
}

// However guesses are spread over addresses and time, no more than mostWrong
// are looked at for one code, and no more than mostWrongInAll within any
// wrongWindow; and what is remembered stays bounded.
func TestBoundsOnGuessing(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		clock := newHand()
		p := newPairing(clock.now)
		var looked []time.Time
		forThis := 0
		for range rapid.IntRange(1, 300).Draw(t, "tries") {
			if rapid.IntRange(0, 9).Draw(t, "code") == 0 {
				if _, _, err := p.make(); err != nil {
					t.Fatal(err)
				}
				forThis = 0
			}
			clock.pass(time.Duration(rapid.Int64Range(0, int64(90*time.Second)).Draw(t, "pause")))
			alive := p.digits != ""
			got, _ := p.try(addr(rapid.IntRange(0, 255).Draw(t, "from")), "guess")
			if got == codeRight {
				t.Fatal("a guess of letters was right")
			}
			if got == codeWrong {
				looked = append(looked, clock.t)
				if alive {
					forThis++
				}
			}
			if forThis > mostWrong {
				t.Fatalf("%d tries at one code", forThis)
			}
			if n := len(looked) - 1 - mostWrongInAll; n >= 0 && looked[len(looked)-1].Sub(looked[n]) < wrongWindow {
				t.Fatalf("more than %d tries within %v", mostWrongInAll, wrongWindow)
			}
			if len(p.tries) > mostAddresses || len(p.recent) > mostWrongInAll+1 {
				t.Fatalf("%d addresses and %d tries are remembered", len(p.tries), len(p.recent))
			}
		}
	})
}

func TestNamesOfDevices(t *testing.T) {
	for in, want := range map[string]string{"  Kitchen\n phone ": "Kitchen phone", "\x00\x1b[31m": "[31m", "": "", strings.Repeat("ñ", 60): strings.Repeat("ñ", mostName), "\u202eabc": "abc"} {
		if got := deviceName(in); got != want {
			t.Errorf("%q became %q, want %q", in, got, want)
		}
	}
}
