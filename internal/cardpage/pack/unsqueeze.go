package pack

import (
	"encoding/binary"
	"errors"
)

var errPacked = errors.New("what was packed is damaged")

// unsqueeze undoes squeeze, to at most most bytes.
func unsqueeze(in []byte, most int) ([]byte, error) {
	if len(in) < 8 {
		return nil, errPacked
	}
	n, split := int(binary.LittleEndian.Uint32(in)), int(binary.LittleEndian.Uint32(in[4:]))
	if n > most || split > n {
		return nil, errPacked
	}
	d, m := newDecoder(in[8:]), newModel(split)
	out := make([]byte, 0, n)
	for len(out) < n {
		if d.i > len(in)+8 {
			return nil, errPacked
		}
		place := m.place(len(out))
		if d.bit(&m.match[m.state][place]) == 0 {
			out = append(out, m.literal(d, out))
			m.state = afterLiteral(m.state)
			continue
		}
		length := m.copied(d, place)
		from := len(out) - m.reps[0] - 1
		if from < 0 || len(out)+length > n {
			return nil, errPacked
		}
		for i := range length {
			out = append(out, out[from+i])
		}
	}
	return out, nil
}

// literal reads a byte.
func (m *model) literal(d *decoder, out []byte) byte {
	var before, next byte
	if n := len(out); n > 0 {
		before = out[n-1]
	}
	if m.state >= 7 {
		next = out[len(out)-m.reps[0]-1]
	}
	x := m.around(len(out), m.state, before, next)
	node := 1
	for node < 256 {
		node = x.step(node, d.bit(x.chance(m, node)))
	}
	return byte(node)
}

// around is what a literal's chances depend on: the byte before it, and right
// after a match the byte with which the match would go on, as long as the
// literal's bits are that byte's.
type around struct {
	one, against int
	next         int // what is left of the byte, its next bit the highest of eight
	following    bool
}

func (m *model) around(pos, state int, before, next byte) around {
	place := m.place(pos)
	return around{one: (place<<8 | int(before)) << 8, against: (place<<3 | int(before)>>5) << 9, next: int(next), following: state >= 7}
}

// chance is the one by which the bit below a node is coded.
func (x *around) chance(m *model, node int) *chance {
	if x.following {
		return &m.against[x.against+(x.next>>7)<<8+node]
	}
	return &m.byOne[x.one+node]
}

// step goes down the tree.
func (x *around) step(node, yes int) int {
	x.following = x.following && x.next>>7 == yes
	x.next = x.next << 1 & 0xff
	return node<<1 | yes
}

// copied reads a length, and brings the distance to the front.
func (m *model) copied(d *decoder, place int) int {
	s := m.state
	if d.bit(&m.rep[s]) == 0 {
		length := m.matchLen.read(d, place)
		m.state = afterMatch(s)
		m.reps = [4]int{m.distance(d, length), m.reps[0], m.reps[1], m.reps[2]}
		return length
	}
	if d.bit(&m.rep0[s]) == 0 {
		if d.bit(&m.rep0Long[s][place]) == 0 {
			m.state = afterShort(s)
			return 1
		}
	} else {
		k := 1
		if d.bit(&m.rep1[s]) == 1 {
			k = 2 + d.bit(&m.rep2[s])
		}
		m.front(k)
	}
	m.state = afterRep(s)
	return m.repLen.read(d, place)
}

// front brings the k-th of the last distances to the front.
func (m *model) front(k int) {
	far := m.reps[k]
	copy(m.reps[1:k+1], m.reps[:k])
	m.reps[0] = far
}

func tree(d *decoder, list []chance, bits int) int {
	node := 1
	for range bits {
		node = node<<1 | d.bit(&list[node])
	}
	return node - 1<<bits
}

func (l *lengths) read(d *decoder, place int) int {
	switch {
	case d.bit(&l.over8) == 0:
		return leastMatch + tree(d, l.low[place][:], 3)
	case d.bit(&l.over16) == 0:
		return leastMatch + 8 + tree(d, l.mid[place][:], 3)
	}
	return leastMatch + 16 + tree(d, l.high[:], 8)
}

// distance reads a new distance, less one.
func (m *model) distance(d *decoder, length int) int {
	slot := tree(d, m.slot[lenState(length)][:], 6)
	if slot < 4 {
		return slot
	}
	bits := slot>>1 - 1
	v := (2 | slot&1) << bits
	if slot < 14 {
		return v + backwards(d, m.special[v-slot:], bits)
	}
	for i := bits - 1; i >= aligned; i-- {
		v += d.half() << i
	}
	return v + backwards(d, m.align[:], aligned)
}

// backwards reads bits from the lowest up.
func backwards(d *decoder, list []chance, bits int) int {
	node, v := 1, 0
	for i := range bits {
		b := d.bit(&list[node])
		node = node<<1 | b
		v |= b << i
	}
	return v
}
