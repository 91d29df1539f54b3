package catalog

import (
	"sort"
	"strings"

	"firlot/nutrient"
)

// Evidence says how well a figure is known.
type Evidence string

// The four kinds of evidence, best first.
const (
	Measured Evidence = "measured" // an analysis that the source prints
	Derived  Evidence = "derived"  // arithmetic on sourced figures
	Recalled Evidence = "recalled" // from memory of a publication, not read again
	Assumed  Evidence = "assumed"  // a judgement of ours
)

// Rank orders evidence from best (0) to worst (3); an unknown word ranks
// worst.
func (e Evidence) Rank() int {
	switch e {
	case Measured:
		return 0
	case Derived:
		return 1
	case Recalled:
		return 2
	}
	return 3
}

// Known reports whether e is one of the four kinds.
func (e Evidence) Known() bool { return e == Assumed || e.Rank() < 3 }

// Worse returns the worse of two kinds of evidence.
func (e Evidence) Worse(f Evidence) Evidence {
	if f.Rank() > e.Rank() {
		return f
	}
	return e
}

// Figure is one quantity with its pedigree. What it measures and in which
// unit follows from where it stands.
type Figure struct {
	Mean   float64
	SD     float64 // standard deviation between bags; 0 when none is recorded
	Low    float64 // lowest and highest printed figure, where Ranged
	High   float64
	Ranged bool
	N      int      // number of samples behind the mean; 0 when not told
	Source string   // key of a [Source], with the source's own item after a colon
	How    Evidence // how well it is known
	Note   string
}

// Source is a publication that figures come from.
type Source struct {
	Key       string
	Title     string
	Publisher string
	Year      int
	Licence   string
	Link      string
}

// Class is the kind of food, in the words of the trade.
type Class string

// The classes.
const (
	Cereal       Class = "cereal"
	Pseudocereal Class = "pseudocereal"
	Millet       Class = "millet"
	Oilseed      Class = "oilseed"
	SmallSeed    Class = "seed"
	Pulse        Class = "pulse"
	Nut          Class = "nut"
	Hay          Class = "hay"
	Leaf         Class = "leaf"
	Flower       Class = "flower"
	Root         Class = "root"
	Vegetable    Class = "vegetable"
	Green        Class = "green"
	Fruit        Class = "fruit"
	Insect       Class = "insect"
	Animal       Class = "animal"
	MineralFeed  Class = "mineral"
	Other        Class = "other"
)

// Classes lists the classes in the order in which a shop would shelve them.
func Classes() []Class {
	return []Class{Cereal, Pseudocereal, Millet, Oilseed, SmallSeed, Pulse, Nut, Hay, Leaf,
		Flower, Root, Vegetable, Green, Fruit, Insect, Animal, MineralFeed, Other}
}

// Ingredient is a food, with the forms in which it is sold.
type Ingredient struct {
	ID     string
	Latin  string
	Class  Class
	Family string
	Note   string
	Names  Names
	Forms  []*Form
}

// Names holds names by language (en, es, de, fr, nl, pt), the usual one first.
type Names map[string][]string

// First returns the usual name in a language, falling back to English.
func (n Names) First(lang string) string {
	if list := n[lang]; len(list) > 0 {
		return list[0]
	}
	if list := n["en"]; len(list) > 0 {
		return list[0]
	}
	return ""
}

// Form is an ingredient as it is sold: in hull, rolled, popped, dried and so
// on. All figures stand as fed, per the unit of their nutrient.
type Form struct {
	Ingredient *Ingredient
	ID         string
	State      string
	Names      Names
	Looks      string // how a keeper recognises it
	Confused   []Confusion
	Shape      string   // kind of shape, for drawing
	Colours    []string // main colour first

	EatenAs  string  // the form whose kernel the animal eats, when it husks this one
	Hull     *Figure // hull or shell, % of the form's mass
	HullLeft *Figure // part of that hull which the animal leaves, %

	ThousandKernels *Figure // g
	Length, Width   *Figure // mm
	BulkDensity     *Figure // g/mL
	KeepsMonths     *Figure // sealed, cool and dark

	Limits   []Limit
	Cautions []string
	Balance  string // why the proximates do not add up, when they do not

	Figures map[nutrient.Key]Figure
}

// Confusion is another form that is easily taken for this one.
type Confusion struct {
	With string // ingredient/form
	Tell string // how to tell them apart
}

// Limit is the most of a form that a dry mix should hold.
type Limit struct {
	Most    float64 // % of the mix
	Why     string
	Source  string
	How     Evidence
	Species []string // empty: for all
	// With names foods that share the limit between them. Forms of one
	// ingredient always share theirs.
	With string
}

// For reports whether the limit holds for a species. When none is named every
// limit holds: nobody knows who will eat the mix.
func (l Limit) For(species string) bool {
	if len(l.Species) == 0 || species == "" {
		return true
	}
	for _, s := range l.Species {
		if s == species {
			return true
		}
	}
	return false
}

// Ref names the form in documents: ingredient/form.
func (f *Form) Ref() string { return f.Ingredient.ID + "/" + f.ID }

// Name is the form's usual name in a language. Where the form has none of its
// own, the ingredient's serves if this is its only form; otherwise the English
// one does.
func (f *Form) Name(lang string) string {
	if len(f.Names[lang]) == 0 && len(f.Ingredient.Forms) == 1 {
		if list := f.Ingredient.Names[lang]; len(list) > 0 {
			return list[0]
		}
	}
	if n := f.Names.First(lang); n != "" {
		return n
	}
	return f.Ingredient.Names.First(lang)
}

// Kernel returns the form that the animal eats of this one: itself, unless it
// is husked.
func (f *Form) Kernel() *Form {
	if f.EatenAs == "" {
		return f
	}
	if k := f.Ingredient.Form(f.EatenAs); k != nil {
		return k
	}
	return f
}

// HullShares returns the hull as a share of the form's mass and the share of
// that hull which the animal leaves, both 0 when the form has no hull.
func (f *Form) HullShares() (hull, left float64) {
	if f.Hull == nil || f.EatenAs == "" {
		return 0, 0
	}
	left = 1
	if f.HullLeft != nil {
		left = f.HullLeft.Mean / 100
	}
	return f.Hull.Mean / 100, left
}

// Form returns the form with the given id, or nil.
func (in *Ingredient) Form(id string) *Form {
	for _, f := range in.Forms {
		if f.ID == id {
			return f
		}
	}
	return nil
}

// Unsafe is a food that is refused by name, whatever the document says.
type Unsafe struct {
	ID        string
	Names     Names
	Reason    string
	Instead   string
	Source    string
	How       Evidence
	SafeWords []string // beside the name, these make it another food
	// Whole lists names that are refused only when nothing stands beside
	// them: without accents they are a common word of another language.
	Whole []string
}

// neverForm stands where a reference to an ingredient names its form.
const neverForm = "/never"

// Ref is how a log refers to a food that is never fed: "avocado/never". No
// ingredient's reference is such a one, whatever ids somebody gives to theirs.
func (u *Unsafe) Ref() string { return u.ID + neverForm }

// Never is the never fed food of a reference, or of its id; nil if there is
// none.
func (c *Catalogue) Never(ref string) *Unsafe {
	id := strings.TrimSuffix(ref, neverForm)
	for i := range c.Unsafe {
		if c.Unsafe[i].ID == id {
			return &c.Unsafe[i]
		}
	}
	return nil
}

// Catalogue is a set of ingredients with their sources and the unsafe list.
// It is read-only once built and safe for concurrent use.
type Catalogue struct {
	Ingredients []*Ingredient // sorted by class, then id
	Unsafe      []Unsafe
	Sources     map[string]Source

	byRef map[string]*Form
	byID  map[string]*Ingredient
	names func() *index
}

// New builds a catalogue and sorts it.
func New(ingredients []*Ingredient, unsafe []Unsafe, sources map[string]Source) *Catalogue {
	c := &Catalogue{Ingredients: ingredients, Unsafe: unsafe, Sources: sources,
		byRef: map[string]*Form{}, byID: map[string]*Ingredient{}}
	rank := map[Class]int{}
	for i, k := range Classes() {
		rank[k] = i
	}
	sort.SliceStable(c.Ingredients, func(i, j int) bool {
		a, b := c.Ingredients[i], c.Ingredients[j]
		if rank[a.Class] != rank[b.Class] {
			return rank[a.Class] < rank[b.Class]
		}
		return a.ID < b.ID
	})
	for _, in := range c.Ingredients {
		c.byID[in.ID] = in
		for _, f := range in.Forms {
			f.Ingredient = in
			c.byRef[f.Ref()] = f
		}
	}
	c.names = c.indexFrom(nil)
	return c
}

// Ingredient returns the ingredient with an id, or nil.
func (c *Catalogue) Ingredient(id string) *Ingredient { return c.byID[id] }

// Form returns the form with a reference such as "oats/groats", or nil.
func (c *Catalogue) Form(ref string) *Form { return c.byRef[ref] }

// Forms lists every form in catalogue order.
func (c *Catalogue) Forms() []*Form {
	var list []*Form
	for _, in := range c.Ingredients {
		list = append(list, in.Forms...)
	}
	return list
}

// With returns a catalogue that also holds the given ingredients, such as a
// document's own. An ingredient whose id is taken replaces the old one. The
// receiver is unchanged; shared ingredients are not copied.
func (c *Catalogue) With(own ...*Ingredient) *Catalogue {
	if len(own) == 0 {
		return c
	}
	taken := map[string]bool{}
	for _, in := range own {
		taken[in.ID] = true
	}
	list := make([]*Ingredient, 0, len(c.Ingredients)+len(own))
	for _, in := range c.Ingredients {
		if !taken[in.ID] {
			list = append(list, in)
		}
	}
	out := New(append(list, own...), c.Unsafe, c.Sources)
	out.names = out.indexFrom(c.names)
	return out
}
