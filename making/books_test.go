package making_test

import (
	"context"
	"encoding/json"
	"fmt"
	"os"
	"reflect"
	"testing"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"

	"firlot/analysis"
	catfiles "firlot/catalog/files"
	"firlot/formulate"
	"firlot/making"
	"firlot/mix"
	mixfiles "firlot/mix/files"
	needfiles "firlot/needs/files"
	"firlot/nutrient"
)

const g = nutrient.Gram

// adult is the everyday example with the amounts that solving finds.
func adult(t testing.TB) (*mix.Plan, []nutrient.Mass, string) {
	t.Helper()
	text, err := os.ReadFile("../examples/gerbil-adult.toml")
	if err != nil {
		t.Fatal(err)
	}
	p := planOf(t, string(text))
	a, err := formulate.Solve(context.Background(), p, formulate.Options{})
	if err != nil || a.Steps == nil {
		t.Fatal(err, a)
	}
	return p, a.Amounts(), string(text)
}

func planOf(t testing.TB, text string) *mix.Plan {
	t.Helper()
	c, err := catfiles.Builtin()
	if err != nil {
		t.Fatal(err)
	}
	n, err := needfiles.Builtin()
	if err != nil {
		t.Fatal(err)
	}
	f, err := mixfiles.Parse("test.toml", []byte(text))
	if err != nil {
		t.Fatal(err)
	}
	p, err := mix.Resolve(f.Document, c, n)
	if err != nil {
		t.Fatal(err)
	}
	return p
}

func begin(t testing.TB, p *mix.Plan, amounts []nutrient.Mass, s making.Setup) *making.Start {
	t.Helper()
	s.Amounts = amounts
	start, err := making.Begin(p, s)
	if err != nil {
		t.Fatal(err)
	}
	return start
}

func state(t testing.TB, s *making.Start, log []making.Event) *making.State {
	t.Helper()
	st, err := making.Of(s, log)
	if err != nil {
		t.Fatal(err)
	}
	return st
}

// ledger is the books kept a second time, as plainly as can be.
type ledger struct {
	pours map[string]making.Event // by key, those that count
	bowls int
}

func (l *ledger) in(ref string, bowl int) nutrient.Mass {
	var sum nutrient.Mass
	for _, e := range l.pours {
		if (ref == "" || e.Ref == ref) && (bowl == 0 || max(e.Bowl, 1) == bowl) {
			sum += e.Mass
		}
	}
	return sum
}

// keeper is one making under way.
type keeper struct {
	plan  *mix.Plan
	start *making.Start
	log   []making.Event
	books ledger
	keys  int
}

func (k *keeper) key() string { k.keys++; return fmt.Sprint("k", k.keys) }

func (k *keeper) state(t *rapid.T) *making.State {
	s, err := making.Of(k.start, k.log)
	if err != nil {
		t.Fatalf("%v\n%+v", err, k.log)
	}
	return s
}

func (k *keeper) pour(t *rapid.T, ref string, bowl int, m nutrient.Mass) {
	e := making.Event{Key: k.key(), Kind: making.Pour, Ref: ref, Bowl: bowl, Mass: m}
	k.log = append(k.log, e)
	k.books.pours[e.Key] = e
	if rapid.IntRange(0, 5).Draw(t, "sent again") == 0 {
		k.log = append(k.log, e)
	}
}

// step does one thing that a keeper may do.
func (k *keeper) step(t *rapid.T) {
	s := k.state(t)
	switch rapid.SampledFrom([]string{"next", "next", "next", "next", "too much", "wrong jar", "other line", "take back", "empty", "rescue", "note", "order"}).Draw(t, "what") {
	case "next":
		if n := s.Next; n != nil {
			k.pour(t, n.Ref, n.Bowl, n.Mass)
		}
	case "too much":
		if n := s.Next; n != nil {
			k.pour(t, n.Ref, n.Bowl, n.Mass+nutrient.Mass(rapid.IntRange(1, 60).Draw(t, "grams more"))*g)
		}
	case "wrong jar":
		ref := rapid.SampledFrom([]string{"poppy/whole", "rye/whole", "hemp/whole", "oats/rolled", "linseed/whole"}).Draw(t, "jar")
		k.pour(t, ref, rapid.IntRange(0, len(s.Bowls)).Draw(t, "bowl"), nutrient.Mass(rapid.IntRange(1, 120).Draw(t, "grams"))*g)
	case "other line":
		i := rapid.IntRange(0, len(s.Lines)-1).Draw(t, "line")
		if n := s.At(i, rapid.IntRange(1, len(s.Bowls)).Draw(t, "bowl")); n != nil {
			k.pour(t, n.Ref, n.Bowl, n.Mass)
		}
	case "take back":
		if s.Last != "" {
			k.log = append(k.log, making.Event{Key: k.key(), Kind: making.TakeBack, Of: s.Last})
			delete(k.books.pours, s.Last)
		}
	case "empty":
		l := s.Lines[rapid.IntRange(0, len(s.Lines)-1).Draw(t, "line")]
		k.log = append(k.log, making.Event{Key: k.key(), Kind: making.Empty, Ref: l.Ref, Mass: nutrient.Mass(rapid.IntRange(0, 20).Draw(t, "rest")) * g})
	case "rescue":
		k.rescue(t, s)
	case "note":
		k.log = append(k.log, making.Event{Key: k.key(), Kind: making.Note, Note: "the bell rang"})
	case "order":
		k.reorder(s)
	}
}

// reorder turns the order of pouring round.
func (k *keeper) reorder(s *making.State) {
	p := &making.Plan{Version: making.Version, Why: "another order"}
	for i := len(s.Lines) - 1; i >= 0; i-- {
		l := s.Lines[i]
		m := l.Poured + l.Left
		p.Lines = append(p.Lines, making.Line{Ref: l.Ref, Mass: m})
		p.Batch += m
	}
	k.log = append(k.log, making.Event{Key: k.key(), Kind: making.Replan, Plan: p})
}

func (k *keeper) rescue(t *rapid.T, s *making.State) {
	l := s.Lines[rapid.IntRange(0, len(s.Lines)-1).Draw(t, "line")]
	slip := making.Slip{Kind: rapid.SampledFrom([]making.SlipKind{making.TooMuch, making.TooLittle, making.EmptyJar, making.WrongJar}).Draw(t, "slip"),
		Ref: l.Ref, Bowl: rapid.IntRange(1, len(s.Bowls)).Draw(t, "bowl")}
	if rapid.Bool().Draw(t, "some left") {
		slip.Rest = nutrient.Mass(rapid.IntRange(0, 30).Draw(t, "rest")) * g
	}
	r, err := making.Rescue(context.Background(), k.plan, s, slip, making.RescueOptions{})
	if err != nil {
		if s.Bowls[slip.Bowl-1].Planned == s.Bowls[slip.Bowl-1].Poured {
			return // nothing was planned for the bowl any more
		}
		t.Fatalf("%+v: %v", slip, err)
	}
	k.sound(t, s, r)
	if r.Plan != nil && rapid.IntRange(0, 3).Draw(t, "accepted") > 0 {
		k.log = append(k.log, making.Event{Key: k.key(), Kind: making.Replan, Plan: r.Plan})
		after := k.state(t)
		if got := after.Bowls[slip.Bowl-1]; got.Poured+got.Left != r.Batch {
			t.Fatalf("the rescue makes %v, the state says %v", r.Batch, got.Poured+got.Left)
		}
	}
}

// sound holds a rescue against what is in the bowl, and against package
// analysis by itself.
func (k *keeper) sound(t *rapid.T, s *making.State, r *making.Rescued) {
	if r.Plan == nil {
		if r.Outcome != formulate.Discard && r.Outcome != formulate.Unsettled {
			t.Fatalf("%v without a plan", r.Outcome)
		}
		return
	}
	if err := r.Plan.Check(); err != nil {
		t.Fatal(err)
	}
	var mixed []analysis.Portion
	asked := map[string]nutrient.Mass{}
	for _, l := range r.Plan.Lines {
		asked[l.Ref] = l.Mass
		mixed = append(mixed, analysis.Portion{Form: k.plan.Catalogue.Form(l.Ref), Mass: l.Mass})
	}
	for _, l := range s.Lines {
		if have := k.books.in(l.Ref, r.Bowl); asked[l.Ref] < have {
			t.Fatalf("the rescue asks for %v of %s, and %v is in the bowl", asked[l.Ref], l.Ref, have)
		}
		rest := r.Slip.Rest
		if l.Ref == r.Slip.Ref && (r.Slip.Kind == making.EmptyJar || r.Slip.Kind == making.TooLittle) && asked[l.Ref] > k.books.in(l.Ref, r.Bowl)+rest {
			t.Fatalf("the jar of %s gives %v more, and the rescue asks for %v", l.Ref, rest, asked[l.Ref])
		}
	}
	inside := true
	for _, w := range k.plan.Targets {
		inside = inside && analysis.CheckWindow(mixed, w.Window).Verdict == analysis.Inside
	}
	if found := r.Outcome == formulate.SameBatch || r.Outcome == formulate.LargerBatch; found && !inside || !found && inside && len(r.Mended.LetGo) == 0 {
		t.Fatalf("%v: inside is %v", r.Outcome, inside)
	}
	for i, l := range r.Mended.Plan.Lines {
		for _, inc := range r.Mended.Plan.Inclusions(l.Form) {
			if 100*float64(r.Mended.Amounts[i]) > inc.Percent*float64(r.Mended.Batch)*(1+1e-9) {
				t.Fatalf("%v of %s in %v is above its inclusion limit of %v %%", r.Mended.Amounts[i], l.Form.Ref(), r.Mended.Batch, inc.Percent)
			}
		}
	}
}

// balanced holds a state against the books kept a second time.
func (k *keeper) balanced(t *rapid.T) {
	s := k.state(t)
	if s.Poured != k.books.in("", 0) {
		t.Fatalf("poured %v, the books say %v", s.Poured, k.books.in("", 0))
	}
	var left, lines nutrient.Mass
	for _, l := range s.Lines {
		var parts nutrient.Mass
		for b, p := range l.Parts {
			if p.Poured != k.books.in(l.Ref, b+1) {
				t.Fatalf("%s in bowl %d: %v, the books say %v", l.Ref, b+1, p.Poured, k.books.in(l.Ref, b+1))
			}
			parts += p.Left()
		}
		if parts != l.Left || l.Poured != k.books.in(l.Ref, 0) {
			t.Fatalf("%s: left %v of %v, poured %v", l.Ref, l.Left, parts, l.Poured)
		}
		left, lines = left+l.Left, lines+l.Poured
	}
	if left != s.Left || lines != s.Poured || s.Batch != s.Poured+s.Left || (s.Next == nil) != (left == 0) {
		t.Fatalf("left %v of %v, poured %v of %v, batch %v, next %v", s.Left, left, s.Poured, lines, s.Batch, s.Next)
	}
	for b, bowl := range s.Bowls {
		if bowl.Poured != k.books.in("", b+1) {
			t.Fatalf("bowl %d holds %v, the books say %v", b+1, bowl.Poured, k.books.in("", b+1))
		}
		var in nutrient.Mass
		for _, p := range s.Pours {
			if !p.Taken && p.Bowl == b+1 && p.Round == bowl.Round {
				in += p.Mass
			}
		}
		if in != bowl.InRound {
			t.Fatalf("the scale shows %v of bowl %d, the pours since it was tipped out are %v", bowl.InRound, b+1, in)
		}
	}
	if n := s.Next; n != nil {
		if room := s.Start.Scale.Ceiling; room > 0 && n.After > room {
			t.Fatalf("the scale would show %v and bears %v", n.After, room)
		}
		if n.Mass <= 0 || n.Mass > n.Of || n.After != n.Before+n.Mass {
			t.Fatalf("next: %+v", n)
		}
	}
}

// resumed reads start and log back from JSON, as a device does after its
// power failed.
func (k *keeper) resumed(t *rapid.T) {
	before := k.state(t)
	data, err := k.start.JSON()
	if err != nil {
		t.Fatal(err)
	}
	if k.start, err = making.DecodeStart(data); err != nil {
		t.Fatal(err)
	}
	text, err := json.Marshal(k.log)
	if err != nil {
		t.Fatal(err)
	}
	k.log = nil
	if err := json.Unmarshal(text, &k.log); err != nil {
		t.Fatal(err)
	}
	if after := k.state(t); !reflect.DeepEqual(before, after) {
		t.Fatal(cmp.Diff(before, after))
	}
}

// Any sequence of pours, slips, undos, rescues and resumptions keeps the
// books.
func TestBooks(t *testing.T) {
	p, amounts, text := adult(t)
	rapid.Check(t, func(t *rapid.T) {
		bowls := rapid.IntRange(1, 3).Draw(t, "bowls")
		scale := making.Scale{Step: g}
		if rapid.Bool().Draw(t, "a ceiling") {
			scale.Ceiling = nutrient.Mass(rapid.IntRange(150, 800).Draw(t, "ceiling")) * g
			scale.Vessel = nutrient.Mass(rapid.IntRange(0, 80).Draw(t, "vessel")) * g
		}
		if rapid.Bool().Draw(t, "a fine scale") {
			scale.Fine = &making.Fine{Step: 100, Ceiling: 50 * g}
		}
		start, err := making.Begin(p, making.Setup{Document: text, Amounts: amounts, Scale: scale, Bowls: bowls})
		if err != nil {
			t.Fatal(err)
		}
		k := &keeper{plan: p, start: start, books: ledger{pours: map[string]making.Event{}, bowls: bowls}}
		for range rapid.IntRange(1, 40).Draw(t, "steps") {
			k.step(t)
			k.balanced(t)
			if rapid.IntRange(0, 9).Draw(t, "power fails") == 0 {
				k.resumed(t)
			}
		}
	})
}
