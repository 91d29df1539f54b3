package making

import (
	"fmt"
	"strings"
)

// MaxOfDay is how many batches of one day have a code.
const MaxOfDay = 99

// BatchCode is the lot code of a batch: the day that it was finished, its
// number on that day from 1, and a check digit, for example "261125-01-0" for
// the first of 25 November 2026. It is short enough to be written on a jar,
// and a digit that is read wrongly, or two neighbours that are swapped, are
// noticed when it is typed in again. The check digit is Luhn's (ISO/IEC
// 7812-1, annex B).
func BatchCode(made string, number int) (string, error) {
	if _, err := day("made", made); err != nil {
		return "", err
	}
	if number < 1 || number > MaxOfDay {
		return "", fault("number", "is %d; a day has codes for %d batches", number, MaxOfDay)
	}
	digits := made[2:4] + made[5:7] + made[8:10] + fmt.Sprintf("%02d", number)
	return fmt.Sprintf("%s-%s-%d", digits[:6], digits[6:], luhn(digits)), nil
}

// ReadBatchCode reads a code that was typed in, hyphens and spaces or not. It
// reports false when it cannot be one, or was mistyped. The code comes back
// as [BatchCode] writes it.
func ReadBatchCode(typed string) (string, bool) {
	s := strings.NewReplacer("-", "", " ", "").Replace(typed)
	if len(s) != 9 {
		return "", false
	}
	for _, r := range s {
		if r < '0' || r > '9' {
			return "", false
		}
	}
	if luhn(s[:8]) != int(s[8]-'0') || s[6:8] == "00" {
		return "", false
	}
	if _, err := day("", "20"+s[:2]+"-"+s[2:4]+"-"+s[4:6]); err != nil {
		return "", false
	}
	return s[:6] + "-" + s[6:8] + "-" + s[8:], true
}

// luhn is the check digit of a row of digits: from the right every other digit
// is doubled, its digits are added up, and the check digit brings the sum to
// a multiple of ten.
func luhn(digits string) int {
	sum := 0
	for i := range len(digits) {
		d := int(digits[len(digits)-1-i] - '0')
		if i%2 == 0 {
			if d *= 2; d > 9 {
				d -= 9
			}
		}
		sum += d
	}
	return (10 - sum%10) % 10
}
