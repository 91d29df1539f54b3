package ration

import (
	"fmt"
	"time"
)

// Day is a date of the calendar, counted in days from 1 January 1970; the zero
// Day stands for no date. It knows no time of day and no time zone.
type Day int

// layout is how dates are written.
const layout = "2006-01-02"

// ParseDay reads a date such as 2026-11-23.
func ParseDay(s string) (Day, error) {
	t, err := time.Parse(layout, s)
	if err != nil {
		return 0, fmt.Errorf("%q is not a date; write year, month and day, as in 2026-11-23", s)
	}
	d := DayOf(t)
	if d <= 0 || t.Year() > lastYear {
		return 0, fmt.Errorf("%q lies outside the years 1970 to %d", s, lastYear)
	}
	return d, nil
}

// lastYear bounds dates, so that sums of days stay sensible.
const lastYear = 2199

const secondsADay = 24 * 60 * 60

// DayOf is the date of a time, as its own zone has it.
func DayOf(t time.Time) Day {
	y, m, d := t.Date()
	return Day(time.Date(y, m, d, 0, 0, 0, 0, time.UTC).Unix() / secondsADay)
}

// Time is the date's midnight in UTC.
func (d Day) Time() time.Time { return time.Unix(int64(d)*secondsADay, 0).UTC() }

// String prints the date as year, month and day; no date prints as nothing.
func (d Day) String() string {
	if d == 0 {
		return ""
	}
	return d.Time().Format(layout)
}

// Weekday is the day's name in the week.
func (d Day) Weekday() time.Weekday { return d.Time().Weekday() }

// Monday is the Monday on or before the day.
func (d Day) Monday() Day { return d - Day((int(d.Weekday())+6)%7) }

// Weekdays is a set of days of the week: bit i is time.Weekday(i).
type Weekdays uint8

// EveryDay holds all seven.
const EveryDay Weekdays = 1<<7 - 1

// On reports whether the set holds a day of the week.
func (w Weekdays) On(d time.Weekday) bool { return w>>uint(d)&1 == 1 }

// With is the set with a day more.
func (w Weekdays) With(d time.Weekday) Weekdays { return w | 1<<uint(d) }

// Count is the number of days in the set.
func (w Weekdays) Count() int {
	n := 0
	for d := range 7 {
		if w.On(time.Weekday(d)) {
			n++
		}
	}
	return n
}

// fromMonday lists the days of the week as documents and pages order them.
var fromMonday = []time.Weekday{time.Monday, time.Tuesday, time.Wednesday, time.Thursday, time.Friday, time.Saturday, time.Sunday}

// List is the set from Monday to Sunday.
func (w Weekdays) List() []time.Weekday {
	var list []time.Weekday
	for _, d := range fromMonday {
		if w.On(d) {
			list = append(list, d)
		}
	}
	return list
}

// DayNames are the days of the week as documents write them, from Monday.
func DayNames() []string { return []string{"mon", "tue", "wed", "thu", "fri", "sat", "sun"} }

// Names are the set's days as documents write them.
func (w Weekdays) Names() []string {
	var list []string
	for i, d := range fromMonday {
		if w.On(d) {
			list = append(list, DayNames()[i])
		}
	}
	return list
}
