package lp

import (
	"context"
	"encoding/json"
	"fmt"
	"os"
	"path/filepath"
	"strconv"
	"testing"
	"time"

	"firlot/lp/verify"
)

// vectorFolder holds programs that are solved again in every run: those on
// which another solver and ours once differed, and some that are awkward.
var vectorFolder = filepath.Join("testdata", "vectors")

// exactNum is a float64 in JSON that may be infinite. Its text reads back as
// the same bits.
type exactNum float64

func (v exactNum) MarshalText() ([]byte, error) {
	return []byte(strconv.FormatFloat(float64(v), 'g', -1, 64)), nil
}

func (v *exactNum) UnmarshalText(text []byte) error {
	f, err := strconv.ParseFloat(string(text), 64)
	*v = exactNum(f)
	return err
}

type vectorTerm struct {
	Column int      `json:"column"`
	Coef   exactNum `json:"coef"`
}

type vectorBreak struct {
	At   exactNum `json:"at"`
	Rise exactNum `json:"rise"`
}

type vectorColumn struct {
	Lo        exactNum      `json:"lo"`
	Hi        exactNum      `json:"hi"`
	Cost      exactNum      `json:"cost"`
	Breaks    []vectorBreak `json:"breaks,omitempty"`
	Whole     bool          `json:"whole,omitempty"`
	NothingOr exactNum      `json:"nothing_or"`
}

type vectorRow struct {
	Lo    exactNum     `json:"lo"`
	Hi    exactNum     `json:"hi"`
	Terms []vectorTerm `json:"terms"`
}

type vectorCount struct {
	Columns []Var `json:"columns"`
	Least   int   `json:"least"`
	Most    int   `json:"most"`
}

// vector is a program with the right answer. The test that finds a difference
// writes down what the other solver says; whoever looks into it and finds the
// other solver wrong corrects Status and Objective and says so in Why.
type vector struct {
	Family    string         `json:"family"`
	Seed      uint64         `json:"seed"`
	Why       string         `json:"why"`
	Status    string         `json:"status"`
	Objective exactNum       `json:"objective"`
	Columns   []vectorColumn `json:"columns"`
	Rows      []vectorRow    `json:"rows"`
	Counts    []vectorCount  `json:"counts,omitempty"`
}

// saveVector writes a program without cones into the folder and returns the
// file's name.
func saveVector(m *Model, v vector) (string, error) {
	for i := range m.cols {
		c := &m.cols[i]
		col := vectorColumn{Lo: exactNum(c.Lo), Hi: exactNum(c.Hi), Cost: exactNum(c.Cost), Whole: c.Integer, NothingOr: exactNum(c.NothingOr)}
		for _, b := range c.Breaks {
			col.Breaks = append(col.Breaks, vectorBreak{exactNum(b.At), exactNum(b.Rise)})
		}
		v.Columns = append(v.Columns, col)
	}
	for i := range m.rows {
		r := vectorRow{Lo: exactNum(m.rows[i].Lo), Hi: exactNum(m.rows[i].Hi)}
		for _, t := range m.rows[i].Terms {
			r.Terms = append(r.Terms, vectorTerm{int(t.Var), exactNum(t.Coef)})
		}
		v.Rows = append(v.Rows, r)
	}
	for _, c := range m.counts {
		v.Counts = append(v.Counts, vectorCount{c.Vars, c.Least, c.Most})
	}
	data, err := json.MarshalIndent(v, "", " ")
	if err != nil {
		return "", err
	}
	file := filepath.Join(vectorFolder, fmt.Sprintf("%s-%d.json", v.Family, v.Seed))
	if err := os.MkdirAll(vectorFolder, 0o755); err != nil {
		return "", err
	}
	return file, os.WriteFile(file, append(data, '\n'), 0o644)
}

func (v *vector) model() *Model {
	m := NewModel()
	for _, c := range v.Columns {
		col := Column{Lo: float64(c.Lo), Hi: float64(c.Hi), Cost: float64(c.Cost), Integer: c.Whole, NothingOr: float64(c.NothingOr)}
		for _, b := range c.Breaks {
			col.Breaks = append(col.Breaks, Break{float64(b.At), float64(b.Rise)})
		}
		m.AddColumn(col)
	}
	for _, r := range v.Rows {
		row := Row{Lo: float64(r.Lo), Hi: float64(r.Hi)}
		for _, t := range r.Terms {
			row.Terms = append(row.Terms, Term{Var(t.Column), float64(t.Coef)})
		}
		m.AddRow(row)
	}
	for _, c := range v.Counts {
		m.AddCount(Count{Vars: c.Columns, Least: c.Least, Most: c.Most})
	}
	return m
}

// Every kept program is answered as its file says, and the answer's
// certificate is accepted and says the same.
func TestVectors(t *testing.T) {
	files, err := filepath.Glob(filepath.Join(vectorFolder, "*.json"))
	if err != nil || len(files) == 0 {
		t.Fatal("no vectors were found: ", err)
	}
	for _, file := range files {
		t.Run(filepath.Base(file), func(t *testing.T) {
			data, err := os.ReadFile(file)
			if err != nil {
				t.Fatal(err)
			}
			var v vector
			if err := json.Unmarshal(data, &v); err != nil {
				t.Fatal(err)
			}
			replay(t, &v)
		})
	}
}

func replay(t *testing.T, v *vector) {
	m := v.model()
	ctx, cancel := context.WithTimeout(context.Background(), time.Minute)
	defer cancel()
	r, err := Solve(ctx, m, Options{Proof: true})
	if err != nil {
		t.Fatal(err)
	}
	if err := agrees(m, r, v.Status, float64(v.Objective)); err != nil {
		t.Fatalf("%v\n%s", err, v.Why)
	}
	if r.Status == Unbounded {
		return // there is no certificate of that
	}
	rep, err := verify.CheckBytes(r.Proof.JSON())
	if err != nil {
		t.Fatal(err)
	}
	if rep.Status != v.Status {
		t.Errorf("the certificate proves %s, want %s", rep.Status, v.Status)
	}
}
