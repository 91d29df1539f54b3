package pack

// coder writes choices as one long fraction (a range coder).
type coder struct {
	out   []byte
	low   uint64
	width uint32
	cache byte
	held  int
}

func newCoder() *coder { return &coder{width: 1<<32 - 1, held: 1} }

func (c *coder) bit(p *chance, yes bool) {
	bound := c.width >> bitsOf * p.p()
	p.learn(yes)
	if yes {
		c.low += uint64(bound)
		c.width -= bound
	} else {
		c.width = bound
	}
	for c.width < 1<<24 {
		c.width <<= 8
		c.shift()
	}
}

// half codes a bit that is as likely yes as no.
func (c *coder) half(yes bool) {
	c.width >>= 1
	if yes {
		c.low += uint64(c.width)
	}
	for c.width < 1<<24 {
		c.width <<= 8
		c.shift()
	}
}

func (c *coder) shift() {
	if c.low < 0xff000000 || c.low >= 1<<32 {
		carry := byte(c.low >> 32)
		for ; c.held > 0; c.held-- {
			c.out = append(c.out, c.cache+carry)
			c.cache = 0xff
		}
		c.cache = byte(c.low >> 24)
	}
	c.held++
	c.low = c.low & 0x00ffffff << 8
}

func (c *coder) end() []byte {
	for range 5 {
		c.shift()
	}
	return c.out[1:]
}

// decoder reads what a coder wrote.
type decoder struct {
	in    []byte
	i     int
	width uint32
	code  uint32
}

func newDecoder(in []byte) *decoder {
	d := &decoder{in: in, width: 1<<32 - 1}
	for range 4 {
		d.code = d.code<<8 | uint32(d.next())
	}
	return d
}

// next is the next byte; behind the end there are zeros.
func (d *decoder) next() byte {
	d.i++
	if d.i <= len(d.in) {
		return d.in[d.i-1]
	}
	return 0
}

func (d *decoder) bit(p *chance) int {
	bound, yes := d.width>>bitsOf*p.p(), 0
	if d.code < bound {
		d.width = bound
	} else {
		yes = 1
		d.code -= bound
		d.width -= bound
	}
	p.learn(yes == 1)
	d.fill()
	return yes
}

func (d *decoder) fill() {
	for d.width < 1<<24 {
		d.width <<= 8
		d.code = d.code<<8 | uint32(d.next())
	}
}

func (d *decoder) half() int {
	d.width >>= 1
	yes := 0
	if d.code >= d.width {
		d.code -= d.width
		yes = 1
	}
	d.fill()
	return yes
}
