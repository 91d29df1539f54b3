package files

import (
	"fmt"
	"slices"
	"strings"
	"time"

	"firlot/internal/nearword"
	"firlot/internal/tomldoc"
	"firlot/nutrient"
	"firlot/ration"
	"firlot/serving"
)

type rawDocument struct {
	Title   string      `toml:"title"`
	Note    string      `toml:"note"`
	Species string      `toml:"species"`
	Mix     string      `toml:"mix"`
	Spoon   string      `toml:"spoon"`
	Own     *rawSpoon   `toml:"own_spoon"`
	Line    []rawLine   `toml:"line"`
	Animal  []rawAnimal `toml:"animal"`
	Food    []rawFood   `toml:"food"`
	Away    []rawAway   `toml:"away"`
	Change  *rawChange  `toml:"change"`
	Weight  []rawWeight `toml:"weight"`
	Bowl    []rawBowl   `toml:"bowl"`
	Sign    []rawSign   `toml:"sign"`
}

type rawSpoon struct {
	Name  string   `toml:"name"`
	Holds string   `toml:"holds"`
	ML    *float64 `toml:"ml"`
}

type rawLine struct {
	Ingredient string `toml:"ingredient"`
	Amount     string `toml:"amount"`
}

type rawAnimal struct {
	Name     string `toml:"name"`
	Species  string `toml:"species"`
	Sex      string `toml:"sex"`
	Born     any    `toml:"born"`
	Stage    string `toml:"stage"`
	Breeding string `toml:"breeding"`
	Since    any    `toml:"since"`
	Gone     any    `toml:"gone"`
	Note     string `toml:"note"`
}

type rawFood struct {
	Food   string   `toml:"food"`
	Amount string   `toml:"amount"`
	Each   bool     `toml:"each"`
	Days   any      `toml:"days"`
	Every  *int     `toml:"every"`
	From   any      `toml:"from"`
	Until  any      `toml:"until"`
	AtWill bool     `toml:"at_will"`
	Eaten  []string `toml:"eaten"`
	Times  *int     `toml:"times"`
	At     []string `toml:"at"`
	Way    string   `toml:"way"`
	Most   string   `toml:"most"`
	OnHand string   `toml:"on_hand"`
	Pack   string   `toml:"pack"`
	Price  *float64 `toml:"price"`
	Note   string   `toml:"note"`
}

type rawAway struct {
	From any    `toml:"from"`
	To   any    `toml:"to"`
	Who  string `toml:"who"`
	Note string `toml:"note"`
}

type rawChange struct {
	Mix  string `toml:"mix"`
	From any    `toml:"from"`
	Days int    `toml:"days"`
}

type rawWeight struct {
	Day    any    `toml:"day"`
	Animal string `toml:"animal"`
	Mass   string `toml:"mass"`
	Note   string `toml:"note"`
}

type rawBowl struct {
	Day     any               `toml:"day"`
	Food    string            `toml:"food"`
	Offered string            `toml:"offered"`
	Left    string            `toml:"left"`
	Husks   string            `toml:"husks"`
	Sorted  map[string]string `toml:"sorted"`
	Note    string            `toml:"note"`
}

type rawSign struct {
	Day    any    `toml:"day"`
	Animal string `toml:"animal"`
	What   string `toml:"what"`
	Note   string `toml:"note"`
}

// builder reads a raw document's texts; the first complaint stays.
type builder struct {
	doc *tomldoc.Document
	err error
}

func (b *builder) fail(at, message, hint string) {
	if b.err == nil {
		b.err = b.doc.At(at, message, hint)
	}
}

// stands reports whether the document has a value at a path, be it empty.
func (b *builder) stands(at string) bool {
	p, ok := b.doc.Place(at)
	return ok && p.Value.End > p.Value.Start
}

// day reads a date, written bare or in quotation marks.
func (b *builder) day(at string, v any) ration.Day {
	var text string
	switch t := v.(type) {
	case nil:
		return 0
	case string:
		text = t
	case time.Time: // a date with a time and a zone
		b.fail(at, "is a time where a date belongs", "write for example 2026-11-23")
		return 0
	case fmt.Stringer: // a bare date
		text = t.String()
	default:
		b.fail(at, "is not a date", "write for example 2026-11-23")
		return 0
	}
	d, err := ration.ParseDay(text)
	if err != nil {
		b.fail(at, err.Error(), "")
	}
	return d
}

func (b *builder) mass(at, text string) nutrient.Mass {
	if text == "" {
		if b.stands(at) {
			b.fail(at, "is empty", `write for example "30 g", or leave it out`)
		}
		return 0
	}
	m, err := nutrient.ParseMass(text)
	if err != nil {
		b.fail(at, err.Error(), `masses are written as in "30 g"`)
	}
	return m
}

// units are the words that amounts may be counted in.
var units = map[string]ration.Unit{
	"tsp": ration.Teaspoons, "teaspoon": ration.Teaspoons, "teaspoons": ration.Teaspoons,
	"tbsp": ration.Tablespoons, "tablespoon": ration.Tablespoons, "tablespoons": ration.Tablespoons,
	"spoon": ration.OwnSpoons, "spoons": ration.OwnSpoons,
	"piece": ration.Pieces, "pieces": ration.Pieces,
}

// mostCount bounds a number of spoons or pieces.
const mostCount = 10_000

func (b *builder) amount(at, text string) ration.Amount {
	if text == "" {
		if b.stands(at) {
			b.fail(at, "is empty", `write for example "12 g", "2 tsp" or "3 pieces", or leave it out`)
		}
		return ration.Amount{}
	}
	v, unit, err := nutrient.ParseAmount(text)
	if err != nil {
		b.fail(at, err.Error(), "")
		return ration.Amount{}
	}
	if u, ok := units[strings.ToLower(unit)]; ok {
		if v < 0 || v > mostCount {
			b.fail(at, fmt.Sprintf("%v is out of range", v), fmt.Sprintf("it lies between 0 and %d", mostCount))
		}
		return ration.Amount{Set: true, Count: v, Unit: u}
	}
	m, err := nutrient.MassOf(v, unit)
	if _, bad := nutrient.MassOf(0, unit); err != nil && bad == nil { // the unit is right, the number is not
		b.fail(at, err.Error(), "")
	} else if err != nil {
		b.fail(at, fmt.Sprintf("unit %q is not known; use g, kg, tsp, tbsp, spoons or pieces", unit), nearUnit(unit))
	}
	return ration.Amount{Set: true, Mass: m, Unit: ration.Grams}
}

func nearUnit(unit string) string {
	known := []string{"g", "kg", "mg", "oz", "lb"}
	for u := range units {
		known = append(known, u)
	}
	slices.Sort(known)
	return nearword.Hint(unit, known, "")
}

// days reads "daily" or a list of days of the week.
func (b *builder) days(at string, v any) ration.Weekdays {
	switch t := v.(type) {
	case nil:
	case string:
		return b.weekday(at, t)
	case []any:
		var w ration.Weekdays
		for i, x := range t {
			text, ok := x.(string)
			if !ok {
				b.fail(fmt.Sprintf("%s[%d]", at, i), "is not a day of the week", `write for example ["mon", "thu"]`)
				return w
			}
			w |= b.weekday(fmt.Sprintf("%s[%d]", at, i), text)
		}
		return w
	default:
		b.fail(at, "is not a list of days", `write "daily", or for example ["mon", "thu"]`)
	}
	return 0
}

var longNames = []string{"monday", "tuesday", "wednesday", "thursday", "friday", "saturday", "sunday"}

// weekday reads "daily", or a day of the week by its first three letters or
// more.
func (b *builder) weekday(at, text string) ration.Weekdays {
	if text == "daily" {
		return ration.EveryDay
	}
	for i, name := range longNames {
		if len(text) >= 3 && strings.HasPrefix(name, strings.ToLower(text)) {
			return ration.Weekdays(0).With(time.Weekday((i + 1) % 7))
		}
	}
	known := append(ration.DayNames(), "daily")
	b.fail(at, fmt.Sprintf("%q is not a day of the week", text), nearword.Hint(text, known, "use "+strings.Join(known, ", ")))
	return 0
}

// word checks a word against those that are known.
func (b *builder) word(at, text string, known []string) {
	if text != "" && !slices.Contains(known, text) {
		b.fail(at, fmt.Sprintf("%q is not known here", text), nearword.Hint(text, known, "use one of "+strings.Join(known, ", ")))
	}
}

// ownSpoon reads what a keeper's own spoon holds.
func (b *builder) ownSpoon(r *rawSpoon) *ration.OwnSpoon {
	if r == nil {
		return nil
	}
	out := &ration.OwnSpoon{Name: r.Name, Holds: b.mass("own_spoon.holds", r.Holds)}
	switch {
	case r.Holds == "" && r.ML == nil:
		b.fail("own_spoon", "does not say what the spoon holds", `write holds = "7.5 g" of the mix, or ml = 12`)
	case r.Holds != "" && (out.Holds == 0 || out.Holds > ration.MostSpoon):
		b.fail("own_spoon.holds", fmt.Sprintf("%v is not what a spoon holds", out.Holds), fmt.Sprintf("it is more than nothing and at most %v", ration.MostSpoon))
	case r.ML != nil && !(*r.ML > 0 && *r.ML <= ration.MostSpoonML):
		b.fail("own_spoon.ml", fmt.Sprintf("%v is not what a spoon holds", *r.ML), fmt.Sprintf("it is more than nothing and at most %v mL", ration.MostSpoonML))
	case r.ML != nil:
		out.ML = *r.ML
	}
	return out
}

func (b *builder) spoon(at, text string) serving.Kind {
	var known []string
	for _, s := range serving.Spoons() {
		known = append(known, string(s.Kind))
	}
	b.word(at, text, known)
	if text == "" {
		return serving.US
	}
	return serving.Kind(text)
}
