package pack

import (
	"encoding/binary"
	"math"
)

// squeeze makes bytes few. From split on they are data, in which the place
// within a word says something.
func squeeze(b []byte, split int) []byte {
	e := &squeezer{b: b, m: newModel(split), c: newCoder(), f: newFinder(b)}
	for e.pos < len(b) {
		for _, s := range e.plan() {
			e.write(s)
		}
	}
	head := binary.LittleEndian.AppendUint32(nil, uint32(len(b)))
	head = binary.LittleEndian.AppendUint32(head, uint32(split))
	return append(head, e.c.end()...)
}

type squeezer struct {
	b   []byte
	pos int
	m   *model
	c   *coder
	f   *finder
	way []node
}

// step is one choice: a literal (length 1, rep -1), a repetition of one of
// the last distances (rep 0 to 3) or of a new one (rep 4).
type step struct{ length, rep, distance int }

// node is the cheapest way to a position.
type node struct {
	price uint32
	from  int
	step  step
	state int
	reps  [4]int
}

// blockOf is how far ahead a way is looked for, with the chances as they are.
const blockOf = 2048

// longEnough is a match that is taken without looking further.
const longEnough = 160

const never = math.MaxUint32

// priceOf are prices of a no, by its chance, in 64ths of a bit.
var priceOf = func() (list [1<<bitsOf + 1]uint32) {
	for p := 1; p <= 1<<bitsOf; p++ {
		list[p] = uint32(math.Round(-64 * math.Log2(float64(p)/(1<<bitsOf))))
	}
	list[0] = list[1]
	return list
}()

func priced(p uint32, yes int) uint32 {
	if yes == 1 {
		p = 1<<bitsOf - p
	}
	return priceOf[p]
}

func (c *chance) price(yes int) uint32 { return priced(c.p(), yes) }

// plan finds the cheapest steps for the next block.
func (e *squeezer) plan() []step {
	n := min(blockOf, len(e.b)-e.pos)
	if e.way == nil {
		e.way = make([]node, blockOf+mostMatch+1)
	}
	for i := range e.way[:n+mostMatch+1] {
		e.way[i].price = never
	}
	e.way[0] = node{state: e.m.state, reps: e.m.reps}
	prices := e.prices()
	end := n
	for i := 0; i < n; i++ {
		if i > 0 {
			e.arrive(i)
		}
		matches := e.f.at(e.pos + i)
		if long := e.relax(i, matches, prices); long > 0 {
			for k := i + 1; k < i+long && e.pos+k < len(e.b); k++ {
				e.f.pass(e.pos + k)
			}
			end = i + long
			break
		}
	}
	var steps []step
	for i := end; i > 0; i = e.way[i].from {
		steps = append(steps, e.way[i].step)
	}
	for i, k := 0, len(steps)-1; i < k; i, k = i+1, k-1 {
		steps[i], steps[k] = steps[k], steps[i]
	}
	return steps
}

// arrive works out the state at a position from the way to it.
func (e *squeezer) arrive(i int) {
	x := &e.way[i]
	was := &e.way[x.from]
	x.reps, x.state = was.reps, was.state
	follow(&x.state, &x.reps, x.step)
}

// follow is what a step makes of the state and of the last distances.
func follow(state *int, reps *[4]int, s step) {
	switch {
	case s.rep < 0:
		*state = afterLiteral(*state)
	case s.rep == 4:
		*state = afterMatch(*state)
		*reps = [4]int{s.distance, reps[0], reps[1], reps[2]}
	default:
		far := reps[s.rep]
		copy(reps[1:s.rep+1], reps[:s.rep])
		reps[0] = far
		if s.length == 1 {
			*state = afterShort(*state)
		} else {
			*state = afterRep(*state)
		}
	}
}

func (e *squeezer) try(i int, price uint32, from int, s step) {
	if x := &e.way[i]; price < x.price {
		x.price, x.from, x.step = price, from, s
	}
}

// relax tries every step from a position. It returns the length of a match
// that is long enough to be taken at once, or 0.
func (e *squeezer) relax(i int, matches []match, t *priceTable) int {
	x, pos, m := &e.way[i], e.pos+i, e.m
	place, s := m.place(pos), x.state
	left := min(mostMatch, len(e.b)-pos)
	isMatch := &m.match[s][place]
	e.try(i+1, x.price+isMatch.price(0)+e.literalPrice(pos, s, x.reps[0]), i, step{1, -1, 0})
	copied := x.price + isMatch.price(1)
	again := copied + m.rep[s].price(1)
	longest := step{}
	for k, d := range x.reps {
		n := e.same(pos, d, left)
		if n == 0 {
			continue
		}
		price := again + repPrice(m, s, place, k)
		if k == 0 {
			e.try(i+1, again+m.rep0[s].price(0)+m.rep0Long[s][place].price(0), i, step{1, 0, d})
			price += m.rep0Long[s][place].price(1)
		}
		for l := leastMatch; l <= n; l++ {
			e.try(i+l, price+t.rep[place][l], i, step{l, k, d})
		}
		if n > longest.length {
			longest = step{n, k, d}
		}
	}
	fresh := copied + m.rep[s].price(0)
	l := leastMatch
	for _, x := range matches {
		far := t.far(m, x.distance)
		for ; l <= x.length; l++ {
			e.try(i+l, fresh+t.match[place][l]+far[lenState(l)], i, step{l, 4, x.distance})
		}
		if x.length > longest.length {
			longest = step{x.length, 4, x.distance}
		}
	}
	if longest.length >= longEnough {
		return longest.length
	}
	return 0
}

// same is how far what follows is the same as at a distance.
func (e *squeezer) same(pos, d, left int) int {
	from := pos - d - 1
	if from < 0 {
		return 0
	}
	n := 0
	for n < left && e.b[from+n] == e.b[pos+n] {
		n++
	}
	return n
}

func repPrice(m *model, s, place, k int) uint32 {
	if k == 0 {
		return m.rep0[s].price(0)
	}
	price := m.rep0[s].price(1)
	if k == 1 {
		return price + m.rep1[s].price(0)
	}
	return price + m.rep1[s].price(1) + m.rep2[s].price(k-2)
}

func (e *squeezer) around(pos, state, rep0 int) around {
	var before, next byte
	if pos > 0 {
		before = e.b[pos-1]
	}
	if state >= 7 {
		next = e.b[pos-rep0-1]
	}
	return e.m.around(pos, state, before, next)
}

func (e *squeezer) literalPrice(pos, state, rep0 int) uint32 {
	x := e.around(pos, state, rep0)
	price, node := uint32(0), 1
	for i := 7; i >= 0; i-- {
		yes := int(e.b[pos]>>i) & 1
		price += x.chance(e.m, node).price(yes)
		node = x.step(node, yes)
	}
	return price
}

// priceTable holds what lengths and distances cost for a block.
type priceTable struct {
	match, rep [modes][mostMatch + 1]uint32
	slot       [lenStates][slots]uint32
	align      [1 << aligned]uint32
}

func (e *squeezer) prices() *priceTable {
	t := &priceTable{}
	for place := range modes {
		for l := leastMatch; l <= mostMatch; l++ {
			t.match[place][l], t.rep[place][l] = e.m.matchLen.price(place, l), e.m.repLen.price(place, l)
		}
	}
	for i := range lenStates {
		for k := range slots {
			t.slot[i][k] = treePrice(e.m.slot[i][:], 6, k)
		}
	}
	for i := range t.align {
		t.align[i] = backwardsPrice(e.m.align[:], aligned, i)
	}
	return t
}

// far are the prices of a distance, by the state of the length.
func (t *priceTable) far(m *model, d int) (out [lenStates]uint32) {
	slot := slotOf(d)
	rest := uint32(0)
	if slot >= 4 {
		bits := slot>>1 - 1
		base := (2 | slot&1) << bits
		if slot < 14 {
			rest = backwardsPrice(m.special[base-slot:], bits, d-base)
		} else {
			rest = uint32(bits-aligned)*64 + t.align[d&(1<<aligned-1)]
		}
	}
	for i := range out {
		out[i] = t.slot[i][slot] + rest
	}
	return out
}

func treePrice(list []chance, bits, v int) (price uint32) {
	node := 1
	for i := bits - 1; i >= 0; i-- {
		price += list[node].price(v >> i & 1)
		node = node<<1 | v>>i&1
	}
	return price
}

func backwardsPrice(list []chance, bits, v int) (price uint32) {
	node := 1
	for i := range bits {
		price += list[node].price(v >> i & 1)
		node = node<<1 | v>>i&1
	}
	return price
}

func (l *lengths) price(place, length int) uint32 {
	switch n := length - leastMatch; {
	case n < 8:
		return l.over8.price(0) + treePrice(l.low[place][:], 3, n)
	case n < 16:
		return l.over8.price(1) + l.over16.price(0) + treePrice(l.mid[place][:], 3, n-8)
	default:
		return l.over8.price(1) + l.over16.price(1) + treePrice(l.high[:], 8, n-16)
	}
}

// write codes a step.
func (e *squeezer) write(s step) {
	m, c, place, was := e.m, e.c, e.m.place(e.pos), e.m.state
	c.bit(&m.match[was][place], s.rep >= 0)
	switch {
	case s.rep < 0:
		e.literal()
	case s.rep == 4:
		c.bit(&m.rep[was], false)
		m.matchLen.write(c, place, s.length)
		e.distance(s.length, s.distance)
	default:
		e.again(s, was, place)
	}
	follow(&m.state, &m.reps, s)
	e.pos += s.length
}

func (e *squeezer) again(s step, was, place int) {
	m, c := e.m, e.c
	c.bit(&m.rep[was], true)
	c.bit(&m.rep0[was], s.rep > 0)
	if s.rep == 0 {
		c.bit(&m.rep0Long[was][place], s.length > 1)
		if s.length == 1 {
			return
		}
	} else {
		c.bit(&m.rep1[was], s.rep > 1)
		if s.rep > 1 {
			c.bit(&m.rep2[was], s.rep > 2)
		}
	}
	m.repLen.write(c, place, s.length)
}

func (e *squeezer) literal() {
	x := e.around(e.pos, e.m.state, e.m.reps[0])
	node := 1
	for i := 7; i >= 0; i-- {
		yes := int(e.b[e.pos]>>i) & 1
		e.c.bit(x.chance(e.m, node), yes == 1)
		node = x.step(node, yes)
	}
}

func writeTree(c *coder, list []chance, bits, v int) {
	node := 1
	for i := bits - 1; i >= 0; i-- {
		c.bit(&list[node], v>>i&1 == 1)
		node = node<<1 | v>>i&1
	}
}

func writeBackwards(c *coder, list []chance, bits, v int) {
	node := 1
	for i := range bits {
		c.bit(&list[node], v>>i&1 == 1)
		node = node<<1 | v>>i&1
	}
}

func (l *lengths) write(c *coder, place, length int) {
	n := length - leastMatch
	c.bit(&l.over8, n >= 8)
	if n < 8 {
		writeTree(c, l.low[place][:], 3, n)
		return
	}
	c.bit(&l.over16, n >= 16)
	if n < 16 {
		writeTree(c, l.mid[place][:], 3, n-8)
		return
	}
	writeTree(c, l.high[:], 8, n-16)
}

func (e *squeezer) distance(length, d int) {
	slot := slotOf(d)
	writeTree(e.c, e.m.slot[lenState(length)][:], 6, slot)
	if slot < 4 {
		return
	}
	bits := slot>>1 - 1
	base := (2 | slot&1) << bits
	if slot < 14 {
		writeBackwards(e.c, e.m.special[base-slot:], bits, d-base)
		return
	}
	for i := bits - 1; i >= aligned; i-- {
		e.c.half(d>>i&1 == 1)
	}
	writeBackwards(e.c, e.m.align[:], aligned, d&(1<<aligned-1))
}
