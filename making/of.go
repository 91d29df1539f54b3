package making

import (
	"slices"

	"firlot/nutrient"
)

// Of computes the state that a log comes to. The error is a *[Fault] that
// names the field of the start, or the key of the event, that cannot be.
func Of(start *Start, events []Event) (*State, error) {
	if err := start.Check(); err != nil {
		return nil, err
	}
	if len(events) > MaxEvents {
		return nil, fault("", "the log has %d entries; %d is the most", len(events), MaxEvents)
	}
	b := newBooks(start)
	b.fallen = fallen(events)
	for i := range events {
		if err := b.add(&events[i]); err != nil {
			return nil, err
		}
	}
	return b.state(), nil
}

// books are the state under way.
type books struct {
	start  *Start
	lines  []LineState
	byRef  map[string]int
	pours  []PourState
	byKey  map[string]int // into log
	poured map[string]int // by key, into pours
	log    []Event
	notes  []string
	plans  int
	fallen map[string]bool // keys of the replans that hold no longer
}

// fallen finds the replans that hold no longer: a plan that was made around a
// pour falls with it when the pour is taken back, and what was planned before
// holds again. A plan for one bowl stands on the pours into that bowl.
func fallen(events []Event) map[string]bool {
	first := map[string]int{} // by key
	out := map[string]bool{}
	for i, e := range events {
		if _, again := first[e.Key]; again {
			continue
		}
		first[e.Key] = i
		from, ok := first[e.Of]
		if e.Kind != TakeBack || !ok {
			continue
		}
		bowl := max(events[from].Bowl, 1)
		for _, r := range events[from:i] {
			if r.Kind == Replan && r.Plan != nil && (r.Plan.Bowl == 0 || r.Plan.Bowl == bowl) {
				out[r.Key] = true
			}
		}
	}
	return out
}

func newBooks(s *Start) *books {
	b := &books{start: s, byRef: map[string]int{}, byKey: map[string]int{}, poured: map[string]int{}}
	split := splitter{bowls: s.Bowls}
	for i, l := range s.Lines {
		each := (l.Mass + nutrient.Mass(s.Bowls) - 1) / nutrient.Mass(s.Bowls)
		line := LineState{Ref: l.Ref, Lot: l.Lot, Original: l.Mass, Fine: s.Scale.onFine(each), Parts: make([]Part, s.Bowls)}
		for k, m := range split.share(l.Mass, s.Scale.stepFor(each), line.Fine) {
			line.Parts[k].Planned = m
		}
		b.lines = append(b.lines, line)
		b.byRef[l.Ref] = i
	}
	return b
}

// add applies one event.
func (b *books) add(e *Event) error {
	if err := e.check(b.start.Bowls); err != nil {
		return err
	}
	if k, ok := b.byKey[e.Key]; ok {
		if b.log[k].same(e) {
			return nil // sent again
		}
		return fault(e.Key, "another event has this key already")
	}
	var err error
	switch e.Kind {
	case Pour:
		err = b.pour(e)
	case TakeBack:
		err = b.takeBack(e)
	case Replan:
		if !b.fallen[e.Key] {
			err = b.replan(e)
		}
	case Empty:
		if i, ok := b.byRef[e.Ref]; ok {
			b.lines[i].Empty, b.lines[i].Rest = true, e.Mass
		}
	case Note:
		b.notes = append(b.notes, e.Note)
	}
	if err != nil {
		return err
	}
	b.byKey[e.Key] = len(b.log)
	b.log = append(b.log, *e)
	return nil
}

// same reports whether two events say the same.
func (e Event) same(f *Event) bool {
	p, q := e.Plan, f.Plan
	e.Plan = nil
	g := *f
	g.Plan = nil
	if e != g || (p == nil) != (q == nil) {
		return false
	}
	return p == nil || p.Version == q.Version && p.Bowl == q.Bowl && p.Batch == q.Batch && p.Why == q.Why && slices.Equal(p.Lines, q.Lines)
}

func (b *books) pour(e *Event) error {
	var all nutrient.Mass
	for _, l := range b.lines {
		for _, p := range l.Parts {
			all += p.Poured
		}
	}
	if all+e.Mass > nutrient.MaxMass {
		return fault(e.Key, "more than %v would be in the bowls", nutrient.MaxMass)
	}
	i, err := b.line(e.Key, e.Ref)
	if err != nil {
		return err
	}
	p := PourState{Event: *e}
	p.Bowl = max(e.Bowl, 1)
	if e.Round == 0 {
		p.Round = b.roundFor(p.Bowl, e.Mass)
	}
	l := &b.lines[i]
	l.Parts[p.Bowl-1].Poured += e.Mass
	if l.Empty = l.Empty && e.Mass <= l.Rest; l.Empty {
		l.Rest -= e.Mass
	}
	if e.Lot != "" {
		l.Lot = e.Lot
	}
	b.poured[e.Key] = len(b.pours)
	b.pours = append(b.pours, p)
	return nil
}

// line finds a form among the lines, or adds it as one that was not planned.
func (b *books) line(key, ref string) (int, error) {
	if i, ok := b.byRef[ref]; ok {
		return i, nil
	}
	if len(b.lines) >= MaxLines {
		return 0, fault(key, "there are more than %d lines", MaxLines)
	}
	b.byRef[ref] = len(b.lines)
	b.lines = append(b.lines, LineState{Ref: ref, Unplanned: true, Parts: make([]Part, b.start.Bowls)})
	return len(b.lines) - 1, nil
}

// roundFor is the filling that a pour belongs to when nobody said: the one
// that the bowl stands at, or the next when the scale would not bear both.
func (b *books) roundFor(bowl int, m nutrient.Mass) int {
	round, in := b.filling(bowl)
	if room := b.start.Scale.room(); room > 0 && in > 0 && in+m > room {
		return round + 1
	}
	return round
}

// filling is the round that a bowl stands at and what is in it since.
func (b *books) filling(bowl int) (round int, in nutrient.Mass) {
	round = 1
	for _, p := range b.pours {
		switch {
		case p.Taken || p.Bowl != bowl:
		case p.Round > round:
			round, in = p.Round, p.Mass
		case p.Round == round:
			in += p.Mass
		}
	}
	return round, in
}

func (b *books) takeBack(e *Event) error {
	k, ok := b.poured[e.Of]
	if !ok {
		return fault(e.Key, "there is no pour with the key %q", e.Of)
	}
	p := &b.pours[k]
	if p.Taken {
		return fault(e.Key, "the pour %q has been taken back already", e.Of)
	}
	p.Taken = true
	l := &b.lines[b.byRef[p.Ref]]
	l.Parts[p.Bowl-1].Poured -= p.Mass
	if l.Empty {
		l.Rest += p.Mass
	}
	return nil
}

// replan makes a plan hold from here on. It is refused, and changes nothing,
// when it asks for less of something than is in a bowl already.
func (b *books) replan(e *Event) error {
	p := e.Plan
	asked := map[string]Line{}
	for _, l := range p.Lines {
		asked[l.Ref] = l
		have := b.inBowl(l.Ref, p.Bowl)
		if l.Mass < have {
			return fault(e.Key, "%s: the plan asks for %v, and %v is in the bowl already", l.Ref, l.Mass, have)
		}
	}
	for _, l := range p.Lines {
		if _, err := b.line(e.Key, l.Ref); err != nil {
			return err
		}
	}
	b.order(p.Lines)
	split := splitter{bowls: b.start.Bowls}
	for i := range b.lines {
		l := &b.lines[i]
		a, named := asked[l.Ref]
		if named && a.Lot != "" {
			l.Lot = a.Lot
		}
		if a.Empty {
			l.Empty, l.Rest = true, a.Mass-b.inBowl(l.Ref, p.Bowl)
		}
		b.plan(l, p.Bowl, a.Mass, named, &split)
	}
	b.plans++
	return nil
}

// plan sets what is planned of one line, in one bowl or in all of them.
func (b *books) plan(l *LineState, bowl int, m nutrient.Mass, named bool, split *splitter) {
	s := b.start.Scale
	if bowl > 0 {
		p := &l.Parts[bowl-1]
		p.Planned = p.Poured
		if named {
			p.Planned = m
		}
		l.Fine = true
		for _, p := range l.Parts {
			l.Fine = l.Fine && s.onFine(p.Planned)
		}
		return
	}
	have := make([]nutrient.Mass, len(l.Parts))
	for k, p := range l.Parts {
		have[k] = p.Poured
	}
	planned := have
	if named {
		each := (m + nutrient.Mass(len(have)) - 1) / nutrient.Mass(len(have))
		l.Fine = s.onFine(each)
		planned = split.level(m, s.stepFor(each), l.Fine, have)
	}
	for k := range l.Parts {
		l.Parts[k].Planned = planned[k]
	}
}

// inBowl is what has been poured of a form into one bowl, or into all.
func (b *books) inBowl(ref string, bowl int) nutrient.Mass {
	i, ok := b.byRef[ref]
	if !ok {
		return 0
	}
	var sum nutrient.Mass
	for k, p := range b.lines[i].Parts {
		if bowl == 0 || k == bowl-1 {
			sum += p.Poured
		}
	}
	return sum
}

// order brings the lines into the order of a plan, what it does not name
// last.
func (b *books) order(list []Line) {
	was := b.lines
	b.lines = make([]LineState, 0, len(was))
	taken := map[string]bool{}
	for _, l := range list {
		b.lines = append(b.lines, was[b.byRef[l.Ref]])
		taken[l.Ref] = true
	}
	for _, l := range was {
		if !taken[l.Ref] {
			b.lines = append(b.lines, l)
		}
	}
	for i, l := range b.lines {
		b.byRef[l.Ref] = i
	}
}

// state closes the books.
func (b *books) state() *State {
	s := &State{Start: *b.start, Lines: b.lines, Pours: b.pours, Notes: b.notes, Replans: b.plans, Log: b.log}
	s.Bowls = make([]BowlState, b.start.Bowls)
	for i := range s.Lines {
		l := &s.Lines[i]
		for k, p := range l.Parts {
			l.Planned += p.Planned
			l.Poured += p.Poured
			l.Left += p.Left()
			bowl := &s.Bowls[k]
			bowl.Planned += max(p.Planned, p.Poured)
			bowl.Poured += p.Poured
			bowl.Left += p.Left()
		}
	}
	for k := range s.Bowls {
		bowl := &s.Bowls[k]
		bowl.Round, bowl.InRound = b.filling(k + 1)
		s.Poured += bowl.Poured
		s.Left += bowl.Left
	}
	s.Batch = s.Poured + s.Left
	for _, p := range s.Pours {
		if !p.Taken {
			s.Last = p.Key
		}
	}
	s.Next = s.next()
	return s
}

// next is the first part that something is left of: line by line, bowl by
// bowl.
func (s *State) next() *Next {
	for i, l := range s.Lines {
		for k, p := range l.Parts {
			if p.Left() > 0 {
				return s.At(i, k+1)
			}
		}
	}
	return nil
}

// At is what to pour next of line i into a bowl, from 1; nil when nothing of
// it is left there. The order is the keeper's to change at any time: any line
// may be poured next.
func (s *State) At(i, bowl int) *Next {
	if i < 0 || i >= len(s.Lines) || bowl < 1 || bowl > len(s.Bowls) {
		return nil
	}
	l, b, scale := s.Lines[i], s.Bowls[bowl-1], s.Start.Scale
	left := l.Parts[bowl-1].Left()
	if left == 0 {
		return nil
	}
	n := &Next{Line: i, Ref: l.Ref, Lot: l.Lot, Bowl: bowl, Round: b.Round, Mass: left, Of: left, Before: b.InRound}
	// A rest that the first scale cannot show comes last, on the fine one.
	rest := left % scale.Step
	n.Fine = scale.onFine(left) && l.Fine || scale.Fine != nil && rest == left && rest <= scale.Fine.Ceiling
	switch {
	case n.Fine:
		n.Mass = min(left, scale.Fine.Ceiling)
	case scale.Fine != nil && rest < left:
		n.Mass = left - rest
	}
	if room := scale.room(); room > 0 {
		n.Tip = b.InRound > 0 && b.InRound+min(n.Mass, room) > room
		n.Mass = min(n.Mass, room)
	}
	if n.Tip {
		n.Round, n.Before = n.Round+1, 0
	}
	if n.Fine {
		n.Before = 0
	}
	n.After = n.Before + n.Mass
	return n
}
