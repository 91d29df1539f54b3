package pack

import (
	"bytes"
	"encoding/binary"
	"errors"
	"fmt"
	"slices"
)

// Strip takes out of a WebAssembly module built by Go what only the text of a
// stack trace needs: the names of functions, and which line of which file each
// instruction came from. The program runs as before; should it ever panic, it
// still says why, but not where. What the runtime unwinds stacks and collects
// garbage by stays.
//
// It refuses a module whose tables are not laid out as those of Go 1.20 to
// 1.26; such a module works as well unstripped.
func Strip(module []byte) ([]byte, error) {
	m, err := parse(module)
	if err != nil {
		return nil, err
	}
	t, err := findTable(m.memory)
	if err != nil {
		return nil, err
	}
	if err := t.strip(); err != nil {
		return nil, err
	}
	return m.encode(), nil
}

var errModule = errors.New("it is not a WebAssembly module as Go builds them")

// module is a WebAssembly module with its data laid out as in memory.
type module struct {
	before, after []byte // the sections around the data
	memory        []byte
	from          int // address of memory[0]
}

// dataSection is the number of the section that fills memory, and dataCount
// of the one that says how many segments it has.
const dataSection = 11

// mostMemory bounds the addresses that a module's data may have.
const mostMemory = 256 << 20

type cursor struct {
	b   []byte
	i   int
	bad bool
}

func (c *cursor) number() int {
	v, n := binary.Uvarint(c.b[min(c.i, len(c.b)):])
	if n <= 0 || v > 1<<31 {
		c.bad = true
		return 0
	}
	c.i += n
	return int(v)
}

// signed reads a signed LEB128 number.
func (c *cursor) signed() int {
	v, shift := 0, 0
	for !c.bad && shift < 63 {
		x := c.take(1)
		if c.bad {
			return 0
		}
		v |= int(x[0]&0x7f) << shift
		shift += 7
		if x[0] < 0x80 {
			if x[0]&0x40 != 0 {
				v -= 1 << shift
			}
			return v
		}
	}
	c.bad = true
	return 0
}

func (c *cursor) take(n int) []byte {
	if c.bad || n < 0 || c.i+n > len(c.b) {
		c.bad = true
		return nil
	}
	c.i += n
	return c.b[c.i-n : c.i]
}

func parse(b []byte) (*module, error) {
	if len(b) < 8 || !bytes.Equal(b[:4], []byte("\x00asm")) {
		return nil, errModule
	}
	c := &cursor{b: b, i: 8}
	for c.i < len(b) {
		at := c.i
		id := c.take(1)
		body := c.take(c.number())
		if c.bad {
			return nil, errModule
		}
		if id[0] == dataSection {
			m := &module{before: b[:at], after: b[c.i:]}
			return m, m.fill(body)
		}
	}
	return nil, errModule
}

// fill lays the segments of a data section out.
func (m *module) fill(body []byte) error {
	type segment struct {
		at   int
		data []byte
	}
	c := &cursor{b: body}
	var list []segment
	m.from = mostMemory
	end := 0
	for range c.number() {
		if c.number() != 0 || !bytes.Equal(c.take(1), []byte{0x41}) { // active, i32.const
			return errModule
		}
		at := c.signed()
		if !bytes.Equal(c.take(1), []byte{0x0b}) {
			return errModule
		}
		data := c.take(c.number())
		if c.bad || at < 0 || at+len(data) > mostMemory {
			return errModule
		}
		list = append(list, segment{at, data})
		m.from, end = min(m.from, at), max(end, at+len(data))
	}
	if c.i != len(body) || len(list) == 0 {
		return errModule
	}
	m.memory = make([]byte, end-m.from)
	for _, s := range list {
		copy(m.memory[s.at-m.from:], s.data)
	}
	return nil
}

// leastGap is the number of zeros that is worth a new segment.
const leastGap = 64

// encode writes the module with its memory in segments between long runs of
// zeros.
func (m *module) encode() []byte {
	var segments []byte
	n := 0
	for i := 0; i < len(m.memory); {
		if m.memory[i] == 0 {
			i++
			continue
		}
		end, zeros := i, 0
		for k := i; k < len(m.memory) && zeros < leastGap; k++ {
			if zeros++; m.memory[k] != 0 {
				end, zeros = k+1, 0
			}
		}
		segments = append(segments, 0, 0x41)
		segments = appendSigned(segments, m.from+i)
		segments = append(segments, 0x0b)
		segments = binary.AppendUvarint(segments, uint64(end-i))
		segments = append(segments, m.memory[i:end]...)
		n, i = n+1, end
	}
	body := append(binary.AppendUvarint(nil, uint64(n)), segments...)
	out := append([]byte(nil), m.before...)
	out = binary.AppendUvarint(append(out, dataSection), uint64(len(body)))
	return append(append(out, body...), m.after...)
}

// appendSigned writes a signed LEB128 number of nought or more.
func appendSigned(b []byte, v int) []byte {
	for v >= 0x40 {
		b = append(b, byte(v&0x7f)|0x80)
		v >>= 7
	}
	return append(b, byte(v))
}

// table is the table of functions of a Go program (runtime's pclntab).
type table struct {
	b                    []byte // from the header on
	functions            int
	names, units         int // offsets of the tables
	files, values, funcs int
}

// header is how the table begins: its magic number, two zeros, instructions
// of one byte and pointers of eight.
var header = []byte{0xf1, 0xff, 0xff, 0xff, 0, 0, 1, 8}

func findTable(memory []byte) (*table, error) {
	for from := 0; ; {
		i := bytes.Index(memory[from:], header)
		if i < 0 {
			return nil, errors.New("the table of functions is not laid out as it should be")
		}
		if t := readTable(memory[from+i:]); t != nil {
			return t, nil
		}
		from += i + 1
	}
}

// readTable reads the header, and returns nil when it cannot be one.
func readTable(b []byte) *table {
	if len(b) < 72 {
		return nil
	}
	word := func(i int) int { return int(min(binary.LittleEndian.Uint64(b[8+8*i:]), mostMemory)) }
	t := &table{b: b, functions: word(0), names: word(3), units: word(4), files: word(5), values: word(6), funcs: word(7)}
	if t.functions == 0 || word(2) != 0 || t.names < 72 || t.names >= t.units || t.units > t.files || t.files >= t.values || t.values >= t.funcs || t.funcs >= len(b) {
		return nil
	}
	return t
}

// Places of a function's record (runtime's _func), in bytes.
const (
	atName      = 4
	atStack     = 16 // pcsp
	atFile      = 20
	atLine      = 24
	atTables    = 28 // npcdata
	atUnit      = 32
	atStartLine = 36
	atMore      = 43 // nfuncdata
	recordSize  = 44
)

// The data of functions that only traces read: the tree of inlined calls, and
// what arguments are printed as.
var tracesOnly = []int{3, 5, 6}

// idle are the tables of values that nothing reads in WebAssembly: where a
// signal may stop a function, for there are no signals; and, for traces, which
// inlined call an instruction is of, and which arguments are alive.
var idle = []int{0, 2, 3}

// keptNames are the functions that the runtime knows by name.
var keptNames = []string{"reflect.makeFuncStub", "reflect.methodValueCall"}

// strip clears what traces need.
func (t *table) strip() error {
	records, used, err := t.read()
	if err != nil {
		return err
	}
	kept := make([]byte, t.units-t.names)
	for _, r := range records {
		name := t.name(r)
		keep := false
		for _, k := range keptNames {
			keep = keep || name == k
		}
		if off := int(binary.LittleEndian.Uint32(r[atName:])); keep {
			copy(kept[off:], name)
		} else {
			clear(r[atName : atName+4])
		}
		clear(r[atFile : atLine+4])
		clear(r[atUnit : atStartLine+4])
		tables, more := int(binary.LittleEndian.Uint32(r[atTables:])), int(r[atMore])
		for _, k := range idle {
			if k < tables {
				clear(r[recordSize+4*k : recordSize+4*k+4])
			}
		}
		for _, k := range tracesOnly {
			if k < more {
				at := recordSize + 4*(tables+k)
				copy(r[at:at+4], []byte{0xff, 0xff, 0xff, 0xff}) // none
			}
		}
	}
	copy(t.b[t.names:t.units], kept)
	clear(t.b[t.units:t.values])
	for i := t.values; i < t.funcs; i++ {
		if !used[i-t.values] {
			t.b[i] = 0
		}
	}
	return nil
}

func (t *table) name(record []byte) string {
	from := t.names + int(binary.LittleEndian.Uint32(record[atName:]))
	if from >= t.units {
		return ""
	}
	end := bytes.IndexByte(t.b[from:t.units], 0)
	return string(t.b[from : from+max(end, 0)])
}

// read finds the records of all functions, and which bytes of the tables of
// values are needed to run.
func (t *table) read() (records [][]byte, used []bool, err error) {
	used = make([]bool, t.funcs-t.values)
	index := t.b[t.funcs:]
	if len(index) < 8*t.functions {
		return nil, nil, errors.New("the index of functions ends early")
	}
	for i := range t.functions {
		off := int(binary.LittleEndian.Uint32(index[8*i+4:]))
		if off+recordSize > len(index) {
			return nil, nil, fmt.Errorf("function %d lies outside its table", i)
		}
		r := index[off:]
		tables, more := int(binary.LittleEndian.Uint32(r[atTables:])), int(r[atMore])
		if tables > 16 || more > 16 || recordSize+4*(tables+more) > len(r) {
			return nil, nil, fmt.Errorf("function %d is not laid out as it should be", i)
		}
		offsets := []int{int(binary.LittleEndian.Uint32(r[atStack:]))}
		for k := range tables {
			if slices.Contains(idle, k) {
				continue
			}
			offsets = append(offsets, int(binary.LittleEndian.Uint32(r[recordSize+4*k:])))
		}
		for _, at := range offsets {
			if err := t.use(used, at); err != nil {
				return nil, nil, fmt.Errorf("function %d: %w", i, err)
			}
		}
		records = append(records, r)
	}
	return records, used, nil
}

// use marks a table of values: pairs of differences, the first of each of the
// value and the second of the place, that end where the value differs by
// nothing.
func (t *table) use(used []bool, at int) error {
	if at == 0 {
		return nil
	}
	b := t.b[t.values:t.funcs]
	for i, first := at, true; ; first = false {
		if i >= len(b) {
			return errors.New("a table of values has no end")
		}
		difference, n := binary.Uvarint(b[i:])
		if difference == 0 && !first {
			used[i] = true
			return nil
		}
		_, k := binary.Uvarint(b[min(i+max(n, 0), len(b)):])
		if n <= 0 || k <= 0 {
			return errors.New("a table of values ends early")
		}
		for range n + k {
			used[i] = true
			i++
		}
	}
}
