package ration

import (
	"firlot/catalog"
	"firlot/nutrient"
)

// Purchase is one line of a shopping list.
type Purchase struct {
	Food  int           // in Plan.Foods; -1 where it goes into the mix alone
	Form  *catalog.Form // nil for the mix, which is made and not bought
	Need  nutrient.Mass // for all the weeks
	ToMix nutrient.Mass // of it, what the mix that has to be made takes
	Have  nutrient.Mass
	Buy   nutrient.Mass // what is missing, before packs
	Packs int           // whole packs; 0 where no pack is known or none is missing
	Pack  nutrient.Mass
	Cost  *float64 // of the packs, or of what is missing; nil: the price is not known
	Over  nutrient.Mass
	Fresh bool // keeps days, not weeks: buy it as it is needed
	Loose bool // how much goes is assumed
	// By says where what is on hand, the pack and the price are from.
	HaveBy, PackBy, PriceBy Told
}

// Told is who says what is on hand, what a pack holds or what it costs.
type Told string

// Who says it.
const (
	ByNobody   Told = ""
	ByDocument Told = "document"
	ByShelf    Told = "shelf"
)

// Shelved is what a keeper's shelf says of a food.
type Shelved struct {
	Have     *nutrient.Mass // nil: not counted
	Pack     nutrient.Mass  // 0: not known
	PackCost *float64
	Price    *float64 // of a kilogram
}

// List is what to buy.
type List struct {
	From  Day
	Weeks int
	Lines []Purchase
	// Cost is that of the lines whose price is known; All says that it is of
	// all that has to be bought.
	Cost float64
	All  bool
}

// freshMonths is up to how many months a food counts as one to buy as it is
// needed.
const freshMonths = 0.5

// Shopping lists what the next weeks take, from a day on: the doses of the days
// on which a food is given, less what is on hand, in whole packs. Lines of one
// food are joined.
func (p *Plan) Shopping(from Day, weeks int) List { return p.ShoppingFrom(from, weeks, nil) }

// ShoppingFrom is Shopping with what a shelf says by the references of its
// foods, where the document says nothing itself. The mix that has to be made is
// then listed by its ingredients too, so that none is counted twice. Without a
// shelf (nil) the mix is only said to be made.
func (p *Plan) ShoppingFrom(from Day, weeks int, shelf map[string]Shelved) List {
	l := List{From: from, Weeks: weeks, All: true}
	at := map[string]int{}
	line := func(name string, c Purchase) *Purchase {
		j, ok := at[name]
		if !ok {
			j = len(l.Lines)
			at[name] = j
			if c.Form != nil && c.Form.KeepsMonths != nil {
				c.Fresh = c.Form.KeepsMonths.Mean <= freshMonths
			}
			l.Lines = append(l.Lines, c)
		}
		return &l.Lines[j]
	}
	for i, s := range p.Foods {
		need, days := s.takes(from, weeks)
		if days == 0 && s.Rests {
			continue // its time comes later still
		}
		c := line(s.Name(), Purchase{Food: i, Form: s.Form, Loose: s.Loose})
		c.Need += need
		c.stock(s.Food)
	}
	if j, ok := at[MixName]; ok && shelf != nil {
		p.toMix(max(l.Lines[j].Need-l.Lines[j].Have, 0), line)
	}
	for i := range l.Lines {
		c := &l.Lines[i]
		if x, ok := shelf[c.name()]; ok && c.Form != nil {
			c.shelved(x)
		}
		c.buy()
		switch {
		case c.Buy == 0:
		case c.Cost == nil:
			l.All = l.All && c.Form == nil // the mix is made, not bought
		default:
			l.Cost += *c.Cost
		}
	}
	return l
}

// takes is how much of a food some weeks take, and on how many days.
func (s Served) takes(from Day, weeks int) (need nutrient.Mass, days int) {
	grams := s.Dose.Mean
	if s.Loose {
		grams = s.Dose.High // rather too much than too little
	}
	for d := range Day(7 * weeks) {
		if s.Food.On(from + d) {
			days++
		}
	}
	return milligrams(float64(grams * float64(days))), days
}

// toMix adds what an amount of the mix is made of.
func (p *Plan) toMix(amount nutrient.Mass, line func(string, Purchase) *Purchase) {
	all := 0.0
	for _, x := range p.Mix {
		all += x.Mass.Grams()
	}
	for _, x := range p.Mix {
		if x.Mass == 0 {
			continue
		}
		c := line(x.Form.Ref(), Purchase{Food: -1, Form: x.Form})
		m := milligrams(float64(amount.Grams() * x.Mass.Grams() / all))
		c.Need, c.ToMix = c.Need+m, c.ToMix+m
	}
}

func (c *Purchase) name() string {
	if c.Form == nil {
		return MixName
	}
	return c.Form.Ref()
}

// stock takes over what a line of the document says of stock and packs.
func (c *Purchase) stock(f Food) {
	if f.OnHand > 0 {
		c.Have, c.HaveBy = c.Have+f.OnHand, ByDocument
	}
	if c.Pack == 0 && f.Pack > 0 {
		c.Pack, c.PackBy = f.Pack, ByDocument
	}
	if c.Cost == nil && f.Price != nil {
		v := *f.Price // of a pack or a kilogram, until buy
		c.Cost, c.PriceBy = &v, ByDocument
	}
}

// shelved takes over from a shelf what the document leaves open. The price of a
// kilogram comes before that of a pack, as on the shelf itself; the price of a
// pack of another size is not scaled.
func (c *Purchase) shelved(x Shelved) {
	if c.HaveBy == ByNobody && x.Have != nil {
		c.Have, c.HaveBy = *x.Have, ByShelf
	}
	if c.PriceBy != ByNobody {
		return // of a kilogram, where the document names no pack
	}
	if c.Pack == 0 && x.Pack > 0 {
		c.Pack, c.PackBy = x.Pack, ByShelf
	}
	price := x.Price
	switch {
	case price == nil && c.Pack == x.Pack:
		price = x.PackCost
	case price != nil && c.Pack > 0:
		v := float64(*x.Price*c.Pack.Grams()) / 1000
		price = &v
	}
	if price != nil {
		v := *price
		c.Cost, c.PriceBy = &v, ByShelf
	}
}

func (c *Purchase) buy() {
	price := c.Cost
	c.Cost = nil
	c.Buy = max(c.Need-c.Have, 0)
	if c.Buy == 0 {
		zero := 0.0
		c.Cost = &zero
		return
	}
	if c.Pack > 0 {
		c.Packs = int((c.Buy + c.Pack - 1) / c.Pack)
		c.Over = nutrient.Mass(c.Packs)*c.Pack - c.Buy
	}
	if price == nil {
		return
	}
	cost := float64(*price * float64(c.Packs))
	if c.Pack == 0 {
		cost = float64(*price*c.Buy.Grams()) / 1000
	}
	c.Cost = &cost
}
