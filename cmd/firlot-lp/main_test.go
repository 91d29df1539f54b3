package main

import (
	"bytes"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"
)

// sample has every section and most kinds of bounds.
const sample = `* a small program
NAME sample
OBJSENSE
    MAX
ROWS
 N cost
 L lim1
 G lim2
 E eq
 N spare
COLUMNS
 x cost 1 lim1 1
 x lim2 1
 MARKER MARKER INTORG
 y cost 4.5 lim1 1
 y eq -1
 M2 'MARKER' 'INTEND'
 z cost 9 eq 1 spare 3
RHS
 RHS lim1 4 lim2 1
 RHS eq 2.5 cost -10
RANGES
 RNG lim1 2.5 eq -1.5
BOUNDS
 UP BND x 4
 UP BND y 1
 LO BND y -1
 UP BND z 3
ENDATA
`

func TestReadMPS(t *testing.T) {
	p, err := readMPS(strings.NewReader(sample))
	if err != nil {
		t.Fatal(err)
	}
	m := p.model
	if p.name != "sample" || p.sign != -1 || p.shift != 10 || m.Columns() != 3 || m.Rows() != 3 {
		t.Fatalf("%+v", p)
	}
	if r := m.Row(0); r.Lo != 1.5 || r.Hi != 4 {
		t.Errorf("lim1 %v", r)
	}
	if r := m.Row(1); r.Lo != 1 || !math.IsInf(r.Hi, 1) {
		t.Errorf("lim2 %v", r)
	}
	if r := m.Row(2); r.Lo != 1 || r.Hi != 2.5 || len(r.Terms) != 2 {
		t.Errorf("eq %v", r)
	}
	if c := m.Column(1); !c.Integer || c.Lo != -1 || c.Hi != 1 || c.Cost != -4.5 {
		t.Errorf("y %v", c)
	}
	if c := m.Column(2); c.Integer {
		t.Errorf("z %v", c)
	}
}

func TestBoundKinds(t *testing.T) {
	inf := math.Inf(1)
	for _, c := range []struct {
		lines  string
		lo, hi float64
		whole  bool
	}{
		{"", 0, inf, false},
		{" FR B x\n", -inf, inf, false},
		{" MI B x\n", -inf, inf, false},
		{" MI B x\n UP B x 3\n", -inf, 3, false},
		{" UP B x -3\n", -inf, -3, false},
		{" LO B x -7\n UP B x -3\n", -7, -3, false},
		{" PL B x\n", 0, inf, false},
		{" BV B x\n", 0, 1, true},
		{" LI B x 2\n", 2, inf, true},
		{" UI B x 9\n", 0, 9, true},
		{" FX B x 4\n", 4, 4, false},
		{" FX x 4\n", 4, 4, false},
		{" UP B x 3\n UP other x 1\n", 0, 3, false},
	} {
		p, err := readMPS(strings.NewReader("NAME\nROWS\n N c\n G r\nCOLUMNS\n x c 1 r 1\nRHS\nBOUNDS\n" + c.lines + "ENDATA\n"))
		if err != nil {
			t.Errorf("%q: %v", c.lines, err)
			continue
		}
		if k := p.model.Column(0); k.Lo != c.lo || k.Hi != c.hi || k.Integer != c.whole {
			t.Errorf("%q: %v", c.lines, k)
		}
	}
}

func TestFaultyFiles(t *testing.T) {
	for _, bad := range []string{
		"", "NAME\n", "ROWS\n N c\nENDATA\n extra",
		"ROWS\n N c\n X r\nENDATA\n",
		"ROWS\n N c\n N c\nENDATA\n",
		"ROWS\n N c\nCOLUMNS\n x d 1\nENDATA\n",
		"ROWS\n N c\nCOLUMNS\n x c one\nENDATA\n",
		"ROWS\n N c\n G r\nCOLUMNS\n x r 1\n x r 1\nENDATA\n",
		"ROWS\n N c\nCOLUMNS\n x c 1\nBOUNDS\n XX B x 1\nENDATA\n",
		"ROWS\n G r\nCOLUMNS\n x r 1\nENDATA\n",
		"FROWS\n N c\nENDATA\n",
		" N c\n",
	} {
		if p, err := readMPS(strings.NewReader(bad)); err == nil && bad != "ROWS\n N c\nENDATA\n extra" {
			t.Errorf("%q was read: %+v", bad, p)
		}
	}
}

// Solve, write a certificate, verify it, break it, and see it refused.
func TestRunAndVerify(t *testing.T) {
	dir := t.TempDir()
	cert := filepath.Join(dir, "cert.json")
	var out, errs bytes.Buffer
	if code := run([]string{"-x", "-cert", cert, "-"}, strings.NewReader(sample), &out, &errs); code != 0 {
		t.Fatalf("code %d: %s%s", code, &out, &errs)
	}
	// max x + 4.5y + 9z + 10: y = 1, z ≤ 3, z − y ≤ 2.5, x + y ≤ 4.
	for _, want := range []string{"optimal", "objective: 44.5", "x = 3", "y = 1", "z = 3"} {
		if !strings.Contains(out.String(), want) {
			t.Errorf("no %q in\n%s", want, &out)
		}
	}
	out.Reset()
	if code := run([]string{"-verify", cert}, nil, &out, &errs); code != 0 || !strings.Contains(out.String(), "optimal") {
		t.Errorf("code %d: %s%s", code, &out, &errs)
	}
	data, err := os.ReadFile(cert)
	if err != nil {
		t.Fatal(err)
	}
	broken := bytes.Replace(data, []byte(`"objective":"-69/2"`), []byte(`"objective":"-70/2"`), 1)
	if bytes.Equal(broken, data) {
		t.Fatalf("nothing to break in %s", data)
	}
	if code := run([]string{"-verify", "-"}, bytes.NewReader(broken), &out, &errs); code != 1 {
		t.Errorf("a broken certificate gives code %d", code)
	}
	if code := run([]string{"-"}, strings.NewReader("ROWS\n N c\n G r\nCOLUMNS\n x r 1\nRHS\n q 5\nENDATA\n"), &out, &errs); code != 2 {
		t.Errorf("an unknown row gives code %d", code)
	}
	if code := run(nil, nil, &out, &errs); code != 2 {
		t.Errorf("no file gives code %d", code)
	}
}

func TestInfeasibleNamesTheClash(t *testing.T) {
	var out, errs bytes.Buffer
	text := "ROWS\n N c\n G need\nCOLUMNS\n x need 1\nRHS\n R need 5\nBOUNDS\n UP B x 3\nENDATA\n"
	if code := run([]string{"-"}, strings.NewReader(text), &out, &errs); code != 0 {
		t.Fatalf("code %d: %s", code, &errs)
	}
	for _, want := range []string{"infeasible", "lower side of row need", "upper side of bound x"} {
		if !strings.Contains(out.String(), want) {
			t.Errorf("no %q in\n%s", want, &out)
		}
	}
}

func FuzzReadMPS(f *testing.F) {
	f.Add(sample)
	f.Fuzz(func(t *testing.T, text string) {
		if p, err := readMPS(strings.NewReader(text)); err == nil && p.model.Check() != nil {
			t.Fatal("read a bad model")
		}
	})
}
