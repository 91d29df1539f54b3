package pack

// What is squeezed becomes a row of choices, each a yes or no with a chance
// learnt from those before: either a byte follows (a literal), or a piece of
// what came before is repeated, from a new distance or from one of the last
// four. The scheme is that of LZMA (Igor Pavlov, in the public domain), with
// chances that learn at two speeds, and a literal's know the whole byte before it.

const (
	leastMatch = 2
	mostMatch  = 273
	states     = 12
	lenStates  = 4
	slots      = 64
	aligned    = 4 // low bits of a far distance
	modes      = 4 // places within a word, in the part that holds data
)

// chance is how likely a no is, twice: learnt fast and learnt slowly.
type chance struct{ fast, slow uint16 }

const (
	fastRate = 4
	slowRate = 7
	bitsOf   = 12 // of a chance, when coding
	even     = 1 << 15
)

// p is the chance of a no in 4096ths, never none nor all.
func (c *chance) p() uint32 { return max(1, (uint32(c.fast)+uint32(c.slow))>>5) }

func (c *chance) learn(yes bool) {
	if yes {
		c.fast -= c.fast >> fastRate
		c.slow -= c.slow >> slowRate
		return
	}
	c.fast += (1<<16 - 1 - c.fast) >> fastRate
	c.slow += (1<<16 - 1 - c.slow) >> slowRate
}

// lengths are the chances of a length.
type lengths struct {
	over8, over16 chance
	low, mid      [modes][8]chance
	high          [256]chance
}

// model is all that has been learnt.
type model struct {
	match      [states][modes]chance
	rep        [states]chance
	rep0, rep1 [states]chance
	rep2       [states]chance
	rep0Long   [states][modes]chance
	byOne      []chance // literals, by the byte before (and its place)
	against    []chance // literals right after a match, by what it goes on with
	slot       [lenStates][slots]chance
	special    [128]chance
	align      [1 << aligned]chance
	matchLen   lengths
	repLen     lengths
	state      int
	reps       [4]int
	split      int // where data begins, in which places within a word count
}

func newModel(split int) *model {
	m := &model{split: split, byOne: make([]chance, modes*1<<16), against: make([]chance, modes*512*8)}
	each(m, func(c *chance) { *c = chance{even, even} })
	return m
}

// each visits every chance.
func each(m *model, visit func(*chance)) {
	all := func(list []chance) {
		for i := range list {
			visit(&list[i])
		}
	}
	for s := range states {
		all(m.match[s][:])
		all(m.rep0Long[s][:])
	}
	for _, l := range [][]chance{m.rep[:], m.rep0[:], m.rep1[:], m.rep2[:], m.byOne, m.against, m.special[:], m.align[:]} {
		all(l)
	}
	for i := range m.slot {
		all(m.slot[i][:])
	}
	for _, l := range []*lengths{&m.matchLen, &m.repLen} {
		visit(&l.over8)
		visit(&l.over16)
		for k := range modes {
			all(l.low[k][:])
			all(l.mid[k][:])
		}
		all(l.high[:])
	}
}

// place is where a position lies within a word, in data; in code nowhere.
func (m *model) place(pos int) int {
	if pos < m.split {
		return 0
	}
	return pos & (modes - 1)
}

// The state says what the last choices were.
func afterLiteral(s int) int {
	switch {
	case s < 4:
		return 0
	case s < 10:
		return s - 3
	}
	return s - 6
}

func afterMatch(s int) int { return pickState(s, 7, 10) }
func afterRep(s int) int   { return pickState(s, 8, 11) }
func afterShort(s int) int { return pickState(s, 9, 11) }

func pickState(s, literal, other int) int {
	if s < 7 {
		return literal
	}
	return other
}

// slotOf is the slot of a distance: its two highest bits and their place.
func slotOf(d int) int {
	if d < 4 {
		return d
	}
	n := 0
	for v := d; v > 1; v >>= 1 {
		n++
	}
	return 2*n + d>>(n-1)&1
}

func lenState(length int) int { return min(length-leastMatch, lenStates-1) }
