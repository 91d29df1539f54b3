package ration

import (
	"firlot/catalog"
	"firlot/nutrient"
)

// Purchase is one line of a shopping list.
type Purchase struct {
	Food  int           // in Plan.Foods
	Form  *catalog.Form // nil for the mix, which is made and not bought
	Need  nutrient.Mass // for all the weeks
	Have  nutrient.Mass
	Buy   nutrient.Mass // what is missing, before packs
	Packs int           // whole packs; 0 where no pack is known or none is missing
	Pack  nutrient.Mass
	Cost  *float64 // of the packs, or of what is missing; nil: the price is not known
	Over  nutrient.Mass
	Fresh bool // keeps days, not weeks: buy it as it is needed
	Loose bool // how much goes is assumed
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
func (p *Plan) Shopping(from Day, weeks int) List {
	l := List{From: from, Weeks: weeks, All: true}
	at := map[string]int{}
	for i, s := range p.Foods {
		grams := s.Dose.Mean
		if s.Loose {
			grams = s.Dose.High // rather too much than too little
		}
		days := 0
		for d := range Day(7 * weeks) {
			if s.Food.On(from + d) {
				days++
			}
		}
		if days == 0 && s.Rests {
			continue // its time comes later still
		}
		need := milligrams(float64(grams * float64(days)))
		j, ok := at[s.Name()]
		if !ok {
			j = len(l.Lines)
			at[s.Name()] = j
			line := Purchase{Food: i, Form: s.Form, Loose: s.Loose}
			if s.Form != nil && s.Form.KeepsMonths != nil {
				line.Fresh = s.Form.KeepsMonths.Mean <= freshMonths
			}
			l.Lines = append(l.Lines, line)
		}
		l.Lines[j].Need += need
		l.Lines[j].stock(s.Food)
	}
	for i := range l.Lines {
		c := &l.Lines[i]
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

// stock takes over what a line of the document says of stock and packs.
func (c *Purchase) stock(f Food) {
	c.Have += f.OnHand
	if c.Pack == 0 {
		c.Pack = f.Pack
	}
	if c.Cost == nil && f.Price != nil {
		v := *f.Price // of a pack or a kilogram, until buy
		c.Cost = &v
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
