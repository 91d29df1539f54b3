package main

import (
	"fmt"
	"math"
	"strconv"
	"strings"
	"unicode"
	"unicode/utf8"

	"firlot/report"
)

// width is where running text is broken: a terminal of 80 columns, such as a
// phone held sideways has.
const width = 80

// printer prints for people. The first error of its stream stops it.
type printer struct {
	s   streams
	r   *report.Report
	err error
}

// say prints a format; what a document could smuggle in to steer the terminal
// is taken out.
func (p *printer) say(format string, args ...any) {
	if p.err == nil {
		_, p.err = fmt.Fprint(p.s.out, plainText(fmt.Sprintf(format, args...)))
	}
}

// The two sequences that emphasise text; see streams.bold.
const (
	boldOn  = "\x1b[1m"
	boldOff = "\x1b[0m"
)

// plainText replaces control characters, and marks that turn the direction of
// writing, by a question mark. Newlines and our own emphasis stay.
func plainText(s string) string {
	var b strings.Builder
	for i := 0; i < len(s); {
		if strings.HasPrefix(s[i:], boldOn) || strings.HasPrefix(s[i:], boldOff) {
			b.WriteString(s[i : i+len(boldOn)])
			i += len(boldOn)
			continue
		}
		r, n := utf8.DecodeRuneInString(s[i:])
		i += n
		if r == '\t' {
			r = ' '
		}
		if r != '\n' && (unicode.IsControl(r) || unicode.Is(unicode.Bidi_Control, r) || r == utf8.RuneError) {
			r = '?'
		}
		b.WriteRune(r)
	}
	return b.String()
}

// para prints running text, broken at spaces. The first line starts with
// first; the others are set in as far as first is, and two more where it
// holds a word or a dash.
func (p *printer) para(first, text string) {
	rest := first[:len(first)-len(strings.TrimLeft(first, " "))]
	if rest != first {
		rest += "  "
	}
	line, used := first, utf8.RuneCountInString(first)
	fresh := true
	for _, word := range strings.Fields(strings.ReplaceAll(text, " %", "%%")) {
		word = strings.ReplaceAll(word, "%%", " %") // a number keeps its per cent
		n := utf8.RuneCountInString(word)
		if !fresh && used+1+n > width {
			p.say("%s\n", line)
			line, used, fresh = rest, len(rest), true
		}
		if !fresh {
			line, used = line+" ", used+1
		}
		line, used, fresh = line+word, used+n, false
	}
	p.say("%s\n", line)
}

// table prints rows of cells in columns; a cell that starts with ">" is set
// to the right.
func (p *printer) table(rows [][]string) {
	var widths []int
	for _, row := range rows {
		for i, cell := range row {
			if i == len(widths) {
				widths = append(widths, 0)
			}
			widths[i] = max(widths[i], utf8.RuneCountInString(strings.TrimPrefix(cell, ">")))
		}
	}
	for _, row := range rows {
		line := ""
		for i, cell := range row {
			text, right := strings.CutPrefix(cell, ">")
			pad := strings.Repeat(" ", widths[i]-utf8.RuneCountInString(text))
			if right {
				text = pad + text
			} else {
				text += pad
			}
			line += "  " + text
		}
		p.say("%s\n", strings.TrimRight(line, " "))
	}
}

// join lists names: "a, b and c".
func join(names []string) string {
	if len(names) < 2 {
		return strings.Join(names, "")
	}
	last := len(names) - 1
	return strings.Join(names[:last], ", ") + " and " + names[last]
}

func plural(n int, one, many string) string {
	if n == 1 {
		return "1 " + one
	}
	return strconv.Itoa(n) + " " + many
}

// ofHundred says a chance as so many of 100, rounded down; never 100 of 100,
// and never 0.
func ofHundred(p float64) string {
	switch {
	case p > 0.995:
		return "over 99 of 100"
	case p < 0.01:
		return "under 1 of 100"
	}
	return fmt.Sprintf("%d of 100", int(math.Round(p*1e6))/1e4) // chances have six decimals
}

func percent(v report.Number) string {
	switch {
	case v >= 0.9995:
		return "all"
	case v == 0:
		return "none"
	}
	return fixed(100*float64(v), 1) + " %"
}

func between(low, high *report.Number) string {
	if low == nil || high == nil {
		return "not known"
	}
	return short(float64(*low)) + " to " + short(float64(*high))
}

func withUnit(n *report.Number, unit string) string {
	if n == nil {
		return "not known"
	}
	return strings.TrimSpace(short(float64(*n)) + " " + unit)
}

// short prints three significant digits, and every digit before the point.
func short(v float64) string {
	a := math.Abs(v)
	switch {
	case a == 0:
		return "0"
	case a >= 100:
		return fixed(v, 0)
	case a >= 10:
		return fixed(v, 1)
	case a >= 1:
		return fixed(v, 2)
	}
	return strings.TrimRight(strings.TrimRight(fixed(v, 2-int(math.Floor(math.Log10(a)))), "0"), ".")
}

func fixed(v float64, places int) string { return strconv.FormatFloat(v, 'f', places, 64) }

func grams(v float64) string { return strconv.FormatFloat(v, 'f', -1, 64) }
