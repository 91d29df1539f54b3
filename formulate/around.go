package formulate

import (
	"context"
	"errors"
	"fmt"
	"math"

	"firlot/analysis"
	"firlot/catalog"
	"firlot/lp"
	"firlot/mix"
	"firlot/nutrient"
)

// Bowl is what has been poured of a mix, and what there is to go on with.
// Slices hold one value a line of the plan.
type Bowl struct {
	// Batch is what was to be in the bowl in the end, MostBatch the largest
	// that it may become; nothing is ten times the batch.
	Batch, MostBatch nutrient.Mass
	// Of is the batch that amounts in grams of the document stand for in this
	// bowl; nothing is Batch. It stays what it was when a rescue has made the
	// batch larger.
	Of     nutrient.Mass
	Near   []nutrient.Mass // what was to be in the bowl; the mix stays near to it
	Poured []nutrient.Mass // what is in the bowl; it cannot come out
	// Most is the most that a line can come to, what is in the bowl included,
	// since the jar holds no more; negative where that is not known. Nil:
	// nowhere.
	Most []nutrient.Mass
	// Finished lines have been poured and put away: opening one anew costs the
	// keeper more than pouring more or less of another. Nil: none.
	Finished []bool
	// Step is the least by which a line can grow. Nil: the plan's step.
	Step []nutrient.Mass
	// Shelf is what may join the mix if nothing else gets it inside.
	Shelf []*catalog.Form
}

// Outcome says what became of a bowl.
type Outcome string

// The outcomes, from what a keeper wants most.
const (
	SameBatch   Outcome = "same batch"   // inside every window, in the batch that was planned
	LargerBatch Outcome = "larger batch" // inside every window, in the smallest larger batch
	NearestMix  Outcome = "nearest"      // not inside: no batch is; the nearest that can be
	Discard     Outcome = "discard"      // no batch up to the largest allowed gets what is in the bowl under its safety limit
	Unsettled   Outcome = "stopped"      // a limit on the work was reached
)

// Mended is the best that can be made of a bowl.
type Mended struct {
	Outcome Outcome
	// Plan is the plan that the amounts belong to.
	Plan    *mix.Plan
	Amounts []nutrient.Mass // one a line, what is in the bowl included
	Batch   nutrient.Mass
	// Moved is how far the mix is from the planned one, brought to the same
	// batch; a gram taken from one line and given to another counts once.
	Moved nutrient.Mass
	// Reopened are the finished lines that get more.
	Reopened []int
	// Fewest says that it is proved that no mix of this batch reopens fewer
	// lines.
	Fewest bool
	// NoneBelow is proved: no batch from the planned one up to, and without,
	// this is inside the windows on the means. It is the batch itself where
	// that is proved smallest, and the planned batch where that can be inside
	// and only is not sure enough.
	NoneBelow nutrient.Mass

	Checks []analysis.Check // one a target
	Joint  float64          // chance of lying inside all windows together
	// Sure says that the chance is what the document asks for; it is the
	// highest that was found where not.
	Sure bool
	// Other is a smaller batch, the planned one where that can be, inside every
	// window but less sure than asked, where a larger batch is the answer for
	// that reason alone; else nil.
	Other *Mended

	// Off says how far each window that is not held is missed, Measure the
	// largest miss as a share of its window's width: no mix of this batch
	// misses all its windows by less.
	Off     []Off
	Measure float64
	// LetGo are limits of the document, never of safety, that are not kept:
	// what is in the bowl breaks them, or the windows could not be held
	// otherwise.
	LetGo []string
	// Why says what rules every batch out, on Discard; MostBatch is the largest
	// that was looked at then.
	Why       []string
	MostBatch nutrient.Mass

	// Extras are single ingredients of the shelf that bring the mix inside,
	// least grams first; on Nearest and Discard only.
	Extras []Extra
	// Claims are certificates of what is said here, when asked for.
	Claims []Claim
	Notes  []string
	Nodes  int
}

// Off is a window that a mix misses.
type Off struct {
	Target int
	What   string  // the edge in words
	By     float64 // in the figure's unit
	Share  float64 // as a share of the window's width, or of its bound when it is open
}

// Extra is an ingredient that was not planned and brings the mix inside.
type Extra struct {
	Form  *catalog.Form
	Least nutrient.Mass // the least of it that will do, in Mended.Batch
	// Proved says that less of it will not do in this batch.
	Proved bool
	Mended *Mended
}

// Claim is something proved, with its certificate.
type Claim struct {
	What  string
	Proof *lp.Certificate
}

// Around solves a mix anew around what is in the bowl. What is in the bowl is
// the floor of its line; the windows, the inclusion limits, and the limits of
// the document that the bowl does not break already, hold as in [Solve].
//
// First the same batch is tried, then the smallest larger batch, in whole
// steps. Within a batch, fewest finished lines are opened anew, and among
// such mixes the one is taken that moves least from the plan, brought to the
// batch. If no batch up to MostBatch is inside, the limits of the document
// are given up before the windows, and then all windows are widened by the
// same share of their widths, the least that lets a mix exist; every window,
// and then every limit, that can be held all the same is held again, in the
// plan's order. Limits of safety are never given up.
//
// With sureness, the mix that holds the windows on the means is taken when it
// is sure enough; otherwise the risk is shared over the edges, as in Solve.
func Around(ctx context.Context, p *mix.Plan, b Bowl, o Options) (*Mended, error) {
	m, err := newMender(ctx, p, b, o)
	if err != nil {
		return nil, err
	}
	return m.ended(m.mendOrSearch())
}

func (m *mender) mendOrSearch() (*Mended, error) {
	out, err := m.mend()
	if err != nil || out.Outcome != NearestMix && out.Outcome != Discard {
		return out, err
	}
	// A search that is broken off leaves the answer as it is.
	if err := m.searchShelf(out); err != nil && m.ctx.Err() == nil {
		return nil, err
	} else if err != nil {
		out.Notes = append(out.Notes, "the time was up before all of the shelf was tried")
	}
	return out, nil
}

// ended turns the end of a context into an answer.
func (m *mender) ended(out *Mended, err error) (*Mended, error) {
	if late(err) {
		return m.unsettled(), nil
	}
	return out, err
}

// late reports whether a search only ran out of time. What it had found by
// then stands.
func late(err error) bool {
	var stopped errStopped
	return errors.As(err, &stopped) && stopped.status != lp.Trouble
}

// Settle brings amounts to the steps of the scales that weigh them, one step a
// line, inside every window and as near as can be to what they are.
func Settle(ctx context.Context, p *mix.Plan, amounts, step []nutrient.Mass, o Options) (*Mended, error) {
	var batch nutrient.Mass
	for _, a := range amounts {
		batch += a
	}
	m, err := newMender(ctx, p, Bowl{Batch: batch, MostBatch: batch, Near: amounts, Poured: make([]nutrient.Mass, len(amounts)), Step: step}, o)
	if err != nil {
		return nil, err
	}
	return m.ended(m.mend())
}

// maxUnits is the most units that a batch may have: sums of products of rows
// stay below 10¹⁵ and so are exact in float64.
const maxUnits = 10_000_000

// mostTimes is how many times larger a batch may become unless somebody says.
const mostTimes = 10

// mender solves around one bowl.
type mender struct {
	ctx      context.Context
	plan     *mix.Plan
	options  Options
	unit     nutrient.Mass // all masses are whole numbers of it
	batch    int           // in units, and so on
	of       nutrient.Mass // what the document's amounts in grams are for
	most     int
	near     []int
	poured   []int
	held     int // what is poured in all
	cap      []int
	step     []int
	finished []bool
	closed   int // finished lines
	shelf    []*catalog.Form
	edges    []bowlEdge
	limits   []bowlLimit
	nodes    int
	claims   []Claim
	strict   bool // no limit is let go because the bowl breaks it
}

func newMender(ctx context.Context, p *mix.Plan, b Bowl, o Options) (*mender, error) {
	n := len(p.Lines)
	if len(b.Near) != n || len(b.Poured) != n || b.Most != nil && len(b.Most) != n || b.Finished != nil && len(b.Finished) != n || b.Step != nil && len(b.Step) != n {
		return nil, fmt.Errorf("a bowl needs one value for each of the plan's %d lines", n)
	}
	if b.Batch <= 0 {
		return nil, &mix.Problem{Path: "batch", Message: "there is no batch to make"}
	}
	if b.MostBatch == 0 {
		b.MostBatch = mostTimes * b.Batch
	}
	m := &mender{ctx: ctx, plan: p, options: o, unit: b.Batch, of: b.Batch, shelf: b.Shelf, finished: make([]bool, n)}
	if b.Of > 0 {
		m.of = b.Of
	}
	for i := range n {
		m.unit = gcd(gcd(m.unit, b.Poured[i]), b.stepOf(p, i))
	}
	var total nutrient.Mass
	for i := range n {
		if b.Poured[i] < 0 || b.Near[i] < 0 || b.stepOf(p, i) <= 0 {
			return nil, fmt.Errorf("line %d of a bowl is less than nothing", i)
		}
		total += b.Poured[i]
		m.addLine(b, i)
	}
	m.batch, m.held = int(b.Batch/m.unit), int(total/m.unit)
	m.most = max(int(b.MostBatch/m.unit), m.batch, m.held)
	if m.most > maxUnits {
		m.most = maxUnits
	}
	if m.batch > maxUnits || m.held > maxUnits {
		return nil, &mix.Problem{Path: "batch", Message: fmt.Sprintf("the batch is more than ten million times the finest step of %v", m.unit), Hint: "weigh in coarser steps"}
	}
	m.near = apportionTo(b.Near, m.batch)
	m.readEdges()
	m.readLimits()
	return m, nil
}

func (b *Bowl) stepOf(p *mix.Plan, i int) nutrient.Mass {
	if b.Step == nil {
		return p.Document.Step
	}
	return b.Step[i]
}

func (m *mender) addLine(b Bowl, i int) {
	m.poured = append(m.poured, int(b.Poured[i]/m.unit))
	m.step = append(m.step, int(b.stepOf(m.plan, i)/m.unit))
	most := math.MaxInt
	if b.Most != nil && b.Most[i] >= 0 {
		most = max(int(b.Most[i]/m.unit), m.poured[i])
	}
	m.cap = append(m.cap, most)
	if b.Finished != nil && b.Finished[i] && m.poured[i] > 0 {
		m.finished[i] = true
		m.closed++
	}
}

// apportionTo brings masses to a sum of whole units, in proportion.
func apportionTo(masses []nutrient.Mass, total int) []int {
	var sum nutrient.Mass
	for _, a := range masses {
		sum += a
	}
	out := make([]float64, len(masses))
	if sum > 0 {
		for i, a := range masses {
			out[i] = float64(a) / float64(sum) * float64(total)
		}
	}
	return apportion(out, total)
}

func gcd(a, b nutrient.Mass) nutrient.Mass {
	for b != 0 {
		a, b = b, a%b
	}
	return a
}

// mend looks for the best that can be made of the bowl. Where the planned
// batch can be inside but not as sure as asked, a larger one is the answer
// only if it is that sure; the planned one then stands beside it.
func (m *mender) mend() (*Mended, error) {
	same, err := m.sameBatch()
	if err != nil || same != nil && (same.Sure || same.Outcome == Unsettled) {
		return same, err
	}
	larger, err := m.largerBatch()
	if err != nil && (!late(err) || same == nil) {
		return nil, err
	}
	switch unfinished := m.ctx.Err() != nil || larger != nil && larger.Outcome == Unsettled; {
	case larger != nil && (same == nil || larger.Sure):
		if same != nil { // the planned batch is inside, and only not sure enough
			larger.Other, larger.NoneBelow = same, same.NoneBelow
		}
		return larger, nil
	case same != nil && unfinished:
		return same.late(), nil
	case same != nil:
		return same, nil
	}
	return m.nearest()
}

// sameBatch is the planned batch, inside every window and as sure as can be;
// nil when there is none.
func (m *mender) sameBatch() (*Mended, error) {
	if m.held > m.batch {
		return nil, nil
	}
	f, err := m.surely(ask{total: m.batch, reopen: -1})
	if err != nil || f == nil {
		return nil, err
	}
	if f.x == nil {
		return m.unsettled(), nil
	}
	out := m.report(SameBatch, f)
	out.NoneBelow = out.Batch
	return out, nil
}
