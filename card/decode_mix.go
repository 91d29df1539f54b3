package card

import (
	"firlot/catalog"
	"firlot/mix"
	"firlot/needs"
	"firlot/nutrient"
)

func (d *decoder) mix() Mix {
	var m Mix
	d.object(members{
		"document": func() { m.Document = d.document() },
		"amounts_mg": func() {
			d.list(mix.MaxLines, func(int) {
				m.Amounts = append(m.Amounts, nutrient.Mass(d.whole(0, int64(nutrient.MaxMass))))
			})
		},
		"certificate": func() { m.Certificate = d.raw(MaxCertificate) },
	})
	if d.err == nil && (m.Document == nil || len(m.Amounts) != len(m.Document.Lines)) {
		d.refuse("a mix needs a document, and an amount for each of its lines")
	}
	return m
}

func (d *decoder) mass() nutrient.Mass { return nutrient.Mass(d.whole(1, int64(nutrient.MaxMass))) }

func (d *decoder) document() *mix.Document {
	x := &mix.Document{}
	d.object(members{
		"title":             func() { x.Title = d.text(MaxTitle) },
		"note":              func() { x.Note = d.lines(MaxText) },
		"species":           func() { x.Species = d.id() },
		"stage":             func() { x.Stage = d.id() },
		"batch_mg":          func() { x.Batch = d.mass() },
		"step_mg":           func() { x.Step = d.mass() },
		"step_ounces":       func() { x.StepOunces = d.number(1e-6, 1e6) },
		"sureness":          func() { x.Sureness = d.number(LeastSure, MostSure) },
		"prefer":            func() { x.Prefer = one(d, mix.Preferences()...) },
		"currency":          func() { x.Currency = d.text(20) },
		"least_ingredients": func() { x.LeastIngredients = int(d.whole(0, mix.MaxLines)) },
		"most_ingredients":  func() { x.MostIngredients = int(d.whole(0, mix.MaxLines)) },
		"windows":           func() { d.list(mix.MaxWindows, func(int) { x.Windows = append(x.Windows, d.asked()) }) },
		"groups":            func() { d.list(mix.MaxGroups, func(int) { x.Groups = append(x.Groups, d.group()) }) },
		"lines":             func() { d.list(mix.MaxLines, func(int) { x.Lines = append(x.Lines, d.line()) }) },
		"own":               func() { d.list(mix.MaxOwn, func(int) { x.Own = append(x.Own, d.ingredient()) }) },
	})
	for _, in := range x.Own {
		if d.err == nil && len(in.Forms) != 1 {
			d.refuse("an own ingredient has one form")
		}
	}
	return x
}

func (d *decoder) asked() mix.Window {
	w := mix.Window{Basis: nutrient.AsFed, On: needs.Offered}
	d.object(members{
		"nutrient": func() { w.Nutrient = d.key() },
		"per":      func() { w.Per = d.key() },
		"min":      func() { w.Min = d.bound() },
		"max":      func() { w.Max = d.bound() },
		"basis":    func() { w.Basis = d.basis() },
		"on":       func() { w.On = d.side() },
		"source":   func() { w.Source = d.text(MaxText) },
		"off":      func() { w.Off = d.truth() },
		"note":     func() { w.Note = d.lines(MaxText) },
	})
	return w
}

func (d *decoder) group() mix.Group {
	var g mix.Group
	d.object(members{
		"name":              func() { g.Name = d.text(MaxTitle) },
		"of":                func() { g.Of = d.words(mix.MaxLines, MaxTitle) },
		"class":             func() { g.Class = one(d, catalog.Classes()...) },
		"floor":             func() { g.Floor = d.amount() },
		"ceiling":           func() { g.Ceiling = d.amount() },
		"least_ingredients": func() { g.LeastIngredients = int(d.whole(0, mix.MaxLines)) },
		"most_ingredients":  func() { g.MostIngredients = int(d.whole(0, mix.MaxLines)) },
	})
	return g
}

func (d *decoder) line() mix.Line {
	var l mix.Line
	d.object(members{
		"ingredient": func() { l.Ingredient = d.text(MaxTitle) },
		"floor":      func() { l.Floor = d.amount() },
		"ceiling":    func() { l.Ceiling = d.amount() },
		"nothing_or": func() { l.NothingOr = d.amount() },
		"price":      func() { v := d.number(0, 1e9); l.Price = &v },
		"base":       func() { l.Base = d.amount() },
		"amount":     func() { l.Amount = d.amount() },
	})
	return l
}

func (d *decoder) amount() mix.Amount {
	if d.peek() != '{' {
		return mix.Amount{Set: true, Mass: nutrient.Mass(d.whole(0, int64(nutrient.MaxMass)))}
	}
	a := mix.Amount{Set: true, Share: true}
	d.object(members{"percent": func() { a.Percent = d.number(0, 100) }})
	return a
}

func (d *decoder) base() *Base {
	b := &Base{}
	shares := func(to *[]Share) {
		d.list(mix.MaxLines, func(int) {
			var s Share
			d.object(members{"form": func() { s.Ref = d.text(MaxTitle) }, "mg": func() { s.Mass = d.mass() }})
			*to = append(*to, s)
		})
	}
	d.object(members{
		"title":   func() { b.Title = d.text(MaxTitle) },
		"amounts": func() { shares(&b.Amounts) },
		"toppers": func() {
			d.list(MaxMixes, func(int) {
				var t Topper
				d.object(members{
					"mix":     func() { t.Mix = int(d.whole(0, MaxMixes-1)) },
					"base_mg": func() { t.Base = d.mass() },
					"amounts": func() { shares(&t.Amounts) },
				})
				b.Toppers = append(b.Toppers, t)
			})
		},
	})
	return b
}
