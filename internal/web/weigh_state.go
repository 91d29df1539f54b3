package web

import (
	"net/http"
	"strconv"
	"strings"

	"firlot/making"
	"firlot/nutrient"
)

// stateView is a making for a script. Masses are milligrams.
type stateView struct {
	Rev     int64       `json:"rev"` // goes up with every change; the ETag
	State   string      `json:"state"`
	Key     string      `json:"key,omitempty"` // of the event that was answered
	Seq     int64       `json:"seq,omitempty"` // its number in the log
	Batch   int64       `json:"batch_mg"`
	Poured  int64       `json:"poured_mg"`
	Left    int64       `json:"left_mg"`
	Off     bool        `json:"off"`  // a rescue is to be looked at
	Done    bool        `json:"done"` // all that is planned is poured
	Last    *lastView   `json:"last,omitempty"`
	Steps   []stepView  `json:"steps"`             // what to pour, the next first
	Room    int64       `json:"room_mg,omitempty"` // what the bowl on the scale may hold; absent when that does not matter
	Bowls   []bowlNow   `json:"bowls"`
	Lines   []lineState `json:"lines"`
	Replans int         `json:"replans"` // the page is drawn anew when it changes
	Events  int         `json:"events"`
}

// bowlNow is what stands on the scale of one bowl.
type bowlNow struct {
	Round int   `json:"round"`
	In    int64 `json:"in_mg"` // since it was last tipped out
}

// lastView is what can be taken back.
type lastView struct {
	Key  string `json:"key"`
	Kind string `json:"kind"`
	Ref  string `json:"ref"`
	Mg   int64  `json:"mg"`
	Name string `json:"name"`
}

// stepView is one thing to pour.
type stepView struct {
	Ref    string `json:"ref"`
	Lot    string `json:"lot,omitempty"`
	Bowl   int    `json:"bowl"`
	Round  int    `json:"round"`
	Mg     int64  `json:"mg"`
	Of     int64  `json:"of_mg"` // what is left of the line in this bowl
	Before int64  `json:"before_mg"`
	After  int64  `json:"after_mg"`
	Tip    bool   `json:"tip,omitempty"`   // tip the bowl out into the tub first
	Fine   bool   `json:"fine,omitempty"`  // on the fine scale
	Where  string `json:"where,omitempty"` // which bowl and which scale, in words
}

// lineState is a line of the making.
type lineState struct {
	Ref     string `json:"ref"`
	Name    string `json:"name"`
	Planned int64  `json:"planned_mg"`
	Poured  int64  `json:"poured_mg"`
	Left    int64  `json:"left_mg"`
	Over    int64  `json:"over_mg,omitempty"`
	Short   int64  `json:"short_mg,omitempty"` // more than the shelf had
	Empty   bool   `json:"empty,omitempty"`    // the jar is
}

func (s *Server) stateOf(w *words, x *weighing) (*stateView, error) {
	n := x.Now
	v := &stateView{Rev: x.Rev, State: x.State, Batch: int64(n.Batch), Poured: int64(n.Poured), Left: int64(n.Left), Off: x.off(), Done: n.Done(),
		Replans: n.Replans, Events: len(x.Events), Steps: []stepView{}, Lines: []lineState{}}
	if c := x.Began.Scale; c.Ceiling > 0 {
		v.Room = int64(max((c.Ceiling-c.Vessel)/c.Step, 1) * c.Step)
	}
	for _, b := range n.Bowls {
		v.Bowls = append(v.Bowls, bowlNow{b.Round, int64(b.InRound)})
	}
	if e := x.undoable(); e != nil {
		v.Last = &lastView{e.Key, e.Kind, e.Ref, e.Mg, x.name(w, e.Ref)}
	}
	steps, err := x.steps()
	if err != nil {
		return nil, err
	}
	for _, p := range steps {
		v.Steps = append(v.Steps, stepOf(w, p, x.Began.Bowls))
	}
	for _, l := range x.lines() {
		v.Lines = append(v.Lines, lineState{l.Ref, x.name(w, l.Ref), int64(l.Planned), int64(l.Poured), int64(l.Left), int64(l.Over()), int64(x.Short[l.Ref]), x.Empty[l.Ref]})
	}
	return v, nil
}

func stepOf(w *words, p making.Next, bowls int) stepView {
	mg := func(m nutrient.Mass) int64 { return int64(m) }
	return stepView{p.Ref, p.Lot, p.Bowl, p.Round, mg(p.Mass), mg(p.Of), mg(p.Before), mg(p.After), p.Tip, p.Fine, whereWords(w, p, bowls)}
}

// whereWords say which bowl a step goes into and on which scale, where that is
// not plain.
func whereWords(w *words, p making.Next, bowls int) string {
	var list []string
	if bowls > 1 {
		list = append(list, w.T("in_bowl", "A", p.Bowl, "B", bowls))
	}
	if p.Fine {
		list = append(list, upper(w.T("on_fine"))+".")
	}
	return strings.Join(list, " ")
}

// makingState tells a script how a making stands; an unchanged one costs a
// line.
func (s *Server) makingState(q *request) error {
	m, err := s.Store.Making(q.Context(), q.id())
	if err != nil {
		return err
	}
	tag := `"` + strconv.FormatInt(m.Rev, 10) + "-" + q.words.lang + `"`
	q.w.Header().Set("ETag", tag)
	q.w.Header().Set("Cache-Control", "no-cache")
	if q.Header.Get("If-None-Match") == tag {
		q.w.WriteHeader(http.StatusNotModified)
		return nil
	}
	x, err := s.weighing(q.Context(), m.ID)
	if err != nil {
		return err
	}
	v, err := s.stateOf(q.words, x)
	if err != nil {
		return err
	}
	return q.sendJSON(http.StatusOK, v)
}
