package backup

import (
	"bytes"
	"compress/gzip"
	"crypto/sha256"
	"errors"
	"fmt"
	"io"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"firlot/internal/store"
)

var at = time.Date(2026, 3, 31, 8, 15, 0, 1000, time.UTC)

// things is one of everything, in order.
func things() []Record {
	grams, price := int64(1000), 0.1
	events := [...]store.Event{
		{Key: "1", Seq: 1, Kind: "pour", Ref: "oat/groats", Mg: 7, Bowl: 1, Round: 2, Lot: "l", Plan: "{}", Note: "n", Device: "d", By: "w", At: at, TookMg: 5, ShortMg: 2},
		{Key: "2", Seq: 2, Kind: "take-back", Of: "1", At: at, TookMg: -5},
	}
	return []Record{
		{Setting: &Setting{"language", "en"}},
		{Group: &store.Group{ID: "g", Name: "Pair", Species: "s", Stage: "adult", Born: "2026-01-01", Animals: 2, Note: "n", Windows: "w", Feeding: "f", Archived: true, Changed: at}},
		{Shelf: &store.Shelf{ID: "s", Name: "Kitchen", Place: "p", Note: "n", Own: "o", Changed: at, Items: []store.Item{
			{Ref: "oat/groats", CanHave: true, OnHand: &grams, Price: &price, PackMg: &grams, PackCost: &price, Note: "n"}}}},
		{Mix: &store.Mix{ID: "m", Name: "Winter", Group: "g", Shelf: "s", Document: "d <\u2028>", Version: 1, Archived: true, Made: at, Changed: at}},
		{Version: &store.Version{Mix: "m", Number: 1, Document: "e", Note: "n", At: at}},
		{Device: &store.Device{ID: "d", Name: "Phone", Revoked: true, Paired: at, Seen: at}},
		{Lot: &store.Lot{ID: "l", Ref: "oat/groats", Code: "c", From: "f", Bought: "2026-01-01", BestBefore: "2026-02-01", BoughtMg: &grams,
			Gone: true, Note: "n", Made: at, Changed: at}},
		{Making: &store.Making{ID: "k", Key: "q", Mix: "m", MixName: "Winter", MixVersion: 1, Shelf: "s", Start: "{}", State: "finished",
			Lot: "b", Who: "w", Note: "n", BestBefore: "2026-02-01", Finish: "{}", Started: at, Finished: at, Changed: at, Events: events[:]}},
		{Event: &Event{"k", events[0]}},
		{Event: &Event{"k", events[1]}},
		{Making: &store.Making{ID: "j", State: "open", Started: at, Changed: at}},
	}
}

// asRead is what reading gives back: makings come without their events, which
// follow.
func asRead() []Record {
	list := things()
	for i := range list {
		if list[i].Making != nil {
			list[i].Making.Events = nil
		}
	}
	return list
}

func write(t *testing.T, list []Record) []byte {
	t.Helper()
	var file bytes.Buffer
	w, err := NewWriter(&file, at)
	if err != nil {
		t.Fatal(err)
	}
	for _, r := range list {
		if err := w.Put(r); err != nil {
			t.Fatal(err)
		}
	}
	if err := w.Close(); err != nil {
		t.Fatal(err)
	}
	return file.Bytes()
}

func readAll(file []byte, most int64) ([]Record, error) {
	var list []Record
	err := read(bytes.NewReader(file), most, func(r Record) error {
		list = append(list, r)
		return nil
	})
	return list, err
}

func TestRoundTrip(t *testing.T) {
	got, err := readAll(write(t, things()), MostBytes)
	if err != nil {
		t.Fatal(err)
	}
	if d := cmp.Diff(asRead(), got); d != "" {
		t.Errorf("(- written, + read):\n%s", d)
	}
}

// The format is what doc.go says: a file written by hand from that page.
func TestFormat(t *testing.T) {
	zip, err := gzip.NewReader(bytes.NewReader(write(t, things())))
	if err != nil {
		t.Fatal(err)
	}
	text, err := io.ReadAll(zip)
	if err != nil {
		t.Fatal(err)
	}
	body := `{"firlot_backup":2,"made":"2026-03-31T08:15:00.000001Z"}
{"setting":{"name":"language","value":"en"}}
{"group":{"id":"g","name":"Pair","species":"s","stage":"adult","born":"2026-01-01","animals":2,"note":"n","windows":"w","feeding":"f","archived":true,"changed":"2026-03-31T08:15:00.000001Z"}}
{"shelf":{"id":"s","name":"Kitchen","place":"p","note":"n","items":[{"ref":"oat/groats","can_have":true,"on_hand_mg":1000,"price_per_kg":0.1,"pack_mg":1000,"pack_cost":0.1,"note":"n"}],"own":"o","changed":"2026-03-31T08:15:00.000001Z"}}
{"mix":{"id":"m","name":"Winter","group":"g","shelf":"s","document":"d <\u2028>","versions":1,"archived":true,"made":"2026-03-31T08:15:00.000001Z","changed":"2026-03-31T08:15:00.000001Z"}}
{"version":{"document":"e","note":"n","at":"2026-03-31T08:15:00.000001Z"}}
{"device":{"id":"d","name":"Phone","paired":"2026-03-31T08:15:00.000001Z","seen":"2026-03-31T08:15:00.000001Z"}}
{"lot":{"id":"l","ref":"oat/groats","code":"c","from":"f","bought":"2026-01-01","best_before":"2026-02-01","bought_mg":1000,"gone":true,"note":"n","made":"2026-03-31T08:15:00.000001Z","changed":"2026-03-31T08:15:00.000001Z"}}
{"making":{"id":"k","key":"q","mix":"m","mix_name":"Winter","mix_version":1,"shelf":"s","start":"{}","state":"finished","lot":"b","who":"w","note":"n","best_before":"2026-02-01","finish":"{}","started":"2026-03-31T08:15:00.000001Z","finished":"2026-03-31T08:15:00.000001Z","changed":"2026-03-31T08:15:00.000001Z","events":2}}
{"event":{"key":"1","kind":"pour","ref":"oat/groats","mg":7,"bowl":1,"round":2,"lot":"l","plan":"{}","note":"n","device":"d","by":"w","at":"2026-03-31T08:15:00.000001Z","took_mg":5,"short_mg":2}}
{"event":{"key":"2","kind":"take-back","of":"1","at":"2026-03-31T08:15:00.000001Z","took_mg":-5}}
{"making":{"id":"j","state":"open","started":"2026-03-31T08:15:00.000001Z","changed":"2026-03-31T08:15:00.000001Z"}}
`
	want := body + ended(body, 12)
	if d := cmp.Diff(want, string(text)); d != "" {
		t.Errorf("(- by hand, + written):\n%s", d)
	}
}

func ended(body string, lines int) string {
	return fmt.Sprintf(`{"end":{"lines":%d,"sha256":"%x"}}`, lines, sha256.Sum256([]byte(body))) + "\n"
}

const head = `{"firlot_backup":1,"made":"2026-03-31T08:15:00Z"}` + "\n"

func pack(text string) []byte {
	var out bytes.Buffer
	w := gzip.NewWriter(&out)
	_, err := io.WriteString(w, text)
	if err := errors.Join(err, w.Close()); err != nil {
		panic(err) // memory does not fail
	}
	return out.Bytes()
}

// whole makes a file of lines with a right end.
func whole(lines ...string) []byte {
	body := head
	for _, l := range lines {
		body += l + "\n"
	}
	return pack(body + ended(body, len(lines)+1))
}

func TestRefused(t *testing.T) {
	const when = `"2026-03-31T08:15:00Z"`
	const g = `{"group":{"id":"g","name":"a","changed":` + when + `}}`
	const m = `{"mix":{"id":"m","name":"a","document":"","made":` + when + `,"changed":` + when + `}}`
	const m1 = `{"mix":{"id":"m","name":"a","document":"","versions":1,"made":` + when + `,"changed":` + when + `}}`
	const v = `{"version":{"document":"","at":` + when + `}}`
	for _, good := range [][]byte{whole(), whole(g, m), whole(m1, v)} {
		if _, err := readAll(good, MostBytes); err != nil {
			t.Fatalf("a good file: %v", err)
		}
	}
	for name, c := range map[string]struct {
		file []byte
		want error
	}{
		"no format":          {pack(`{"made":` + when + "}\n"), store.ErrForeign},
		"format 0":           {pack(`{"firlot_backup":0}` + "\n"), store.ErrForeign},
		"no end":             {pack(head + g + "\n"), store.ErrDamaged},
		"a wrong count":      {pack(head + ended(head, 2)), store.ErrDamaged},
		"a wrong sum":        {pack(head + ended(head+" ", 1)), store.ErrDamaged},
		"more after the end": {pack(head + ended(head, 1) + "\n"), store.ErrDamaged},
		"two streams":        {append(whole(), whole()...), store.ErrDamaged},
		"no line feed":       {pack(head + strings.TrimSuffix(ended(head, 1), "\n")), store.ErrDamaged},
		"no JSON":            {whole("dear keeper"), store.ErrDamaged},
		"two on a line":      {whole(g + " " + m), store.ErrDamaged},
		"two in one":         {whole(`{"setting":{"name":"a","value":""},"end":{}}`), store.ErrDamaged},
		"nothing in one":     {whole(`{}`), store.ErrDamaged},
		"null":               {whole(`null`), store.ErrDamaged},
		"an unknown kind":    {whole(`{"bowl":{}}`), store.ErrDamaged},
		"format 3":           {pack(`{"firlot_backup":3}` + "\n"), store.ErrTooNew},
		"an unknown field":   {whole(`{"setting":{"name":"a","value":"","more":1}}`), store.ErrDamaged},
		"twice the same ID":  {whole(g, g), store.ErrInvalid},
		"twice a setting":    {whole(`{"setting":{"name":"a","value":"1"}}`, `{"setting":{"name":"a","value":"2"}}`), store.ErrInvalid},
		"out of order":       {whole(m, g), store.ErrInvalid},
		"no such group":      {whole(strings.Replace(m, `"document"`, `"group":"g","document"`, 1)), store.ErrInvalid},
		"no such shelf":      {whole(strings.Replace(m, `"document"`, `"shelf":"g","document"`, 1)), store.ErrInvalid},
		"a missing version":  {whole(m1), store.ErrInvalid},
		"and then a mix":     {whole(m1, strings.Replace(m, `"m"`, `"n"`, 1)), store.ErrInvalid},
		"a version too many": {whole(m, v), store.ErrInvalid},
		"whose version":      {whole(v), store.ErrInvalid},
		"fewer than none":    {whole(strings.Replace(m1, `:1`, `:-1`, 1)), store.ErrInvalid},
		"no ID":              {whole(strings.Replace(g, `"g"`, `""`, 1)), store.ErrInvalid},
		"an ID of a path":    {whole(strings.Replace(g, `"g"`, `"../g"`, 1)), store.ErrInvalid},
		"no name":            {whole(strings.Replace(g, `"a"`, `""`, 1)), store.ErrInvalid},
		"the year 10000":     {whole(strings.Replace(g, when, `"9999-12-31T23:00:00-02:00"`, 1)), store.ErrInvalid},
		"nanoseconds":        {whole(strings.Replace(g, when, `"2026-03-31T08:15:00.000000001Z"`, 1)), store.ErrInvalid},
	} {
		if _, err := readAll(c.file, MostBytes); !errors.Is(err, c.want) {
			t.Errorf("%s: error %v, want %v", name, err, c.want)
		}
	}
}

// What format 2 has besides, refused for every reason that there is.
func TestRefusedMakings(t *testing.T) {
	const when = `"2026-03-31T08:15:00Z"`
	const d = `{"device":{"id":"d","name":"Phone","paired":` + when + `,"seen":` + when + `}}`
	const l = `{"lot":{"id":"l","ref":"oat/groats","made":` + when + `,"changed":` + when + `}}`
	const k = `{"making":{"id":"k","key":"q","state":"open","lot":"B 1","started":` + when + `,"changed":` + when + `,"events":2}}`
	const p = `{"event":{"key":"1","kind":"pour","ref":"oat/groats","mg":7,"lot":"l","device":"d","at":` + when + `,"took_mg":5,"short_mg":2}}`
	const b = `{"event":{"key":"2","kind":"take-back","of":"1","at":` + when + `,"took_mg":-5}}`
	sub := func(text, old, new string) string {
		t.Helper()
		if !strings.Contains(text, old) {
			t.Fatalf("no %s in %s", old, text)
		}
		return strings.Replace(text, old, new, 1)
	}
	other := sub(sub(sub(sub(k, `"k"`, `"j"`), `,"events":2`, ""), `"key":"q",`, ""), `"lot":"B 1",`, "")
	finished := sub(other, `"open"`, `"finished","finished":`+when)
	for _, good := range [][]byte{whole2(d, l, k, p, b), whole2(d, l, k, p, b, other), whole2(finished)} {
		if _, err := readAll(good, MostBytes); err != nil {
			t.Fatalf("a good file: %v", err)
		}
	}
	for name, lines := range map[string][]string{
		"lots before devices":      {l, d},
		"a making before lots":     {other, l},
		"twice a device":           {d, d},
		"twice a lot":              {l, l},
		"twice a making":           {other, other},
		"two of a key":             {d, l, k, p, b, sub(other, `"state"`, `"key":"q","state"`)},
		"two of a batch's lot":     {d, l, k, p, b, sub(other, `"state"`, `"lot":"b/1","state"`)},
		"no name":                  {sub(d, `"Phone"`, `""`)},
		"no ingredient":            {sub(l, `"oat/groats"`, `""`)},
		"an odd state":             {sub(other, `"open"`, `"half"`)},
		"no end":                   {sub(other, `"open"`, `"left"`)},
		"an end too many":          {sub(finished, `"finished","`, `"open","`)},
		"an end in the year 10000": {sub(finished, `"finished":`+when, `"finished":"9999-12-31T23:00:00-02:00"`)},
		"no such mix":              {sub(other, `"state"`, `"mix":"m","state"`)},
		"no such shelf":            {sub(other, `"state"`, `"shelf":"s","state"`)},
		"fewer than no events":     {sub(k, `:2`, `:-2`)},
		"too many events":          {sub(k, `:2`, `:5001`)},
		"an event is missing":      {d, l, k, p},
		"and then a making":        {d, l, k, p, other},
		"one event more":           {d, l, k, p, b, sub(b, `"2"`, `"3"`)},
		"whose event":              {d, l, p},
		"a key twice":              {d, l, k, p, p},
		"no such lot":              {d, k, p, b},
		"no such device":           {l, k, p, b},
		"nothing to take back":     {d, l, k, sub(b, `"2"`, `"3"`), p},
		"taken back twice":         {d, l, sub(k, `:2`, `:3`), p, b, sub(b, `"2"`, `"3"`)},
		"a take-back taken back":   {d, l, sub(k, `:2`, `:3`), p, b, sub(sub(b, `"1"`, `"2"`), `"key":"2"`, `"key":"3"`)},
		"less than nothing":        {d, l, k, sub(p, `:7`, `:-7`), b},
		"short of less":            {d, l, k, sub(p, `:2}`, `:-2}`), b},
		"took more than there is":  {d, l, k, sub(p, `:5`, `:1000000000001`), b},
	} {
		if _, err := readAll(whole2(lines...), MostBytes); !errors.Is(err, store.ErrInvalid) {
			t.Errorf("%s: error %v, want ErrInvalid", name, err)
		}
	}
	// A file that says it is of format 1 has none of it.
	for _, line := range []string{d, l, other, `{"group":{"id":"g","name":"a","feeding":"x","changed":` + when + `}}`} {
		if _, err := readAll(whole2(line), MostBytes); err != nil {
			t.Errorf("%s: %v", line, err)
		}
		if _, err := readAll(whole(line), MostBytes); !errors.Is(err, store.ErrDamaged) {
			t.Errorf("in format 1, %s: error %v, want ErrDamaged", line, err)
		}
	}
}

// whole2 makes a file of format 2.
func whole2(lines ...string) []byte {
	body := strings.Replace(head, ":1,", ":2,", 1)
	for _, l := range lines {
		body += l + "\n"
	}
	return pack(body + ended(body, len(lines)+1))
}

// Every way of cutting a file short is found, and every flipped bit that
// matters. A few do not: gzip's header holds the system of origin, and its last
// byte of data may have bits to spare. A change there may pass, if what is read
// is the same.
func TestDamage(t *testing.T) {
	good := write(t, things())
	for n := range good {
		if _, err := readAll(good[:n], MostBytes); err == nil {
			t.Errorf("cut to %d of %d bytes, and read", n, len(good))
		}
	}
	for at := range good {
		for bit := range 8 {
			bad := bytes.Clone(good)
			bad[at] ^= 1 << bit
			got, err := readAll(bad, MostBytes)
			if err == nil && !cmp.Equal(got, asRead()) {
				t.Errorf("bit %d of byte %d flipped, and other things read", bit, at)
			}
		}
	}
}

// What a backup writer lets through can be read again, and not a byte more
// than that; so nobody holds a backup that cannot be restored.
func TestBounds(t *testing.T) {
	file := write(t, things())
	zip, err := gzip.NewReader(bytes.NewReader(file))
	if err != nil {
		t.Fatal(err)
	}
	size, err := io.Copy(io.Discard, zip)
	if err != nil {
		t.Fatal(err)
	}
	if _, err := readAll(file, size); err != nil {
		t.Errorf("at the bound: %v", err)
	}
	if _, err := readAll(file, size-1); !errors.Is(err, store.ErrTooLarge) {
		t.Errorf("a byte over, unpacked: error %v", err)
	}
	if _, err := readAll(file, int64(len(file))-1); !errors.Is(err, store.ErrTooLarge) {
		t.Errorf("a byte over, packed: error %v", err)
	}
	for _, c := range []struct {
		most int64
		want error
	}{{size, nil}, {size - 1, store.ErrTooLarge}} {
		w, err := NewWriter(io.Discard, at)
		if err != nil {
			t.Fatal(err)
		}
		w.most = c.most
		for _, r := range things() {
			err = errors.Join(err, w.Put(r))
		}
		if err = errors.Join(err, w.Close()); !errors.Is(err, c.want) || c.want == nil && err != nil {
			t.Errorf("writing with a bound of %d: error %v, want %v", c.most, err, c.want)
		}
	}
}

// The largest shelf that may be kept fits on a line.
func TestLargestLine(t *testing.T) {
	worst := func(n int) string { return strings.Repeat("\x01", n) } // six bytes each in JSON
	sh := store.Shelf{ID: "s", Name: "s" + worst(store.MostName-1), Place: worst(store.MostName), Note: worst(store.MostNote), Own: worst(store.MostDocument), Changed: at}
	for i := range store.MostItems {
		mg, price := int64(store.MostMg), 1.0/3
		sh.Items = append(sh.Items, store.Item{Ref: fmt.Sprintf("%04d%s", i, worst(store.MostRef-4)), CanHave: true,
			OnHand: &mg, Price: &price, PackMg: &mg, PackCost: &price, Note: worst(store.MostItemNote)})
	}
	if err := sh.Check(); err != nil {
		t.Fatal(err)
	}
	if got, err := readAll(write(t, []Record{{Shelf: &sh}}), MostBytes); err != nil || len(got) != 1 {
		t.Errorf("%d things, %v", len(got), err)
	}
}
