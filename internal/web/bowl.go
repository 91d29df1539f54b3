package web

import (
	"html/template"
	"math"
	"net/http"
	"reflect"
	"slices"
	"strconv"
	"strings"

	"firlot/nutrient"
	"firlot/ration"
	rationfiles "firlot/ration/files"
)

// leftView is what was left, and what was seen.
type leftView struct {
	feedPage
	Day, Note         string // typed and not kept
	SignDay, SignNote string
	Foods             []choice
	Kinds             []kindField
	Signs             []choice
	Animals           []choice
	Advice            []adviceView
	Bowls             []bowlRecord
	Seen              []seenView
	Offered           string
}

// kindField is what was left of one kind of the mix.
type kindField struct{ Field, Name, Value string }

// adviceView is what follows from the records.
type adviceView struct {
	Text, Why template.HTML
	Vet       bool
}

// bowlRecord is one record of the bowl, worked out.
type bowlRecord struct {
	I                int // in the document
	Day, Food, Words string
	Kinds            []eatenKind
	Figures          []eatenFigure
	Note             string
}

type eatenKind struct {
	Name, Offered, Eaten, Word string
	Avoided                    bool
}

type eatenFigure struct{ Name, Offered, Got string }

type seenView struct {
	I          int // in the document
	Day, Words string
	Vet        bool
}

func (s *Server) leftovers(q *request) error {
	f, err := s.feedingOf(q)
	if err != nil {
		return err
	}
	return f.showBowl(q, http.StatusOK, f.page("bowl"))
}

func (f *feeding) showBowl(q *request, status int, p feedPage) error {
	v := leftView{feedPage: p}
	if f.Plan == nil {
		return f.show(q, status, "bowl", v)
	}
	w := f.w
	v.SignDay = v.Today
	if p.Typed["do"] == "bowl" {
		v.Day, v.Note = p.Typed["day"], p.Typed["note"]
	}
	if p.Typed["do"] == "sign" {
		v.SignDay, v.SignNote = p.Typed["day"], p.Typed["note"]
	}
	seen := map[string]bool{}
	for _, x := range f.Plan.Foods {
		if n := x.Food.Food; !x.Food.AtWill && !seen[n] {
			seen[n] = true
			v.Foods = append(v.Foods, choice{n, upper(f.foodName(n)), p.Typed["food"] == n})
			if x.Form == nil && x.Dose.HasMean {
				v.Offered = w.typed(math.Round(x.Dose.Mean / float64(x.Food.Feedings())))
			}
		}
	}
	if t, ok := p.Typed["offered"]; ok {
		v.Offered = t
	}
	for _, x := range f.Portions {
		if x.Mass > 0 {
			name := "left-" + x.Form.Ref()
			v.Kinds = append(v.Kinds, kindField{name, w.Form(x.Form), p.Typed[name]})
		}
	}
	for _, x := range ration.Signs() {
		v.Signs = append(v.Signs, choice{string(x.Sign), f.signName(x), string(x.Sign) == p.Typed["sign"]})
	}
	for _, n := range f.names() {
		v.Animals = append(v.Animals, choice{n, n, n == p.Typed["animal"]})
	}
	v.Advice = f.advice()
	f.records(&v)
	return f.show(q, status, "bowl", v)
}

func (f *feeding) signName(x ration.SignInfo) string {
	return f.w.T("feed_sign_" + strings.ReplaceAll(string(x.Sign), "-", "_"))
}

// advice is what follows from the records.
func (f *feeding) advice() []adviceView {
	var list []adviceView
	for _, a := range f.Plan.Advice() {
		list = append(list, f.adviceView(a))
	}
	return list
}

func (f *feeding) adviceView(a ration.Advice) adviceView {
	x := adviceView{f.w.Engine(a.Text), f.w.Engine(a.Why), a.Vet}
	switch {
	case a.ID == "sign":
		x.Text = f.signAdvice(a.Text)
	case strings.Contains(a.Why, "electivity"):
		x.Why = f.pickyWhy(a.Why)
	}
	return x
}

// pickyWhy names the foods that are left aside in the reader's words.
func (f *feeding) pickyWhy(why string) template.HTML {
	var names []string
	for _, p := range f.Portions {
		if _, list, ok := strings.Cut(why, ": "); ok && strings.Contains(list, p.Form.Name("en")) {
			names = append(names, f.w.Form(p.Form))
		}
	}
	if len(names) == 0 {
		return f.w.Engine(why)
	}
	return f.complain("feed_picky_why", "Names", f.w.And(names))
}

// signAdvice says a sign and its animal in the reader's words.
func (f *feeding) signAdvice(text string) template.HTML {
	who, _, _ := strings.Cut(text, ": ")
	for _, x := range ration.Signs() {
		if !strings.Contains(text, ": "+x.Name+".") {
			continue
		}
		if !slices.Contains(f.names(), who) {
			who = f.w.T("feed_animal_unknown")
		}
		return f.complain("feed_advice_sign", "Who", upper(who), "Sign", f.signName(x))
	}
	return f.w.Engine(text)
}

// mostRecords are shown; the document has them all.
const mostRecords = 20

func (f *feeding) records(v *leftView) {
	w := f.w
	for _, x := range slices.Backward(f.Plan.Feedings()) {
		if len(v.Bowls) == mostRecords {
			break
		}
		at := slices.IndexFunc(f.Doc.Bowls, func(y ration.Bowl) bool { return reflect.DeepEqual(x.Bowl, y) })
		b := bowlRecord{I: at, Day: x.Bowl.Day.String(), Food: upper(f.foodName(x.Bowl.Food)), Note: x.Bowl.Note}
		b.Words = w.T("feed_bowl_not_weighed", "Offered", w.Grams(x.Bowl.Offered)+"\u00a0g")
		if x.Known {
			b.Words = w.T("feed_bowl_eaten", "Offered", w.Grams(x.Bowl.Offered)+"\u00a0g", "Eaten", w.Grams(x.Eaten)+"\u00a0g", "Left", w.Num(100*x.Part, 0))
		}
		for _, k := range x.Kinds {
			e := eatenKind{Name: w.Form(k.Form), Offered: w.two(k.Offered.Grams()) + "\u00a0g", Eaten: w.two(k.Eaten.Grams()) + "\u00a0g", Avoided: k.Avoided}
			switch {
			case k.Avoided:
				e.Word = w.T("feed_kind_avoided")
			case k.Electivity > likedFrom:
				e.Word = w.T("feed_kind_liked")
			}
			b.Kinds = append(b.Kinds, e)
		}
		for i, o := range x.Offered {
			got := x.Got[i]
			if o.HasMean && got.HasMean {
				b.Figures = append(b.Figures, eatenFigure{upper(w.Figure(o.Measure.Nutrient)), w.Quantity(o.Mean, o.Measure.Unit()), w.Quantity(got.Mean, got.Measure.Unit())})
			}
		}
		v.Bowls = append(v.Bowls, b)
	}
	for i, x := range slices.Backward(f.Doc.Sightings) {
		if len(v.Seen) == mostRecords {
			break
		}
		info, _ := x.What.Info()
		words := f.signName(info)
		if x.Animal != "" {
			words = x.Animal + ": " + words
		}
		if x.Note != "" {
			words += ". " + x.Note
		}
		v.Seen = append(v.Seen, seenView{i, x.Day.String(), words, info.Vet})
	}
}

// likedFrom is the electivity from which a kind is called liked: the mirror of
// what is called avoided would be 1/3, and hardly anything common can reach
// that. Assumed.
const likedFrom = 0.1

// saveBowl writes down what was left, or what was seen.
func (s *Server) saveBowl(q *request) error {
	if err := q.form(); err != nil {
		return err
	}
	f, err := s.feedingOf(q)
	if err != nil {
		return err
	}
	if f.Plan == nil {
		return f.again(q, "bowl", f.Problem, false)
	}
	day := f.Day
	if text := q.value("day"); text != "" {
		if day, err = ration.ParseDay(text); err != nil || day > f.Day {
			return f.again(q, "bowl", f.complain("feed_need_past"), false)
		}
	}
	var r rationfiles.Records
	if do := q.value("do"); strings.HasPrefix(do, "un") {
		return f.takeBackRecord(q, do)
	}
	switch q.value("do") {
	case "bowl":
		b, wrong := f.readBowl(q, day)
		if wrong != "" {
			return f.again(q, "bowl", wrong, false)
		}
		r.Bowls = []ration.Bowl{b}
	case "sign":
		x := ration.Sighting{Day: day, Animal: q.value("animal"), What: ration.Sign(q.value("sign")), Note: clip(q.value("note"), 1000)}
		if _, ok := x.What.Info(); !ok {
			return f.again(q, "bowl", f.complain("feed_need_sign"), false)
		}
		r.Sightings = []ration.Sighting{x}
	default:
		return badRequest("no such record")
	}
	wrong, err := f.addRecords(q, r)
	if err != nil {
		return err
	}
	if wrong != "" {
		return f.again(q, "bowl", wrong, false)
	}
	return f.see(q, "bowl", "")
}

// readBowl reads what was offered and left. Nothing written is not known, and
// nought is nought.
func (f *feeding) readBowl(q *request, day ration.Day) (ration.Bowl, template.HTML) {
	b := ration.Bowl{Day: day, Food: q.value("food"), Note: clip(q.value("note"), 1000)}
	if _, ok := f.known(b.Food); !ok {
		return b, f.complain("feed_need_food")
	}
	var set bool
	var wrong template.HTML
	if b.Offered, set, wrong = f.readGrams(q, "offered"); wrong != "" || !set || b.Offered == 0 {
		return b, f.complain("feed_need_offered")
	}
	if b.Left, b.HasLeft, wrong = f.readGrams(q, "left"); wrong != "" {
		return b, wrong
	}
	if b.Husks, _, wrong = f.readGrams(q, "husks"); wrong != "" {
		return b, wrong
	}
	if b.Food != ration.MixName {
		return b, ""
	}
	for _, x := range f.Portions {
		m, set, wrong := f.readGrams(q, "left-"+x.Form.Ref())
		if wrong != "" {
			return b, wrong
		}
		if set {
			b.Sorted = append(b.Sorted, ration.Sorted{Food: x.Form.Ref(), Left: m})
		}
	}
	return b, ""
}

func (f *feeding) readGrams(q *request, name string) (m nutrient.Mass, set bool, wrong template.HTML) {
	text := strings.TrimSuffix(q.value(name), "g")
	if text == "" {
		return 0, false, ""
	}
	n, err := f.w.parseNumber(strings.TrimSpace(text))
	if err != nil || n < 0 || n > mostFed {
		return 0, false, f.complain("feed_need_amount")
	}
	return nutrient.Mass(math.Round(n * float64(nutrient.Gram))), true, ""
}

// takeBack takes a record out that was written down by mistake.
func (f *feeding) takeBack(q *request, page, at string, drop func(d *ration.Document, i int) bool) error {
	i, err := strconv.Atoi(at)
	d := f.copyDoc()
	if err != nil || i < 0 || !drop(d, i) {
		return badRequest("no such record")
	}
	complaint, err := f.keepDoc(q, d)
	wrong, conflict, err := f.orWrong(q, complaint, err)
	if err != nil {
		return err
	}
	if wrong != "" {
		return f.again(q, page, wrong, conflict)
	}
	return f.see(q, page, "")
}

// takeBackRecord takes a bowl or a sighting out.
func (f *feeding) takeBackRecord(q *request, do string) error {
	kind, at, _ := strings.Cut(do, ":")
	return f.takeBack(q, "bowl", at, func(d *ration.Document, i int) bool {
		switch {
		case kind == "unbowl" && i < len(d.Bowls):
			d.Bowls = slices.Delete(d.Bowls, i, i+1)
		case kind == "unsee" && i < len(d.Sightings):
			d.Sightings = slices.Delete(d.Sightings, i, i+1)
		default:
			return false
		}
		return true
	})
}
