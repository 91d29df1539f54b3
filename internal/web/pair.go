package web

import (
	"crypto/rand"
	"crypto/sha256"
	"crypto/subtle"
	"math/big"
	"net/netip"
	"strings"
	"sync"
	"time"
)

// Bounds on pairing. A code is one of 100 million. It dies with the fifth
// wrong try, so that whoever guesses at a code is right once in 20 million
// codes, however many addresses the guesses come from. The waits are there so
// that guessing at one code after the other is slow too.
const (
	codeDigits = 8
	codeLife   = 2 * time.Minute
	mostWrong  = 5 // wrong tries that a code outlives, less one

	firstWait   = time.Second // after a wrong try; doubled with each more
	longestWait = 5 * time.Minute
	forgetAfter = 15 * time.Minute // an address is forgotten

	mostWrongInAll = 20 // wrong tries of everybody within wrongWindow
	wrongWindow    = 10 * time.Minute
	mostAddresses  = 1000 // that are remembered
)

// pairing holds the one code that lets a device in, and who has tried wrongly.
// Nothing of it is on disk: a code does not outlive the program.
type pairing struct {
	now func() time.Time

	mu     sync.Mutex
	code   [sha256.Size]byte // of the digits; the digits are shown once more on the laptop
	digits string            // "" when there is no code
	until  time.Time
	wrong  int // wrong tries at this code
	gone   codeEnd
	tries  map[netip.Prefix]*wrongTries
	recent []time.Time // wrong tries of everybody, oldest first
}

type wrongTries struct {
	n    int
	next time.Time // no try before
	last time.Time
}

// codeEnd is how the last code ended.
type codeEnd int

const (
	codeNever codeEnd = iota // none was made, or one is good now
	codeUsed
	codeTooOld
	codeTriedOut // too many wrong tries
)

func newPairing(now func() time.Time) *pairing {
	return &pairing{now: now, tries: map[netip.Prefix]*wrongTries{}}
}

// make makes a code; the one before is good no longer.
func (p *pairing) make() (string, time.Time, error) {
	most := big.NewInt(1)
	for range codeDigits {
		most.Mul(most, big.NewInt(10))
	}
	n, err := rand.Int(rand.Reader, most)
	if err != nil {
		return "", time.Time{}, err
	}
	digits := n.String()
	digits = strings.Repeat("0", codeDigits-len(digits)) + digits
	p.mu.Lock()
	defer p.mu.Unlock()
	p.digits, p.code, p.until, p.wrong, p.gone = digits, sha256.Sum256([]byte(digits)), p.now().Add(codeLife), 0, codeNever
	return digits, p.until, nil
}

// current is the code that is good now, for the laptop's own screen; or how
// the last one ended.
func (p *pairing) current() (digits string, until time.Time, end codeEnd) {
	p.mu.Lock()
	defer p.mu.Unlock()
	p.age()
	return p.digits, p.until, p.gone
}

// forget ends the code.
func (p *pairing) forget() {
	p.mu.Lock()
	defer p.mu.Unlock()
	p.end(codeNever)
}

// age ends a code whose time is over. A clock that was set back ends it too.
func (p *pairing) age() {
	if left := p.until.Sub(p.now()); p.digits != "" && (left <= 0 || left > codeLife) {
		p.end(codeTooOld)
	}
}

func (p *pairing) end(how codeEnd) {
	p.digits, p.code, p.gone = "", [sha256.Size]byte{}, how
}

// answerToTry is what comes of a code that somebody typed.
type answerToTry int

const (
	codeRight answerToTry = iota
	codeWrong             // wrong, too old, used or never made: it is not said which
	codeWait              // too many wrong tries; this one was not looked at
)

// try looks at a code that was typed at an address, once. A right one is used
// up by it. wait is how long the address, or everybody, has to wait.
func (p *pairing) try(from netip.Addr, typed string) (answer answerToTry, wait time.Duration) {
	p.mu.Lock()
	defer p.mu.Unlock()
	p.age()
	now := p.now()
	p.tidy(now)
	who := neighbourhood(from)
	if w := p.mustWait(who, now); w > 0 {
		return codeWait, w
	}
	got := sha256.Sum256([]byte(onlyDigits(typed)))
	// Both are compared whatever the first one says, so that how long it takes
	// tells neither whether there is a code nor how much of it was right.
	same := subtle.ConstantTimeCompare(got[:], p.code[:])
	there := 0
	if p.digits != "" {
		there = 1
	}
	if same&there == 1 {
		p.end(codeUsed)
		delete(p.tries, who)
		return codeRight, 0
	}
	p.wrongTry(who, now)
	return codeWrong, p.mustWait(who, now)
}

func (p *pairing) wrongTry(who netip.Prefix, now time.Time) {
	p.recent = append(p.recent, now)
	t := p.tries[who]
	if t == nil {
		t = &wrongTries{}
		if len(p.tries) < mostAddresses { // beyond that the bound in all holds
			p.tries[who] = t
		}
	}
	t.n++
	t.last = now
	t.next = now.Add(min(firstWait<<min(t.n-1, 20), longestWait))
	if p.digits != "" {
		if p.wrong++; p.wrong >= mostWrong {
			p.end(codeTriedOut)
		}
	}
}

func (p *pairing) mustWait(who netip.Prefix, now time.Time) time.Duration {
	var wait time.Duration
	if t := p.tries[who]; t != nil {
		wait = t.next.Sub(now)
	}
	if len(p.recent) >= mostWrongInAll {
		wait = max(wait, p.recent[len(p.recent)-mostWrongInAll].Add(wrongWindow).Sub(now))
	}
	return max(wait, 0)
}

// tidy forgets what counts no longer.
func (p *pairing) tidy(now time.Time) {
	for k, t := range p.tries {
		if now.Sub(t.last) > forgetAfter {
			delete(p.tries, k)
		}
	}
	old := 0
	for old < len(p.recent) && now.Sub(p.recent[old]) > wrongWindow {
		old++
	}
	p.recent = append(p.recent[:0], p.recent[old:]...)
}

// neighbourhood is what counts as one address: an IPv4 address, or the /64 in
// which one machine may take as many IPv6 addresses as it likes.
func neighbourhood(a netip.Addr) netip.Prefix {
	a = a.Unmap().WithZone("")
	bits := a.BitLen()
	if a.Is6() {
		bits = 64
	}
	p, err := a.Prefix(bits)
	if err != nil { // no address: all such count as one
		return netip.Prefix{}
	}
	return p
}

// onlyDigits leaves out what people write between groups of digits.
func onlyDigits(s string) string {
	return strings.Map(func(r rune) rune {
		switch r {
		case ' ', '-', '\u00a0', '\u202f', '\t':
			return -1
		}
		return r
	}, s)
}

// grouped is a code as it is shown.
func grouped(digits string) string {
	if len(digits) != codeDigits {
		return digits
	}
	return digits[:codeDigits/2] + "\u00a0" + digits[codeDigits/2:]
}
