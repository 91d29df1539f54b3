package making

import "testing"

// The textbook example of Luhn's check digit, recalled: 7992739871 is followed
// by 3.
func TestLuhn(t *testing.T) {
	if got := luhn("7992739871"); got != 3 {
		t.Errorf("got %d, published 3", got)
	}
}
