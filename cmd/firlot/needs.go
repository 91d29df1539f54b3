package main

import (
	"fmt"
	"sort"
	"strings"

	"github.com/spf13/cobra"

	"firlot/internal/nearword"
	"firlot/needs"
	"firlot/nutrient"
	"firlot/report"
)

func needsCommand(s streams) *cobra.Command {
	c := &cobra.Command{
		Use:   "needs",
		Short: "Look up what animals need",
		Example: `  firlot needs list
  firlot needs show gerbil adult`,
	}
	c.AddCommand(needsList(s), needsShow(s))
	return c
}

type listedSpecies struct {
	Species string   `json:"species"`
	Name    string   `json:"name"`
	Latin   string   `json:"latin,omitempty"`
	Stages  []string `json:"stages"`
}

func needsList(s streams) *cobra.Command {
	var asJSON bool
	c := &cobra.Command{
		Use: "list", Short: "List every species with its life stages", Args: takes(0, 0),
		RunE: func(*cobra.Command, []string) error {
			_, t, err := tables()
			if err != nil {
				return err
			}
			var list []listedSpecies
			for _, sp := range t.Species {
				l := listedSpecies{Species: sp.ID, Name: sp.Names.First("en"), Latin: sp.Latin}
				for _, st := range sp.Stages {
					l.Stages = append(l.Stages, st.ID)
				}
				list = append(list, l)
			}
			if asJSON {
				return s.json(list)
			}
			p := &printer{s: s}
			for _, l := range list {
				p.say("%s: %s\n", s.bold(l.Species), strings.Join(l.Stages, ", "))
			}
			return p.err
		},
	}
	c.Flags().BoolVar(&asJSON, "json", false, "print JSON for programs (docs/schema/needs-list.json)")
	return c
}

// shownStage is a stage in `needs show --json`.
type shownStage struct {
	Species  string        `json:"species"`
	Stage    string        `json:"stage"`
	FromDays int           `json:"from_days"`
	ToDays   int           `json:"to_days,omitempty"`
	AgeFrom  string        `json:"age_source"`
	Note     string        `json:"note,omitempty"`
	Windows  []shownWindow `json:"windows"`
}

type shownWindow struct {
	Nutrient string        `json:"nutrient"`
	Per      string        `json:"per,omitempty"`
	Unit     string        `json:"unit"`
	Basis    string        `json:"basis"`
	On       string        `json:"on"`
	Window   report.Window `json:"window"`
	StandsIn string        `json:"stands_in,omitempty"`
	Default  bool          `json:"default"`
	Enforced bool          `json:"enforced"`
}

func needsShow(s streams) *cobra.Command {
	var asJSON bool
	c := &cobra.Command{
		Use: "show SPECIES [STAGE]", Short: "Show the windows of a species with their sources",
		Example: "  firlot needs show syrian-hamster adult",
		Args:    takes(1, 2), ValidArgsFunction: speciesAndStages,
		RunE: func(_ *cobra.Command, args []string) error {
			_, t, err := tables()
			if err != nil {
				return err
			}
			sp, stages, err := pickStages(t, args)
			if err != nil {
				return err
			}
			if asJSON {
				var list []shownStage
				for _, st := range stages {
					list = append(list, showStage(sp, st))
				}
				return s.json(list)
			}
			p := &printer{s: s}
			p.species(t, sp, stages)
			return p.err
		},
	}
	c.Flags().BoolVar(&asJSON, "json", false, "print JSON for programs (docs/schema/needs-show.json)")
	return c
}

func pickStages(t *needs.Table, args []string) (*needs.Species, []needs.Stage, error) {
	sp := t.Find(args[0])
	if sp == nil {
		var ids []string
		for _, x := range t.Species {
			ids = append(ids, x.ID)
		}
		return nil, nil, notOneOf("species", args[0], ids)
	}
	if len(args) == 1 {
		return sp, sp.Stages, nil
	}
	st := sp.Stage(args[1])
	if st == nil {
		var ids []string
		for _, x := range sp.Stages {
			ids = append(ids, x.ID)
		}
		return nil, nil, notOneOf("stage", args[1], ids)
	}
	return sp, []needs.Stage{*st}, nil
}

func notOneOf(what, word string, known []string) error {
	return fmt.Errorf("%s %q is not known; %s", what, word, nearword.Hint(word, known, "use one of "+strings.Join(known, ", ")))
}

func showStage(sp *needs.Species, st needs.Stage) shownStage {
	out := shownStage{Species: sp.ID, Stage: st.ID, FromDays: st.FromDays, ToDays: st.ToDays, AgeFrom: st.Source, Note: st.Note}
	for _, w := range st.Windows {
		out.Windows = append(out.Windows, shownWindow{Nutrient: string(w.Nutrient), Per: string(w.Per), Unit: unitOf(w),
			Basis: string(w.Basis), On: string(w.On), Window: report.WindowOf(w), StandsIn: w.StandsIn, Default: w.Default, Enforced: w.Enforce})
	}
	return out
}

func unitOf(w needs.Window) string {
	if w.Per != "" {
		return ""
	}
	info, _ := nutrient.Lookup(w.Nutrient)
	return string(info.Unit)
}

func (p *printer) species(t *needs.Table, sp *needs.Species, stages []needs.Stage) {
	p.say("%s  %s\n", p.s.bold(sp.Names.First("en")), sp.Latin)
	if sp.Note != "" {
		p.para("  ", sp.Note)
	}
	if e := sp.Energy; e != nil {
		p.para("  ", fmt.Sprintf("Energy: %s kcal a day for each kg of body weight to the power 0.75 (%s to %s; %s, %s). %s",
			short(e.Factor), short(e.Low), short(e.High), e.Source, e.How, e.Note))
		for _, x := range e.States {
			p.para("    ", fmt.Sprintf("%s: %s times that (%s to %s; %s, %s). %s", x.State, short(x.Times), short(x.Low), short(x.High), x.Source, x.How, x.Note))
		}
	}
	used := map[string]bool{}
	for _, st := range stages {
		p.stage(st, used)
	}
	keys := make([]string, 0, len(used))
	for k := range used {
		keys = append(keys, k)
	}
	sort.Strings(keys)
	p.say("\nSources\n")
	for _, k := range keys {
		if src, ok := t.Sources[k]; ok {
			p.para("  "+k+": ", citation(src))
		}
	}
	p.say("\n")
	p.para("", "Published ranges differ, and none replaces an exotics veterinarian who knows the animal.")
}

func (p *printer) stage(st needs.Stage, used map[string]bool) {
	p.say("\n%s, %s (%s, %s)\n", p.s.bold(st.ID), ages(st), st.Source, st.How)
	if st.Note != "" {
		p.para("  ", st.Note)
	}
	var order []string
	bySource := map[string][]needs.Window{}
	for _, w := range st.Windows {
		from := sourceWords(report.WindowOf(w))
		if w.StandsIn != "" {
			from += "; stands in from the " + w.StandsIn
		}
		if bySource[from] == nil {
			order = append(order, from)
		}
		bySource[from] = append(bySource[from], w)
		key, item, _ := strings.Cut(w.Source, ":")
		used[key] = true
		if key == "recalled" {
			used[item] = true
		}
	}
	for _, from := range order {
		p.say("\n")
		p.para("  ", from)
		p.windowsOf(bySource[from])
	}
}

// windowsOf prints the windows of one source, and the notes on them, each
// note once.
func (p *printer) windowsOf(list []needs.Window) {
	var rows [][]string
	var notes []string
	about := map[string][]string{}
	for _, w := range list {
		name := windowName(w)
		role := ""
		if w.Default && w.Enforce {
			role = "default"
		}
		rows = append(rows, []string{"  " + name, ">" + strings.TrimSpace(windowText(report.WindowOf(w))+" "+unitOf(w)), role})
		if w.Note != "" && about[w.Note] == nil {
			notes = append(notes, w.Note)
		}
		about[w.Note] = append(about[w.Note], name)
	}
	p.table(rows)
	for _, n := range notes {
		text := n
		if len(notes) > 1 {
			text = join(about[n]) + ": " + n
		}
		p.para("    ", text)
	}
}

func windowName(w needs.Window) string { return report.WindowName(w) }

func ages(st needs.Stage) string {
	if st.FromDays == 0 && st.ToDays == 0 {
		return "whatever the age"
	}
	if st.ToDays == 0 {
		return fmt.Sprintf("from %d days", st.FromDays)
	}
	return fmt.Sprintf("%d to %d days", st.FromDays, st.ToDays)
}
