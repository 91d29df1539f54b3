package main

import (
	"context"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"firlot/analysis"
	"firlot/catalog"
	"firlot/internal/calendar"
	"firlot/internal/tomldoc"
	mixfiles "firlot/mix/files"
	"firlot/needs"
	"firlot/ration"
	"firlot/ration/files"
	"firlot/report"
)

// weekly are the flags of week.
type weekly struct {
	json, ledger, mend, write bool
	day, with, calendar       string
	figures                   []string
	shopping                  int
}

func weekCommand(s streams) *cobra.Command {
	var f weekly
	c := &cobra.Command{
		Use:   "week FILE",
		Short: "The whole diet of a group by the week, and what it lacks",
		Long: `Reads a group's week (docs/week-document.md): who is fed, the mix, and the leaves,
vegetables, herbs, hay and insects beside it. Prints what is given on which day,
how weights run, what the records of the bowl say, and what the whole diet lacks.

With --ledger every figure with a need is shown, for one animal and day; with
--mend the smallest change of the week that mends a shortage, proved to be the
smallest, or proved that the foods cannot mend it within the limits.

Nothing here replaces an exotics veterinarian.`,
		Example: `  firlot week examples/weeks/skerra-gerbils.toml
  firlot week my-group.toml --ledger
  firlot week my-group.toml --mend --figure calcium --with catalogue
  firlot week my-group.toml --shopping 4 --ical feeding.ics`,
		Args: takes(1, 1), ValidArgsFunction: documents,
		RunE: func(cmd *cobra.Command, args []string) error { return f.run(cmd.Context(), s, args[0]) },
	}
	c.Flags().BoolVar(&f.json, "json", false, "print JSON for programs (docs/schema/week.json)")
	c.Flags().BoolVar(&f.ledger, "ledger", false, "show every figure with a need, and every limit")
	c.Flags().BoolVar(&f.mend, "mend", false, "find the smallest change that mends the first shortages, and all that are low")
	c.Flags().StringSliceVar(&f.figures, "figure", nil, "mend these figures instead, such as calcium")
	c.Flags().StringVar(&f.with, "with", withShelf, "mend with the foods of the document (shelf) or of the catalogue")
	c.Flags().BoolVar(&f.write, "write", false, "write the last change found by --mend into the document")
	c.Flags().IntVar(&f.shopping, "shopping", 0, "list what the next so many weeks take")
	c.Flags().StringVar(&f.calendar, "ical", "", "write the week as a calendar file")
	c.Flags().StringVar(&f.day, "day", "", "the day to look at, such as 2026-11-25; today when left out")
	return c
}

// What mending may reach for.
const (
	withShelf     = "shelf"
	withCatalogue = "catalogue"
	mostWeeks     = 52
)

func (f *weekly) check() error {
	switch {
	case f.with != withShelf && f.with != withCatalogue:
		return notOneOf("--with", f.with, []string{withShelf, withCatalogue})
	case f.shopping < 0 || f.shopping > mostWeeks:
		return fmt.Errorf("--shopping %d is out of range; it is 1 to %d weeks", f.shopping, mostWeeks)
	case f.write && !f.mend:
		return fmt.Errorf("--write writes what --mend finds; give both")
	}
	return nil
}

func (f *weekly) run(ctx context.Context, s streams, path string) error {
	if len(f.figures) > 0 {
		f.mend = true
	}
	if err := f.check(); err != nil {
		return err
	}
	day := ration.DayOf(time.Now())
	if f.day != "" {
		var err error
		if day, err = ration.ParseDay(f.day); err != nil {
			return fmt.Errorf("--day: %w", err)
		}
	}
	file, plan, err := loadWeek(ctx, path, day)
	if err != nil {
		return err
	}
	ledger := plan.Ledger()
	w := report.WeekOf(plan, ledger)
	mends, err := f.mends(ctx, plan, ledger)
	if err != nil {
		return file.Locate(err)
	}
	for _, m := range mends {
		w.Mended(m)
	}
	if f.shopping > 0 {
		w.Bought(plan, plan.Shopping(day, f.shopping))
	}
	if err := f.files(file, plan, mends); err != nil {
		return err
	}
	if f.json {
		return s.json(w)
	}
	return printWeek(s, plan, w, f)
}

// loadWeek reads a week with its mix, whose document is named by its place
// beside the week's.
func loadWeek(ctx context.Context, path string, day ration.Day) (*files.File, *ration.Plan, error) {
	file, err := files.Read(path)
	if err != nil {
		return nil, nil, err
	}
	c, t, err := tables()
	if err != nil {
		return nil, nil, err
	}
	portions, c, err := weekMix(ctx, path, file, c)
	if err != nil {
		return nil, nil, err
	}
	plan, err := resolveWeek(file, c, t, portions, day)
	return file, plan, err
}

func weekMix(ctx context.Context, path string, file *files.File, c *catalog.Catalogue) ([]analysis.Portion, *catalog.Catalogue, error) {
	name := file.Document.Mix
	if name == "" {
		return nil, c, nil
	}
	if !filepath.IsAbs(name) {
		name = filepath.Join(filepath.Dir(path), filepath.FromSlash(name))
	}
	if _, err := os.Stat(name); errors.Is(err, os.ErrNotExist) {
		return nil, nil, file.Locate(&ration.Problem{Path: "mix", Message: fmt.Sprintf("there is no %s", file.Document.Mix), Hint: "the mix is named from the folder of this document"})
	}
	m, err := mixed(ctx, name)
	if err != nil {
		return nil, nil, err
	}
	return m.portions, m.plan.Catalogue, nil
}

func resolveWeek(file *files.File, c *catalog.Catalogue, t *needs.Table, portions []analysis.Portion, day ration.Day) (*ration.Plan, error) {
	plan, err := ration.Resolve(file.Document, c, t, portions, day)
	if err != nil {
		return nil, file.Locate(err)
	}
	return plan, nil
}

// firstShortages is how many shortages are mended one by one.
const firstShortages = 3

// mends works out what was asked for: each figure by itself, and then all that
// are low together.
func (f *weekly) mends(ctx context.Context, p *ration.Plan, l *ration.Ledger) ([]*ration.Mend, error) {
	if !f.mend {
		return nil, nil
	}
	targets, err := f.targets(l)
	if err != nil {
		return nil, err
	}
	var forms []*catalog.Form
	if f.with == withCatalogue {
		forms = p.Beside()
	}
	var list []*ration.Mend
	for _, t := range targets {
		m, err := p.Mend(ctx, ration.MendOptions{Targets: t, Candidates: forms})
		if err != nil {
			return nil, err
		}
		list = append(list, m)
	}
	return list, nil
}

func (f *weekly) targets(l *ration.Ledger) ([][]ration.Target, error) {
	var list [][]ration.Target
	if len(f.figures) > 0 {
		var all []ration.Target
		for _, name := range f.figures {
			t, ok := l.Parse(name)
			if !ok {
				return nil, notOneOf("--figure", name, l.Names())
			}
			all = append(all, t)
		}
		return append(list, all), nil
	}
	var low []ration.Target
	for _, s := range l.Shortages() {
		if s.Target.Nutrient == "energy" {
			continue
		}
		if len(list) < firstShortages {
			list = append(list, []ration.Target{s.Target})
		}
		if s.Verdict == ration.Low {
			low = append(low, s.Target)
		}
	}
	if len(low) > 1 {
		list = append(list, low)
	}
	return list, nil
}

// files writes what was asked for.
func (f *weekly) files(file *files.File, p *ration.Plan, mends []*ration.Mend) error {
	if f.calendar != "" {
		name := p.Document.Title
		group := name
		if group == "" { // two groups without a title are two all the same
			group = filepath.Base(file.Name())
		}
		text := calendar.Text(p, calendar.Options{Name: name, Group: group, Stamp: p.Day.Time(), Words: calendar.English()})
		if err := mixfiles.Save(f.calendar, text); err != nil {
			return err
		}
	}
	if !f.write {
		return nil
	}
	for i := len(mends) - 1; i >= 0; i-- {
		if m := mends[i]; m.Sensible() && len(m.Changes) > 0 {
			text, err := file.WithFoods(m.Document.Foods)
			if err != nil {
				return err
			}
			return mixfiles.Save(file.Name(), text)
		}
	}
	return &tomldoc.Error{File: file.Name(), Message: "no change was found that could be written"}
}

// cleanTitle is a title for running text.
func cleanTitle(title string) string {
	if title = strings.TrimSpace(title); title == "" {
		return "The group"
	}
	return title
}
