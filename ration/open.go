package ration

import "firlot/serving"

// Open is why there is no verdict.
type Open string

// The reasons. Where missing figures leave a row open whatever the amounts are,
// they are the reason; where it would not be open with every amount at its
// mean, the amounts are, and with them what is missing of the figure.
const (
	Settled     Open = ""        // there is a verdict
	OpenFigures Open = "figures" // the tables lack part of it
	OpenAmounts Open = "amounts" // it hangs on how much is eaten, or on how much a spoon holds
	OpenBoth    Open = "figures and amounts"
	OpenNothing Open = "nothing" // nothing that is eaten holds it, or needs it
)

// atMeans is the diet with every amount taken for known, at its mean.
func (d *diet) atMeans() *diet {
	c := *d
	c.served = append([]Served(nil), d.served...)
	for i := range c.served {
		c.served[i].Loose = false
	}
	return &c
}

// open says why edges, of which one is unknown, are.
func (d *diet) open(edges ...*edge) Open {
	why, at := Settled, d.atMeans()
	for _, e := range edges {
		if e == nil || d.state(*e) != unknown {
			continue
		}
		switch {
		case d.nothing(*e):
			return OpenNothing
		case at.state(*e) == unknown:
			why = OpenFigures
		case why == Settled:
			why = reason(d.total(e.num).known, e.den == nil || d.total(e.den).known >= wholly)
		}
	}
	return why
}

// wholly is the known share from which a figure counts as known.
const wholly = 0.9995

// reason is that of a row which the means of the amounts would settle.
func reason(known float64, rest bool) Open {
	if known >= wholly && rest {
		return OpenAmounts
	}
	return OpenBoth
}

// energyVerdict holds the energy of a day against what is needed.
func energyVerdict(t amounts, scale float64, need serving.Range, slack float64) Verdict {
	least, most := float64(t.least*scale), float64(t.most*scale)
	switch {
	case most < need.Low-slack:
		return Low
	case least > need.High+slack:
		return High
	case least >= need.Low-slack && most <= need.High+slack:
		return Inside
	}
	return NotKnown
}
