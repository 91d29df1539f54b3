package web

import (
	"cmp"
	"html/template"
	"math"
	"net/http"
	"reflect"
	"slices"
	"strconv"
	"strings"
	"time"

	"firlot/nutrient"
	"firlot/ration"
	rationfiles "firlot/ration/files"
	"firlot/serving"
)

// dayKeys are the days of the week as documents and words name them.
var dayKeys = map[time.Weekday]string{time.Monday: "mon", time.Tuesday: "tue", time.Wednesday: "wed", time.Thursday: "thu",
	time.Friday: "fri", time.Saturday: "sat", time.Sunday: "sun"}

func dayKey(d time.Weekday) string { return dayKeys[d] }

// inSpoons is a mass of the mix in level spoons, to quarters: in the keeper's
// own where it was weighed, else of the document's kind; empty where that is
// not known.
func (f *feeding) inSpoons(m nutrient.Mass) string {
	if o := f.Doc.OwnSpoon; o != nil && o.Holds > 0 {
		if n := math.Round(4*m.Grams()/o.Holds.Grams()) / 4; n >= 0.25 {
			return f.w.T("feed_about_spoons", "N", f.w.Plain(n), "Kind", f.w.T("feed_spoons_of_own"))
		}
		return ""
	}
	for _, s := range serving.Spoons() {
		if s.Kind != f.Doc.Spoon || f.Portions == nil {
			continue
		}
		bulk := serving.Bulk(f.Portions)
		if !bulk.HasMean {
			return ""
		}
		full := bulk.Mean * s.Tablespoon
		n := math.Round(4*m.Grams()/full) / 4
		if n < 0.25 {
			return ""
		}
		return f.w.T("feed_about_spoons", "N", f.w.Plain(n), "Kind", f.w.T("feed_spoons_of_"+string(s.Kind)))
	}
	return ""
}

// saveWeek changes one line of the week, or adds or takes one out.
func (s *Server) saveWeek(q *request) error {
	if err := q.form(); err != nil {
		return err
	}
	f, err := s.feedingOf(q)
	if err != nil {
		return err
	}
	if f.Doc == nil {
		return f.again(q, "week", f.Problem, false)
	}
	d := f.copyDoc()
	wrong, err := f.changeWeek(q, d)
	if err != nil {
		return err
	}
	if wrong != "" {
		return f.again(q, "week", wrong, false)
	}
	complaint, err := f.keep(q, f.weekText(d))
	wrong, conflict, err := f.orWrong(q, complaint, err)
	if err != nil {
		return err
	}
	if wrong != "" {
		return f.again(q, "week", wrong, conflict)
	}
	return f.see(q, "week", "#foods")
}

// changeWeek makes the change that a form asks for.
func (f *feeding) changeWeek(q *request, d *ration.Document) (wrong template.HTML, err error) {
	do, at, _ := strings.Cut(q.value("do"), ":")
	i, _ := strconv.Atoi(at)
	switch {
	case do == "add":
		x, complaint := f.readFood(q, ration.Food{Food: q.value("food")})
		d.Foods, wrong = append(d.Foods, x), complaint
	case do == "save" && i >= 0 && i < len(d.Foods):
		d.Foods[i], wrong = f.readFood(q, d.Foods[i])
	case do == "remove" && i >= 0 && i < len(d.Foods):
		d.Foods = slices.Delete(d.Foods, i, i+1)
	case do == "away":
		a, complaint := f.readAway(q)
		d.Away, wrong = append(d.Away, a), complaint
	case do == "home" && i >= 0 && i < len(d.Away):
		d.Away = slices.Delete(d.Away, i, i+1)
	case do == "change":
		from, err := ration.ParseDay(q.value("change_from"))
		if err != nil {
			return f.complain("feed_not_a_day"), nil
		}
		d.Change = &ration.Change{Mix: clip(q.value("change_mix"), 200), From: from, Days: ration.ChangeDays}
	case do == "unchange":
		d.Change = nil
	default:
		return "", badRequest("no such change of a week")
	}
	return wrong, nil
}

func (f *feeding) complain(key string, pairs ...any) template.HTML {
	return template.HTML(template.HTMLEscapeString(f.w.T(key, pairs...)))
}

// readFood takes a line's form over.
func (f *feeding) readFood(q *request, x ration.Food) (ration.Food, template.HTML) {
	if x.Food == "" || x.Food != ration.MixName && f.s.Catalogue.Form(x.Food) == nil {
		if _, known := f.known(x.Food); !known {
			return x, f.complain("feed_need_food")
		}
	}
	x.Way, x.Note = ration.Way(q.value("way")), clip(q.value("note"), 500)
	if x.Way != "" && !slices.Contains(ration.Ways(), x.Way) {
		return x, f.complain("feed_need_food")
	}
	x.AtWill, x.Each = q.value("at_will") != "", q.value("each") != ""
	var wrong template.HTML
	if x.Amount, wrong = f.readAmount(q); wrong != "" {
		return x, wrong
	}
	if wrong = f.readDays(q, &x); wrong != "" {
		return x, wrong
	}
	if x.AtWill {
		x.Amount, x.Days, x.Every, x.Each, x.Times, x.At = ration.Amount{}, 0, 0, false, 0, nil
	} else {
		x.EatenLow, x.EatenHigh = 0, 0
	}
	if !x.Amount.Set {
		x.Each = false
	}
	return x, f.readStock(q, &x)
}

// known reports whether a document's name of a food is one that it resolved.
func (f *feeding) known(name string) (ration.Served, bool) {
	if f.Plan == nil {
		return ration.Served{}, false
	}
	for _, x := range slices.Concat(f.Plan.Foods, f.Plan.Shelf) {
		if x.Food.Food == name {
			return x, true
		}
	}
	return ration.Served{}, false
}

// Bounds on an amount, far above a barn's day.
const (
	mostCount = 10_000
	mostFed   = 100_000 // g
)

func (f *feeding) readAmount(q *request) (ration.Amount, template.HTML) {
	text := q.value("count")
	if text == "" {
		return ration.Amount{}, ""
	}
	n, err := f.w.parseNumber(text)
	unit := ration.Unit(q.value("unit"))
	if err != nil || !(n > 0) || n > mostCount {
		return ration.Amount{}, f.complain("feed_need_amount")
	}
	switch unit {
	case ration.Grams:
		return ration.Amount{Set: true, Mass: nutrient.Mass(math.Round(n * float64(nutrient.Gram))), Unit: unit}, ""
	case ration.Teaspoons, ration.Tablespoons, ration.OwnSpoons, ration.Pieces:
		return ration.Amount{Set: true, Count: n, Unit: unit}, ""
	}
	return ration.Amount{}, f.complain("feed_need_amount")
}

// readDays reads the days, or the rhythm, and the times of day.
func (f *feeding) readDays(q *request, x *ration.Food) template.HTML {
	x.Days, x.Every = 0, 0
	for d, k := range dayKeys {
		if q.value("day-"+k) != "" {
			x.Days = x.Days.With(d)
		}
	}
	if text := q.value("every"); text != "" {
		n, err := strconv.Atoi(text)
		if err != nil || n < 1 || n > ration.MaxEvery {
			return f.complain("feed_need_every", "Most", f.w.Plain(ration.MaxEvery))
		}
		x.Every, x.Days = n, 0
		if x.From == 0 {
			x.From = f.Day
		}
	}
	var err error
	if text := q.value("from"); text != "" {
		if x.From, err = ration.ParseDay(text); err != nil {
			return f.complain("feed_not_a_day")
		}
	} else if x.Every == 0 {
		x.From = 0
	}
	x.Until = 0
	if text := q.value("until"); text != "" {
		if x.Until, err = ration.ParseDay(text); err != nil {
			return f.complain("feed_not_a_day")
		}
	}
	x.Times, x.At = 0, nil
	if text := q.value("times"); text != "" {
		n, err := strconv.Atoi(text)
		if err != nil || n < 1 || n > ration.MaxFeedings {
			return f.complain("feed_need_times", "Most", f.w.Plain(ration.MaxFeedings))
		}
		if n > 1 {
			x.Times = n
		}
	}
	for _, t := range strings.FieldsFunc(q.value("at"), func(r rune) bool { return r == ',' || r == ' ' || r == ';' }) {
		if _, err := time.Parse("15:04", t); err != nil || len(t) != 5 {
			return f.complain("feed_need_at")
		}
		x.At = append(x.At, t)
	}
	if len(x.At) > 0 {
		x.Times = 0
	}
	return ""
}

// readStock reads what is on hand, and in what packs it is bought.
func (f *feeding) readStock(q *request, x *ration.Food) template.HTML {
	for _, m := range []struct {
		name string
		to   *nutrient.Mass
	}{{"on_hand", &x.OnHand}, {"pack", &x.Pack}} {
		*m.to = 0
		text := q.value(m.name)
		if text == "" {
			continue
		}
		n, err := f.w.parseNumber(text)
		if err != nil || n < 0 || n > mostFed {
			return f.complain("feed_need_amount")
		}
		*m.to = nutrient.Mass(math.Round(n * float64(nutrient.Gram)))
	}
	var err error
	if x.Price, err = f.w.parsePointer(q.value("price")); err != nil || x.Price != nil && *x.Price < 0 {
		return f.complain("feed_need_price")
	}
	return ""
}

func (f *feeding) readAway(q *request) (ration.Away, template.HTML) {
	a := ration.Away{Who: clip(q.value("who"), 200), Note: clip(q.value("away_note"), 1000)}
	var err1, err2 error
	a.From, err1 = ration.ParseDay(q.value("away_from"))
	a.To, err2 = ration.ParseDay(q.value("away_to"))
	if err1 != nil || err2 != nil || a.To < a.From {
		return a, f.complain("feed_need_away")
	}
	return a, ""
}

// weekText is a document's text after a change of its foods: in place, with
// its comments, where that goes.
func (f *feeding) weekText(d *ration.Document) string {
	if !f.Fresh {
		if text, err := f.File.WithFoods(d.Foods); err == nil {
			if again, err := rationfiles.Parse("feeding", text); err == nil && reflect.DeepEqual(again.Document, d) {
				return string(text)
			}
		}
	}
	return string(rationfiles.Format(d))
}

// weekSheet is a sheet of paper.
func (s *Server) weekSheet(q *request) error {
	f, err := s.feedingOf(q)
	if err != nil {
		return err
	}
	f.quiet()
	page := cmp.Or(q.PathValue("sheet"), "shopping")
	v := sheetView{feedPage: f.page("week")}
	if f.Plan == nil {
		return f.show(q, http.StatusOK, "week", f.weekView(f.page("week"), f.Day.Monday()))
	}
	v.Vet, v.Sittings = true, f.sittings()
	switch page {
	case "fridge":
		v.weekView = f.weekView(v.feedPage, f.Day.Monday())
	case "sitter":
		if len(v.Sittings) == 0 { // nobody is away: the next week, for whoever may help
			v.weekView = f.weekView(v.feedPage, f.Day)
		}
	case "shopping":
		if err := f.shopping(q, &v); err != nil {
			return err
		}
	default:
		return badRequest("no such sheet")
	}
	v.feedPage.Here = "week"
	v.Animals, v.Always = f.sheetAnimals(), f.besides()
	days := slices.Clone(v.Days)
	for _, x := range v.Sittings {
		if page == "sitter" {
			days = append(days, x.Days...)
		}
	}
	v.Turn = f.turnWords(days)
	return q.show(http.StatusOK, "feed_"+page, "animals", q.words.T("feed_sheet_"+page)+" · "+f.Group.Name, v)
}
