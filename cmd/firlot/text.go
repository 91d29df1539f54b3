package main

import (
	"fmt"
	"math"
	"strconv"
	"strings"
	"text/tabwriter"

	"firlot/formulate"
	"firlot/report"
)

// printReport prints a mix for people.
func printReport(s streams, r *report.Report, all bool) error {
	p := &printer{s: s, r: r}
	p.head()
	p.amounts()
	p.windows()
	p.beside()
	if all {
		p.everything()
		p.shown()
	} else {
		p.shortages()
	}
	p.tail()
	return p.err
}

type printer struct {
	s   streams
	r   *report.Report
	err error
}

func (p *printer) say(format string, args ...any) {
	if p.err == nil {
		_, p.err = fmt.Fprintf(p.s.out, format, args...)
	}
}

// table prints rows of cells; a column whose head starts with ">" is set to
// the right.
func (p *printer) table(rows [][]string) {
	w := tabwriter.NewWriter(p.s.out, 0, 4, 2, ' ', 0)
	widths := map[int]int{}
	for _, row := range rows {
		for i, cell := range row {
			if c, right := strings.CutPrefix(cell, ">"); right {
				widths[i] = max(widths[i], len([]rune(c)))
			}
		}
	}
	for _, row := range rows {
		for i, cell := range row {
			if c, right := strings.CutPrefix(cell, ">"); right {
				row[i] = strings.Repeat(" ", widths[i]-len([]rune(c))) + c
			}
		}
		fmt.Fprintln(w, "  "+strings.TrimRight(strings.Join(row, "\t"), "\t"))
	}
	if err := w.Flush(); err != nil && p.err == nil {
		p.err = err
	}
}

func (p *printer) head() {
	r := p.r
	if r.Title != "" {
		p.say("%s\n", p.s.bold(r.Title))
	}
	p.say("%s\n", p.s.bold(sentence(r)))
	if r.Status == string(formulate.Found) {
		p.say("%s\n", objective(r))
	}
	for _, c := range r.Clash {
		p.say("  - %s", c.What)
		if c.Reach != "" {
			p.say("; while the others hold, %s", c.Reach)
		}
		p.say("\n")
	}
}

// sentence answers the keeper's question.
func sentence(r *report.Report) string {
	n := windowCount(r)
	of := forWhom(r)
	switch r.Status {
	case string(formulate.Found), report.StatusInside:
		s := fmt.Sprintf("Inside its %s%s", plural(n, "window", "windows"), of)
		if r.Sureness != nil {
			s += fmt.Sprintf("; and still inside with %s sets of ordinary bags", ofHundred(float64(*r.Sureness)))
		}
		return s + "."
	case string(formulate.Impossible):
		return fmt.Sprintf("No mix of this shelf meets its limits%s. These cannot hold together:", of)
	case report.StatusOutside:
		return fmt.Sprintf("Outside %s%s.", outside(r), of)
	case report.StatusNotKnown:
		return fmt.Sprintf("Not known to be inside its %s%s: figures are missing that could turn it.", plural(n, "window", "windows"), of)
	}
	return "Stopped before an answer" + of + "."
}

func forWhom(r *report.Report) string {
	if r.Species == "" {
		return ""
	}
	return fmt.Sprintf(" for %s, %s", strings.ReplaceAll(r.Species, "-", " "), r.Stage)
}

func windowCount(r *report.Report) int {
	n := 0
	for _, f := range r.Figures {
		if f.Window != nil {
			n++
		}
	}
	return n
}

func outside(r *report.Report) string {
	var names []string
	for _, f := range r.Figures {
		if f.Verdict == "outside" {
			names = append(names, f.Name)
		}
	}
	return "its window of " + strings.Join(names, " and ")
}

func plural(n int, one, many string) string {
	if n == 1 {
		return "1 " + one
	}
	return strconv.Itoa(n) + " " + many
}

// ofHundred says a chance as so many of 100; never 100 of 100, and never 0.
func ofHundred(p float64) string {
	switch {
	case p > 0.995:
		return "more than 99 of 100"
	case p < 0.005:
		return "fewer than 1 of 100"
	}
	return fmt.Sprintf("%.0f of 100", math.Floor(p*100))
}

func objective(r *report.Report) string {
	o, b := float64(*r.Objective), float64(*r.Bound)
	switch r.Prefer {
	case "near":
		return fmt.Sprintf("Near to the base mix: %s g moved; no mix moves less than %s g.", short(o), short(b))
	case "cheap":
		return fmt.Sprintf("Cheap: the batch costs %s %s; no mix costs less than %s.", short(o), r.Unit, short(b))
	case "varied":
		return fmt.Sprintf("Varied: the largest line is %s g; no mix keeps it under %s g.", short(o), short(b))
	}
	return fmt.Sprintf("Steady: every edge of a window is %s standard deviations away; no mix keeps more than %s.", short(o), short(b))
}

func (p *printer) amounts() {
	if len(p.r.Amounts) == 0 {
		return
	}
	p.say("\n")
	var rows [][]string
	used := 0
	for _, a := range p.r.Amounts {
		if a.Grams == 0 {
			continue
		}
		used++
		rows = append(rows, []string{">" + grams(float64(a.Grams)) + " g", ">" + fixed(float64(a.Percent), 1) + " %", a.Name, a.Ingredient + "/" + a.Form})
	}
	rows = append(rows, []string{">" + grams(float64(p.r.BatchG)) + " g", ">100.0 %", plural(used, "ingredient", "ingredients")})
	p.table(rows)
}

func grams(v float64) string { return strconv.FormatFloat(v, 'f', -1, 64) }

func (p *printer) windows() {
	if windowCount(p.r) == 0 {
		return
	}
	p.say("\n")
	rows := [][]string{{"", ">mix", ">90 of 100 sets of bags", ">window", "sets of bags inside", ""}}
	for _, f := range p.r.Figures {
		if f.Window == nil {
			continue
		}
		rows = append(rows, []string{figureName(f), ">" + withUnit(f.Mean, f.Unit), ">" + between(f.Low, f.High),
			">" + windowText(*f.Window) + " " + f.Unit, inside(f), "window: " + sourceWords(*f.Window)})
	}
	p.table(rows)
}

func inside(f report.Figure) string {
	switch f.Verdict {
	case "not known":
		return "not known"
	case "outside":
		return "outside; " + ofHundred(float64(*f.Chance))
	}
	return ofHundred(float64(*f.Chance))
}

func figureName(f report.Figure) string {
	s := f.Name
	if f.Basis == "dry matter" {
		s += ", dry matter"
	}
	if f.On == "eaten" {
		s += ", as eaten"
	}
	return s
}

func sourceWords(w report.Window) string {
	if w.Evidence == "" {
		return w.Source
	}
	return w.Source + " (" + w.Evidence + ")"
}

func windowText(w report.Window) string {
	switch {
	case w.Min == nil:
		return "at most " + short(float64(*w.Max))
	case w.Max == nil:
		return "at least " + short(float64(*w.Min))
	}
	return short(float64(*w.Min)) + " to " + short(float64(*w.Max))
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

// short prints three significant digits.
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
	return strconv.FormatFloat(v, 'g', 3, 64)
}

func fixed(v float64, places int) string { return strconv.FormatFloat(v, 'f', places, 64) }
