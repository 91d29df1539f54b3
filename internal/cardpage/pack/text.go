package pack

// The letters of packed text: all that can be printed in ASCII but & and <,
// which HTML may take for more, and the backslash. 91² is just more than 2¹³,
// so two of them carry 13 bits.
var letters, worth = func() (list []byte, of [256]int16) {
	for i := range of {
		of[i] = -1
	}
	for c := byte(33); c < 127; c++ {
		if c != '&' && c != '<' && c != '\\' {
			of[c] = int16(len(list))
			list = append(list, c)
		}
	}
	return list, of
}()

const pairBits = 13

// encodeText writes bytes as letters.
func encodeText(b []byte) string {
	out := make([]byte, 0, len(b)*16/pairBits+4)
	held, bits := uint32(0), 0
	pair := func() {
		v := int(held & (1<<pairBits - 1))
		out = append(out, letters[v%len(letters)], letters[v/len(letters)])
		held >>= pairBits
		bits -= pairBits
	}
	for _, c := range b {
		held |= uint32(c) << bits
		for bits += 8; bits >= pairBits; {
			pair()
		}
	}
	if bits > 0 {
		pair()
	}
	return string(out)
}

// decodeText reads letters. There may be a byte of zeros more than was
// written.
func decodeText(s string) ([]byte, error) {
	if len(s)%2 != 0 {
		return nil, errPacked
	}
	out := make([]byte, 0, len(s)*pairBits/16)
	held, bits := uint32(0), 0
	for i := 0; i < len(s); i += 2 {
		lo, hi := worth[s[i]], worth[s[i+1]]
		v := int(hi)*len(letters) + int(lo)
		if lo < 0 || hi < 0 || v >= 1<<pairBits {
			return nil, errPacked
		}
		held |= uint32(v) << bits
		for bits += pairBits; bits >= 8; bits -= 8 {
			out = append(out, byte(held))
			held >>= 8
		}
	}
	return out, nil
}
