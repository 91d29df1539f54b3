package making

import (
	"math"
	"sort"
	"time"

	"firlot/analysis"
	"firlot/catalog"
	"firlot/mix"
	"firlot/needs"
	"firlot/nutrient"
)

// Finished is what a making came to.
type Finished struct {
	Plan *mix.Plan // the mix's, joined by what else was poured
	// Portions are what is in the bowls together, one a line of Plan.
	Portions []analysis.Portion
	Batch    nutrient.Mass
	Planned  nutrient.Mass // the batch of the start
	Checks   []analysis.Check
	Joint    float64
	// Verdict is that of the windows together.
	Verdict analysis.Verdict
	// Bowls are the verdicts of each bowl by itself; one of several can be
	// outside though all of them together are inside.
	Bowls       []analysis.Verdict
	Differences []Difference
	Replans     int
}

// Difference is a line that was not poured as the start planned it.
type Difference struct {
	Form            *catalog.Form
	Ref             string
	Planned, Poured nutrient.Mass // by the start, and in the bowls
	By              nutrient.Mass // poured less planned
}

// Finish measures what was really poured. Lines that the start planned and of
// which nothing was poured count as differences too. What was poured and is
// not in the catalogue is a *[Fault]: nothing is known of it.
func Finish(p *mix.Plan, s *State) (*Finished, error) {
	if s.Poured == 0 {
		return nil, fault("", "nothing has been poured")
	}
	joined, err := joinAll(p, s)
	if err != nil {
		return nil, err
	}
	out := &Finished{Plan: joined, Planned: s.Start.Batch, Replans: s.Replans, Batch: s.Poured}
	byRef := map[string]LineState{}
	for _, l := range s.Lines {
		byRef[l.Ref] = l
	}
	for _, pl := range joined.Lines {
		ref := pl.Form.Ref()
		l := byRef[ref]
		out.Portions = append(out.Portions, analysis.Portion{Form: pl.Form, Mass: l.Poured})
		if l.Poured != l.Original {
			out.Differences = append(out.Differences, Difference{Form: pl.Form, Ref: ref, Planned: l.Original, Poured: l.Poured, By: l.Poured - l.Original})
		}
	}
	out.Checks, out.Joint = check(joined, out.Portions)
	out.Verdict = verdict(out.Checks)
	for k := range s.Bowls {
		one := make([]analysis.Portion, len(joined.Lines))
		for i, pl := range joined.Lines {
			one[i] = analysis.Portion{Form: pl.Form}
			if l, ok := byRef[pl.Form.Ref()]; ok {
				one[i].Mass = l.Parts[k].Poured
			}
		}
		checks, _ := check(joined, one)
		out.Bowls = append(out.Bowls, verdict(checks))
	}
	return out, nil
}

// joinAll brings everything that was poured into the plan, safe or not: what
// is in the bowl is in the bowl.
func joinAll(p *mix.Plan, s *State) (*mix.Plan, error) {
	have := map[string]bool{}
	for _, l := range p.Lines {
		have[l.Form.Ref()] = true
	}
	for _, l := range s.Lines {
		if have[l.Ref] || l.Poured == 0 && l.Original == 0 {
			continue
		}
		f := p.Catalogue.Form(l.Ref)
		if f == nil {
			return nil, fault("ref", "%s is not in the catalogue: what is in it is not known", l.Ref)
		}
		p = p.Joined(f)
	}
	return p, nil
}

// check holds portions against the windows of a plan.
func check(p *mix.Plan, portions []analysis.Portion) ([]analysis.Check, float64) {
	var list []analysis.Check
	var windows []needs.Window
	for _, t := range p.Targets {
		list = append(list, analysis.CheckWindow(portions, t.Window))
		windows = append(windows, t.Window)
	}
	return list, analysis.Joint(portions, windows)
}

// verdict is that of all windows together.
func verdict(checks []analysis.Check) analysis.Verdict {
	out := analysis.Inside
	for _, c := range checks {
		switch {
		case c.Verdict == analysis.Outside:
			return analysis.Outside
		case c.Verdict == analysis.NotKnown:
			out = analysis.NotKnown
		}
	}
	return out
}

// Keeping is how long a mix keeps.
type Keeping struct {
	// BestBefore is the day up to which every part of the mix keeps, as far as
	// that is known; empty when nothing is known of any part. Days are
	// written as 2026-11-25.
	BestBefore string
	// Shortest are the parts that set it.
	Shortest []Life
	// Lives are those of all parts, shortest first.
	Lives []Life
	// NotKnown are the parts of which nothing is known. They may keep shorter
	// than the rest; that they keep for ever is not said.
	NotKnown []*catalog.Form
	// How is how well the shortest is known.
	How catalog.Evidence // measured when Lives is empty
}

// Life is how long one part keeps.
type Life struct {
	Form   *catalog.Form
	Until  string
	Months float64 // the shorter end of the catalogue's figure; 0 when the lot alone is known
	// FromLot says that the day on the bag comes before the catalogue's figure
	// runs out, or stands alone.
	FromLot bool
	How     catalog.Evidence
	Source  string
}

// daysPerMonth is the mean length of a month of the Gregorian calendar.
const daysPerMonth = 365.2425 / 12

// Keeps reckons the best-before day of a mix made on a day: that of the part
// that keeps shortest (common practice, no source). A part keeps for the
// shorter end of the catalogue's figure, sealed, cool and dark, from the day
// of mixing, and never longer than the day printed on its bag; lots gives
// those by reference, and may be nil. Days that cannot be read are a
// *[Fault].
func Keeps(portions []analysis.Portion, made string, lots map[string]string) (*Keeping, error) {
	from, err := day("made", made)
	if err != nil {
		return nil, err
	}
	k := &Keeping{How: catalog.Measured}
	for _, p := range portions {
		if p.Mass == 0 {
			continue
		}
		l, ok, err := lifeOf(p.Form, from, lots[p.Form.Ref()])
		switch {
		case err != nil:
			return nil, err
		case !ok:
			k.NotKnown = append(k.NotKnown, p.Form)
		default:
			k.Lives = append(k.Lives, l)
		}
	}
	sort.SliceStable(k.Lives, func(a, b int) bool { return k.Lives[a].Until < k.Lives[b].Until })
	for _, l := range k.Lives {
		if l.Until != k.Lives[0].Until {
			break
		}
		k.Shortest = append(k.Shortest, l)
		k.BestBefore, k.How = l.Until, k.How.Worse(l.How)
	}
	return k, nil
}

func lifeOf(f *catalog.Form, from time.Time, bag string) (Life, bool, error) {
	l := Life{Form: f}
	if k := f.KeepsMonths; k != nil {
		l.Months, l.How, l.Source = k.Mean, k.How, k.Source
		if k.Ranged {
			l.Months = k.Low
		}
		l.Until = from.AddDate(0, 0, int(math.Floor(float64(l.Months*daysPerMonth)))).Format(time.DateOnly)
	}
	if bag != "" {
		if _, err := day(f.Ref(), bag); err != nil {
			return l, false, err
		}
		if l.Until == "" || bag < l.Until {
			l.Until, l.FromLot, l.How, l.Source = bag, true, catalog.Measured, "the bag"
		}
	}
	return l, l.Until != "", nil
}

func day(field, s string) (time.Time, error) {
	t, err := time.Parse(time.DateOnly, s)
	if err != nil || t.Year() < 1900 {
		return t, fault(field, "%q is not a day; write for example 2026-11-25", s)
	}
	return t, nil
}
