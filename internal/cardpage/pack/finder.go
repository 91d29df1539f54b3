package pack

// match is a repetition from a distance, less one.
type match struct{ length, distance int }

// finder finds for each position the nearest repetition of every length: a
// tree of all positions before, sorted by what follows them, for each hash of
// the next four bytes, and the last positions of the next two and three.
type finder struct {
	b                []byte
	two, three, four []int32 // last position + 1
	smaller, larger  []int32 // in the trees
	found            []match
}

const (
	hashBits  = 20
	mostDepth = 220
)

func newFinder(b []byte) *finder {
	return &finder{b: b, two: make([]int32, 1<<16), three: make([]int32, 1<<18), four: make([]int32, 1<<hashBits),
		smaller: make([]int32, len(b)), larger: make([]int32, len(b))}
}

func (f *finder) pass(pos int) { f.look(pos, 32) }

// at lists the repetitions at a position by growing length.
func (f *finder) at(pos int) []match {
	f.look(pos, mostDepth)
	return f.found
}

func (f *finder) look(pos, depth int) {
	f.found = f.found[:0]
	left := min(mostMatch, len(f.b)-pos)
	if left < 4 {
		return
	}
	b := f.b[pos:]
	h2 := uint32(b[0]) | uint32(b[1])<<8
	h3 := (h2 | uint32(b[2])<<16) * 0x9e3779b1 >> (32 - 18)
	h4 := (h2 | uint32(b[2])<<16 | uint32(b[3])<<24) * 0x9e3779b1 >> (32 - hashBits)
	best := 1
	for _, head := range []*int32{&f.two[h2], &f.three[h3]} {
		if at := int(*head) - 1; at >= 0 {
			if n := f.same(at, pos, left, 0); n > best {
				best = n
				f.found = append(f.found, match{n, pos - at - 1})
			}
		}
		*head = int32(pos + 1)
	}
	f.tree(pos, left, depth, &f.four[h4], max(best, 3))
}

func (f *finder) same(at, pos, left, from int) int {
	for from < left && f.b[at+from] == f.b[pos+from] {
		from++
	}
	return from
}

// tree finds the longer matches and makes the position the root.
func (f *finder) tree(pos, left, depth int, root *int32, best int) {
	at := int(*root) - 1
	*root = int32(pos + 1)
	smaller, larger := &f.smaller[pos], &f.larger[pos]
	sameSmaller, sameLarger := 0, 0
	for ; at >= 0 && depth > 0; depth-- {
		n := f.same(at, pos, left, min(sameSmaller, sameLarger))
		if n > best {
			best = n
			f.found = append(f.found, match{n, pos - at - 1})
		}
		if n == left {
			*smaller, *larger = f.smaller[at], f.larger[at]
			return
		}
		if f.b[at+n] < f.b[pos+n] {
			*smaller = int32(at + 1)
			smaller, sameSmaller = &f.larger[at], n
			at = int(*smaller) - 1
		} else {
			*larger = int32(at + 1)
			larger, sameLarger = &f.smaller[at], n
			at = int(*larger) - 1
		}
	}
	*smaller, *larger = 0, 0
}
