package web

import (
	"html/template"
	"math"
	"net/http"
	"slices"
	"strconv"
	"strings"

	"firlot/internal/chart"
	"firlot/internal/store"
	"firlot/needs"
	"firlot/nutrient"
	"firlot/ration"
	rationfiles "firlot/ration/files"
)

// weightsView are the animals of a group with their weights.
type weightsView struct {
	feedPage
	Animals []animalView
	Gone    []string
	Add     animalView // the form of another animal
	Advice  []adviceView
}

// animalView is one animal.
type animalView struct {
	I        int // in the document
	ID       string
	Name     string
	FormName string // in its form, where it may be typed anew
	Open     bool   // the form, for what was not kept
	About    []string
	SVG      template.HTML
	Trend    string
	Vet      string // why to see a veterinarian
	Next     *stageView
	Weights  []weighingView // newest first
	Sexes    []choice
	Breeding []choice
	Stages   []choice
	Born     string
	Note     string
	Typed    string // a weight that was not kept, with its day
	TypedDay string
	Ask      *weightAsk // a weight that is asked about
}

// weighingView is one weighing, with its place in the document.
type weighingView struct {
	I    int
	Text string
}

// stageView is a change of life stage that comes.
type stageView struct {
	Day, From, To string
	Days          string
	Means         []string
	Change        []shiftView
}

func (s *Server) weights(q *request) error {
	f, err := s.feedingOf(q)
	if err != nil {
		return err
	}
	return f.showWeights(q, http.StatusOK, f.page("weights"))
}

func (f *feeding) showWeights(q *request, status int, p feedPage) error {
	v := weightsView{feedPage: p, Add: animalView{Sexes: f.sexes(""), Stages: f.stages(p.Species, "")}}
	if p.Typed["do"] == "add" {
		v.Add.typed(p.Typed)
	}
	if f.Plan != nil {
		trends := f.Plan.Trends()
		for i, a := range f.Plan.Animals {
			v.Animals = append(v.Animals, f.animalView(p, a, trends[i]))
		}
		slices.SortStableFunc(v.Animals, func(a, b animalView) int { // who needs a veterinarian comes first
			switch {
			case a.Vet != "" && b.Vet == "":
				return -1
			case a.Vet == "" && b.Vet != "":
				return 1
			}
			return 0
		})
		for _, x := range f.Plan.Advice() { // a fast loss stands with its animal
			if x.Vet && x.ID != "fast-loss" {
				v.Advice = append(v.Advice, f.adviceView(x))
			}
		}
		for _, a := range f.Doc.Animals {
			if a.Gone != 0 && a.Gone <= f.Day {
				v.Gone = append(v.Gone, a.Name+", "+a.Gone.String())
			}
		}
	}
	return f.show(q, status, "weights", v)
}

func (f *feeding) sexes(have string) []choice {
	var list []choice
	for _, x := range []string{"", "female", "male"} {
		list = append(list, choice{x, f.w.T("feed_sex_" + nameOr(x, "unknown")), x == have})
	}
	return list
}

func nameOr(s, other string) string {
	if s == "" {
		return other
	}
	return s
}

func (f *feeding) stages(sp *needs.Species, have string) []choice {
	list := []choice{{"", f.w.T("stage_from_birth"), have == ""}}
	if sp != nil {
		for i := range sp.Stages {
			st := &sp.Stages[i]
			list = append(list, choice{st.ID, f.w.Stage(st), st.ID == have})
		}
	}
	return list
}

func (f *feeding) animalView(p feedPage, a ration.Fed, t ration.Trend) animalView {
	w := f.w
	v := animalView{I: a.Index, ID: "animal-" + strconv.Itoa(a.Index), Name: a.Animal.Name, FormName: a.Animal.Name, Sexes: f.sexes(a.Animal.Sex), Stages: f.stages(a.Species, a.Animal.Stage),
		Born: a.Animal.Born.String(), Note: a.Animal.Note}
	v.About = append(v.About, w.T("feed_stage_"+a.StageBy, "Stage", w.Stage(a.Stage)))
	if a.Age >= 0 {
		v.About = append(v.About, w.N("age_days", a.Age))
	}
	if a.Animal.Sex != "" {
		v.About = append(v.About, w.T("feed_sex_"+a.Animal.Sex))
	}
	for _, b := range []ration.Breeding{ration.NotBreeding, ration.Pregnant, ration.Nursing} {
		v.Breeding = append(v.Breeding, choice{string(b), w.T("feed_breeding_" + nameOr(string(b), "none")), b == a.Animal.Breeding})
	}
	f.weightLine(&v, a, t)
	if a.Next != nil {
		v.Next = f.stageChange(*a.Next)
	}
	if p.Typed["animal"] == strconv.Itoa(a.Index) {
		v.typed(p.Typed)
		v.Ask = p.Ask
	}
	return v
}

// typed puts what was typed and not kept back into the animal's forms.
func (v *animalView) typed(from map[string]string) {
	if _, ok := from["weight"]; ok {
		v.Typed, v.TypedDay = from["weight"], from["day"]
		return
	}
	v.Open = true
	v.FormName, v.Born, v.Note = from["name"], from["born"], from["note"]
	choose(v.Sexes, from["sex"])
	choose(v.Breeding, from["breeding"])
	choose(v.Stages, from["stage"])
}

func choose(list []choice, value string) {
	for i := range list {
		list[i].Chosen = list[i].Value == value
	}
}

// weightLine draws the weights and says what they do.
func (f *feeding) weightLine(v *animalView, a ration.Fed, t ration.Trend) {
	w := f.w
	var said []string
	for _, x := range slices.Backward(t.Weights) {
		s := x.Day.String() + ": " + w.Plain(x.Mass.Grams()) + "\u00a0g"
		if x.Note != "" {
			s += ", " + x.Note
		}
		said = append(said, s)
		v.Weights = append(v.Weights, weighingView{slices.Index(f.Doc.Weights, x), s})
	}
	v.Trend = f.trendWords(t)
	if t.Fast {
		v.Vet = w.T("feed_vet_loss", "Name", a.Animal.Name, "Month", w.Num(100*t.Lost, 1), "Week", w.Num(100*t.Week, 1))
	}
	if len(t.Weights) == 0 {
		return
	}
	d := chart.WeightLine{Unit: "g", Format: w.Short, Fast: t.Fast}
	for _, x := range t.Weights {
		d.Points = append(d.Points, chart.WeightPoint{Day: float64(x.Day), Grams: x.Mass.Grams()})
	}
	d.Ticks = f.weightTicks(t.Weights)
	if g := a.Species.AdultWeight; g != nil && g.Ranged && a.Stage.ID != "growing" {
		d.Low, d.High, d.Band = &g.Low, &g.High, w.T("feed_grown_weigh", "A", w.Short(g.Low), "B", w.Short(g.High))
	}
	if t.HasSlope && t.N > 2 {
		d.Trend = trendLine(t)
	}
	title := w.T("feed_weight_title", "Name", a.Animal.Name)
	v.SVG = both(func(width float64) string {
		return chart.Weights(d, chart.WeightOptions{Title: title, Desc: strings.Join(said, "; ") + ". " + v.Trend, Width: width})
	})
}

// trendLine lays the slope through the middle of the weights that it rests on.
func trendLine(t ration.Trend) *[2]chart.WeightPoint {
	var level []float64
	for _, x := range t.Weights {
		if x.Day >= t.From && x.Day <= t.To {
			level = append(level, x.Mass.Grams()-t.Slope/7*float64(x.Day-t.From))
		}
	}
	slices.Sort(level)
	at := level[len(level)/2]
	if len(level)%2 == 0 {
		at = (at + level[len(level)/2-1]) / 2
	}
	return &[2]chart.WeightPoint{{Day: float64(t.From), Grams: at}, {Day: float64(t.To), Grams: at + t.Slope/7*float64(t.To-t.From)}}
}

// mostTicks days are written under a weight line.
const mostTicks = 6

func (f *feeding) weightTicks(list []ration.Weighing) []chart.WeightTick {
	first, last := list[0].Day, list[len(list)-1].Day
	step := max(int(math.Ceil(float64(last-first)/mostTicks)), 1)
	var ticks []chart.WeightTick
	for d := first; d <= last; d += ration.Day(step) {
		t := d.Time()
		ticks = append(ticks, chart.WeightTick{Day: float64(d), Label: strconv.Itoa(t.Day()) + " " + f.w.T("feed_month_"+strconv.Itoa(int(t.Month())))})
	}
	return ticks
}

func (f *feeding) trendWords(t ration.Trend) string {
	w := f.w
	slope := w.Signed(math.Round(t.Slope*10)/10) + "\u00a0g"
	switch {
	case t.Since < 0:
		return w.T("feed_trend_never")
	case t.Runs == ration.TooFew:
		return w.T("feed_trend_few")
	case !t.HasInterval:
		return w.T("feed_trend_slope", "Slope", slope)
	}
	key := map[ration.Run]string{ration.Falling: "feed_trend_falling", ration.Steady: "feed_trend_steady", ration.Rising: "feed_trend_rising"}[t.Runs]
	return w.T(key, "Slope", slope, "Low", w.Signed(math.Round(t.Low*10)/10), "High", w.Signed(math.Round(t.High*10)/10))
}

// stageChange says what a new stage means for the mix, and plans a changeover.
func (f *feeding) stageChange(x ration.StageChange) *stageView {
	w := f.w
	v := &stageView{Day: x.Day.String(), From: w.Stage(x.From), To: w.Stage(x.To), Days: w.N("feed_in_days", int(x.Day-f.Day))}
	bound := func(b *needs.Window) string {
		if b == nil {
			return w.T("nothing")
		}
		return w.WindowText(*b)
	}
	for _, c := range x.Windows {
		v.Means = append(v.Means, w.T("feed_stage_window", "Name", upper(w.Measure(c.Nutrient, "")), "A", bound(c.Was), "B", bound(c.Is)))
	}
	for _, s := range f.Plan.ChangeoverFrom(x.Day, 0) {
		if s.Fed {
			v.Change = append(v.Change, shiftView{w.dayFull(s.Day) + " " + s.Day.String(), w.Grams(s.Old) + "\u00a0g", w.Grams(s.New) + "\u00a0g"})
		}
	}
	return v
}

// heaviest is more than any animal of these species weighs, g.
const heaviest = 2000

// saveWeights adds a weight, or adds or changes an animal.
func (s *Server) saveWeights(q *request) error {
	if err := q.form(); err != nil {
		return err
	}
	f, err := s.feedingOf(q)
	if err != nil {
		return err
	}
	if f.Doc == nil {
		return f.again(q, "weights", f.Problem, false)
	}
	switch q.value("do") {
	case "weigh":
		return f.addWeight(q)
	case "add", "save", "gone":
		if f.Away {
			return q.refuse()
		}
	}
	switch q.value("do") {
	case "add", "save", "gone":
		return f.saveAnimal(q)
	}
	if strings.HasPrefix(q.value("do"), "weigh:") { // asked about, and right
		return f.addWeight(q)
	}
	if at, ok := strings.CutPrefix(q.value("do"), "unweigh:"); ok {
		return f.takeBack(q, "weights", at, func(d *ration.Document, i int) bool {
			if i >= len(d.Weights) {
				return false
			}
			d.Weights = slices.Delete(d.Weights, i, i+1)
			return true
		})
	}
	return badRequest("no such change of an animal")
}

func (f *feeding) addWeight(q *request) error {
	i, err := strconv.Atoi(q.value("animal"))
	if err != nil || i < 0 || i >= len(f.Doc.Animals) {
		return badRequest("no such animal")
	}
	g, err := q.words.parseNumber(strings.TrimSuffix(q.value("weight"), "g"))
	if err != nil || !(g > 0) || g > heaviest {
		return f.again(q, "weights", f.complain("feed_need_weight", "Most", f.w.Plain(heaviest)), false)
	}
	day := f.Day
	if text := q.value("day"); text != "" {
		if day, err = ration.ParseDay(text); err != nil || day > f.Day {
			return f.again(q, "weights", f.complain("feed_need_past"), false)
		}
	}
	if ask := f.askWeight(i, g, day); ask != nil && q.value("do") != "weigh:"+ask.Value {
		p := f.page("weights")
		p.Wrong = template.HTML(template.HTMLEscapeString(ask.Text) + ` <a href="#animal-` + strconv.Itoa(i) + `">` + template.HTMLEscapeString(q.words.T("feed_weight_see")) + `</a>`)
		p.Typed = map[string]string{"animal": strconv.Itoa(i), "weight": q.value("weight"), "day": q.value("day")}
		p.Ask = ask
		return f.showWeights(q, http.StatusUnprocessableEntity, p)
	}
	w := ration.Weighing{Day: day, Animal: f.Doc.Animals[i].Name, Mass: nutrient.Mass(math.Round(g * float64(nutrient.Gram)))}
	wrong, err := f.addRecords(q, rationfiles.Records{Weights: []ration.Weighing{w}})
	if err != nil {
		return err
	}
	if wrong != "" {
		return f.again(q, "weights", wrong, false)
	}
	return f.see(q, "weights", "#animal-"+strconv.Itoa(i))
}

// weightAsk is the question that a weight raises before it is kept.
type weightAsk struct{ Value, Grams, Text string }

// askWeight asks about a weight that is hardly one of the animal's kind.
func (f *feeding) askWeight(i int, grams float64, day ration.Day) *weightAsk {
	if f.Plan == nil {
		return nil
	}
	at := slices.IndexFunc(f.Plan.Animals, func(a ration.Fed) bool { return a.Index == i })
	if at < 0 || !f.Plan.Animals[at].Unlikely(grams, day) {
		return nil
	}
	a, w := f.Plan.Animals[at], f.w
	g := a.Species.AdultWeight
	typed := w.typed(grams)
	return &weightAsk{strconv.FormatFloat(grams, 'f', -1, 64), typed, w.T("feed_weight_ask", "Name", a.Animal.Name, "Grams", typed, "Species", w.Species(a.Species), "A", w.Short(g.Low), "B", w.Short(g.High))}
}

func (f *feeding) saveAnimal(q *request) error {
	d := f.copyDoc()
	i, _ := strconv.Atoi(q.value("animal"))
	if q.value("do") == "add" {
		i = len(d.Animals)
		d.Animals = append(d.Animals, ration.Animal{})
	}
	if i < 0 || i >= len(d.Animals) {
		return badRequest("no such animal")
	}
	a := &d.Animals[i]
	was := a.Name
	if q.value("do") == "gone" {
		a.Gone = f.Day
	} else if wrong := f.readAnimal(q, a); wrong != "" {
		return f.again(q, "weights", wrong, false)
	}
	if was != "" && was != a.Name { // what was written down of it goes with it
		for j := range d.Weights {
			if d.Weights[j].Animal == was {
				d.Weights[j].Animal = a.Name
			}
		}
		for j := range d.Sightings {
			if d.Sightings[j].Animal == was {
				d.Sightings[j].Animal = a.Name
			}
		}
	}
	complaint, err := f.keepDoc(q, d)
	wrong, conflict, err := f.orWrong(q, complaint, err)
	if err != nil {
		return err
	}
	if wrong != "" {
		return f.again(q, "weights", wrong, conflict)
	}
	return f.see(q, "weights", "#animal-"+strconv.Itoa(i))
}

func (f *feeding) readAnimal(q *request, a *ration.Animal) template.HTML {
	a.Name, a.Note, a.Sex, a.Stage = clip(q.value("name"), 100), clip(q.value("note"), 500), q.value("sex"), q.value("stage")
	if a.Name == "" {
		return f.complain("need_name")
	}
	if !slices.Contains([]string{"", "female", "male"}, a.Sex) {
		return f.complain("need_stage")
	}
	was := a.Breeding
	a.Breeding = ration.Breeding(q.value("breeding"))
	if !slices.Contains([]ration.Breeding{ration.NotBreeding, ration.Pregnant, ration.Nursing}, a.Breeding) {
		return f.complain("need_stage")
	}
	if a.Breeding != was {
		a.Since = f.Day
	}
	if a.Breeding == ration.NotBreeding {
		a.Since = 0
	}
	a.Born = 0
	if text := q.value("born"); text != "" {
		day, err := ration.ParseDay(text)
		if err != nil || day > f.Day {
			return f.complain("feed_need_past")
		}
		a.Born = day
	}
	return ""
}

// vetCalls are what a group's records say to see a veterinarian for. Its foods
// are left out of account, so that no mix has to be solved for a list.
func (s *Server) vetCalls(w *words, g store.Group) []template.HTML {
	file, err := rationfiles.Parse("feeding", []byte(g.Feeding))
	if g.Feeding == "" || err != nil {
		return nil
	}
	d := file.Document.Copy()
	d.Foods, d.Bowls, d.Mix, d.Lines, d.Change = nil, nil, "", nil, nil
	f := &feeding{s: s, w: w, Group: g, Doc: d, Day: ration.DayOf(s.Clock())}
	if f.Plan, err = ration.Resolve(d, s.Catalogue, s.Needs, nil, f.Day); err != nil {
		return nil
	}
	var list []template.HTML
	for _, a := range f.Plan.Advice() {
		if a.Vet {
			list = append(list, f.adviceView(a).Text)
		}
	}
	return list
}
