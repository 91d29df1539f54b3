package lp

import (
	"strconv"
	"unicode/utf8"
)

// certText writes a certificate as encoding/json would, without it: the
// library is a tenth of what a card's engine may weigh.
type certText struct {
	b     []byte
	comma bool
}

func (d *certDoc) json() []byte {
	w := &certText{}
	w.object(func() {
		w.string("format", d.Format)
		w.number("version", d.Version)
		w.member("claim", func() {
			w.object(func() {
				w.string("status", d.Claim.Status)
				w.some("objective", d.Claim.Objective)
				w.some("bound", d.Claim.Bound)
			})
		})
		w.member("model", func() { w.model(&d.Model) })
		if g := d.Grid; g != nil {
			w.member("grid", func() {
				w.object(func() {
					if g.Row != nil {
						w.number("row", *g.Row)
					}
					w.some("mult", g.Mult)
				})
			})
		}
		w.strings("point", d.Point, true)
		w.list("cuts", len(d.Cuts), true, func(i int) {
			w.object(func() {
				w.number("cone", d.Cuts[i].Cone)
				w.strings("dir", d.Cuts[i].Dir, false)
			})
		})
		w.list("tree", len(d.Tree), false, func(i int) { w.node(&d.Tree[i]) })
	})
	return w.b
}

func (w *certText) model(m *certModel) {
	w.object(func() {
		w.list("columns", len(m.Columns), false, func(i int) { w.column(&m.Columns[i]) })
		w.list("rows", len(m.Rows), true, func(i int) {
			r := &m.Rows[i]
			w.object(func() {
				w.some("name", r.Name)
				w.some("lo", r.Lo)
				w.some("hi", r.Hi)
				w.terms("terms", r.Terms)
			})
		})
		w.list("counts", len(m.Counts), true, func(i int) {
			c := &m.Counts[i]
			w.object(func() {
				w.some("name", c.Name)
				w.list("cols", len(c.Cols), false, func(k int) { w.plain(strconv.Itoa(c.Cols[k])) })
				if c.Least != 0 {
					w.number("least", c.Least)
				}
				w.number("most", c.Most)
			})
		})
		w.list("cones", len(m.Cones), true, func(i int) {
			k := &m.Cones[i]
			w.object(func() {
				w.some("name", k.Name)
				w.string("lo", k.Lo)
				w.string("z", k.Z)
				w.terms("terms", k.Terms)
				w.terms("spread", k.Spread)
			})
		})
	})
}

func (w *certText) column(c *certColumn) {
	w.object(func() {
		w.some("name", c.Name)
		w.some("lo", c.Lo)
		w.some("hi", c.Hi)
		w.some("cost", c.Cost)
		w.list("breaks", len(c.Breaks), true, func(i int) {
			w.between('[', ']', func() {
				w.text(c.Breaks[i][0])
				w.text(c.Breaks[i][1])
			})
		})
		if c.Whole {
			w.member("whole", func() { w.plain("true") })
		}
		w.some("least", c.Least)
	})
}

func (w *certText) node(n *certNode) {
	w.object(func() {
		w.string("kind", n.Kind)
		if n.Col != nil {
			w.number("col", *n.Col)
		}
		w.some("at", n.At)
		w.weights("rows", n.Rows)
		w.weights("counts", n.Counts)
		w.weights("cuts", n.Cuts)
	})
}

func (w *certText) terms(name string, list []certTerm) {
	w.list(name, len(list), true, func(i int) {
		w.object(func() {
			w.number("c", list[i].Col)
			w.string("v", list[i].Coef)
		})
	})
}

func (w *certText) weights(name string, list []certWeight) {
	w.list(name, len(list), true, func(i int) {
		w.object(func() {
			w.number("i", list[i].Index)
			w.string("y", list[i].Value)
		})
	})
}

// between writes what stands between two brackets.
func (w *certText) between(open, end byte, inside func()) {
	w.sep()
	w.b = append(w.b, open)
	w.comma = false
	inside()
	w.b = append(w.b, end)
	w.comma = true
}

func (w *certText) object(inside func()) { w.between('{', '}', inside) }

func (w *certText) sep() {
	if w.comma {
		w.b = append(w.b, ',')
	}
	w.comma = true
}

func (w *certText) plain(s string) {
	w.sep()
	w.b = append(w.b, s...)
}

func (w *certText) member(name string, value func()) {
	w.text(name)
	w.b = append(w.b, ':')
	w.comma = false
	value()
}

func (w *certText) string(name, s string)     { w.member(name, func() { w.text(s) }) }
func (w *certText) number(name string, v int) { w.member(name, func() { w.plain(strconv.Itoa(v)) }) }

// some writes a string unless it is empty.
func (w *certText) some(name, s string) {
	if s != "" {
		w.string(name, s)
	}
}

// list writes a list; an empty one is left out or, if it must stand, empty.
func (w *certText) list(name string, n int, omit bool, each func(i int)) {
	switch {
	case n == 0 && omit:
		return
	case n == 0:
		w.member(name, func() { w.plain("[]") })
		return
	}
	w.member(name, func() {
		w.between('[', ']', func() {
			for i := range n {
				each(i)
			}
		})
	})
}

func (w *certText) strings(name string, list []string, omit bool) {
	w.list(name, len(list), omit, func(i int) { w.text(list[i]) })
}

const hexDigits = "0123456789abcdef"

// text writes a string; what HTML could take for markup is escaped.
func (w *certText) text(s string) {
	w.sep()
	w.b = append(w.b, '"')
	for i := 0; i < len(s); {
		r, n := utf8.DecodeRuneInString(s[i:])
		switch {
		case r == '"' || r == '\\':
			w.b = append(w.b, '\\', byte(r))
		case r < ' ' || r == '<' || r == '>' || r == '&' || r == 0x2028 || r == 0x2029:
			w.b = append(w.b, '\\', 'u', hexDigits[r>>12&15], hexDigits[r>>8&15], hexDigits[r>>4&15], hexDigits[r&15])
		default:
			w.b = utf8.AppendRune(w.b, r)
		}
		i += n
	}
	w.b = append(w.b, '"')
}
