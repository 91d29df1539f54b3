package making_test

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"

	"firlot/analysis"
	"firlot/catalog"
	"firlot/formulate"
	"firlot/making"
	"firlot/nutrient"
)

// pourAll pours what comes next until nothing is left, and returns the log and
// how often the bowl was tipped out.
func pourAll(t *testing.T, s *making.Start) (log []making.Event, tips int) {
	t.Helper()
	for range 1000 {
		n := state(t, s, log).Next
		if n == nil {
			return log, tips
		}
		if n.Tip {
			tips++
		}
		if room := s.Scale.Ceiling; room > 0 && n.After+s.Scale.Vessel > room && !n.Fine {
			t.Fatalf("the scale bears %v: %+v", room, n)
		}
		log = append(log, making.Event{Key: fmt.Sprint(len(log)), Kind: making.Pour, Ref: n.Ref, Bowl: n.Bowl, Round: n.Round, Mass: n.Mass})
	}
	t.Fatal("pouring does not end")
	return nil, 0
}

// A 500 g scale makes a batch of two kilograms: the bowl is tipped out when
// the next pour would be too much, and lines that are more than the scale
// bears come in several pours.
func TestRounds(t *testing.T) {
	p, amounts, _ := adult(t)
	for i := range amounts {
		amounts[i] *= 2
	}
	amounts[0] += 300 * g // 716 g of one line
	s := begin(t, p, amounts, making.Setup{Scale: making.Scale{Step: g, Ceiling: 500 * g, Vessel: 40 * g}})
	log, tips := pourAll(t, s)
	st := state(t, s, log)
	if !st.Done() || st.Poured != s.Batch || len(log) != 12 || tips < 4 {
		t.Errorf("%d pours, tipped out %d times, %v of %v", len(log), tips, st.Poured, s.Batch)
	}
	if first := state(t, s, nil).Next; first.Mass != 460*g || first.Of != 716*g || first.Before != 0 || first.After != 460*g {
		t.Errorf("first: %+v", first)
	}
}

// The order is largest first, leaves after everything else.
func TestOrder(t *testing.T) {
	p, amounts, _ := adult(t)
	order := making.Order(p, amounts)
	if order[0] != "proso-millet/in-hull" || order[len(order)-2] != "nettle/leaf-dried" || order[len(order)-1] != "dandelion/leaf-dried" {
		t.Errorf("%v", order)
	}
	turned := append([]string(nil), order...)
	turned[0], turned[1] = turned[1], turned[0]
	s := begin(t, p, amounts, making.Setup{Order: turned})
	if s.Lines[0].Ref != order[1] {
		t.Errorf("%v", s.Lines)
	}
	if _, err := making.Begin(p, making.Setup{Amounts: amounts, Order: order[1:]}); err == nil || !strings.Contains(err.Error(), order[0]) {
		t.Errorf("an order without %s: %v", order[0], err)
	}
}

// Several bowls differ by at most a step in any line and in all; the fine
// scale takes what the other cannot weigh well.
func TestBowlsAndScales(t *testing.T) {
	p, amounts, _ := adult(t)
	rapid.Check(t, func(t *rapid.T) {
		bowls := rapid.IntRange(1, 9).Draw(t, "bowls")
		fine := &making.Fine{Step: 100, Ceiling: 50 * g}
		if rapid.Bool().Draw(t, "one scale") {
			fine = nil
		}
		s, err := making.Begin(p, making.Setup{Amounts: amounts, Bowls: bowls, Scale: making.Scale{Step: g, Fine: fine}})
		if err != nil {
			t.Fatal(err)
		}
		st, err := making.Of(s, nil)
		if err != nil {
			t.Fatal(err)
		}
		for _, l := range st.Lines {
			step := g
			if l.Fine {
				step = 100
			}
			if l.Fine != (fine != nil && l.Planned < nutrient.Mass(50*bowls)*g) {
				t.Fatalf("%s of %v in %d bowls: fine is %v", l.Ref, l.Planned, bowls, l.Fine)
			}
			least, most := l.Parts[0].Planned, l.Parts[0].Planned
			for _, q := range l.Parts {
				least, most = min(least, q.Planned), max(most, q.Planned)
			}
			if most-least > step {
				t.Fatalf("%s: %v", l.Ref, l.Parts)
			}
		}
		least, most := st.Bowls[0].Planned, st.Bowls[0].Planned
		for _, b := range st.Bowls {
			least, most = min(least, b.Planned), max(most, b.Planned)
		}
		if most-least > 2*g {
			t.Fatalf("bowls from %v to %v", least, most)
		}
	})
}

// Amounts in tenths of a gram are brought to what two scales show, and can be
// begun with.
func TestSettle(t *testing.T) {
	_, _, text := adult(t)
	p := planOf(t, strings.Replace(text, `step     = "1 g"`, `step = "0.1 g"`, 1))
	a, err := formulate.Solve(context.Background(), p, formulate.Options{})
	if err != nil || a.Steps == nil {
		t.Fatal(err, a)
	}
	for _, scale := range []making.Scale{{Step: g}, {Step: 2 * g, Fine: &making.Fine{Step: 100, Ceiling: 60 * g}}} {
		m, err := making.Settle(context.Background(), p, a.Amounts(), scale, 1, formulate.Options{})
		if err != nil || m.Outcome != formulate.SameBatch || !m.Sure {
			t.Fatal(err, m)
		}
		if _, err := making.Begin(p, making.Setup{Amounts: m.Amounts, Scale: scale}); err != nil {
			t.Error(err)
		}
	}
	if _, err := making.Settle(context.Background(), p, a.Amounts(), making.Scale{Step: -g}, 1, formulate.Options{}); err == nil {
		t.Error("a scale that shows less than nothing is taken")
	}
}

// The log refuses what cannot be, by the key of the event.
func TestRefused(t *testing.T) {
	p, amounts, _ := adult(t)
	s := begin(t, p, amounts, making.Setup{})
	pour := making.Event{Key: "a", Kind: making.Pour, Ref: "oats/groats", Mass: 208 * g}
	plan := func(m nutrient.Mass) *making.Plan {
		return &making.Plan{Version: 1, Batch: m, Lines: []making.Line{{Ref: "oats/groats", Mass: m}}}
	}
	for name, bad := range map[string][]making.Event{
		"nothing poured":           {{Key: "b", Kind: making.Pour, Ref: "oats/groats"}},
		"less than nothing":        {{Key: "b", Kind: making.Pour, Ref: "oats/groats", Mass: -1}},
		"no key":                   {{Kind: making.Note}},
		"no kind":                  {{Key: "b"}},
		"a bowl too many":          {{Key: "b", Kind: making.Pour, Ref: "oats/groats", Mass: g, Bowl: 2}},
		"a key with other words":   {pour, {Key: "a", Kind: making.Pour, Ref: "oats/groats", Mass: 209 * g}},
		"taken back twice":         {pour, {Key: "b", Kind: making.TakeBack, Of: "a"}, {Key: "c", Kind: making.TakeBack, Of: "a"}},
		"what never was":           {{Key: "b", Kind: making.TakeBack, Of: "a"}},
		"less than is in the bowl": {pour, {Key: "b", Kind: making.Replan, Plan: plan(207 * g)}},
		"a plan of another sum":    {{Key: "b", Kind: making.Replan, Plan: &making.Plan{Version: 1, Batch: g, Lines: []making.Line{{Ref: "x", Mass: 2 * g}}}}},
		"a plan of the future":     {{Key: "b", Kind: making.Replan, Plan: &making.Plan{Version: 2}}},
		"a long note":              {{Key: "b", Kind: making.Note, Note: strings.Repeat("x", making.MaxNote+1)}},
	} {
		_, err := making.Of(s, bad)
		var f *making.Fault
		if !errors.As(err, &f) {
			t.Errorf("%s: %v", name, err)
		}
	}
	if _, err := making.Of(s, []making.Event{pour, {Key: "b", Kind: making.Replan, Plan: plan(208 * g)}}); err != nil {
		t.Error(err)
	}
}

// Starts are read strictly.
func TestDecodeStart(t *testing.T) {
	p, amounts, text := adult(t)
	s := begin(t, p, amounts, making.Setup{Document: text, Lots: map[string]string{"oats/groats": "lot-7"}})
	data, err := s.JSON()
	if err != nil {
		t.Fatal(err)
	}
	again, err := making.DecodeStart(data)
	if err != nil || cmp.Diff(s, again) != "" {
		t.Errorf("%v %s", err, cmp.Diff(s, again))
	}
	for _, c := range []struct{ from, to, want string }{
		{`"version":1`, `"version":2`, "version: is 2; this program knows version 1"},
		{`"version":1,`, ``, "version: is missing"},
		{`"bowls":1`, `"bowls":0`, "bowls: is 0"},
		{`"bowls":1`, `"bowls":1,"more":1`, "unknown field"},
		{`"batch_mg":1000000`, `"batch_mg":999999`, "the lines add up to 1000000"},
		{`"mass_mg":208000`, `"mass_mg":-208000`, "mass_mg"},
		{`"step_mg":1000`, `"step_mg":0`, "scale.step_mg"},
	} {
		changed := strings.Replace(string(data), c.from, c.to, 1)
		if changed == string(data) {
			t.Fatalf("%s does not stand in %s", c.from, data)
		}
		if _, err := making.DecodeStart([]byte(changed)); err == nil || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%s for %s: %v", c.to, c.from, err)
		}
	}
	if _, err := making.DecodeStart(append(data, '{')); err == nil {
		t.Error("what stands after the end is taken")
	}
}

// FuzzDecode: whatever is read can be written and computed with.
func FuzzDecode(f *testing.F) {
	f.Add([]byte(`{"version":1,"document":"","batch_mg":3000,"lines":[{"ref":"a/b","mass_mg":3000}],"scale":{"step_mg":1000},"bowls":2}`))
	f.Add([]byte(`{"version":1,"batch_mg":0,"lines":[]}`))
	f.Fuzz(func(t *testing.T, data []byte) {
		if s, err := making.DecodeStart(data); err == nil {
			if _, err := s.JSON(); err != nil {
				t.Error(err)
			}
			st, err := making.Of(s, nil)
			if err != nil || st.Left != s.Batch {
				t.Errorf("%v %+v", err, st)
			}
		}
		if p, err := making.DecodePlan(data); err == nil {
			if _, err := p.JSON(); err != nil {
				t.Error(err)
			}
		}
	})
}

func rescued(t *testing.T, s *making.Start, log []making.Event, slip making.Slip, o making.RescueOptions) *making.Rescued {
	t.Helper()
	p, _, _ := adult(t)
	r, err := making.Rescue(context.Background(), p, state(t, s, log), slip, o)
	if err != nil {
		t.Fatal(err)
	}
	return r
}

// A hand slips, the rest makes up for it, and pouring goes on to the end.
func TestTooMuch(t *testing.T) {
	p, amounts, _ := adult(t)
	s := begin(t, p, amounts, making.Setup{})
	log := []making.Event{{Key: "a", Kind: making.Pour, Ref: "oats/groats", Mass: 231 * g}}
	r := rescued(t, s, log, making.Slip{Kind: making.TooMuch, Ref: "oats/groats"}, making.RescueOptions{})
	if r.Outcome != formulate.SameBatch || r.Batch != s.Batch || r.Plan == nil || r.Mended.Moved < 23*g {
		t.Fatalf("%+v", r)
	}
	if len(r.Before) == 0 || len(r.After) != len(r.Before) || r.JointAfter < 0.8 {
		t.Errorf("before %v, after %v, sure %v", r.Before, r.After, r.JointAfter)
	}
	log = append(log, making.Event{Key: "b", Kind: making.Replan, Plan: r.Plan})
	for st := state(t, s, log); st.Next != nil; st = state(t, s, log) {
		log = append(log, making.Event{Key: fmt.Sprint(len(log)), Kind: making.Pour, Ref: st.Next.Ref, Mass: st.Next.Mass})
	}
	f, err := making.Finish(p, state(t, s, log))
	if err != nil || f.Verdict != analysis.Inside || f.Batch != s.Batch || f.Replans != 1 {
		t.Fatalf("%v %+v", err, f)
	}
	if len(f.Differences) == 0 || f.Differences[0].Ref != "oats/groats" || f.Differences[0].By != 23*g {
		t.Errorf("%+v", f.Differences)
	}
}

// An empty jar is not poured from again, by a later rescue either.
func TestEmptyStaysEmpty(t *testing.T) {
	p, amounts, _ := adult(t)
	s := begin(t, p, amounts, making.Setup{})
	log := []making.Event{{Key: "a", Kind: making.Pour, Ref: "canary-seed/in-hull", Mass: 60 * g}}
	r := rescued(t, s, log, making.Slip{Kind: making.EmptyJar, Ref: "canary-seed/in-hull"}, making.RescueOptions{})
	if r.Plan == nil {
		t.Fatalf("%+v", r)
	}
	log = append(log, making.Event{Key: "b", Kind: making.Replan, Plan: r.Plan},
		making.Event{Key: "c", Kind: making.Pour, Ref: "sunflower/in-shell-striped", Mass: 300 * g})
	r = rescued(t, s, log, making.Slip{Kind: making.TooMuch, Ref: "sunflower/in-shell-striped"}, making.RescueOptions{})
	for _, c := range r.Changes {
		if c.Ref == "canary-seed/in-hull" && c.Now != 60*g {
			t.Errorf("the empty jar is to give %v", c.More)
		}
	}
	if r.Outcome != formulate.LargerBatch || r.Batch <= s.Batch {
		t.Errorf("%v of %v", r.Outcome, r.Batch)
	}
	// The jars that are counted bound the batch.
	jars := map[string]nutrient.Mass{}
	for _, l := range p.Lines {
		jars[l.Form.Ref()] = 5 * g
	}
	if short := rescued(t, s, log, making.Slip{Kind: making.TooMuch, Ref: "sunflower/in-shell-striped"}, making.RescueOptions{Jars: jars}); short.Outcome == formulate.LargerBatch {
		t.Errorf("%v with 5 g in each jar", short.Batch)
	}
}

// What must never be in the bowl is said, and what is not known is not
// guessed.
func TestWrongJar(t *testing.T) {
	p, amounts, _ := adult(t)
	s := begin(t, p, amounts, making.Setup{})
	for _, c := range []struct {
		ref  string
		m    nutrient.Mass
		want formulate.Outcome
		why  string
	}{
		{"rye/whole", 40 * g, formulate.SameBatch, ""},
		{"poppy/whole", 30 * g, formulate.LargerBatch, ""},
		{"poppy/whole", 400 * g, formulate.Discard, "the inclusion limit"},
		{"avocado", 5 * g, formulate.Discard, "never fed"},
		{"apple/fresh", 5 * g, formulate.Discard, "too moist"},
	} {
		log := []making.Event{{Key: "a", Kind: making.Pour, Ref: c.ref, Mass: c.m}}
		r := rescued(t, s, log, making.Slip{Kind: making.WrongJar, Ref: c.ref}, making.RescueOptions{})
		if r.Outcome != c.want || !strings.Contains(strings.Join(r.Why, "; "), c.why) {
			t.Errorf("%v of %s: %v of %v, %v", c.m, c.ref, r.Outcome, r.Batch, r.Why)
		}
	}
	_, err := making.Rescue(context.Background(), p, state(t, s, []making.Event{{Key: "a", Kind: making.Pour, Ref: "gravel", Mass: g}}), making.Slip{Kind: making.WrongJar, Ref: "gravel"}, making.RescueOptions{})
	var f *making.Fault
	if !errors.As(err, &f) || !strings.Contains(err.Error(), "not in the catalogue") {
		t.Errorf("gravel: %v", err)
	}
}

// A rescue falls with the pour that it was made around: what was in the wrong
// jar is not asked for again. What was planned before holds, and the order of
// a log that is sent twice does not matter.
func TestARescueFallsWithItsPour(t *testing.T) {
	p, amounts, _ := adult(t)
	s := begin(t, p, amounts, making.Setup{})
	log := []making.Event{{Key: "oats", Kind: making.Pour, Ref: "oats/groats", Mass: 208 * g}, {Key: "rye", Kind: making.Pour, Ref: "rye/whole", Mass: 40 * g}}
	r := rescued(t, s, log, making.Slip{Kind: making.WrongJar, Ref: "rye/whole"}, making.RescueOptions{})
	if r.Plan == nil {
		t.Fatal(r.Outcome)
	}
	log = append(log, making.Event{Key: "rescue", Kind: making.Replan, Plan: r.Plan})
	if now := state(t, s, log); now.Replans != 1 {
		t.Fatalf("%d replans", now.Replans)
	}
	log = append(log, making.Event{Key: "back", Kind: making.TakeBack, Of: "rye"})
	want := state(t, s, log[:1])
	for _, log := range [][]making.Event{log, append(slices.Clone(log), log...)} {
		now := state(t, s, log)
		if now.Batch != want.Batch || now.Left != want.Left || now.Replans != 0 {
			t.Errorf("batch %v, left %v, %d replans; want %v, %v", now.Batch, now.Left, now.Replans, want.Batch, want.Left)
		}
		for _, l := range now.Lines {
			if l.Ref == "rye/whole" && (l.Planned != 0 || l.Poured != 0 || l.Left != 0) {
				t.Errorf("rye is asked for: %+v", l)
			}
		}
	}
	again := append(slices.Clone(log), making.Event{Key: "later", Kind: making.Replan, Plan: r.Plan})
	if now := state(t, s, again); now.Replans != 1 {
		t.Error("a plan that is made after the take-back does not hold")
	}
}

// A slip in one bowl concerns that bowl.
func TestOneBowlOfThree(t *testing.T) {
	p, amounts, _ := adult(t)
	for i := range amounts {
		amounts[i] *= 3
	}
	s := begin(t, p, amounts, making.Setup{Bowls: 3})
	log := []making.Event{{Key: "a", Kind: making.Pour, Ref: "oats/groats", Bowl: 2, Mass: 250 * g}}
	r := rescued(t, s, log, making.Slip{Kind: making.TooMuch, Ref: "oats/groats", Bowl: 2}, making.RescueOptions{})
	if r.Outcome != formulate.SameBatch || r.Plan.Bowl != 2 || r.Batch != 1000*g {
		t.Fatalf("%+v", r)
	}
	before := state(t, s, log)
	after := state(t, s, append(log, making.Event{Key: "b", Kind: making.Replan, Plan: r.Plan}))
	for b := range after.Bowls {
		if b != 1 && after.Bowls[b] != before.Bowls[b] {
			t.Errorf("bowl %d: %+v, then %+v", b+1, before.Bowls[b], after.Bowls[b])
		}
	}
	if after.Bowls[1].Planned != 1000*g {
		t.Errorf("%+v", after.Bowls[1])
	}
}

// The shortest member sets the day; what is not known is said; the bag's own
// day comes first.
func TestKeeps(t *testing.T) {
	in := &catalog.Ingredient{ID: "x", Forms: []*catalog.Form{
		{ID: "long", KeepsMonths: &catalog.Figure{Mean: 18, Low: 12, High: 24, Ranged: true, How: catalog.Assumed}},
		{ID: "short", KeepsMonths: &catalog.Figure{Mean: 6, How: catalog.Recalled}}, {ID: "unknown"},
	}}
	catalog.New([]*catalog.Ingredient{in}, nil, nil)
	mixed := []analysis.Portion{{Form: in.Forms[0], Mass: g}, {Form: in.Forms[1], Mass: g}, {Form: in.Forms[2], Mass: g}}
	k, err := making.Keeps(mixed, "2026-11-25", nil)
	if err != nil || k.BestBefore != "2027-05-26" || k.How != catalog.Recalled || len(k.NotKnown) != 1 || len(k.Lives) != 2 {
		t.Errorf("%v %+v", err, k)
	}
	k, err = making.Keeps(mixed, "2026-11-25", map[string]string{"x/unknown": "2026-12-24", "x/short": "2028-01-01"})
	if err != nil || k.BestBefore != "2026-12-24" || len(k.NotKnown) != 0 || !k.Shortest[0].FromLot {
		t.Errorf("%v %+v", err, k)
	}
	if k, err = making.Keeps(mixed[2:], "2026-11-25", nil); err != nil || k.BestBefore != "" {
		t.Errorf("nothing is known: %v %+v", err, k)
	}
	for _, bad := range []string{"", "2026-13-01", "25.11.2026"} {
		if _, err := making.Keeps(mixed, bad, nil); err == nil {
			t.Errorf("%q is taken for a day", bad)
		}
	}
}

// Luhn's published example is 7992739871 with the check digit 3; the code's
// digits are checked the same way. Every wrong digit is noticed.
func TestBatchCode(t *testing.T) {
	code, err := making.BatchCode("2026-11-25", 1)
	if err != nil || !strings.HasPrefix(code, "261125-01-") {
		t.Fatal(code, err)
	}
	if got, ok := making.ReadBatchCode(strings.ReplaceAll(code, "-", " ")); !ok || got != code {
		t.Errorf("%s is read as %q", code, got)
	}
	for i := range code {
		if code[i] == '-' {
			continue
		}
		for d := byte('0'); d <= '9'; d++ {
			if d == code[i] {
				continue
			}
			if _, ok := making.ReadBatchCode(code[:i] + string(d) + code[i+1:]); ok {
				t.Errorf("%s with %c at %d is taken", code, d, i)
			}
		}
	}
	for _, n := range []int{0, 100} {
		if _, err := making.BatchCode("2026-11-25", n); err == nil {
			t.Errorf("batch %d has a code", n)
		}
	}
}

// Traces are premixed and doubled up, leaves come last.
func TestInstruction(t *testing.T) {
	p, amounts, _ := adult(t)
	var mixed []analysis.Portion
	for i, l := range p.Lines {
		mixed = append(mixed, analysis.Portion{Form: l.Form, Mass: amounts[i]})
	}
	var did []making.Action
	for _, s := range making.Instruction(mixed) {
		did = append(did, s.Do)
		if s.Why == "" || s.Source == "" || !s.How.Known() || s.Times < 1 {
			t.Errorf("%+v", s)
		}
		if s.Do == making.Premix && (len(s.Forms) != 2 || s.Mass != 21*g) {
			t.Errorf("premix %v with %v", s.Forms, s.Mass)
		}
	}
	if want := []making.Action{making.Premix, making.Again, making.Scatter, making.Turn, making.Fold}; cmp.Diff(want, did) != "" {
		t.Error(cmp.Diff(want, did))
	}
	if n := len(making.Instruction(mixed[:1])); n != 0 {
		t.Errorf("%d steps to mix one thing", n)
	}
	if few := making.Few([]analysis.Portion{{Form: p.Catalogue.Form("sunflower/in-shell-striped"), Mass: g / 2}}); len(few) != 1 {
		t.Errorf("half a gram of sunflower is few pieces: %v", few)
	}
}
