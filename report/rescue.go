package report

import (
	"firlot/analysis"
	"firlot/catalog"
	"firlot/formulate"
	"firlot/making"
)

// Rescue is the best that can be made of a bowl after a slip.
type Rescue struct {
	// Outcome is "same batch", "larger batch", "nearest", "discard" or
	// "stopped".
	Outcome string `json:"outcome"`
	Slip    string `json:"slip"` // its kind
	Of      string `json:"of"`   // ingredient/form
	Bowl    int    `json:"bowl"` // from 1
	BeforeG Number `json:"batch_before_g"`
	// AfterG is null where there is nothing to go on with.
	AfterG *Number `json:"batch_after_g"`
	// NoneBelowG is proved: no smaller batch is inside the windows.
	NoneBelowG *Number      `json:"none_below_g"`
	MovedG     *Number      `json:"moved_g"`
	Lines      []RescueLine `json:"lines"`
	Windows    []RescueGoal `json:"windows"`
	// SurenessBefore is that of the bowl if pouring went on as planned.
	SurenessBefore Number      `json:"sureness_before"`
	SurenessAfter  *Number     `json:"sureness_after"`
	SurenessAsked  Number      `json:"sureness_asked"`
	Off            []RescueOff `json:"off,omitempty"`
	// LetGo are limits of the document that are not kept.
	LetGo  []string      `json:"let_go,omitempty"`
	Why    []string      `json:"why,omitempty"`    // on "discard"
	Extras []RescueExtra `json:"extras,omitempty"` // on "nearest" and "discard"
	// LessSure is a smaller batch that is inside, but less sure than asked.
	LessSure *LessSure `json:"less_sure,omitempty"`
	Proved   []string  `json:"proved,omitempty"` // what the certificates say
	Notes    []string  `json:"notes,omitempty"`
}

// RescueLine is a line before and after.
type RescueLine struct {
	Ingredient string `json:"ingredient"`
	Form       string `json:"form"`
	Name       string `json:"name"`
	PouredG    Number `json:"poured_g"`
	PlannedG   Number `json:"planned_g"`
	NowG       Number `json:"now_g"`
	MoreG      Number `json:"more_g"` // still to pour
	Reopened   bool   `json:"reopened"`
	New        bool   `json:"new"`
}

// RescueGoal is a window before, if pouring went on as planned, and after.
type RescueGoal struct {
	Nutrient      string  `json:"nutrient"`
	Per           string  `json:"per,omitempty"`
	Name          string  `json:"name"`
	Unit          string  `json:"unit"`
	Basis         string  `json:"basis"`
	On            string  `json:"on"`
	Window        Window  `json:"window"`
	MeanBefore    *Number `json:"mean_before"`
	MeanAfter     *Number `json:"mean_after"`
	VerdictBefore string  `json:"verdict_before"`
	VerdictAfter  string  `json:"verdict_after,omitempty"`
}

// RescueOff is a window that the nearest mix misses.
type RescueOff struct {
	What  string `json:"what"`
	By    Number `json:"by"`             // in the figure's unit
	Share Number `json:"share_of_width"` // of the window's width
}

// RescueExtra is an ingredient that was not planned and would save the bowl.
type RescueExtra struct {
	Ingredient string       `json:"ingredient"`
	Form       string       `json:"form"`
	Name       string       `json:"name"`
	LeastG     Number       `json:"least_g"`
	BatchG     Number       `json:"batch_g"`
	Sureness   Number       `json:"sureness"`
	Lines      []RescueLine `json:"lines"`
}

// LessSure is a smaller batch, inside its windows and less sure.
type LessSure struct {
	BatchG   Number       `json:"batch_g"`
	Sureness Number       `json:"sureness"`
	Lines    []RescueLine `json:"lines"`
}

// RescueOf reports a rescue.
func RescueOf(r *making.Rescued) *Rescue {
	out := &Rescue{Outcome: string(r.Outcome), Slip: string(r.Slip.Kind), Of: r.Slip.Ref, Bowl: r.Bowl,
		BeforeG: Number(r.BatchBefore.Grams()), Lines: rescueLines(r.Changes), Windows: []RescueGoal{},
		SurenessBefore: Number(r.JointBefore), Why: r.Why}
	for i, c := range r.Before {
		var after *analysis.Check
		if i < len(r.After) {
			after = &r.After[i]
		}
		out.Windows = append(out.Windows, goalOf(c, after))
	}
	for _, e := range r.Extras {
		out.Extras = append(out.Extras, RescueExtra{Ingredient: e.Form.Ingredient.ID, Form: e.Form.ID, Name: e.Form.Name("en"),
			LeastG: Number(e.Least.Grams()), BatchG: Number(e.Rescued.Batch.Grams()), Sureness: Number(e.Rescued.JointAfter), Lines: rescueLines(e.Rescued.Changes)})
	}
	if o := r.Other; o != nil {
		out.LessSure = &LessSure{Number(o.Batch.Grams()), Number(o.JointAfter), rescueLines(o.Changes)}
	}
	if r.Mended != nil {
		out.mended(r)
	}
	return out
}

func (out *Rescue) mended(r *making.Rescued) {
	m := r.Mended
	out.LetGo, out.Notes, out.SurenessAsked = m.LetGo, m.Notes, Number(m.Plan.Document.Sureness)
	for _, o := range m.Off {
		out.Off = append(out.Off, RescueOff{o.What, Number(o.By), Number(o.Share)})
	}
	for _, c := range m.Claims {
		out.Proved = append(out.Proved, c.What)
	}
	if r.Plan == nil {
		return
	}
	out.AfterG, out.MovedG, out.SurenessAfter = num(r.Batch.Grams()), num(m.Moved.Grams()), num(r.JointAfter)
	if m.Outcome == formulate.SameBatch || m.Outcome == formulate.LargerBatch {
		out.NoneBelowG = num(m.NoneBelow.Grams())
	}
}

func rescueLines(list []making.Change) []RescueLine {
	out := []RescueLine{}
	for _, c := range list {
		out = append(out, RescueLine{Ingredient: c.Form.Ingredient.ID, Form: c.Form.ID, Name: c.Form.Name("en"), PouredG: Number(c.Poured.Grams()),
			PlannedG: Number(c.Planned.Grams()), NowG: Number(c.Now.Grams()), MoreG: Number(c.More.Grams()), Reopened: c.Reopened, New: c.New})
	}
	return out
}

func goalOf(before analysis.Check, after *analysis.Check) RescueGoal {
	f := figureOf(before.Value)
	g := RescueGoal{Nutrient: f.Nutrient, Per: f.Per, Name: f.Name, Unit: f.Unit, Basis: f.Basis, On: f.On,
		Window: WindowOf(before.Window), MeanBefore: f.Mean, VerdictBefore: string(before.Verdict)}
	if after != nil {
		g.MeanAfter, g.VerdictAfter = figureOf(after.Value).Mean, string(after.Verdict)
	}
	return g
}

// Making is what a making came to.
type Making struct {
	Title    string `json:"title,omitempty"`
	Species  string `json:"species,omitempty"`
	Stage    string `json:"stage,omitempty"`
	Code     string `json:"code,omitempty"` // of the batch
	Made     string `json:"made,omitempty"` // day, as 2026-11-25
	Verdict  string `json:"verdict"`
	BatchG   Number `json:"batch_g"`
	PlannedG Number `json:"planned_g"`
	// Bowls are the verdicts of each bowl by itself.
	Bowls       []string     `json:"bowls"`
	Amounts     []Amount     `json:"amounts"`
	Differences []Difference `json:"differences"`
	Figures     []Figure     `json:"figures"`
	Sureness    Number       `json:"sureness"`
	Keeping     *Keeping     `json:"keeping"` // null where no day was given
	Mixing      []MixStep    `json:"mixing"`
	// Few are so few pieces that no mixing spreads them evenly.
	Few      []string  `json:"few,omitempty"`
	Replans  int       `json:"replans"`
	Cautions []Caution `json:"cautions,omitempty"`
	General  []string  `json:"general_cautions,omitempty"`
}

// Difference is a line that was not poured as planned.
type Difference struct {
	Ingredient string `json:"ingredient"`
	Form       string `json:"form"`
	Name       string `json:"name"`
	PlannedG   Number `json:"planned_g"`
	PouredG    Number `json:"poured_g"`
	ByG        Number `json:"by_g"`
}

// Keeping is how long the batch keeps.
type Keeping struct {
	BestBefore string `json:"best_before,omitempty"`
	Evidence   string `json:"evidence,omitempty"`
	// Shortest set the day; NotKnown may keep shorter than they do.
	Shortest []string `json:"shortest"`
	NotKnown []string `json:"not_known,omitempty"`
}

// MixStep is a step of the mixing instruction.
type MixStep struct {
	Do       string   `json:"do"`
	Of       []string `json:"of,omitempty"`
	Grams    *Number  `json:"grams,omitempty"`
	Times    int      `json:"times"`
	Why      string   `json:"why"`
	Evidence string   `json:"evidence"`
	Source   string   `json:"source"`
}

// MakingOf reports a finished making. The code and the day may be empty, and
// how long it keeps nil.
func MakingOf(f *making.Finished, code, made string, k *making.Keeping) *Making {
	d := f.Plan.Document
	out := &Making{Title: d.Title, Code: code, Made: made, Verdict: string(f.Verdict), BatchG: Number(f.Batch.Grams()), PlannedG: Number(f.Planned.Grams()),
		Bowls: []string{}, Amounts: amountsOf(f.Portions, f.Batch), Differences: []Difference{}, Figures: figures(f.Portions, f.Checks),
		Sureness: Number(f.Joint), Mixing: []MixStep{}, Replans: f.Replans, Few: formRefs(making.Few(f.Portions)),
		Cautions: cautions(f.Plan, f.Portions), General: catalog.GeneralCautions()}
	if f.Plan.Species != nil {
		out.Species, out.Stage = f.Plan.Species.ID, f.Plan.Stage.ID
	}
	for _, v := range f.Bowls {
		out.Bowls = append(out.Bowls, string(v))
	}
	for _, x := range f.Differences {
		out.Differences = append(out.Differences, Difference{x.Form.Ingredient.ID, x.Form.ID, x.Form.Name("en"), Number(x.Planned.Grams()), Number(x.Poured.Grams()), Number(x.By.Grams())})
	}
	for _, s := range making.Instruction(f.Portions) {
		step := MixStep{Do: string(s.Do), Of: formRefs(s.Forms), Times: s.Times, Why: s.Why, Evidence: string(s.How), Source: s.Source}
		if s.Mass > 0 {
			step.Grams = num(s.Mass.Grams())
		}
		out.Mixing = append(out.Mixing, step)
	}
	if k != nil {
		out.Keeping = &Keeping{BestBefore: k.BestBefore, Shortest: []string{}, NotKnown: formRefs(k.NotKnown)}
		if k.BestBefore != "" {
			out.Keeping.Evidence = string(k.How)
		}
		for _, l := range k.Shortest {
			out.Keeping.Shortest = append(out.Keeping.Shortest, l.Form.Ref())
		}
	}
	return out
}

func formRefs(list []*catalog.Form) []string {
	var out []string
	for _, f := range list {
		out = append(out, f.Ref())
	}
	return out
}
