package card

import (
	"fmt"
	"unicode/utf8"

	"firlot/catalog"
	"firlot/needs"
	"firlot/nutrient"
)

// Decode reads a card that a stranger may have written. Nothing in it is run:
// it is read as text and numbers within bounds, every member must be known,
// and each of its mixes must resolve on the card's own catalogue. The error is
// a *Refusal with the reason.
func Decode(text []byte) (*Card, error) {
	switch {
	case len(text) > MaxBytes:
		return nil, &Refusal{"", fmt.Sprintf("it is longer than %d MB", MaxBytes>>20)}
	case !utf8.Valid(text):
		return nil, &Refusal{"", "it is not valid UTF-8"}
	}
	d := &decoder{reader: reader{b: text}, texts: []string{""}}
	c := d.card()
	if d.err == nil && d.peek() != 0 {
		d.refuse("there is more after its end")
	}
	if d.err != nil {
		return nil, d.err
	}
	if err := c.ready(); err != nil {
		return nil, err
	}
	return c, nil
}

type decoder struct {
	reader
	texts []string
}

func (d *decoder) card() *Card {
	c := &Card{Sources: map[string]catalog.Source{}}
	if !d.begins() {
		return c
	}
	d.object(members{
		"format":    func() { d.text(MaxTitle) },
		"version":   func() { d.whole(1, Version) },
		"title":     func() { c.Title = d.text(MaxTitle) },
		"publisher": func() { c.Publisher = d.text(MaxTitle) },
		"words":     func() { c.Words = d.lines(MaxWords) },
		"licence":   func() { c.Licence = d.text(MaxTitle) },
		"hosted":    func() { c.Hosted = d.link() },
		"date":      func() { c.Date = d.date() },
		"edition":   func() { c.Edition = int(d.whole(1, 1e6)) },
		"languages": func() { c.Languages = d.words(20, 3) },
		"may_change": func() {
			d.list(4, func(int) { d.change(&c.Changes) })
		},
		"texts": func() { d.list(20000, func(int) { d.texts = append(d.texts, d.lines(MaxText)) }) },
		"ingredients": func() {
			d.list(MaxIngredients, func(int) { c.Ingredients = append(c.Ingredients, d.ingredient()) })
		},
		"species": func() { d.list(MaxSpecies, func(int) { c.Species = append(c.Species, d.species()) }) },
		"sources": func() { d.list(MaxSources, func(int) { d.source(c) }) },
		"offered": func() { c.Offered = d.words(MaxOffered, MaxTitle) },
		"mixes":   func() { d.list(MaxMixes, func(int) { c.Mixes = append(c.Mixes, d.mix()) }) },
		"base":    func() { c.Base = d.base() },
	})
	return c
}

// begins looks at the first two members, which say what the text is, so that a
// card of a later version is refused as such and not for what it holds.
func (d *decoder) begins() bool {
	look := reader{b: d.b}
	look.want('{', "an object")
	member := func(name string) bool {
		return look.text(MaxTitle) == name && look.want(':', "a colon")
	}
	if !member("format") || look.text(MaxTitle) != Format || !look.want(',', "a comma") || !member("version") {
		d.refuse("it is not a card of Firlot's")
		return false
	}
	if v := look.whole(0, 1e9); look.err != nil || v < 1 {
		d.refuse("its version is not a number from 1 on")
	} else if v > Version {
		d.refuse("it is of version %d, and this program reads cards up to version %d; a newer one reads it", v, Version)
	}
	return d.err == nil
}

func (d *decoder) change(c *Changes) {
	switch w := d.text(MaxTitle); w {
	case changeBatch:
		c.Batch = true
	case changeStep:
		c.Step = true
	case changeSureness:
		c.Sureness = true
	case changeStage:
		c.Stage = true
	default:
		d.refuse("%q is not something that can be changed", w)
	}
}

// words reads a list of short texts.
func (d *decoder) words(most, letters int) []string {
	var list []string
	d.list(most, func(int) { list = append(list, d.text(letters)) })
	return list
}

// shared reads a text by its number.
func (d *decoder) shared() string {
	i := d.whole(0, int64(len(d.texts)-1))
	return d.texts[i]
}

// id reads a name that can stand in references and addresses.
func (d *decoder) id() string {
	s := d.text(64)
	if d.err == nil && !isID(s) {
		d.refuse("%q is not an id of small letters, digits and hyphens", s)
	}
	return s
}

func isID(s string) bool {
	for _, r := range s {
		if r != '-' && (r < 'a' || r > 'z') && (r < '0' || r > '9') {
			return false
		}
	}
	return s != "" && s[0] != '-'
}

// one reads a text that is one of some words.
func one[T ~string](d *decoder, of ...T) T {
	s := T(d.text(MaxTitle))
	for _, w := range of {
		if s == w {
			return s
		}
	}
	d.refuse("%q has no place here", s)
	return ""
}

func (d *decoder) how() catalog.Evidence {
	return one(d, catalog.Measured, catalog.Derived, catalog.Recalled, catalog.Assumed)
}

func (d *decoder) link() string {
	s := d.text(MaxLink)
	if d.err == nil && !IsLink(s) {
		d.refuse("%q is not a web address", s)
	}
	return s
}

func (d *decoder) date() string {
	s := d.text(10)
	if d.err == nil && !isDate(s) {
		d.refuse("%q is not a date such as 2026-01-31", s)
	}
	return s
}

func (d *decoder) source(c *Card) {
	var s catalog.Source
	d.object(members{
		"key":       func() { s.Key = d.text(MaxTitle) },
		"title":     func() { s.Title = d.text(MaxText) },
		"publisher": func() { s.Publisher = d.text(MaxText) },
		"year":      func() { s.Year = int(d.whole(0, 9999)) },
		"licence":   func() { s.Licence = d.text(MaxText) },
		"link":      func() { s.Link = d.link() },
	})
	if _, twice := c.Sources[s.Key]; twice || s.Key == "" {
		d.refuse("the source has no key of its own")
		return
	}
	c.Sources[s.Key] = s
}

func (d *decoder) names() catalog.Names {
	n := catalog.Names{}
	known := members{}
	for _, l := range languages {
		known[l] = func() { n[l] = d.words(40, MaxTitle) }
	}
	d.object(known)
	return n
}

// languages are those in which foods have names.
var languages = []string{"en", "es", "de", "fr", "nl", "pt"}

func (d *decoder) ingredient() *catalog.Ingredient {
	in := &catalog.Ingredient{}
	d.object(members{
		"id":     func() { in.ID = d.id() },
		"latin":  func() { in.Latin = d.text(MaxTitle) },
		"class":  func() { in.Class = one(d, catalog.Classes()...) },
		"family": func() { in.Family = d.text(MaxTitle) },
		"note":   func() { in.Note = d.lines(MaxText) },
		"names":  func() { in.Names = d.names() },
		"forms": func() {
			d.list(40, func(int) {
				f := d.form()
				f.Ingredient = in
				if in.Form(f.ID) != nil {
					d.refuse("the form %q stands twice", f.ID)
				}
				in.Forms = append(in.Forms, f)
			})
		},
	})
	switch {
	case d.err != nil:
	case in.ID == "" || in.Class == "" || len(in.Forms) == 0:
		d.refuse("an ingredient needs an id, a class and a form")
	case len(in.Names["en"]) == 0:
		d.refuse("an ingredient needs an English name")
	}
	for _, f := range in.Forms {
		if f.EatenAs != "" && in.Form(f.EatenAs) == nil {
			d.refuse("%s is eaten as a form that is not there", f.ID)
		}
	}
	return in
}

func (d *decoder) form() *catalog.Form {
	f := &catalog.Form{Figures: map[nutrient.Key]catalog.Figure{}}
	known := members{
		"id":    func() { f.ID = d.id() },
		"state": func() { f.State = d.text(MaxTitle) },
		"names": func() { f.Names = d.names() },
		"looks": func() { f.Looks = d.lines(MaxText) },
		"confused": func() {
			d.list(20, func(int) {
				var c catalog.Confusion
				d.object(members{"with": func() { c.With = d.text(MaxTitle) }, "tell": func() { c.Tell = d.lines(MaxText) }})
				f.Confused = append(f.Confused, c)
			})
		},
		"shape":    func() { f.Shape = d.id() },
		"colours":  func() { d.list(8, func(int) { f.Colours = append(f.Colours, d.colour()) }) },
		"eaten_as": func() { f.EatenAs = d.id() },
		"limits":   func() { d.list(20, func(int) { f.Limits = append(f.Limits, d.limit()) }) },
		"cautions": func() { f.Cautions = d.words(20, MaxText) },
		"balance":  func() { f.Balance = d.lines(MaxText) },
		"figures":  func() { d.figures(f.Figures) },
	}
	for _, q := range quantities(f) {
		known[q.name] = func() {
			fig := d.figure(q.most)
			*q.at = &fig
		}
	}
	d.object(known)
	if d.err == nil && f.ID == "" {
		d.refuse("a form needs an id")
	}
	return f
}

func (d *decoder) colour() string {
	s := d.text(7)
	ok := len(s) == 7 && s[0] == '#'
	for i := 1; ok && i < 7; i++ {
		c := s[i]
		ok = c >= '0' && c <= '9' || c >= 'a' && c <= 'f' || c >= 'A' && c <= 'F'
	}
	if d.err == nil && !ok {
		d.refuse("%q is not a colour such as #a0b1c2", s)
	}
	return s
}

func (d *decoder) figures(figures map[nutrient.Key]catalog.Figure) {
	known := members{}
	for _, info := range nutrient.All() {
		if !info.Derived {
			known[string(info.Key)] = func() { figures[info.Key] = d.figure(info.Ceiling) }
		}
	}
	d.object(known)
}

func (d *decoder) figure(most float64) catalog.Figure {
	var f catalog.Figure
	n := 0
	d.list(8, func(i int) {
		n = i + 1
		switch i {
		case 0:
			f.Mean = d.number(0, most)
		case 1:
			f.Source = d.shared()
		case 2:
			f.How = []catalog.Evidence{catalog.Measured, catalog.Derived, catalog.Recalled, catalog.Assumed}[d.whole(0, 3)]
		case 3:
			f.SD = d.number(0, 10*most)
		case 4:
			f.N = int(d.whole(0, 1e9))
		case 5:
			f.Note = d.shared()
		case 6:
			f.Low, f.Ranged = d.number(0, 10*most), true
		case 7:
			f.High = d.number(0, 10*most)
		}
	})
	if d.err == nil && (n < 3 || n == 7 || f.Source == "" || f.Ranged && f.Low > f.High) {
		d.refuse("a figure needs a mean, a source and its evidence, and a range both ends")
	}
	return f
}

func (d *decoder) limit() catalog.Limit {
	var l catalog.Limit
	d.object(members{
		"most":    func() { l.Most = d.number(0, 100) },
		"why":     func() { l.Why = d.text(MaxText) },
		"source":  func() { l.Source = d.text(MaxText) },
		"how":     func() { l.How = d.how() },
		"species": func() { l.Species = d.words(20, MaxTitle) },
		"with":    func() { l.With = d.text(MaxTitle) },
	})
	if d.err == nil && (l.Why == "" || l.Source == "" || l.How == "") {
		d.refuse("a limit needs a reason, a source and its evidence")
	}
	return l
}

func (d *decoder) species() *needs.Species {
	s := &needs.Species{}
	d.object(members{
		"id":    func() { s.ID = d.id() },
		"latin": func() { s.Latin = d.text(MaxTitle) },
		"names": func() { s.Names = d.names() },
		"note":  func() { s.Note = d.lines(MaxText) },
		"adult_weight": func() {
			f := d.figure(1e6)
			s.AdultWeight = &f
		},
		"energy": func() { s.Energy = d.energy() },
		"stages": func() { d.list(10, func(int) { s.Stages = append(s.Stages, d.stage()) }) },
	})
	if d.err == nil && (s.ID == "" || len(s.Stages) == 0) {
		d.refuse("a species needs an id and a stage")
	}
	return s
}

func (d *decoder) energy() *needs.Energy {
	e := &needs.Energy{}
	d.object(members{
		"factor": func() { e.Factor = d.number(1, 1e4) },
		"low":    func() { e.Low = d.number(1, 1e4) },
		"high":   func() { e.High = d.number(1, 1e4) },
		"source": func() { e.Source = d.text(MaxText) },
		"how":    func() { e.How = d.how() },
		"note":   func() { e.Note = d.lines(MaxText) },
		"states": func() { d.list(20, func(int) { e.States = append(e.States, d.state()) }) },
	})
	if d.err == nil && !(e.Low <= e.Factor && e.Factor <= e.High && e.How != "") {
		d.refuse("the need for energy is not in order")
	}
	return e
}

func (d *decoder) state() needs.EnergyState {
	var s needs.EnergyState
	d.object(members{
		"state":  func() { s.State = d.text(MaxTitle) },
		"times":  func() { s.Times = d.number(0, 100) },
		"low":    func() { s.Low = d.number(0, 100) },
		"high":   func() { s.High = d.number(0, 100) },
		"source": func() { s.Source = d.text(MaxText) },
		"how":    func() { s.How = d.how() },
		"note":   func() { s.Note = d.lines(MaxText) },
	})
	if d.err == nil && !(s.State != "" && s.Low <= s.Times && s.Times <= s.High && s.How != "") {
		d.refuse("a state's need for energy is not in order")
	}
	return s
}

func (d *decoder) stage() needs.Stage {
	var s needs.Stage
	d.object(members{
		"id":        func() { s.ID = d.id() },
		"names":     func() { s.Names = d.names() },
		"from_days": func() { s.FromDays = int(d.whole(0, 1e5)) },
		"to_days":   func() { s.ToDays = int(d.whole(0, 1e5)) },
		"source":    func() { s.Source = d.text(MaxText) },
		"how":       func() { s.How = d.how() },
		"note":      func() { s.Note = d.lines(MaxText) },
		"windows":   func() { d.list(200, func(int) { s.Windows = append(s.Windows, d.window()) }) },
	})
	if d.err == nil && s.ID == "" {
		d.refuse("a stage needs an id")
	}
	return s
}

func (d *decoder) key() nutrient.Key {
	k := nutrient.Key(d.text(64))
	if _, ok := nutrient.Lookup(k); d.err == nil && !ok {
		d.refuse("%q is not a figure that Firlot knows", k)
	}
	return k
}

func (d *decoder) basis() nutrient.Basis { return one(d, nutrient.AsFed, nutrient.DryMatter) }
func (d *decoder) side() needs.Side      { return one(d, needs.Offered, needs.Eaten) }

func (d *decoder) bound() *float64 {
	v := d.number(0, 1e6)
	return &v
}

func (d *decoder) window() needs.Window {
	var w needs.Window
	d.object(members{
		"nutrient":  func() { w.Nutrient = d.key() },
		"per":       func() { w.Per = d.key() },
		"min":       func() { w.Min = d.bound() },
		"max":       func() { w.Max = d.bound() },
		"basis":     func() { w.Basis = d.basis() },
		"on":        func() { w.On = d.side() },
		"source":    func() { w.Source = d.text(MaxText) },
		"how":       func() { w.How = d.how() },
		"note":      func() { w.Note = d.lines(MaxText) },
		"stands_in": func() { w.StandsIn = d.text(MaxTitle) },
		"default":   func() { w.Default = d.truth() },
		"enforce":   func() { w.Enforce = d.truth() },
	})
	switch {
	case d.err != nil:
	case w.Nutrient == "" || w.Basis == "" || w.On == "" || w.Source == "" || w.How == "":
		d.refuse("a window needs its figure, basis, side, source and evidence")
	case w.Min == nil && w.Max == nil:
		d.refuse("a window needs an end")
	case w.Min != nil && w.Max != nil && *w.Min > *w.Max:
		d.refuse("the window's ends are the wrong way round")
	}
	return w
}
