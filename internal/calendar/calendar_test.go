package calendar

import (
	"bytes"
	"slices"
	"strings"
	"testing"
	"time"
	"unicode/utf8"

	"github.com/apognu/gocal"

	catfiles "firlot/catalog/files"
	needfiles "firlot/needs/files"
	"firlot/ration"
	"firlot/ration/files"
)

// week is an invented one, with everything that a line of a calendar can trip
// over: commas, semicolons, a long line with umlauts, a line break.
const week = `species = "gerbil"
[[line]]
ingredient = "oats/groats"
amount = "300 g"
[[animal]]
name = "Brae; the elder, \\ so called"
born = 2026-06-15
[[food]]
food = "mix"
days = ["mon", "tue", "thu"]
at = ["08:00", "19:00"]
way = "scatter"
note = "Größere Körner zuerst; dann, nach und nach, der Rest – damit auch das weniger Beliebte gefressen wird"
[[food]]
food = "kale/fresh"
amount = "3 g"
every = 3
from = 2026-11-23
until = 2026-12-31
[[food]]
food = "timothy-hay/cut"
at_will = true
[[food]]
food = "dandelion/leaf-dried"
amount = "0.5 tsp"
days = "daily"
[[food]]
food = "parsley/dried"                # not yet
amount = "0.25 tsp"
days = ["sat"]
from = 2026-12-12
until = 2027-01-03
[[away]]
from = 2026-12-19
to = 2026-12-26
who = "the ferryman"
[change]
mix = "x"
from = 2026-11-30
`

func plan(t *testing.T, text, on string) *ration.Plan {
	t.Helper()
	c, err := catfiles.Builtin()
	if err != nil {
		t.Fatal(err)
	}
	n, err := needfiles.Builtin()
	if err != nil {
		t.Fatal(err)
	}
	f, err := files.Parse("week", []byte(text))
	if err != nil {
		t.Fatal(err)
	}
	day, err := ration.ParseDay(on)
	if err != nil {
		t.Fatal(err)
	}
	p, err := ration.Resolve(f.Document, c, n, nil, day)
	if err != nil {
		t.Fatal(f.Locate(err))
	}
	return p
}

var options = Options{Name: "Skerra, the kitchen", Group: "a", Stamp: time.Date(2026, 11, 25, 12, 0, 0, 0, time.UTC), Words: English()}

// Lines end in CR LF and hold at most 75 octets (RFC 5545, 3.1); no line holds
// half of a letter.
func TestLines(t *testing.T) {
	text := Text(plan(t, week, "2026-11-25"), options)
	if !bytes.HasSuffix(text, []byte("\r\n")) {
		t.Error("the last line does not end")
	}
	for _, l := range bytes.Split(text, []byte("\r\n")) {
		if len(l) > 75 || bytes.ContainsAny(l, "\r\n") || !utf8.Valid(l) {
			t.Errorf("%d octets: %q", len(l), l)
		}
	}
	for _, s := range []string{"BEGIN:VTIMEZONE", "TZID", "T080000Z"} {
		if bytes.Contains(text, []byte(s)) {
			t.Errorf("holds %s; times are local to the reader", s)
		}
	}
}

// A second library (gocal) reads the calendar and finds the days that the plan
// has, each food on each of them, for six weeks. It leaves out a last day that
// falls on UNTIL itself, which RFC 5545 counts in and ical.js, tried by hand,
// does too; so no food of the test ends on a day of its own.
func TestReadByAnotherLibrary(t *testing.T) {
	p := plan(t, week, "2026-11-25")
	g := gocal.NewParser(bytes.NewReader(Text(p, options)))
	start, end := p.Day.Time().Add(-time.Hour), (p.Day + 42).Time().Add(-time.Minute) // it leaves out what begins with the range
	g.Start, g.End = &start, &end
	if err := g.Parse(); err != nil {
		t.Fatal(err)
	}
	got := map[string][]string{}
	for _, e := range g.Events {
		what, _, _ := strings.Cut(e.Summary, ":")
		got[what] = append(got[what], e.Start.Format("2006-01-02 15:04"))
		if e.Stamp == nil || e.Uid == "" || e.Description == "" {
			t.Errorf("an event without stamp, UID or description: %+v", e)
		}
	}
	want := map[string][]string{}
	for _, d := range p.Week(p.Day, 42) {
		for _, e := range d.Entries {
			s := p.Foods[e.Food]
			if s.Food.AtWill {
				continue
			}
			at := s.Food.At
			if len(at) == 0 {
				at = []string{"00:00"}
			}
			for _, a := range at {
				name := English().Food(s)
				want[name] = append(want[name], d.Day.String()+" "+a)
			}
		}
	}
	if len(want) != 4 {
		t.Fatalf("foods: %v", want)
	}
	for name, days := range want {
		slices.Sort(got[name])
		if !slices.Equal(got[name], days) {
			t.Errorf("%s: the calendar has %v, the plan %v", name, got[name], days)
		}
	}
	if got["the ferryman feeds"] == nil || len(got["Changeover"]) == 0 || len(got["Weigh the animals"]) != 6 {
		t.Errorf("away, changeover or weighing are missing: %v", got)
	}
}

// What was written is read back as it was: nothing is lost in escaping and
// folding.
func TestEscaping(t *testing.T) {
	p := plan(t, week, "2026-11-25")
	g := gocal.NewParser(bytes.NewReader(Text(p, options)))
	start, end := p.Day.Time(), (p.Day + 100).Time()
	g.Start, g.End = &start, &end
	if err := g.Parse(); err != nil {
		t.Fatal(err)
	}
	note, stage := false, false
	for _, e := range g.Events {
		note = note || strings.Contains(e.Description, "zuerst; dann, nach und nach, der Rest – damit auch das weniger Beliebte gefressen wird")
		stage = stage || strings.HasPrefix(e.Summary, `Brae; the elder, \ so called is adult`)
	}
	if !note || !stage {
		t.Errorf("note %v, stage %v\n%s", note, stage, Text(p, options))
	}
}

// Control characters, which RFC 5545 keeps out of texts, stay out.
func TestControlCharacters(t *testing.T) {
	p := plan(t, strings.Replace(week, `name = "Brae;`, `name = "\u001b[31mBr\u0000ae;`, 1), "2026-11-25")
	o := options
	o.Name = "a\x1b[31m\r\nEND:VCALENDAR"
	text := Text(p, o)
	if i := bytes.IndexFunc(text, func(r rune) bool { return r < 0x20 && !strings.ContainsRune("\t\r\n", r) || r == 0x7f }); i >= 0 {
		t.Errorf("%q holds a control character", text[max(i-20, 0):i+20])
	}
	if n := bytes.Count(text, []byte("\nEND:VCALENDAR")); n != 1 {
		t.Errorf("%d ends", n)
	}
}

// The same plan on a later day keeps its UIDs; another group has others.
func TestUIDsStay(t *testing.T) {
	uids := func(on, group string) []string {
		o := options
		o.Group = group
		var list []string
		for _, l := range strings.Split(string(Text(plan(t, week, on), o)), "\r\n") {
			if id, ok := strings.CutPrefix(l, "UID:"); ok {
				if slices.Contains(list, id) {
					t.Errorf("%s stands twice", id)
				}
				list = append(list, id)
			}
		}
		return list
	}
	now, later, other := uids("2026-11-25", "a"), uids("2026-11-27", "a"), uids("2026-11-25", "b")
	if !slices.Equal(now, later) {
		t.Errorf("%v\n%v", now, later)
	}
	for _, id := range other {
		if slices.Contains(now, id) {
			t.Errorf("two groups share %s", id)
		}
	}
}
