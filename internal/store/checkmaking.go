package store

import "time"

// Bounds of what happens at the scale.
const (
	MostKey      = 100     // of a key
	MostKind     = 20      // of a kind of event
	MostEvents   = 5_000   // of a making
	MostPlan     = 256_000 // of a plan in an event
	MostPlace    = 1_000_000
	MostDevices  = 100 // let in at a time
	leastHash    = 16
	mostHash     = 64
	MostVersions = 1_000_000 // a mix's version, as a making notes it
)

// Check says why a making cannot be kept, as an ErrInvalid, or nil. Whether
// what it names is there only the store knows; events are checked one by one.
func (m Making) Check() error {
	c := checker{what: "making"}
	c.text("key", m.Key, MostKey)
	c.text("name of the mix", m.MixName, MostName)
	c.text("start", m.Start, MostDocument)
	c.text("finish", m.Finish, MostDocument)
	c.text("lot", m.Lot, MostName)
	c.text("who", m.Who, MostName)
	c.text("note", m.Note, MostNote)
	c.date("best before", m.BestBefore)
	if m.MixVersion < 0 || m.MixVersion > MostVersions {
		c.fail("version %d of the mix", m.MixVersion)
	}
	if m.Lot != "" && Fold(m.Lot) == "" {
		c.fail("lot %q has no letter or figure", m.Lot)
	}
	return c.err
}

// Check says why an event cannot be kept, as an ErrInvalid, or nil. Whether
// its lot, its device and what it takes back are there only the store knows.
func (e Event) Check() error {
	c := checker{what: "event"}
	if e.Key == "" {
		c.fail("it needs a key")
	}
	c.text("key", e.Key, MostKey)
	c.kind(e.Kind)
	c.text("ingredient", e.Ref, MostRef)
	c.text("key taken back", e.Of, MostKey)
	c.text("plan", e.Plan, MostPlan)
	c.text("note", e.Note, MostNote)
	c.text("by", e.By, MostName)
	switch {
	case e.Mg < 0 || e.Mg > MostMg:
		c.fail("%d mg", e.Mg)
	case min(e.Bowl, e.Round) < 0 || max(e.Bowl, e.Round) > MostPlace:
		c.fail("bowl %d, round %d", e.Bowl, e.Round)
	case (e.Kind == KindPour || e.Kind == KindEmpty) && e.Ref == "":
		c.fail("%s without an ingredient", e.Kind)
	case (e.Kind == KindTakeBack) != (e.Of != ""):
		c.fail("%s of %q", e.Kind, e.Of)
	}
	return c.err
}

// SameContent reports whether two events with one key say the same. What the
// store sets does not count, nor who it was: a phone that was paired anew may
// send again what it sent under its old name.
func (e Event) SameContent(f Event) bool {
	for _, x := range []*Event{&e, &f} {
		x.Seq, x.Device, x.By, x.At, x.TookMg, x.ShortMg = 0, "", "", time.Time{}, 0, 0
	}
	return e == f
}

// Check says why a lot cannot be kept, as an ErrInvalid, or nil.
func (l Lot) Check() error {
	c := checker{what: "lot"}
	if l.Ref == "" {
		c.fail("it needs an ingredient")
	}
	c.text("ingredient", l.Ref, MostRef)
	c.text("code", l.Code, MostName)
	c.text("from", l.From, MostName)
	c.text("note", l.Note, MostNote)
	c.date("bought", l.Bought)
	c.date("best before", l.BestBefore)
	c.mass(l.Ref, "bought", l.BoughtMg, 0)
	return c.err
}

// Check says why a device cannot be kept, as an ErrInvalid, or nil.
func (d Device) Check() error {
	c := checker{what: "device"}
	c.name(d.Name)
	if n := len(d.TokenHash); n < leastHash || n > mostHash {
		c.fail("a hash of %d bytes", n)
	}
	return c.err
}

// CheckDeviceName says why a device cannot be called so, or nil.
func CheckDeviceName(name string) error {
	c := checker{what: "device"}
	c.name(name)
	return c.err
}

// Check says why a filter cannot be answered, as an ErrInvalid, or nil.
func (f MakingFilter) Check() error {
	c := checker{what: "list"}
	c.text("text", f.Text, MostName)
	c.text("lot", f.Lot, MostName)
	c.page(f.Most)
	switch f.State {
	case "", StateOpen, StateFinished, StateLeft:
	default:
		c.fail("state %q", f.State)
	}
	return c.err
}

// Page is how many makings the filter asks for.
func (f MakingFilter) Page() int { return Filter{Most: f.Most}.Page() }

// Check says why a filter cannot be answered, as an ErrInvalid, or nil.
func (f LotFilter) Check() error {
	c := checker{what: "list"}
	c.text("text", f.Text, MostName)
	c.text("ingredient", f.Ref, MostRef)
	c.text("code", f.Code, MostName)
	c.page(f.Most)
	return c.err
}

// Page is how many lots the filter asks for.
func (f LotFilter) Page() int { return Filter{Most: f.Most}.Page() }

func (c *checker) page(most int) {
	if most < 0 || most > MostPage {
		c.fail("%d on a page, not 1 to %d", most, MostPage)
	}
}

func (c *checker) kind(kind string) {
	if kind == "" || len(kind) > MostKind {
		c.fail("kind %q", kind)
	}
	for _, b := range []byte(kind) {
		if (b < 'a' || b > 'z') && b != '-' {
			c.fail("kind %q", kind)
		}
	}
}

func (c *checker) date(field, date string) {
	if date == "" {
		return
	}
	if _, err := time.Parse(time.DateOnly, date); err != nil {
		c.fail("%s %q is not a date such as 2026-03-31", field, date)
	}
}
