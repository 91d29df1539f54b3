package backup

import (
	"firlot/internal/store"
)

func (s *set) lot(rec Record) (Record, error) {
	l := rec.Lot
	return rec, first(s.order(5), newID(s.lots, l.ID), l.Check(), moment(l.Made), moment(l.Changed))
}

func (s *set) device(rec Record) (Record, error) {
	d := rec.Device
	return rec, first(s.order(4), newID(s.devices, d.ID), store.CheckDeviceName(d.Name), moment(d.Paired), moment(d.Seen))
}

func (s *set) making(l making) (Record, error) {
	rec := l.record()
	m := rec.Making
	err := first(s.close(), s.order(6), newID(s.makings, m.ID), m.Check(), moment(m.Started), moment(m.Changed),
		unlessEmpty(s.keys, m.Key), unlessEmpty(s.batches, store.Fold(m.Lot)), stateOf(l))
	switch {
	case err != nil:
	case m.Mix != "" && !s.mixes[m.Mix]:
		err = invalid("making of a mix that is not there")
	case m.Shelf != "" && !s.shelves[m.Shelf]:
		err = invalid("making from a shelf that is not there")
	case l.Events < 0 || l.Events > store.MostEvents:
		err = invalid("making of %d events", l.Events)
	}
	s.under, s.events = l, map[string]store.Event{}
	s.undone = map[string]bool{}
	return rec, err
}

// unlessEmpty takes note of a name that only one making may have.
func unlessEmpty(seen map[string]bool, name string) error {
	if name == "" {
		return nil
	}
	if seen[name] {
		return invalid("two makings with %q", name)
	}
	seen[name] = true
	return nil
}

func stateOf(m making) error {
	switch {
	case m.State != store.StateOpen && m.State != store.StateFinished && m.State != store.StateLeft:
		return invalid("making in state %q", m.State)
	case (m.State == store.StateOpen) != (m.Finished == nil):
		return invalid("making that is %s, and its end", m.State)
	case m.Finished != nil:
		return moment(m.Finished.UTC())
	}
	return nil
}

func (s *set) event(l event) (Record, error) {
	if s.under.ID == "" {
		return Record{}, invalid("event without a making")
	}
	e := l.event(int64(len(s.events) + 1))
	if err := first(e.Check(), moment(e.At), s.takenBack(e)); err != nil {
		return Record{}, err
	}
	_, twice := s.events[e.Key]
	switch {
	case len(s.events) >= s.under.Events:
		return Record{}, invalid("more events than the making says")
	case twice:
		return Record{}, invalid("two events with the key %q", e.Key)
	case e.Lot != "" && !s.lots[e.Lot]:
		return Record{}, invalid("event with a lot that is not there")
	case e.Device != "" && !s.devices[e.Device]:
		return Record{}, invalid("event of a device that is not there")
	case e.ShortMg < 0 || e.ShortMg > store.MostMg || e.TookMg < -store.MostMg || e.TookMg > store.MostMg:
		return Record{}, invalid("event that took %d mg and was short by %d", e.TookMg, e.ShortMg)
	}
	s.events[e.Key] = e
	return Record{Event: &Event{Making: s.under.ID, Event: e}}, nil
}

// takenBack says whether what an event takes back is there to be taken back.
func (s *set) takenBack(e store.Event) error {
	if e.Of == "" {
		return nil
	}
	of, there := s.events[e.Of]
	if !there || of.Kind == store.KindTakeBack || s.undone[e.Of] {
		return invalid("take-back of %q", e.Of)
	}
	s.undone[e.Of] = true
	return nil
}
