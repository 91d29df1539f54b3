package cardpage

import (
	"os"
	"strings"
	"testing"

	"firlot/card"
	"firlot/internal/cardpage/pack"
)

// A card is found in its page by one marker, packed or not, or alone; whatever
// else there is stays unread.
func TestRead(t *testing.T) {
	b, err := os.ReadFile("../../card/testdata/v1.json")
	if err != nil {
		t.Fatal(err)
	}
	text := strings.TrimSpace(string(b))
	packed := packedOpens + pack.Pack([]byte(text)) + cardCloses
	plain := cardOpens + text + cardCloses
	for name, file := range map[string]string{"alone": text, "with a mark before it": "\ufeff " + text, "plain": "<!doctype html><script>evil()</script>" + plain, "packed": "<p>" + packed + "</p>"} {
		if c, err := Read([]byte(file)); err != nil || c.Title == "" {
			t.Errorf("%s: %v", name, err)
		}
	}
	bomb := card.MaxBytes + 1
	if testing.Short() { // packing that much takes the race detector a minute
		bomb = 0
	}
	for name, file := range map[string]string{
		"nothing": "", "no card": "<!doctype html><p>oats", "two": packed + packed, "two kinds": packed + plain, "no end": strings.TrimSuffix(packed, cardCloses),
		"another marker": strings.Replace(packed, "text/plain", "text/javascript", 1), "empty": packedOpens + cardCloses,
		"a bomb":     packedOpens + pack.Pack(make([]byte, bomb)) + cardCloses,
		"not packed": packedOpens + "!!!!!!!!!!!!!!!!!!!!!!!!!!" + cardCloses, "too large": strings.Repeat("x", MaxFile+1),
	} {
		if _, err := Read([]byte(file)); err == nil {
			t.Errorf("%s was read", name)
		}
	}
}

// FuzzRead: whatever file comes, reading it ends.
func FuzzRead(f *testing.F) {
	f.Add([]byte(packedOpens + pack.Pack([]byte(`{"format":"firlot-card","version":1}`)) + cardCloses))
	f.Add([]byte(cardOpens + `{"format":"firlot-card","version":9}` + cardCloses))
	f.Fuzz(func(t *testing.T, text []byte) {
		if c, err := Read(text); err == nil && len(c.Mixes) == 0 {
			t.Fatal("a card without a mix was read")
		}
	})
}
