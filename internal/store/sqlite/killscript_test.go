package sqlite

import (
	"context"
	"crypto/sha256"
	"encoding/json"
	"errors"
	"fmt"
	"math/rand/v2"
	"os"
	"strconv"
	"strings"
	"sync"

	"firlot/internal/store"
	"firlot/making"
	"firlot/nutrient"
)

// The program that TestKillMakings kills: two devices at one making after
// another. It says
//
//	open
//	will DEVICE EVENT
//	did DEVICE EVENT SEQ STATE
//	will end MAKING
//	did end MAKING
const (
	// childMaking tells where its makings stand: the number of the making and
	// how many events of each device were acknowledged at it.
	childMaking = "FIRLOT_KILL_MAKING"
	killDevices = 2
	killEvents  = 12 // of a device at a making
	killShelf   = "At the scale"
	killCount   = int64(2_000_000)
)

// scripted is what a device sends: always the same for the same numbers, so
// that it can be sent again after a restart.
func scripted(seed uint64, makingNo, device, i int, id store.ID) store.Event {
	random := rand.New(rand.NewPCG(seed, uint64(makingNo*1000+device*100+i)))
	key := func(i int) string { return fmt.Sprint("device ", device, " event ", i) }
	e := store.Event{Key: key(i), Bowl: 1, Device: id, By: fmt.Sprint("keeper ", device)}
	switch i % 6 {
	case 2:
		switch random.IntN(3) {
		case 0:
			e.Kind, e.Note = string(making.Note), strings.Repeat("crumbs ", random.IntN(200))
		case 1:
			e.Kind, e.Ref, e.Mg = store.KindEmpty, "rye/whole", random.Int64N(3)*10_000
		case 2:
			e.Kind, e.Plan = string(making.Replan), scriptedPlan(random)
		}
	case 4:
		e.Kind, e.Of = store.KindTakeBack, key(i-1)
	default:
		e.Kind, e.Mg = store.KindPour, 1+random.Int64N(90_000)
		e.Ref = []string{"oat/groats", "millet/hulled", "", "rye/whole", "", "hemp/whole"}[i%6]
	}
	return e
}

// scriptedPlan is a plan that fits whatever has been poured before it.
func scriptedPlan(random *rand.Rand) string {
	p := making.Plan{Version: making.Version, Why: strings.Repeat("too much hemp ", random.IntN(100))}
	for _, ref := range []string{"oat/groats", "rye/whole", "millet/hulled", "hemp/whole"} {
		m := nutrient.Mass(10_000_000 + 1000*random.Int64N(1000))
		p.Lines = append(p.Lines, making.Line{Ref: ref, Mass: m})
		p.Batch += m
	}
	text, err := p.JSON()
	if err != nil {
		panic(err) // the script is wrong
	}
	return string(text)
}

// scriptedStart is as long as a keeper's.
func scriptedStart() string {
	s := making.Start{Version: making.Version, Document: strings.Repeat(document, 5), Batch: 900_000, Bowls: 1, Scale: making.Scale{Step: 1000},
		Lines: []making.Line{{Ref: "oat/groats", Mass: 500_000}, {Ref: "millet/hulled", Mass: 300_000}, {Ref: "rye/whole", Mass: 100_000}}}
	text, err := s.JSON()
	if err != nil {
		panic(err) // the script is wrong
	}
	return string(text)
}

// stateWord says in a word what state a making is in, as its screen shows it,
// after its first events.
func stateWord(m store.Making, events int) (string, error) {
	start, err := making.DecodeStart([]byte(m.Start))
	if err != nil {
		return "", err
	}
	var log []making.Event
	own := map[string]bool{} // keys of empty jars, which are not taken back there
	for _, e := range m.Events[:events] {
		if own[e.Key] = e.Kind == store.KindEmpty; own[e.Key] || own[e.Of] {
			continue
		}
		x := making.Event{Key: e.Key, Kind: making.Kind(e.Kind), Ref: e.Ref, Mass: nutrient.Mass(e.Mg), Bowl: e.Bowl, Round: e.Round,
			Lot: string(e.Lot), Of: e.Of, Note: e.Note, By: e.By}
		if e.Plan != "" {
			if x.Plan, err = making.DecodePlan([]byte(e.Plan)); err != nil {
				return "", err
			}
		}
		log = append(log, x)
	}
	state, err := making.Of(start, log)
	if err != nil {
		return "", err
	}
	text, err := json.Marshal(state)
	return fmt.Sprintf("%.8x", sha256.Sum256(text)), err
}

// childAtTheScale is the program. at is a making's number and, for each device,
// the number of the event that it goes on with.
func childAtTheScale(dir, at string) {
	if err := atTheScale(context.Background(), dir, at); err != nil {
		fmt.Println("cannot go on:", err)
		os.Exit(1)
	}
}

func atTheScale(ctx context.Context, dir, at string) error {
	seed, err := strconv.ParseUint(os.Getenv(childSeed), 10, 64)
	if err != nil {
		return err
	}
	w := weigher{seed: seed, random: rand.New(rand.NewPCG(rand.Uint64(), 0))}
	if _, err := fmt.Sscan(at, &w.making, &w.next[0], &w.next[1]); err != nil {
		return err
	}
	if w.s, err = Open(ctx, dir, Options{}); err != nil {
		return err
	}
	fmt.Println("open")
	if err := w.prepare(ctx); err != nil {
		return err
	}
	for {
		if err := w.make(ctx); err != nil {
			return err
		}
		w.making, w.next = w.making+1, [killDevices]int{}
	}
}

type weigher struct {
	s       *Store
	seed    uint64
	random  *rand.Rand
	making  int
	next    [killDevices]int
	shelf   store.ID
	devices [killDevices]store.ID
}

// prepare makes a shelf and devices, as far as they are not there.
func (w *weigher) prepare(ctx context.Context) error {
	shelves, err := w.s.Shelves(ctx)
	if err != nil {
		return err
	}
	for _, sh := range shelves {
		if sh.Name == killShelf {
			w.shelf = sh.ID
		}
	}
	if w.shelf == "" {
		oats, rye := killCount, killCount/10
		sh, err := w.s.SaveShelf(ctx, store.Shelf{Name: killShelf, Items: []store.Item{{Ref: "oat/groats", OnHand: &oats},
			{Ref: "rye/whole", OnHand: &rye}, {Ref: "millet/hulled"}}})
		if err != nil {
			return err
		}
		w.shelf = sh.ID
	}
	known, err := w.s.Devices(ctx)
	if err != nil {
		return err
	}
	for d := range w.devices {
		for _, x := range known {
			if x.Name == fmt.Sprint("Device ", d) {
				w.devices[d] = x.ID
			}
		}
		if w.devices[d] == "" {
			x, err := w.s.PairDevice(ctx, store.Device{Name: fmt.Sprint("Device ", d), TokenHash: []byte(fmt.Sprintf("%032d", d))})
			if err != nil {
				return err
			}
			w.devices[d] = x.ID
		}
	}
	return nil
}

// make does one making, from where it stands to its end.
func (w *weigher) make(ctx context.Context) error {
	m, err := w.s.StartMaking(ctx, store.Making{Key: fmt.Sprint("making ", w.making), MixName: "Winter", Shelf: w.shelf, Start: scriptedStart()})
	if err != nil {
		return err
	}
	var both sync.WaitGroup
	var errs [killDevices]error
	for d := range killDevices {
		own := rand.New(rand.NewPCG(w.random.Uint64(), 0))
		both.Go(func() { errs[d] = w.send(ctx, m.ID, d, own) })
	}
	both.Wait()
	if err := errors.Join(errs[:]...); err != nil {
		return err
	}
	fmt.Println("will end", w.making)
	if m, err = w.s.Making(ctx, m.ID); err != nil {
		return err
	}
	if m.State == store.StateOpen {
		m.Lot, m.Finish = fmt.Sprint("lot ", w.making), "{}"
		if _, err = w.s.FinishMaking(ctx, m); err != nil {
			return err
		}
	}
	fmt.Println("did end", w.making)
	return nil
}

// send is what a device does: it sends its events in their order, and now and
// then one that it has sent before.
func (w *weigher) send(ctx context.Context, id store.ID, device int, random *rand.Rand) error {
	for i := w.next[device]; i < killEvents; i++ {
		if random.IntN(4) == 0 {
			again := scripted(w.seed, w.making, device, random.IntN(i+1), w.devices[device])
			if w.next[device] > 0 && again.Key != scripted(w.seed, w.making, device, i, "").Key {
				if _, err := w.s.AppendEvent(ctx, id, again); err != nil {
					return err
				}
			}
		}
		e := scripted(w.seed, w.making, device, i, w.devices[device])
		fmt.Println("will", device, i)
		m, err := w.s.AppendEventIf(ctx, id, e, func(with store.Making) error {
			_, err := stateWord(with, len(with.Events))
			return err
		})
		if err != nil {
			return err
		}
		for at, kept := range m.Events {
			if kept.Key == e.Key {
				state, err := stateWord(m, at+1)
				if err != nil {
					return err
				}
				fmt.Println("did", device, i, kept.Seq, state)
			}
		}
	}
	return nil
}
