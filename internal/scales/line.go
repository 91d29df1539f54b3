package scales

import (
	"math/big"
	"strings"
)

// maxLine is how long a line may be, in bytes; longer ones are no weight.
const maxLine = 120

var lineUnits = map[string]unit{"mg": milligram, "g": gram, "kg": kilogram, "oz": ounce, "lb": pound}

// lineStates are the statuses of the first family. QT is a count, TL a scale
// that does not stand level.
var lineStates = map[string]State{"ST": Stable, "US": Moving, "OL": Over, "UL": Under, "QT": OtherUnit, "TL": Fault}

// lineKinds are what kinds of weight lie on the scale: gross and net.
var lineKinds = map[string]bool{"gs": true, "nt": true, "g": true, "n": true}

// Line reads one line of a serial scale, without what ends it.
func Line(text string) Reading {
	if len(text) > maxLine {
		return Reading{State: Unreadable}
	}
	text = strings.Trim(text, " \t\r\n\x00\x02\x03")
	if text == "" {
		return Reading{State: Nothing}
	}
	for i := range len(text) {
		if c := text[i]; c != '\t' && (c < ' ' || c > '~') {
			return Reading{State: Unreadable}
		}
	}
	if r, ok := headed(text); ok {
		return r
	}
	if r, ok := sics(text); ok {
		return r
	}
	return bare(text)
}

// headed reads ST,GS,+  123.4,g. It reports false for another family.
func headed(text string) (Reading, bool) {
	first, rest, ok := strings.Cut(text, ",")
	if len(first) == 4 && digit(first[0]) && digit(first[1]) { // the scale's address on a shared cable
		first = first[2:]
	}
	state, known := lineStates[strings.ToUpper(strings.TrimSpace(first))]
	if !ok || !known {
		return Reading{}, false
	}
	if !state.Weighs() {
		return Reading{State: state}, true
	}
	switch kind, after, ok := strings.Cut(rest, ","); {
	case ok && lineKinds[fold(kind)]:
		rest = after
	case ok && letters(strings.TrimSpace(kind)):
		return Reading{State: OtherUnit}, true // a tare or a count, not what lies on the scale
	}
	number, unit, ok := strings.Cut(rest, ",")
	if ok {
		return amount(state, number, unit), true
	}
	return amountIn(state, rest), true
}

// sics reads S S     123.45 g.
func sics(text string) (Reading, bool) {
	f := strings.Fields(text)
	if f[0] != "S" || len(f) == 1 {
		return Reading{}, false
	}
	if len(f) == 2 {
		state, ok := map[string]State{"+": Over, "-": Under, "I": Busy}[f[1]]
		if !ok {
			state = Unreadable
		}
		return Reading{State: state}, true
	}
	state, ok := map[string]State{"S": Stable, "D": Moving}[f[1]]
	if !ok {
		return Reading{State: Unreadable}, true
	}
	return amountIn(state, strings.Join(f[2:], " ")), true
}

// bare reads 123.45 g ?
func bare(text string) Reading {
	state := Shown
	if t, ok := strings.CutSuffix(text, "?"); ok {
		state, text = Moving, t
	}
	return amountIn(state, text)
}

// amountIn reads a number with its unit behind it.
func amountIn(state State, text string) Reading {
	i := len(text)
	for i > 0 && !digit(text[i-1]) && text[i-1] != '.' {
		i--
	}
	return amount(state, text[:i], text[i:])
}

func amount(state State, number, name string) Reading {
	n, power, ok := decimal(number)
	if !ok {
		return Reading{State: Unreadable}
	}
	u, ok := lineUnits[fold(name)]
	if !ok {
		return Reading{State: OtherUnit}
	}
	return in(state, n, power, u)
}

// decimal reads a sign, digits and one point; there may be spaces around the
// sign.
func decimal(text string) (n *big.Int, power int, ok bool) {
	text = strings.TrimSpace(text)
	negative := strings.HasPrefix(text, "-")
	if negative || strings.HasPrefix(text, "+") {
		text = strings.TrimLeft(text[1:], " \t")
	}
	whole, part, point := strings.Cut(text, ".")
	digits := whole + part
	if digits == "" || point && part == "" && whole == "" || !onlyDecimals(digits) {
		return nil, 0, false
	}
	n, ok = new(big.Int).SetString(digits, 10)
	if ok && negative {
		n.Neg(n)
	}
	return n, -len(part), ok
}

func digit(c byte) bool { return c >= '0' && c <= '9' }

func onlyDecimals(s string) bool {
	for i := range len(s) {
		if !digit(s[i]) {
			return false
		}
	}
	return true
}

func letters(s string) bool {
	for i := range len(s) {
		if c := s[i] | 0x20; c < 'a' || c > 'z' {
			return false
		}
	}
	return s != ""
}

func fold(s string) string { return strings.ToLower(strings.TrimSpace(s)) }

// Lines cuts what comes through a cable into readings. Its zero value is
// ready.
type Lines struct {
	held []byte
	skip bool // until the end of a line that is too long
}

// Add takes the next bytes and returns a reading for every line that they
// end. Empty lines are left out.
func (l *Lines) Add(b []byte) []Reading {
	var list []Reading
	for _, c := range b {
		if c != '\r' && c != '\n' {
			if l.skip {
				continue
			}
			if len(l.held) >= maxLine {
				l.held, l.skip = l.held[:0], true
				list = append(list, Reading{State: Unreadable})
				continue
			}
			l.held = append(l.held, c)
			continue
		}
		if r := Line(string(l.held)); r.State != Nothing && !l.skip {
			list = append(list, r)
		}
		l.held, l.skip = l.held[:0], false
	}
	return list
}
