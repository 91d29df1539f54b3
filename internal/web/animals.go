package web

import (
	"cmp"
	"html/template"
	"net/http"
	"net/url"
	"slices"
	"strconv"
	"strings"
	"time"

	"firlot/internal/store"
	"firlot/mix"
	mixfiles "firlot/mix/files"
	"firlot/needs"
	"firlot/nutrient"
)

// groupView is a group with what follows from it.
type groupView struct {
	store.Group
	Species  *needs.Species
	Stage    *needs.Stage
	AgeDays  int // by date of birth; −1 without one
	Young    bool
	Vet      []template.HTML // what calls for a veterinarian
	Windows  []windowView
	Others   []windowView // what else is published for the stage
	All      []*needs.Species
	Today    string
	Typed    map[string]string
	Errors   map[string]string
	Mixes    []store.Summary
	Conflict bool     // it was changed elsewhere meanwhile
	Kept     []string // how what is kept differs from what was typed
}

// windowView is a window that holds, with all that are published for its
// figure.
type windowView struct {
	needs.Window
	Name      string
	Changed   bool
	Off       bool
	Published []needs.Window
	Disagree  bool // sources give different ranges
}

func (s *Server) animals(q *request) error {
	groups, err := s.Store.Groups(q.Context())
	if err != nil {
		return err
	}
	var views []groupView
	for _, g := range groups {
		v := s.groupView(q.words, g)
		v.Vet = s.vetCalls(q.words, g)
		views = append(views, v)
	}
	return q.show(http.StatusOK, "animals", "animals", q.words.T("nav_animals"), views)
}

func (s *Server) newGroup(q *request) error {
	v := s.groupView(q.words, store.Group{Species: "gerbil", Stage: "adult"})
	return q.show(http.StatusOK, "group", "animals", q.words.T("group_new"), v)
}

func (s *Server) group(q *request) error {
	g, err := s.Store.Group(q.Context(), q.id())
	if err != nil {
		return err
	}
	v := s.groupView(q.words, g)
	if v.Mixes, err = s.Store.Mixes(q.Context(), store.Filter{Group: g.ID, Most: mostOfGroup}); err != nil {
		return err
	}
	return q.show(http.StatusOK, "group", "animals", g.Name, v)
}

// mostOfGroup mixes are listed with a group; the list of mixes has the rest.
const mostOfGroup = 12

// groupView works out the stage on the clock's day and the windows that hold.
func (s *Server) groupView(w *words, g store.Group) groupView {
	v := groupView{Group: g, AgeDays: -1, All: s.Needs.Species, Today: s.Clock().Format(time.DateOnly), Species: s.Needs.Find(g.Species)}
	if v.Species == nil {
		return v
	}
	v.Stage = v.Species.Stage(g.Stage)
	if born, err := time.Parse(time.DateOnly, g.Born); err == nil && g.Stage == "" {
		v.AgeDays = daysBetween(born, s.Clock())
		v.Stage, v.Young = stageAt(v.Species, v.AgeDays)
	}
	if v.Stage != nil {
		v.Windows, v.Others = windowViews(w, v.Stage, ownWindows(g.Windows))
	}
	return v
}

func daysBetween(born, now time.Time) int {
	day := func(t time.Time) time.Time { return time.Date(t.Year(), t.Month(), t.Day(), 0, 0, 0, 0, time.UTC) }
	return int(day(now).Sub(day(born)).Hours() / 24)
}

// stageAt is the stage of an animal of an age in days, and whether it is
// younger than every stage: still with its mother.
func stageAt(s *needs.Species, days int) (*needs.Stage, bool) {
	var first *needs.Stage
	for i := range s.Stages {
		st := &s.Stages[i]
		if st.FromDays == 0 && st.ToDays == 0 {
			continue // a stage of life and not of age, such as breeding
		}
		if first == nil || st.FromDays < first.FromDays {
			first = st
		}
		if days >= st.FromDays && (st.ToDays == 0 || days < st.ToDays) {
			return st, false
		}
	}
	return first, true
}

// ownWindows reads a group's own windows. A text that does not read holds
// none: it was checked when it was kept.
func ownWindows(text string) []mix.Window {
	if text == "" {
		return nil
	}
	f, err := mixfiles.Parse("windows", []byte(text))
	if err != nil {
		return nil
	}
	return f.Document.Windows
}

func windowsText(list []mix.Window) string {
	if len(list) == 0 {
		return ""
	}
	return string(mixfiles.Format(&mix.Document{Windows: list}))
}

// windowViews joins a stage's default windows with changed ones.
func windowViews(w *words, st *needs.Stage, own []mix.Window) (holding, others []windowView) {
	seen := map[[3]string]bool{}
	key := func(k, per nutrient.Key, on needs.Side) [3]string {
		return [3]string{string(k), string(per), string(on)}
	}
	for _, d := range st.Enforced() {
		v := windowView{Window: d, Name: w.Measure(d.Nutrient, d.Per)}
		for _, o := range own {
			if o.Nutrient == d.Nutrient && o.Per == d.Per && o.On == d.On {
				v.change(o, st)
			}
		}
		v.publish(st)
		seen[key(d.Nutrient, d.Per, d.On)] = true
		holding = append(holding, v)
	}
	for _, x := range st.Windows {
		k := key(x.Nutrient, x.Per, x.On)
		if seen[k] {
			continue
		}
		seen[k] = true
		v := windowView{Window: x, Name: w.Measure(x.Nutrient, x.Per)}
		v.publish(st)
		others = append(others, v)
	}
	slices.SortStableFunc(others, func(a, b windowView) int {
		return cmp.Compare(nutrient.Order(a.Nutrient), nutrient.Order(b.Nutrient))
	})
	return holding, others
}

// change puts a keeper's own window in a default's place.
func (v *windowView) change(o mix.Window, st *needs.Stage) {
	v.Changed = true
	switch {
	case o.Off:
		v.Off = true
	case o.Source != "":
		for _, x := range st.Windows {
			if x.Nutrient == o.Nutrient && x.Per == o.Per && x.On == o.On && x.Source == o.Source {
				v.Window = x
				return
			}
		}
	default:
		v.Window = needs.Window{Nutrient: o.Nutrient, Per: o.Per, Min: o.Min, Max: o.Max, Basis: o.Basis, On: o.On, Source: documentSource}
	}
}

// publish gathers every published window on the same figure.
func (v *windowView) publish(st *needs.Stage) {
	for _, x := range st.Windows {
		if x.Nutrient == v.Nutrient && x.Per == v.Per && x.On == v.On {
			v.Published = append(v.Published, x)
			v.Disagree = v.Disagree || !sameBound(x.Min, v.Published[0].Min) || !sameBound(x.Max, v.Published[0].Max)
		}
	}
}

func sameBound(a, b *float64) bool {
	if a == nil || b == nil {
		return a == b
	}
	return *a == *b
}

func (s *Server) saveGroup(q *request) error {
	if err := q.form(); err != nil {
		return err
	}
	g := store.Group{}
	if id := q.id(); id != "" {
		var err error
		if g, err = s.Store.Group(q.Context(), id); err != nil {
			return err
		}
		g.Rev = q.rev()
	}
	errs := s.readGroup(q, &g)
	if len(errs) > 0 {
		v := s.groupView(q.words, g)
		v.Errors, v.Typed = errs, map[string]string{"animals": q.value("animals"), "born": q.value("born")}
		return q.show(http.StatusUnprocessableEntity, "group", "animals", q.words.T("group_new"), v)
	}
	saved, err := s.Store.SaveGroup(q.Context(), g)
	if isConflict(err) {
		return s.groupConflict(q, g)
	}
	if err != nil {
		return err
	}
	g = saved
	return q.see("/animals/" + url.PathEscape(string(g.ID)) + "?said=saved")
}

// groupConflict shows a group as it was typed beside how it is kept; the next
// save is on top of that.
func (s *Server) groupConflict(q *request, mine store.Group) error {
	kept, err := s.Store.Group(q.Context(), mine.ID)
	if err != nil {
		return err
	}
	w := q.words
	mine.Rev, mine.Windows = kept.Rev, kept.Windows
	v, was := s.groupView(w, mine), s.groupView(w, kept)
	v.Conflict = true
	name := func(g groupView) (species, stage string) {
		if g.Species != nil {
			species = w.Species(g.Species)
		}
		if g.Stage != nil && g.Group.Stage != "" {
			stage = w.Stage(g.Stage)
		}
		return species, stage
	}
	speciesKept, stageKept := name(was)
	species, stage := name(v)
	for _, x := range [][3]string{{"label_name", kept.Name, mine.Name}, {"label_species", speciesKept, species}, {"label_stage", stageKept, stage},
		{"label_born", kept.Born, mine.Born}, {"label_animals", number0(kept.Animals), number0(mine.Animals)}, {"label_note", kept.Note, mine.Note}} {
		if x[1] != x[2] {
			v.Kept = append(v.Kept, w.T("own_diff", "Name", w.T(x[0]), "A", cmp.Or(x[1], w.T("nothing")), "B", cmp.Or(x[2], w.T("nothing"))))
		}
	}
	return q.show(http.StatusConflict, "group", "animals", kept.Name, v)
}

func (q *request) rev() int64 {
	n, _ := strconv.ParseInt(q.PostFormValue("rev"), 10, 64)
	return n
}

// maxAnimals is far above any kitchen; it catches a slip of the finger.
const maxAnimals = 100_000

// readGroup takes a group's form over and returns what is wrong, by field.
func (s *Server) readGroup(q *request, g *store.Group) map[string]string {
	errs := map[string]string{}
	g.Name, g.Note = clip(q.value("name"), 200), clip(q.value("note"), 2000)
	if g.Name == "" {
		errs["name"] = q.words.T("need_name")
	}
	was := g.Species
	g.Species = q.value("species")
	sp := s.Needs.Find(g.Species)
	if sp == nil {
		errs["species"] = q.words.T("need_species")
		return errs
	}
	if was != "" && was != g.Species {
		g.Windows = "" // windows changed for another species do not carry over
	}
	g.Animals = 0
	if t := q.value("animals"); t != "" {
		n, err := q.words.parseNumber(t)
		if err != nil || n < 0 || n > maxAnimals || n != float64(int(n)) {
			errs["animals"] = q.words.T("need_whole")
		}
		g.Animals = int(n)
	}
	g.Stage, g.Born = q.value("stage"), q.value("born")
	if g.Stage == "" {
		born, err := time.Parse(time.DateOnly, g.Born)
		if err != nil || born.After(s.Clock()) || daysBetween(born, s.Clock()) > maxAge {
			errs["born"] = q.words.T("need_born")
		}
	} else {
		g.Born = ""
		if sp.Stage(g.Stage) == nil {
			errs["stage"] = q.words.T("need_stage")
		}
	}
	return errs
}

// maxAge is older than any of these animals has grown, in days.
const maxAge = 3650

// clip bounds a text in bytes, at a whole character.
func clip(s string, most int) string {
	if len(s) > most {
		s = strings.ToValidUTF8(s[:most], "")
	}
	return s
}

// changeWindow sets, chooses, drops or resets one window of a group.
func (s *Server) changeWindow(q *request) error {
	if err := q.form(); err != nil {
		return err
	}
	g, err := s.Store.Group(q.Context(), q.id())
	if err != nil {
		return err
	}
	v := s.groupView(q.words, g)
	k, per, on := nutrient.Key(q.value("nutrient")), nutrient.Key(q.value("per")), needs.Side(q.value("on"))
	at := slices.IndexFunc(v.Windows, func(x windowView) bool { return x.Nutrient == k && x.Per == per && x.On == on })
	if at < 0 {
		return badRequest("no such window")
	}
	next, errs := q.windowFrom(v.Windows[at])
	if len(errs) > 0 {
		v.Errors = errs
		v.Typed = map[string]string{"min-" + string(k): q.value("min"), "max-" + string(k): q.value("max")}
		return q.show(http.StatusUnprocessableEntity, "group", "animals", g.Name, v)
	}
	own := slices.DeleteFunc(ownWindows(g.Windows), func(o mix.Window) bool { return o.Nutrient == k && o.Per == per && o.On == on })
	if next != nil {
		own = append(own, *next)
	}
	changed := g
	changed.Windows, changed.Rev = windowsText(own), q.rev()
	_, err = s.Store.SaveGroup(q.Context(), changed)
	if isConflict(err) {
		x := v.Windows[at]
		mine := q.words.T("window_default")
		if next != nil {
			mine = cmp.Or(q.words.boundText(*next), next.Source, q.words.T("window_off"))
		}
		now := q.words.WindowText(x.Window)
		if x.Off {
			now = q.words.T("window_off")
		}
		v.Conflict, v.Kept = true, []string{q.words.T("own_diff", "Name", x.Name, "A", now, "B", mine)}
		v.Typed = map[string]string{"min-" + string(k): q.value("min"), "max-" + string(k): q.value("max")}
		v.Errors = map[string]string{"window-" + string(k): q.words.T("kept_press")}
		return q.show(http.StatusConflict, "group", "animals", g.Name, v)
	}
	if err != nil {
		return err
	}
	return q.see("/animals/" + url.PathEscape(string(g.ID)) + "?said=saved#w-" + string(k))
}

// windowFrom reads what is to hold instead; nil resets to the default.
func (q *request) windowFrom(v windowView) (*mix.Window, map[string]string) {
	o := mix.Window{Nutrient: v.Nutrient, Per: v.Per, On: v.On, Basis: v.Basis}
	switch do := q.value("do"); {
	case do == "reset":
		return nil, nil
	case do == "off":
		o.Off = true
		return &o, nil
	case len(do) > 7 && do[:7] == "source:":
		for _, x := range v.Published {
			if x.Source == do[7:] && x.Default {
				return nil, nil
			} else if x.Source == do[7:] {
				o.Source, o.Basis = x.Source, nutrient.AsFed
				return &o, nil
			}
		}
	}
	var err1, err2 error
	o.Min, err1 = q.words.parsePointer(q.value("min"))
	o.Max, err2 = q.words.parsePointer(q.value("max"))
	at := "window-" + string(v.Nutrient)
	info, _ := nutrient.Lookup(v.Nutrient)
	most := info.Ceiling
	if v.Per != "" {
		most = 1e6
	}
	above := func(x *float64) bool { return x != nil && *x > most }
	switch {
	case err1 != nil || err2 != nil || above(o.Min) || above(o.Max):
		return nil, map[string]string{at: q.words.T("need_bound", "Most", q.words.Plain(most))}
	case o.Min == nil && o.Max == nil:
		return nil, map[string]string{at: q.words.T("need_one_bound")}
	case o.Min != nil && o.Max != nil && *o.Min > *o.Max:
		return nil, map[string]string{at: q.words.T("need_order")}
	}
	return &o, nil
}

func (s *Server) deleteGroup(q *request) error {
	if err := q.form(); err != nil {
		return err
	}
	if err := s.Store.DeleteGroup(q.Context(), q.id(), q.rev()); err != nil {
		return err
	}
	return q.see("/animals?said=removed")
}

// boundText is a keeper's own window as a range.
func (w *words) boundText(x mix.Window) string {
	return w.WindowText(needs.Window{Nutrient: x.Nutrient, Per: x.Per, Min: x.Min, Max: x.Max, Basis: x.Basis, On: x.On})
}
