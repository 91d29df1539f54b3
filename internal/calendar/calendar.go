// Package calendar writes a group's week as an iCalendar (RFC 5545) file or
// feed.
//
// Times are local to whoever reads them: they carry no zone, so that eight in
// the morning stays eight in the morning. Food without a time of day makes an
// all-day event. What repeats is one event with a rule. An event keeps its UID
// as long as the food, its rhythm and its time of day stay, so that a feed
// that is read again changes events and does not double them.
package calendar

import (
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"strings"
	"time"

	ics "github.com/arran4/golang-ical"

	"firlot/ration"
)

// Words are the words of a calendar; those of [English] serve where nobody
// brings others.
type Words struct {
	// Food names a food, Amount an amount of it, and Way a way of giving it.
	Food   func(ration.Served) string
	Amount func(ration.Amount) string
	Way    func(ration.Way) string
	// Feedings says that a day's amount is split.
	Feedings func(n int) string
	Weigh    string
	Stage    func(animal string, c ration.StageChange) (title, text string)
	Shift    func(s ration.Shift) string
	Away     func(a ration.Away) string
	Vet      string // closes every description
}

// Options steer a calendar.
type Options struct {
	Name  string    // of the calendar
	Group string    // keeps the UIDs of two groups apart
	Stamp time.Time // when the plan was made; the caller brings the clock
	Words Words
}

const product = "-//Firlot//week//EN"

// Text writes the plan's week from the plan's day on.
func Text(p *ration.Plan, o Options) []byte {
	c := ics.NewCalendar()
	c.SetProductId(product)
	c.SetMethod(ics.MethodPublish)
	c.SetCalscale("GREGORIAN")
	if o.Name != "" {
		c.SetName(plain(o.Name))
		c.SetXWRCalName(plain(o.Name))
	}
	w := &writer{c: c, p: p, o: o}
	for i, s := range p.Foods {
		w.food(i, s)
	}
	w.weigh()
	for _, f := range p.Animals {
		if f.Next != nil && f.Next.Day > p.Day {
			title, text := o.Words.Stage(f.Animal.Name, *f.Next)
			w.allDay("stage|"+f.Animal.Name+"|"+f.Next.To.ID, f.Next.Day, title, text)
		}
	}
	for _, s := range p.Changeover() {
		if s.Fed && s.Day >= p.Day {
			w.allDay("shift|"+s.Day.String(), s.Day, o.Words.Shift(s), "")
		}
	}
	for i, a := range p.Document.Away {
		if a.To >= p.Day && a.From <= a.To {
			e := w.allDay(fmt.Sprintf("away|%d|%s", i, a.From), a.From, o.Words.Away(a), a.Note)
			e.SetProperty(ics.ComponentPropertyDtEnd, date(a.To+1), value("DATE"))
		}
	}
	return []byte(c.Serialize(ics.WithNewLineWindows))
}

type writer struct {
	c *ics.Calendar
	p *ration.Plan
	o Options
}

func (w *writer) uid(parts ...string) string {
	sum := sha256.Sum256([]byte(w.o.Group + "\x00" + strings.Join(parts, "\x00")))
	return hex.EncodeToString(sum[:12]) + "@firlot"
}

func value(kind string) ics.PropertyParameter {
	return &ics.KeyValues{Key: "VALUE", Value: []string{kind}}
}

func date(d ration.Day) string { return d.Time().Format("20060102") }

// plain leaves out what RFC 5545, 3.3.11, keeps out of a text: control
// characters but for tabs and line breaks.
func plain(text string) string {
	return strings.Map(func(r rune) rune {
		if r < 0x20 && r != '\t' && r != '\n' || r == 0x7f {
			return -1
		}
		return r
	}, text)
}

func (w *writer) event(uid, title, text string) *ics.VEvent {
	title, text = plain(title), plain(text)
	e := w.c.AddEvent(uid)
	e.SetDtStampTime(w.o.Stamp)
	e.SetSummary(title)
	if w.o.Words.Vet != "" {
		text = strings.TrimSpace(text + "\n" + w.o.Words.Vet)
	}
	if text != "" {
		e.SetDescription(text)
	}
	e.SetTimeTransparency(ics.TransparencyTransparent)
	return e
}

func (w *writer) allDay(key string, d ration.Day, title, text string) *ics.VEvent {
	e := w.event(w.uid(key), title, text)
	e.SetProperty(ics.ComponentPropertyDtStart, date(d), value("DATE"))
	e.SetProperty(ics.ComponentPropertyDtEnd, date(d+1), value("DATE"))
	return e
}

// horizon is how far ahead the first day of a food is looked for.
const horizon = ration.MaxEvery + 7

// food writes one event for each time of day on which a food is given.
func (w *writer) food(i int, s ration.Served) {
	if s.Food.AtWill {
		return
	}
	first := w.p.Day
	if s.Food.From > first {
		first = s.Food.From
	}
	for n := 0; !s.Food.On(first); first++ {
		if n++; n > horizon {
			return
		}
	}
	var entry ration.Entry
	for _, e := range w.p.Week(first, 1)[0].Entries {
		if e.Food == i {
			entry = e
		}
	}
	times := s.Food.At
	if len(times) == 0 {
		times = []string{""}
	}
	for _, at := range times {
		title, text := w.says(s, entry, len(times))
		key := fmt.Sprintf("food|%s|%v|%d|%s|%v|%s", s.Name(), s.Food.Days.Names(), s.Food.Every, s.Food.From, s.Food.Until, at)
		w.start(w.event(w.uid(key, fmt.Sprint(w.before(i, s))), title, text), first, at, s.Food)
	}
}

// before counts earlier lines of the week that are alike, so that two of them
// keep two UIDs.
func (w *writer) before(i int, s ration.Served) int {
	n := 0
	for _, t := range w.p.Foods[:i] {
		if t.Name() == s.Name() && t.Food.Days == s.Food.Days && t.Food.Every == s.Food.Every {
			n++
		}
	}
	return n
}

func (w *writer) says(s ration.Served, e ration.Entry, times int) (title, text string) {
	words := w.o.Words
	a := e.Amount
	var lines []string
	if times > 1 && e.Each.Set {
		a = e.Each
	} else if e.Feedings > 1 {
		lines = append(lines, words.Feedings(e.Feedings))
	}
	title = words.Food(s) + ": " + words.Amount(a)
	if s.Food.Way != "" {
		lines = append(lines, words.Way(s.Food.Way))
	}
	if s.Food.Note != "" {
		lines = append(lines, s.Food.Note)
	}
	return title, strings.Join(lines, "\n")
}

// feeding is how long an event with a time of day lasts.
const feeding = 15 * time.Minute

func (w *writer) start(e *ics.VEvent, first ration.Day, at string, f ration.Food) {
	until := ""
	if at == "" {
		e.SetProperty(ics.ComponentPropertyDtStart, date(first), value("DATE"))
		e.SetProperty(ics.ComponentPropertyDtEnd, date(first+1), value("DATE"))
		until = date(f.Until)
	} else {
		t, _ := time.Parse("15:04", at) // the document was read with it
		start := first.Time().Add(time.Duration(t.Hour())*time.Hour + time.Duration(t.Minute())*time.Minute)
		const floating = "20060102T150405"
		e.SetProperty(ics.ComponentPropertyDtStart, start.Format(floating))
		e.SetProperty(ics.ComponentPropertyDtEnd, start.Add(feeding).Format(floating))
		until = date(f.Until) + "T235959"
	}
	e.AddRrule(rule(f, until))
}

// rule is the recurrence of a food. UNTIL takes the kind of the start: a date,
// or a local time without a zone.
func rule(f ration.Food, until string) string {
	r := ""
	switch {
	case f.Every > 0:
		r = fmt.Sprintf("FREQ=DAILY;INTERVAL=%d", f.Every)
	case f.Days == ration.EveryDay:
		r = "FREQ=DAILY"
	default:
		var days []string
		for _, n := range f.Days.Names() {
			days = append(days, strings.ToUpper(n[:2]))
		}
		r = "FREQ=WEEKLY;BYDAY=" + strings.Join(days, ",")
	}
	if f.Until != 0 {
		r += ";UNTIL=" + until
	}
	return r
}

// weigh is a weekly reminder, on Sunday. Common practice, no source.
func (w *writer) weigh() {
	if w.o.Words.Weigh == "" {
		return
	}
	day := w.p.Day.Monday() + 6
	e := w.allDay("weigh", day, w.o.Words.Weigh, "")
	e.AddRrule("FREQ=WEEKLY")
}
