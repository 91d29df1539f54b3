package sqlite

import (
	"bufio"
	"context"
	"crypto/sha256"
	"errors"
	"fmt"
	"io"
	"math/rand/v2"
	"os"
	"os/exec"
	"strconv"
	"strings"
	"testing"
	"time"

	"firlot/internal/store"
)

// The program that is killed says on its standard output what it will do, and
// when it has been told that it is kept, that it is:
//
//	open
//	will KEY VALUE
//	did KEY VALUE
//
// A key is "setting" and a name, or "mix" and an ID or "new".
const (
	childDir  = "FIRLOT_KILL_DIR"
	childSeed = "FIRLOT_KILL_SEED"
)

// TestKill: promises 1 and 2. A program that writes is killed at random
// moments, fifty times (ten with -short, more with FIRLOT_KILLS). After each,
// what it had acknowledged is there, and of the one change that it was at, all
// or nothing. Killing is no power cut: of that SQLite's
// settings take care, see TestSettings.
func TestKill(t *testing.T) {
	kills := 50
	if testing.Short() {
		kills = 10
	}
	if n, err := strconv.Atoi(os.Getenv("FIRLOT_KILLS")); err == nil {
		kills = max(kills, n)
	}
	seed := uint64(time.Now().UnixNano())
	if n, err := strconv.ParseUint(os.Getenv(childSeed), 10, 64); err == nil {
		seed = n
	}
	t.Logf("%d kills, %s=%d", kills, childSeed, seed)
	random := rand.New(rand.NewPCG(seed, 0))
	dir := t.TempDir()
	acked, acks := map[string]string{}, 0
	for kill := range kills {
		p := startChild(t, dir, random.Uint64())
		lines, pending := p.live(t, random)
		for key, value := range lines {
			acked[key] = value
			acks++
		}
		s := open(t, dir, Options{})
		whole(t, s)
		compareKept(t, s, acked, pending)
		if err := s.Close(); err != nil || t.Failed() {
			t.Fatalf("kill %d: %v", kill, err)
		}
	}
	if acks < kills && !testing.Short() { // about three a kill; a few kills may be unlucky
		t.Errorf("only %d changes were acknowledged before %d kills: this tested too little", acks, kills)
	}
	t.Logf("%d changes held against what was acknowledged", acks)
}

type process struct {
	cmd *exec.Cmd
	out io.Reader
}

// startChild starts the program. env is more of its environment, NAME=VALUE.
func startChild(t *testing.T, dir string, seed uint64, env ...string) process {
	t.Helper()
	cmd := exec.Command(os.Args[0])
	cmd.Env = append(append(os.Environ(), childDir+"="+dir, fmt.Sprintf("%s=%d", childSeed, seed)), env...)
	cmd.Stderr = os.Stderr
	out, err := cmd.StdoutPipe()
	if err != nil {
		t.Fatal(err)
	}
	if err := cmd.Start(); err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { _ = cmd.Process.Kill() }) // in case the test stopped early
	return process{cmd, out}
}

// kill ends the program as the system would, and waits until it is gone.
func (p process) kill(t *testing.T) {
	t.Helper()
	if err := p.cmd.Process.Kill(); err != nil {
		t.Fatal(err)
	}
	var exit *exec.ExitError
	if err := p.cmd.Wait(); !errors.As(err, &exit) || exit.Exited() {
		t.Fatalf("it ended by itself: %v", err)
	}
}

// live lets the program do a few things, kills it, and returns what it had
// acknowledged and what it was at.
func (p process) live(t *testing.T, random *rand.Rand) (acked map[string]string, pending [2]string) {
	t.Helper()
	acked = map[string]string{}
	take := func(line string) {
		words := strings.SplitN(line, " ", 4)
		switch {
		case words[0] == "will" && len(words) == 4:
			pending = [2]string{words[1] + " " + words[2], words[3]}
		case words[0] == "did" && len(words) == 4:
			acked[words[1]+" "+words[2]] = words[3]
			pending = [2]string{}
		case line != "open":
			t.Errorf("the program said %q", line)
		}
	}
	p.hear(t, random.IntN(40)-5, time.Duration(random.IntN(4000))*time.Microsecond, take)
	return acked, pending
}

// hear takes in so many lines of what the program says, waits a little more,
// kills it, and takes in what it had said before it died. With no lines to wait
// for it may be killed before it has opened the database at all.
func (p process) hear(t *testing.T, until int, more time.Duration, take func(line string)) {
	t.Helper()
	lines := make(chan string)
	go func() {
		defer close(lines)
		for in := bufio.NewScanner(p.out); in.Scan(); {
			lines <- in.Text()
		}
	}()
	for range until {
		line, more := <-lines
		if !more {
			break
		}
		take(line)
	}
	time.Sleep(more)
	if err := p.cmd.Process.Kill(); err != nil {
		t.Fatal(err)
	}
	for line := range lines {
		take(line)
	}
	_ = p.cmd.Wait() // killed, as it should be
}

// compareKept holds what is kept against what was acknowledged.
func compareKept(t *testing.T, s *Store, acked map[string]string, pending [2]string) {
	t.Helper()
	for key, value := range acked {
		got := keptAs(t, s, key)
		if got == value {
			continue
		}
		if key != pending[0] || got != pending[1] {
			t.Errorf("%s is %s; acknowledged was %s, and %v was under way", key, got, value, pending)
		}
		acked[key] = got
	}
	// A change that came through without being acknowledged counts from now on.
	if _, known := acked[pending[0]]; !known && pending[0] != "" && !strings.HasSuffix(pending[0], " new") {
		if got := keptAs(t, s, pending[0]); got != gone {
			acked[pending[0]] = got
		}
	}
	mixes := 0
	for key, value := range acked {
		if strings.HasPrefix(key, "mix ") && value != gone {
			mixes++
		}
	}
	list, err := s.Mixes(t.Context(), store.Filter{Most: store.MostPage})
	if err != nil {
		t.Fatal(err)
	}
	if extra := len(list) - mixes; extra < 0 || extra > 0 && pending[0] != "mix new" || extra > 1 {
		t.Errorf("%d mixes, %d acknowledged, %v under way", len(list), mixes, pending)
	}
	for _, m := range list {
		acked["mix "+string(m.ID)] = keptAs(t, s, "mix "+string(m.ID))
	}
}

// gone stands for a thing that is not there, or a setting never set.
const gone = "gone"

// keptAs says in a word what is kept under a key.
func keptAs(t *testing.T, s *Store, key string) string {
	t.Helper()
	kind, id, _ := strings.Cut(key, " ")
	var state string
	var err error
	switch kind {
	case "setting":
		if state, err = s.Setting(t.Context(), id); state == "" {
			state = gone
		}
	case "mix":
		var m store.Mix
		m, err = s.Mix(t.Context(), store.ID(id))
		state = mixState(m)
	}
	if errors.Is(err, store.ErrNotFound) {
		return gone
	}
	if err != nil {
		t.Fatal(err)
	}
	return state
}

func mixState(m store.Mix) string {
	return fmt.Sprintf("%s/%d/%x", m.Name, m.Version, sha256.Sum256([]byte(m.Document)))
}

// child is the program that is killed.
func child(dir string) {
	seed, err := strconv.ParseUint(os.Getenv(childSeed), 10, 64)
	ctx := context.Background()
	s, err2 := Open(ctx, dir, Options{})
	if err := errors.Join(err, err2); err != nil {
		fmt.Println("cannot start:", err)
		os.Exit(1)
	}
	fmt.Println("open")
	c := writer{s: s, random: rand.New(rand.NewPCG(seed, 1))}
	for {
		if err := c.step(ctx); err != nil {
			fmt.Println("cannot go on:", err)
			os.Exit(1)
		}
	}
}

type writer struct {
	s      *Store
	random *rand.Rand
}

func (c *writer) step(ctx context.Context) error {
	list, err := c.s.Mixes(ctx, store.Filter{})
	if err != nil {
		return err
	}
	if what := c.random.IntN(10); len(list) == 0 || what == 0 && len(list) < 10 {
		return c.add(ctx)
	} else if what == 1 {
		return c.set(ctx)
	}
	m, err := c.s.Mix(ctx, list[c.random.IntN(len(list))].ID)
	if err != nil {
		return err
	}
	return c.change(ctx, m)
}

// text is a document, mostly of up to 30 kB, several pages of the database.
// Every third is up to 800 kB, so that writing takes long enough to be hit.
func (c *writer) text() string {
	lines := 1000
	if c.random.IntN(3) == 0 {
		lines = 28_000
	}
	return strings.Repeat(fmt.Sprintf("oats = %d\n", c.random.Uint64()), c.random.IntN(lines))
}

func (c *writer) add(ctx context.Context) error {
	m := store.Mix{Name: fmt.Sprint(c.random.Uint64()), Document: c.text()}
	fmt.Println("will mix new", mixState(m))
	kept, err := c.s.SaveMix(ctx, m)
	if err == nil {
		fmt.Println("did mix", kept.ID, mixState(kept))
	}
	return err
}

func (c *writer) set(ctx context.Context) error {
	name, value := fmt.Sprint("s", c.random.IntN(5)), fmt.Sprint(c.random.Uint64())
	fmt.Println("will setting", name, value)
	err := c.s.SetSetting(ctx, name, value)
	if err == nil {
		fmt.Println("did setting", name, value)
	}
	return err
}

func (c *writer) change(ctx context.Context, m store.Mix) error {
	after := m
	do := func() error { _, err := c.s.SaveMix(ctx, after); return err }
	switch c.random.IntN(6) {
	case 0:
		after.Version++
		do = func() error { _, err := c.s.KeepVersion(ctx, m.ID, m.Rev, "kept"); return err }
	case 1:
		fmt.Println("will mix", m.ID, gone)
		if err := c.s.DeleteMix(ctx, m.ID, m.Rev); err != nil {
			return err
		}
		fmt.Println("did mix", m.ID, gone)
		return nil
	default:
		after.Name, after.Document = fmt.Sprint(c.random.Uint64()), c.text()
	}
	fmt.Println("will mix", m.ID, mixState(after))
	if err := do(); err != nil {
		return err
	}
	fmt.Println("did mix", m.ID, mixState(after))
	return nil
}
