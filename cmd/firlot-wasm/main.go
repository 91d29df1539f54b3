// Command firlot-wasm is the engine for a card in its reader's browser: bytes
// in, bytes out. It is built as a WASI reactor
//
//	GOOS=wasip1 GOARCH=wasm go build -buildmode=c-shared
//
// whose exports a page calls: room(n) gives a place for n bytes, open takes
// them as a card, and answer takes them as a request about it. Both return
// where their answer stands: its address in the upper half and its length in
// the lower. Nothing is read but those bytes and the clock.
package main

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"time"

	"firlot/card"
	"firlot/formulate"
	"firlot/internal/cardpage/view"
	"firlot/mix"
	"firlot/report"
)

func main() {}

// engine holds the card that was opened, and what draws its page.
type engine struct {
	card *card.Card
	page *view.Session
}

// fault is the answer to what cannot be answered.
type fault struct {
	Refused string `json:"refused"`
	Path    string `json:"path,omitempty"`
	Hint    string `json:"hint,omitempty"`
}

func faultOf(err error) fault {
	var r *card.Refusal
	var p *mix.Problem
	switch {
	case errors.As(err, &r):
		return fault{Refused: r.Why, Path: r.Path}
	case errors.As(err, &p):
		return fault{Refused: p.Message, Path: p.Path, Hint: p.Hint}
	}
	return fault{Refused: err.Error()}
}

// opened says what a card holds, once it is open.
type opened struct {
	Title string `json:"title"`
	Mixes int    `json:"mixes"`
}

// open reads a card and keeps it.
func (e *engine) open(text []byte) []byte {
	c, err := card.Decode(text)
	if err != nil {
		return marshal(faultOf(err), false)
	}
	e.card, e.page = c, &view.Session{Card: c}
	return marshal(opened{c.Title, len(c.Mixes)}, false)
}

// answer answers a request: a JSON object, or a form of the card's page, which
// begins with what is to be done.
func (e *engine) answer(text []byte) []byte {
	if e.page != nil && bytes.HasPrefix(text, []byte("do=")) {
		return []byte(e.page.Answer(context.Background(), string(text)))
	}
	q, err := card.DecodeRequest(text)
	if err != nil {
		return marshal(faultOf(err), false)
	}
	if e.card == nil {
		return marshal(fault{Refused: "no card is open"}, false)
	}
	var ctx context.Context = context.Background()
	if q.WithinMs > 0 {
		ctx = deadline{ctx, time.Now().Add(time.Duration(q.WithinMs) * time.Millisecond)}
	}
	out, err := e.do(ctx, q)
	if err != nil {
		return marshal(faultOf(err), false)
	}
	return out
}

func (e *engine) do(ctx context.Context, q card.Request) ([]byte, error) {
	switch q.Do {
	case "verify":
		p, err := e.card.Verify(ctx, q.Choices.Mix)
		return marshal(p, false), err
	case "solve", "report":
		r, err := e.card.Solve(ctx, q.Choices, formulate.Options{})
		switch {
		case err != nil:
			return nil, err
		case q.Do == "report":
			return marshal(r.Report, true), nil
		}
		return marshal(r, false), nil
	case "without":
		return e.without(ctx, q)
	}
	return nil, fmt.Errorf("%q is nothing that can be asked", q.Do)
}

// without ranks what can stand in for one ingredient.
func (e *engine) without(ctx context.Context, q card.Request) ([]byte, error) {
	list, err := e.card.Without(ctx, q.Choices, q.Line, formulate.Options{})
	if err != nil {
		return nil, err
	}
	swaps := []report.Swap{}
	for _, s := range list {
		swaps = append(swaps, report.SwapOf(q.Line, s))
	}
	return marshal(swaps, false), nil
}

// deadline is a context that ends by the clock without a timer: nothing else
// runs while the engine does, so nothing could set one off.
type deadline struct {
	context.Context
	end time.Time
}

// Deadline implements context.Context.
func (d deadline) Deadline() (time.Time, bool) { return d.end, true }

// Err implements context.Context.
func (d deadline) Err() error {
	if time.Now().After(d.end) {
		return context.DeadlineExceeded
	}
	return nil
}
