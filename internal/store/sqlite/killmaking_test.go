package sqlite

import (
	"fmt"
	"math/rand/v2"
	"os"
	"path/filepath"
	"runtime"
	"slices"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"firlot/internal/store"
)

const (
	makingKills      = 1000 // more with FIRLOT_KILLS
	makingKillsShort = 60   // with -short
	killsAFolder     = 40   // then a new store is begun, so that its making is hit as well
)

// tally is what came of the kills.
type tally struct {
	kills    int
	unopened int // before the store was open
	under    int // with an event or an end under way
	acked    int // events that were acknowledged
	passed   int // events that were kept and not acknowledged, before they were sent again
	makings  int // finished
	looks    int // times that everything was compared
}

func (a *tally) add(b tally) {
	a.kills += b.kills
	a.unopened += b.unopened
	a.under += b.under
	a.acked += b.acked
	a.passed += b.passed
	a.makings += b.makings
	a.looks += b.looks
}

// TestKillMakings: promises 1, 2 and 7. A program at which two devices pour at
// once is killed at random moments, a thousand times. After a restart the
// devices send again, under the same keys, what was not acknowledged. No
// acknowledged event is lost, none is there twice, the shelf's counts are those
// of the log, and every making stands in the state that was acknowledged.
func TestKillMakings(t *testing.T) {
	kills := makingKills
	if testing.Short() {
		kills = makingKillsShort
	}
	if n, err := strconv.Atoi(os.Getenv("FIRLOT_KILLS")); err == nil {
		kills = max(kills, n)
	}
	seed := uint64(time.Now().UnixNano())
	if n, err := strconv.ParseUint(os.Getenv(childSeed), 10, 64); err == nil {
		seed = n
	}
	workers := runtime.GOMAXPROCS(0)
	tallies, begun := make([]tally, workers), time.Now()
	t.Run("kill", func(t *testing.T) {
		for w := range workers {
			t.Run(fmt.Sprint("worker ", w), func(t *testing.T) {
				t.Parallel()
				random := rand.New(rand.NewPCG(seed, uint64(w)))
				for n := (kills + workers - 1) / workers; n > 0; n -= killsAFolder {
					newKitchen(t, random, &tallies[w]).endure(min(n, killsAFolder))
				}
			})
		}
	})
	var sum tally
	for _, x := range tallies {
		sum.add(x)
	}
	t.Logf("%d kills in %.0f s (%s=%d): %d before the store was open, %d with something under way. %d events acknowledged, %d kept without that and then sent again, %d makings finished; compared %d times",
		sum.kills, time.Since(begun).Seconds(), childSeed, seed, sum.unopened, sum.under, sum.acked, sum.passed, sum.makings, sum.looks)
	if sum.kills < kills || sum.acked < 2*kills || sum.under < kills/4 || sum.makings == 0 {
		t.Errorf("this tested too little: %+v", sum)
	}
}

// kitchen is one store, and what its devices know of it.
type kitchen struct {
	t      *testing.T
	dir    string
	random *rand.Rand
	seed   uint64
	sum    *tally

	making int                    // number of the making under way
	acked  [killDevices]int       // events acknowledged at it
	said   [killDevices][2]string // Seq and state that came with the last of them
	begun  [killDevices]bool      // the event after it may be kept
	ending bool                   // the making may be finished
	under  [killDevices + 1]bool  // what is under way now
}

// newKitchen is a new store, or one of an older Firlot, which is brought up to
// date under the kills.
func newKitchen(t *testing.T, random *rand.Rand, sum *tally) *kitchen {
	t.Helper()
	k := &kitchen{t: t, dir: t.TempDir(), random: random, seed: random.Uint64(), sum: sum}
	if random.IntN(2) == 0 {
		text, err := os.ReadFile("testdata/v1.sql")
		if err != nil {
			t.Fatal(err)
		}
		run(t, filepath.Join(k.dir, fileName), string(text))
	}
	return k
}

// endure kills the program so many times.
func (k *kitchen) endure(kills int) {
	k.t.Helper()
	for n := range kills {
		k.live()
		k.sum.kills++
		// Now and then it starts on what the kill before has left.
		if n == kills-1 || k.random.IntN(4) > 0 {
			k.compare()
		}
		if k.t.Failed() {
			k.t.Fatalf("after kill %d of the folder, seed %d", n+1, k.seed)
		}
	}
}

// live runs the program for a moment and kills it.
func (k *kitchen) live() {
	k.t.Helper()
	k.under = [killDevices + 1]bool{}
	opened := false
	p := startChild(k.t, k.dir, k.seed, fmt.Sprintf("%s=%d %d %d", childMaking, k.making, k.acked[0], k.acked[1]))
	p.hear(k.t, k.random.IntN(80)-5, time.Duration(k.random.IntN(4000))*time.Microsecond, func(line string) {
		opened = opened || line == "open"
		k.hear(line)
	})
	if !opened {
		k.sum.unopened++
	}
	if k.under != [killDevices + 1]bool{} {
		k.sum.under++
	}
}

// hear takes note of what the program says.
func (k *kitchen) hear(line string) {
	words := strings.Fields(line)
	number := func(i int) int { n, _ := strconv.Atoi(words[i]); return n }
	switch {
	case line == "open":
	case len(words) == 3 && words[0] == "will" && words[1] == "end":
		k.ending, k.under[killDevices] = true, true
	case len(words) == 3 && words[0] == "did" && words[1] == "end":
		k.making, k.acked, k.begun, k.said = k.making+1, [killDevices]int{}, [killDevices]bool{}, [killDevices][2]string{}
		k.ending, k.under[killDevices] = false, false
		k.sum.makings++
	case len(words) == 3 && words[0] == "will" && number(2) == k.acked[number(1)]:
		k.begun[number(1)], k.under[number(1)] = true, true
	case len(words) == 5 && words[0] == "did" && number(2) == k.acked[number(1)]:
		d := number(1)
		k.acked[d]++
		k.begun[d], k.under[d] = false, false
		k.said[d] = [2]string{words[3], words[4]}
		k.sum.acked++
	default:
		k.t.Errorf("at making %d with %v acknowledged, the program said %q", k.making, k.acked, line)
	}
}

// compare holds everything that is kept against what was acknowledged.
func (k *kitchen) compare() {
	k.t.Helper()
	k.sum.looks++
	s := open(k.t, k.dir, Options{})
	defer func() {
		if err := s.Close(); err != nil {
			k.t.Error(err)
		}
	}()
	whole(k.t, s)
	list := k.kept(s)
	if len(list) < k.making || len(list) > k.making+1 || len(list) == k.making && k.acked != [killDevices]int{} {
		k.t.Fatalf("%d makings; %d were finished, and of the next %v events acknowledged", len(list), k.making, k.acked)
	}
	stock := map[string]int64{"oat/groats": killCount, "rye/whole": killCount / 10}
	for n, m := range list {
		k.compareMaking(n, m)
		recount(k.t, m, stock)
	}
	shelves, err := s.Shelves(k.t.Context())
	shelves = slices.DeleteFunc(shelves, func(sh store.Shelf) bool { return sh.Name != killShelf })
	if err != nil || len(shelves) > 1 || len(shelves) == 0 && len(list) > 0 {
		k.t.Fatalf("%d shelves: %v", len(shelves), err)
	}
	for _, sh := range shelves {
		for _, it := range sh.Items {
			if it.OnHand != nil && *it.OnHand != stock[it.Ref] {
				k.t.Errorf("%d mg of %s on hand; by the log it is %d", *it.OnHand, it.Ref, stock[it.Ref])
			}
		}
	}
}

// kept returns the makings by their numbers.
func (k *kitchen) kept(s *Store) []store.Making {
	k.t.Helper()
	page, err := s.Makings(k.t.Context(), store.MakingFilter{Most: store.MostPage})
	if err != nil || len(page) == store.MostPage {
		k.t.Fatalf("%d makings: %v", len(page), err)
	}
	list := make([]store.Making, len(page))
	for i, x := range page {
		m, err := s.Making(k.t.Context(), x.ID)
		if err != nil {
			k.t.Fatal(err)
		}
		n := len(page) - 1 - i
		if m.Key != fmt.Sprint("making ", n) {
			k.t.Fatalf("making %d is %q", n, m.Key)
		}
		list[n] = m
	}
	return list
}

// compareMaking: of each device there are the events that were acknowledged, in
// their order, each once, and at most the one that was under way.
func (k *kitchen) compareMaking(n int, m store.Making) {
	k.t.Helper()
	done, ended := n < k.making, m.State == store.StateFinished
	if done != ended && (done || !k.ending) {
		k.t.Errorf("making %d of %d is %s", n, k.making, m.State)
	}
	var has [killDevices]int
	for _, e := range m.Events {
		var d, i int
		if _, err := fmt.Sscanf(e.Key, "device %d event %d", &d, &i); err != nil {
			k.t.Fatalf("%q: %v", e.Key, err)
		}
		wanted := scripted(k.seed, n, d, i, e.Device)
		wanted.Seq, wanted.At, wanted.TookMg, wanted.ShortMg = e.Seq, e.At, e.TookMg, e.ShortMg
		if diff := cmp.Diff(wanted, e); diff != "" || i != has[d] || e.Device == "" {
			k.t.Errorf("making %d: %q after %d events of its device (- sent, + kept):\n%s", n, e.Key, has[d], diff)
		}
		has[d]++
	}
	for d := range has {
		least, most := killEvents, killEvents
		if !done {
			least, most = k.acked[d], k.acked[d]
			if k.begun[d] {
				most++
			}
		}
		if has[d] < least || has[d] > most {
			k.t.Errorf("making %d: %d events of device %d, of which %d to %d can be", n, has[d], d, least, most)
		}
		k.sum.passed += has[d] - least
		if !done && k.acked[d] > 0 && has[d] >= least {
			k.compareState(m, k.said[d])
		}
	}
}

// compareState: the making stands, or stood, as it was acknowledged.
func (k *kitchen) compareState(m store.Making, said [2]string) {
	k.t.Helper()
	seq, err := strconv.Atoi(said[0])
	if err != nil || seq > len(m.Events) {
		k.t.Errorf("event %s was acknowledged; there are %d: %v", said[0], len(m.Events), err)
		return
	}
	if state, err := stateWord(m, seq); err != nil || state != said[1] {
		k.t.Errorf("state %s after %d events; acknowledged was %s: %v", state, seq, said[1], err)
	}
	if _, err := stateWord(m, len(m.Events)); err != nil {
		k.t.Errorf("the making cannot go on: %v", err)
	}
}

// recount takes the events of a making from the counts, as the contract says,
// and compares what each event says of it.
func recount(t *testing.T, m store.Making, stock map[string]int64) {
	t.Helper()
	byKey := map[string]store.Event{}
	for _, e := range m.Events {
		byKey[e.Key] = e
		ref, took, short := e.Ref, int64(0), int64(0)
		if e.Kind == store.KindTakeBack {
			ref, took = byKey[e.Of].Ref, -byKey[e.Of].TookMg
		}
		if has, counted := stock[ref]; counted {
			switch e.Kind {
			case store.KindPour:
				took = min(e.Mg, has)
				short = e.Mg - took
			case store.KindEmpty:
				took = max(has-e.Mg, 0)
			}
			stock[ref] -= took
		}
		if e.TookMg != took || e.ShortMg != short {
			t.Errorf("making %s, event %d: took %d and was short by %d; should be %d and %d", m.ID, e.Seq, e.TookMg, e.ShortMg, took, short)
		}
	}
}
