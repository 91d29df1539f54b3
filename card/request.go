package card

import "firlot/nutrient"

// Request is what a page asks of the engine about a card.
type Request struct {
	Do       string // verify, solve, report, ways or without
	Choices  Choices
	Line     string // without: the form to take out
	WithinMs int    // the time there is, in milliseconds; 0: as long as it takes
}

// mostMs bounds the time that a request can ask for: ten minutes.
const mostMs = 600_000

// DecodeRequest reads a request as strictly as a card.
func DecodeRequest(text []byte) (Request, error) {
	var q Request
	r := &reader{b: text}
	r.object(members{
		"do":        func() { q.Do = r.text(40) },
		"choices":   func() { q.Choices = r.choices() },
		"line":      func() { q.Line = r.text(MaxTitle) },
		"within_ms": func() { q.WithinMs = int(r.whole(0, mostMs)) },
	})
	if r.err != nil {
		return q, r.err
	}
	return q, nil
}

// DecodeChoices reads choices as EncodeChoices writes them.
func DecodeChoices(text []byte) (Choices, error) {
	r := &reader{b: text}
	ch := r.choices()
	if r.err == nil && r.peek() != 0 {
		r.refuse("there is more after its end")
	}
	if r.err != nil {
		return Choices{}, r.err
	}
	return ch, nil
}

func (r *reader) choices() Choices {
	var ch Choices
	refs := func(to *[]string) func() {
		return func() { r.list(MaxForms, func(int) { *to = append(*to, r.text(MaxTitle)) }) }
	}
	mass := func(to *nutrient.Mass) func() {
		return func() { *to = nutrient.Mass(r.whole(1, int64(nutrient.MaxMass))) }
	}
	r.object(members{
		"mix":         func() { ch.Mix = int(r.whole(0, MaxMixes-1)) },
		"missing":     refs(&ch.Missing),
		"use":         refs(&ch.Use),
		"batch_mg":    mass(&ch.Batch),
		"step_mg":     mass(&ch.Step),
		"step_ounces": func() { ch.Ounces = r.number(1e-6, 1e6) },
		"sureness":    func() { v := r.number(0, MostSure); ch.Sureness = &v },
		"stage":       func() { ch.Stage = r.text(64) },
	})
	return ch
}

// EncodeChoices writes choices as JSON.
func EncodeChoices(ch Choices) []byte {
	w := &writer{}
	w.object(func() {
		w.wholeAt("mix", int64(ch.Mix))
		w.textsAt("missing", ch.Missing)
		w.textsAt("use", ch.Use)
		w.wholeAt("batch_mg", int64(ch.Batch))
		w.wholeAt("step_mg", int64(ch.Step))
		w.numberAt("step_ounces", ch.Ounces)
		w.maybeAt("sureness", ch.Sureness)
		w.textAt("stage", ch.Stage)
	})
	return w.b
}
