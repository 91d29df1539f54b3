package main

import (
	"bytes"
	"context"
	"encoding/json"
	"os"
	"testing"

	"firlot/card"
	"firlot/formulate"
	"firlot/report"
)

func asLibrary(t *testing.T, v any, indent bool) []byte {
	t.Helper()
	var out bytes.Buffer
	enc := json.NewEncoder(&out)
	enc.SetEscapeHTML(false)
	if indent {
		enc.SetIndent("", "  ")
	}
	if err := enc.Encode(v); err != nil {
		t.Fatal(err)
	}
	if !indent {
		return bytes.TrimSuffix(out.Bytes(), []byte("\n"))
	}
	return out.Bytes()
}

// Answers are written as encoding/json writes them: reports, found and
// impossible, replacements, proofs, refusals, and texts of every kind.
func TestMarshal(t *testing.T) {
	text, err := os.ReadFile("../../card/testdata/v1.json")
	if err != nil {
		t.Fatal(err)
	}
	c, err := card.Decode(bytes.TrimSpace(text))
	if err != nil {
		t.Fatal(err)
	}
	sure := 0.99
	values := []any{fault{Refused: "a <tag> & \"quotes\" \\ \n\t\r\b\f \x01\x7f \u2028 ñandú \xff", Path: "x"}, opened{"", 0}, []report.Swap{}, []int(nil), card.Proof{Verdict: card.Sound}}
	statuses := map[string]bool{}
	for _, ch := range []card.Choices{{}, {Missing: []string{"oats/groats"}}, {Sureness: &sure}} {
		r, err := c.Solve(context.Background(), ch, formulate.Options{})
		if err != nil {
			t.Fatal(err)
		}
		statuses[r.Report.Status] = true
		values = append(values, r, r.Report)
	}
	swaps, err := c.Without(context.Background(), card.Choices{}, "oats/groats", formulate.Options{})
	if err != nil || len(swaps) == 0 {
		t.Fatalf("%d replacements: %v", len(swaps), err)
	}
	for _, s := range swaps {
		values = append(values, report.SwapOf("oats/groats", s))
	}
	for _, v := range values {
		for _, indent := range []bool{false, true} {
			if got, want := marshal(v, indent), asLibrary(t, v, indent); !bytes.Equal(got, want) {
				t.Errorf("%T:\n%.300s\nwant\n%.300s", v, got, want)
			}
		}
	}
	if len(statuses) < 2 {
		t.Errorf("statuses %v: a mix that is found and one that is not are wanted", statuses)
	}
}

// Requests are answered, and what cannot be is refused in words.
func TestAnswers(t *testing.T) {
	text, err := os.ReadFile("../../card/testdata/v1.json")
	if err != nil {
		t.Fatal(err)
	}
	e := &engine{}
	refused := func(answer []byte) string {
		var f fault
		if err := json.Unmarshal(answer, &f); err != nil {
			return ""
		}
		return f.Refused
	}
	if refused(e.answer([]byte(`{"do":"verify"}`))) == "" {
		t.Error("an engine without a card answers")
	}
	if refused(e.open([]byte(`{"format":"firlot-card","version":7}`))) == "" {
		t.Error("a later card was opened")
	}
	if why := refused(e.open(text)); why != "" {
		t.Fatal(why)
	}
	for _, bad := range []string{``, `{`, `{"do":"format the disk"}`, `{"do":"solve","choices":{"mix":5}}`, `{"do":"solve","choices":{"run":1}}`, `{"do":"without","line":"gold/leaf"}`} {
		if refused(e.answer([]byte(bad))) == "" {
			t.Errorf("%s is answered", bad)
		}
	}
	for _, good := range []string{`{"do":"verify"}`, `{"do":"solve"}`, `{"do":"report"}`, `{"do":"without","line":"oats/groats"}`} {
		if out := e.answer([]byte(good)); refused(out) != "" || !json.Valid(out) {
			t.Errorf("%s: %.200s", good, out)
		}
	}
	var stopped struct{ Report struct{ Status string } }
	ctx, cancel := context.WithCancel(context.Background())
	cancel()
	out, err := e.do(ctx, card.Request{Do: "solve"})
	if err != nil || json.Unmarshal(out, &stopped) != nil || stopped.Report.Status != string(formulate.Stopped) {
		t.Errorf("with no time left: %.200s %v", out, err)
	}
}
