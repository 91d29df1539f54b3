package main

import (
	"bufio"
	"fmt"
	"io"
	"math"
	"strconv"
	"strings"

	"firlot/lp"
)

// program is a linear program read from a file.
type program struct {
	name  string
	model *lp.Model
	cols  []string
	rows  []string
	sign  float64 // −1 if the file asks to maximise
	shift float64 // constant of the objective, before the sign
}

// mpsRow is a row while it is being read.
type mpsRow struct {
	kind     byte // N, E, L or G
	rhs      float64
	rng      float64
	hasRange bool
	row      lp.Row
}

// mpsColumn is a column while it is being read.
type mpsColumn struct {
	col   lp.Column
	setLo bool
	rows  map[int]bool // rows in which it already stands
}

// mpsReader reads free-format MPS: fields are separated by blanks, so names
// must not hold any. It knows the sections NAME, OBJSENSE, ROWS, COLUMNS (with
// INTORG and INTEND markers), RHS, RANGES, BOUNDS and ENDATA.
type mpsReader struct {
	line    int
	section string
	whole   bool
	done    bool
	p       program
	rows    []mpsRow
	rowOf   map[string]int
	cols    []mpsColumn
	colOf   map[string]int
	obj     int // index of the objective row, −1 before one is seen
	rhsSet  string
	rngSet  string
	bndSet  string
}

// Limits on files, so that a hostile one ends early.
const (
	maxLine  = 1 << 16
	maxItems = 1 << 20
)

// readMPS reads a program.
func readMPS(in io.Reader) (*program, error) {
	r := &mpsReader{rowOf: map[string]int{}, colOf: map[string]int{}, obj: -1}
	r.p.sign = 1
	sc := bufio.NewScanner(in)
	sc.Buffer(make([]byte, 0, 4096), maxLine)
	for sc.Scan() && !r.done {
		r.line++
		text := sc.Text()
		if text == "" || text[0] == '*' || strings.TrimSpace(text) == "" {
			continue
		}
		f := strings.Fields(text)
		var err error
		if text[0] != ' ' && text[0] != '\t' {
			err = r.header(f)
		} else {
			err = r.data(f)
		}
		if err != nil {
			return nil, fmt.Errorf("line %d: %w", r.line, err)
		}
	}
	if err := sc.Err(); err != nil {
		return nil, err
	}
	if !r.done {
		return nil, fmt.Errorf("line %d: the file ends without ENDATA", r.line)
	}
	return r.finish()
}

func (r *mpsReader) header(f []string) error {
	r.section = strings.ToUpper(f[0])
	switch r.section {
	case "NAME":
		if len(f) > 1 {
			r.p.name = f[1]
		}
	case "OBJSENSE":
		if len(f) > 1 {
			return r.sense(f[1])
		}
	case "ROWS", "COLUMNS", "RHS", "RANGES", "BOUNDS":
	case "ENDATA":
		r.done = true
	default:
		return fmt.Errorf("unknown section %q", f[0])
	}
	return nil
}

func (r *mpsReader) data(f []string) error {
	switch r.section {
	case "OBJSENSE":
		return r.sense(f[0])
	case "ROWS":
		return r.addRow(f)
	case "COLUMNS":
		return r.addEntries(f)
	case "RHS":
		return r.sides(f, &r.rhsSet, func(i int, v float64) { r.rows[i].rhs = v })
	case "RANGES":
		return r.sides(f, &r.rngSet, func(i int, v float64) { r.rows[i].rng, r.rows[i].hasRange = v, true })
	case "BOUNDS":
		return r.bound(f)
	}
	return fmt.Errorf("data outside a section")
}

func (r *mpsReader) sense(s string) error {
	switch strings.ToUpper(s) {
	case "MAX", "MAXIMIZE", "MAXIMISE":
		r.p.sign = -1
	case "MIN", "MINIMIZE", "MINIMISE":
		r.p.sign = 1
	default:
		return fmt.Errorf("unknown sense %q", s)
	}
	return nil
}

func (r *mpsReader) addRow(f []string) error {
	if len(f) != 2 || len(f[0]) != 1 || !strings.Contains("NELG", strings.ToUpper(f[0])) {
		return fmt.Errorf("a row needs N, E, L or G and a name")
	}
	if _, ok := r.rowOf[f[1]]; ok {
		return fmt.Errorf("row %q stands twice", f[1])
	}
	if len(r.rows) >= maxItems {
		return fmt.Errorf("too many rows")
	}
	k := strings.ToUpper(f[0])[0]
	if k == 'N' && r.obj < 0 {
		r.obj = len(r.rows)
	}
	r.rowOf[f[1]] = len(r.rows)
	r.rows = append(r.rows, mpsRow{kind: k, row: lp.Row{Name: f[1]}})
	return nil
}

func (r *mpsReader) addEntries(f []string) error {
	if len(f) >= 3 && strings.Trim(f[1], "'\"") == "MARKER" {
		switch strings.Trim(f[len(f)-1], "'\"") {
		case "INTORG":
			r.whole = true
		case "INTEND":
			r.whole = false
		default:
			return fmt.Errorf("unknown marker %s", f[len(f)-1])
		}
		return nil
	}
	if len(f) < 3 || len(f)%2 == 0 {
		return fmt.Errorf("a column line needs a name and pairs of row and value")
	}
	j, ok := r.colOf[f[0]]
	if !ok {
		if len(r.cols) >= maxItems {
			return fmt.Errorf("too many columns")
		}
		j = len(r.cols)
		r.colOf[f[0]] = j
		r.cols = append(r.cols, mpsColumn{rows: map[int]bool{},
			col: lp.Column{Name: f[0], Hi: math.Inf(1), Integer: r.whole}})
	}
	for k := 1; k+1 < len(f); k += 2 {
		if err := r.addEntry(j, f[k], f[k+1]); err != nil {
			return err
		}
	}
	return nil
}

func (r *mpsReader) addEntry(j int, row, value string) error {
	i, ok := r.rowOf[row]
	if !ok {
		return fmt.Errorf("there is no row %q", row)
	}
	v, err := number(value)
	if err != nil {
		return err
	}
	c := &r.cols[j]
	if c.rows[i] {
		return fmt.Errorf("column %q stands twice in row %q", c.col.Name, row)
	}
	c.rows[i] = true
	if i == r.obj {
		c.col.Cost = v
	} else if v != 0 {
		r.rows[i].row.Terms = append(r.rows[i].row.Terms, lp.Term{Var: lp.Var(j), Coef: v})
	}
	return nil
}

func number(s string) (float64, error) {
	v, err := strconv.ParseFloat(s, 64)
	if err != nil || math.IsNaN(v) {
		return 0, fmt.Errorf("%.40q is not a number", s)
	}
	return v, nil
}

// sides reads RHS and RANGES lines. The name of the set may be missing; only
// the first set counts.
func (r *mpsReader) sides(f []string, set *string, put func(int, float64)) error {
	if len(f)%2 == 1 {
		if *set == "" {
			*set = f[0]
		}
		if f[0] != *set {
			return nil
		}
		f = f[1:]
	}
	for k := 0; k+1 < len(f); k += 2 {
		i, ok := r.rowOf[f[k]]
		if !ok {
			return fmt.Errorf("there is no row %q", f[k])
		}
		v, err := number(f[k+1])
		if err != nil {
			return err
		}
		put(i, v)
	}
	return nil
}

// bound reads a line "kind [set] column [value]".
func (r *mpsReader) bound(f []string) error {
	kind := strings.ToUpper(f[0])
	plain := kind == "FR" || kind == "MI" || kind == "PL" || kind == "BV"
	want := 4
	if plain {
		want = 3
	}
	switch {
	case len(f) == want-1: // no set name
		f = append([]string{f[0], r.bndSet}, f[1:]...)
	case plain && len(f) == 4: // a value that says nothing
		f = f[:3]
	case len(f) != want:
		return fmt.Errorf("a bound needs a kind, a set, a column and perhaps a value")
	}
	if r.bndSet == "" {
		r.bndSet = f[1]
	}
	if f[1] != r.bndSet {
		return nil
	}
	j, ok := r.colOf[f[2]]
	if !ok {
		return fmt.Errorf("there is no column %q", f[2])
	}
	v := 0.0
	if !plain {
		var err error
		if v, err = number(f[3]); err != nil {
			return err
		}
	}
	return r.cols[j].setBound(kind, v)
}

// setBound applies one bound. A negative upper bound on a column whose lower
// bound is still the usual zero takes the lower bound to −∞, as most readers
// of the format have it.
func (c *mpsColumn) setBound(kind string, v float64) error {
	switch kind {
	case "LO", "LI":
		c.col.Lo, c.setLo = v, true
	case "UP", "UI":
		c.col.Hi = v
		if v < 0 && !c.setLo && c.col.Lo == 0 {
			c.col.Lo = math.Inf(-1)
		}
	case "FX":
		c.col.Lo, c.col.Hi, c.setLo = v, v, true
	case "FR":
		c.col.Lo, c.col.Hi, c.setLo = math.Inf(-1), math.Inf(1), true
	case "MI":
		c.col.Lo, c.setLo = math.Inf(-1), true
	case "PL":
		c.col.Hi = math.Inf(1)
	case "BV":
		c.col.Lo, c.col.Hi, c.setLo, c.col.Integer = 0, 1, true, true
	default:
		return fmt.Errorf("unknown kind of bound %q", kind)
	}
	if kind == "LI" || kind == "UI" {
		c.col.Integer = true
	}
	return nil
}

// finish turns what was read into a model.
func (r *mpsReader) finish() (*program, error) {
	if r.obj < 0 {
		return nil, fmt.Errorf("there is no objective (N) row")
	}
	p := &r.p
	p.model = lp.NewModel()
	p.shift = -r.rows[r.obj].rhs
	for _, c := range r.cols {
		c.col.Cost *= p.sign
		p.model.AddColumn(c.col)
		p.cols = append(p.cols, c.col.Name)
	}
	for i := range r.rows {
		if w := &r.rows[i]; w.kind != 'N' {
			w.row.Lo, w.row.Hi = w.limits()
			p.model.AddRow(w.row)
			p.rows = append(p.rows, w.row.Name)
		}
	}
	return p, p.model.Check()
}

// limits are the two sides of a row with its range.
func (w *mpsRow) limits() (lo, hi float64) {
	lo, hi = math.Inf(-1), math.Inf(1)
	size := math.Abs(w.rng)
	switch w.kind {
	case 'E':
		lo, hi = w.rhs, w.rhs
		if w.hasRange && w.rng < 0 {
			lo = w.rhs - size
		} else if w.hasRange {
			hi = w.rhs + size
		}
	case 'G':
		lo = w.rhs
		if w.hasRange {
			hi = w.rhs + size
		}
	case 'L':
		hi = w.rhs
		if w.hasRange {
			lo = w.rhs - size
		}
	}
	return lo, hi
}
