package making

import (
	"fmt"
	"unicode/utf8"

	"firlot/nutrient"
)

// Fault is something wrong with a start, a plan or an event, at a field.
type Fault struct {
	Field   string // such as lines[2].mass_mg, or the key of an event
	Message string
}

// Error names the field and what is wrong.
func (f *Fault) Error() string {
	if f.Field == "" {
		return f.Message
	}
	return f.Field + ": " + f.Message
}

func fault(field, format string, args ...any) error {
	return &Fault{field, fmt.Sprintf(format, args...)}
}

// Check reports the first fault of a start as a *[Fault], or nil.
func (s *Start) Check() error {
	switch {
	case s.Version != Version:
		return fault("version", "is %d; this program knows version %d", s.Version, Version)
	case len(s.Document) > MaxDocument:
		return fault("document", "is larger than 1 MB")
	case !utf8.ValidString(s.Document):
		return fault("document", "is not UTF-8 text")
	case s.Bowls < 1 || s.Bowls > MaxBowls:
		return fault("bowls", "is %d; it can be 1 to %d", s.Bowls, MaxBowls)
	}
	if err := s.Scale.check(); err != nil {
		return err
	}
	return checkLines(s.Lines, s.Batch, false)
}

func (s Scale) check() error {
	switch {
	case s.Step <= 0 || s.Step > nutrient.MaxMass:
		return fault("scale.step_mg", "is %d; a scale tells some mass apart", s.Step)
	case s.Vessel < 0 || s.Vessel > nutrient.MaxMass:
		return fault("scale.vessel_mg", "is %d", s.Vessel)
	case s.Ceiling < 0 || s.Ceiling > nutrient.MaxMass:
		return fault("scale.ceiling_mg", "is %d", s.Ceiling)
	case s.Ceiling > 0 && s.Ceiling < s.Vessel+s.Step:
		return fault("scale.ceiling_mg", "is %v, and the empty bowl weighs %v: nothing can be poured", s.Ceiling, s.Vessel)
	case s.Fine == nil:
		return nil
	case s.Fine.Step <= 0 || s.Fine.Step >= s.Step:
		return fault("scale.fine.step_mg", "is %d; the fine scale has smaller steps than the other, which has %d", s.Fine.Step, s.Step)
	case s.Step%s.Fine.Step != 0:
		return fault("scale.fine.step_mg", "is %d; a step of the other scale, %d, is not a whole number of it", s.Fine.Step, s.Step)
	case s.Fine.Ceiling < s.Fine.Step || s.Fine.Ceiling > nutrient.MaxMass:
		return fault("scale.fine.ceiling_mg", "is %d; the fine scale bears at least one step of its own", s.Fine.Ceiling)
	}
	return nil
}

// checkLines checks lines against their sum. Lines of nothing are allowed in
// replans only.
func checkLines(lines []Line, batch nutrient.Mass, nothing bool) error {
	if len(lines) == 0 {
		return fault("lines", "there is nothing to pour")
	}
	if len(lines) > MaxLines {
		return fault("lines", "there are %d lines; %d is the most", len(lines), MaxLines)
	}
	var sum nutrient.Mass
	seen := map[string]bool{}
	for i, l := range lines {
		at := fmt.Sprintf("lines[%d]", i)
		switch {
		case !name(l.Ref) || l.Ref == "":
			return fault(at+".ref", "is not the name of a form")
		case seen[l.Ref]:
			return fault(at+".ref", "%s stands twice", l.Ref)
		case l.Mass < 0 || l.Mass > nutrient.MaxMass || l.Mass == 0 && !nothing:
			return fault(at+".mass_mg", "is %d", l.Mass)
		case !name(l.Lot):
			return fault(at+".lot", "is longer than %d characters, or not text", maxName)
		}
		seen[l.Ref] = true
		sum += l.Mass
	}
	if sum > nutrient.MaxMass {
		return fault("batch_mg", "is more than %v", nutrient.MaxMass)
	}
	if sum != batch {
		return fault("batch_mg", "is %d, and the lines add up to %d", batch, sum)
	}
	return nil
}

// name reports whether a text is short enough for a key or a name, and text.
func name(s string) bool {
	return len(s) <= 4*maxName && utf8.ValidString(s) && utf8.RuneCountInString(s) <= maxName
}

// Check reports the first fault of a plan as a *[Fault], or nil. What is in
// the bowls is checked when the plan is applied.
func (p *Plan) Check() error {
	switch {
	case p.Version != Version:
		return fault("version", "is %d; this program knows version %d", p.Version, Version)
	case p.Bowl < 0 || p.Bowl > MaxBowls:
		return fault("bowl", "is %d", p.Bowl)
	case utf8.RuneCountInString(p.Why) > MaxNote || !utf8.ValidString(p.Why):
		return fault("why", "is longer than %d characters, or not text", MaxNote)
	}
	return checkLines(p.Lines, p.Batch, true)
}

// check reports the first fault of an event by itself.
func (e *Event) check(bowls int) error {
	bad := func(format string, args ...any) error {
		return fault(e.Key, format, args...)
	}
	switch {
	case e.Key == "" || !name(e.Key):
		return fault("key", "an event has no key, or one longer than %d characters", maxName)
	case !name(e.Ref) || !name(e.Lot) || !name(e.Of) || !name(e.By):
		return bad("a name is longer than %d characters, or not text", maxName)
	case !utf8.ValidString(e.Note) || utf8.RuneCountInString(e.Note) > MaxNote:
		return bad("the note is longer than %d characters, or not text", MaxNote)
	case e.Bowl < 0 || e.Bowl > bowls:
		return bad("there is no bowl %d; there are %d", e.Bowl, bowls)
	case e.Round < 0 || e.Round > MaxEvents:
		return bad("there is no round %d", e.Round)
	}
	switch e.Kind {
	case Pour:
		if e.Ref == "" {
			return bad("the pour names no form")
		}
		if e.Mass <= 0 || e.Mass > nutrient.MaxMass {
			return bad("%d mg cannot be poured", e.Mass)
		}
	case TakeBack:
		if e.Of == "" {
			return bad("the take-back names no pour")
		}
	case Replan:
		if e.Plan == nil {
			return bad("the replan has no plan")
		}
		if err := e.Plan.Check(); err != nil {
			return bad("%v", err)
		}
		if e.Plan.Bowl > bowls {
			return bad("there is no bowl %d; there are %d", e.Plan.Bowl, bowls)
		}
	case Empty:
		if e.Ref == "" {
			return bad("the event names no jar")
		}
		if e.Mass < 0 || e.Mass > nutrient.MaxMass {
			return bad("a jar cannot give %d mg", e.Mass)
		}
	case Note:
	default:
		return bad("%q is not a kind of event", string(e.Kind))
	}
	return nil
}
