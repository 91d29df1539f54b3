// Package files reads the needs of animals from TOML files.
package files

import (
	"fmt"
	"io/fs"
	"path"
	"slices"
	"sort"
	"strings"
	"sync"

	"firlot/catalog"
	catfiles "firlot/catalog/files"
	"firlot/internal/tomldoc"
	"firlot/needs"
	"firlot/needs/data"
	"firlot/nutrient"
)

var states = []string{"growing", "pregnant", "nursing"}

const sourcesFile = "sources.toml"

// Builtin returns the embedded needs. They are read once.
var Builtin = sync.OnceValues(func() (*needs.Table, error) { return Load(data.Files) })

type rawSpecies struct {
	ID          string              `toml:"id"`
	Latin       string              `toml:"latin"`
	Note        string              `toml:"note"`
	Names       catalog.Names       `toml:"names"`
	AdultWeight *catfiles.RawFigure `toml:"adult_weight"`
	Energy      *rawEnergy          `toml:"energy"`
	Stage       []rawStage          `toml:"stage"`
}

type rawEnergy struct {
	Factor float64          `toml:"factor"`
	Low    float64          `toml:"low"`
	High   float64          `toml:"high"`
	From   string           `toml:"from"`
	How    catalog.Evidence `toml:"how"`
	Note   string           `toml:"note"`
	State  []rawState       `toml:"state"`
}

type rawState struct {
	State string           `toml:"state"`
	Times float64          `toml:"times"`
	Low   float64          `toml:"low"`
	High  float64          `toml:"high"`
	From  string           `toml:"from"`
	How   catalog.Evidence `toml:"how"`
	Note  string           `toml:"note"`
}

type rawStage struct {
	ID       string           `toml:"id"`
	Names    catalog.Names    `toml:"names"`
	FromDays int              `toml:"from_days"`
	ToDays   int              `toml:"to_days"`
	AgeFrom  string           `toml:"age_from"`
	AgeHow   catalog.Evidence `toml:"age_how"`
	Note     string           `toml:"note"`
	Window   []rawWindow      `toml:"window"`
}

type rawWindow struct {
	Nutrient string           `toml:"nutrient"`
	Ratio    *rawRatio        `toml:"ratio"`
	Min      *float64         `toml:"min"`
	Max      *float64         `toml:"max"`
	Basis    string           `toml:"basis"`
	On       needs.Side       `toml:"on"`
	From     string           `toml:"from"`
	How      catalog.Evidence `toml:"how"`
	Default  bool             `toml:"default"`
	Enforce  *bool            `toml:"enforce"`
	Note     string           `toml:"note"`
	StandsIn string           `toml:"stands_in"`
}

type rawRatio struct {
	Of  string   `toml:"of"`
	To  string   `toml:"to"`
	Min *float64 `toml:"min"`
	Max *float64 `toml:"max"`
}

// Load reads sources.toml and one file per species, named after its id.
func Load(fsys fs.FS) (*needs.Table, error) {
	names, err := fs.Glob(fsys, "*.toml")
	if err != nil {
		return nil, err
	}
	sort.Strings(names)
	t := &needs.Table{Sources: map[string]catalog.Source{}}
	for _, name := range names {
		text, err := fs.ReadFile(fsys, name)
		if err != nil {
			return nil, err
		}
		if name == sourcesFile {
			t.Sources, err = catfiles.Sources(name, text)
		} else {
			err = readSpecies(name, text, t)
		}
		if err != nil {
			return nil, err
		}
	}
	return t, nil
}

func readSpecies(name string, text []byte, t *needs.Table) error {
	var raw rawSpecies
	doc, err := tomldoc.Decode(name, text, &raw)
	if err != nil {
		return err
	}
	s := &needs.Species{ID: raw.ID, Latin: raw.Latin, Names: raw.Names, Note: raw.Note}
	if want := strings.TrimSuffix(path.Base(name), ".toml"); s.ID != want {
		return doc.At("id", fmt.Sprintf("is %q", s.ID), fmt.Sprintf("the file's name asks for %q", want))
	}
	if raw.AdultWeight != nil {
		f, err := raw.AdultWeight.BuildRange(doc, "adult_weight")
		if err != nil {
			return err
		}
		s.AdultWeight = &f
	}
	if e := raw.Energy; e != nil {
		s.Energy = &needs.Energy{Factor: e.Factor, Low: e.Low, High: e.High, Source: e.From, How: e.How, Note: e.Note}
		for i, x := range e.State {
			if !(x.Low > 0 && x.Low <= x.Times && x.Times <= x.High) || x.From == "" || !x.How.Known() || !slices.Contains(states, x.State) {
				return doc.At(fmt.Sprintf("energy.state[%d]", i), "a state is growing, pregnant or nursing, with low, times and high that rise, from and how", "")
			}
			s.Energy.States = append(s.Energy.States, needs.EnergyState{State: x.State, Times: x.Times, Low: x.Low, High: x.High, Source: x.From, How: x.How, Note: x.Note})
		}
	}
	for i := range raw.Stage {
		st, err := raw.Stage[i].build(doc, fmt.Sprintf("stage[%d]", i))
		if err != nil {
			return err
		}
		s.Stages = append(s.Stages, st)
	}
	t.Species = append(t.Species, s)
	return nil
}

func (r *rawStage) build(doc *tomldoc.Document, at string) (needs.Stage, error) {
	st := needs.Stage{ID: r.ID, Names: r.Names, FromDays: r.FromDays, ToDays: r.ToDays,
		Source: r.AgeFrom, How: r.AgeHow, Note: r.Note}
	if r.ID == "" || (r.ToDays > 0 && r.ToDays <= r.FromDays) {
		return st, doc.At(at, "a stage needs an id and ages that run forward", "")
	}
	for i := range r.Window {
		w, err := r.Window[i].build(doc, fmt.Sprintf("%s.window[%d]", at, i))
		if err != nil {
			return st, err
		}
		st.Windows = append(st.Windows, w)
	}
	return st, nil
}

func (r *rawWindow) build(doc *tomldoc.Document, at string) (needs.Window, error) {
	w := needs.Window{Nutrient: nutrient.Key(r.Nutrient), Min: r.Min, Max: r.Max, On: r.On,
		Source: r.From, How: r.How, Note: r.Note, StandsIn: r.StandsIn, Default: r.Default,
		Enforce: r.Enforce == nil && r.Default || r.Enforce != nil && *r.Enforce}
	if r.Ratio != nil {
		w.Nutrient, w.Per, w.Min, w.Max = nutrient.Key(r.Ratio.Of), nutrient.Key(r.Ratio.To), r.Ratio.Min, r.Ratio.Max
	}
	for _, k := range []nutrient.Key{w.Nutrient, w.Per} {
		if _, ok := nutrient.Lookup(k); k != "" && !ok || w.Nutrient == "" {
			return w, doc.At(at, fmt.Sprintf("%q is not a figure that Firlot knows", k), "")
		}
	}
	var err error
	if w.Basis, err = nutrient.ParseBasis(r.Basis); err != nil {
		return w, doc.At(at+".basis", err.Error(), "")
	}
	if w.On == "" {
		w.On = needs.Offered
	}
	switch {
	case w.On != needs.Offered && w.On != needs.Eaten:
		return w, doc.At(at+".on", fmt.Sprintf("%q is not a side", w.On), "use offered or eaten")
	case w.Min == nil && w.Max == nil:
		return w, doc.At(at, "the window has neither min nor max", "")
	case w.Min != nil && w.Max != nil && *w.Min > *w.Max:
		return w, doc.At(at, fmt.Sprintf("min %v is above max %v", *w.Min, *w.Max), "")
	case r.From == "" || !r.How.Known():
		return w, doc.At(at, "the window needs from and how", "")
	}
	return w, nil
}
